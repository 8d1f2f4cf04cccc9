package rotation

import (
	"cmp"
	"slices"
)

// bound gives figures below which no plan can come. Levels 1 and 2 hold for every plan, levels 3 to 6 for every plan whose lapsed days
// are at most those given, and so for every plan that could beat one with that many. Pins and clashes are ignored, so it holds with them.
func (g *grid) bound(lapsed int) Objective {
	if g.floor == nil {
		g.floor = &floor{g.leastShort(), g.leastLapsed()}
	}
	sum := 0
	for _, row := range g.tickets {
		if row.due {
			sum += row.least
		}
	}
	m := g.musts(max(0, lapsed-sum))
	sessions := m.sessions(func(int) int { return 1 })
	return Objective{g.floor.short, g.floor.lapsed, m.sessions(func(s int) int { return g.slots[s].cost }),
		m.minutes(), m.offAim(), g.perInstructor(sessions)}
}

// floor is the bounds of levels 1 and 2, which depend on no plan.
type floor struct{ short, lapsed int }

// leastShort counts the days short when every ticket is renewed at its first slot: nobody can be current sooner.
func (g *grid) leastShort() int {
	r := newRoster(g)
	for t, row := range g.tickets {
		if row.first != none {
			r.doRenew(t, row.first)
		}
	}
	for c := range g.crews {
		r.judge(c)
	}
	return r.crewDays
}

// musts are the tickets that must be renewed, each with the slots that come into question, in any plan that keeps within the spare days.
type musts struct {
	g       *grid
	tickets []int
	slots   [][]int // by position in tickets, in order of day
}

func (g *grid) musts(spare int) *musts {
	m := &musts{g: g}
	for t := range g.tickets {
		row := &g.tickets[t]
		if !row.due || row.first == none || row.never-row.least <= spare {
			continue
		}
		var keep []int
		for _, s := range g.eligibleSlots(t) {
			if g.lapsed(t, s)-row.least <= spare {
				keep = append(keep, s)
			}
		}
		m.tickets = append(m.tickets, t)
		m.slots = append(m.slots, keep)
	}
	return m
}

// offAim is the bound of level 5.
func (m *musts) offAim() int {
	sum := 0
	for i, t := range m.tickets {
		sum += m.cheapest(i, func(s int) int { return m.g.offAim(t, s) })
	}
	return sum
}

func (m *musts) cheapest(i int, price func(s int) int) int {
	least := price(m.slots[i][0])
	for _, s := range m.slots[i][1:] {
		least = min(least, price(s))
	}
	return least
}

// minutes is the bound of level 4: for each worker the dearest set of tickets no two of which share a slot, and for each crew a visit for
// each of as many tickets no two of which share a slot.
func (m *musts) minutes() int {
	sum := 0
	byWorker, byCrew := map[int][]int{}, map[int][]int{}
	for i, t := range m.tickets {
		w := m.g.tickets[t].worker
		byWorker[w] = append(byWorker[w], i)
		if c := m.g.workers[w].crew; c != none {
			byCrew[c] = append(byCrew[c], i)
		}
	}
	for w, mine := range byWorker {
		sum += m.dearest(w, mine, nil)
	}
	for _, ours := range byCrew {
		sum += m.g.p.VisitMinutes * m.apart(ours)
	}
	return sum
}

// mostSubsets keeps the search for the dearest set short; nobody holds more tickets than this in practice.
const mostSubsets = 8

// dearest tries all sets of the tickets left that share no slot with those chosen.
func (m *musts) dearest(w int, left, chosen []int) int {
	if len(left) == 0 {
		return 0
	}
	left = left[:min(len(left), mostSubsets)]
	best := m.dearest(w, left[1:], chosen)
	if m.apartFrom(left[0], chosen) {
		price := m.cheapest(left[0], func(s int) int { return m.g.away(w, s) })
		best = max(best, price+m.dearest(w, left[1:], append(slices.Clone(chosen), left[0])))
	}
	return best
}

func (m *musts) apartFrom(i int, chosen []int) bool {
	return !slices.ContainsFunc(chosen, func(j int) bool { return m.share(i, j) })
}

func (m *musts) share(i, j int) bool {
	return slices.ContainsFunc(m.slots[i], func(s int) bool { return has(m.slots[j], s) })
}

// apart picks tickets no two of which share a slot, those whose chance ends first before the others, and counts them.
func (m *musts) apart(tickets []int) int {
	sorted := slices.Clone(tickets)
	slices.SortFunc(sorted, func(a, b int) int { return cmp.Or(cmp.Compare(m.lastDay(a), m.lastDay(b)), a-b) })
	var chosen []int
	for _, i := range sorted {
		if m.apartFrom(i, chosen) {
			chosen = append(chosen, i)
		}
	}
	return len(chosen)
}

func (m *musts) firstDay(i int) int { return m.g.slots[m.slots[i][0]].day }

func (m *musts) lastDay(i int) int { return m.g.slots[m.slots[i][len(m.slots[i])-1]].day }

// perInstructor is the bound of level 6.
func (g *grid) perInstructor(sessions int) int {
	leads := map[int]bool{}
	for _, s := range g.slots {
		if s.aside == "" {
			leads[s.instructor] = true
		}
	}
	if len(leads) == 0 {
		return 0
	}
	return (sessions + len(leads) - 1) / len(leads)
}
