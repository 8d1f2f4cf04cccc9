package audit

import (
	"context"
	"slices"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// mostDays is the longest time that is screened at once: runs are compared with one another.
const mostDays = 800

// Screens looks through what was recorded of some days, both included. Entries that were withdrawn or replaced are looked at too: what was
// taken back is not forgotten. It gives questions for a person, never a verdict.
func (a *Auditor) Screens(ctx context.Context, by groundhand.Account, from, through groundhand.Date) (out []Finding, err error) {
	if err := access.May(by, access.Audit); err != nil {
		return nil, err
	}
	var p groundhand.Problems
	checkDays(&p, from, through)
	if through-from > mostDays {
		p.Add(groundhand.CodeTooLarge, "through", "At most %d days are looked through at once.", mostDays)
	}
	if err := p.Err(); err != nil {
		return nil, err
	}
	err = a.store.InSnapshot(ctx, func(seen *store.Store) error {
		f, err := a.over(seen).facts(ctx, from, through)
		out = Screens(f)
		return err
	})
	return out, err
}

func (a *Auditor) facts(ctx context.Context, from, through groundhand.Date) (Facts, error) {
	within := func(r groundhand.Recorded) bool { return from <= r.HappenedOn && r.HappenedOn <= through }
	f := Facts{Zone: a.roll.Zone(), Yards: map[groundhand.RunID]groundhand.YardID{}, Roads: map[[2]groundhand.YardID]int{}, Spoken: map[groundhand.EntryID]bool{}}
	var err error
	if f.Runs, err = allWithin(ctx, a.store, func(r groundhand.Run) bool { return within(r.Recorded) && r.CameBy != groundhand.Imported }); err != nil {
		return f, err
	}
	if f.Parts, err = allWithin(ctx, a.store, func(p groundhand.RunPart) bool { return within(p.Recorded) && p.CameBy != groundhand.Imported }); err != nil {
		return f, err
	}
	if f.Assessments, err = allWithin(ctx, a.store, func(s groundhand.Assessment) bool { return within(s.Recorded) && s.CameBy != groundhand.Imported }); err != nil {
		return f, err
	}
	if err := a.places(ctx, &f); err != nil {
		return f, err
	}
	return f, a.spokenAgainst(ctx, &f)
}

func allWithin[T any](ctx context.Context, s *store.Store, keep func(T) bool) ([]T, error) {
	all, err := store.All[T](ctx, s)
	return slices.DeleteFunc(all, func(row T) bool { return !keep(row) }), err
}

// places tells where each run was, by its session, and the roads. A run outside a session was in the field, nobody entered where.
func (a *Auditor) places(ctx context.Context, f *Facts) error {
	sessions, err := store.All[groundhand.Session](ctx, a.store)
	if err != nil {
		return err
	}
	yards := map[groundhand.SessionID]groundhand.YardID{}
	for _, s := range sessions {
		yards[s.ID] = s.YardID
	}
	for _, r := range f.Runs {
		if yard := yards[r.SessionID]; yard != "" {
			f.Yards[r.ID] = yard
		}
	}
	roads, err := store.Standing[groundhand.Road](ctx, a.store)
	for _, r := range roads {
		f.Roads[[2]groundhand.YardID{r.FromYardID, r.ToYardID}] = r.Minutes
		f.Roads[[2]groundhand.YardID{r.ToYardID, r.FromYardID}] = r.Minutes
	}
	return err
}

func (a *Auditor) spokenAgainst(ctx context.Context, f *Facts) error {
	ids := make([]groundhand.EntryID, 0, len(f.Runs)+len(f.Parts))
	for _, r := range f.Runs {
		ids = append(ids, groundhand.EntryID(r.ID))
	}
	for _, p := range f.Parts {
		ids = append(ids, p.ID)
	}
	marks, err := a.roll.Marks(ctx, ids)
	for id, list := range marks {
		f.Spoken[id] = slices.Contains(list, rollcall.MarkContradicted)
	}
	return err
}
