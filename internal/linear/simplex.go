package linear

import (
	"context"
	"math"
)

const (
	primalSlack = 1e-9 // how far a value may lie outside its bounds, scaled by the bound
	dualSlack   = 1e-9 // how far a reduced cost may lie on the wrong side of zero, scaled by the costs
	harrisSlack = 1e-7 // how far the dual ratio test may let one stray on the way
	alphaLeast  = 1e-9 // entries of a tableau row below this are no pivots
	weightLeast = 1e-4 // of a steepest edge
	strayMost   = 1e-7 // how far the two ways to work out a pivot may differ, scaled
	costNudge   = 1e-6 // against stalling, costs are changed by about this share
	checkEvery  = 10   // pivots between two looks whether the bound has reached the cutoff
	looksEvery  = 16   // pivots between two looks at the context
	noRow       = int32(-1)
)

// place says where a variable stands.
type place int8

const (
	basic place = iota
	atLower
	atUpper
	atZero // outside the basis without a bound
)

// end says how a run of the simplex ended.
type end int

const (
	endUnsure     end = iota // limits, or numbers too weak to say
	endOptimal               // feasible, and best for the costs in use
	endInfeasible            // proved by a combination of rows
	endCutoff                // proved to cost more than the cutoff
	endUnbounded
)

// simplex is a relaxation on its way to the optimum. Row i has a logical variable n+i with the bounds of the row: rows * x - logical = 0.
type simplex struct {
	n, m         int
	byRow, byCol sparse
	lower, upper []float64 // of all n+m variables
	cost         []float64 // the true costs
	base         []float64 // costs with the changes against stalling
	work         []float64 // costs in use
	reach        [2][]float64

	at     []place
	head   []int32 // the variable at each place of the basis
	where  []int32 // the place of each variable of the basis
	x, d   []float64
	weight []float64 // steepest edge weights by variable
	f      factor

	rho, alpha, tau, row  []float64
	rhoAt, rowAt, alphaAt []int32
	out                   []float64 // by place: how far the variable is outside its bounds
	columnSize            []float64 // by variable: its coefficients added up
	inRow                 []bool
	skip                  []bool // rows given up until the next factoring
	skipped               bool
	breaks                []breakpoint
	flips                 []int32
	combined              []float64 // what certify left of the costs
	certified             float64   // what it came to
	multipliers           []float64

	pivots    int
	pivotsEnd int // stop at so many pivots
}

// breakpoint is a variable whose reduced cost would change its sign.
type breakpoint struct {
	variable int32
	cost     float64 // how far its reduced cost is from zero
	size     float64 // of its entry in the row
}

func newSimplex(p *Program) *simplex {
	s := newBounds(p)
	n, m := s.n, s.m
	s.cost = append(append(s.cost, p.cost...), make([]float64, m)...)
	s.base, s.work = append(s.base, s.cost...), append(s.work, s.cost...)
	s.at, s.where = make([]place, n+m), make([]int32, n+m)
	s.head = make([]int32, m)
	s.x, s.d, s.weight = make([]float64, n+m), make([]float64, n+m), make([]float64, n+m)
	s.rho, s.alpha, s.tau = make([]float64, m), make([]float64, m), make([]float64, m)
	s.row, s.inRow = make([]float64, n+m), make([]bool, n+m)
	s.skip = make([]bool, m)
	s.out, s.columnSize = make([]float64, m), make([]float64, n)
	for j := range s.columnSize {
		_, values := s.byCol.of(int32(j))
		for _, v := range values {
			s.columnSize[j] += math.Abs(v)
		}
	}
	s.combined, s.multipliers = make([]float64, n), make([]float64, m)
	s.reach[0], s.reach[1] = impliedBounds(p)
	s.slackBasis()
	return s
}

// newBounds is a simplex that has rows and bounds only.
func newBounds(p *Program) *simplex {
	n, m := len(p.cost), len(p.rows)
	s := &simplex{n: n, m: m, pivotsEnd: math.MaxInt}
	var all []triple
	for i, row := range p.rows {
		for _, t := range row {
			all = append(all, triple{int32(i), int32(t.Variable), t.Coefficient})
		}
	}
	s.byRow.pack(m, all, false)
	s.byCol.pack(n, all, true)
	s.lower, s.upper = append(append(s.lower, p.lower...), p.rowLower...), append(append(s.upper, p.upper...), p.rowUpper...)
	return s
}

