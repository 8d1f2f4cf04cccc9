package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
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

func (q query) Accounts(ctx context.Context) ([]groundhand.Account, error) {
	return store.All[groundhand.Account](ctx, q.Store)
}

func (m mutation) AddAccount(ctx context.Context, name string, capacity groundhand.Capacity, worker *string) (*generated.NewAccount, error) {
	added, token, err := m.Door.AddAccount(ctx, name, capacity, groundhand.WorkerID(or(worker)))
	if err != nil {
		return nil, err
	}
	return &generated.NewAccount{Account: &added, Token: token}, nil
}
