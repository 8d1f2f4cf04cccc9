package linear

import (
	"fmt"
	"math"
	"slices"
)

// Term is one entry of a row: a coefficient times a variable.
type Term struct {
	Variable    int
	Coefficient float64
}

// Program is a linear program to be minimised. The zero Program has no variables and no rows and is ready for use. A Program must not be
// changed while it is being solved; solving does not change it, so one Program may be solved by several at once.
type Program struct {
	lower, upper, cost []float64
	whole              []bool
	rows               [][]Term
	rowLower, rowUpper []float64
	problem            error // the first thing said wrongly, reported by Err
}

// Variable adds a variable between lower and upper (either may be infinite) with its cost per unit and returns its number, counted from 0.
// A whole variable takes whole values only.
func (p *Program) Variable(lower, upper, cost float64, whole bool) int {
	n := len(p.cost)
	if math.IsNaN(lower) || math.IsNaN(upper) || math.IsInf(lower, 1) || math.IsInf(upper, -1) {
		p.fault("variable %d: its bounds %g and %g leave no number; give a lower bound below +Inf and an upper one above -Inf", n, lower, upper)
	}
	if math.IsNaN(cost) || math.IsInf(cost, 0) {
		p.fault("variable %d: its cost %g is not a number; give a finite one", n, cost)
	}
	p.lower, p.upper, p.cost, p.whole = append(p.lower, lower), append(p.upper, upper), append(p.cost, cost), append(p.whole, whole)
	return n
}

// Row adds the demand lower <= sum of terms <= upper (either may be infinite) and returns its number, counted from 0. Terms of the same
// variable are added up.
func (p *Program) Row(lower, upper float64, terms ...Term) int {
	n := len(p.rows)
	if math.IsNaN(lower) || math.IsNaN(upper) || math.IsInf(lower, 1) || math.IsInf(upper, -1) {
		p.fault("row %d: its bounds %g and %g leave no number; give a lower bound below +Inf and an upper one above -Inf", n, lower, upper)
	}
	for _, t := range terms {
		if t.Variable < 0 || t.Variable >= len(p.cost) {
			p.fault("row %d: there is no variable %d; add it before the row", n, t.Variable)
			terms = nil
			break
		}
		if math.IsNaN(t.Coefficient) || math.IsInf(t.Coefficient, 0) {
			p.fault("row %d: the coefficient %g of variable %d is not a number; give a finite one", n, t.Coefficient, t.Variable)
			terms = nil
			break
		}
	}
	p.rows, p.rowLower, p.rowUpper = append(p.rows, gather(terms)), append(p.rowLower, lower), append(p.rowUpper, upper)
	return n
}

// Err tells the first thing that was said wrongly while the program was built, or nil. A program with a fault is never solved: its answer
// is Stopped without a solution and with the bound minus infinity.
func (p *Program) Err() error { return p.problem }

// Size gives the numbers of variables and rows.
func (p *Program) Size() (variables, rows int) { return len(p.cost), len(p.rows) }

func (p *Program) fault(format string, a ...any) {
	if p.problem == nil {
		p.problem = fmt.Errorf("linear: "+format, a...)
	}
}

// gather sorts terms by variable, adds up those of one variable and drops zeros.
func gather(terms []Term) []Term {
	out := slices.Clone(terms)
	slices.SortStableFunc(out, func(a, b Term) int { return a.Variable - b.Variable })
	n := 0
	for i := 0; i < len(out); {
		t := out[i]
		for i++; i < len(out) && out[i].Variable == t.Variable; i++ {
			t.Coefficient += out[i].Coefficient
		}
		if t.Coefficient != 0 {
			out[n] = t
			n++
		}
	}
	return out[:n:n]
}

// Status says how a solve ended.
type Status int

// The ends of a solve. Stopped: the time, the nodes or the precision of the numbers ran out; X, if there, is feasible, and Bound holds.
const (
	Stopped Status = iota
	Optimal
	Infeasible
	Unbounded
)

// String gives the word for a status.
func (s Status) String() string {
	switch s {
	case Optimal:
		return "optimal"
	case Infeasible:
		return "infeasible"
	case Unbounded:
		return "unbounded"
	}
	return "stopped"
}

// Options steer Solve. The zero Options ask for the optimum without any limit.
type Options struct {
	Nodes  int       // at most so many nodes of branch and bound; 0: no limit
	Pivots int       // about so many steps of the simplex in all, measured between nodes; 0: no limit. Unlike time the same everywhere
	Cutoff float64   // only solutions that cost less are of interest; 0 or math.Inf(1): all
	Step   float64   // the cost of every feasible solution is a multiple of it; 0: unknown
	Start  []float64 // a feasible solution to begin with, or nil; one that breaks a row is set aside
}

// Answer is what a solve found. Value is the cost of X. Bound is never above the true optimum.
//
// With a Cutoff, Infeasible means that no solution costs less than it; Bound is then at least the Cutoff (plus infinity when there is no
// solution at all).
//
// Duals has one number a row and ReducedCosts one a variable, from Relax only: a dual above zero holds the lower bound of its row, one
// below zero the upper one, and a reduced cost is the cost less the duals times the coefficients of its variable.
type Answer struct {
	Status       Status
	Value        float64
	Bound        float64
	X            []float64
	Duals        []float64
	ReducedCosts []float64
	Nodes        int
	Pivots       int
}
