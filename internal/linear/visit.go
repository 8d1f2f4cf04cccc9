package linear

import (
	"math"
	"slices"
)

const (
	triesMost    = 10 // candidates tried at one node
	triesIdle    = 5  // tries without a better one before the rest are left
	triesKnown   = 2  // branchings of a variable after which its pseudo-costs are trusted
	triesPivots  = 40 // pivots of a try
	gainLeast    = 1e-6
	diveEvery    = 64 // nodes between two dives
	restartsMost = 4
	restartLeast = 60  // whole variables below which a smaller program is not worth the trouble
	restartShare = 0.8 // the share of whole variables left at which it is
	visitsRepeat = 40  // times a node is solved again after its bounds were narrowed
)

// visit solves the relaxation of a node and branches. It gives the child to go on with, whose bounds are then set in the simplex, or nil
// when the part is settled.
func (t *search) visit(n *node) *node {
	s := t.s
	if t.plain {
		copy(s.work, s.base)
		t.plain = false
		s.computeCosts()
		s.mendCosts()
	}
	dived := false
	for turn := 0; ; turn++ {
		if !t.t.run() {
			return nil
		}
		z, e := t.relax()
		if e == endUnsure && t.ctx.Err() != nil {
			n.bound = max(n.bound, z)
			t.push(t.again(n))
			return nil
		}
		if e == endInfeasible {
			return nil
		}
		n.bound = max(n.bound, z)
		if turn == 0 {
			t.learn(n, n.bound)
		}
		if n.bound > t.target {
			t.prune(n.bound)
			return nil
		}
		if e == endUnsure || e == endUnbounded {
			return t.splitAny(n)
		}
		if n.parent == nil {
			t.remember()
		}
		if turn < visitsRepeat && t.fixByCosts() {
			if !t.t.run() {
				return nil
			}
			if t.displaced() {
				continue
			}
		}
		candidates := t.fractional()
		if len(candidates) == 0 {
			return t.settleWhole(n)
		}
		if !dived && (n.parent == nil || t.nodes%diveEvery == 0) {
			dived = true
			t.lookForSolutions(n.parent == nil)
			if n.bound > t.target {
				t.prune(n.bound)
				return nil
			}
			continue
		}
		j, narrowed, dead := t.choose(n, candidates, z)
		if dead {
			return nil
		}
		if narrowed {
			continue
		}
		if n.parent == nil && t.worthAnew() {
			t.startAnew(n)
			return nil
		}
		return t.split(n, j, s.x[j])
	}
}

// lookForSolutions tries the ways to find a solution near the relaxed one: all at the root, else one after the other.
func (t *search) lookForSolutions(all bool) {
	turn := style(t.looked)
	t.looked++
	if all {
		t.searchNear(nil)
	}
	for how := range styles {
		if all || how == turn%(styles+1) {
			t.dive(how)
		}
	}
	if known := t.pressed(); known != nil && (all || turn%(styles+1) == styles) {
		t.searchNear(known)
	}
}

// worthAnew says whether so many variables are fixed at the root that a smaller program saves work.
func (t *search) worthAnew() bool {
	left := 0
	for _, j := range t.wholes {
		if t.s.lower[j] < t.s.upper[j] {
			left++
		}
	}
	return t.restarts < restartsMost && len(t.wholes) >= restartLeast && float64(left) < restartShare*float64(len(t.wholes))
}

// startAnew ends the search so that it can go on with a smaller program, within the bounds of the root.
func (t *search) startAnew(n *node) {
	t.anew, t.floor = true, max(t.floor, n.bound)
	copy(t.lower, t.s.lower[:t.s.n])
	copy(t.upper, t.s.upper[:t.s.n])
}

// again makes a node to be visited later out of one under way.
func (t *search) again(n *node) *node {
	n.changes = t.changesHere()
	if n.basis == nil {
		n.basis = packBasis(t.s.at)
	}
	return n
}

// relax solves the relaxation at hand and bounds it.
func (t *search) relax() (float64, end) {
	s := t.s
	s.computeValues()
	s.pivotsEnd = s.pivots + 20*(s.n+s.m) + 5000
	e := s.lp(t.ctx, t.target, false)
	if e == endUnsure && t.ctx.Err() == nil {
		s.slackBasis()
		s.evenWeights()
		copy(s.work, s.base)
		s.refactor()
		s.mendCosts()
		s.pivotsEnd = s.pivots + 50*(s.n+s.m) + 5000
		e = s.lp(t.ctx, t.target, false)
	}
	s.pivotsEnd = math.MaxInt
	if e == endInfeasible {
		return math.Inf(1), e
	}
	z := s.certify(s.duals(), true)
	if e != endOptimal || !t.loose(z) {
		return z, e
	}
	t.plain = true
	if e = s.lp(t.ctx, t.target, true); e == endInfeasible {
		return math.Inf(1), e
	}
	return max(z, s.certify(s.duals(), true)), e
}

