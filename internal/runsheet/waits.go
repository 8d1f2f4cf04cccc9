package runsheet

import (
	"math"
	"slices"
)

// fine is how finely the bound on waiting reckons: a power of two, so that rounding up costs no more than a shift would.
const fine = 1 << 12

// never is more than any sum of squares.
const never = math.MaxInt / 4

// waits bounds the squares of waiting. Each run of the sheet has a price, and everybody chooses by himself the runs that suit him best, as
// if he were alone: his squares less the prices of the runs he is in (a Lagrangian relaxation of "two people in a pair run, one in a lone
// run"). Whatever the prices, the best choices of all and the prices of all places together are no more than the squares of any sheet.
type waits struct {
	d       *drill
	runs    int
	extras  []int // how often each person may help out in spare places
	waiting int   // runs that everybody waits through, in all, when nobody helps out
	prices  []int
	rest    [][][]int // by spare places, runs still needed and the run after the last one: the least squares from there on, less prices
	places  [][]int   // by the first of the runs left and the pair runs among them: what their places cost at least
}

// newWaits looks for prices that make the bound high; no sheet of interest has more squares than most.
func newWaits(d *drill, extras []int, most int) *waits {
	const tries, patience, work, dampest = 600, 20, 60_000_000, 1 << 14
	w := &waits{d: d, runs: d.runs(), extras: extras, prices: make([]int, d.runs())}
	for _, n := range d.needs {
		if n.needed() > 0 {
			w.waiting += w.runs - n.needed()
		}
	}
	w.reckonFree()
	best := w.clone()
	groups := w.groups()
	one := 1 + w.runs*w.runs*len(w.rest)*len(w.rest[0])
	damp, since := 1, 0
	for range min(tries, work/one) {
		use, square := w.use(groups), 0
		for _, u := range use {
			square += u * u
		}
		if square == 0 || damp > dampest {
			break
		}
		step := max(1, (most*fine-w.total())/(square*damp))
		for t, u := range use {
			w.prices[t] += step * u
		}
		w.reckon()
		if w.total() > best.total() {
			best, since = w.clone(), 0
		} else if since++; since == patience {
			w, since, damp = best.clone(), 0, damp*2
		}
	}
	return best
}

// clone shares what was reckoned with the prices: that is never changed, only reckoned anew.
func (w *waits) clone() *waits {
	out := *w
	out.prices = slices.Clone(w.prices)
	return &out
}

// chooser is what decides how somebody chooses: the runs that he needs and the spare places that he may fill.
type chooser struct{ extra, need int }

// groups counts the people who choose alike.
func (w *waits) groups() map[chooser]int {
	out := map[chooser]int{}
	for i, n := range w.d.needs {
		out[chooser{w.extras[i], n.needed()}]++
	}
	return out
}

// spares says whether somebody may be in more runs than he needs.
func (w *waits) spares() bool { return w.d.spareLeads+w.d.spareSeconds > 0 }

// reckon works out what is left at the prices.
func (w *waits) reckon() {
	w.tabulate(func(c chooser, at int) int {
		_, squares := w.choose(c, at)
		return squares
	})
}

// reckonFree is reckon while every price is 0, without choosing among the runs: in a long sheet with many spare places that alone would
// take longer than anybody waits.
func (w *waits) reckonFree() { w.tabulate(w.evenly) }

// evenly is the least squares of somebody at prices of 0: all the runs that there may be, with stretches of waiting between them that differ
// by one at most.
func (w *waits) evenly(c chooser, at int) int {
	left := w.runs - at
	switch {
	case c.need > left:
		return never
	case c.need == 0 && at == 0:
		return 0 // in no run at all
	}
	in := min(c.need+c.extra, left)
	length, longer := (left-in)/(in+1), (left-in)%(in+1)
	return fine * ((in+1-longer)*length*length + longer*(length+1)*(length+1))
}

// tabulate fills rest, from the last run to the first, and the places.
func (w *waits) tabulate(least func(c chooser, at int) int) {
	extra, need := 0, 0
	for i, n := range w.d.needs {
		extra, need = max(extra, w.extras[i]), max(need, n.needed())
	}
	w.rest = make([][][]int, extra+1)
	for e := range w.rest {
		w.rest[e] = make([][]int, need+1)
		for k := range w.rest[e] {
			w.rest[e][k] = make([]int, w.runs+1)
			for at := w.runs; at >= 0; at-- {
				w.rest[e][k][at] = least(chooser{e, k}, at)
			}
		}
	}
	w.places = make([][]int, w.runs+1)
	for t := range w.places {
		w.places[t] = w.cheapest(t)
	}
}

// choose is the next run that suits somebody best who was in the run before at, or in none if at is 0: nobody if he is in none any more.
// The squares are those from there on, less the prices.
func (w *waits) choose(c chooser, at int) (next, squares int) {
	next, squares = nobody, never
	if c.need == 0 {
		squares = 0
		if at > 0 {
			squares = fine * (w.runs - at) * (w.runs - at)
		}
	}
	then, may := c.after()
	for t := at; may && t < w.runs; t++ {
		if v := fine*(t-at)*(t-at) - w.prices[t] + w.rest[then.extra][then.need][t+1]; v < squares {
			next, squares = t, v
		}
	}
	return next, squares
}

// after is what is left when somebody is in one more run; what he needs comes first.
func (c chooser) after() (chooser, bool) {
	if c.need > 0 {
		return chooser{c.extra, c.need - 1}, true
	}
	return chooser{max(0, c.extra-1), 0}, c.extra > 0
}

// cheapest is the price of the places of the runs from t on, by the number of pair runs among them: the cheapest runs take two.
func (w *waits) cheapest(t int) []int {
	left := sortedInts(w.prices[t:])
	out := make([]int, len(left)+1)
	for _, price := range left {
		out[0] += price
	}
	for k, price := range left {
		out[k+1] = out[k] + price
	}
	return out
}

// total is the bound of the whole sheet, in fine units.
func (w *waits) total() int {
	sum := w.places[0][w.d.pairs]
	for i, n := range w.d.needs {
		sum += w.rest[w.extras[i]][n.needed()][0]
	}
	return sum
}

// use is by how many the places of each run exceed the people who chose it.
func (w *waits) use(groups map[chooser]int) []int {
	out := make([]int, w.runs)
	for t := range out {
		out[t] = 1
	}
	for _, t := range cheapestRuns(w.prices, w.d.pairs) {
		out[t]++
	}
	for c, people := range groups { // sums of whole numbers: the order does not matter
		for t, _ := w.choose(c, 0); t != nobody; t, _ = w.choose(c, t+1) {
			out[t] -= people
			c, _ = c.after()
		}
	}
	return out
}

// bound is the least squares of any sheet.
func (w *waits) bound() int { return w.even(max(0, ceilDiv(w.total(), fine))) }

// even rounds a bound up to what can be. When nobody is in more runs than he needs, the stretches of waiting of everybody together are a
// known number of runs, and a number and its square are both even or both odd.
func (w *waits) even(squares int) int {
	if w.spares() {
		return squares
	}
	if (squares-w.waiting)%2 != 0 {
		return squares + 1
	}
	return squares
}

func sortedInts(all []int) []int {
	out := slices.Clone(all)
	slices.Sort(out)
	return out
}

// cheapestRuns lists the k runs of the lowest prices.
func cheapestRuns(prices []int, k int) []int {
	runs := make([]int, len(prices))
	for t := range runs {
		runs[t] = t
	}
	slices.SortStableFunc(runs, func(a, b int) int { return prices[a] - prices[b] })
	return runs[:k]
}
