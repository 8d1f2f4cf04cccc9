package rollcall

import (
	"context"
	"slices"
	"strings"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/store"
)

// Bounds on what is searched after an event.
const (
	mostPutRight = 20 // jobs
	nearKits     = 5  // shown for each
)

// putRight searches, for the first jobs that become worse, the single changes that bring the verdict back. Everything around them is read
// once for all of them. It gives the number of jobs left out.
func (r *Roll) putRight(ctx context.Context, happens supposed, seen *coverFacts, jobs []JobEffect) (int, error) {
	var worse []*JobEffect
	for i := range jobs {
		if j := &jobs[i]; j.Refused == nil && j.After.Answer.Verdict < j.Before.Answer.Verdict {
			worse = append(worse, j)
		}
	}
	leftOut := max(0, len(worse)-mostPutRight)
	worse = worse[:len(worse)-leftOut]
	if len(worse) == 0 {
		return 0, nil
	}
	w := &wide{coverFacts: *seen, happens: happens}
	if err := w.load(ctx, worse); err != nil {
		return 0, err
	}
	for i, j := range worse {
		if err := w.back(ctx, i, j); err != nil {
			return 0, err
		}
	}
	return leftOut, nil
}

// wide is the facts around several jobs.
type wide struct {
	coverFacts
	happens   supposed
	roads     []groundhand.Road
	questions []CoverQuestion
	arounds   []*around // of each question
}

// load reads in a number of queries that does not depend on the number of jobs.
func (w *wide) load(ctx context.Context, worse []*JobEffect) error {
	for _, j := range worse {
		w.questions = append(w.questions, w.changed(j))
	}
	from, to := spanOf(w.questions)
	day := w.roll.dayOf(from)
	w.around = &around{to: w.roll.start(w.roll.lastDay(to) + daysAhead)}
	var err error
	if w.muster, err = w.roll.everybody(ctx, day, w.roll.lastDay(w.around.to)); err != nil {
		return err
	}
	if w.gear, err = w.roll.allPlaces(ctx); err != nil {
		return err
	}
	if w.roads, err = store.Standing[groundhand.Road](ctx, w.roll.store); err != nil {
		return err
	}
	if err := w.loadWork(ctx, CoverQuestion{FromAt: from}); err != nil {
		return err
	}
	return w.loadChosen(ctx, from)
}

// loadChosen reads the records of everybody and everything that could help one of the jobs.
func (w *wide) loadChosen(ctx context.Context, from groundhand.Instant) error {
	var workers []groundhand.WorkerID
	var devices []groundhand.DeviceID
	var kits []groundhand.KitID
	for _, q := range w.questions {
		f := w.of(q)
		people, err := f.choosePeople(q)
		if err != nil {
			return err
		}
		ofDevices, ofKits := f.chooseGear(q)
		workers, devices, kits = append(workers, people...), append(devices, ofDevices...), append(kits, ofKits...)
		w.arounds = append(w.arounds, f.around)
	}
	start := w.roll.start(w.roll.dayOf(from))
	if err := w.gear.loadState(ctx, unique(devices), unique(kits), start); err != nil {
		return err
	}
	var err error
	w.roster, err = w.roll.roster(ctx, w.shelf, unique(workers), start, w.around.to)
	return err
}

// of narrows what is around to one question: its yard, the roads from it, and other work than its own.
func (w *wide) of(q CoverQuestion) *coverFacts {
	f := w.coverFacts
	a := *w.around
	f.around = &a
	a.to = f.roll.start(f.roll.lastDay(q.ToAt) + daysAhead)
	a.jobs = slices.DeleteFunc(slices.Clone(a.jobs), func(j groundhand.Job) bool { return j.ID == q.JobID })
	a.yard = f.yardOf(q)
	a.minutes = minutesTo(a.yard, w.roads)
	return &f
}

// changed is the question whose least change is searched: for what is left of the job after the event, up to the verdict it had. What was
// CANNOT_TELL before is good enough when it can be sent.
func (w *wide) changed(j *JobEffect) CoverQuestion {
	q := jobQuestion(j.Job)
	q.FromAt, q.Looks = max(q.FromAt, w.happens.At), LooksSupposed
	q.Changes = &Changes{Most: 1, Target: max(j.Before.Answer.Verdict, readiness.Conditional)}
	return q
}

func (w *wide) back(ctx context.Context, i int, j *JobEffect) error {
	f, err := w.happens.to(&w.coverFacts)
	if err != nil {
		return err
	}
	f.around = w.arounds[i]
	a, err := f.answer(ctx, w.questions[i])
	if len(groundhand.Refusals(err)) > 0 {
		return nil // more is around than is searched in one go; the effect itself stands
	}
	if err != nil {
		return err
	}
	j.Back = slices.DeleteFunc(a.Answer.Fixes, func(x readiness.Fix) bool { return x.Rung == readiness.RungDoNotSend })
	if w.happens.KitID != "" {
		j.Kits, err = kitsNear(a.Question)
	}
	return err
}

// kitsNear asks about each kit of a pool on the device and gives the first ones against which nothing is found.
func kitsNear(q readiness.Question) ([]NearKit, error) {
	pool := q.Pool
	q.Pool = nil
	var out []NearKit
	for _, k := range pool.Kits {
		if len(out) == nearKits {
			break
		}
		if k.Yard != q.Yard && !slices.Contains(pool.Neighbours, k.Yard) || k.ReadyAt > q.Window.From {
			continue
		}
		q.Kit = &k.Kit
		a, err := readiness.Judge(q)
		if err != nil {
			return nil, err
		}
		if !slices.ContainsFunc(a.Findings, aboutKit) {
			out = append(out, nearKit(k, q.Device))
		}
	}
	return out, nil
}

// aboutKit says whether a finding speaks against the kit, or says that something about it is not known.
func aboutKit(f readiness.Finding) bool {
	unknown := f.Code == readiness.UnknownDecides && slices.ContainsFunc(f.Things, func(name string) bool { return strings.HasPrefix(name, "kit.") })
	return unknown || strings.HasPrefix(string(f.Code), "KIT_")
}

func nearKit(k readiness.PoolKit, d *readiness.Device) NearKit {
	out := NearKit{KitID: groundhand.KitID(k.ID), YardID: groundhand.YardID(k.Yard), TravelMinutes: k.TravelMinutes, ReadyAt: k.ReadyAt}
	if reaches(&k.Kit, d) == readiness.Yes {
		out.HaveCM, out.NeedCM = *k.Kit.RopeCM-*k.Kit.TailCM, *k.Kit.Parts**d.AnchorHeightCM
	}
	if load := k.Kit.RatedLoadKG; load != nil {
		out.RatedLoadKG = *load
	}
	return out
}