// loose says whether the bound lies so far below the cost of the relaxed solution that the true costs are worth another run.
func (t *search) loose(z float64) bool {
	v := 0.0
	for j, c := range t.s.cost[:t.s.n] {
		if c != 0 {
			v += c * t.s.x[j]
		}
	}
	if z > t.target {
		return false
	}
	if t.step > 0 {
		return t.raise(v-wholeSlack*t.step) > t.raise(z)
	}
	return !(v-z <= 1e-9*(1+math.Abs(v)))
}

// displaced says whether the relaxed solution lies outside the bounds as they are now.
func (t *search) displaced() bool {
	for j := range int32(t.s.n) {
		if t.s.outside(j) != 0 {
			return true
		}
	}
	return false
}

// remember keeps the reduced costs of the root, which fix variables whenever a better solution is found.
func (t *search) remember() {
	s := t.s
	t.rootAt = s.certified
	t.rootD = append(t.rootD[:0], s.combined...)
	t.rootSet[0], t.rootSet[1] = append(t.rootSet[0][:0], s.lower[:s.n]...), append(t.rootSet[1][:0], s.upper[:s.n]...)
}

// fixEverywhere narrows, for all nodes to come, variables whose reduced costs at the root leave no room below the target.
func (t *search) fixEverywhere() {
	if t.rootD == nil || math.IsInf(t.rootAt, -1) {
		return
	}
	for _, j := range t.wholes {
		l, u, ok := reach(t.rootD[j], t.rootSet[0][j], t.rootSet[1][j], t.target-t.rootAt)
		if ok {
			t.prune(t.target)
			t.lower[j], t.upper[j] = max(t.lower[j], l), min(t.upper[j], u)
		}
	}
}

// reach gives the bounds that a reduced cost leaves to a whole variable when the cost may rise by room, and whether they are narrower.
func reach(d, lower, upper, room float64) (float64, float64, bool) {
	if lower == upper || math.Abs(d) < 1e-9 || math.IsInf(room, 1) {
		return lower, upper, false
	}
	k := math.Floor(max(room, 0)/math.Abs(d) + wholeSlack)
	if !(k < upper-lower) {
		return lower, upper, false
	}
	if d > 0 {
		return lower, lower + k, true
	}
	return upper - k, upper, true
}

// fixByCosts narrows whole variables whose reduced costs leave no room below the target. The reduced costs are those certify left.
func (t *search) fixByCosts() bool {
	moved := false
	for _, j := range t.wholes {
		l, u, ok := reach(t.s.combined[j], t.s.lower[j], t.s.upper[j], t.target-t.s.certified)
		if ok {
			moved = true
			t.prune(t.target)
			t.t.set(j, l, u)
		}
	}
	return moved
}

// fractional lists the whole variables that are not whole in the relaxed solution.
func (t *search) fractional() []int32 {
	var list []int32
	for _, j := range t.wholes {
		if x := t.s.x[j]; math.Abs(x-math.Round(x)) > wholeSlack && t.s.lower[j] < t.s.upper[j] {
			list = append(list, j)
		}
	}
	return list
}

// settleWhole is for a node whose relaxed solution is whole.
func (t *search) settleWhole(n *node) *node {
	t.offer(t.s.values())
	if n.bound > t.target {
		t.prune(n.bound)
		return nil
	}
	if !t.plain {
		// the costs in use were not the true ones
		t.plain = true
		e := t.s.lp(t.ctx, t.target, true)
		n.bound = max(n.bound, t.s.certify(t.s.duals(), true))
		if e == endOptimal && len(t.fractional()) == 0 {
			t.offer(t.s.values())
		}
		if n.bound > t.target {
			t.prune(n.bound)
			return nil
		}
		if list := t.fractional(); e == endOptimal && len(list) > 0 {
			return t.split(n, list[0], t.s.x[list[0]])
		}
	}
	return t.splitAny(n)
}

// splitAny branches on the first variable that is not fixed, where the relaxed solution is of no help.
func (t *search) splitAny(n *node) *node {
	for _, j := range t.wholes {
		if t.s.lower[j] < t.s.upper[j] {
			x := t.s.x[j]
			if !(x >= t.s.lower[j] && x < t.s.upper[j]) {
				x = t.s.lower[j]
				if math.IsInf(x, -1) {
					x = min(t.s.upper[j]-1, 0)
				}
			}
			return t.split(n, j, math.Floor(x+wholeSlack)+0.5)
		}
	}
	t.doubt = min(t.doubt, n.bound)
	return nil
}

// changesHere lists what the node under way has narrowed.
func (t *search) changesHere() []change {
	list := make([]change, 0, len(t.t.touched))
	slices.Sort(t.t.touched)
	for _, j := range t.t.touched {
		list = append(list, change{j, t.s.lower[j], t.s.upper[j]})
	}
	return list
}

