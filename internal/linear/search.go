package linear

import (
	"context"
	"math"
	"slices"
)

// change is a narrower pair of bounds of a variable.
type change struct {
	variable     int32
	lower, upper float64
}

// node is a part of the solutions: those within all changes from the root down to it.
type node struct {
	parent  *node
	changes []change
	basis   []byte // of its parent at the optimum
	bound   float64
	key     float64 // the bound raised to the next cost there can be
	depth   int
	number  int

	// how it was made, for the pseudo-costs
	branched int32 // or -1
	up       bool
	distance float64
	before   float64 // bound of the parent
}

// task is what one Solve is about, whatever smaller programs it goes through.
type task struct {
	origin *Program
	lifts  []*reduced // from the origin to the program under search

	best     []float64 // of the origin
	value    float64   // of best, or +Inf
	cutoff   float64
	step     float64
	target   float64 // what costs more is of no interest
	starting bool    // the solution offered is one to begin with: it counts whatever the cutoff

	most     int // nodes, or 0
	work     int // pivots, or 0
	nodes    int
	pivots   int
	restarts int
	floor    float64 // holds for all that is left
	within   bool    // a search that another one makes on its way
	doubt    float64 // the least bound of a part that could not be decided, or +Inf
	pruned   float64 // the least bound for which a part was dropped, or +Inf
}

// search is a branch and bound under way.
type search struct {
	*task
	ctx    context.Context
	p      *Program
	s      *simplex
	t      *tightener
	wholes []int32
	lower  []float64 // bounds that hold in every node
	upper  []float64

	open    []*node
	made    int
	plain   bool // the true costs are in use
	looked  int  // times solutions were looked for
	anew    bool // so much is fixed at the root that a smaller program is worth it
	gains   [2][]float64
	counts  [2][]int
	rootAt  float64 // bound at the root, and the reduced costs that prove it
	rootD   []float64
	rootSet [2][]float64 // bounds of the variables then
	store   backup
}

func newSearch(ctx context.Context, task *task, p *Program) *search {
	t := &search{task: task, ctx: ctx, p: p, s: newSimplex(p)}
	for j, w := range p.whole {
		if w {
			t.wholes = append(t.wholes, int32(j))
			t.s.lower[j], t.s.upper[j] = math.Ceil(t.s.lower[j]-wholeSlack), math.Floor(t.s.upper[j]+wholeSlack)
		}
	}
	t.t = newTightener(t.s, p.whole)
	for k := range 2 {
		t.gains[k], t.counts[k] = make([]float64, t.s.n), make([]int, t.s.n)
	}
	return t
}

// aim sets the target by the best solution and the cutoff.
func (t *task) aim() {
	limit := min(t.value, t.cutoff)
	switch {
	case math.IsInf(limit, 0):
		t.target = limit
	case t.step > 0:
		t.target = (math.Ceil(limit/t.step-wholeSlack)-1)*t.step + wholeSlack*t.step
	default:
		t.target = limit - 1e-9*max(1, math.Abs(limit))
	}
}

// take keeps a solution of the origin when it is feasible and better than the best one.
func (t *task) take(x []float64) bool {
	if even := evenOut(x); t.origin.keeps(even) && t.origin.costOf(even) <= t.origin.costOf(x)+wholeSlack {
		x = even
	} else if !t.origin.keeps(x) {
		return false
	}
	v := t.origin.costOf(x)
	if !(v < t.value) || !t.starting && v >= t.cutoff {
		return false
	}
	t.best, t.value = x, v
	t.aim()
	return true
}

// raise rounds a bound up to the next cost there can be.
func (t *task) raise(bound float64) float64 {
	if t.step <= 0 || math.IsInf(bound, 0) {
		return bound
	}
	return max(bound, math.Ceil(bound/t.step-wholeSlack)*t.step)
}

// evenOut rounds what is nearly whole, whatever it has to be: most values are meant to be whole and only carry rounding errors.
func evenOut(x []float64) []float64 {
	out := slices.Clone(x)
	for j, v := range out {
		if w := math.Round(v); math.Abs(v-w) <= wholeSlack {
			out[j] = w + 0
		}
	}
	return out
}

// offer takes a solution of the program under search when it is feasible and better than the best one. Whole variables are rounded; where
// others no longer fit they are worked out anew.
func (t *search) offer(x []float64) bool {
	x = slices.Clone(x)
	for _, j := range t.wholes {
		x[j] = math.Round(x[j]) + 0 // no minus zero
	}
	if !t.p.keeps(x) {
		if len(t.wholes) == len(x) {
			return false
		}
		if x = t.refit(x); x == nil {
			return false
		}
	}
	for k := len(t.lifts) - 1; k >= 0; k-- {
		x = t.lifts[k].lift(x)
	}
	if !t.take(x) {
		return false
	}
	t.fixEverywhere()
	return true
}

// refit finds the best continuous values for fixed whole ones.
func (t *search) refit(x []float64) []float64 {
	p := *t.p
	p.lower, p.upper = slices.Clone(p.lower), slices.Clone(p.upper)
	for _, j := range t.wholes {
		if x[j] < p.lower[j] || x[j] > p.upper[j] {
			return nil
		}
		p.lower[j], p.upper[j] = x[j], x[j]
	}
	a := p.Relax(t.ctx)
	if a.Status != Optimal {
		return nil
	}
	return a.X
}

