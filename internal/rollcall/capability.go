package rollcall

import (
	"slices"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rulebook"
)

// stint is a stretch in which somebody holds a line: from an edge through the end of a day, in one state.
type stint struct {
	from    readiness.Edge
	through groundhand.Date
	state   readiness.State
}

// stateOf is the standing as readiness counts it; every other standing counts for nothing.
func stateOf(s competence.Standing) (readiness.State, bool) {
	switch s {
	case competence.Current:
		return readiness.Current, true
	case competence.InGrace:
		return readiness.InGrace, true
	case competence.OnExtension:
		return readiness.OnExtension, true
	case competence.OnPaper:
		return readiness.Provisional, true
	}
	return "", false
}

// capabilities asks competence about the days of a window.
type capabilities struct {
	book    *competence.Book
	busy    busyDays
	ruleSet groundhand.RuleSetID
	days    competence.Period
	roll    *Roll
}

// stints turns the course of a line over the window's days into stretches. A course speaks of a day at its close. On a day on which
// something happened to the person that is not good enough: practice at noon is no cover at seven, and practice on a bare day counts
// from the next day on.
func (c capabilities) stints(who groundhand.WorkerID, a rulebook.Asked) ([]stint, error) {
	q := question(who, a)
	q.RuleSet = string(c.ruleSet)
	course, err := c.book.Course(q, c.days)
	if err != nil {
		return nil, err
	}
	var out []stint
	for _, span := range course {
		state, holds := stateOf(span.Standing)
		if !holds {
			continue
		}
		day := span.From
		for _, busy := range c.busy[string(who)] {
			if busy.day < day || busy.day > span.Through {
				continue
			}
			out = addStint(out, stint{readiness.Edge{Day: day}, busy.day - 1, state})
			within, err := c.within(q, busy)
			if err != nil {
				return nil, err
			}
			out, day = append(out, within...), busy.day+1
		}
		out = addStint(out, stint{readiness.Edge{Day: day}, span.Through, state})
	}
	return out, nil
}

// addStint leaves out what ends before it begins, and joins whole days that follow each other in the same state.
func addStint(list []stint, s stint) []stint {
	if s.through < s.from.Day {
		return list
	}
	if n := len(list); n > 0 && list[n-1].state == s.state && list[n-1].through+1 == s.from.Day {
		list[n-1].through = s.through
		return list
	}
	return append(list, s)
}

// within follows one day from its start through each moment at which something happened. What is held after the last moment at which
// it was not, counts.
func (c capabilities) within(q competence.Question, busy busyDay) ([]stint, error) {
	start := c.roll.start(busy.day)
	var out []stint
	for _, at := range append([]groundhand.Instant{start}, busy.moments...) {
		q.On, q.At = 0, at
		answer, err := c.book.Glance(q)
		if err != nil {
			return nil, err
		}
		state, holds := stateOf(answer.Standing)
		if !holds {
			out = nil
			continue
		}
		s := stint{readiness.Edge{At: at}, busy.day, state}
		if at == start {
			s.from = readiness.Edge{Day: busy.day}
		}
		out = append(out, s)
	}
	return weaker(out), nil
}

// weaker drops a stretch that one in the same state includes; of stretches of one day each begins later than the one before.
func weaker(list []stint) []stint {
	var out []stint
	for _, s := range list {
		if n := len(out); n == 0 || out[n-1].state != s.state {
			out = append(out, s)
		}
	}
	return out
}

// busyDay is a local day on which something happened to a person, with the moments at which it did; a bare day has none.
type busyDay struct {
	day     groundhand.Date
	moments []groundhand.Instant
}

// busyDays lists them by person, in order.
type busyDays map[string][]busyDay

// busyDaysOf looks for what happened within a period. Grades, authorities and withdrawals do not turn a standing within a day.
func (r *Roll) busyDaysOf(entries []competence.Entry, p competence.Period) busyDays {
	from, to := r.start(p.From), r.start(p.Through+1)
	out := busyDays{}
	for i := range entries {
		e := &entries[i]
		switch {
		case e.Kind == competence.Grade || e.Kind == competence.Authority || e.Kind == competence.Withdrawal || e.Kind == competence.Away:
		case e.HappenedOn != 0 && p.From <= e.HappenedOn && e.HappenedOn <= p.Through:
			out.add(e.Person, e.HappenedOn, 0)
		case e.HappenedAt != 0 && from <= e.HappenedAt && e.HappenedAt < to:
			out.add(e.Person, r.dayOf(e.HappenedAt), e.HappenedAt)
		}
	}
	return out
}

func (b busyDays) add(person string, day groundhand.Date, at groundhand.Instant) {
	days := b[person]
	i, there := slices.BinarySearchFunc(days, day, func(d busyDay, day groundhand.Date) int { return int(d.day - day) })
	if !there {
		days = slices.Insert(days, i, busyDay{day: day})
	}
	if at != 0 {
		j, there := slices.BinarySearch(days[i].moments, at)
		if !there {
			days[i].moments = slices.Insert(days[i].moments, j, at)
		}
	}
	b[person] = days
}