// split makes two nodes of one, below and above x, and goes on with the nearer.
func (t *search) split(n *node, j int32, x float64) *node {
	s := t.s
	n.changes = t.changesHere()
	basis := packBasis(s.at)
	down, up := math.Floor(x), math.Floor(x)+1
	below := &node{parent: n, basis: basis, bound: n.bound, depth: n.depth + 1, branched: j, distance: x - down, before: n.bound,
		changes: []change{{j, s.lower[j], down}}}
	above := &node{parent: n, basis: basis, bound: n.bound, depth: n.depth + 1, branched: j, up: true, distance: up - x, before: n.bound,
		changes: []change{{j, up, s.upper[j]}}}
	first, second := below, above
	if x-down > 0.5 || x-down == 0.5 && s.cost[j] <= 0 {
		first, second = above, below
	}
	t.push(second)
	t.t.reset()
	t.t.set(j, first.changes[0].lower, first.changes[0].upper)
	return first
}

// learn takes the gain of a branching into the pseudo-costs.
func (t *search) learn(n *node, bound float64) {
	if n.branched < 0 || math.IsInf(bound, 0) || math.IsInf(n.before, 0) {
		return
	}
	t.credit(n.branched, n.up, max(bound-n.before, 0)/max(n.distance, wholeSlack))
}

func (t *search) credit(j int32, up bool, gain float64) {
	k := 0
	if up {
		k = 1
	}
	t.gains[k][j] += gain
	t.counts[k][j]++
}

// expect is the gain of branching on j as far as it is known, and whether it is known well.
func (t *search) expect(j int32, down, up float64) (float64, bool) {
	a, b := 1.0, 1.0
	if c := t.counts[0][j]; c > 0 {
		a = t.gains[0][j] / float64(c)
	}
	if c := t.counts[1][j]; c > 0 {
		b = t.gains[1][j] / float64(c)
	}
	return max(a*down, gainLeast) * max(b*up, gainLeast) * t.weightOf(j), min(t.counts[0][j], t.counts[1][j]) >= triesKnown
}

// weightOf favours variables that are in many rows: a choice there settles more.
func (t *search) weightOf(j int32) float64 {
	return math.Sqrt(float64(1 + t.s.byCol.start[j+1] - t.s.byCol.start[j]))
}

// choose finds the variable to branch on: by its pseudo-costs, or by trying where they are not yet known well. A try that fails on one
// side narrows the other; one that fails on both settles the node.
func (t *search) choose(n *node, candidates []int32, z float64) (choice int32, narrowed, dead bool) {
	s := t.s
	type candidate struct {
		variable int32
		score    float64
		known    bool
	}
	list := make([]candidate, len(candidates))
	for k, j := range candidates {
		f := s.x[j] - math.Floor(s.x[j])
		score, known := t.expect(j, f, 1-f)
		list[k] = candidate{j, score, known}
	}
	slices.SortStableFunc(list, func(a, b candidate) int {
		switch {
		case a.score > b.score:
			return -1
		case a.score < b.score:
			return 1
		}
		return int(a.variable - b.variable)
	})
	if len(s.f.eta) > 10 {
		s.refactor()
		s.mendCosts()
	}
	t.save()
	best, score, idle, tries := list[0].variable, -1.0, 0, 0
	for _, c := range list {
		if idle >= triesIdle || tries >= triesMost || t.ctx.Err() != nil {
			break
		}
		value := c.score
		if !c.known {
			tries++
			x := s.x[c.variable]
			down, e := t.try(c.variable, s.lower[c.variable], math.Floor(x))
			up, f := t.try(c.variable, math.Floor(x)+1, s.upper[c.variable])
			if e || f {
				return t.oneSided(c.variable, x, e, f)
			}
			a, b := max(down-z, 0), max(up-z, 0)
			t.credit(c.variable, false, a/max(x-math.Floor(x), wholeSlack))
			t.credit(c.variable, true, b/max(math.Floor(x)+1-x, wholeSlack))
			value = max(a, gainLeast) * max(b, gainLeast) * t.weightOf(c.variable)
		}
		idle++
		if value > score {
			best, score, idle = c.variable, value, 0
		}
	}
	return best, false, false
}

// oneSided narrows a variable to the side that did not fail.
func (t *search) oneSided(j int32, x float64, below, above bool) (int32, bool, bool) {
	switch {
	case below && above:
		return j, false, true
	case below:
		t.t.set(j, math.Floor(x)+1, t.s.upper[j])
	default:
		t.t.set(j, t.s.lower[j], math.Floor(x))
	}
	return j, true, false
}

// try solves the relaxation with other bounds of one variable for a few pivots. It gives a bound, and whether nothing of interest is there.
func (t *search) try(j int32, lower, upper float64) (float64, bool) {
	s := t.s
	l, u := s.lower[j], s.upper[j]
	s.lower[j], s.upper[j] = lower, upper
	s.pivotsEnd = s.pivots + triesPivots
	e := s.dual(t.ctx, t.target)
	z := math.Inf(1)
	if e != endInfeasible {
		z = s.certify(s.duals(), true)
	}
	s.lower[j], s.upper[j] = l, u
	s.pivotsEnd = math.MaxInt
	t.restore()
	if e != endInfeasible && z > t.target {
		t.prune(z)
		return z, true
	}
	return z, e == endInfeasible
}
