package graph

import (
	"context"

	"github.com/99designs/gqlgen/graphql"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
)

type viewerKey struct{}

// withViewer keeps the account that asks for the length of one request. Use cases get it as an argument, never from here.
func withViewer(ctx context.Context, by groundhand.Account) context.Context {
	return context.WithValue(ctx, viewerKey{}, by)
}

// viewer is the account that asks; the empty account, which may do nothing, without a token.
func viewer(ctx context.Context) groundhand.Account {
	by, _ := ctx.Value(viewerKey{}).(groundhand.Account)
	return by
}

// act guards a field: the directive names the act that its reader must be allowed.
func act(ctx context.Context, _ any, next graphql.Resolver, needs string) (any, error) {
	if err := access.May(viewer(ctx), access.Act(needs)); err != nil {
		return nil, err
	}
	return next(ctx)
}

// mayReadStanding lets everybody read their own standing, a foreman the crew's, and those whose capacity says so everybody's.
func (r *Root) mayReadStanding(ctx context.Context, about groundhand.WorkerID, on groundhand.Date) error {
	by := viewer(ctx)
	if by.WorkerID == about && access.May(by, access.ReadOwn) == nil {
		return nil
	}
	return access.MayAbout(ctx, r.Store, by, access.ReadStanding, about, on)
}

// crewsSeen says which crews the account may see in an answer about the whole company: all of them, or those it is foreman of that day.
func (r *Root) crewsSeen(ctx context.Context, what access.Act, on groundhand.Date) (func(groundhand.CrewID) bool, error) {
	by := viewer(ctx)
	if access.ReachOf(by, what) == access.Everybody {
		return func(groundhand.CrewID) bool { return true }, nil
	}
	own := map[groundhand.CrewID]bool{}
	places, err := r.Roll.PlacesOn(ctx, on)
	if m, there := places[by.WorkerID]; there && m.Part == groundhand.Foreman {
		own[m.CrewID] = true
	}
	return func(id groundhand.CrewID) bool { return own[id] }, err
}
