package rotation

import "slices"

// sitting is all that is offered on one day for the same qualifications and device: its slots taken together.
type sitting struct {
	day         int
	slots       []int
	seats, runs int
}

// sittings groups the usable slots of the first days by what they renew, in order of day.
func (g *grid) sittings(days int) map[offer][]sitting {
	type kind struct {
		day    int
		device string
		quals  string
	}
	at := map[kind]*sitting{}
	var order []*sitting
	for s, slot := range g.slots {
		if slot.aside != "" || slot.day >= days {
			continue
		}
		quals := make([]byte, len(g.quals))
		for _, q := range slot.quals {
			quals[q] = 1
		}
		k := kind{slot.day, slot.device, string(quals)}
		if at[k] == nil {
			at[k] = &sitting{day: slot.day}
			order = append(order, at[k])
		}
		at[k].slots = append(at[k].slots, s)
		at[k].seats += slot.seats
		at[k].runs += slot.runs
	}
	slices.SortStableFunc(order, func(a, b *sitting) int { return a.day - b.day })
	out := map[offer][]sitting{}
	for _, one := range order {
		slot := &g.slots[one.slots[0]]
		for _, q := range slot.quals {
			out[offer{qual: q, device: slot.device}] = append(out[offer{qual: q, device: slot.device}], *one)
			out[offer{qual: q, any: true}] = append(out[offer{qual: q, any: true}], *one)
		}
	}
	return out
}

// mostHurry bounds the work of the flows of the first days, in arcs looked at.
const mostHurry = 60_000_000

// leastLapsedEarly is the bound of level 2 for a large problem. It looks at the rush of the first days only, when many have lapsed already
// and the slots are few: there each ticket takes seats and runs of one of the sittings, a day's slots taken together, or waits for the first
// slot after the rush, where there is room for all. Everybody else lapses for as long as he must. What it leaves out can only add days.
func (g *grid) leastLapsedEarly() int {
	least := 0
	for _, row := range g.tickets {
		if row.due {
			least += row.least
		}
	}
	extra := 0
	for _, days := range []int{7, 14, 28, 56, 84} {
		h := &hurry{g: g, days: days, sittings: g.sittings(days)}
		h.fill()
		parts := h.parts()
		if h.work(parts) > mostHurry {
			break
		}
		sum := 0
		for _, part := range parts {
			sum += h.extra(part)
		}
		if days > 7 && sum == extra {
			break // looking further ahead no longer helps
		}
		extra = max(extra, sum)
	}
	return least + extra
}

// hurry is the rush of the first days.
type hurry struct {
	g        *grid
	days     int
	sittings map[offer][]sitting
	tickets  []int
	may      [][]sitting // by position in tickets: where they may go
	later    []int       // by position in tickets: lapsed days at the first slot after the rush, or never
}

// fill finds the tickets that lapse for longer than they must when they wait till after the rush.
func (h *hurry) fill() {
	g := h.g
	for t := range g.tickets {
		row := &g.tickets[t]
		if !g.worthPlacing(t) || g.slots[row.first].day >= h.days {
			continue
		}
		later := h.after(t)
		if later == row.least {
			continue
		}
		var may []sitting
		for _, one := range h.sittings[offer{row.qual, row.device, row.device == ""}] {
			if g.lapsed(t, one.slots[0]) < later && slices.ContainsFunc(one.slots, func(s int) bool { return g.eligible(t, s) }) {
				may = append(may, one)
			}
		}
		h.tickets, h.may, h.later = append(h.tickets, t), append(h.may, may), append(h.later, later)
	}
}

func (h *hurry) after(t int) int {
	g := h.g
	for _, s := range g.offeredFrom(t) {
		if g.slots[s].day >= h.days && g.eligible(t, s) {
			return min(g.lapsed(t, s), g.tickets[t].never)
		}
	}
	return g.tickets[t].never
}

// parts splits the positions of the tickets into groups that have no sitting in common.
func (h *hurry) parts() [][]int {
	root := make([]int, len(h.g.slots))
	for s := range root {
		root[s] = s
	}
	find := func(s int) int {
		for root[s] != s {
			root[s] = root[root[s]]
			s = root[s]
		}
		return s
	}
	for _, may := range h.may {
		for _, one := range may {
			root[find(one.slots[0])] = find(may[0].slots[0])
		}
	}
	byRoot := map[int][]int{}
	for i, may := range h.may {
		if len(may) > 0 {
			at := find(may[0].slots[0])
			byRoot[at] = append(byRoot[at], i)
		}
	}
	var out [][]int
	for _, at := range distinct(keys(byRoot)) {
		out = append(out, byRoot[at])
	}
	return out
}

// work is about how many arcs the flows of the parts look at.
func (h *hurry) work(parts [][]int) int {
	sum := 0
	for _, part := range parts {
		arcs := 0
		for _, i := range part {
			arcs += len(h.may[i])
		}
		sum += arcs * len(part)
	}
	return sum
}

// extra is how many days the tickets of a part lapse at least beyond what each must by itself.
func (h *hurry) extra(part []int) int {
	const source, sink = 0, 1
	f := newFlow(2)
	type place struct{ slot, qual int } // a sitting by its first slot
	seats, runs := map[place]int{}, map[int]int{}
	sum := 0
	for _, i := range part {
		row, node := &h.g.tickets[h.tickets[i]], f.node()
		f.arc(source, node, 1, 0)
		sum += h.later[i] - row.least
		for _, one := range h.may[i] {
			at := place{one.slots[0], row.qual}
			if _, there := seats[at]; !there {
				seats[at] = f.node()
				exit := sink
				if h.g.quals[row.qual].PeoplePerRun > 0 {
					exit = h.runsOf(f, runs, one, sink)
				}
				f.arc(seats[at], exit, one.seats, 0)
			}
			f.arc(node, seats[at], 1, h.g.lapsed(h.tickets[i], one.slots[0])-h.later[i])
		}
	}
	return sum + f.send(source, sink)
}

// runsOf is where the timed runs of a sitting are counted.
func (h *hurry) runsOf(f *flow, runs map[int]int, one sitting, sink int) int {
	at := one.slots[0]
	if _, there := runs[at]; !there {
		runs[at] = f.node()
		f.arc(runs[at], sink, one.runs, 0)
	}
	return runs[at]
}
