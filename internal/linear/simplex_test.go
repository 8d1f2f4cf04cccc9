package linear

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// The factors solve what they are asked to: basis * x = b and y * basis = c, after any number of exchanges.
func TestFactorsSolve(t *testing.T) {
	for seed := range uint64(60) {
		r := rand.New(rand.NewPCG(seed, 31))
		m := 1 + r.IntN(40)
		columns := make([][]float64, m)
		fresh := func() []float64 {
			c := make([]float64, m)
			for range 1 + r.IntN(4) {
				c[r.IntN(m)] = float64(1 + r.IntN(9) - 5)
			}
			return c
		}
		for j := range columns {
			columns[j] = fresh()
			columns[j][j] = float64(5 + r.IntN(20)) // seldom singular
		}
		var f factor
		at, singular := f.build(m, func(j int) ([]int32, []float64) { return sparsely(columns[j]) })
		if singular {
			continue
		}
		basis := make([][]float64, m) // by place
		for j, k := range at {
			basis[k] = columns[j]
		}
		for range 20 {
			solves(t, &f, basis, r)
			next := fresh()
			alpha := make([]float64, m)
			for i, v := range next {
				alpha[f.step[i]] = v
			}
			f.forward(alpha)
			place, places := r.IntN(m), []int32{}
			for i, v := range alpha {
				if v != 0 {
					places = append(places, int32(i))
				}
			}
			if math.Abs(alpha[place]) < 0.1 {
				continue
			}
			f.exchange(int32(place), alpha, places)
			basis[place] = next
		}
	}
}

func sparsely(column []float64) (rows []int32, values []float64) {
	for i, v := range column {
		if v != 0 {
			rows, values = append(rows, int32(i)), append(values, v)
		}
	}
	return rows, values
}

func solves(t *testing.T, f *factor, basis [][]float64, r *rand.Rand) {
	t.Helper()
	m := len(basis)
	x, y := make([]float64, m), make([]float64, m)
	for i := range x {
		x[i], y[i] = float64(r.IntN(9)), float64(r.IntN(9))
	}
	b, c := slices.Clone(x), slices.Clone(y)
	f.forward(x)
	f.backward(y)
	for i := range m {
		sum := 0.0
		for k := range m {
			sum += basis[k][f.order[i]] * x[k]
		}
		if math.Abs(sum-b[i]) > 1e-6*(1+slices.Max(x)-slices.Min(x)) {
			t.Fatalf("row %d comes to %g, want %g", i, sum, b[i])
		}
		sum = 0
		for k := range m {
			sum += y[k] * basis[i][f.order[k]]
		}
		if math.Abs(sum-c[i]) > 1e-6*(1+slices.Max(y)-slices.Min(y)) {
			t.Fatalf("place %d comes to %g, want %g", i, sum, c[i])
		}
	}
}

// A basis whose columns depend on each other is mended, as is one of the wrong size, and the optimum is found from there.
func TestBadBasesAreMended(t *testing.T) {
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 37))
		p := fitting(r, 20, 12, true, false)
		for range 4 { // twins and columns without entries
			p.Variable(0, 1, 3, false)
		}
		row := []Term{{20, 1}, {21, 1}, {22, -2}}
		p.Row(0, 1, row...)
		want := p.Relax(context.Background())
		s := newSimplex(p)
		for j := range s.at {
			s.at[j] = s.rest(int32(j))
			if r.IntN(3) == 0 || j >= 20 && j < 24 {
				s.at[j] = basic
			}
		}
		s.refactor()
		s.mendCosts()
		e := s.lp(context.Background(), math.Inf(1), true)
		if got := p.relaxed(s, e); got.Status != want.Status || got.Status == Optimal && math.Abs(got.Value-want.Value) > 1e-6 {
			t.Errorf("seed %d: %v %g, want %v %g", seed, got.Status, got.Value, want.Status, want.Value)
		}
	}
}

// Whatever multipliers are given, what certify makes of them is no more than the optimum.
func TestAnyMultipliersBound(t *testing.T) {
	for seed := range uint64(100) {
		r := rand.New(rand.NewPCG(seed, 41))
		p := tiny(r)
		want, ok := tried(p)
		if !ok {
			continue
		}
		s := newSimplex(p)
		for range 30 {
			y := make([]float64, s.m)
			for i := range y {
				y[i] = (r.Float64() - 0.5) * math.Pow(10, float64(r.IntN(6)))
			}
			if b := s.certify(y, true); b > want {
				t.Errorf("seed %d: %g above the optimum %g", seed, b, want)
			}
			if s.certify(y, false) > 0 {
				t.Errorf("seed %d: infeasible by %v, and yet there is a solution", seed, y)
			}
		}
	}
}

// Whole parts that are nearly right get continuous parts to fit.
func TestContinuousPartsAreRefitted(t *testing.T) {
	p := &Program{}
	a, b := p.Variable(0, 1, 1, true), p.Variable(0, 1000, 1, false)
	p.Row(500, inf, Term{a, 400}, Term{b, 1})
	s := newSearch(context.Background(), &task{origin: p, value: inf, cutoff: inf, target: inf}, p)
	if !s.offer([]float64{1 - 1e-7, 99.99996}) || s.value != 101 {
		t.Errorf("the best costs %g, want 101", s.value)
	}
}

func TestStatusWords(t *testing.T) {
	p := &Program{}
	p.Variable(0, 1, 1, true)
	p.Row(0, 1, Term{0, 1})
	if n, m := p.Size(); n != 1 || m != 1 {
		t.Error(n, m)
	}
	for s, want := range map[Status]string{Stopped: "stopped", Optimal: "optimal", Infeasible: "infeasible", Unbounded: "unbounded"} {
		if s.String() != want {
			t.Errorf("%d is %q, want %q", s, s, want)
		}
	}
}
