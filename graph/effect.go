package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

func (q query) EffectOf(ctx context.Context, event generated.EventAsk) (*generated.Effect, error) {
	e := rollcall.Event{At: event.At, KitID: groundhand.KitID(or(event.Kit)), DeviceID: groundhand.DeviceID(or(event.Device)), WorkerID: groundhand.WorkerID(or(event.Worker)),
		EntryID: groundhand.EntryID(or(event.Entry))}
	whole := access.ReachOf(viewer(ctx), access.ReadCover) == access.Everybody
	if err := maySuppose(ctx, e, whole); err != nil {
		return nil, err
	}
	seen, err := crewsSeen(ctx, access.ReadCover)
	if err != nil {
		return nil, err
	}
	effect, err := q.Roll.Effect(ctx, e)
	if err != nil {
		return nil, atField("event", err)
	}
	out := &generated.Effect{At: effect.At, Jobs: []generated.JobEffect{}, Caution: rollcall.Caution}
	if whole {
		out.LeftOut = effect.LeftOut
	}
	for _, j := range effect.Jobs {
		if seen(j.Job.CrewID) {
			out.Jobs = append(out.Jobs, jobEffect(j, whole))
		}
	}
	return out, nil
}

// maySuppose keeps a foreman to the people of the own crew. Entries say nothing of whose they are.
func maySuppose(ctx context.Context, e rollcall.Event, whole bool) error {
	switch {
	case whole:
		return nil
	case e.EntryID != "":
		return groundhand.Forbidden("A foreman asks about kits, devices and the own people.")
	case e.WorkerID != "":
		return mayAbout(ctx, access.ReadCover, e.WorkerID)
	}
	return nil
}

// jobEffect leaves the changes out for those who do not read the cover of all crews: they lend people of other crews.
func jobEffect(j rollcall.JobEffect, whole bool) generated.JobEffect {
	out := generated.JobEffect{Job: &j.Job, Why: whyNot(j.Refused), VerdictChanges: j.Verdict, ListsChange: j.Lists, NMinus1Changes: j.NMinus1, Kits: append([]rollcall.NearKit{}, j.Kits...)}
	if j.Refused == nil {
		out.Before, out.After = coverOf(j.Before), coverOf(j.After)
	}
	if whole {
		out.Back = offered(j.After, j.Back)
	}
	return out
}

type nearKit struct{ *Root }

// NearKit looks up where a kit is.
func (r *Root) NearKit() generated.NearKitResolver { return nearKit{r} }

func (nearKit) Yard(ctx context.Context, k *rollcall.NearKit) (*groundhand.Yard, error) {
	return one(ctx, load(ctx).yard, k.YardID)
}