// slackBasis makes the logicals the basis.
func (s *simplex) slackBasis() {
	for j := range s.n {
		s.at[j] = s.rest(int32(j))
		s.weight[j] = 1
	}
	for i := range s.m {
		s.at[s.n+i] = basic
		s.weight[s.n+i] = 1
	}
}

// rest is where a variable outside the basis stands by the sign of its cost.
func (s *simplex) rest(j int32) place {
	l, u := s.lower[j], s.upper[j]
	switch {
	case math.IsInf(l, -1) && math.IsInf(u, 1):
		return atZero
	case math.IsInf(l, -1):
		return atUpper
	case math.IsInf(u, 1) || l == u || s.work[j] >= 0:
		return atLower
	}
	return atUpper
}

// nudge changes the costs a little, each by another share, so that the dual simplex does not stall among equals.
func (s *simplex) nudge() {
	unit, count := 0.0, 0
	for _, c := range s.cost {
		if c != 0 {
			unit += math.Abs(c)
			count++
		}
	}
	if count == 0 {
		unit, count = 1, 1
	}
	unit /= float64(count)
	for j := range s.n {
		by := costNudge * (unit + math.Abs(s.cost[j])) * (0.5 + chance(j))
		if math.IsInf(s.lower[j], -1) {
			if math.IsInf(s.upper[j], 1) {
				continue
			}
			by = -by
		}
		s.base[j] = s.cost[j] + by
	}
	copy(s.work, s.base)
}

// chance gives a number from 0 to 1 that looks drawn by lot and is always the same.
func chance(j int) float64 {
	z := uint64(j+1) * 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return float64((z^z>>31)>>11) / (1 << 53)
}

var minusOne = []float64{-1}

func (s *simplex) columnOf(j int32, logical []int32) ([]int32, []float64) {
	if int(j) < s.n {
		return s.byCol.of(j)
	}
	logical[0] = j - int32(s.n)
	return logical, minusOne
}

// scatter adds a multiple of a column to a vector by the steps of rows.
func (s *simplex) scatter(j int32, by float64, to []float64) {
	if int(j) >= s.n {
		to[s.f.step[int(j)-s.n]] -= by
		return
	}
	rows, values := s.byCol.of(j)
	for k, r := range rows {
		to[s.f.step[r]] += values[k] * by
	}
}

// refactor factors the basis named by at, mends it where columns depend on each other, and works out x and d.
func (s *simplex) refactor() {
	for {
		n := 0
		for j, a := range s.at {
			if a == basic {
				if n < s.m {
					s.head[n] = int32(j)
				}
				n++
			}
		}
		s.fill(n)
		var one [1]int32
		rowOf, singular := s.f.build(s.m, func(k int) ([]int32, []float64) { return s.columnOf(s.head[k], one[:]) })
		if !singular {
			s.settle(rowOf)
			break
		}
		s.mend(rowOf)
	}
	clear(s.skip)
	s.skipped = false
	s.computeValues()
	s.computeCosts()
}

// fill makes the basis as large as it has to be, should a stored one be too small or too large.
func (s *simplex) fill(n int) {
	for j := s.n + s.m - 1; n > s.m && j >= 0; j-- {
		if s.at[j] == basic {
			s.at[j] = s.rest(int32(j))
			n--
		}
	}
	for i := 0; n < s.m && i < s.m; i++ {
		if j := s.n + i; s.at[j] != basic {
			s.at[j] = basic
			s.head[n] = int32(j)
			n++
		}
	}
}

// settle names the places of the basis by the steps they were pivoted in.
func (s *simplex) settle(stepOf []int32) {
	old := s.row[:0]
	for _, j := range s.head {
		old = append(old, float64(j))
	}
	for k, r := range stepOf {
		j := int32(old[k])
		s.head[r], s.where[j] = j, r
	}
	clear(s.row[:s.m])
}

// mend puts logicals in the place of columns that depend on others.
func (s *simplex) mend(rowOf []int32) {
	used := make([]bool, s.m)
	for k, r := range rowOf {
		if r >= 0 {
			used[r] = true
			continue
		}
		j := s.head[k]
		s.at[j] = s.rest(j)
	}
	for i, u := range used {
		if !u {
			s.at[s.n+i] = basic
			s.weight[s.n+i] = 1
		}
	}
}

