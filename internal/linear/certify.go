package linear

import "math"

const (
	unit       = 2.3e-16 // what one operation on numbers can be wrong by, relative
	looseCost  = 1e-9    // reduced costs of variables without a bound that count as zero, scaled
	looseRay   = 1e-11   // the same where no costs are in play
	reachMost  = 1e7     // bounds worked out from rows beyond this are of no use
	reachTurns = 4
)

// certify bounds the cost of everything within rows and bounds from below, given any multipliers of the rows: a multiplier above zero
// takes the lower bound of its row, one below zero the upper bound, and what is left of the costs takes the bounds of the variables.
// Every rounding error is charged against the sum. Without costs a sum above zero proves that nothing is feasible. Only where a
// variable has no bound at all, not even through a row, a reduced cost within looseCost of zero is taken for zero. The reduced costs stay
// in combined.
func (s *simplex) certify(y []float64, costs bool) float64 {
	sum, size, spread := 0.0, 0.0, 0.0
	left := s.combined
	loose := looseRay
	if costs {
		copy(left, s.cost[:s.n])
		loose = looseCost
	} else {
		clear(left)
	}
	most := 0.0
	for i, v := range y {
		if v == 0 {
			continue
		}
		bound := s.lower[s.n+i]
		if v < 0 {
			bound = s.upper[s.n+i]
		}
		if math.IsInf(bound, 0) || v != v {
			continue
		}
		sum += v * bound
		size += math.Abs(v * bound)
		most = max(most, math.Abs(v))
		cols, values := s.byRow.of(int32(i))
		for k, c := range cols {
			left[c] -= v * values[k]
		}
	}
	for j, d := range left {
		// what was added up to d was at most most*(sum of the column) + cost, one rounding a step
		start, end := s.byCol.start[j], s.byCol.start[j+1]
		if d == 0 && start == end {
			continue
		}
		wrongBy := unit * float64(end-start+2) * (most*s.columnSize[j] + math.Abs(s.cost[j]))
		l, u := s.lower[j], s.upper[j]
		if math.IsInf(l, 0) {
			l = s.reach[0][j]
		}
		if math.IsInf(u, 0) {
			u = s.reach[1][j]
		}
		if d-wrongBy < 0 && math.IsInf(u, 1) || d+wrongBy > 0 && math.IsInf(l, -1) {
			if math.Abs(d) > loose*(1+math.Abs(s.cost[j])) {
				s.certified = math.Inf(-1)
				return s.certified
			}
			continue
		}
		if d == 0 && wrongBy == 0 {
			continue
		}
		at := l
		if d < 0 {
			at = u
		}
		if far := max(abs0(l), abs0(u)); far > 0 {
			spread += wrongBy * far
		}
		if at != 0 && d != 0 {
			sum += d * at
			size += math.Abs(d * at)
		}
	}
	s.certified = sum - spread*1.01 - size*unit*float64(s.n+s.m+2)
	return s.certified
}

// abs0 is the size of a bound, 0 for none.
func abs0(x float64) float64 {
	if math.IsInf(x, 0) {
		return 0
	}
	return math.Abs(x)
}

// impliedBounds works out bounds that the rows give to variables that have none of their own.
func impliedBounds(p *Program) (lower, upper []float64) {
	lower, upper = append([]float64(nil), p.lower...), append([]float64(nil), p.upper...)
	open := false
	for j := range lower {
		open = open || math.IsInf(lower[j], 0) || math.IsInf(upper[j], 0)
	}
	for turn := 0; open && turn < reachTurns; turn++ {
		open = false
		for i, row := range p.rows {
			for _, t := range row {
				if math.IsInf(lower[t.Variable], 0) || math.IsInf(upper[t.Variable], 0) {
					open = reachBy(row, p.rowLower[i], p.rowUpper[i], t, lower, upper) || open
				}
			}
		}
	}
	return lower, upper
}

// reachBy narrows one variable by one row, a little wide so that rounding does no harm.
func reachBy(row []Term, low, high float64, t Term, lower, upper []float64) bool {
	least, most := 0.0, 0.0
	for _, o := range row {
		if o.Variable == t.Variable {
			continue
		}
		a, b := o.Coefficient*lower[o.Variable], o.Coefficient*upper[o.Variable]
		least += min(a, b)
		most += max(a, b)
	}
	// coefficient * variable lies between these
	from, to := (low-most)/t.Coefficient, (high-least)/t.Coefficient
	if t.Coefficient < 0 {
		from, to = to, from
	}
	changed := false
	j := t.Variable
	if math.IsInf(lower[j], 0) && from > -reachMost && from < reachMost {
		lower[j] = from - 1e-6*(1+math.Abs(from))
		changed = true
	}
	if math.IsInf(upper[j], 0) && to < reachMost && to > -reachMost {
		upper[j] = to + 1e-6*(1+math.Abs(to))
		changed = true
	}
	return changed
}
