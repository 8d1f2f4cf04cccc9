package linear

import (
	"math"
	"slices"
)

const (
	diveDepth  = 200 // relaxations of a dive
	diveTurns  = 2   // roundings that may be taken back in a dive
	subNodes   = 60  // nodes of a smaller search
	subShare   = 0.4 // the share of whole variables to be fixed for a smaller search to be worth it
	subLeast   = 20  // whole variables below which there is none
	upFraction = 0.3 // values this far above a whole number are rounded up
)

// style is a way to choose what a dive rounds next.
type style int

const (
	byNearness style = iota // what is nearest to a whole number, ups preferred
	byCost                  // what costs first, the largest fraction up
	styles
)

// dive looks for a solution by rounding one variable after the other, each time with a new relaxed solution; a rounding that leads nowhere
// is turned round, a few times. The bounds and the basis it started from are put back; the relaxation is to be solved again.
func (t *search) dive(how style) {
	s := t.s
	changes := t.changesHere()
	lower, upper := slices.Clone(s.lower[:s.n]), slices.Clone(s.upper[:s.n])
	at := packBasis(s.at)
	turns := diveTurns
	for range diveDepth {
		j, x := t.nextToRound(how)
		if j < 0 {
			t.offer(s.values())
			break
		}
		low, high := slices.Clone(s.lower[:s.n]), slices.Clone(s.upper[:s.n])
		if t.rounded(j, x, x) {
			continue
		}
		if turns--; turns < 0 || t.ctx.Err() != nil {
			break
		}
		t.putBack(low, high)
		if x > low[j] && x-1 >= low[j] {
			high[j] = x - 1
		} else {
			low[j] = x + 1
		}
		if low[j] > high[j] || !t.rounded(j, low[j], high[j]) {
			break
		}
	}
	t.putBack(lower, upper)
	t.t.reset()
	for _, c := range changes {
		t.t.touch(c.variable)
	}
	t.t.drop()
	unpackBasis(at, s.at)
	copy(s.work, s.base)
	t.plain = false
	s.refactor()
	s.mendCosts()
}

func (t *search) putBack(lower, upper []float64) {
	copy(t.s.lower, lower)
	copy(t.s.upper, upper)
	t.t.drop()
	t.s.computeCosts()
	t.s.mendCosts()
}

// rounded narrows a variable and solves the relaxation; false when nothing of interest is left.
func (t *search) rounded(j int32, lower, upper float64) bool {
	t.t.set(j, lower, upper)
	if !t.t.run() {
		return false
	}
	z, e := t.relax()
	return e == endOptimal && z <= t.target
}

// nextToRound chooses a variable that is not whole, and the number it is rounded to; -1 when all are whole.
func (t *search) nextToRound(how style) (int32, float64) {
	best, by, to := int32(-1), math.Inf(1), 0.0
	for _, j := range t.fractional() {
		x := t.s.x[j]
		f := x - math.Floor(x)
		away, target := 1-f, math.Floor(x)+1
		if f < upFraction && (how == byNearness || t.s.cost[j] == 0) {
			away, target = 0.5+f, math.Floor(x)
		}
		if how == byCost && t.s.cost[j] == 0 {
			away += 2
		}
		if away < by {
			best, by, to = j, away, target
		}
	}
	return best, to
}

// pressed is the best solution as one of the program under search, or nil.
func (t *search) pressed() []float64 {
	x := t.best
	for _, r := range t.lifts {
		if x != nil {
			x = r.press(x)
		}
	}
	return x
}

// searchNear fixes all variables that are whole in the relaxed solution, or the same in it and in a known one, and searches what is left of
// the program, which is small.
func (t *search) searchNear(known []float64) {
	if t.within || len(t.wholes) < subLeast {
		return
	}
	p := *t.p
	p.lower, p.upper = slices.Clone(t.s.lower[:t.s.n]), slices.Clone(t.s.upper[:t.s.n])
	open, fixed := 0, 0
	for _, j := range t.wholes {
		if p.lower[j] == p.upper[j] {
			continue
		}
		open++
		x := math.Round(t.s.x[j])
		if math.Abs(x-t.s.x[j]) <= wholeSlack && (known == nil || known[j] == x) {
			p.lower[j], p.upper[j] = x, x
			fixed++
		}
	}
	if float64(fixed) < subShare*float64(open) {
		return
	}
	t.searchWithin(&p)
}

// workLeft is how many pivots are left, or 0 when there is no limit.
func (t *search) workLeft() int {
	if t.work == 0 {
		return 0
	}
	return max(1, t.work-t.pivots-t.s.pivots)
}

// searchWithin searches a program with narrower bounds for a few nodes.
func (t *search) searchWithin(p *Program) {
	sub := &task{origin: p, cutoff: min(t.value, t.cutoff), step: t.step, most: subNodes, work: t.workLeft(), within: true,
		value: math.Inf(1), floor: math.Inf(-1), doubt: math.Inf(1), pruned: math.Inf(1)}
	sub.aim()
	a := sub.solve(t.ctx)
	t.pivots += a.Pivots
	if a.X != nil {
		t.offer(a.X)
	}
}
