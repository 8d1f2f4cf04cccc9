package graph

import (
	"context"
	"strconv"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/training"
)

type plan struct{ *Root }

// Plan gives its seed as text and whether it was adopted.
func (r *Root) Plan() generated.PlanResolver { return plan{r} }

func (plan) Seed(_ context.Context, p *groundhand.Plan) (string, error) {
	return strconv.FormatInt(p.Seed, 10), nil
}

func (plan) AdoptedAt(ctx context.Context, p *groundhand.Plan) (*groundhand.Instant, error) {
	all, err := load(ctx).adoptions.Load(ctx, p.ID)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	return &all[0].RecordedAt, nil
}

func (q query) Plan(ctx context.Context, id string) (*groundhand.Plan, error) {
	return get[groundhand.Plan](ctx, q.Store, id)
}

func (q query) Plans(ctx context.Context, first *int, after *string) (*generated.PlanConnection, error) {
	edges, info, err := page(ctx, q.Store, first, after, func(p groundhand.Plan) (generated.PlanEdge, string) {
		return generated.PlanEdge{Cursor: string(p.ID), Node: &p}, string(p.ID)
	})
	return &generated.PlanConnection{Edges: edges, PageInfo: info}, err
}

func (q query) RuleSets(ctx context.Context) ([]groundhand.RuleSet, error) {
	return listed(store.Standing[groundhand.RuleSet](ctx, q.Store))
}

func (m mutation) SuggestRotation(ctx context.Context, key string, form training.RotationForm) (*groundhand.Plan, error) {
	return made(m.Desk.SuggestRotation(ctx, viewer(ctx), key, form))
}

func (m mutation) AdoptPlan(ctx context.Context, key string, form training.AdoptionForm) (*generated.AdoptedPlan, error) {
	adopted, err := m.Desk.AdoptPlan(ctx, viewer(ctx), key, form)
	if err != nil {
		return nil, err
	}
	p, err := get[groundhand.Plan](ctx, m.Store, string(form.PlanID))
	return &generated.AdoptedPlan{Plan: p, Sessions: adopted.Sessions}, err
}
