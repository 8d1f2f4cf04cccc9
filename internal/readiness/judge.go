package readiness

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/groundhand"
)

// Judge answers a question. The error lists every fault, as Check does. A good question has an answer, unless so much changes inside the
// window, so much is unknown, or the pool is so large, that it cannot be judged in bounded time: that is CodeTooLarge.
func Judge(q Question) (Answer, error) { return JudgeWithin(context.Background(), q) }

// JudgeWithin is Judge that gives up the search for fixes, with the context's error, when the context ends.
func JudgeWithin(ctx context.Context, q Question) (Answer, error) {
	if err := q.Check(); err != nil {
		return Answer{}, err
	}
	in, err := newInquiry(&q)
	if err != nil {
		return Answer{}, err
	}
	course := in.course()
	verdict, swap := in.overall(course)
	deciding, told := in.deciding(course)
	if !told {
		return Answer{}, &groundhand.Error{Code: groundhand.CodeTooLarge, Field: "people", Message: "Too much is unknown to find what decides; say of more people whether they operate the lower controls."}
	}
	a := Answer{
		Question:   q.Name,
		Verdict:    verdict,
		Timeline:   in.timeline(course),
		HoldsUntil: in.holdsUntil(course),
		Choices:    in.listed(course),
		Planned:    in.planned(course),
		NMinus1:    in.nMinus1(verdict),
		Findings:   in.findings(course, swap, deciding),
		Conditions: []Condition{},
	}
	a.MayGoAloft, a.MustStayDown = in.aloftAndDown(course)
	switch {
	case swap:
		a.Conditions = in.swapConditions(course)
	case verdict == Conditional:
		a.Conditions = a.Choices[0].Conditions
	}
	a.Fixes, a.Refused, err = in.fixes(ctx, course, verdict, a.Planned)
	return a, err
}

// inquiry is a question made ready for judging: people in the order of ids, days turned into instants, people as sets.
type inquiry struct {
	q        *Question
	calendar *calendar
	people   []member
	aloft    int      // people aloft at a time
	able     crew     // can go aloft and hold no duty
	busy     crew     // hold a duty
	asked    crew     // whether they operate the lower controls is unknown
	families []string // the control families the device may have; "" is one that nobody knows
	methods  []method
	table    []want
	moments  []moment
	choices  []crew // in the order of ids
	numbers  numbers
}

// method is a method of the rules with its place in the tallies, what the site says, and its needs as a set.
type method struct {
	*Method
	allowed YesNo
	needs   needs
	place   int // among the methods
	slot    int // of its first role in a moment's tallies
}

// moment is a stretch of the window inside which nothing begins or ends.
type moment struct {
	from, to groundhand.Instant
	present  crew
	usable   crew // present, no duty, not held back
	aid      crew // usable and first aid in date
	equipment
	tallies [][]tally // by family, then by method and role
	trained []pair    // by family: who of the usable people counts for the card
	unheld  []string  // duties whose holder is not there
}

func newInquiry(q *Question) (*inquiry, error) {
	in := &inquiry{q: q, calendar: newCalendar(q.Window), families: families(q), numbers: numbersOf(q)}
	for _, b := range q.Job.Buckets {
		in.aloft += b.People
	}
	in.addPeople()
	in.addMethods()
	in.table = in.wants(in.calendar)
	in.choices = combinations(in.able.members(), in.aloft)
	points := in.calendar.breakpoints()
	if err := in.tooLarge(len(points)); err != nil {
		return nil, err
	}
	in.addMoments(points)
	return in, nil
}

func families(q *Question) []string {
	switch {
	case q.Device == nil:
		return []string{""}
	case q.Device.Family != "":
		return []string{q.Device.Family}
	}
	all := append([]string{""}, q.Rules.Families...)
	slices.Sort(all)
	return slices.Compact(all)
}

func (in *inquiry) addPeople() {
	in.people = make([]member, len(in.q.People))
	for i := range in.q.People {
		in.people[i] = newMember(&in.q.People[i], in.calendar)
	}
	slices.SortFunc(in.people, func(a, b member) int { return cmp.Compare(a.ID, b.ID) })
	for i := range in.people {
		p := &in.people[i]
		busy := slices.ContainsFunc(in.q.Job.Exclusive, func(d Duty) bool { return d.Person == p.ID })
		in.busy |= only(i, busy)
		in.able |= only(i, p.CanGoAloft && !busy)
		in.asked |= only(i, p.OperatesLower == Unknown)
	}
}

func (in *inquiry) addMethods() {
	slots := 0
	for i := range in.q.Rules.Methods {
		m := &in.q.Rules.Methods[i]
		in.methods = append(in.methods, method{m, in.q.Job.Methods[m.ID], needsOf(m.Needs...), i, slots})
		slots += len(m.Roles)
	}
}

func (in *inquiry) addMoments(points []groundhand.Instant) {
	for i, from := range points {
		to := in.q.Window.To
		if i+1 < len(points) {
			to = points[i+1]
		}
		in.moments = append(in.moments, in.momentAt(from, to))
	}
}

func (in *inquiry) momentAt(t, to groundhand.Instant) moment {
	m := moment{from: t, to: to, equipment: equipmentAt(in.table, t), tallies: make([][]tally, len(in.families))}
	for i := range in.people {
		p := &in.people[i]
		present := !anyHolds(p.away, t)
		usable := present && !in.busy.has(i) && !anyHolds(p.held, t)
		m.present |= only(i, present)
		m.usable |= only(i, usable)
		m.aid |= only(i, usable && anyHolds(p.aid, t))
	}
	m.unheld = in.unheld(m.present)
	for f, family := range in.families {
		for i := range in.methods {
			for _, role := range in.methods[i].Roles {
				m.tallies[f] = append(m.tallies[f], in.tally(in.methods[i].Method, role, family, t))
			}
		}
		m.trained = append(m.trained, trainedAmong(m.usable, m.tallies[f]))
	}
	return m
}

// unheld lists the duties whose holder is not there: somebody who is not counted here must take them.
func (in *inquiry) unheld(present crew) []string {
	var duties []string
	for _, d := range in.q.Job.Exclusive {
		holder := slices.IndexFunc(in.people, func(p member) bool { return p.ID == d.Person })
		if holder < 0 || !present.has(holder) {
			duties = append(duties, d.Duty)
		}
	}
	return duties
}
