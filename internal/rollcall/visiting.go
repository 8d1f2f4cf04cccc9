package rollcall

import (
	"context"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// relationsOn says what workers are to the company on a day. Of several employments of that day the one recorded last counts; who has none
// recorded is not in the answer.
func (r *Roll) relationsOn(ctx context.Context, workers []groundhand.WorkerID, day groundhand.Date) (map[groundhand.WorkerID]groundhand.Relation, error) {
	employments, err := store.FindStanding[groundhand.Employment](ctx, r.store, store.ByWorker, workers)
	out := map[groundhand.WorkerID]groundhand.Relation{}
	for _, e := range employments {
		if e.FromOn <= day && (e.ToOn == 0 || day <= e.ToOn) {
			out[e.WorkerID] = e.Relation
		}
	}
	return out, err
}

// mostly is what more than half of a crew's people are; a mixed crew, and one of which nothing is recorded, counts as our own.
func mostly(members []groundhand.WorkerID, relations map[groundhand.WorkerID]groundhand.Relation) groundhand.Relation {
	for _, relation := range []groundhand.Relation{groundhand.Visitor, groundhand.ResidentContractor} {
		n := 0
		for _, who := range members {
			if relations[who] == relation {
				n++
			}
		}
		if 2*n > len(members) {
			return relation
		}
	}
	return groundhand.Employee
}
