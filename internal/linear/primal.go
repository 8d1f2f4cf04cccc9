package linear

import (
	"context"
	"math"
)

const stallMost = 200 // steps of length zero before the rule that cannot cycle is used

// primal runs the primal simplex from a feasible basis with the costs in use. It comes after the dual simplex and has little to do, so
// the reduced costs are worked out anew for every step.
func (s *simplex) primal(ctx context.Context) end {
	stalled := 0
	limit := s.pivots + 20*(s.n+s.m) + 2000
	for turn := 0; ; turn++ {
		if s.tired() {
			s.refactor()
		}
		if turn%looksEvery == 0 && ctx.Err() != nil || s.pivots >= min(limit, s.pivotsEnd) {
			return endUnsure
		}
		s.computeCosts()
		q := s.pull(stalled > stallMost)
		if q < 0 {
			if len(s.f.eta) == 0 {
				s.evenWeights()
				return endOptimal
			}
			s.refactor()
			continue
		}
		s.enteringColumn(q)
		dir := 1.0
		if s.d[q] > 0 {
			dir = -1
		}
		r, length := s.blocking(dir, stalled > stallMost)
		if own := s.upper[q] - s.lower[q]; own <= length && !math.IsInf(own, 1) {
			s.jump(q, dir*own)
			s.pivots++
			stalled = 0
			continue
		}
		if r == noRow {
			if len(s.f.eta) == 0 {
				return endUnbounded
			}
			s.refactor()
			continue
		}
		if math.Abs(s.alpha[r]) < 1e-7 && len(s.f.eta) > 0 {
			s.refactor()
			continue
		}
		if stalled++; length > 0 {
			stalled = 0
		}
		s.advance(r, q, dir, length)
	}
}

// evenWeights forgets the steepest edges.
func (s *simplex) evenWeights() {
	for j := range s.weight {
		s.weight[j] = 1
	}
}

// pull chooses the variable that enters: the one that gains most per unit of its column, or the first that gains.
func (s *simplex) pull(first bool) int32 {
	q, best := int32(-1), 0.0
	for j, a := range s.at {
		d := s.d[j]
		if a == basic || s.lower[j] == s.upper[j] || !wrong(a, d, dualSlack*(1+math.Abs(s.work[j]))) {
			continue
		}
		if first {
			return int32(j)
		}
		size := 1.0
		if j < s.n {
			size += float64(s.byCol.start[j+1] - s.byCol.start[j])
		}
		if v := d * d / size; v > best {
			q, best = int32(j), v
		}
	}
	return q
}

// blocking finds the place that stops a move along alpha, and how far it lets the move go.
func (s *simplex) blocking(dir float64, first bool) (int32, float64) {
	most := math.Inf(1)
	for i, v := range s.alpha {
		if math.Abs(v) < alphaLeast {
			continue
		}
		room := s.room(int32(i), -dir*v)
		slack := primalSlack
		if first {
			slack = 0
		}
		most = min(most, (max(room, 0)+slack)/math.Abs(v))
	}
	if math.IsInf(most, 1) {
		return noRow, most
	}
	r, size := noRow, 0.0
	for i, v := range s.alpha {
		a := math.Abs(v)
		if a < alphaLeast || max(s.room(int32(i), -dir*v), 0) > most*a {
			continue
		}
		if first && r != noRow && s.head[i] > s.head[r] {
			continue
		}
		if first || a > size {
			r, size = int32(i), a
		}
	}
	if r == noRow {
		return r, most
	}
	return r, max(s.room(r, -dir*s.alpha[r]), 0) / math.Abs(s.alpha[r])
}

// room is how far the variable at a place can go, up when rate is above zero, down when it is below.
func (s *simplex) room(i int32, rate float64) float64 {
	j := s.head[i]
	if rate > 0 {
		return s.upper[j] - s.x[j]
	}
	return s.x[j] - s.lower[j]
}

// jump moves q to its other bound.
func (s *simplex) jump(q int32, by float64) {
	for i, v := range s.alpha {
		if v != 0 {
			s.x[s.head[i]] -= by * v
		}
	}
	s.at[q] = atLower + atUpper - s.at[q]
	s.x[q] = s.lower[q]
	if s.at[q] == atUpper {
		s.x[q] = s.upper[q]
	}
}

// advance moves q by length and exchanges it for the variable at place r.
func (s *simplex) advance(r, q int32, dir, length float64) {
	by := dir * length
	for i, v := range s.alpha {
		if v != 0 {
			s.x[s.head[i]] -= by * v
		}
	}
	s.x[q] += by
	p := s.head[r]
	side := atLower
	if -dir*s.alpha[r] > 0 && s.lower[p] != s.upper[p] {
		side = atUpper
	}
	s.x[p] = s.lower[p]
	if side == atUpper {
		s.x[p] = s.upper[p]
	}
	s.exchange(r, q, side)
}
