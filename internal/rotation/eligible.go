package rotation

import (
	"cmp"
	"slices"
)

// mostChoices is how many slots the planner looks at for one ticket. Without a cut 20,000 workers have tens of millions of pairs.
const mostChoices = 60

func (g *grid) fillSlots(ids names) {
	trucks := map[string]int{}
	for _, in := range g.p.Instructors {
		g.leaders = append(g.leaders, index(ids.workers, in.Worker))
	}
	g.ledSlots = make([][]int, len(g.workers))
	g.costUnit = 1
	for i, s := range g.p.Slots {
		row := g.slotRow(s, ids)
		if s.Truck != "" {
			if _, ok := trucks[s.Truck]; !ok {
				trucks[s.Truck] = len(trucks)
			}
			row.truck = trucks[s.Truck]
		}
		if row.aside == "" {
			g.costUnit = max(g.costUnit, float64(row.cost))
			if row.leader != none {
				g.ledSlots[row.leader] = append(g.ledSlots[row.leader], i)
			}
		}
		g.slots = append(g.slots, row)
	}
	g.trucks = len(trucks)
	g.fillOffers()
}

func (g *grid) slotRow(s Slot, ids names) slotRow {
	row := slotRow{day: int(s.Date - g.p.Start), yard: ids.yards[s.Yard], instructor: ids.instructors[s.Instructor], truck: none,
		half: halves(s.Part), device: s.Device, seats: s.Seats, runs: s.MaxRuns, minutes: s.Minutes, cost: s.Cost}
	row.leader = g.leaders[row.instructor]
	for _, q := range s.Qualifications {
		row.quals = append(row.quals, ids.qualifications[q])
	}
	row.aside = g.aside(s, row)
	return row
}

func (g *grid) aside(s Slot, row slotRow) AsideReason {
	switch {
	case row.day < 0:
		return Past
	case row.day >= g.days:
		return AfterWindow
	case !g.p.listsWeekday(s.Date):
		return Weekend
	case !g.workDay[row.day]:
		return Holiday
	case row.leader != none && !g.workers[row.leader].free.has(row.day):
		return InstructorAway
	}
	return ""
}

func (g *grid) fillOffers() {
	g.offers = map[offer][]int{}
	for i, s := range g.slots {
		if s.aside != "" {
			continue
		}
		for _, q := range s.quals {
			one, all := offer{qual: q, device: s.device}, offer{qual: q, any: true}
			g.offers[one] = append(g.offers[one], i)
			g.offers[all] = append(g.offers[all], i)
		}
	}
	for _, list := range g.offers {
		slices.SortFunc(list, func(a, b int) int { return cmp.Or(cmp.Compare(g.slots[a].day, g.slots[b].day), a-b) })
	}
}

// offered lists the usable slots that renew what a ticket is for, by day.
func (g *grid) offered(t int) []int {
	row := &g.tickets[t]
	return g.offers[offer{row.qual, row.device, row.device == ""}]
}

// reaches says that a worker can be sent to a slot: free that day, not its leader, and the yard within reach.
func (g *grid) reaches(w, s int) bool {
	slot := &g.slots[s]
	return slot.leader != w && g.workers[w].free.has(slot.day) && g.travel[g.workers[w].yard][slot.yard] != none
}

func (g *grid) eligible(t, s int) bool {
	return g.slots[s].day >= g.tickets[t].earliest && g.reaches(g.tickets[t].worker, s)
}

// lapsed counts the lapsed days of a ticket renewed in a slot.
func (g *grid) lapsed(t, s int) int {
	row := &g.tickets[t]
	return lapsedBetween(g.workers[row.worker].worked, row.valid, g.slots[s].day)
}

func (g *grid) offAim(t, s int) int {
	d := g.slots[s].day - g.tickets[t].aim
	return max(d, -d)
}

// away is the working time that one attendance takes.
func (g *grid) away(w, s int) int {
	return 2*g.travel[g.workers[w].yard][g.slots[s].yard] + g.slots[s].minutes
}

// mostWhole is how many due tickets one search looks after as a whole; larger problems are planned in parcels, see improveParcels.
const mostWhole = 1000

// large says that the problem is planned in parcels, each with choices of its own.
func (g *grid) large() bool { return g.due > mostWhole }

// fillChoices finds the first slot of each due ticket and, unless the problem is large, those that the planner looks at.
func (g *grid) fillChoices() {
	for t := range g.tickets {
		if g.tickets[t].due {
			g.fillFirst(t)
		}
	}
	if !g.large() {
		g.fillShortlists()
	}
}

func (g *grid) fillFirst(t int) {
	g.due++
	row := &g.tickets[t]
	for _, s := range g.offeredFrom(t) {
		if g.eligible(t, s) {
			row.first, row.least = s, g.lapsed(t, s)
			return
		}
	}
}

func (g *grid) fillShortlists() {
	for t := range g.tickets {
		row := &g.tickets[t]
		if row.first == none {
			continue
		}
		row.choices = g.shortlist(t, g.eligibleSlots(t))
		for _, s := range row.choices {
			g.slots[s].callers = append(g.slots[s].callers, t)
		}
	}
}

// offeredFrom lists what is offered to a ticket from its earliest useful day on.
func (g *grid) offeredFrom(t int) []int {
	all := g.offered(t)
	from, _ := slices.BinarySearchFunc(all, g.tickets[t].earliest, func(s, day int) int { return cmp.Compare(g.slots[s].day, day) })
	return all[from:]
}

func (g *grid) eligibleSlots(t int) []int {
	var out []int
	for _, s := range g.offeredFrom(t) {
		if g.eligible(t, s) {
			out = append(out, s)
		}
	}
	return out
}

// shortlist keeps slots of three kinds: near the yard, near the aim, and spread over the window. A list of only the nearest fills up and
// leaves people out although others have room.
func (g *grid) shortlist(t int, all []int) []int {
	if len(all) <= mostChoices {
		return all
	}
	keep := map[int]bool{all[0]: true}
	third := mostChoices / 3
	g.keepLeast(keep, all, third, func(s int) int { return g.away(g.tickets[t].worker, s)*1000 + g.offAim(t, s) })
	g.keepLeast(keep, all, third, func(s int) int { return g.lapsed(t, s)*1000 + g.offAim(t, s) })
	for i := range third {
		keep[all[i*len(all)/third]] = true
	}
	return slices.DeleteFunc(slices.Clone(all), func(s int) bool { return !keep[s] })
}

func (g *grid) keepLeast(keep map[int]bool, all []int, n int, price func(s int) int) {
	sorted := slices.Clone(all)
	slices.SortStableFunc(sorted, func(a, b int) int { return cmp.Compare(price(a), price(b)) })
	for _, s := range sorted[:n] {
		keep[s] = true
	}
}
