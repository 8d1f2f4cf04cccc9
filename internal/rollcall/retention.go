package rollcall

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Keeping says how long the name of a worker is kept, and why.
type Keeping struct {
	WorkerID groundhand.WorkerID
	Until    groundhand.Date // last day; zero: no end is known
	Why      string
	Holds    []groundhand.EntryID // that stand on the worker, or on a crew the worker was a member of
	MayErase bool
}

// HoldState is a hold and what ended it.
type HoldState struct {
	Hold    groundhand.Hold
	Release *groundhand.Release // nil: it still stands
}

// Retained tells of everybody whose name is not erased how long it is kept, as of a day, in order of id. The retention is the employer's;
// no single legal period fits.
func (r *Roll) Retained(ctx context.Context, on groundhand.Date) ([]Keeping, error) {
	var out []Keeping
	err := r.asOfNow(ctx, func(seen *Roll) error {
		facts, err := seen.retentionFacts(ctx)
		if err != nil {
			return err
		}
		for _, w := range facts.workers {
			if !facts.erased[w.ID] {
				out = append(out, facts.keeping(w.ID, on))
			}
		}
		return nil
	})
	slices.SortFunc(out, func(a, b Keeping) int { return cmp.Compare(a.WorkerID, b.WorkerID) })
	return out, err
}

// Holds gives every hold that was not withdrawn, in recorded order.
func (r *Roll) Holds(ctx context.Context) (out []HoldState, err error) {
	err = r.asOfNow(ctx, func(seen *Roll) error {
		out, err = seen.holds(ctx)
		return err
	})
	return out, err
}

func (r *Roll) holds(ctx context.Context) ([]HoldState, error) {
	holds, err := store.Standing[groundhand.Hold](ctx, r.store)
	if err != nil {
		return nil, err
	}
	releases, err := store.Standing[groundhand.Release](ctx, r.store)
	ended := map[groundhand.EntryID]*groundhand.Release{}
	for i, e := range releases {
		ended[e.HoldID] = &releases[i]
	}
	out := make([]HoldState, len(holds))
	for i, h := range holds {
		out[i] = HoldState{h, ended[h.ID]}
	}
	return out, err
}

// retentionFacts is what decides how long names are kept.
type retentionFacts struct {
	workers     []groundhand.Worker
	employments map[groundhand.WorkerID][]groundhand.Employment
	retentions  []groundhand.Retention
	held        map[groundhand.WorkerID][]groundhand.EntryID
	erased      map[groundhand.WorkerID]bool
}

func (r *Roll) retentionFacts(ctx context.Context) (f retentionFacts, err error) {
	if f.workers, err = store.Standing[groundhand.Worker](ctx, r.store); err != nil {
		return f, err
	}
	if f.retentions, err = store.Standing[groundhand.Retention](ctx, r.store); err != nil {
		return f, err
	}
	employments, err := store.Standing[groundhand.Employment](ctx, r.store)
	if err != nil {
		return f, err
	}
	memberships, err := store.Standing[groundhand.Membership](ctx, r.store)
	if err != nil {
		return f, err
	}
	holds, err := r.holds(ctx)
	if err != nil {
		return f, err
	}
	erasures, err := store.Standing[groundhand.Erasure](ctx, r.store)
	if err != nil {
		return f, err
	}
	used, err := r.whoUsed(ctx, holds)
	f.employments, f.erased, f.held = map[groundhand.WorkerID][]groundhand.Employment{}, map[groundhand.WorkerID]bool{}, heldWorkers(holds, memberships, used)
	for _, e := range employments {
		f.employments[e.WorkerID] = append(f.employments[e.WorkerID], e)
	}
	for _, e := range erasures {
		f.erased[e.WorkerID] = true
	}
	return f, err
}

// whoUsed gives, for each hold on a device or a kit, everybody who may be asked about it: who had a part in a run on it or watched one, and who
// looked at it or took it out of service. Entries that were replaced or withdrawn count too.
func (r *Roll) whoUsed(ctx context.Context, holds []HoldState) (map[groundhand.EntryID][]groundhand.WorkerID, error) {
	out := map[groundhand.EntryID][]groundhand.WorkerID{}
	for _, h := range holds {
		by, thing := store.ByDevice, string(h.Hold.DeviceID)
		if h.Hold.KitID != "" {
			by, thing = store.ByKit, string(h.Hold.KitID)
		}
		if thing == "" || h.Release != nil {
			continue
		}
		who, err := r.usersOf(ctx, by, thing)
		if err != nil {
			return nil, err
		}
		out[h.Hold.ID] = who
	}
	return out, nil
}

