package graph

import (
	"cmp"
	"context"
	"slices"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
)

type (
	job      struct{ *Root }
	briefing struct{}
	shift    struct{ *Root }
)

// Job looks up a job's crew, yard and briefings.
func (r *Root) Job() generated.JobResolver { return job{r} }

// Briefing gives its people.
func (r *Root) Briefing() generated.BriefingResolver { return briefing{} }

// Shift looks up whose it is and where.
func (r *Root) Shift() generated.ShiftResolver { return shift{r} }

func (job) Crew(ctx context.Context, j *groundhand.Job) (*groundhand.Crew, error) {
	return one(ctx, load(ctx).crew, j.CrewID)
}

func (job) Yard(ctx context.Context, j *groundhand.Job) (*groundhand.Yard, error) {
	return one(ctx, load(ctx).yard, j.YardID)
}

func (job) Methods(_ context.Context, j *groundhand.Job) ([]string, error) { return j.Methods, nil }

func (job) Buckets(_ context.Context, j *groundhand.Job) ([]int, error) { return j.Buckets, nil }

func (job) PlannedAloft(_ context.Context, j *groundhand.Job) ([]string, error) {
	return j.PlannedAloft, nil
}

func (job) Duties(_ context.Context, j *groundhand.Job) ([]groundhand.Duty, error) {
	return j.Duties, nil
}

func (job) RuleText(_ context.Context, j *groundhand.Job) (groundhand.RuleText, error) {
	return cmp.Or(j.RuleText, groundhand.GeneralText), nil
}

func (job) HiresTrained(_ context.Context, j *groundhand.Job) (*groundhand.Answer, error) {
	return someOrNil(j.HiresTrained), nil
}

func (job) Briefings(ctx context.Context, j *groundhand.Job) ([]groundhand.Briefing, error) {
	return load(ctx).briefings.Load(ctx, j.ID)
}

func (briefing) Aloft(_ context.Context, b *groundhand.Briefing) ([]string, error) {
	return b.Aloft, nil
}

func (shift) Worker(ctx context.Context, s *groundhand.Shift) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, s.WorkerID)
}

func (shift) Yard(ctx context.Context, s *groundhand.Shift) (*groundhand.Yard, error) {
	return one(ctx, load(ctx).yard, s.YardID)
}

// mostDays bounds a list of days.
const mostDays = 62

func (q query) Jobs(ctx context.Context, from, through groundhand.Date) ([]groundhand.Job, error) {
	start, end, err := q.days(from, through, mostDays)
	if err != nil {
		return nil, err
	}
	seen, err := crewsSeen(ctx, access.ReadCover)
	if err != nil {
		return nil, err
	}
	jobs, err := q.Store.JobsBetween(ctx, start, end)
	return listed(slices.DeleteFunc(jobs, func(j groundhand.Job) bool { return !seen(j.CrewID) }), err)
}

func (q query) Shifts(ctx context.Context, from, through groundhand.Date) ([]groundhand.Shift, error) {
	start, end, err := q.days(from, through, mostDays)
	if err != nil {
		return nil, err
	}
	return listed(q.Store.ShiftsBetween(ctx, start, end))
}
