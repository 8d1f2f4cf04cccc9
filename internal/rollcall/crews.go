package rollcall

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// lineUp says who is in which crew on a day, and all crews.
type lineUp struct {
	day     groundhand.Date
	crews   map[groundhand.CrewID]groundhand.Crew
	members map[groundhand.CrewID][]groundhand.WorkerID // in order of id
	of      map[groundhand.WorkerID]groundhand.CrewID
}

func (r *Roll) lineUp(ctx context.Context, day groundhand.Date) (lineUp, error) {
	crews, err := store.Standing[groundhand.Crew](ctx, r.store)
	if err != nil {
		return lineUp{}, err
	}
	memberships, err := r.store.MembershipsOn(ctx, day, day)
	if err != nil {
		return lineUp{}, err
	}
	l := newLineUp(day, crews, memberships)
	return l, r.dissolve(ctx, l)
}

// dissolve takes the crews out of a line-up that were made for a time only, half a crew or visitors in a storm, and that nobody is in on the
// day. A standing crew that nobody is in stays: that it has no people is what has to be seen.
func (r *Roll) dissolve(ctx context.Context, l lineUp) error {
	var empty []groundhand.CrewID
	for id := range l.crews {
		if len(l.members[id]) == 0 {
			empty = append(empty, id)
		}
	}
	if len(empty) == 0 {
		return nil
	}
	ever, err := store.FindStanding[groundhand.Membership](ctx, r.store, store.ByCrew, empty)
	standing := map[groundhand.CrewID]bool{}
	for _, m := range ever {
		standing[m.CrewID] = standing[m.CrewID] || m.Reason == groundhand.Permanent
	}
	for id, is := range standing {
		if !is {
			delete(l.crews, id)
		}
	}
	return err
}

func newLineUp(day groundhand.Date, crews []groundhand.Crew, memberships []groundhand.Membership) lineUp {
	l := lineUp{day: day, crews: map[groundhand.CrewID]groundhand.Crew{}, members: map[groundhand.CrewID][]groundhand.WorkerID{},
		of: map[groundhand.WorkerID]groundhand.CrewID{}}
	for _, c := range crews {
		l.crews[c.ID] = c
	}
	for worker, m := range placesOn(memberships, day) {
		l.of[worker] = m.CrewID
		l.members[m.CrewID] = append(l.members[m.CrewID], worker)
	}
	for id := range l.members {
		slices.Sort(l.members[id])
	}
	return l
}

// placesOn gives everybody one place on a day: a loan, a split or storm work stands over the permanent crew while it lasts. Of several
// that do, the one that began last, then the one recorded last.
func placesOn(memberships []groundhand.Membership, day groundhand.Date) map[groundhand.WorkerID]groundhand.Membership {
	out := map[groundhand.WorkerID]groundhand.Membership{}
	for _, m := range memberships {
		if !m.On(day) {
			continue
		}
		if old, there := out[m.WorkerID]; !there || over(m, old) > 0 {
			out[m.WorkerID] = m
		}
	}
	return out
}

func over(a, b groundhand.Membership) int {
	rank := func(m groundhand.Membership) int {
		if m.Reason == groundhand.Permanent {
			return 0
		}
		return 1
	}
	return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(a.FromOn, b.FromOn), cmp.Compare(a.RecordedAt, b.RecordedAt), cmp.Compare(a.ID, b.ID))
}

// crew is a crew by id, or the coded refusal.
func (l lineUp) crew(id groundhand.CrewID) (groundhand.Crew, error) {
	c, there := l.crews[id]
	if !there {
		return c, groundhand.NotFound("crew", "There is no crew %q.", id)
	}
	return c, nil
}

// sentOut lists the crews that go to work, in order of id: the relief pool only lends people.
func (l lineUp) sentOut() []groundhand.Crew {
	var out []groundhand.Crew
	for _, c := range l.crews {
		if c.Kind != groundhand.ReliefPool {
			out = append(out, c)
		}
	}
	slices.SortFunc(out, func(a, b groundhand.Crew) int { return cmp.Compare(a.ID, b.ID) })
	return out
}

// askedOf lists what the rules ask of a worker as a member of the crew of the day: nothing of who is in none.
func (l lineUp) askedOf(w groundhand.WorkerID, rules rulebook.Rules) []rulebook.Asked {
	c, there := l.crews[l.of[w]]
	if !there {
		return nil
	}
	return rules.Of(c)
}
