package graph

import (
	"context"
	"encoding/json"
	"strconv"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
	"groundhand/internal/store"
	"groundhand/internal/training"
)

type rotationJob struct{ *Root }

// RotationJob tells of what was asked for and how far it is.
func (r *Root) RotationJob() generated.RotationJobResolver { return rotationJob{r} }

func (rotationJob) ID(_ context.Context, j *training.RotationJob) (string, error) {
	return string(j.Request.ID), nil
}

func (rotationJob) Name(_ context.Context, j *training.RotationJob) (string, error) {
	return j.Request.Name, nil
}

func (rotationJob) State(_ context.Context, j *training.RotationJob) (generated.RotationState, error) {
	switch {
	case j.Plan != nil:
		return generated.RotationStatePlanned, nil
	case j.Failure != nil:
		return generated.RotationStateFailed, nil
	case j.UnderWay:
		return generated.RotationStateUnderWay, nil
	}
	return generated.RotationStateWaiting, nil
}

func (rotationJob) StartOn(_ context.Context, j *training.RotationJob) (groundhand.Date, error) {
	return j.Request.StartOn, nil
}

func (rotationJob) EndOn(_ context.Context, j *training.RotationJob) (groundhand.Date, error) {
	return j.Request.EndOn, nil
}

func (rotationJob) Seed(_ context.Context, j *training.RotationJob) (string, error) {
	return strconv.FormatInt(j.Request.Seed, 10), nil
}

func (rotationJob) Asked(_ context.Context, j *training.RotationJob) (string, error) {
	return j.Request.Asked, nil
}

func (rotationJob) Round(_ context.Context, j *training.RotationJob) (int, error) {
	return j.Progress.Round, nil
}

func (rotationJob) Rounds(_ context.Context, j *training.RotationJob) (int, error) {
	return j.Request.Rounds, nil
}

func (r rotationJob) Figures(ctx context.Context, j *training.RotationJob) ([]generated.PlanFigure, error) {
	switch {
	case j.Plan != nil:
		return plan(r).Figures(ctx, j.Plan)
	case !j.UnderWay || j.Progress.Rounds == 0:
		return []generated.PlanFigure{}, nil
	}
	best, bound := j.Progress.Best, j.Progress.Bound
	proved, least := 0, bound.Levels()
	for i, n := range best.Levels() {
		if n != least[i] {
			break
		}
		proved++
	}
	return planFigures(best, bound, proved), nil
}

func (rotationJob) BasePlan(ctx context.Context, j *training.RotationJob) (*groundhand.Plan, error) {
	return oneOrNone(ctx, load(ctx).plan, j.Request.BasePlanID)
}

func (rotationJob) WhatIf(_ context.Context, j *training.RotationJob) (*string, error) {
	return someOrNil(training.WhatIfWords(j.Request.Change)), nil
}

func (rotationJob) Failure(_ context.Context, j *training.RotationJob) (*groundhand.FailureCause, error) {
	if j.Failure == nil {
		return nil, nil
	}
	return &j.Failure.Cause, nil
}

func (rotationJob) FailureWords(_ context.Context, j *training.RotationJob) (*string, error) {
	if j.Failure == nil {
		return nil, nil
	}
	words := j.Failure.Detail
	switch {
	case j.Failure.Cause == groundhand.PinsClash && j.Failure.Proved:
		words = "The places named in clash cannot be kept together; leave any one of them out and ask again."
	case j.Failure.Cause == groundhand.PinsClash:
		words = "No plan was found that keeps the places named in clash together; leave one of them out and ask again."
	}
	return &words, nil
}

func (rotationJob) Clash(ctx context.Context, j *training.RotationJob) ([]generated.ClashingSeat, error) {
	out := []generated.ClashingSeat{}
	if j.Failure == nil {
		return out, nil
	}
	var pins []rotation.Pin
	if err := json.Unmarshal([]byte(j.Failure.Pins), &pins); err != nil || len(pins) == 0 {
		return out, err
	}
	problem, err := training.ReadRequest(j.Request)
	if err != nil {
		return nil, err
	}
	named, err := namesIn(ctx, problem)
	for _, pin := range pins {
		out = append(out, generated.ClashingSeat{Worker: named.workers[pin.Worker], Slot: named.slot(pin.Slot), Renews: append([]string{}, pin.Renews...)})
	}
	return out, err
}

func (rotationJob) LeftOut(_ context.Context, j *training.RotationJob) ([]generated.SlotSetAside, error) {
	var left []rollcall.SlotLeftOut
	if err := json.Unmarshal([]byte(j.Request.LeftOut), &left); err != nil {
		return nil, err
	}
	return each(left, func(s rollcall.SlotLeftOut) generated.SlotSetAside {
		return generated.SlotSetAside{SlotID: s.Slot, On: s.Date, Words: rollcall.LeftOutWords(s.Reason)}
	}), nil
}

func (rotationJob) Next(ctx context.Context, j *training.RotationJob) (*training.RotationJob, error) {
	next, err := load(ctx).following.Load(ctx, j.Request.ID)
	if err != nil || len(next) == 0 {
		return nil, err
	}
	return one(ctx, load(ctx).rotation, next[0].ID)
}

func (rotationJob) Recorded(_ context.Context, j *training.RotationJob) (*groundhand.Recorded, error) {
	return &j.Request.Recorded, nil
}

func (rotationJob) Caution(context.Context, *training.RotationJob) (string, error) {
	return rollcall.RotationCaution, nil
}

// rotationsBy gives rotations by the ids of their requests.
func (r *Root) rotationsBy(ctx context.Context, ids []groundhand.EntryID) (map[groundhand.EntryID]training.RotationJob, error) {
	requests, err := store.Find[groundhand.RotationRequest](ctx, r.Store, store.ByID, ids)
	if err != nil {
		return nil, err
	}
	jobs, err := r.Desk.RotationJobs(ctx, requests)
	out := make(map[groundhand.EntryID]training.RotationJob, len(jobs))
	for _, j := range jobs {
		out[j.Request.ID] = j
	}
	return out, err
}

func (q query) RotationJob(ctx context.Context, id string) (*training.RotationJob, error) {
	return made(q.Desk.RotationJob(ctx, groundhand.EntryID(id)))
}

func (q query) RotationJobs(ctx context.Context, first *int, after *string) (*generated.RotationJobConnection, error) {
	requests, info, err := page(ctx, q.Store, first, after, func(r groundhand.RotationRequest) (groundhand.RotationRequest, string) { return r, string(r.ID) })
	if err != nil {
		return nil, err
	}
	jobs, err := q.Desk.RotationJobs(ctx, requests)
	return &generated.RotationJobConnection{PageInfo: info, Edges: each(jobs, func(j training.RotationJob) generated.RotationJobEdge {
		return generated.RotationJobEdge{Cursor: string(j.Request.ID), Node: &j}
	})}, err
}

func (m mutation) StartRotation(ctx context.Context, key string, form training.RotationForm) (*training.RotationJob, error) {
	started, err := m.Desk.StartRotation(ctx, viewer(ctx), key, form)
	if err != nil {
		return nil, err
	}
	return made(m.Desk.RotationJob(ctx, started.ID))
}

func (m mutation) StopRotation(ctx context.Context, id string) (*training.RotationJob, error) {
	return made(m.Desk.StopRotation(ctx, viewer(ctx), groundhand.EntryID(id)))
}
