package readiness_test

import (
	"cmp"
	"slices"

	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// A second search for fixes, written from the definition of a fix alone: every set of changes is made and the question asked afresh, with
// nothing ruled out beforehand. It knows no bound and no order of search.

type bruteChange struct {
	do     readiness.Do
	id     string
	people []string
	rung   int
	travel int
	ready  groundhand.Instant
	person *readiness.PoolPerson
	drill  *readiness.PoolDrill
	make   func(*readiness.Question)
}

type bruteFix struct {
	changes []bruteChange
	verdict readiness.Verdict
	aloft   []string
	lenders []readiness.Lender
}

type brute struct {
	t       require.TestingT
	q       readiness.Question
	pool    *readiness.Pool
	changes []bruteChange
	refused []readiness.Refused
	verdict map[string]readiness.Verdict // of lending crews, by crew and who is gone
}

// bruteForce gives what section "fixes" of an answer must hold for a verdict below the target.
func bruteForce(t require.TestingT, q readiness.Question) ([]readiness.Fix, []readiness.Refused) {
	b := &brute{t: t, q: q, pool: q.Pool, verdict: map[string]readiness.Verdict{}}
	b.q.Pool = nil
	b.gather()
	working := b.working(nil, b.changes)
	var smallest []bruteFix
	for _, f := range working {
		if !slices.ContainsFunc(working, func(g bruteFix) bool { return f.has(g) && !g.has(f) }) {
			smallest = append(smallest, f)
		}
	}
	slices.SortFunc(smallest, compareBrute)
	return b.answer(smallest)
}

func (b *brute) answer(smallest []bruteFix) ([]readiness.Fix, []readiness.Refused) {
	helps := map[[2]string]bool{}
	fixes := []readiness.Fix{}
	for i, f := range smallest {
		for _, c := range f.changes {
			helps[[2]string{string(c.do), c.id}] = true
		}
		if i < b.pool.MaxFixes {
			fixes = append(fixes, f.written())
		}
	}
	for _, c := range b.changes {
		if key := [2]string{string(c.do), c.id}; !helps[key] {
			helps[key] = true
			b.refuse(c.do, c.id, readiness.NoHelp)
		}
	}
	slices.SortFunc(b.refused, func(a, b readiness.Refused) int { return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.ID, b.ID)) })
	return append(fixes, readiness.Fix{Rung: 8, Changes: []readiness.FixChange{{Do: "DO_NOT_SEND", People: []string{}}}, Lenders: []readiness.Lender{}}), b.refused
}

// has says that another fix is part of this one; a drill with fewer people is part of the same drill.
func (f bruteFix) has(part bruteFix) bool {
	return !slices.ContainsFunc(part.changes, func(p bruteChange) bool {
		return !slices.ContainsFunc(f.changes, func(c bruteChange) bool {
			return c.do == p.do && c.id == p.id && !slices.ContainsFunc(p.people, func(who string) bool { return !slices.Contains(c.people, who) })
		})
	})
}

func compareChanges(a, b bruteChange) int {
	return cmp.Or(cmp.Compare(a.do, b.do), cmp.Compare(a.id, b.id), slices.Compare(a.people, b.people))
}

func compareBrute(a, b bruteFix) int {
	return cmp.Or(cmp.Compare(a.rung(), b.rung()), cmp.Compare(len(a.changes), len(b.changes)), cmp.Compare(a.travel(), b.travel()),
		slices.CompareFunc(a.changes, b.changes, compareChanges))
}

func (f bruteFix) rung() int {
	highest := 0
	for _, c := range f.changes {
		highest = max(highest, c.rung)
	}
	return highest
}

func (f bruteFix) travel() int {
	sum := 0
	for _, c := range f.changes {
		sum += c.travel
	}
	return sum
}

func (f bruteFix) written() readiness.Fix {
	fix := readiness.Fix{Rung: f.rung(), TravelMinutes: f.travel(), Verdict: &f.verdict, Aloft: f.aloft, Lenders: f.lenders}
	for _, c := range f.changes {
		fix.Changes = append(fix.Changes, readiness.FixChange{Do: c.do, ID: c.id, People: append([]string{}, c.people...)})
	}
	return fix
}

// working lists every set with these changes and some of the rest that works.
func (b *brute) working(made, rest []bruteChange) []bruteFix {
	var list []bruteFix
	for i, c := range rest {
		set := append(slices.Clone(made), c)
		if !allowedTogether(set) {
			continue
		}
		if f, works := b.works(set); works {
			list = append(list, f)
		}
		if len(set) < b.pool.MaxChanges {
			list = append(list, b.working(set, rest[i+1:])...)
		}
	}
	return list
}

// allowedTogether asks for at most one kit, device, window and way, and for drills that do not share anybody at one time.
func allowedTogether(set []bruteChange) bool {
	for i, c := range set {
		for _, o := range set[:i] {
			switch {
			case c.do != o.do || c.do == readiness.DoPerson:
			case c.do != readiness.DoDrill || c.id == o.id:
				return false
			case c.drill.Start < end(o.drill) && o.drill.Start < end(c.drill):
				for _, who := range append(slices.Clone(c.people), c.drill.Assessor) {
					if who == o.drill.Assessor || slices.Contains(o.people, who) {
						return false
					}
				}
			}
		}
	}
	return true
}

