package linear

import (
	"context"
	"math"
)

// leaving chooses the place whose variable leaves the basis: far outside its bounds, on a steep edge.
func (s *simplex) leaving() (int32, float64) {
	r, best, by := noRow, 0.0, 0.0
	for i, out := range s.out {
		if out == 0 || s.skipped && s.skip[i] {
			continue
		}
		if v := out * out / s.weight[s.head[i]]; v > best {
			r, best, by = int32(i), v, out
		}
	}
	return r, by
}

// tableauRow works out row r of the basis inverse and of the tableau.
func (s *simplex) tableauRow(r int32) {
	clear(s.rho)
	s.rho[r] = 1
	s.f.backward(s.rho)
	for _, j := range s.rowAt {
		s.row[j], s.inRow[j] = 0, false
	}
	s.rowAt, s.rhoAt = s.rowAt[:0], s.rhoAt[:0]
	for k, v := range s.rho {
		if v == 0 {
			continue
		}
		if math.Abs(v) < dropBelow {
			s.rho[k] = 0
			continue
		}
		s.rhoAt = append(s.rhoAt, int32(k))
		i := int(s.f.order[k])
		cols, values := s.byRow.of(int32(i))
		for k, c := range cols {
			if !s.inRow[c] {
				s.inRow[c] = true
				s.rowAt = append(s.rowAt, c)
			}
			s.row[c] += v * values[k]
		}
		j := int32(s.n + i)
		s.inRow[j] = true
		s.rowAt = append(s.rowAt, j)
		s.row[j] = -v
	}
}

// entering makes the ratio test over the tableau row: it goes past variables that can jump to their other bound as long as the row that
// leaves stays outside, and takes a large pivot among near equals. It gives none when the row cannot be brought inside at all.
func (s *simplex) entering(out float64) int32 {
	sign := 1.0
	if out < 0 {
		sign = -1
	}
	s.breaks, s.flips = s.breaks[:0], s.flips[:0]
	for _, j := range s.rowAt {
		a := s.at[j]
		if a == basic || s.lower[j] == s.upper[j] {
			continue
		}
		v, d := sign*s.row[j], s.d[j]
		switch {
		case a == atLower && v > alphaLeast:
		case a == atUpper && v < -alphaLeast:
			v, d = -v, -d
		case a == atZero && (v > alphaLeast || v < -alphaLeast):
			v, d = math.Abs(v), 0
		default:
			continue
		}
		s.breaks = append(s.breaks, breakpoint{j, max(d, 0), v})
	}
	return s.pass(math.Abs(out))
}

// pass is the ratio test proper; slope is how far the row is outside. On return flips are the variables to be moved to their other bound.
func (s *simplex) pass(slope float64) int32 {
	type stop struct {
		variable int32
		size     float64
		flips    int
	}
	var stops []stop
	left := s.breaks
	for len(left) > 0 {
		most := math.Inf(1)
		for _, b := range left {
			if t := (b.cost + harrisSlack) / b.size; t < most {
				most = t
			}
		}
		n, drop := 0, 0.0
		here := stop{-1, 0, len(s.flips)}
		for _, b := range left {
			if b.cost > most*b.size {
				left[n] = b
				n++
				continue
			}
			drop += b.size * (s.upper[b.variable] - s.lower[b.variable])
			if b.size > here.size {
				here.variable, here.size = b.variable, b.size
			}
			s.flips = append(s.flips, b.variable)
		}
		left = left[:n]
		stops = append(stops, here)
		slope -= drop
		if !(slope >= 0) {
			break
		}
		if n == 0 && slope > primalSlack {
			return -1
		}
	}
	if len(stops) == 0 {
		return -1
	}
	largest := 0.0
	for _, a := range stops {
		largest = max(largest, a.size)
	}
	for k := len(stops) - 1; k >= 0; k-- {
		if stops[k].size >= 1e-3*largest || stops[k].size >= 0.1 {
			s.flips = s.flips[:stops[k].flips]
			return stops[k].variable
		}
	}
	return -1 // not reached: one of them is the largest
}

// dual runs the dual simplex from a basis whose reduced costs are right for the costs in use. Cutoff: stop when the cost is proved to be
// above it.
func (s *simplex) dual(ctx context.Context, cutoff float64) end {
	s.measureAll()
	for turn := 0; ; turn++ {
		if s.tired() {
			s.refactor()
			s.mendCosts()
		}
		if turn%looksEvery == 0 && ctx.Err() != nil || s.pivots >= s.pivotsEnd {
			return endUnsure
		}
		if turn%checkEvery == checkEvery-1 && !math.IsInf(cutoff, 1) && s.certify(s.duals(), true) > cutoff {
			return endCutoff
		}
		r, out := s.leaving()
		if r == noRow {
			if s.skipped {
				return endUnsure
			}
			return endOptimal
		}
		s.tableauRow(r)
		q := s.entering(out)
		if q < 0 {
			if s.contradiction() {
				return endInfeasible
			}
			s.giveUp(r)
			continue
		}
		s.enteringColumn(q)
		a := s.alpha[r]
		if math.Abs(a-s.row[q]) > strayMost*(1+math.Abs(a)) || math.Abs(a) < alphaLeast {
			s.giveUp(r)
			continue
		}
		s.step(r, q)
	}
}

