package linear

import (
	"cmp"
	"math"
	"slices"
)

const (
	reduceRounds = 8
	coverMost    = 8       // a row with so many times the terms of another hardly ever makes that one needless
	exactMost    = 1 << 30 // whole numbers up to this are added up without rounding, some millions of them
)

// reduced is a smaller program with the same optimum: fixed variables and rows that say nothing are left out, and rows over whole
// variables are drawn tighter round the whole solutions. A solution of it with the fixed values put back is one of the program it came
// from; not every solution of that one is left, but one of the best is.
type reduced struct {
	*Program
	from     []int     // by variable: its number in the program it came from, or -1 for the one that stands for all costs fixed
	fixed    []float64 // by variable of the program it came from: its value if it is left out
	left     []int     // by variable of the program it came from: its number here, or -1
	hopeless bool      // rows and bounds contradict each other
}

// reducer is a reduction under way.
type reducer struct {
	lower, upper, cost []float64
	whole              []bool
	rows               []reducedRow
	columns            [][]int32 // by variable: the rows it is in, some of which may be gone
	hopeless           bool
	changed            bool
}

type reducedRow struct {
	terms        []Term
	lower, upper float64
	gone, exact  bool // exact: all numbers are whole and small
}

// reduce makes a program smaller.
func reduce(p *Program) *reduced {
	r := &reducer{lower: slices.Clone(p.lower), upper: slices.Clone(p.upper), cost: p.cost, whole: p.whole}
	for j := range r.lower {
		if r.whole[j] {
			r.lower[j], r.upper[j] = math.Ceil(r.lower[j]-wholeSlack), math.Floor(r.upper[j]+wholeSlack)
		}
		r.hopeless = r.hopeless || r.lower[j] > r.upper[j]
	}
	for i, terms := range p.rows {
		r.rows = append(r.rows, reducedRow{terms: slices.Clone(terms), lower: p.rowLower[i], upper: p.rowUpper[i]})
	}
	for round := 0; round < reduceRounds && !r.hopeless; round++ {
		r.changed = false
		r.narrow()
		if r.hopeless {
			break
		}
		r.clean()
		r.tightenRows()
		r.index()
		r.fixIdle()
		r.dropCovered()
		if !r.changed {
			break
		}
	}
	return r.finish(p)
}

// narrow takes over what the rows leave to the variables.
func (r *reducer) narrow() {
	q := &Program{lower: r.lower, upper: r.upper, cost: r.cost, whole: r.whole}
	for i := range r.rows {
		if row := &r.rows[i]; !row.gone {
			q.rows, q.rowLower, q.rowUpper = append(q.rows, row.terms), append(q.rowLower, row.lower), append(q.rowUpper, row.upper)
		}
	}
	s := newBounds(q)
	t := newTightener(s, r.whole)
	t.all()
	if !t.run() {
		r.hopeless = true
		return
	}
	for _, j := range t.touched {
		if r.whole[j] {
			r.lower[j], r.upper[j] = s.lower[j], s.upper[j]
			r.changed = true
		}
	}
}

// clean puts fixed variables into the bounds of the rows, and drops sides of rows that cannot be broken.
func (r *reducer) clean() {
	for i := range r.rows {
		row := &r.rows[i]
		if row.gone {
			continue
		}
		n := 0
		for _, t := range row.terms {
			if l := r.lower[t.Variable]; l == r.upper[t.Variable] {
				row.lower -= t.Coefficient * l
				row.upper -= t.Coefficient * l
				continue
			}
			row.terms[n] = t
			n++
		}
		r.changed = r.changed || n < len(row.terms)
		row.terms = row.terms[:n]
		row.exact = r.isExact(row)
		least, most, size := r.span(row.terms)
		slack := 1e-12 * size
		if row.exact {
			slack = 0
		}
		if least > row.upper+rowMargin*(1+size) || most < row.lower-rowMargin*(1+size) {
			r.hopeless = true
			return
		}
		if least >= row.lower-slack {
			row.lower = math.Inf(-1)
		}
		if most <= row.upper+slack {
			row.upper = math.Inf(1)
		}
		if math.IsInf(row.lower, -1) && math.IsInf(row.upper, 1) {
			row.gone, r.changed = true, true
		}
	}
}

// isExact says whether all variables of a row are whole and all numbers whole and small.
func (r *reducer) isExact(row *reducedRow) bool {
	small := func(v float64) bool { return v == math.Trunc(v) && math.Abs(v) <= exactMost }
	for _, t := range row.terms {
		if !r.whole[t.Variable] || !small(t.Coefficient) || !small(r.lower[t.Variable]) || !small(r.upper[t.Variable]) {
			return false
		}
	}
	return (small(row.lower) || math.IsInf(row.lower, -1)) && (small(row.upper) || math.IsInf(row.upper, 1))
}

