package linear

import (
	"context"
	"math"
	"testing"
)

// Whatever the program, an answer comes, it keeps the laws, and programs small enough are tried out beside it.
func FuzzSolve(f *testing.F) {
	f.Add([]byte{3, 0, 1, 5, 1, 0, 1, 3, 1, 0, 1, 2, 1, 2, 0, 3, 0, 1, 1, 1})
	f.Add([]byte{2, 255, 254, 1, 0, 0, 9, 250, 1, 1, 3, 0, 2, 1, 100, 1, 7})
	f.Add([]byte{5, 0, 0, 0, 1, 0, 0, 0, 1, 0, 3, 128, 1, 253, 3, 9, 0, 0, 1, 1, 1, 4, 0, 0, 4, 1, 2, 3, 4})
	f.Fuzz(func(t *testing.T, data []byte) {
		next := func() float64 {
			if len(data) == 0 {
				return 0
			}
			b := int8(data[0])
			data = data[1:]
			return float64(b)
		}
		p := &Program{}
		n := 1 + int(math.Abs(next()))%9
		small := true
		for range n {
			lower, upper, cost, kind := next(), next(), next(), next()
			switch {
			case lower < -100:
				lower = math.Inf(-1)
			case upper > 100:
				upper = inf
			}
			whole := kind >= 0
			if !whole {
				cost /= 7
			}
			small = small && whole && upper-lower < 5
			p.Variable(lower, upper, cost, whole)
		}
		for rows := 0; len(data) > 0 && rows < 12; rows++ {
			lower, upper := next(), next()
			if lower < -80 {
				lower = math.Inf(-1)
			}
			if upper > 80 {
				upper = inf
			}
			var terms []Term
			for k := int(math.Abs(next())) % 6; k > 0; k-- {
				terms = append(terms, Term{int(math.Abs(next())) % n, next()})
			}
			p.Row(lower, upper, terms...)
		}
		relaxed := p.Relax(&ends{Context: context.Background(), left: 300})
		lawful(t, p, relaxed)
		a := p.Solve(&ends{Context: context.Background(), left: 500}, Options{})
		lawful(t, p, a)
		if relaxed.Status == Optimal && a.Status == Optimal && relaxed.Bound > a.Value+1e-6*(1+math.Abs(a.Value)) {
			t.Errorf("the relaxation costs %g, the whole optimum only %g", relaxed.Bound, a.Value)
		}
		if relaxed.Status == Infeasible && a.X != nil {
			t.Error("infeasible, and yet a solution")
		}
		if !small || n > 6 {
			return
		}
		want, ok := tried(p)
		if a.Bound > want || a.Status == Infeasible && ok || a.Status == Optimal && a.Value != want {
			t.Errorf("%v %g bound %g, tried out %g", a.Status, a.Value, a.Bound, want)
		}
	})
}
