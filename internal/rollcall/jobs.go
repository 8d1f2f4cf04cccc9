package rollcall

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// coverFacts is what is recorded about everybody and everything that some cover questions name, loaded at once.
type coverFacts struct {
	roll      *Roll
	now       groundhand.Instant // the moment at which is asked
	shelf     shelf
	muster    muster
	families  []string
	roster    *roster
	gear      *gear
	briefings map[groundhand.JobID][]groundhand.Briefing
	around    *around // what changes may be made of; nil unless somebody asks for changes
}

// coverFacts loads in a number of queries that does not depend on the number of questions. Questions that are refused by themselves are
// left out here and refused when they are answered.
func (r *Roll) coverFacts(ctx context.Context, questions []CoverQuestion) (f *coverFacts, err error) {
	err = r.asOfNow(ctx, func(seen *Roll) error {
		f, err = seen.loadCoverFacts(ctx, questions)
		return err
	})
	return f, err
}

func (r *Roll) loadCoverFacts(ctx context.Context, questions []CoverQuestion) (*coverFacts, error) {
	f := &coverFacts{roll: r, now: r.store.Now()}
	questions = slices.DeleteFunc(slices.Clone(questions), func(q CoverQuestion) bool { return q.Check() != nil })
	var err error
	if f.shelf, err = r.shelf(ctx); err != nil {
		return nil, err
	}
	if err = f.loadFamilies(ctx); err != nil {
		return nil, err
	}
	if len(questions) == 1 && questions[0].Changes != nil {
		return f, f.loadAround(ctx, questions[0])
	}
	return f, f.loadNamed(ctx, questions)
}

// loadNamed loads whom and what the questions name.
func (f *coverFacts) loadNamed(ctx context.Context, questions []CoverQuestion) error {
	var crews []groundhand.CrewID
	var named, workers []groundhand.WorkerID
	var devices []groundhand.DeviceID
	var kits []groundhand.KitID
	for _, q := range questions {
		crews, named, devices, kits = append(crews, q.CrewID), append(named, q.People...), append(devices, q.DeviceID), append(kits, q.KitID)
	}
	from, to := spanOf(questions)
	var err error
	if f.muster, err = f.roll.muster(ctx, crews, named, f.roll.dayOf(from), f.roll.lastDay(to)); err != nil {
		return err
	}
	for _, q := range questions {
		if _, people, err := f.people(q); err == nil {
			workers = append(workers, people...)
		}
	}
	if f.gear, err = f.roll.gear(ctx, devices, kits, f.roll.start(f.roll.dayOf(from))); err != nil {
		return err
	}
	if err := f.loadBriefings(ctx, questions); err != nil {
		return err
	}
	f.roster, err = f.roll.roster(ctx, f.shelf, unique(workers), from, to)
	return err
}

// spanOf is the stretch from the first start to the last end.
func spanOf(questions []CoverQuestion) (from, to groundhand.Instant) {
	for _, q := range questions {
		if from == 0 || q.FromAt < from {
			from = q.FromAt
		}
		to = max(to, q.ToAt)
	}
	return from, to
}

