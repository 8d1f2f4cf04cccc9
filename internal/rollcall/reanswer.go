package rollcall

import (
	"context"
	"slices"

	"groundhand/internal/groundhand"
)

// Reanswered is a booked job of which the answer is another one than just before some entries were recorded, because of one of them.
type Reanswered struct {
	Job groundhand.Job
	Twice[CoverAnswer]
}

// Reanswer answers again for the jobs booked between two moments and still to come, after entries were recorded that correct or withdraw
// something, and lists those that one of the entries changed, by start and id. Looks of the day are supposed, as nobody has made them yet.
func (r *Roll) Reanswer(ctx context.Context, entries []groundhand.EntryID, from, to groundhand.Instant) ([]Reanswered, error) {
	then, now, err := r.justBefore(ctx, entries)
	if err != nil || then == 0 {
		return nil, err
	}
	from = max(from, now)
	if from >= to {
		return nil, nil
	}
	before, err := r.verdictsKnown(ctx, then, from, to)
	if err != nil {
		return nil, err
	}
	after, err := r.verdictsKnown(ctx, now, from, to)
	if err != nil {
		return nil, err
	}
	var out []Reanswered
	for _, job := range after {
		i := slices.IndexFunc(before, func(b JobAnswer) bool { return b.Job.ID == job.Job.ID })
		if i < 0 || before[i].Refused != nil || job.Refused != nil || sameCover(before[i].CoverAnswer, job.CoverAnswer) {
			continue
		}
		twice, err := r.JobCoverTwice(ctx, job.Job.ID, Wish{Looks: LooksSupposed}, then, now)
		if err != nil {
			return nil, err
		}
		if twice.changedBy(entries) {
			out = append(out, Reanswered{job.Job, twice})
		}
	}
	return out, nil
}

// justBefore is the last moment at which none of the entries was recorded, and the present one; zeros when there are no such entries.
func (r *Roll) justBefore(ctx context.Context, entries []groundhand.EntryID) (then, now groundhand.Instant, err error) {
	rows, err := r.entriesByID(ctx, entries)
	for _, e := range rows {
		if then == 0 || e.RecordedAt-1 < then {
			then = e.RecordedAt - 1
		}
		now = max(now, e.RecordedAt)
	}
	return then, max(now, r.store.Now()), err
}

func (r *Roll) verdictsKnown(ctx context.Context, at, from, to groundhand.Instant) (out []JobAnswer, err error) {
	err = r.AsKnown(ctx, at, func(past *Roll) error {
		out, err = past.jobsCover(ctx, from, to, LooksSupposed)
		return err
	})
	return out, err
}

// changedBy says whether the answer changed at the moment at which one of the entries was recorded.
func (t Twice[T]) changedBy(entries []groundhand.EntryID) bool {
	return slices.ContainsFunc(t.Differs, func(d Difference) bool { return d.Changed && slices.Contains(entries, d.EntryID) })
}
