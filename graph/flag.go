package graph

import (
	"cmp"
	"context"
	"slices"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
)

type flag struct{ *Root }

// Flag looks up what a flag is about and whether it was cleared.
func (r *Root) Flag() generated.FlagResolver { return flag{r} }

func (flag) Worker(ctx context.Context, f *groundhand.Flag) (*groundhand.Worker, error) {
	if f.WorkerID == "" {
		return nil, nil
	}
	return one(ctx, load(ctx).worker, f.WorkerID)
}

func (flag) Crew(ctx context.Context, f *groundhand.Flag) (*groundhand.Crew, error) {
	if f.CrewID == "" {
		return nil, nil
	}
	return one(ctx, load(ctx).crew, f.CrewID)
}

func (flag) ClearedOn(ctx context.Context, f *groundhand.Flag) (*groundhand.Date, error) {
	all, err := load(ctx).clearings.Load(ctx, f.ID)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	return &all[0].ClearedOn, nil
}

func (q query) Flags(ctx context.Context, open *bool, first *int, after *string, asKnownAt *groundhand.Instant) (*generated.FlagConnection, error) {
	if open == nil || *open {
		return q.openFlagPage(ctx, first, after, asKnownAt)
	}
	if asKnownAt != nil {
		return nil, groundhand.Invalid("asKnownAt", "What was known is asked of open flags; ask with open true.")
	}
	if access.ReachOf(viewer(ctx), access.ReadFlags) != access.Everybody {
		return nil, groundhand.Forbidden("A foreman reads the open flags of the own crew; ask with open true.")
	}
	edges, info, err := page(ctx, q.Store, first, after, flagEdge)
	return &generated.FlagConnection{Edges: edges, PageInfo: info}, err
}

func flagEdge(f groundhand.Flag) (generated.FlagEdge, string) {
	return generated.FlagEdge{Cursor: string(f.ID), Node: &f}, string(f.ID)
}

// openFlagPage cuts a page out of the open flags: those about the crews, and the workers in them, that the account may see.
func (q query) openFlagPage(ctx context.Context, first *int, after *string, asKnownAt *groundhand.Instant) (*generated.FlagConnection, error) {
	seen, err := crewsSeen(ctx, access.ReadFlags)
	if err != nil {
		return nil, err
	}
	places, err := q.Roll.PlacesOn(ctx, q.Roll.Today())
	if err != nil {
		return nil, err
	}
	flags, err := q.flagsBy(ctx, asKnownAt)
	if err != nil {
		return nil, err
	}
	flags = slices.DeleteFunc(flags, func(f groundhand.Flag) bool {
		crew := f.CrewID
		if f.WorkerID != "" {
			crew = places[f.WorkerID].CrewID
		}
		return !seen(crew)
	})
	slices.SortFunc(flags, func(a, b groundhand.Flag) int { return cmp.Compare(a.ID, b.ID) })
	edges, info, err := cut(flags, first, after, flagEdge)
	return &generated.FlagConnection{Edges: edges, PageInfo: info}, err
}

func (q query) flagsBy(ctx context.Context, at *groundhand.Instant) ([]groundhand.Flag, error) {
	if at == nil {
		return q.Store.OpenFlags(ctx)
	}
	return q.Sweeper.FlagsAsKnown(ctx, *at)
}

func (q query) Sweeps(ctx context.Context, first *int, after *string) (*generated.SweepConnection, error) {
	edges, info, err := page(ctx, q.Store, first, after, func(s groundhand.Sweep) (generated.SweepEdge, string) {
		return generated.SweepEdge{Cursor: string(s.ID), Node: &s}, string(s.ID)
	})
	return &generated.SweepConnection{Edges: edges, PageInfo: info}, err
}

func (m mutation) Sweep(ctx context.Context, on groundhand.Date) (*generated.SweepResult, error) {
	result, err := m.Sweeper.Sweep(ctx, on, true)
	if err != nil {
		return nil, err
	}
	return &generated.SweepResult{Sweep: &result.Sweep, Raised: result.Raised, Cleared: result.Cleared}, nil
}
