package competence

import (
	"slices"
	"sort"

	"groundhand/internal/groundhand"
)

// credit is a local day with enough counting evidence; the evidence is among own[first:past].
type credit struct {
	day         groundhand.Date
	first, past int
}

// findCredits groups the counting evidence by local day and refuses what is too little.
func (r *reading) findCredits() {
	r.credits = r.credits[:0]
	for at := 0; at < len(r.own); {
		day, past := r.book.when[r.own[at]].day, at+1
		for past < len(r.own) && r.book.when[r.own[past]].day == day {
			past++
		}
		r.addCredit(credit{day, at, past})
		at = past
	}
}

func (r *reading) addCredit(c credit) {
	r.keys = r.keys[:0]
	for at := c.first; at < c.past; at++ {
		if r.counts(at) {
			r.keys = append(r.keys, runKey(&r.book.entries[r.own[at]]))
		}
	}
	if len(r.keys) == 0 {
		return
	}
	if distinct(r.keys) >= r.line.MinimumRuns {
		r.credits = append(r.credits, c)
		return
	}
	for at := c.first; at < c.past; at++ {
		if r.counts(at) {
			r.why[at] = TooFewRuns
		}
	}
}

// runKey is the same for a run and all assessments of it: they count once.
func runKey(e *Entry) string {
	if e.Kind == Assessment && e.OfRun != "" {
		return e.OfRun
	}
	return e.ID
}

func distinct(keys []string) int {
	slices.Sort(keys)
	return len(slices.Compact(keys))
}

// findValidity finds the last good day and what it rests on.
func (r *reading) findValidity() {
	r.chain, r.last, r.grace = r.chain[:0], 0, 0
	switch {
	case len(r.credits) == 0:
	case r.line.LastGoodDay == BaseMonth:
		r.followBaseMonth()
	default:
		r.followBestOrigin()
	}
}

// followBestOrigin tries every credit as the first of a course of periods. A refresh within the early window of a period adds a
// period to it, always counted from the origin (EASA AMC1 ORO.FC.145(g) works so with three months). The greatest last good day
// wins, of equal ones the latest origin; so more evidence never shortens a course.
func (r *reading) followBestOrigin() {
	best := 0
	if r.line.EarlyWindowDays == 0 { // no refresh keeps an anniversary, and a later first day never ends sooner
		best = len(r.credits) - 1
	}
	for o := best; o < len(r.credits); o++ {
		if last := r.follow(o, nil); last >= r.last {
			best, r.last = o, last
		}
	}
	r.chain = append(r.chain, best)
	r.follow(best, &r.chain)
	r.grace = r.last
}

// follow gives the last good day of the course from one origin, and notes the refreshes that it rests on.
func (r *reading) follow(origin int, chain *[]int) groundhand.Date {
	o := r.credits[origin].day
	for k := 1; ; k++ {
		good := r.line.lastGoodDay(o, k)
		at := r.latestCredit(good)
		if at <= origin || r.credits[at].day <= good.AddDays(-r.line.EarlyWindowDays) {
			return good
		}
		if chain != nil {
			*chain = append(*chain, at)
		}
	}
}

// latestCredit is the place of the latest credit on or before a day, or -1.
func (r *reading) latestCredit(day groundhand.Date) int {
	return sort.Search(len(r.credits), func(at int) bool { return r.credits[at].day > day }) - 1
}

// lastGoodDay is the last good day of the k-th period from an origin.
func (l *Line) lastGoodDay(o groundhand.Date, k int) groundhand.Date {
	months := k * l.Interval.Months
	after := o.AddDays(k * l.Interval.Days)
	if months > 0 {
		after = o.AddMonths(months)
	}
	switch l.LastGoodDay {
	case DayBefore:
		return after - 1
	case Days365:
		return o.AddDays(365 * k)
	case MonthEnd:
		return after.MonthEnd()
	case CalendarYear:
		year, _, _ := o.Civil()
		return groundhand.NewDate(year+months/12, 12, 31)
	}
	return after
}

// followBaseMonth walks the credits: one in the month before or after the due month keeps the due month as the new base (14 CFR
// 121.401(b), 125.293(a)), any other later one starts anew from its own month.
func (r *reading) followBaseMonth() {
	base := r.credits[0].day.Month()
	r.chain = append(r.chain, 0)
	for at := 1; at < len(r.credits); at++ {
		month, due := r.credits[at].day.Month(), base+r.line.Interval.Months
		switch {
		case month <= base:
		case month == due-1 || month == due+1:
			base, r.chain = due, append(r.chain, at)
		default:
			base, r.chain = month, append(r.chain[:0], at)
		}
	}
	due := base + r.line.Interval.Months
	r.last, r.grace = endOfMonth(due), endOfMonth(due+1)
}

// endOfMonth is the last day of a month counted as 12 × year + month.
func endOfMonth(month int) groundhand.Date {
	return groundhand.NewDate(0, 1, 1).AddMonths(month - 1).MonthEnd()
}