// computeValues sets the variables outside the basis to their bounds and works out the others.
func (s *simplex) computeValues() {
	b := s.tau
	clear(b)
	for j := range int32(s.n + s.m) {
		switch s.at[j] {
		case basic:
			continue
		case atLower:
			s.x[j] = s.lower[j]
		case atUpper:
			s.x[j] = s.upper[j]
		case atZero:
			s.x[j] = 0
		}
		if s.x[j] != 0 {
			s.scatter(j, -s.x[j], b)
		}
	}
	s.f.forward(b)
	for i, j := range s.head {
		s.x[j] = b[i]
	}
	clear(b)
	s.measureAll()
}

func (s *simplex) measureAll() {
	for i, j := range s.head {
		s.out[i] = s.outside(j)
	}
}

// computeCosts works out the reduced costs for the costs in use.
func (s *simplex) computeCosts() {
	y := s.tau
	for i, j := range s.head {
		y[i] = s.work[j]
	}
	s.f.backward(y)
	s.price(y)
	clear(y)
}

// price works out all reduced costs from the duals.
func (s *simplex) price(y []float64) {
	copy(s.d[:s.n], s.work[:s.n])
	for k, v := range y {
		i := int(s.f.order[k])
		s.d[s.n+i] = s.work[s.n+i] + v
		if v == 0 {
			continue
		}
		cols, values := s.byRow.of(int32(i))
		for k, c := range cols {
			s.d[c] -= v * values[k]
		}
	}
	for _, j := range s.head {
		s.d[j] = 0
	}
}

// mendCosts makes every reduced cost right: variables with two bounds go to the other one, for the rest the cost in use is shifted.
func (s *simplex) mendCosts() {
	moved := false
	for j, a := range s.at {
		d := s.d[j]
		if a == basic || s.lower[j] == s.upper[j] || !wrong(a, d, dualSlack) {
			continue
		}
		if a == atZero || math.IsInf(s.lower[j], -1) || math.IsInf(s.upper[j], 1) {
			s.work[j] -= d
			s.d[j] = 0
			continue
		}
		s.at[j] = atLower + atUpper - a
		moved = true
	}
	if moved {
		s.computeValues()
	}
}

// wrong says whether a reduced cost calls for a move from where the variable stands.
func wrong(a place, d, slack float64) bool {
	switch a {
	case atLower:
		return d < -slack
	case atUpper:
		return d > slack
	case atZero:
		return d < -slack || d > slack
	}
	return false
}

func (s *simplex) outside(j int32) float64 {
	x := s.x[j]
	if l := s.lower[j]; x < l-primalSlack*(1+math.Abs(l)) {
		return x - l
	}
	if u := s.upper[j]; x > u+primalSlack*(1+math.Abs(u)) {
		return x - u
	}
	return 0
}

// duals gives the multipliers of the rows that belong to the reduced costs.
func (s *simplex) duals() []float64 {
	for i := range s.m {
		s.multipliers[i] = s.d[s.n+i] - s.work[s.n+i]
	}
	return s.multipliers
}

// lp solves the relaxation from the basis at hand. With exact set the true costs are put back at the end and the optimum is one for them.
func (s *simplex) lp(ctx context.Context, cutoff float64, exact bool) end {
	for range 5 {
		e := s.dual(ctx, cutoff)
		if e != endOptimal {
			return e
		}
		if !exact {
			return e
		}
		if e = s.trueCosts(ctx); e != endOptimal {
			return e
		}
		if s.feasible() {
			return endOptimal
		}
		s.mendCosts()
	}
	return endUnsure
}

// trueCosts puts the true costs back and goes to their optimum.
func (s *simplex) trueCosts(ctx context.Context) end {
	copy(s.work, s.cost)
	if len(s.f.eta) > 0 {
		s.refactor()
	} else {
		s.computeCosts()
	}
	return s.primal(ctx)
}

func (s *simplex) feasible() bool {
	for _, j := range s.head {
		if s.outside(j) != 0 {
			return false
		}
	}
	return true
}
