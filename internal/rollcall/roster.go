package rollcall

import (
	"context"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// roster is what is recorded about some workers for a stretch of time: their standings can be asked, their grades and absences read.
type roster struct {
	roll    *Roll
	book    *competence.Book
	entries []competence.Entry
	grades  map[groundhand.WorkerID][]groundhand.Grading
	away    map[groundhand.WorkerID][]groundhand.Unavailability
}

// roster loads workers in a handful of queries, however many there are.
func (r *Roll) roster(ctx context.Context, d *dossier, workers []groundhand.WorkerID, from, to groundhand.Instant) (*roster, error) {
	if err := d.take(ctx, workers); err != nil {
		return nil, err
	}
	out := &roster{roll: r, grades: map[groundhand.WorkerID][]groundhand.Grading{}, away: map[groundhand.WorkerID][]groundhand.Unavailability{}}
	facts := d.facts()
	out.entries = facts.Entries
	var err error
	if out.book, err = competence.NewBook(facts); err != nil {
		return nil, err
	}
	if len(workers) == 0 {
		return out, nil
	}
	gradings, err := store.FindStanding[groundhand.Grading](ctx, r.store, store.ByWorker, workers)
	if err != nil {
		return nil, err
	}
	for _, g := range gradings {
		out.grades[g.WorkerID] = append(out.grades[g.WorkerID], g)
	}
	away, err := r.store.UnavailableBetween(ctx, workers, from, to)
	for _, u := range away {
		out.away[u.WorkerID] = append(out.away[u.WorkerID], u)
	}
	return out, err
}

// counting looks at a window under a rule set; an empty name means our own rules of each day.
func (ro *roster) counting(rules rulebook.Rules, named groundhand.RuleSetID, families []string, from, to groundhand.Instant) counting {
	days := competence.Period{From: ro.roll.dayOf(from), Through: ro.roll.lastDay(to)}
	return counting{
		capabilities: capabilities{book: ro.book, busy: ro.roll.busyDaysOf(ro.entries, days), ruleSet: named, days: days, roll: ro.roll},
		rules:        rules, families: families, grades: ro.grades, away: ro.away,
	}
}
