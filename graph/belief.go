package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/training"
)

// What was put right, disputed or refused, for whoever has to decide how far to believe the records.

type (
	dispute struct{ *Root }
	review  struct{ *Root }
)

// Dispute looks up how it ended.
func (r *Root) Dispute() generated.DisputeResolver { return dispute{r} }

// Review looks up how it ended.
func (r *Root) Review() generated.ReviewResolver { return review{r} }

func (dispute) Ruling(ctx context.Context, d *groundhand.Dispute) (*groundhand.Ruling, error) {
	return firstOf(load(ctx).rulings.Load(ctx, d.ID))
}

func (review) Closing(ctx context.Context, v *groundhand.Review) (*groundhand.ReviewClosing, error) {
	return firstOf(load(ctx).closings.Load(ctx, v.ID))
}

// firstOf is the first of some rows, nil for none.
func firstOf[T any](rows []T, err error) (*T, error) {
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	return &rows[0], nil
}

func (q query) Disputes(ctx context.Context, open *bool, first *int, after *string) (*generated.DisputeConnection, error) {
	rows, err := unended(ctx, q.Store, open, func(d groundhand.Dispute) groundhand.EntryID { return d.ID }, func(r groundhand.Ruling) groundhand.EntryID { return r.DisputeID })
	if err != nil {
		return nil, err
	}
	edges, info, err := cut(rows, first, after, func(d groundhand.Dispute) (generated.DisputeEdge, string) {
		return generated.DisputeEdge{Cursor: string(d.ID), Node: &d}, string(d.ID)
	})
	return &generated.DisputeConnection{Edges: edges, PageInfo: info}, err
}

func (q query) Reviews(ctx context.Context, open *bool, first *int, after *string) (*generated.ReviewConnection, error) {
	rows, err := unended(ctx, q.Store, open, func(r groundhand.Review) groundhand.EntryID { return r.ID }, func(c groundhand.ReviewClosing) groundhand.EntryID { return c.ReviewID })
	if err != nil {
		return nil, err
	}
	edges, info, err := cut(rows, first, after, func(r groundhand.Review) (generated.ReviewEdge, string) {
		return generated.ReviewEdge{Cursor: string(r.ID), Node: &r}, string(r.ID)
	})
	return &generated.ReviewConnection{Edges: edges, PageInfo: info}, err
}

// unended are the rows by id that no other row has ended, or all of them.
func unended[T, E any](ctx context.Context, s *store.Store, open *bool, idOf func(T) groundhand.EntryID, ends func(E) groundhand.EntryID) ([]T, error) {
	ended := map[groundhand.EntryID]bool{}
	if open == nil || *open {
		rows, err := store.Standing[E](ctx, s)
		if err != nil {
			return nil, err
		}
		for _, row := range rows {
			ended[ends(row)] = true
		}
	}
	rows, err := store.Standing[T](ctx, s)
	return byIDs(rows, idOf, func(row T) bool { return !ended[idOf(row)] }), err
}

func (q query) RefusedAttempts(ctx context.Context, since groundhand.Instant, first *int, after *string) (*generated.RefusedAttemptConnection, error) {
	rows, err := store.All[groundhand.RefusedAttempt](ctx, q.Store)
	if err != nil {
		return nil, err
	}
	rows = byIDs(rows, func(a groundhand.RefusedAttempt) groundhand.EntryID { return a.ID }, func(a groundhand.RefusedAttempt) bool { return a.RecordedAt >= since })
	edges, info, err := cut(rows, first, after, func(a groundhand.RefusedAttempt) (generated.RefusedAttemptEdge, string) {
		return generated.RefusedAttemptEdge{Cursor: string(a.ID), Node: &a}, string(a.ID)
	})
	return &generated.RefusedAttemptConnection{Edges: edges, PageInfo: info}, err
}

func (q query) Corrections(ctx context.Context, since groundhand.Instant, first *int, after *string) (*generated.CorrectionConnection, error) {
	rows, err := store.All[groundhand.Correction](ctx, q.Store)
	if err != nil {
		return nil, err
	}
	rows = byIDs(rows, func(c groundhand.Correction) groundhand.EntryID { return c.ID }, func(c groundhand.Correction) bool { return c.RecordedAt >= since })
	edges, info, err := cut(rows, first, after, func(c groundhand.Correction) (generated.CorrectionEdge, string) {
		return generated.CorrectionEdge{Cursor: string(c.ID), Node: &c}, string(c.ID)
	})
	return &generated.CorrectionConnection{Edges: edges, PageInfo: info}, err
}

func (m mutation) DisputeEntry(ctx context.Context, key string, form training.DisputeForm) (*groundhand.Dispute, error) {
	return made(m.Desk.Dispute(ctx, viewer(ctx), key, form))
}

func (m mutation) RuleOnDispute(ctx context.Context, key string, form training.RulingForm) (*groundhand.Ruling, error) {
	return made(m.Desk.RuleOnDispute(ctx, viewer(ctx), key, form))
}

func (m mutation) FindAssessorInvalid(ctx context.Context, key string, form training.FindingForm) (*training.Found, error) {
	found, err := m.Desk.FindAssessorInvalid(ctx, viewer(ctx), key, form)
	if err != nil {
		return nil, err
	}
	found.Reviews = append([]groundhand.Review{}, found.Reviews...)
	return &found, nil
}

func (m mutation) OpenReview(ctx context.Context, key string, form training.ReviewForm) (*groundhand.Review, error) {
	return made(m.Desk.OpenReview(ctx, viewer(ctx), key, form))
}

func (m mutation) CloseReview(ctx context.Context, key string, form training.ReviewClosingForm) (*groundhand.ReviewClosing, error) {
	return made(m.Desk.CloseReview(ctx, viewer(ctx), key, form))
}

func (m mutation) ReportEvent(ctx context.Context, key string, form training.RealEventForm) (*groundhand.RealEvent, error) {
	return made(m.Desk.ReportEvent(ctx, viewer(ctx), key, form))
}
