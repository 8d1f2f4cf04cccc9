package linear

import "math"

const diveDepth = 200 // relaxations of a dive

// dive looks for a solution by rounding one variable after the other to the nearest whole number, each time with a new relaxed solution.
// The bounds and the basis it started from are put back; the relaxation is to be solved again.
func (t *search) dive() {
	s := t.s
	changes := t.changesHere()
	lower, upper := append([]float64(nil), s.lower[:s.n]...), append([]float64(nil), s.upper[:s.n]...)
	at := packBasis(s.at)
	for range diveDepth {
		j, x := t.nearest()
		if j < 0 {
			t.offer(s.values())
			break
		}
		t.t.set(j, x, x)
		if !t.t.run() {
			break
		}
		if _, e := t.relax(); e != endOptimal {
			break
		}
	}
	copy(s.lower, lower)
	copy(s.upper, upper)
	t.t.drop()
	t.t.reset()
	for _, c := range changes {
		t.t.touch(c.variable)
	}
	t.t.drop()
	unpackBasis(at, s.at)
	copy(s.work, s.base)
	t.plain = false
	s.refactor()
	s.mendCosts()
}

// nearest finds the variable that is nearest to a whole number without being one, ups preferred, and the number.
func (t *search) nearest() (int32, float64) {
	best, by, to := int32(-1), math.Inf(1), 0.0
	for _, j := range t.fractional() {
		x := t.s.x[j]
		f := x - math.Floor(x)
		away, target := 1-f, math.Floor(x)+1
		if f < 0.3 {
			away, target = 0.5+f, math.Floor(x)
		}
		if away < by {
			best, by, to = j, away, target
		}
	}
	return best, to
}
