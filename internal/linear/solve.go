package linear

import (
	"context"
	"math"
	"slices"
)

// Solve finds the cheapest solution by branch and bound. Optimal and Infeasible are said only when proved; Stopped comes with the best
// solution found, or none, and a bound that holds.
//
// Without a Step a solution within a billionth of the best one counts as no better.
func (p *Program) Solve(ctx context.Context, o Options) Answer {
	if p.problem != nil {
		return Answer{Value: math.Inf(1), Bound: math.Inf(-1)}
	}
	if o.Cutoff == 0 || o.Cutoff != o.Cutoff {
		o.Cutoff = math.Inf(1)
	}
	if !(o.Step > 0) || math.IsInf(o.Step, 1) {
		o.Step = p.step()
	}
	if p.crossed() {
		return Answer{Status: Infeasible, Value: math.Inf(1), Bound: math.Inf(1)}
	}
	t := &task{origin: p, cutoff: o.Cutoff, step: o.Step, most: o.Nodes, work: o.Pivots,
		value: math.Inf(1), floor: math.Inf(-1), doubt: math.Inf(1), pruned: math.Inf(1)}
	t.aim()
	if len(o.Start) == len(p.cost) {
		t.begin(o.Start)
	}
	if a, unbounded := t.boundless(ctx); unbounded {
		return a
	}
	return t.solve(ctx)
}

// begin takes a solution to begin with.
func (t *task) begin(x []float64) {
	x = slices.Clone(x)
	for j, w := range t.origin.whole {
		if w {
			x[j] = math.Round(x[j]) + 0
		}
	}
	t.starting = true
	t.take(x)
	t.starting = false
}

// solve searches a smaller program, and a smaller one again when much gets fixed at its root.
func (t *task) solve(ctx context.Context) Answer {
	for p := t.origin; ; {
		small := reduce(p)
		t.lifts = append(t.lifts, small)
		if small.hopeless {
			if len(t.lifts) == 1 && t.best != nil {
				t.doubt = math.Inf(-1) // a solution there is, all the same
			}
			return t.answer(true, t.bound(nil))
		}
		s := newSearch(ctx, t, small.Program)
		complete := s.run()
		t.pivots += s.s.pivots
		if !s.anew {
			return t.answer(complete, t.bound(s.open))
		}
		t.restarts++
		next := *small.Program
		next.lower, next.upper = s.lower, s.upper
		p = &next
	}
}

// step is a number all costs are multiples of, or 0 when none is known: the greatest common divisor where all that costs is whole.
func (p *Program) step() float64 {
	const most = 1 << 40
	g := 0.0
	for j, c := range p.cost {
		if c == 0 {
			continue
		}
		if !p.whole[j] || c != math.Trunc(c) || math.Abs(c) > most {
			return 0
		}
		for a := math.Abs(c); a != 0; {
			g, a = a, math.Mod(g, a)
		}
	}
	return g
}

// boundless looks for a cost without end where some variable that costs has no bound. With rational numbers a relaxation without end
// means a program without end, unless nothing is feasible.
func (t *task) boundless(ctx context.Context) (Answer, bool) {
	if !t.origin.endless() {
		return Answer{}, false
	}
	relaxed := t.origin.Relax(ctx)
	if relaxed.Status != Unbounded {
		return Answer{}, false
	}
	p := *t.origin
	p.cost = make([]float64, len(p.cost))
	a := p.Solve(ctx, Options{Start: t.best})
	switch a.Status {
	case Optimal:
		return Answer{Status: Unbounded, Value: math.Inf(-1), Bound: math.Inf(-1), X: a.X, Nodes: a.Nodes, Pivots: a.Pivots + relaxed.Pivots}, true
	case Infeasible:
		return a, true
	}
	return Answer{Value: t.value, X: t.best, Bound: math.Inf(-1), Nodes: a.Nodes, Pivots: a.Pivots + relaxed.Pivots}, true
}

// endless says whether a variable could lower the cost for ever as far as its own bounds go.
func (p *Program) endless() bool {
	for j, c := range p.cost {
		if c > 0 && math.IsInf(p.lower[j], -1) || c < 0 && math.IsInf(p.upper[j], 1) {
			return true
		}
	}
	return false
}

// answer puts what the search found into an answer.
func (t *task) answer(complete bool, bound float64) Answer {
	a := Answer{Value: t.value, X: t.best, Bound: bound, Nodes: t.nodes, Pivots: t.pivots}
	if math.IsInf(t.doubt, 1) && complete {
		switch {
		case t.value < t.cutoff:
			a.Status = Optimal
			if t.step > 0 {
				a.Bound = a.Value
			}
		case t.best != nil && a.Bound >= t.value:
			a.Status = Optimal
		default:
			a.Status = Infeasible
			a.X, a.Value = nil, math.Inf(1)
			a.Bound = max(t.raise(t.pruned), t.cutoff)
			if math.IsInf(t.pruned, 1) && t.best == nil {
				a.Bound = math.Inf(1)
			}
		}
	}
	if t.best != nil && a.Status != Infeasible {
		a.Bound = min(a.Bound, a.Value)
	}
	return a
}
