package graph

import (
	"cmp"
	"context"
	"slices"

	"github.com/vikstrous/dataloadgen"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

type (
	crew       struct{ *Root }
	membership struct{ *Root }
)

// Crew looks up a crew's yard, people and flags.
func (r *Root) Crew() generated.CrewResolver { return crew{r} }

// Membership looks up whose it is.
func (r *Root) Membership() generated.MembershipResolver { return membership{r} }

func (crew) Yard(ctx context.Context, c *groundhand.Crew) (*groundhand.Yard, error) {
	return one(ctx, load(ctx).yard, c.YardID)
}

func (crew) Families(_ context.Context, c *groundhand.Crew) ([]string, error) { return c.Families, nil }

func (r crew) Members(ctx context.Context, c *groundhand.Crew, on *groundhand.Date) ([]groundhand.Membership, error) {
	return listed(load(ctx).members.Load(ctx, crewDay{c.ID, r.dayOr(on)}))
}

func (crew) OpenFlags(ctx context.Context, c *groundhand.Crew) ([]groundhand.Flag, error) {
	if err := mayCrew(ctx, access.ReadFlags, c.ID); err != nil {
		return nil, err
	}
	return listed(load(ctx).flags.Load(ctx, c.ID))
}

func (membership) Worker(ctx context.Context, m *groundhand.Membership) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, m.WorkerID)
}

// membersOn gives the people of crews on a day, foreman first, then by worker.
func (r *Root) membersOn(ctx context.Context, on groundhand.Date, keys []crewDay) (map[crewDay][]groundhand.Membership, error) {
	places, err := r.Roll.PlacesOn(ctx, on)
	found := make(map[crewDay][]groundhand.Membership, len(keys))
	for _, m := range places {
		key := crewDay{m.CrewID, on}
		found[key] = append(found[key], m)
	}
	for _, members := range found {
		slices.SortFunc(members, func(a, b groundhand.Membership) int {
			return cmp.Or(cmp.Compare(rank(a.Part), rank(b.Part)), cmp.Compare(a.WorkerID, b.WorkerID))
		})
	}
	return found, err
}

func rank(p groundhand.CrewPart) int {
	if p == groundhand.Foreman {
		return 0
	}
	return 1
}

// one loads a thing that a record refers to.
func one[K comparable, T any](ctx context.Context, l *dataloadgen.Loader[K, T], id K) (*T, error) {
	row, err := l.Load(ctx, id)
	if err != nil {
		return nil, err
	}
	return &row, nil
}

// oneOrNone is the same where a record may refer to nothing.
func oneOrNone[K ~string, T any](ctx context.Context, l *dataloadgen.Loader[K, T], id K) (*T, error) {
	if id == "" {
		return nil, nil
	}
	return one(ctx, l, id)
}

func (q query) Crew(ctx context.Context, id string) (*groundhand.Crew, error) {
	return get[groundhand.Crew](ctx, q.Store, id)
}

func (q query) Crews(ctx context.Context, first *int, after *string) (*generated.CrewConnection, error) {
	edges, info, err := page(ctx, q.Store, first, after, func(c groundhand.Crew) (generated.CrewEdge, string) {
		return generated.CrewEdge{Cursor: string(c.ID), Node: &c}, string(c.ID)
	})
	return &generated.CrewConnection{Edges: edges, PageInfo: info}, err
}

func (q query) Yards(ctx context.Context) ([]groundhand.Yard, error) {
	return listed(store.Standing[groundhand.Yard](ctx, q.Store))
}
