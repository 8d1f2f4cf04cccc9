package rollcall

import (
	"context"
	"time"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Roll answers from the records of a store. It keeps nothing between questions and may be asked from several goroutines at once.
type Roll struct {
	store *store.Store
	zone  *time.Location
}

// New makes a roll over a store. Days are local days of the zone.
func New(s *store.Store, zone *time.Location) *Roll { return &Roll{s, zone} }

// asOfNow loads in one snapshot: what others write meanwhile is not half seen.
func (r *Roll) asOfNow(ctx context.Context, load func(seen *Roll) error) error {
	return r.store.InSnapshot(ctx, func(s *store.Store) error { return load(&Roll{s, r.zone}) })
}

// Zone is the organisation's zone.
func (r *Roll) Zone() *time.Location { return r.zone }

// Today is the local day of the store's clock.
func (r *Roll) Today() groundhand.Date { return r.dayOf(r.store.Now()) }

func (r *Roll) dayOf(at groundhand.Instant) groundhand.Date { return groundhand.DateOf(at.In(r.zone)) }

func (r *Roll) start(d groundhand.Date) groundhand.Instant {
	return groundhand.InstantOf(d.Start(r.zone))
}

// lastDay is the last local day that a half-open window touches.
func (r *Roll) lastDay(to groundhand.Instant) groundhand.Date { return r.dayOf(to - 1) }
