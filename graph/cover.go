package graph

import (
	"context"
	"fmt"
	"slices"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

func (q query) CrewCover(ctx context.Context, ask generated.CoverAsk, asKnownAt *groundhand.Instant) (*generated.Cover, error) {
	if err := q.mayAskCover(ctx, "ask", ask); err != nil {
		return nil, err
	}
	question := questionOf(ask)
	question.AsKnownAt = or(asKnownAt)
	answer, err := q.Roll.Cover(ctx, question)
	if err != nil {
		return nil, atField("ask", err)
	}
	return coverOf(answer), nil
}

// mayAskCover is nil when the viewer may ask about the crew, and about everybody named beside it, all of whom must be known.
func (q query) mayAskCover(ctx context.Context, at string, ask generated.CoverAsk) error {
	if crew := groundhand.CrewID(or(ask.Crew)); crew != "" {
		if err := mayCrew(ctx, access.ReadCover, crew); err != nil {
			return err
		}
	}
	for _, who := range ask.People {
		if err := mayAbout(ctx, access.ReadCover, groundhand.WorkerID(who)); err != nil {
			return err
		}
	}
	if err := maySearch(ctx, at+".changes", ask.Changes != nil); err != nil {
		return err
	}
	var p groundhand.Problems
	for field, ids := range map[string][]string{"absent": ask.Absent, "people": ask.People, "plannedAloft": ask.PlannedAloft} {
		if err := p.Take("", q.unknownWorkers(ctx, at+"."+field, ids)); err != nil {
			return err
		}
	}
	return p.Err()
}

// maySearch is nil when nobody searches, or the viewer reads the cover of all crews: a search weighs the people of other crews, and tells
// of them.
func maySearch(ctx context.Context, field string, search bool) error {
	if !search || access.ReachOf(viewer(ctx), access.ReadCover) == access.Everybody {
		return nil
	}
	return &groundhand.Error{Code: groundhand.CodeForbidden, Field: field, Message: "A search for changes weighs other crews; ask without it, or ask the dispatcher."}
}

// unknownWorkers refuses ids that nobody has, each under its own path.
func (r *Root) unknownWorkers(ctx context.Context, field string, ids []string) error {
	found, err := store.Find[groundhand.Worker](ctx, r.Store, store.ByID, ids)
	if err != nil || len(found) == len(ids) {
		return err
	}
	there := map[string]bool{}
	for _, w := range found {
		there[string(w.ID)] = true
	}
	var p groundhand.Problems
	for i, id := range ids {
		if !there[id] {
			p.Add(groundhand.CodeNotFound, fmt.Sprintf("%s[%d]", field, i), "There is no worker %q.", id)
		}
	}
	return p.Err()
}

func (q query) JobCover(ctx context.Context, id string, absent []string, wish *generated.JobWish, asKnownAt *groundhand.Instant) (*generated.Cover, error) {
	j, err := q.jobAsked(ctx, id, absent, wish)
	if err != nil {
		return nil, err
	}
	asked := wishOf(or(wish))
	asked.Absent, asked.AsKnownAt = named[groundhand.WorkerID](absent), or(asKnownAt)
	answer, err := q.Roll.JobCover(ctx, j, asked)
	if err != nil {
		return nil, atWish(err)
	}
	return coverOf(answer), nil
}

// jobAsked looks whether the viewer may ask about a job in this way, and whether all who are named are known.
func (q query) jobAsked(ctx context.Context, id string, absent []string, wish *generated.JobWish) (groundhand.JobID, error) {
	j, err := store.Get[groundhand.Job](ctx, q.Store, id)
	if err != nil {
		return "", atField("job", err)
	}
	if err := mayCrew(ctx, access.ReadCover, j.CrewID); err != nil {
		return "", err
	}
	if err := maySearch(ctx, "wish.changes", or(wish).Changes != nil); err != nil {
		return "", err
	}
	return j.ID, q.unknownWorkers(ctx, "absent", absent)
}

func (q query) CoverOn(ctx context.Context, day groundhand.Date, yard *string, asKnownAt *groundhand.Instant) ([]generated.JobCover, error) {
	start, end, err := q.days(day, day, 1)
	if err != nil {
		return nil, err
	}
	seen, err := crewsSeen(ctx, access.ReadCover)
	if err != nil {
		return nil, err
	}
	var answers []rollcall.JobAnswer
	err = q.knownBy(ctx, asKnownAt, func(r *rollcall.Roll) error {
		answers, err = r.JobsCover(ctx, start, end)
		return err
	})
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(answers, rollcall.ByUrgency)
	out := []generated.JobCover{}
	for _, a := range answers {
		if !seen(a.Job.CrewID) || yard != nil && groundhand.YardID(*yard) != a.Job.YardID {
			continue
		}
		out = append(out, jobCover(a))
	}
	return out, nil
}

// jobCover says of a job that cannot be judged why not: one such job must not hide the others.
func jobCover(a rollcall.JobAnswer) generated.JobCover {
	if a.Refused != nil {
		return generated.JobCover{Job: &a.Job, Why: a.Refused.Error()}
	}
	return generated.JobCover{Job: &a.Job, Cover: coverOf(a.CoverAnswer)}
}
