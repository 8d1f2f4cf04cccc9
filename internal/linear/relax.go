package linear

import (
	"context"
	"math"
)

const rowSlack = 1e-9 // how far a solution may break a row, scaled by what is added up in it

// Relax solves the program with wholeness left out. The answer carries one dual a row and one reduced cost a variable when it is Optimal.
// When ctx ends first it is Stopped, with the best bound reached.
func (p *Program) Relax(ctx context.Context) Answer {
	if p.problem != nil {
		return Answer{Bound: math.Inf(-1)}
	}
	if p.crossed() {
		return Answer{Status: Infeasible, Value: math.Inf(1), Bound: math.Inf(1)}
	}
	s := newSimplex(p)
	s.pivotsEnd = 100*(s.n+s.m) + 20_000 // far more than is ever needed, should it go round in circles
	s.nudge()
	s.slackBasis()
	s.refactor()
	s.mendCosts()
	e := s.lp(ctx, math.Inf(1), true)
	return p.relaxed(s, e)
}

// relaxed puts what the simplex found into an answer, after looking at it once more.
func (p *Program) relaxed(s *simplex, e end) Answer {
	a := Answer{Pivots: s.pivots}
	switch e {
	case endInfeasible:
		a.Status, a.Value, a.Bound = Infeasible, math.Inf(1), math.Inf(1)
		return a
	case endUnbounded:
		a.Status, a.Value, a.Bound = Unbounded, math.Inf(-1), math.Inf(-1)
		return a
	}
	duals := s.duals()
	a.Bound = s.certify(duals, true)
	if e != endOptimal {
		return a
	}
	a.Duals = append(a.Duals, duals...)
	a.ReducedCosts = append(a.ReducedCosts, s.d[:s.n]...)
	a.X = s.values()
	a.Value = p.costOf(a.X)
	if !p.keeps(a.X) || !(a.Value-a.Bound <= 1e-7*(1+math.Abs(a.Value))) {
		a.X = nil
		return a
	}
	a.Status = Optimal
	a.Bound = min(a.Bound, a.Value)
	return a
}

// values gives the variables of the program, put inside their bounds where they stray by a rounding.
func (s *simplex) values() []float64 {
	x := make([]float64, s.n)
	for j := range x {
		x[j] = min(max(s.x[j], s.lower[j]), s.upper[j])
	}
	return x
}

// crossed says whether the bounds of some variable or row leave nothing between them.
func (p *Program) crossed() bool {
	for j := range p.lower {
		if p.lower[j] > p.upper[j] {
			return true
		}
	}
	for i := range p.rows {
		if p.rowLower[i] > p.rowUpper[i] {
			return true
		}
	}
	return false
}

// costOf is the cost of a solution.
func (p *Program) costOf(x []float64) float64 {
	sum := 0.0
	for j, c := range p.cost {
		if c != 0 {
			sum += c * x[j]
		}
	}
	return sum
}

// keeps says whether a solution keeps all bounds and rows.
func (p *Program) keeps(x []float64) bool {
	for j, v := range x {
		if !(v >= p.lower[j] && v <= p.upper[j]) {
			return false
		}
	}
	for i, row := range p.rows {
		sum, size := 0.0, 1.0
		for _, t := range row {
			sum += t.Coefficient * x[t.Variable]
			size += math.Abs(t.Coefficient * x[t.Variable])
		}
		if sum < p.rowLower[i]-rowSlack*size || sum > p.rowUpper[i]+rowSlack*size {
			return false
		}
	}
	return true
}
