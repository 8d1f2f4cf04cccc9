package graph

import (
	"context"
	"errors"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
)

type (
	session struct{ *Root }
	booking struct{ *Root }
	run     struct{ *Root }
	runPart struct{ *Root }
)

// Session looks up a session's yard, assessor, bookings and runs.
func (r *Root) Session() generated.SessionResolver { return session{r} }

// Booking looks up whose it is.
func (r *Root) Booking() generated.BookingResolver { return booking{r} }

// Run gives marks, steps and who took part.
func (r *Root) Run() generated.RunResolver { return run{r} }

// RunPart looks up whose it is.
func (r *Root) RunPart() generated.RunPartResolver { return runPart{r} }

func (session) Yard(ctx context.Context, s *groundhand.Session) (*groundhand.Yard, error) {
	return one(ctx, load(ctx).yard, s.YardID)
}

func (session) Methods(_ context.Context, s *groundhand.Session) ([]string, error) {
	return s.Methods, nil
}

func (session) Assessor(ctx context.Context, s *groundhand.Session) (*groundhand.Worker, error) {
	if s.AssessorID == "" {
		return nil, nil
	}
	return one(ctx, load(ctx).worker, s.AssessorID)
}

func (session) Bookings(ctx context.Context, s *groundhand.Session) ([]groundhand.Booking, error) {
	return load(ctx).bookings.Load(ctx, s.ID)
}

func (session) Runs(ctx context.Context, s *groundhand.Session) ([]groundhand.Run, error) {
	runs, err := load(ctx).runs.Load(ctx, s.ID)
	if err != nil {
		return nil, err
	}
	seen := []groundhand.Run{}
	for _, r := range runs {
		err := mayReadRun(ctx, r.ID)
		if errors.Is(err, groundhand.CodeForbidden) {
			continue
		}
		if err != nil {
			return nil, err
		}
		seen = append(seen, r)
	}
	return seen, nil
}

// mayReadRun is nil when the viewer may read the standing of everybody, or of somebody who took part.
func mayReadRun(ctx context.Context, id groundhand.RunID) error {
	if access.ReachOf(viewer(ctx), access.ReadStanding) == access.Everybody {
		return nil
	}
	parts, err := load(ctx).parts.Load(ctx, id)
	if err != nil {
		return err
	}
	refusal := mayAbout(ctx, access.ReadStanding, "")
	for _, p := range parts {
		if refusal = mayAbout(ctx, access.ReadStanding, p.WorkerID); refusal == nil {
			return nil
		}
	}
	return refusal
}

func (booking) Worker(ctx context.Context, b *groundhand.Booking) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, b.WorkerID)
}

func (booking) Renews(_ context.Context, b *groundhand.Booking) ([]string, error) {
	return b.Renews, nil
}

func (run) Marks(_ context.Context, r *groundhand.Run) ([]groundhand.StageMark, error) {
	return r.Marks, nil
}

func (run) Steps(_ context.Context, r *groundhand.Run) ([]groundhand.CriticalStep, error) {
	return r.Steps, nil
}

func (run) Parts(ctx context.Context, r *groundhand.Run) ([]groundhand.RunPart, error) {
	return load(ctx).parts.Load(ctx, r.ID)
}

func (runPart) Worker(ctx context.Context, p *groundhand.RunPart) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, p.WorkerID)
}

// longestSessions is how many days of sessions are listed at once: a quarter.
const longestSessions = 92

// days bounds a question about days and gives its half-open window of moments.
func (r *Root) days(from, through groundhand.Date, most int) (groundhand.Instant, groundhand.Instant, error) {
	if through < from || through > from.AddDays(most) {
		return 0, 0, groundhand.Invalid("through", "Ask for days that follow each other, at most %d.", most)
	}
	zone := r.Roll.Zone()
	return groundhand.InstantOf(from.Start(zone)), groundhand.InstantOf(through.End(zone)), nil
}

func (q query) Sessions(ctx context.Context, from, through groundhand.Date) ([]groundhand.Session, error) {
	start, end, err := q.days(from, through, longestSessions)
	if err != nil {
		return nil, err
	}
	return listed(q.Store.SessionsBetween(ctx, start, end))
}

func (q query) Run(ctx context.Context, id string) (*groundhand.Run, error) {
	found, err := get[groundhand.Run](ctx, q.Store, id)
	if err != nil {
		return nil, err
	}
	if err := mayReadRun(ctx, found.ID); err != nil {
		return nil, err
	}
	return found, nil
}
