package audit

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// Trail is what was put right, taken back, told late or refused since a moment, in the order in which it was recorded.
type Trail struct {
	Since       groundhand.Instant
	Corrections []groundhand.Correction // withdrawals too, by their kind
	Late        []LateEntry
	Refused     []groundhand.RefusedAttempt
	Extensions  []groundhand.Extension
	Authors     []AuthorTrail // by name of the author's id; nobody is ranked
}

// LateEntry is an entry that was told late. It stays so marked for ever.
type LateEntry struct {
	ID       groundhand.EntryID
	Kind     string // as its table is called
	WorkerID groundhand.WorkerID
	groundhand.Recorded
}

// AuthorTrail counts what one person entered of it.
type AuthorTrail struct {
	AuthorID                                                   groundhand.WorkerID // empty: nobody in the books
	Corrections, Withdrawals, LateEntries, Refused, Extensions int
}

// Trail reads it.
func (a *Auditor) Trail(ctx context.Context, by groundhand.Account, since groundhand.Instant) (out Trail, err error) {
	if err := access.May(by, access.Audit); err != nil {
		return out, err
	}
	err = a.store.InSnapshot(ctx, func(seen *store.Store) error {
		out, err = a.over(seen).trail(ctx, since)
		return err
	})
	return out, err
}

func (a *Auditor) trail(ctx context.Context, since groundhand.Instant) (Trail, error) {
	out := Trail{Since: since}
	later := func(r groundhand.Recorded) bool { return r.RecordedAt >= since }
	var err error
	if out.Corrections, err = allWithin(ctx, a.store, func(c groundhand.Correction) bool { return later(c.Recorded) }); err != nil {
		return out, err
	}
	if out.Refused, err = allWithin(ctx, a.store, func(r groundhand.RefusedAttempt) bool { return later(r.Recorded) }); err != nil {
		return out, err
	}
	if out.Extensions, err = allWithin(ctx, a.store, func(x groundhand.Extension) bool { return later(x.Recorded) }); err != nil {
		return out, err
	}
	if out.Late, err = a.late(ctx, since); err != nil {
		return out, err
	}
	out.Authors = authors(out)
	return out, nil
}

// late finds late entries among what is recorded about people.
func (a *Auditor) late(ctx context.Context, since groundhand.Instant) ([]LateEntry, error) {
	var all []LateEntry
	for _, read := range []func() ([]LateEntry, error){
		func() ([]LateEntry, error) {
			return told(ctx, a.store, since, "run_parts", func(p groundhand.RunPart) (groundhand.EntryID, groundhand.WorkerID, groundhand.Recorded) {
				return p.ID, p.WorkerID, p.Recorded
			})
		},
		func() ([]LateEntry, error) {
			return told(ctx, a.store, since, "assessments", func(p groundhand.Assessment) (groundhand.EntryID, groundhand.WorkerID, groundhand.Recorded) {
				return p.ID, p.WorkerID, p.Recorded
			})
		},
		func() ([]LateEntry, error) {
			return told(ctx, a.store, since, "outside_evidences", func(p groundhand.OutsideEvidence) (groundhand.EntryID, groundhand.WorkerID, groundhand.Recorded) {
				return p.ID, p.WorkerID, p.Recorded
			})
		},
		func() ([]LateEntry, error) {
			return told(ctx, a.store, since, "inspections", func(p groundhand.Inspection) (groundhand.EntryID, groundhand.WorkerID, groundhand.Recorded) {
				return p.ID, "", p.Recorded
			})
		},
	} {
		rows, err := read()
		if err != nil {
			return nil, err
		}
		all = append(all, rows...)
	}
	ids := make([]groundhand.EntryID, len(all))
	for i, e := range all {
		ids[i] = e.ID
	}
	marks, err := a.roll.Marks(ctx, ids)
	all = slices.DeleteFunc(all, func(e LateEntry) bool { return !slices.Contains(marks[e.ID], rollcall.MarkLate) })
	slices.SortFunc(all, func(x, y LateEntry) int {
		return cmp.Or(cmp.Compare(x.RecordedAt, y.RecordedAt), cmp.Compare(x.ID, y.ID))
	})
	return all, err
}

func told[T any](ctx context.Context, s *store.Store, since groundhand.Instant, kind string, of func(T) (groundhand.EntryID, groundhand.WorkerID, groundhand.Recorded)) ([]LateEntry, error) {
	rows, err := store.All[T](ctx, s)
	var out []LateEntry
	for _, row := range rows {
		if id, worker, recorded := of(row); recorded.RecordedAt >= since {
			out = append(out, LateEntry{id, kind, worker, recorded})
		}
	}
	return out, err
}

func authors(t Trail) []AuthorTrail {
	by := map[groundhand.WorkerID]*AuthorTrail{}
	of := func(id groundhand.WorkerID) *AuthorTrail {
		if by[id] == nil {
			by[id] = &AuthorTrail{AuthorID: id}
		}
		return by[id]
	}
	for _, c := range t.Corrections {
		if c.Kind == groundhand.TakenBack {
			of(c.AuthorID).Withdrawals++
		} else {
			of(c.AuthorID).Corrections++
		}
	}
	for _, e := range t.Late {
		of(e.AuthorID).LateEntries++
	}
	for _, r := range t.Refused {
		of(r.AuthorID).Refused++
	}
	for _, x := range t.Extensions {
		of(x.AuthorID).Extensions++
	}
	out := make([]AuthorTrail, 0, len(by))
	for _, t := range by {
		out = append(out, *t)
	}
	slices.SortFunc(out, func(x, y AuthorTrail) int { return cmp.Compare(x.AuthorID, y.AuthorID) })
	return out
}

// Viewings tells who looked at records of people since a moment, in order; of one worker, or of everybody where none is named.
func (a *Auditor) Viewings(ctx context.Context, by groundhand.Account, worker groundhand.WorkerID, since groundhand.Instant) ([]groundhand.Viewing, error) {
	if err := access.May(by, access.ReadViewings); err != nil {
		return nil, err
	}
	return allWithin(ctx, a.store, func(v groundhand.Viewing) bool {
		return v.ViewedAt >= since && (worker == "" || v.Workers.Has(string(worker)))
	})
}