// span is the least and the most that terms can add up to.
func (r *reducer) span(terms []Term) (least, most, size float64) {
	for _, t := range terms {
		a, b := t.Coefficient*r.lower[t.Variable], t.Coefficient*r.upper[t.Variable]
		least += min(a, b)
		most += max(a, b)
		size = max(size, abs0(a), abs0(b))
	}
	return least, most, size
}

// tightenRows divides exact rows by what their coefficients have in common, and lowers coefficients of variables that open a row
// altogether, where no whole solution is lost.
func (r *reducer) tightenRows() {
	for i := range r.rows {
		row := &r.rows[i]
		if row.gone {
			continue
		}
		r.divide(row)
		r.hopeless = r.hopeless || row.lower > row.upper
		switch {
		case !row.exact:
		case math.IsInf(row.lower, -1):
			r.lowerCoefficients(row)
		case math.IsInf(row.upper, 1):
			row.turn()
			r.lowerCoefficients(row)
			row.turn()
		}
	}
}

// divide takes out what the coefficients of a row of whole variables have in common; its bounds, rounded inwards, may then be closer.
func (r *reducer) divide(row *reducedRow) {
	g := 0.0
	for _, t := range row.terms {
		if !r.whole[t.Variable] || t.Coefficient != math.Trunc(t.Coefficient) || math.Abs(t.Coefficient) > exactMost {
			return
		}
		for a := math.Abs(t.Coefficient); a != 0; {
			g, a = a, math.Mod(g, a)
		}
	}
	low, high := math.Ceil(row.lower-wholeSlack), math.Floor(row.upper+wholeSlack)
	if g > 1 {
		for k := range row.terms {
			row.terms[k].Coefficient /= g
		}
		low, high = math.Ceil((row.lower-wholeSlack)/g), math.Floor((row.upper+wholeSlack)/g)
		r.changed = true
	}
	if g > 0 {
		row.lower, row.upper = low, high
	}
}

func (row *reducedRow) turn() {
	for k := range row.terms {
		row.terms[k].Coefficient *= -1
	}
	row.lower, row.upper = -row.upper, -row.lower
}

// lowerCoefficients tightens terms <= upper: a zero-one variable that, on one side, leaves the row without effect needs only as large a
// coefficient as keeps it so.
func (r *reducer) lowerCoefficients(row *reducedRow) {
	_, most, _ := r.span(row.terms)
	if math.IsInf(most, 0) {
		return
	}
	for k := range row.terms {
		t := &row.terms[k]
		if r.upper[t.Variable]-r.lower[t.Variable] != 1 || r.lower[t.Variable] != 0 {
			continue
		}
		over := most - row.upper // what the row cuts off
		if over <= 0 {
			return
		}
		switch a := t.Coefficient; {
		case a > 0 && a > over:
			t.Coefficient = over
			row.upper -= a - over
			most -= a - over
			r.changed = true
		case a < 0 && -a > over:
			t.Coefficient = -over
			r.changed = true
		}
	}
	row.terms = slices.DeleteFunc(row.terms, func(t Term) bool { return t.Coefficient == 0 })
}

// index lists the rows of each variable.
func (r *reducer) index() {
	r.columns = make([][]int32, len(r.cost))
	for i := range r.rows {
		if r.rows[i].gone {
			continue
		}
		for _, t := range r.rows[i].terms {
			r.columns[t.Variable] = append(r.columns[t.Variable], int32(i))
		}
	}
}

// fixIdle fixes variables that no row needs at the dearer side: what costs nothing or more is at its least where no row asks for more.
func (r *reducer) fixIdle() {
	for j, c := range r.cost {
		l, u := r.lower[j], r.upper[j]
		if l == u {
			continue
		}
		up, down := r.asks(j)
		switch {
		case !up && c >= 0 && !math.IsInf(l, 0):
			r.upper[j] = l
		case !down && c <= 0 && !math.IsInf(u, 0):
			r.lower[j] = u
		default:
			continue
		}
		r.changed = true
	}
}

// asks says whether some row may want a variable larger, or smaller.
func (r *reducer) asks(j int) (up, down bool) {
	for _, i := range r.columns[j] {
		row := &r.rows[i]
		k, _ := slices.BinarySearchFunc(row.terms, j, func(t Term, j int) int { return t.Variable - j })
		a := row.terms[k].Coefficient
		low, high := !math.IsInf(row.lower, -1), !math.IsInf(row.upper, 1)
		up = up || low && a > 0 || high && a < 0
		down = down || low && a < 0 || high && a > 0
	}
	return up, down
}

