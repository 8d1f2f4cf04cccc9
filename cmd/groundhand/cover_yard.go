package main

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// changesSought is enough for the first of every rung to be among them, as a rule.
const changesSought = 50

// jobsWithChanges answers for the jobs of a stretch of time and, where one is not ready, searches the least change.
func (h *house) jobsWithChanges(ctx context.Context, from, to groundhand.Instant, looks rollcall.Looks) ([]rollcall.JobAnswer, error) {
	jobs, err := h.roll.JobsCover(ctx, from, to)
	if err != nil {
		return nil, err
	}
	for i, j := range jobs {
		if j.Refused != nil || j.Answer.Verdict == readiness.Ready {
			continue
		}
		answer, err := h.roll.JobCover(ctx, j.Job.ID, rollcall.Wish{Looks: looks, Changes: &rollcall.Changes{Show: changesSought}})
		switch {
		case len(groundhand.Refusals(err)) > 0: // too much around to be searched in one go; the answer without it stands
		case err != nil:
			return nil, err
		default:
			jobs[i].CoverAnswer = answer
		}
	}
	return jobs, nil
}

// yardSheet is a day's cover of one yard, to be pinned to its wall.
func (h *house) yardSheet(ctx context.Context, yard groundhand.Yard, day groundhand.Date, looks rollcall.Looks) (string, error) {
	zone := h.roll.Zone()
	jobs, err := h.jobsWithChanges(ctx, groundhand.InstantOf(day.Start(zone)), groundhand.InstantOf(day.End(zone)), looks)
	if err != nil {
		return "", err
	}
	jobs = slices.DeleteFunc(jobs, func(j rollcall.JobAnswer) bool { return j.Job.YardID != yard.ID })
	slices.SortStableFunc(jobs, rollcall.ByUrgency)
	names, err := h.records.NamesOn(ctx, nil, day)
	if err != nil {
		return "", err
	}
	s := &sheet{}
	s.text(0, "Rescue cover at %s, %s, as recorded %s", yard.Name, day.Words(), h.records.Now().In(zone).Format("Mon 2 Jan 2006 15:04"))
	s.text(0, caution)
	page := coverPage{s, names, zone}
	for _, j := range jobs {
		page.job(j)
		page.text(4, "foreman: ______________________  time: ________")
	}
	if len(jobs) == 0 {
		s.line()
		s.text(2, "No job is booked from this yard on that day.")
	}
	s.line()
	s.text(0, "Ask again whenever people or trucks change. "+caution)
	return s.String(), nil
}

// yardNamed finds a yard by its name or its short name, in whatever case.
func yardNamed(ctx context.Context, records *store.Store, name string) (groundhand.Yard, error) {
	yards, err := store.Standing[groundhand.Yard](ctx, records)
	if err != nil {
		return groundhand.Yard{}, err
	}
	known := make([]string, len(yards))
	for i, y := range yards {
		if strings.EqualFold(y.Name, name) || strings.EqualFold(string(y.ID), name) {
			return y, nil
		}
		known[i] = y.Name
	}
	return groundhand.Yard{}, &exitError{exitFaulty, fmt.Errorf("there is no yard %q; the yards are %s", name, strings.Join(known, ", "))}
}

// dayNamed reads a day; none is tomorrow.
func dayNamed(day string, now time.Time) (groundhand.Date, error) {
	if day == "" {
		return groundhand.DateOf(now) + 1, nil
	}
	d, err := groundhand.ParseDate(day)
	if err != nil {
		return 0, &exitError{exitFaulty, fmt.Errorf("--day: %w", err)}
	}
	return d, nil
}
