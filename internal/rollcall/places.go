package rollcall

import (
	"context"

	"groundhand/internal/groundhand"
)

// PlacesOn gives the one place that everybody in a crew has on a day, loans and splits included.
func (r *Roll) PlacesOn(ctx context.Context, day groundhand.Date) (map[groundhand.WorkerID]groundhand.Membership, error) {
	memberships, err := r.store.MembershipsOn(ctx, day, day)
	if err != nil {
		return nil, err
	}
	return placesOn(memberships, day), nil
}
