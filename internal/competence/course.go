package competence

import "groundhand/internal/groundhand"

// nextTurn is the first day after a day on which the word of a reading may change, or zero. The word can only turn on the day after
// the last good day, after the grace and after an allowance, on the first day of an allowance, and on the first day of a hold.
func (r *reading) nextTurn(after groundhand.Date) groundhand.Date {
	next := noEnd
	look := func(day groundhand.Date) {
		if day > after && day < next {
			next = day
		}
	}
	if len(r.credits) > 0 {
		look(r.last + 1)
		look(r.grace + 1)
	}
	for _, list := range [][]allowance{r.extensions, r.provisionals} {
		for _, a := range list {
			look(a.from)
			look(a.to + 1)
		}
	}
	for _, h := range r.holds {
		look(h.from)
	}
	if next == noEnd {
		return 0
	}
	return next
}

// changesOn is the first day after the judged day whose close would have another word if nothing else happened or was recorded.
// Rule sets change as dated; see is what was seen at the moment asked.
func (q *inquiry) changesOn(day groundhand.Date, word Standing, see sight) groundhand.Date {
	for {
		end := q.nextEra(day)
		if d := q.turnsBefore(day, end, word); d != 0 || end == 0 {
			return d
		}
		day = end
		if q.turnTo(day, see); q.word(day) != word {
			return day
		}
	}
}

// turnsBefore is the first day after a day, and before the end of its era, with another word.
func (q *inquiry) turnsBefore(day, end groundhand.Date, word Standing) groundhand.Date {
	for d := q.nextTurn(day); d != 0 && (end == 0 || d < end); d = q.nextTurn(d) {
		if q.word(d) != word {
			return d
		}
	}
	return 0
}

// course gives the standing of every day of a period as spans, without gap or overlap. What is seen changes on the days of the
// person's own entries, the line with the era, and between those the word on the turning days.
func (q *inquiry) course(p Period) []Span {
	var out []Span
	for day := p.From; day <= p.Through; {
		end := sooner(p.Through+1, q.nextEra(day))
		end = sooner(end, q.nextEntry(day))
		moment := endOf(day, q.book.zone)
		q.turnTo(day, sight{q.known, moment, moment})
		for day < end {
			next := sooner(end, q.nextTurn(day))
			out = addSpan(out, Span{day, next - 1, q.word(day), q.lineID(), q.lastGoodDay()})
			day = next
		}
	}
	return out
}

// sooner is the earlier of two days, the second of which may be none.
func sooner(x, y groundhand.Date) groundhand.Date {
	if y != 0 && y < x {
		return y
	}
	return x
}

// addSpan joins a span with the one before if nothing but the days differs.
func addSpan(spans []Span, s Span) []Span {
	if n := len(spans); n > 0 {
		before := &spans[n-1]
		if before.Standing == s.Standing && before.Line == s.Line && before.LastGoodDay == s.LastGoodDay {
			before.Through = s.Through
			return spans
		}
	}
	return append(spans, s)
}
