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
	waiting int // runs that everybody needed waits through, in all
	prices  []int
	rest    [][]int // by runs still needed and by the run after the last one: the least squares from there on, less prices
	places  [][]int // by the first of the runs left and the pair runs among them: what their places cost at least
}

// newWaits looks for prices that make the bound high; no sheet needs more squares than most.
func newWaits(d *drill, most int) *waits {
	const tries, work = 600, 60_000_000
	w := &waits{d: d, runs: d.runs(), prices: make([]int, d.runs())}
	for _, n := range d.needs {
		if n.needed() > 0 {
			w.waiting += w.runs - n.needed()
		}
	}
	w.reckon()
	best := w.clone()
	needs := w.groups()
	one := len(needs) * w.runs * w.runs * max(1, len(w.rest))
	damp, since := 1, 0
	for range min(tries, work/max(1, one)) {
		use, square := w.use(needs), 0
		for _, u := range use {
			square += u * u
		}
		if square == 0 {
			break
		}
		step := max(1, (most*fine-w.total())/(square*damp))
		for t, u := range use {
			w.prices[t] += step * u
		}
		w.reckon()
		if w.total() > best.total() {
			best, since = w.clone(), 0
		} else if since++; since == 20 {
			since, damp = 0, damp*2
		}
	}
	return best
}

func (w *waits) clone() *waits {
	out := &waits{d: w.d, runs: w.runs, waiting: w.waiting, prices: slices.Clone(w.prices)}
	out.reckon()
	return out
}

// groups counts the people by how many runs they need.
func (w *waits) groups() map[int]int {
	out := map[int]int{}
	for _, n := range w.d.needs {
		out[n.needed()]++
	}
	return out
}

// spares says whether somebody may be in more runs than he needs.
func (w *waits) spares() bool { return w.d.spareLeads+w.d.spareSeconds > 0 }

func (w *waits) reckon() {
	most := 0
	for _, n := range w.d.needs {
		most = max(most, n.needed())
	}
	w.rest = make([][]int, most+1)
	for need := range w.rest {
		w.rest[need] = make([]int, w.runs+1)
		for at := w.runs; at >= 0; at-- {
			_, w.rest[need][at] = w.choose(need, at)
		}
	}
	w.places = make([][]int, w.runs+1)
	for t := range w.places {
		w.places[t] = w.cheapest(t)
	}
}

// choose is the next run that suits somebody best who needs so many and was in the run before at, or in none if at is 0: nobody if he
// is in none any more. The squares are those from there on, less the prices.
func (w *waits) choose(need, at int) (next, squares int) {
	next, squares = nobody, never
	if need == 0 {
		squares = 0
		if at > 0 {
			squares = fine * (w.runs - at) * (w.runs - at)
		}
		if !w.spares() {
			return next, squares
		}
	}
	for t := at; t < w.runs; t++ {
		if v := fine*(t-at)*(t-at) - w.prices[t] + w.after(need, t+1); v < squares {
			next, squares = t, v
		}
	}
	return next, squares
}

// after is the rest once somebody was in the run before at, which is one less that he needs.
func (w *waits) after(need, at int) int { return w.rest[max(0, need-1)][at] }

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
	for _, n := range w.d.needs {
		sum += w.rest[n.needed()][0]
	}
	return sum
}

// use is by how many the places of each run exceed the people who chose it.
func (w *waits) use(groups map[int]int) []int {
	out := make([]int, w.runs)
	for t := range out {
		out[t] = 1
	}
	for _, t := range cheapestRuns(w.prices, w.d.pairs) {
		out[t]++
	}
	for need, people := range groups { // sums of whole numbers: the order does not matter
		left := need
		for t, _ := w.choose(left, 0); t != nobody; t, _ = w.choose(left, t+1) {
			out[t] -= people
			left = max(0, left-1)
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
