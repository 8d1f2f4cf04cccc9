package rotation

import "slices"

// sessions is the bound of level 3 for a price of slots: in each connected part of tickets and slots, disjoint stretches of days in which
// so many tickets must be renewed that the seats and runs of at least k sessions are needed.
func (m *musts) sessions(price func(s int) int) int {
	sum := 0
	for _, part := range m.parts() {
		sum += m.partSessions(part, price)
	}
	return sum
}

// parts splits the tickets into groups that have no slot in common.
func (m *musts) parts() [][]int {
	root := make([]int, len(m.g.slots))
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
	for _, slots := range m.slots {
		for _, s := range slots[1:] {
			root[find(s)] = find(slots[0])
		}
	}
	byRoot := map[int][]int{}
	for i, slots := range m.slots {
		byRoot[find(slots[0])] = append(byRoot[find(slots[0])], i)
	}
	var out [][]int
	for _, s := range distinct(keys(byRoot)) {
		out = append(out, byRoot[s])
	}
	return out
}

// partSessions finds the dearest disjoint stretches: best[i] is the dearest with all of them before lasts[i] ends.
func (m *musts) partSessions(part []int, price func(s int) int) int {
	var firsts, lasts, slots []int
	for _, i := range part {
		firsts, lasts = append(firsts, m.firstDay(i)), append(lasts, m.lastDay(i))
		slots = append(slots, m.slots[i]...)
	}
	firsts, lasts, slots = distinct(firsts), distinct(lasts), distinct(slots)
	best := make([]int, len(lasts)+1)
	for j, to := range lasts {
		best[j+1] = best[j]
		for _, from := range firsts {
			if from > to {
				break
			}
			before, _ := slices.BinarySearch(lasts, from) // stretches that end before this one starts
			if charge := m.stretch(part, slots, from, to, price); charge > 0 {
				best[j+1] = max(best[j+1], best[before]+charge)
			}
		}
	}
	return best[len(lasts)]
}

// stretch charges the cheapest slots of the days from..to, as many as the tickets that can only be renewed there need.
func (m *musts) stretch(part, slots []int, from, to int, price func(s int) int) int {
	people, runs := map[int]bool{}, 0
	for _, i := range part {
		if m.firstDay(i) < from || m.lastDay(i) > to {
			continue
		}
		row := &m.g.tickets[m.tickets[i]]
		people[row.worker] = true
		if m.g.quals[row.qual].PeoplePerRun > 0 {
			runs++
		}
	}
	var seats, offered, prices []int
	for _, s := range slots {
		if d := m.g.slots[s].day; d >= from && d <= to {
			seats, offered, prices = append(seats, m.g.slots[s].seats), append(offered, m.g.slots[s].runs), append(prices, price(s))
		}
	}
	k := max(fewest(seats, len(people)), fewest(offered, runs))
	slices.Sort(prices)
	sum := 0
	for _, c := range prices[:k] {
		sum += c
	}
	return sum
}

// fewest is how many of the largest sizes hold n; all of them when they do not.
func fewest(sizes []int, n int) int {
	slices.SortFunc(sizes, func(a, b int) int { return b - a })
	k := 0
	for n > 0 && k < len(sizes) {
		n -= sizes[k]
		k++
	}
	return k
}

func distinct(list []int) []int {
	slices.Sort(list)
	return slices.Compact(list)
}

func keys[V any](m map[int]V) []int {
	out := make([]int, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	return out
}