func (r *Roll) usersOf(ctx context.Context, by store.Field, thing string) (who []groundhand.WorkerID, err error) {
	keys := []string{thing}
	runs, err := store.Find[groundhand.Run](ctx, r.store, by, keys)
	if err != nil {
		return nil, err
	}
	for _, run := range runs {
		who = append(who, run.WatchedBy)
	}
	parts, err := store.Find[groundhand.RunPart](ctx, r.store, store.ByRun, idsOf(runs, func(run groundhand.Run) groundhand.RunID { return run.ID }))
	if err != nil {
		return nil, err
	}
	for _, p := range parts {
		who = append(who, p.WorkerID)
	}
	looks, err := store.Find[groundhand.Inspection](ctx, r.store, by, keys)
	if err != nil {
		return nil, err
	}
	for _, l := range looks {
		who = append(who, l.AuthorID)
	}
	defects, err := store.Find[groundhand.Defect](ctx, r.store, by, keys)
	for _, d := range defects {
		who = append(who, d.AuthorID)
	}
	return slices.DeleteFunc(unique(who), func(w groundhand.WorkerID) bool { return w == "" }), err
}

// heldWorkers gives the holds that bear on each worker. Whoever was ever a member of a crew may be asked about what it did.
func heldWorkers(holds []HoldState, memberships []groundhand.Membership, used map[groundhand.EntryID][]groundhand.WorkerID) map[groundhand.WorkerID][]groundhand.EntryID {
	out := map[groundhand.WorkerID][]groundhand.EntryID{}
	note := func(w groundhand.WorkerID, hold groundhand.EntryID) {
		if !slices.Contains(out[w], hold) {
			out[w] = append(out[w], hold)
		}
	}
	for _, h := range holds {
		if h.Release != nil {
			continue
		}
		if h.Hold.WorkerID != "" {
			note(h.Hold.WorkerID, h.Hold.ID)
		}
		for _, w := range used[h.Hold.ID] {
			note(w, h.Hold.ID)
		}
		for _, m := range memberships {
			if h.Hold.CrewID != "" && m.CrewID == h.Hold.CrewID {
				note(m.WorkerID, h.Hold.ID)
			}
		}
	}
	return out
}

// keeping decides about one worker. A hold keeps a name whatever else is true.
func (f retentionFacts) keeping(who groundhand.WorkerID, on groundhand.Date) Keeping {
	k := Keeping{WorkerID: who, Holds: f.held[who]}
	end, why := endOfEmployment(f.employments[who], on)
	rule, set := retentionOn(f.retentions, groundhand.TrainingRecords, on)
	switch {
	case why != "":
		k.Why = why
	case !set:
		k.Why = "No retention of training records is set, so nobody knows how long to keep this."
	default:
		k.Until = end.AddMonths(rule.Months)
		k.Why = fmt.Sprintf("Employment ended on %s; training records are kept %d months from then, until %s.", end, rule.Months, k.Until)
	}
	k.MayErase = k.Until != 0 && on > k.Until && len(k.Holds) == 0
	return k
}

// endOfEmployment is the last day of the last employment, or why there is none.
func endOfEmployment(all []groundhand.Employment, on groundhand.Date) (end groundhand.Date, why string) {
	if len(all) == 0 {
		return 0, "No employment is recorded, so nobody knows when it ended."
	}
	for _, e := range all {
		if e.ToOn == 0 || e.ToOn >= on {
			return 0, "The worker is still employed, or will be."
		}
		end = max(end, e.ToOn)
	}
	return end, ""
}

// retentionOn is the retention of a class in force on a day: the latest that began by then, of two from one day the one told last.
func retentionOn(all []groundhand.Retention, class groundhand.RetentionClass, on groundhand.Date) (best groundhand.Retention, set bool) {
	for _, r := range all {
		if r.Class == class && r.HappenedOn <= on && (!set || r.HappenedOn >= best.HappenedOn) {
			best, set = r, true
		}
	}
	return best, set
}
