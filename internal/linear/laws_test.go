package linear

import (
	"context"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// tried finds the optimum of a program of few whole variables with bounds by trying all points in exact arithmetic of small whole numbers.
func tried(p *Program) (float64, bool) {
	best, found := inf, false
	x := make([]float64, len(p.cost))
	var walk func(j int)
	walk = func(j int) {
		if j < len(x) {
			for v := math.Ceil(p.lower[j]); v <= p.upper[j]; v++ {
				x[j] = v
				walk(j + 1)
			}
			return
		}
		for i, row := range p.rows {
			sum := 0.0
			for _, t := range row {
				sum += t.Coefficient * x[t.Variable]
			}
			if sum < p.rowLower[i] || sum > p.rowUpper[i] {
				return
			}
		}
		found, best = true, min(best, p.costOf(x))
	}
	walk(0)
	return best, found
}

// tiny makes a program small enough to be tried out.
func tiny(r *rand.Rand) *Program {
	p := mixed(r, 1+r.IntN(8), r.IntN(9), false)
	if r.IntN(2) == 0 {
		p = fitting(r, 2+r.IntN(10), 1+r.IntN(8), true, false)
	}
	for j := range p.whole {
		p.whole[j] = true
	}
	return p
}

func TestSolveAgreesWithTryingAll(t *testing.T) {
	infeasible := 0
	for seed := range uint64(1500) {
		p := tiny(rand.New(rand.NewPCG(seed, 3)))
		want, ok := tried(p)
		got := p.Solve(context.Background(), Options{})
		switch {
		case !ok && got.Status != Infeasible:
			t.Errorf("seed %d: %v %g, want infeasible", seed, got.Status, got.Value)
		case ok && (got.Status != Optimal || got.Value != want || got.Bound > want):
			t.Errorf("seed %d: %v %g bound %g, want %g", seed, got.Status, got.Value, got.Bound, want)
		}
		if !ok {
			infeasible++
		}
	}
	if infeasible < 100 || infeasible > 1200 {
		t.Error("too few of one kind:", infeasible, "infeasible")
	}
}

// Coefficients from an eighth to a million, in sums that numbers hold exactly.
func TestWildCoefficients(t *testing.T) {
	sizes := []float64{0.125, 0.5, 1, 3, 40, 1000, 77_777, 1_000_000}
	undecided, solved := 0, 0
	for seed := range uint64(800) {
		r := rand.New(rand.NewPCG(seed, 29))
		p := &Program{}
		n := 2 + r.IntN(8)
		for range n {
			p.Variable(0, float64(1+r.IntN(2)), sizes[r.IntN(len(sizes))]*float64(r.IntN(5)-1), true)
		}
		for range 1 + r.IntN(6) {
			var terms []Term
			for range 1 + r.IntN(5) {
				c := sizes[r.IntN(len(sizes))]
				if r.IntN(3) == 0 {
					c = -c
				}
				terms = append(terms, Term{r.IntN(n), c})
			}
			switch b := sizes[r.IntN(len(sizes))]; r.IntN(3) {
			case 0:
				p.Row(b, inf, terms...)
			case 1:
				p.Row(-inf, b, terms...)
			default:
				p.Row(-b, 2*b, terms...)
			}
		}
		want, ok := tried(p)
		a := p.Solve(context.Background(), Options{})
		lawful(t, p, a)
		switch {
		case a.Status == Stopped:
			undecided++
		case a.Status == Infeasible && ok, a.Status == Optimal && a.Value != want:
			t.Errorf("seed %d: %v %g, want %g", seed, a.Status, a.Value, want)
		}
		if a.Bound > want {
			t.Errorf("seed %d: bound %g above the optimum %g", seed, a.Bound, want)
		}
		if ok && a.Status == Optimal {
			solved++
		}
	}
	if undecided > 8 || solved < 200 {
		t.Errorf("%d undecided, %d solved", undecided, solved)
	}
}

// Solutions keep every row, whole variables are whole, and no bound lies above the optimum, however early the search is stopped.
func TestBoundsHoldWhenStopped(t *testing.T) {
	stopped := 0
	for seed := range uint64(120) {
		r := rand.New(rand.NewPCG(seed, 5))
		var p *Program
		switch seed % 3 {
		case 0:
			p = covering(r, 30, 25, seed%2 == 0)
		case 1:
			p = opening(r, 14, 7, 3, seed%2 == 0)
		default:
			p = fitting(r, 25, 15, seed%2 == 0, r.IntN(2) == 0)
		}
		best := p.Solve(context.Background(), Options{})
		if best.Status != Optimal && best.Status != Infeasible {
			t.Fatalf("seed %d: %v", seed, best.Status)
		}
		for nodes := 1; nodes < 9; nodes++ {
			a := p.Solve(context.Background(), Options{Nodes: nodes})
			if a.Bound > best.Value+1e-6 {
				t.Errorf("seed %d, %d nodes: bound %g above the optimum %g", seed, nodes, a.Bound, best.Value)
			}
			if a.Status == Optimal && math.Abs(a.Value-best.Value) > 1e-6 {
				t.Errorf("seed %d, %d nodes: %v %g, best %g", seed, nodes, a.Status, a.Value, best.Value)
			}
			if a.Status == Stopped {
				stopped++
			}
			lawful(t, p, a)
		}
		for calls := 0; calls < 60; calls += 7 {
			a := p.Solve(&ends{Context: context.Background(), left: calls}, Options{})
			if a.Bound > best.Value+1e-6 || a.Status == Infeasible && best.Status != Infeasible {
				t.Errorf("seed %d, %d looks: %v, bound %g above the optimum %g", seed, calls, a.Status, a.Bound, best.Value)
			}
			lawful(t, p, a)
		}
	}
	if stopped < 50 {
		t.Error("only", stopped, "were stopped")
	}
}

// ends is a context that ends after it was looked at so many times.
type ends struct {
	context.Context
	left int
}

func (e *ends) Err() error {
	if e.left--; e.left < 0 {
		return context.Canceled
	}
	return nil
}

func lawful(t *testing.T, p *Program, a Answer) {
	t.Helper()
	if a.Status == Optimal && (a.X == nil || a.Bound > a.Value) {
		t.Errorf("optimal with %v, value %g and bound %g", a.X, a.Value, a.Bound)
	}
	if a.X == nil {
		return
	}
	if !p.keeps(a.X) {
		t.Error("the solution breaks a row or a bound")
	}
	if v := p.costOf(a.X); v != a.Value && a.Status != Unbounded {
		t.Errorf("the value is %g, the solution costs %g", a.Value, v)
	}
	if a.Duals != nil {
		return
	}
	for j, w := range p.whole {
		if w && a.X[j] != math.Round(a.X[j]) {
			t.Errorf("variable %d is %g", j, a.X[j])
		}
	}
}

// The duals prove the bound (weak duality), worked out in rational numbers.
func TestDualsProveTheBound(t *testing.T) {
	proved := 0
	for seed := range uint64(300) {
		r := rand.New(rand.NewPCG(seed, 9))
		p := fitting(r, 2+r.IntN(25), 1+r.IntN(20), seed%2 == 0, false)
		if seed%5 == 0 {
			p = opening(r, 10, 7, 3, false)
		}
		a := p.Relax(context.Background())
		lawful(t, p, a)
		if a.Status != Optimal {
			continue
		}
		proved++
		exact, _ := proof(p, a.Duals).Float64()
		if a.Bound > exact {
			t.Errorf("seed %d: bound %.17g, the duals prove only %.17g", seed, a.Bound, exact)
		}
		if exact < a.Value-1e-7*(1+math.Abs(a.Value)) {
			t.Errorf("seed %d: value %g, the duals prove only %g", seed, a.Value, exact)
		}
		for j, d := range a.ReducedCosts {
			want := p.cost[j]
			for i, row := range p.rows {
				for _, term := range row {
					if term.Variable == j {
						want -= a.Duals[i] * term.Coefficient
					}
				}
			}
			if math.Abs(want-d) > 1e-7*(1+math.Abs(p.cost[j])) {
				t.Errorf("seed %d: reduced cost %d is %g, want %g", seed, j, d, want)
			}
		}
	}
	if proved < 200 {
		t.Error("only", proved, "had an optimum")
	}
}

// proof adds up the rows multiplied by their duals and takes what is left of the costs over the bounds.
func proof(p *Program, duals []float64) *big.Rat {
	rat := func(v float64) *big.Rat { return new(big.Rat).SetFloat64(v) }
	sum, left := new(big.Rat), make([]*big.Rat, len(p.cost))
	for j, c := range p.cost {
		left[j] = rat(c)
	}
	for i, y := range duals {
		bound := p.rowLower[i]
		if y < 0 {
			bound = p.rowUpper[i]
		}
		if y == 0 || math.IsInf(bound, 0) {
			continue
		}
		sum.Add(sum, new(big.Rat).Mul(rat(y), rat(bound)))
		for _, t := range p.rows[i] {
			left[t.Variable].Sub(left[t.Variable], new(big.Rat).Mul(rat(y), rat(t.Coefficient)))
		}
	}
	for j, d := range left {
		at := p.lower[j]
		if d.Sign() < 0 {
			at = p.upper[j]
		}
		sum.Add(sum, new(big.Rat).Mul(d, rat(at)))
	}
	return sum
}

func TestOneMoreRowNeverHelps(t *testing.T) {
	for seed := range uint64(100) {
		r := rand.New(rand.NewPCG(seed, 13))
		p := fitting(r, 12, 8, true, false)
		last := p.Solve(context.Background(), Options{})
		for range 4 {
			p.Row(-inf, float64(r.IntN(6)), Term{r.IntN(12), 1}, Term{r.IntN(12), float64(1 + r.IntN(3))}, Term{r.IntN(12), 2})
			next := p.Solve(context.Background(), Options{})
			if next.Value < last.Value || next.Bound < last.Bound-1e-6 {
				t.Errorf("seed %d: %g after %g", seed, next.Value, last.Value)
			}
			last = next
		}
	}
}

func TestCutoffAndStart(t *testing.T) {
	for seed := range uint64(100) {
		r := rand.New(rand.NewPCG(seed, 17))
		p := opening(r, 12, 7, 3, seed%2 == 0)
		best := p.Solve(context.Background(), Options{})
		if best.Status != Optimal {
			continue
		}
		a := p.Solve(context.Background(), Options{Cutoff: best.Value})
		if a.Status != Infeasible || a.Bound < best.Value || a.Bound > best.Value+1e-6 && best.Value < a.Bound-1 {
			t.Errorf("seed %d: nothing is better than %g, but %v bound %g", seed, best.Value, a.Status, a.Bound)
		}
		a = p.Solve(context.Background(), Options{Cutoff: best.Value + 1})
		if a.Status != Optimal || a.Value != best.Value {
			t.Errorf("seed %d: %v %g, want %g", seed, a.Status, a.Value, best.Value)
		}
		a = p.Solve(context.Background(), Options{Cutoff: best.Value, Start: best.X})
		if a.Status != Optimal || a.Value != best.Value || a.Bound != best.Value {
			t.Errorf("seed %d: %v %g bound %g, want %g", seed, a.Status, a.Value, a.Bound, best.Value)
		}
		worse := append([]float64(nil), best.X...)
		worse[0] = 2
		if a = p.Solve(context.Background(), Options{Start: worse}); a.Status != Optimal || a.Value != best.Value {
			t.Errorf("seed %d: from a start outside the bounds %v %g, want %g", seed, a.Status, a.Value, best.Value)
		}
	}
}

func TestSameAnswerEveryTime(t *testing.T) {
	p := opening(rand.New(rand.NewPCG(1, 1)), 25, 12, 4, true)
	a, b := p.Solve(context.Background(), Options{}), p.Solve(context.Background(), Options{})
	if a.Nodes != b.Nodes || a.Pivots != b.Pivots || a.Value != b.Value {
		t.Errorf("%d nodes and %d pivots, then %d and %d", a.Nodes, a.Pivots, b.Nodes, b.Pivots)
	}
}

// Examples whose answers are in print.
func TestTextbooks(t *testing.T) {
	for _, c := range []struct {
		name    string
		want    float64
		relaxed bool
		build   func(p *Program)
	}{
		// Wikipedia, "Integer programming": maximise y, -x+y <= 1, 3x+2y <= 12, 2x+3y <= 12; whole optimum 2, relaxed 2.8
		{"integer programming", -2, false, yes},
		{"integer programming, relaxed", -2.8, true, yes},
		// Hillier and Lieberman, Introduction to Operations Research: Wyndor Glass, maximise 3x+5y, x <= 4, 2y <= 12, 3x+2y <= 18; 36
		{"Wyndor Glass", -36, true, func(p *Program) {
			x, y := p.Variable(0, inf, -3, false), p.Variable(0, inf, -5, false)
			p.Row(-inf, 4, Term{x, 1})
			p.Row(-inf, 12, Term{y, 2})
			p.Row(-inf, 18, Term{x, 3}, Term{y, 2})
		}},
		// Beale (1955), on which the plain simplex goes round in a circle; -1/20
		{"Beale", -0.05, true, func(p *Program) {
			a, b, c, d := p.Variable(0, inf, -0.75, false), p.Variable(0, inf, 150, false), p.Variable(0, inf, -0.02, false), p.Variable(0, inf, 6, false)
			p.Row(-inf, 0, Term{a, 0.25}, Term{b, -60}, Term{c, -0.04}, Term{d, 9})
			p.Row(-inf, 0, Term{a, 0.5}, Term{b, -90}, Term{c, -0.02}, Term{d, 3})
			p.Row(-inf, 1, Term{c, 1})
		}},
		// Klee and Minty (1972), three dimensions as printed by Chvátal, Linear Programming: maximise 100x+10y+z; 10000
		{"Klee and Minty", -10000, true, func(p *Program) {
			x, y, z := p.Variable(0, inf, -100, false), p.Variable(0, inf, -10, false), p.Variable(0, inf, -1, false)
			p.Row(-inf, 1, Term{x, 1})
			p.Row(-inf, 100, Term{x, 20}, Term{y, 1})
			p.Row(-inf, 10000, Term{x, 200}, Term{y, 20}, Term{z, 1})
		}},
	} {
		p := &Program{}
		c.build(p)
		a := p.Solve(context.Background(), Options{})
		if c.relaxed {
			a = p.Relax(context.Background())
		}
		if a.Status != Optimal || math.Abs(a.Value-c.want) > 1e-9*(1+math.Abs(c.want)) {
			t.Errorf("%s: %v %g, want %g", c.name, a.Status, a.Value, c.want)
		}
	}
}

func yes(p *Program) {
	x, y := p.Variable(0, inf, 0, true), p.Variable(0, inf, -1, true)
	p.Row(-inf, 1, Term{x, -1}, Term{y, 1})
	p.Row(-inf, 12, Term{x, 3}, Term{y, 2})
	p.Row(-inf, 12, Term{x, 2}, Term{y, 3})
}

// The steiner triple systems 9 and 15 (Fulkerson, Nemhauser and Trotter 1974): the fewest elements that meet every triple are 5 and 9.
func TestSteinerTriples(t *testing.T) {
	for _, c := range []struct {
		points int
		want   float64
	}{{9, 5}, {15, 9}} {
		p := &Program{}
		for range c.points {
			p.Variable(0, 1, 1, true)
		}
		for _, b := range bose(c.points) {
			p.Row(1, inf, Term{b[0], 1}, Term{b[1], 1}, Term{b[2], 1})
		}
		if a := p.Solve(context.Background(), Options{}); a.Status != Optimal || a.Value != c.want {
			t.Errorf("%d points: %v %g, want %g", c.points, a.Status, a.Value, c.want)
		}
	}
}

// bose makes a triple system of 6t+3 points by Bose's way (1939): every pair of points is in one triple.
func bose(points int) [][3]int {
	n := points / 3
	half := (n + 1) / 2
	var all [][3]int
	for x := range n {
		all = append(all, [3]int{x, n + x, 2*n + x})
		for y := range x {
			for i := range 3 {
				all = append(all, [3]int{i*n + x, i*n + y, (i+1)%3*n + (x+y)*half%n})
			}
		}
	}
	return all
}

func TestFaultsAreNamed(t *testing.T) {
	for _, c := range []struct {
		want  string
		build func(p *Program)
	}{
		{"linear: variable 0: its bounds NaN and 1 leave no number; give a lower bound below +Inf and an upper one above -Inf", func(p *Program) { p.Variable(math.NaN(), 1, 0, true) }},
		{"linear: variable 0: its cost +Inf is not a number; give a finite one", func(p *Program) { p.Variable(0, 1, inf, true) }},
		{"linear: row 0: there is no variable 3; add it before the row", func(p *Program) { p.Row(0, 1, Term{3, 1}) }},
		{"linear: row 0: its bounds +Inf and +Inf leave no number; give a lower bound below +Inf and an upper one above -Inf", func(p *Program) { p.Row(inf, inf) }},
		{"linear: row 0: the coefficient NaN of variable 0 is not a number; give a finite one", func(p *Program) { p.Variable(0, 1, 1, true); p.Row(0, 1, Term{0, math.NaN()}) }},
	} {
		p := &Program{}
		c.build(p)
		if p.Err() == nil || p.Err().Error() != c.want {
			t.Errorf("got %v\nwant %s", p.Err(), c.want)
		}
		if a := p.Solve(context.Background(), Options{}); a.Status != Stopped || !math.IsInf(a.Bound, -1) {
			t.Errorf("a program with a fault was solved: %v %g", a.Status, a.Bound)
		}
	}
}

func TestEdges(t *testing.T) {
	p := &Program{}
	if a := p.Solve(context.Background(), Options{}); a.Status != Optimal || a.Value != 0 {
		t.Error("nothing at all:", a.Status, a.Value)
	}
	p.Row(1, 2)
	if a := p.Solve(context.Background(), Options{}); a.Status != Infeasible {
		t.Error("an empty row that wants one:", a.Status)
	}
	p = &Program{}
	p.Variable(0.2, 0.8, 1, true)
	if a := p.Solve(context.Background(), Options{}); a.Status != Infeasible {
		t.Error("no whole number between the bounds:", a.Status)
	}
	p = &Program{}
	x := p.Variable(0, inf, -1, true)
	if a := p.Solve(context.Background(), Options{}); a.Status != Unbounded {
		t.Error("for ever more:", a.Status)
	}
	y := p.Variable(-inf, inf, 0, true)
	p.Row(3, 3, Term{x, 2}, Term{y, 0})
	if a := p.Solve(context.Background(), Options{}); a.Status != Infeasible {
		t.Error("twice a whole number is not three:", a.Status)
	}
	p = &Program{}
	p.Variable(-inf, inf, 0, true)
	p.Variable(-inf, inf, 0, true)
	p.Row(1, 1, Term{0, 6}, Term{1, -4})
	if a := p.Solve(context.Background(), Options{}); a.Status != Infeasible {
		t.Error("an even number is not one:", a.Status)
	}
	p = &Program{}
	a, b := p.Variable(-inf, inf, 1, true), p.Variable(-inf, inf, 1, false)
	p.Row(2.5, inf, Term{a, 1}, Term{b, 2})
	p.Row(-inf, 4, Term{a, 1}, Term{b, -1})
	if s := p.Solve(context.Background(), Options{}); s.Status != Unbounded && s.Status != Optimal || s.Status == Optimal && math.Abs(s.Value-1.5) > 1e-9 {
		t.Error("free variables:", s.Status, s.Value)
	}
}
