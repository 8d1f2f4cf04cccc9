// Package training holds the changes that people make to the records: a worker joins a crew, a drill is recorded, an assessment signed,
// a kit inspected, a job booked, a plan adopted. Everything goes over one Desk. Each change is given by an account, checked whole (all
// that is wrong is said at once, with the path of the field), entered in one transaction with both clocks, author and capacity, and done
// once however often it is sent with the same key. Nothing is overwritten: a correction is a new record that names the one it replaces.
//
// Nothing here judges a standing or a crew; that is derived from the records whenever it is asked.
package training

import (
	"context"

	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// Desk takes the changes.
type Desk struct {
	store      *store.Store
	roll       *rollcall.Roll
	planner    *Planner
	afterwards func(ctx context.Context) // see AfterCorrections
	move       mover                     // see MoveCertificates
}

// New opens a desk over a store; the roll gives the zone of the local day and the problem of a rotation.
func New(s *store.Store, r *rollcall.Roll) *Desk {
	return &Desk{store: s, roll: r, planner: newPlanner(s, r.Zone())}
}

// Planner works out the rotations that are started at this desk. It has to be run beside it.
func (d *Desk) Planner() *Planner { return d.planner }

// AfterCorrections has something done whenever a correction or a withdrawal was entered, such as raising the flags that follow from it. It is
// done once the entry stands, so it cannot refuse it.
func (d *Desk) AfterCorrections(do func(ctx context.Context)) { d.afterwards = do }
