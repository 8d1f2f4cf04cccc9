package linear

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

// The smaller program has the same optimum, its solutions lifted keep the larger one, and it really is smaller.
func TestReduceKeepsTheOptimum(t *testing.T) {
	less := 0
	for seed := range uint64(800) {
		p := tiny(rand.New(rand.NewPCG(seed, 19)))
		want, ok := tried(p)
		r := reduce(p)
		if r.hopeless {
			if ok {
				t.Errorf("seed %d: hopeless, but %g is the optimum", seed, want)
			}
			continue
		}
		got, found := tried(r.Program)
		if ok != found || ok && math.Abs(got-want) > 1e-9 {
			t.Errorf("seed %d: %g %v in the smaller program, %g %v in the larger", seed, got, found, want, ok)
		}
		if a := r.Solve(context.Background(), Options{}); a.X != nil {
			x := r.lift(a.X)
			if !p.keeps(x) || math.Abs(p.costOf(x)-want) > 1e-9 {
				t.Errorf("seed %d: the solution lifted costs %g, want %g", seed, p.costOf(x), want)
			}
		}
		if len(r.rows) < len(p.rows) || len(r.Program.cost) < len(p.cost) {
			less++
		}
	}
	if less < 400 {
		t.Error("only", less, "programs became smaller")
	}
}

// 8a + 3b <= 9 over zeros and ones says a + b <= 1, and 5x <= 3y with y <= 1 says no x at all.
func TestCoefficientsAreLowered(t *testing.T) {
	p := &Program{}
	a, b := p.Variable(0, 1, -3, true), p.Variable(0, 1, -2, true)
	p.Row(-inf, 9, Term{a, 8}, Term{b, 3})
	r := reduce(p)
	x := r.Program
	if len(x.rows) != 1 || len(x.rows[0]) != 2 || x.rows[0][0].Coefficient != x.rows[0][1].Coefficient || x.rowUpper[0] != x.rows[0][0].Coefficient {
		t.Errorf("got %v <= %v", x.rows, x.rowUpper)
	}
	p = &Program{}
	c, d := p.Variable(0, 1, -3, true), p.Variable(0, 1, 1, true)
	p.Row(-inf, 0, Term{c, 5}, Term{d, -3})
	if r := reduce(p); len(r.from) != 1 || r.fixed[c] != 0 || r.fixed[d] != 0 {
		t.Errorf("fixed %v, left %v", r.fixed, r.from)
	}
}

// The work of a search is bounded by its steps, the same on every machine.
func TestStepsAreLimited(t *testing.T) {
	p := covering(rand.New(rand.NewPCG(1, 2)), 200, 60, true)
	best := p.Solve(context.Background(), Options{})
	a := p.Solve(context.Background(), Options{Pivots: best.Pivots / 2})
	again := p.Solve(context.Background(), Options{Pivots: best.Pivots / 2})
	if a.Status != Stopped || a.Pivots >= best.Pivots || a.Bound > best.Value || a.Pivots != again.Pivots || a.Bound != again.Bound {
		t.Errorf("%v after %d of %d pivots, bound %g of %g; again %d, %g", a.Status, a.Pivots, best.Pivots, a.Bound, best.Value, again.Pivots, again.Bound)
	}
}
