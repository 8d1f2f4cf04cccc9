package rollcall

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// Event is one thing that is supposed to happen at a moment. One of the four is named.
type Event struct {
	At       groundhand.Instant
	KitID    groundhand.KitID    // goes out of service
	DeviceID groundhand.DeviceID // goes out of service
	WorkerID groundhand.WorkerID // will not be there, until further notice
	EntryID  groundhand.EntryID  // is withdrawn: a run, somebody's part in one, a pass, outside evidence, an allowance, a suspension, an authority
}

// Effect is what an event does to the work booked for the day after it. Nothing is written.
type Effect struct {
	Event
	Jobs    []JobEffect // those that change first; within that by start and id
	LeftOut int         // jobs that become worse and for which no change was searched
}

// JobEffect is one job before and after an event.
type JobEffect struct {
	Job           groundhand.Job
	Before, After CoverAnswer
	Refused       error // coded: the job cannot be judged, and then there are no answers; nil otherwise

	Verdict, Lists, NMinus1 bool // which of the three differ: verdict, who may go aloft, whom it hangs on

	// Back lists the single changes that would bring the verdict back, least change first. They suppose that the looks of the day are made
	// again and are good.
	Back []readiness.Fix
	// Kits lists, for a kit that goes out of service, the nearest others that suit the device and that no booked work uses.
	Kits []NearKit
}

// Hit says whether the event changes anything that somebody would act on.
func (j JobEffect) Hit() bool { return j.Verdict || j.Lists || j.NMinus1 }

// NearKit is a kit that is in date, long enough for the device and not in use, seen from the yard of the crew.
type NearKit struct {
	KitID          groundhand.KitID
	YardID         groundhand.YardID
	TravelMinutes  int
	ReadyAt        groundhand.Instant // earliest, if it sets out now; zero: at any time
	HaveCM, NeedCM int                // usable rope, and parts of line times the height of the anchor
	RatedLoadKG    int                // as labelled; 0: the rule set asks for none and it is not readable
}

// effectHours is how far ahead booked work is looked at, in hours.
const effectHours = 24

// Effect answers for all work that stands and has some moment in the day after an event, before and after it.
func (r *Roll) Effect(ctx context.Context, e Event) (out Effect, err error) {
	if err := e.check(); err != nil {
		return Effect{}, err
	}
	err = r.asOfNow(ctx, func(seen *Roll) error {
		out, err = seen.effect(ctx, e)
		return err
	})
	return out, err
}

func (e Event) check() error {
	var p groundhand.Problems
	if e.At == 0 {
		p.Add(groundhand.CodeInvalid, "at", "Say when it happens.")
	}
	named := 0
	for _, id := range []string{string(e.KitID), string(e.DeviceID), string(e.WorkerID), string(e.EntryID)} {
		if id != "" {
			named++
		}
	}
	if named != 1 {
		p.Add(groundhand.CodeInvalid, "", "Name one kit, device, worker or entry.")
	}
	return p.Err()
}

func (r *Roll) effect(ctx context.Context, e Event) (Effect, error) {
	happens, err := r.supposed(ctx, e)
	if err != nil {
		return Effect{}, err
	}
	jobs, err := r.store.JobsBetween(ctx, e.At, e.At+minutes(60*effectHours))
	if err != nil {
		return Effect{}, err
	}
	questions := make([]CoverQuestion, len(jobs))
	for i, job := range jobs {
		questions[i] = jobQuestion(job)
	}
	before, err := r.loadCoverFacts(ctx, questions)
	if err != nil {
		return Effect{}, err
	}
	after, err := happens.to(before)
	if err != nil {
		return Effect{}, err
	}
	out := Effect{Event: e, Jobs: make([]JobEffect, len(jobs))}
	for i := range jobs {
		out.Jobs[i].Job = jobs[i]
		if err := out.Jobs[i].answer(ctx, before, after, questions[i]); err != nil {
			return Effect{}, err
		}
	}
	slices.SortFunc(out.Jobs, compareEffects)
	out.LeftOut, err = r.putRight(ctx, happens, before, out.Jobs)
	return out, err
}

func compareEffects(a, b JobEffect) int {
	hit := func(j JobEffect) int {
		if j.Hit() {
			return 0
		}
		return 1
	}
	return cmp.Or(cmp.Compare(hit(a), hit(b)), cmp.Compare(a.Job.StartAt, b.Job.StartAt), cmp.Compare(a.Job.ID, b.Job.ID))
}

// answer judges a job twice and says what differs.
func (j *JobEffect) answer(ctx context.Context, before, after *coverFacts, q CoverQuestion) error {
	var err error
	if j.Before, err = before.answer(ctx, q); err == nil {
		j.After, err = after.answer(ctx, q)
	}
	if err != nil {
		j.Refused, j.Before, j.After = err, CoverAnswer{}, CoverAnswer{}
		if len(groundhand.Refusals(err)) == 0 {
			return err
		}
		return nil
	}
	a, b := j.Before.Answer, j.After.Answer
	j.Verdict = a.Verdict != b.Verdict
	j.Lists = !slices.EqualFunc(a.MayGoAloft, b.MayGoAloft, func(x, y readiness.Aloft) bool { return x.Person == y.Person && x.Class == y.Class })
	j.NMinus1 = (a.NMinus1.Secure == nil) != (b.NMinus1.Secure == nil) || !slices.Equal(a.NMinus1.HangsOn, b.NMinus1.HangsOn)
	return nil
}