// dropCovered drops rows that follow from one other row and the bounds of the variables.
func (r *reducer) dropCovered() {
	for i := range r.rows {
		row := &r.rows[i]
		if row.gone || !row.exact || len(row.terms) == 0 {
			continue
		}
		rare := slices.MinFunc(row.terms, func(a, b Term) int { return cmp.Compare(len(r.columns[a.Variable]), len(r.columns[b.Variable])) })
		for _, o := range r.columns[rare.Variable] {
			other := &r.rows[o]
			if int(o) == i || other.gone || !other.exact || len(other.terms) > coverMost*len(row.terms)+coverMost {
				continue
			}
			r.dropSides(row, other)
			if row.gone {
				break
			}
		}
	}
}

// dropSides drops the sides of a row that follow from another: row = k * other + rest, with k the ratio of their signs at hand.
func (r *reducer) dropSides(row, other *reducedRow) {
	for _, k := range []float64{1, -1} {
		least, most := r.rest(row, other, k)
		low, high := other.lower, other.upper
		if k < 0 {
			low, high = -high, -low
		}
		if !math.IsInf(row.upper, 1) && high+most <= row.upper {
			row.upper = math.Inf(1)
		}
		if !math.IsInf(row.lower, -1) && low+least >= row.lower {
			row.lower = math.Inf(-1)
		}
		if math.IsInf(row.lower, -1) && math.IsInf(row.upper, 1) {
			row.gone, r.changed = true, true
			return
		}
	}
}

// rest is the span of row - k * other.
func (r *reducer) rest(row, other *reducedRow, k float64) (least, most float64) {
	a, b := row.terms, other.terms
	for len(a) > 0 || len(b) > 0 {
		var t Term
		switch {
		case len(b) == 0 || len(a) > 0 && a[0].Variable < b[0].Variable:
			t, a = a[0], a[1:]
		case len(a) == 0 || b[0].Variable < a[0].Variable:
			t, b = Term{b[0].Variable, -k * b[0].Coefficient}, b[1:]
		default:
			t = Term{a[0].Variable, a[0].Coefficient - k*b[0].Coefficient}
			a, b = a[1:], b[1:]
		}
		if t.Coefficient == 0 {
			continue
		}
		x, y := t.Coefficient*r.lower[t.Variable], t.Coefficient*r.upper[t.Variable]
		least += min(x, y)
		most += max(x, y)
		if math.IsInf(least, -1) && math.IsInf(most, 1) {
			break
		}
	}
	return least, most
}

// finish writes the smaller program. All that is fixed costs through one variable fixed at 1.
func (r *reducer) finish(p *Program) *reduced {
	out := &reduced{Program: &Program{}, hopeless: r.hopeless, fixed: make([]float64, len(p.cost)), left: make([]int, len(p.cost))}
	if r.hopeless {
		return out
	}
	constant := 0.0
	for j := range p.cost {
		out.left[j] = -1
		if r.lower[j] == r.upper[j] {
			out.fixed[j] = r.lower[j]
			constant += r.cost[j] * r.lower[j]
			continue
		}
		out.left[j] = out.Variable(r.lower[j], r.upper[j], r.cost[j], r.whole[j])
		out.from = append(out.from, j)
	}
	out.Variable(1, 1, constant, true)
	out.from = append(out.from, -1)
	for i := range r.rows {
		row := &r.rows[i]
		if row.gone {
			continue
		}
		terms := make([]Term, 0, len(row.terms))
		low, high := row.lower, row.upper
		for _, t := range row.terms {
			if k := out.left[t.Variable]; k >= 0 {
				terms = append(terms, Term{k, t.Coefficient})
			} else {
				low, high = low-t.Coefficient*out.fixed[t.Variable], high-t.Coefficient*out.fixed[t.Variable]
			}
		}
		out.Row(low, high, terms...)
	}
	return out
}

// lift turns a solution of the smaller program into one of the program it came from.
func (r *reduced) lift(x []float64) []float64 {
	out := slices.Clone(r.fixed)
	for k, j := range r.from {
		if j >= 0 {
			out[j] = x[k]
		}
	}
	return out
}

// press turns a solution of the program it came from into one of the smaller program, or nil when that has lost it.
func (r *reduced) press(x []float64) []float64 {
	out := make([]float64, len(r.from))
	for k, j := range r.from {
		out[k] = 1
		if j >= 0 {
			out[k] = x[j]
		}
	}
	if !r.keeps(out) {
		return nil
	}
	return out
}