// enteringColumn works out the column of the tableau.
func (s *simplex) enteringColumn(q int32) {
	clear(s.alpha)
	s.scatter(q, 1, s.alpha)
	s.f.forward(s.alpha)
	s.alphaAt = s.alphaAt[:0]
	for i, v := range s.alpha {
		if v != 0 {
			s.alphaAt = append(s.alphaAt, int32(i))
		}
	}
}

// tired says that the factors have to be made anew.
func (s *simplex) tired() bool {
	return len(s.f.eta) >= etasMost || len(s.f.etaIndex) > 3*s.f.entries+2*s.m
}

// giveUp makes the factors anew after doubtful numbers; if they are new already the row is left alone for now.
func (s *simplex) giveUp(r int32) {
	if len(s.f.eta) > 0 {
		s.refactor()
		s.mendCosts()
		return
	}
	s.skip[r], s.skipped = true, true
}

// step exchanges the variable at place r for q, after the flips.
func (s *simplex) step(r, q int32) {
	if len(s.flips) > 0 {
		s.flip()
	}
	p := s.head[r]
	if wrong(s.at[q], s.d[q], 0) {
		s.work[q] -= s.d[q]
		s.d[q] = 0
	}
	theta := s.d[q] / s.alpha[r]
	for _, j := range s.rowAt {
		if s.at[j] == basic {
			continue
		}
		s.d[j] -= theta * s.row[j]
		if s.lower[j] != s.upper[j] && wrong(s.at[j], s.d[j], harrisSlack) {
			s.work[j] -= s.d[j]
			s.d[j] = 0
		}
	}
	s.d[q], s.d[p] = 0, -theta

	bound, side := s.lower[p], atLower
	if s.x[p] > s.upper[p] || s.x[p] > bound && s.upper[p]-s.x[p] < s.x[p]-bound {
		bound, side = s.upper[p], atUpper
	}
	by := (s.x[p] - bound) / s.alpha[r]
	s.sharpen(r, q)
	if by != 0 {
		for _, i := range s.alphaAt {
			j := s.head[i]
			s.x[j] -= by * s.alpha[i]
			s.out[i] = s.outside(j)
		}
	}
	s.x[q] += by
	s.x[p] = bound
	if s.lower[p] == s.upper[p] {
		side = atLower
	}
	s.exchange(r, q, side)
	s.out[r] = s.outside(q)
}

func (s *simplex) exchange(r, q int32, side place) {
	p := s.head[r]
	s.f.exchange(r, s.alpha, s.alphaAt)
	s.at[p], s.at[q] = side, basic
	s.head[r], s.where[q] = q, r
	s.pivots++
}

// sharpen brings the steepest edge weights up to date.
func (s *simplex) sharpen(r, q int32) {
	own := 0.0
	for _, i := range s.rhoAt {
		own += s.rho[i] * s.rho[i]
	}
	copy(s.tau, s.rho)
	s.f.forward(s.tau)
	a := s.alpha[r]
	for _, i := range s.alphaAt {
		if i == r {
			continue
		}
		k := s.alpha[i] / a
		w := &s.weight[s.head[i]]
		*w = max(*w-2*k*s.tau[i]+k*k*own, weightLeast)
	}
	s.weight[q] = max(own/(a*a), weightLeast)
	clear(s.tau)
}

// flip moves the variables of flips to their other bounds.
func (s *simplex) flip() {
	clear(s.tau)
	for _, j := range s.flips {
		to := s.lower[j]
		if s.at[j] == atLower {
			to = s.upper[j]
		}
		s.scatter(j, s.x[j]-to, s.tau)
		s.x[j] = to
		s.at[j] = atLower + atUpper - s.at[j]
	}
	s.f.forward(s.tau)
	for i, v := range s.tau {
		if v != 0 {
			j := s.head[i]
			s.x[j] += v
			s.out[i] = s.outside(j)
		}
	}
	clear(s.tau)
}

// contradiction tries to prove by the row in rho that no values satisfy rows and bounds.
func (s *simplex) contradiction() bool {
	for _, sign := range []float64{1, -1} {
		largest, sum := 0.0, 0.0
		for k, v := range s.rho {
			s.multipliers[s.f.order[k]] = sign * v
			largest = max(largest, math.Abs(v))
			sum += math.Abs(v)
		}
		for i := range s.multipliers {
			s.multipliers[i] /= largest
		}
		if s.certify(s.multipliers, false) > primalSlack*(1+sum/largest) {
			return true
		}
	}
	return false
}