func (f *coverFacts) loadBriefings(ctx context.Context, questions []CoverQuestion) error {
	f.briefings = map[groundhand.JobID][]groundhand.Briefing{}
	briefings, err := store.FindStanding[groundhand.Briefing](ctx, f.roll.store, store.ByJob, unique(idsOf(questions, func(q CoverQuestion) groundhand.JobID { return q.JobID })))
	for _, b := range inTime(f.roll, briefings, func(b groundhand.Briefing) groundhand.Recorded { return b.Recorded }) {
		f.briefings[b.JobID] = append(f.briefings[b.JobID], b)
	}
	return err
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

// JobAnswer is the answer for one booked job, or why it cannot be answered.
type JobAnswer struct {
	Job groundhand.Job
	CoverAnswer
	Refused error // coded; nil when there is an answer
}

// Wish is what is asked about a booked job beside what the booking says.
type Wish struct {
	Absent                                 []groundhand.WorkerID // people who will not be there
	Looks                                  Looks
	ControlsChecked, KitOnDevice, KitSuits groundhand.Answer // what the foreman says on the spot; empty: as recorded
	Changes                                *Changes
	AsKnownAt                              groundhand.Instant // as known, and booked, at this moment; zero: with everything that is known
}

// ByUrgency orders answers: what must be looked at first stands first, and that is what nobody could judge, then what is not ready.
func ByUrgency(a, b JobAnswer) int { return cmp.Compare(a.urgency(), b.urgency()) }

func (j JobAnswer) urgency() int {
	if j.Refused != nil {
		return -1
	}
	return int(j.Answer.Verdict)
}

// JobCover answers for a booked job.
func (r *Roll) JobCover(ctx context.Context, id groundhand.JobID, w Wish) (out CoverAnswer, err error) {
	err = r.knownBy(ctx, w.AsKnownAt, func(seen *Roll) error {
		out, err = seen.jobCover(ctx, id, w)
		return err
	})
	return out, err
}

func (r *Roll) jobCover(ctx context.Context, id groundhand.JobID, w Wish) (CoverAnswer, error) {
	job, err := store.Get[groundhand.Job](ctx, r.store, id)
	if err != nil {
		return CoverAnswer{}, err
	}
	q := jobQuestion(job)
	q.Absent, q.Looks, q.Changes = w.Absent, w.Looks, w.Changes
	q.ControlsChecked, q.KitOnDevice, q.KitSuits = w.ControlsChecked, w.KitOnDevice, w.KitSuits
	return r.Cover(ctx, q)
}

// JobsCover answers for every job that stands and overlaps the window, in order of start and id.
func (r *Roll) JobsCover(ctx context.Context, from, to groundhand.Instant) ([]JobAnswer, error) {
	return r.jobsCover(ctx, from, to, "")
}

func (r *Roll) jobsCover(ctx context.Context, from, to groundhand.Instant, looks Looks) ([]JobAnswer, error) {
	jobs, err := r.store.JobsBetween(ctx, from, to)
	if err != nil {
		return nil, err
	}
	questions := make([]CoverQuestion, len(jobs))
	for i, job := range jobs {
		questions[i] = jobQuestion(job)
		questions[i].Looks = looks
	}
	f, err := r.coverFacts(ctx, questions)
	if err != nil {
		return nil, err
	}
	out := make([]JobAnswer, len(jobs))
	for i, job := range jobs {
		out[i].Job = job
		out[i].CoverAnswer, out[i].Refused = f.answer(ctx, questions[i])
		if out[i].Refused != nil && len(groundhand.Refusals(out[i].Refused)) == 0 {
			return nil, out[i].Refused
		}
	}
	return out, nil
}

// jobQuestion is the question of a booked job. A job without methods does not say what the site allows.
func jobQuestion(j groundhand.Job) CoverQuestion {
	q := CoverQuestion{
		Name: string(j.ID), JobID: j.ID, CrewID: j.CrewID, FromAt: j.StartAt, ToAt: j.EndAt, DeviceID: j.DeviceID, KitID: j.KitID, Aloft: j.Aloft, Buckets: j.Buckets,
		Methods: []groundhand.Method{}, Near50V: j.Near50V, SiteKind: j.SiteKind, RuleText: j.RuleText, HiresTrained: j.HiresTrained, CallPlan: j.CallPlan, RuleSetID: j.RuleSetID, Duties: j.Duties,
	}
	for _, m := range j.Methods {
		q.Methods = append(q.Methods, groundhand.Method(m))
	}
	for _, w := range j.PlannedAloft {
		q.PlannedAloft = append(q.PlannedAloft, groundhand.WorkerID(w))
	}
	return q
}
