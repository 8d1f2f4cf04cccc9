package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
)

type account struct{ *Root }

// Account looks up the worker it belongs to.
func (r *Root) Account() generated.AccountResolver { return account{r} }

func (account) Worker(ctx context.Context, a *groundhand.Account) (*groundhand.Worker, error) {
	if a.WorkerID == "" {
		return nil, nil
	}
	return one(ctx, load(ctx).worker, a.WorkerID)
}

func (q query) Me(ctx context.Context) (*groundhand.Account, error) {
	by := viewer(ctx)
	return &by, nil
}

func (q query) Accounts(ctx context.Context, first *int, after *string) (*generated.AccountConnection, error) {
	edges, info, err := page(ctx, q.Store, first, after, func(a groundhand.Account) (generated.AccountEdge, string) {
		return generated.AccountEdge{Cursor: string(a.ID), Node: &a}, string(a.ID)
	})
	return &generated.AccountConnection{Edges: edges, PageInfo: info}, err
}

func (m mutation) AddAccount(ctx context.Context, name string, capacity groundhand.Capacity, worker *string) (*generated.NewAccount, error) {
	if err := access.MayAddAccount(viewer(ctx), capacity); err != nil {
		return nil, err
	}
	if err := known[groundhand.Worker](ctx, m.Store, "workerId", or(worker)); err != nil {
		return nil, err
	}
	added, token, err := m.Door.AddAccount(ctx, name, capacity, groundhand.WorkerID(or(worker)))
	if err != nil {
		return nil, err
	}
	return &generated.NewAccount{Account: &added, Token: token}, nil
}
