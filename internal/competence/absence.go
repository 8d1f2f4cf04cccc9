package competence

import (
	"cmp"
	"math"
	"slices"

	"groundhand/internal/groundhand"
)

// hold is a long absence after which no watched practice was seen: from its day on, who was away is held.
type hold struct {
	from        groundhand.Date
	first, past int // the entries, away[first:past]
}

const noEnd = groundhand.Date(math.MaxInt32)

// findHolds joins the away entries that touch or overlap and keeps those absences that hold.
func (r *reading) findHolds() {
	r.away, r.holds = r.away[:0], r.holds[:0]
	if r.line.AbsenceMonths == 0 {
		return
	}
	b := r.book
	for _, i := range r.own {
		if b.entries[i].Kind == Away && b.when[i].lo <= r.see.bad && b.setAside(i, r.see.known) == "" {
			r.away = append(r.away, i)
		}
	}
	slices.SortFunc(r.away, func(x, y int32) int {
		return cmp.Or(cmp.Compare(b.entries[x].From, b.entries[y].From), cmp.Compare(x, y))
	})
	for first := 0; first < len(r.away); {
		past, to := r.joined(first)
		r.addHold(hold{b.entries[r.away[first]].From.AddMonths(r.line.AbsenceMonths), first, past}, to)
		first = past
	}
}

// joined is one past the last entry of the absence that starts with away[first], and the last day of it.
func (r *reading) joined(first int) (int, groundhand.Date) {
	past, to := first+1, lastDay(&r.book.entries[r.away[first]])
	for past < len(r.away) && (to == noEnd || r.book.entries[r.away[past]].From <= to+1) {
		to = max(to, lastDay(&r.book.entries[r.away[past]]))
		past++
	}
	return past, to
}

func lastDay(e *Entry) groundhand.Date {
	if e.To.IsZero() {
		return noEnd
	}
	return e.To
}

func (r *reading) addHold(h hold, to groundhand.Date) {
	if to >= h.from && !r.watchedAfter(to) {
		r.holds = append(r.holds, h)
	}
}

// watchedAfter looks for counting practice on a day after an absence that somebody else has seen.
func (r *reading) watchedAfter(day groundhand.Date) bool {
	for at, i := range r.own {
		if r.book.when[i].day > day && r.counts(at) && watched(&r.book.entries[i]) {
			return true
		}
	}
	return false
}

func watched(e *Entry) bool {
	switch e.Kind {
	case Assessment:
		return true // counting, so passed before an assessor
	case Run:
		return e.WatchedBy != "" && e.WatchedBy != e.Person
	}
	return e.Level == LevelDemonstrated
}

func (r *reading) heldOn(day groundhand.Date) bool {
	return slices.ContainsFunc(r.holds, func(h hold) bool { return h.from <= day })
}
