package linear

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

// fitting makes a program by lot that some whole point keeps, so that not nearly all are infeasible.
func fitting(r *rand.Rand, variables, rows int, binary, continuous bool) *Program {
	p := &Program{}
	point := make([]float64, variables)
	for j := range point {
		lower, upper := 0.0, 1.0
		if !binary {
			lower = float64(-r.IntN(3))
			upper = lower + float64(r.IntN(6))
		}
		point[j] = lower + float64(r.IntN(int(upper-lower)+1))
		p.Variable(lower, upper, float64(r.IntN(25)-5), !continuous || r.IntN(3) > 0)
	}
	for range rows {
		n := min(variables, 2+r.IntN(7))
		terms, sum := make([]Term, n), 0.0
		for k, j := range r.Perm(variables)[:n] {
			terms[k] = Term{j, float64(1 + r.IntN(9))}
			if r.IntN(3) == 0 {
				terms[k].Coefficient *= -1
			}
			sum += terms[k].Coefficient * point[j]
		}
		switch r.IntN(7) {
		case 0:
			p.Row(sum, sum, terms...)
		case 1, 2, 3:
			p.Row(sum-float64(r.IntN(2)), inf, terms...)
		case 4:
			p.Row(sum-2, sum+1, terms...)
		default:
			p.Row(-inf, sum+float64(r.IntN(3)), terms...)
		}
	}
	return p
}

func agree(t *testing.T, seed uint64, p *Program, counts map[string]int) {
	t.Helper()
	got, want := p.Solve(context.Background(), Options{}), judge(t, p, false)
	counts[want.status]++
	if want.status == "crashed" {
		return
	}
	if got.Status.String() != want.status {
		t.Errorf("seed %d: %v %g bound %g, want %v %g", seed, got.Status, got.Value, got.Bound, want.status, want.value)
		return
	}
	if got.Status != Optimal {
		return
	}
	near := 1e-6 * (1 + math.Abs(want.value))
	if math.Abs(got.Value-want.value) > near {
		t.Errorf("seed %d: %g, want %g", seed, got.Value, want.value)
	}
	if got.Bound > want.value+near {
		t.Errorf("seed %d: bound %g above the optimum %g", seed, got.Bound, want.value)
	}
	if lp := p.Relax(context.Background()); lp.Bound > want.value+near {
		t.Errorf("seed %d: relaxed bound %g above the optimum %g", seed, lp.Bound, want.value)
	}
}

func TestSolveAgreesWithCBC(t *testing.T) {
	counts := map[string]int{}
	for seed := range uint64(400) {
		r := rand.New(rand.NewPCG(seed, 11))
		var p *Program
		switch seed % 4 {
		case 0:
			p = mixed(r, 1+r.IntN(12), 1+r.IntN(9), false)
		case 1:
			p = fitting(r, 3+r.IntN(20), 2+r.IntN(15), true, false)
		case 2:
			p = fitting(r, 3+r.IntN(15), 2+r.IntN(10), false, true)
		case 3:
			p = fitting(r, 10+r.IntN(30), 5+r.IntN(20), r.IntN(2) == 0, r.IntN(2) == 0)
		}
		agree(t, seed, p, counts)
	}
	t.Log(counts)
	if counts["crashed"] > 8 || counts["optimal"] < 200 || counts["infeasible"] < 20 {
		t.Error("too few programs were compared", counts)
	}
}

// Programs of the kinds the planner writes: places opened for customers, covers, and both with a limit on what they cost in another way.
func TestMiddlingProgramsAgreeWithCBC(t *testing.T) {
	counts := map[string]int{}
	for seed := range uint64(60) {
		r := rand.New(rand.NewPCG(seed, 23))
		var p *Program
		switch seed % 3 {
		case 0:
			p = opening(r, 10+r.IntN(15), 7+r.IntN(4), 3+r.IntN(4), seed%2 == 0)
		case 1:
			p = covering(r, 20+r.IntN(40), 15+r.IntN(20), seed%2 == 0)
		default:
			p = limited(r, opening(r, 8+r.IntN(12), 7+r.IntN(3), 4, seed%2 == 0))
		}
		agree(t, seed, p, counts)
	}
	t.Log(counts)
	if counts["optimal"] < 30 {
		t.Error("too few programs were compared", counts)
	}
}

// limited adds a limit on a second cost, which is met in the middle by a variable that is not whole.
func limited(r *rand.Rand, p *Program) *Program {
	var terms []Term
	sum := 0.0
	for j := range p.cost {
		c := float64(r.IntN(9))
		terms = append(terms, Term{j, c})
		sum += c
	}
	over := p.Variable(0, inf, float64(3+r.IntN(5)), false)
	p.Row(-inf, math.Floor(sum/6), append(terms, Term{over, -2})...)
	return p
}
