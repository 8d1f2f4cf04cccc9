package graph

import (
	"cmp"
	"context"
	"slices"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/training"
)

type duplicate struct{ *Root }

// Duplicate looks up who the two are.
func (r *Root) Duplicate() generated.DuplicateResolver { return duplicate{r} }

func (duplicate) A(ctx context.Context, d *generated.Duplicate) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, d.AID)
}

func (duplicate) B(ctx context.Context, d *generated.Duplicate) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, d.BID)
}

func (q query) Duplicates(ctx context.Context) ([]generated.Duplicate, error) {
	pairs, err := q.Roll.Duplicates(ctx)
	return each(pairs, func(d rollcall.Duplicate) generated.Duplicate {
		return generated.Duplicate{AID: d.A, BID: d.B, Why: append([]string{}, d.Why...)}
	}), err
}

func (q query) Holds(ctx context.Context, open *bool, first *int, after *string) (*generated.HoldConnection, error) {
	rows, err := unended(ctx, q.Store, open, func(h groundhand.Hold) groundhand.EntryID { return h.ID }, func(r groundhand.Release) groundhand.EntryID { return r.HoldID })
	if err != nil {
		return nil, err
	}
	edges, info, err := cut(rows, first, after, func(h groundhand.Hold) (generated.HoldEdge, string) {
		return generated.HoldEdge{Cursor: string(h.ID), Node: &h}, string(h.ID)
	})
	return &generated.HoldConnection{Edges: edges, PageInfo: info}, err
}

func (q query) Retained(ctx context.Context, on groundhand.Date, first *int, after *string) (*generated.KeepingConnection, error) {
	rows, err := q.Roll.Retained(ctx, on)
	if err != nil {
		return nil, err
	}
	rows = slices.Clone(rows)
	slices.SortFunc(rows, func(a, b rollcall.Keeping) int { return cmp.Compare(a.WorkerID, b.WorkerID) })
	edges, info, err := cut(rows, first, after, func(k rollcall.Keeping) (generated.KeepingEdge, string) {
		return generated.KeepingEdge{Cursor: string(k.WorkerID), Node: &generated.Keeping{WorkerID: string(k.WorkerID), Until: someOrNil(k.Until), Why: k.Why,
			Holds: texts(k.Holds), MayErase: k.MayErase}}, string(k.WorkerID)
	})
	return &generated.KeepingConnection{Edges: edges, PageInfo: info}, err
}

func (m mutation) PlaceHold(ctx context.Context, key string, form training.HoldForm) (*groundhand.Hold, error) {
	return made(m.Desk.PlaceHold(ctx, viewer(ctx), key, form))
}

func (m mutation) ReleaseHold(ctx context.Context, key string, form training.ReleaseForm) (*groundhand.Release, error) {
	return made(m.Desk.Release(ctx, viewer(ctx), key, form))
}

func (m mutation) SetRetention(ctx context.Context, key string, form training.RetentionForm) (*groundhand.Retention, error) {
	return made(m.Desk.SetRetention(ctx, viewer(ctx), key, form))
}

func (m mutation) EraseNames(ctx context.Context, key string, form training.ErasureForm) (*training.Erased, error) {
	erased, err := m.Desk.Erase(ctx, viewer(ctx), key, form)
	if err != nil {
		return nil, err
	}
	erased.Mentions = append([]groundhand.EntryID{}, erased.Mentions...)
	return &erased, nil
}
