// Package watch looks each day for who has lapsed and which crews fall short, and raises and clears flags. What is due is asked of the
// record of finished sweeps, keyed by business day; cron is only the ticker. So a clock change, a night without power and two starts in
// one morning are all the same case: each day is swept in order, and sweeping a day again changes nothing.
package watch

import (
	"context"
	"encoding/json"

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

// Sweep looks at a business day, as seen at its close: raises a flag for what it finds and is not flagged yet, clears what no longer
// holds, and records the run, all in one transaction. Days go forward only: a day before the last one swept is refused, because the
// flags already tell of a later day. A day ahead of today is refused too.
func (w *Sweeper) Sweep(ctx context.Context, on groundhand.Date, byHand bool) (Result, error) {
	if on > w.roll.Today() {
		return Result{}, groundhand.Invalid("on", "%s lies ahead; the watch looks at today, %s, and the days missed before it.", on, w.roll.Today())
	}
	started := w.store.Now()
	company, err := w.roll.Company(ctx, on)
	if err != nil {
		return Result{}, err
	}
	out := Result{Sweep: groundhand.Sweep{Day: on, StartedAt: started, ByHand: byHand}}
	err = w.store.InTx(ctx, func(tx *store.Store) error { return out.settle(ctx, tx, findings(company)) })
	return out, err
}

// settle compares what was found with the open flags. It runs inside the transaction, so two sweeps at once cannot both raise a flag.
func (r *Result) settle(ctx context.Context, tx *store.Store, found []groundhand.Flag) error {
	last, swept, err := tx.LastSweep(ctx)
	if err != nil {
		return err
	}
	if swept && last.Day > r.Sweep.Day {
		return groundhand.Conflict("on", "The watch has looked at %s already; flags go forward only.", last.Day)
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

// subject is what a flag is about; at most one flag of a kind is open about one subject.
type subject struct {
	kind   groundhand.FlagKind
	worker groundhand.WorkerID
	crew   groundhand.CrewID
}

func subjectOf(f groundhand.Flag) subject { return subject{f.Kind, f.WorkerID, f.CrewID} }

// difference gives what is found and not open, and what is open and not found.
func difference(found, open []groundhand.Flag) (raised, cleared []groundhand.Flag) {
	isOpen, isFound := subjects(open), subjects(found)
	for _, f := range found {
		if !isOpen[subjectOf(f)] {
			raised = append(raised, f)
		}
	}
	for _, f := range open {
		if !isFound[subjectOf(f)] {
			cleared = append(cleared, f)
		}
	}
	return raised, cleared
}

func subjects(flags []groundhand.Flag) map[subject]bool {
	set := make(map[subject]bool, len(flags))
	for _, f := range flags {
		set[subjectOf(f)] = true
	}
	return set
}

// findings says what a company day should be flagged for, in the order of the company. It is pure.
func findings(c rollcall.Company) []groundhand.Flag {
	var out []groundhand.Flag
	for _, w := range c.Workers {
		if lines := w.NotCurrent(); len(lines) > 0 {
			out = append(out, groundhand.Flag{Kind: groundhand.PracticeLapsed, WorkerID: w.WorkerID, Detail: detail(lines)})
		}
		if lines := w.Near(c.On, c.LeadDays); len(lines) > 0 {
			out = append(out, groundhand.Flag{Kind: groundhand.LastGoodDayNear, WorkerID: w.WorkerID, Detail: detail(lines)})
		}
	}
	for _, crew := range c.Crews {
		out = append(out, crewFindings(crew)...)
	}
	return out
}

func crewFindings(crew rollcall.CrewDay) (out []groundhand.Flag) {
	var short, bare []rollcall.FamilyDay
	for _, f := range crew.Families {
		if f.BelowTwo() {
			short = append(short, f)
		}
		if !f.GroundCover {
			bare = append(bare, f)
		}
	}
	if len(short) > 0 {
		out = append(out, groundhand.Flag{Kind: groundhand.CrewBelowTwo, CrewID: crew.Crew.ID, Detail: familyDetail(short)})
	}
	if len(bare) > 0 {
		out = append(out, groundhand.Flag{Kind: groundhand.NoGroundCover, CrewID: crew.Crew.ID, Detail: familyDetail(bare)})
	}
	return out
}

// lineDetail is one line of a worker's flag: reasons as data, without a word about health.
type lineDetail struct {
	Method      groundhand.Method   `json:"method"`
	Role        groundhand.Role     `json:"role,omitempty"`
	FamilyID    groundhand.FamilyID `json:"family,omitempty"`
	Standing    string              `json:"standing"`
	LastGoodDay groundhand.Date     `json:"last_good_day,omitzero"`
	Line        string              `json:"line,omitempty"`
}

func detail(lines []rollcall.LineDay) string {
	out := make([]lineDetail, len(lines))
	for i, l := range lines {
		out[i] = lineDetail{l.Method, l.Role, l.FamilyID, string(l.Standing), l.LastGoodDay, l.Line}
	}
	return text(out)
}

type crewDetail struct {
	FamilyID groundhand.FamilyID `json:"family,omitempty"`
	Rescuers int                 `json:"rescuers"`
	Least    int                 `json:"least"`
	Verdict  string              `json:"verdict"`
}

func familyDetail(families []rollcall.FamilyDay) string {
	out := make([]crewDetail, len(families))
	for i, f := range families {
		out[i] = crewDetail{f.FamilyID, f.Rescuers, f.Least, f.Verdict.String()}
	}
	return text(out)
}

// text cannot fail: what it is given are plain words and numbers.
func text(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return string(b)
}
