package rotation

import "math"

// flow is a network of arcs with room and cost, on which the cheapest way to send units is found by successive shortest paths. The one
// made here sends tickets to the seats and runs of slots: its cost is a bound of lapsed days that is better than each ticket by itself.
type flow struct {
	head []int // by node: its newest arc, or none
	arcs []arc // arc i and its way back i^1 lie side by side
	dist []int
	via  []int
	in   []bool
}

type arc struct{ to, next, room, cost int }

func newFlow(nodes int) *flow {
	f := &flow{}
	for range nodes {
		f.node()
	}
	return f
}

func (f *flow) node() int {
	f.head = append(f.head, none)
	return len(f.head) - 1
}

func (f *flow) arc(from, to, room, cost int) {
	f.arcs = append(f.arcs, arc{to, f.head[from], room, cost}, arc{from, f.head[to], 0, -cost})
	f.head[from], f.head[to] = len(f.arcs)-2, len(f.arcs)-1
}

// send sends units one by one while each lowers the cost, and gives the cost of all.
func (f *flow) send(from, to int) int {
	total := 0
	for {
		f.shortest(from)
		if f.dist[to] >= 0 {
			return total
		}
		for n := to; n != from; n = f.arcs[f.via[n]^1].to {
			f.arcs[f.via[n]].room--
			f.arcs[f.via[n]^1].room++
		}
		total += f.dist[to]
	}
}

// shortest finds the cheapest ways from a node, costs below zero included.
func (f *flow) shortest(from int) {
	f.dist, f.via, f.in = make([]int, len(f.head)), make([]int, len(f.head)), make([]bool, len(f.head))
	for n := range f.dist {
		f.dist[n] = math.MaxInt / 2
	}
	f.dist[from] = 0
	queue := []int{from}
	for len(queue) > 0 {
		n := queue[0]
		queue, f.in[n] = queue[1:], false
		for i := f.head[n]; i != none; i = f.arcs[i].next {
			a := &f.arcs[i]
			if d := f.dist[n] + a.cost; a.room > 0 && d < f.dist[a.to] {
				f.dist[a.to], f.via[a.to] = d, i
				if !f.in[a.to] {
					queue, f.in[a.to] = append(queue, a.to), true
				}
			}
		}
	}
}

// rush is the part of the tickets and slots where people may be in each other's way.
type rush struct {
	g       *grid
	tickets []int
	slots   map[int][]int // by ticket: slots that help
	asks    map[seatKind]int
	runs    map[int]int // by slot: tickets that would need runs
}

// seatKind is the seats of a slot for one qualification. A worker with two of them takes one seat, so seats bind by qualification only.
type seatKind struct{ slot, qual int }

func (g *grid) rush() *rush {
	u := &rush{g: g, slots: map[int][]int{}, asks: map[seatKind]int{}, runs: map[int]int{}}
	for t := range g.tickets {
		if !g.worthPlacing(t) {
			continue
		}
		for _, s := range g.eligibleSlots(t) {
			if g.lapsed(t, s) < g.tickets[t].never {
				u.slots[t] = append(u.slots[t], s)
			}
		}
		u.tickets = append(u.tickets, t)
		u.ask(t, 1)
	}
	return u
}

func (u *rush) ask(t, n int) {
	qual := u.g.tickets[t].qual
	for _, s := range u.slots[t] {
		u.asks[seatKind{s, qual}] += n
		if u.g.quals[qual].PeoplePerRun > 0 {
			u.runs[s] += n
		}
	}
}

// calm takes out the tickets that have a best slot with room for all who might ask for it, until none is left.
func (u *rush) calm() {
	for n := -1; n != len(u.tickets); {
		n = len(u.tickets)
		var kept []int
		for _, t := range u.tickets {
			if u.atEase(t) {
				u.ask(t, -1)
			} else {
				kept = append(kept, t)
			}
		}
		u.tickets = kept
	}
}

func (u *rush) atEase(t int) bool {
	row := &u.g.tickets[t]
	for _, s := range u.slots[t] {
		if u.g.lapsed(t, s) > row.least {
			return false
		}
		slot := &u.g.slots[s]
		timed := u.g.quals[row.qual].PeoplePerRun > 0
		if u.asks[seatKind{s, row.qual}] <= slot.seats && (!timed || u.runs[s] <= slot.runs) {
			return true
		}
	}
	return false
}

// mostFlow bounds the work of the flow, in arcs looked at: about a second.
const mostFlow = 100_000_000

// leastLapsed is the bound of level 2: what every ticket must lapse by itself, and more where seats or runs do not suffice for all.
func (g *grid) leastLapsed() int {
	if g.large() {
		return g.leastLapsedEarly()
	}
	sum := 0
	for _, row := range g.tickets {
		if row.due {
			sum += row.least
		}
	}
	u := g.rush()
	u.calm()
	work := 0
	for _, t := range u.tickets {
		work += len(u.slots[t])
	}
	if len(u.tickets) == 0 || work*len(u.tickets) > mostFlow {
		return sum
	}
	for _, t := range u.tickets {
		sum += g.tickets[t].never - g.tickets[t].least
	}
	return sum + u.saved()
}

// saved is the most lapsed days that renewals can save, below zero.
func (u *rush) saved() int {
	const source, sink = 0, 1
	f := newFlow(2)
	kinds, slots := map[seatKind]int{}, map[int]int{}
	for _, t := range u.tickets {
		row, node := &u.g.tickets[t], f.node()
		f.arc(source, node, 1, 0)
		for _, s := range u.slots[t] {
			kind := seatKind{s, row.qual}
			if _, ok := kinds[kind]; !ok {
				kinds[kind] = f.node()
				f.arc(kinds[kind], u.exit(f, kind, slots, sink), u.g.slots[s].seats, 0)
			}
			f.arc(node, kinds[kind], 1, u.g.lapsed(t, s)-row.never)
		}
	}
	return f.send(source, sink)
}

// exit is where the seats of a slot lead: to its runs, if the method is timed.
func (u *rush) exit(f *flow, kind seatKind, slots map[int]int, sink int) int {
	if u.g.quals[kind.qual].PeoplePerRun == 0 {
		return sink
	}
	if _, ok := slots[kind.slot]; !ok {
		slots[kind.slot] = f.node()
		f.arc(slots[kind.slot], sink, u.g.slots[kind.slot].runs, 0)
	}
	return slots[kind.slot]
}
