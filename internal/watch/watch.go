// Package watch looks each day for who has lapsed and which crews fall short, and raises and clears flags. What is due is asked of the
// record of finished sweeps, keyed by business day; cron is only the ticker. So a clock change, a night without power and two starts in
// one morning are all the same case: each day is swept in order, and sweeping a day again changes nothing.
package watch

import (
	"context"
	"errors"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// Sweeper sweeps.
type Sweeper struct {
	store *store.Store
	roll  *rollcall.Roll
}

// New makes a sweeper over a store. Business days are local days of the roll's zone.
func New(s *store.Store, r *rollcall.Roll) *Sweeper { return &Sweeper{s, r} }

// Result is what a sweep did.
type Result struct {
	Sweep   groundhand.Sweep
	Raised  []groundhand.Flag
	Cleared []groundhand.Flag
}

// Sweep looks at a business day, as seen at its close and with all that is known now: raises a flag for what it finds and is not flagged
// yet, clears what no longer holds, and records the run, all in one transaction. Sweeping the last day again is harmless. Days go forward
// only: a day before the last one swept is a Conflict, because the flags already tell of a later day. A day ahead of today is Invalid.
func (w *Sweeper) Sweep(ctx context.Context, on groundhand.Date, byHand bool) (Result, error) {
	if today := w.roll.Today(); on <= 0 || on > today {
		return Result{}, groundhand.Invalid("on", "Give a day up to today, %s.", today.Words())
	}
	for {
		out, err := w.look(ctx, on, byHand)
		if err == nil || !errors.Is(err, errOvertaken) {
			return out, err
		}
	}
}

// errOvertaken says that another sweep finished while this one was looking, so that what it saw may be older than the flags are.
var errOvertaken = errors.New("another sweep finished meanwhile")

// look is one try at a sweep.
func (w *Sweeper) look(ctx context.Context, on groundhand.Date, byHand bool) (Result, error) {
	out := Result{Sweep: groundhand.Sweep{Day: on, StartedAt: w.store.Now(), ByHand: byHand}}
	before, _, err := w.store.LastSweep(ctx)
	if err != nil {
		return Result{}, err
	}
	company, err := w.roll.Company(ctx, on)
	if err != nil {
		return Result{}, err
	}
	found := findings(company)
	if err := w.store.InTx(ctx, func(tx *store.Store) error { return out.settle(ctx, tx, found, before) }); err != nil {
		return Result{}, err
	}
	return out, nil
}

// settle compares what was found with the open flags; before is the last sweep when the looking began. It runs inside the transaction, so
// two sweeps at once cannot both raise a flag.
func (r *Result) settle(ctx context.Context, tx *store.Store, found []groundhand.Flag, before groundhand.Sweep) error {
	last, swept, err := tx.LastSweep(ctx)
	switch {
	case err != nil:
		return err
	case swept && last.Day > r.Sweep.Day:
		return groundhand.Conflict("on", "The watch has looked at %s already; flags go forward only.", last.Day.Words())
	case last.ID != before.ID: // by name, for a clock that was set back would never pass the other's moment
		return errOvertaken
	}
	open, err := tx.OpenFlags(ctx)
	if err != nil {
		return err
	}
	r.Raised, r.Cleared = difference(found, open)
	return r.write(ctx, tx)
}

func (r *Result) write(ctx context.Context, tx *store.Store) error {
	now, clearings := tx.Now(), make([]groundhand.Clearing, len(r.Cleared))
	for i := range r.Raised {
		r.Raised[i].ID, r.Raised[i].RaisedOn, r.Raised[i].RaisedAt = groundhand.FlagID(tx.NewID()), r.Sweep.Day, now
	}
	for i, f := range r.Cleared {
		clearings[i] = groundhand.Clearing{ID: groundhand.EntryID(tx.NewID()), FlagID: f.ID, ClearedOn: r.Sweep.Day, ClearedAt: now}
	}
	r.Sweep.ID, r.Sweep.FinishedAt = groundhand.EntryID(tx.NewID()), now
	r.Sweep.Raised, r.Sweep.Cleared = len(r.Raised), len(r.Cleared)
	if err := store.Add(ctx, tx, r.Raised...); err != nil {
		return err
	}
	if err := store.Add(ctx, tx, clearings...); err != nil {
		return err
	}
	return store.Add(ctx, tx, r.Sweep)
}

// After looks at the last day swept again, so that what a correction changed is flagged, or no longer flagged, at once. Where no day was
// swept yet there is nothing to put right.
func (w *Sweeper) After(ctx context.Context) (Result, error) {
	last, swept, err := w.store.LastSweep(ctx)
	if err != nil || !swept {
		return Result{}, err
	}
	return w.Sweep(ctx, last.Day, false)
}
