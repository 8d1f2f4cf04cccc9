package runsheet

import "slices"

// timekeepers gives every run somebody who is not busy, nobody if all are, so that the turns are spread as evenly as can be. Passing on a
// turn along a chain of people, from one who has two more than the last one gets, as long as there is such a chain, makes the most turns as
// few and the fewest as many as possible at once (semi-matchings; Harvey, Ladner, Lovász and Tamir, J. Algorithms 59, 2006).
func (d *drill) timekeepers(turns []turn) (keepers []int, spread int) {
	n := len(d.people)
	load := make([]int, n)
	keepers = make([]int, len(turns))
	for i, t := range turns {
		keepers[i] = nobody
		for who := range n {
			if !t.has(who) && (keepers[i] == nobody || load[who] < load[keepers[i]]) {
				keepers[i] = who
			}
		}
		if keepers[i] != nobody {
			load[keepers[i]]++
		}
	}
	for who := 0; who < n; who++ {
		if passOn(turns, keepers, load, who) {
			who = -1 // anybody may be able to pass on now
		}
	}
	if n == 0 {
		return keepers, 0
	}
	return keepers, slices.Max(load) - slices.Min(load)
}

// passOn passes a turn of somebody along the shortest chain to one who has at least two fewer.
func passOn(turns []turn, keepers, load []int, from int) bool {
	by := slices.Repeat([]int{nobody}, len(load)) // the run by which somebody gets a turn
	reached := make([]bool, len(load))
	reached[from] = true
	queue := []int{from}
	for len(queue) > 0 {
		giver := queue[0]
		queue = queue[1:]
		for i, keeper := range keepers {
			if keeper != giver {
				continue
			}
			for to := range load {
				if reached[to] || turns[i].has(to) {
					continue
				}
				reached[to], by[to] = true, i
				if load[to] <= load[from]-2 {
					load[from]--
					load[to]++
					for at := to; at != from; {
						run := by[at]
						at, keepers[run] = keepers[run], at
					}
					return true
				}
				queue = append(queue, to)
			}
		}
	}
	return false
}

// leastSpread is a spread below which no sheet can come: nobody keeps the time in the runs that he needs.
func (d *drill) leastSpread() int {
	n, turns := len(d.people), d.runs()
	if n <= 2 {
		turns = d.lones * max(0, n-1) // of two people, both are busy in a pair run
	}
	most := make([]int, n)
	for i, needs := range d.needs {
		most[i] = d.runs() - needs.needed()
	}
	if n == 0 {
		return 0
	}
	fewest := min(slices.Min(most), turns/n)
	for high := fewest; ; high++ {
		room := 0
		for _, m := range most {
			room += min(m, high)
		}
		if room >= turns {
			return high - fewest
		}
	}
}
