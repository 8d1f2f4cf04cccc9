package rollcall

import (
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// coverFacts is what is recorded about everybody and everything that some cover questions name, loaded at once.
type coverFacts struct {
	roll     *Roll
	shelf    shelf
	lineUps  map[groundhand.Date]lineUp
	families []string
	roster   *roster
	devices  map[groundhand.DeviceID]groundhand.Device
	looks    map[groundhand.DeviceID][]groundhand.Inspection
}

// coverFacts loads in a number of queries that depends on the days the windows start on, not on crews or jobs. Questions that are
// refused by themselves are left out here and refused when they are answered.
func (r *Roll) coverFacts(ctx context.Context, questions []CoverQuestion) (f *coverFacts, err error) {
	err = r.asOfNow(ctx, func(seen *Roll) error {
		f, err = seen.loadCoverFacts(ctx, questions)
		return err
	})
	return f, err
}

func (r *Roll) loadCoverFacts(ctx context.Context, questions []CoverQuestion) (*coverFacts, error) {
	f := &coverFacts{roll: r, lineUps: map[groundhand.Date]lineUp{}}
	var err error
	if f.shelf, err = r.shelf(ctx); err != nil {
		return nil, err
	}
	if err = f.loadFamilies(ctx); err != nil {
		return nil, err
	}
	questions = slices.DeleteFunc(slices.Clone(questions), func(q CoverQuestion) bool { return q.Check() != nil })
	if err := f.loadLineUps(ctx, questions); err != nil {
		return nil, err
	}
	var workers []groundhand.WorkerID
	var devices []groundhand.DeviceID
	var from, to groundhand.Instant
	for _, q := range questions {
		if _, people, err := f.people(q); err == nil {
			workers = append(workers, people...)
		}
		devices = append(devices, q.DeviceID)
		if from == 0 || q.FromAt < from {
			from = q.FromAt
		}
		to = max(to, q.ToAt)
	}
	if err := f.loadDevices(ctx, devices); err != nil {
		return nil, err
	}
	f.roster, err = r.roster(ctx, f.shelf, unique(workers), from, to)
	return f, err
}

func unique[T comparable](list []T) []T {
	seen := map[T]bool{}
	out := list[:0:0]
	for _, v := range list {
		if !seen[v] {
			seen[v] = true
			out = append(out, v)
		}
	}
	return out
}

func (f *coverFacts) loadFamilies(ctx context.Context) error {
	families, err := store.Standing[groundhand.Family](ctx, f.roll.store)
	for _, fam := range families {
		f.families = append(f.families, string(fam.ID))
	}
	return err
}

// loadLineUps loads one line-up for each day on which a window starts.
func (f *coverFacts) loadLineUps(ctx context.Context, questions []CoverQuestion) error {
	crews, people := map[groundhand.Date][]groundhand.CrewID{}, map[groundhand.Date][]groundhand.WorkerID{}
	for _, q := range questions {
		day := f.roll.dayOf(q.FromAt)
		crews[day], people[day] = append(crews[day], q.CrewID), append(people[day], q.People...)
	}
	for day := range crews {
		l, err := f.roll.lineUpOf(ctx, day, crews[day], people[day])
		if err != nil {
			return err
		}
		f.lineUps[day] = l
	}
	return nil
}

func (f *coverFacts) loadDevices(ctx context.Context, ids []groundhand.DeviceID) error {
	f.devices, f.looks = map[groundhand.DeviceID]groundhand.Device{}, map[groundhand.DeviceID][]groundhand.Inspection{}
	ids = unique(ids)
	devices, err := store.Find[groundhand.Device](ctx, f.roll.store, store.ByID, ids)
	if err != nil {
		return err
	}
	for _, d := range devices {
		f.devices[d.ID] = d
	}
	looks, err := store.FindStanding[groundhand.Inspection](ctx, f.roll.store, store.ByDevice, ids)
	for _, look := range looks {
		f.looks[look.DeviceID] = append(f.looks[look.DeviceID], look)
	}
	return err
}

// JobAnswer is the answer for one booked job, or why it cannot be answered.
type JobAnswer struct {
	Job groundhand.Job
	CoverAnswer
	Refused error // coded; nil when there is an answer
}

// JobCover answers for a booked job, with people who will not be there.
func (r *Roll) JobCover(ctx context.Context, id groundhand.JobID, absent []groundhand.WorkerID) (CoverAnswer, error) {
	job, err := store.Get[groundhand.Job](ctx, r.store, id)
	if err != nil {
		return CoverAnswer{}, err
	}
	q := jobQuestion(job)
	q.Absent = absent
	return r.Cover(ctx, q)
}

// JobsCover answers for every job that stands and overlaps the window, in order of start and id.
func (r *Roll) JobsCover(ctx context.Context, from, to groundhand.Instant) ([]JobAnswer, error) {
	jobs, err := r.store.JobsBetween(ctx, from, to)
	if err != nil {
		return nil, err
	}
	questions := make([]CoverQuestion, len(jobs))
	for i, job := range jobs {
		questions[i] = jobQuestion(job)
	}
	f, err := r.coverFacts(ctx, questions)
	if err != nil {
		return nil, err
	}
	out := make([]JobAnswer, len(jobs))
	for i, job := range jobs {
		out[i].Job = job
		out[i].CoverAnswer, out[i].Refused = f.answer(questions[i])
		if out[i].Refused != nil && len(groundhand.Refusals(out[i].Refused)) == 0 {
			return nil, out[i].Refused
		}
	}
	return out, nil
}

// jobQuestion is the question of a booked job. A job without methods does not say what the site allows.
func jobQuestion(j groundhand.Job) CoverQuestion {
	q := CoverQuestion{
		Name: string(j.ID), CrewID: j.CrewID, FromAt: j.StartAt, ToAt: j.EndAt, DeviceID: j.DeviceID, Aloft: j.Aloft,
		Methods: []groundhand.Method{}, Near50V: j.Near50V, SiteKind: j.SiteKind, CallPlan: j.CallPlan, RuleSetID: j.RuleSetID, Duties: j.Duties,
	}
	for _, m := range j.Methods {
		q.Methods = append(q.Methods, groundhand.Method(m))
	}
	for _, w := range j.PlannedAloft {
		q.PlannedAloft = append(q.PlannedAloft, groundhand.WorkerID(w))
	}
	return q
}
