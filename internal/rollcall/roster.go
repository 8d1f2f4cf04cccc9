package rollcall

import (
	"context"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
)

// roster is what is recorded about some workers for a stretch of time: their standings can be asked, their grades and absences read.
// It is asked by one goroutine.
type roster struct {
	roll    *Roll
	book    *competence.Book
	entries []competence.Entry
	grades  map[groundhand.WorkerID][]groundhand.Grading
	away    map[groundhand.WorkerID][]groundhand.Unavailability
	busy    map[competence.Period]busyDays // found once for each window asked about
}

// roster loads workers in a handful of queries, however many there are. Absences are those that overlap the stretch.
func (r *Roll) roster(ctx context.Context, sh shelf, workers []groundhand.WorkerID, from, to groundhand.Instant) (*roster, error) {
	d := r.dossier(sh)
	if err := d.take(ctx, workers); err != nil {
		return nil, err
	}
	facts := d.facts()
	book, err := competence.NewBook(facts)
	if err != nil {
		return nil, err
	}
	out := &roster{roll: r, book: book, entries: facts.Entries, grades: map[groundhand.WorkerID][]groundhand.Grading{},
		away: map[groundhand.WorkerID][]groundhand.Unavailability{}, busy: map[competence.Period]busyDays{}}
	dead := d.dead()
	for _, g := range d.gradings {
		if !dead[g.ID] {
			out.grades[g.WorkerID] = append(out.grades[g.WorkerID], g)
		}
	}
	for _, u := range d.away {
		if !dead[u.ID] && u.FromAt < to && (u.ToAt == 0 || from < u.ToAt) {
			out.away[u.WorkerID] = append(out.away[u.WorkerID], u)
		}
	}
	return out, nil
}

// counting looks at a window under a rule set; an empty name means our own rules of each day.
func (ro *roster) counting(rules rulebook.Rules, named groundhand.RuleSetID, families []string, from, to groundhand.Instant) counting {
	days := competence.Period{From: ro.roll.dayOf(from), Through: ro.roll.lastDay(to)}
	if _, found := ro.busy[days]; !found {
		ro.busy[days] = ro.roll.busyDaysOf(ro.entries, days)
	}
	return counting{
		capabilities: capabilities{book: ro.book, busy: ro.busy[days], ruleSet: named, days: days, roll: ro.roll},
		rules:        rules, families: families, grades: ro.grades, away: ro.away,
	}
}
