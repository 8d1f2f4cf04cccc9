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

// mayAbout is nil when the viewer may do an act about a worker as things stand today, whatever day is asked about.
func mayAbout(ctx context.Context, what access.Act, about groundhand.WorkerID) error {
	circle, err := load(ctx).circle()
	if err != nil {
		return err
	}
	return circle.MayAbout(what, about)
}

// mayCrew is the same about a crew.
func mayCrew(ctx context.Context, what access.Act, crew groundhand.CrewID) error {
	circle, err := load(ctx).circle()
	if err != nil {
		return err
	}
	return circle.MayCrew(what, crew)
}

// mayReadStanding lets everybody read their own standing, a foreman the crew's, and those whose capacity says so everybody's.
func mayReadStanding(ctx context.Context, about groundhand.WorkerID) error {
	by := viewer(ctx)
	if by.WorkerID == about && access.May(by, access.ReadOwn) == nil {
		return nil
	}
	return mayAbout(ctx, access.ReadStanding, about)
}

// crewsSeen says which crews the viewer may see in an answer about the whole company.
func crewsSeen(ctx context.Context, what access.Act) (func(groundhand.CrewID) bool, error) {
	circle, err := load(ctx).circle()
	return func(id groundhand.CrewID) bool { return circle.MayCrew(what, id) == nil }, err
}