// run searches until nothing is left (true) or a limit is reached (false).
func (t *search) run() bool {
	root := &node{bound: max(t.floor, t.s.certify(make([]float64, t.s.m), true)), branched: -1}
	t.t.all()
	if t.crossed() || !t.t.run() {
		return true
	}
	t.lower, t.upper = slices.Clone(t.s.lower[:t.s.n]), slices.Clone(t.s.upper[:t.s.n])
	t.t.reset()
	t.s.nudge()
	t.s.slackBasis()
	t.s.refactor()
	t.s.mendCosts()
	for n := root; ; {
		if n == nil {
			if n = t.next(); n == nil || t.anew {
				return true
			}
			if t.lapsed() {
				t.push(n)
				return false
			}
			if !t.load(n) {
				n = nil
				continue
			}
		}
		if t.lapsed() {
			t.push(n)
			return false
		}
		t.nodes++
		n = t.visit(n)
	}
}

// lapsed says that a limit is reached.
func (t *search) lapsed() bool {
	return t.ctx.Err() != nil || t.most > 0 && t.nodes >= t.most || t.work > 0 && t.pivots+t.s.pivots >= t.work
}

// prune notes that a part was dropped because of its bound.
func (t *task) prune(bound float64) {
	if t.step > 0 {
		bound = max(bound, t.target+t.step/2) // the next cost there can be lies above that
	}
	t.pruned = min(t.pruned, bound)
}

// bound is the least cost a solution can have, the best one included, with some parts still open.
func (t *task) bound(open []*node) float64 {
	b := min(t.value, t.doubt, t.pruned)
	for _, n := range open {
		b = min(b, n.bound)
	}
	return t.raise(b)
}

// push puts a node among the open ones, a heap with the least bound first, the deeper one among equals.
func (t *search) push(n *node) {
	t.made++
	n.number, n.key = t.made, t.raise(n.bound)
	t.open = append(t.open, n)
	for i := len(t.open) - 1; i > 0; {
		up := (i - 1) / 2
		if !before(t.open[i], t.open[up]) {
			break
		}
		t.open[i], t.open[up] = t.open[up], t.open[i]
		i = up
	}
}

func before(a, b *node) bool {
	if a.key != b.key {
		return a.key < b.key
	}
	if a.depth != b.depth {
		return a.depth > b.depth
	}
	return a.number < b.number
}

// next takes the first open node worth a visit.
func (t *search) next() *node {
	for len(t.open) > 0 {
		n := t.open[0]
		last := len(t.open) - 1
		t.open[0] = t.open[last]
		t.open[last] = nil
		t.open = t.open[:last]
		t.sink()
		if n.bound <= t.target {
			return n
		}
		t.prune(n.bound)
	}
	return nil
}

func (t *search) sink() {
	for i := 0; ; {
		c := 2*i + 1
		if c >= len(t.open) {
			return
		}
		if c+1 < len(t.open) && before(t.open[c+1], t.open[c]) {
			c++
		}
		if !before(t.open[c], t.open[i]) {
			return
		}
		t.open[c], t.open[i] = t.open[i], t.open[c]
		i = c
	}
}

// load puts the bounds and the basis of a node into the simplex. It gives false when they contradict those that hold everywhere by now.
func (t *search) load(n *node) bool {
	s := t.s
	copy(s.lower, t.lower)
	copy(s.upper, t.upper)
	t.t.reset()
	t.apply(n)
	t.t.drop()
	t.t.reset()
	for k := len(n.changes) - 1; k >= 0; k-- {
		t.t.touch(n.changes[k].variable)
	}
	unpackBasis(n.basis, s.at)
	copy(s.work, s.base)
	t.plain = false
	if t.crossed() {
		return false
	}
	s.refactor()
	s.mendCosts()
	return true
}

func (t *search) crossed() bool {
	for j := range t.s.n {
		if t.s.lower[j] > t.s.upper[j] {
			return true
		}
	}
	return false
}

func (t *search) apply(n *node) {
	if n.parent != nil {
		t.apply(n.parent)
	}
	for _, c := range n.changes {
		t.t.set(c.variable, c.lower, c.upper)
	}
}

// touch says that a variable was changed, for rows to be looked at again.
func (t *tightener) touch(j int32) {
	if !t.marked[j] {
		t.marked[j] = true
		t.touched = append(t.touched, j)
	}
	rows, _ := t.s.byCol.of(j)
	for _, r := range rows {
		t.ask(r)
	}
}

// packBasis stores where the variables stand, four to a byte.
func packBasis(at []place) []byte {
	b := make([]byte, (len(at)+3)/4)
	for j, a := range at {
		b[j/4] |= byte(a) << (j % 4 * 2)
	}
	return b
}

func unpackBasis(b []byte, at []place) {
	for j := range at {
		at[j] = place(b[j/4] >> (j % 4 * 2) & 3)
	}
}

// backup is a copy of the simplex between two trial branchings.
type backup struct {
	at            []place
	head, where   []int32
	x, d          []float64
	work, weight  []float64
	etas, entries int
	built         int
}

func (t *search) save() {
	b, s := &t.store, t.s
	b.at = append(b.at[:0], s.at...)
	b.head, b.where = append(b.head[:0], s.head...), append(b.where[:0], s.where...)
	b.x, b.d = append(b.x[:0], s.x...), append(b.d[:0], s.d...)
	b.work, b.weight = append(b.work[:0], s.work...), append(b.weight[:0], s.weight...)
	b.etas, b.entries, b.built = len(s.f.eta), len(s.f.etaIndex), s.f.built
}

func (t *search) restore() {
	b, s := &t.store, t.s
	copy(s.at, b.at)
	copy(s.work, b.work)
	copy(s.weight, b.weight)
	if s.f.built != b.built {
		s.refactor()
		t.save()
		return
	}
	copy(s.head, b.head)
	copy(s.where, b.where)
	copy(s.x, b.x)
	copy(s.d, b.d)
	s.f.eta, s.f.etaIndex, s.f.etaValue = s.f.eta[:b.etas], s.f.etaIndex[:b.entries], s.f.etaValue[:b.entries]
	clear(s.skip)
	s.skipped = false
}
