package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

type worker struct{ *Root }

// Worker looks up what a worker's entry does not hold itself.
func (r *Root) Worker() generated.WorkerResolver { return worker{r} }

// dayOr is the day asked for, else today.
func (r *Root) dayOr(on *groundhand.Date) groundhand.Date {
	if on != nil {
		return *on
	}
	return r.Roll.Today()
}

func (r worker) Name(ctx context.Context, w *groundhand.Worker, on *groundhand.Date) (string, error) {
	return load(ctx).name.Load(ctx, onDay{w.ID, r.dayOr(on)})
}

func (r worker) Grading(ctx context.Context, w *groundhand.Worker) (*groundhand.Grading, error) {
	all, err := load(ctx).gradings.Load(ctx, w.ID)
	return latest(all, r.Roll.Today()), err
}

func (r worker) Yard(ctx context.Context, w *groundhand.Worker) (*groundhand.Yard, error) {
	all, err := load(ctx).postings.Load(ctx, w.ID)
	posting := latest(all, r.Roll.Today())
	if err != nil || posting == nil {
		return nil, err
	}
	return one(ctx, load(ctx).yard, posting.YardID)
}

func (r worker) Employment(ctx context.Context, w *groundhand.Worker) (*groundhand.Employment, error) {
	all, err := load(ctx).employments.Load(ctx, w.ID)
	today := r.Roll.Today()
	for i, e := range all {
		if e.FromOn <= today && (e.ToOn == 0 || today <= e.ToOn) {
			return &all[i], err
		}
	}
	return nil, err
}

func (r worker) Crew(ctx context.Context, w *groundhand.Worker, on *groundhand.Date) (*groundhand.Crew, error) {
	id, err := load(ctx).crewOf.Load(ctx, onDay{w.ID, r.dayOr(on)})
	if err != nil || id == "" {
		return nil, err
	}
	return one(ctx, load(ctx).crew, id)
}

func (r worker) Standings(ctx context.Context, w *groundhand.Worker, on *groundhand.Date) ([]generated.Standing, error) {
	if err := mayReadStanding(ctx, w.ID); err != nil {
		return nil, err
	}
	all, err := load(ctx).standings.Load(ctx, onDay{w.ID, r.dayOr(on)})
	out := make([]generated.Standing, len(all))
	for i, s := range all {
		out[i] = standingOf(s)
	}
	return out, err
}

// dated is a record that holds from a day on.
type dated[T any] interface {
	*T
	Told() *groundhand.Recorded
}

// latest is the record in force on a day: the last that began, and of those the last recorded.
func latest[T any, P dated[T]](all []T, on groundhand.Date) *T {
	var best *T
	for i := range all {
		told := P(&all[i]).Told()
		if told.HappenedOn > on {
			continue
		}
		if best == nil || told.HappenedOn >= P(best).Told().HappenedOn {
			best = &all[i]
		}
	}
	return best
}

func (r *Root) crewsOn(ctx context.Context, on groundhand.Date, keys []onDay) (map[onDay]groundhand.CrewID, error) {
	places, err := r.Roll.PlacesOn(ctx, on)
	found := make(map[onDay]groundhand.CrewID, len(keys))
	for _, key := range keys {
		found[key] = places[key.id].CrewID
	}
	return found, err
}

func (q query) Worker(ctx context.Context, id string) (*groundhand.Worker, error) {
	return get[groundhand.Worker](ctx, q.Store, id)
}

func (q query) Workers(ctx context.Context, first *int, after *string) (*generated.WorkerConnection, error) {
	edges, info, err := page(ctx, q.Store, first, after, func(w groundhand.Worker) (generated.WorkerEdge, string) {
		return generated.WorkerEdge{Cursor: string(w.ID), Node: &w}, string(w.ID)
	})
	return &generated.WorkerConnection{Edges: edges, PageInfo: info}, err
}

func (q query) UnavailabilityReasons(ctx context.Context, id string) ([]groundhand.UnavailabilityReason, error) {
	times, err := store.FindStanding[groundhand.Unavailability](ctx, q.Store, store.ByWorker, []string{id})
	if err != nil {
		return nil, err
	}
	ids := make([]groundhand.EntryID, len(times))
	for i, t := range times {
		ids[i] = t.ID
	}
	reasons, err := listed(store.FindStanding[groundhand.UnavailabilityReason](ctx, q.Store, store.ByUnavailability, ids))
	if err != nil {
		return nil, err
	}
	if there, err := q.knownWorker(ctx, id); err != nil || !there {
		return reasons, err // a look at nobody
	}
	return reasons, q.saw(ctx, "unavailabilityReasons", groundhand.WorkerID(id))
}

// get reads one thing by id; an unknown id is NOT_FOUND.
func get[T any](ctx context.Context, s *store.Store, id string) (*T, error) {
	return made(store.Get[T](ctx, s, id))
}

// known refuses an id under the path of its field when nobody has it. None is fine.
func known[T any](ctx context.Context, s *store.Store, field, id string) error {
	if id == "" {
		return nil
	}
	_, err := store.Get[T](ctx, s, id)
	return atField(field, err)
}