func end(d *readiness.PoolDrill) groundhand.Instant {
	return d.Start + groundhand.Instant(d.Minutes)*60_000
}

func (b *brute) works(set []bruteChange) (bruteFix, bool) {
	f := bruteFix{changes: slices.Clone(set)}
	slices.SortFunc(f.changes, func(x, y bruteChange) int { return cmp.Or(cmp.Compare(x.rung, y.rung), compareChanges(x, y)) })
	q := b.q
	q.People = slices.Clone(q.People)
	for _, do := range []readiness.Do{readiness.DoDevice, readiness.DoKit, readiness.DoDrill, readiness.DoPerson, readiness.DoLater, readiness.DoOtherWay} {
		for _, c := range set {
			if c.do == do {
				c.make(&q)
			}
		}
	}
	if !b.thereInTime(set, q.Window) || !b.unharmed(&f) {
		return f, false
	}
	a, swap := askAlone(b.t, q)
	f.verdict = a.Verdict
	if f.aloft = nil; !swap && len(a.Choices) > 0 {
		f.aloft = a.Choices[0].Aloft
	}
	return f, a.Verdict >= b.pool.Target
}

// askAlone asks without a plan and a pool. A duty whose holder has not come is held by somebody who is away all the time.
func askAlone(t require.TestingT, q readiness.Question) (readiness.Answer, bool) {
	q.Pool, q.Job.PlannedAloft = nil, nil
	for _, d := range q.Job.Exclusive {
		if !slices.ContainsFunc(q.People, func(p readiness.Person) bool { return p.ID == d.Person }) {
			q.People = append(slices.Clone(q.People), readiness.Person{ID: d.Person, Unavailable: []readiness.Absence{{Why: readiness.WhyOther}}})
		}
	}
	a, err := readiness.Judge(q)
	require.NoError(t, err)
	return a, slices.ContainsFunc(a.Findings, func(f readiness.Finding) bool { return f.Code == readiness.SwapAloft })
}

func (b *brute) thereInTime(set []bruteChange, w readiness.Window) bool {
	return !slices.ContainsFunc(set, func(c bruteChange) bool {
		return c.ready > w.From || c.person != nil && (awayReason(&c.person.Person, w) != "" || heldIn(&c.person.Person, w))
	})
}

func meets(i readiness.Interval, w readiness.Window) bool {
	from := i.From.At
	if i.From.Day != 0 {
		from = groundhand.InstantOf(i.From.Day.Start(w.Zone))
	}
	return (from == 0 || from < w.To) && (i.To == 0 || i.To > w.From)
}

func awayReason(p *readiness.Person, w readiness.Window) readiness.RefusedReason {
	reason := readiness.RefusedReason("")
	order := []readiness.RefusedReason{readiness.OnLeave, readiness.AtRest, readiness.PlacedElsewhere, readiness.Unavailable}
	for _, a := range p.Unavailable {
		r := map[readiness.Why]readiness.RefusedReason{readiness.WhyLeave: order[0], readiness.WhyRest: order[1], readiness.WhyPlaced: order[2], readiness.WhyOther: order[3]}[a.Why]
		if meets(a.Interval, w) && (reason == "" || slices.Index(order, r) < slices.Index(order, reason)) {
			reason = r
		}
	}
	return reason
}

func heldIn(p *readiness.Person, w readiness.Window) bool {
	return slices.ContainsFunc(p.NotForRescue, func(i readiness.Interval) bool { return meets(i, w) })
}

// unharmed asks every lending crew before and after, its people taken out together.
func (b *brute) unharmed(f *bruteFix) bool {
	f.lenders = []readiness.Lender{}
	gone := map[string][]string{}
	for _, c := range f.changes {
		if c.person != nil && c.person.Crew != "" {
			gone[c.person.Crew] = append(gone[c.person.Crew], c.id)
		}
	}
	fine := true
	for _, crew := range b.pool.Crews {
		if gone[crew.ID] == nil {
			continue
		}
		l := readiness.Lender{Crew: crew.ID, People: slices.Sorted(slices.Values(gone[crew.ID]))}
		if crew.Question != nil {
			before, after := b.lend(crew, nil), b.lend(crew, l.People)
			l.Before, l.After = &before, &after
			fine = fine && before != readiness.CannotTell && after != readiness.CannotTell && after >= before
		}
		f.lenders = append(f.lenders, l)
	}
	slices.SortFunc(f.lenders, func(a, b readiness.Lender) int { return cmp.Compare(a.Crew, b.Crew) })
	return fine
}

func (b *brute) lend(crew readiness.PoolCrew, gone []string) readiness.Verdict {
	q := *crew.Question
	q.People = slices.DeleteFunc(slices.Clone(q.People), func(p readiness.Person) bool { return slices.Contains(gone, p.ID) })
	a, _ := askAlone(b.t, q)
	return a.Verdict
}
