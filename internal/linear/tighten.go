package linear

import "math"

const (
	wholeSlack = 1e-6 // how far a value may be from a whole one and count as whole
	rowMargin  = 1e-7 // a row is broken by bounds alone when it is missed by more than this, scaled
)

// tightener narrows the bounds of variables by what the rows leave, over and over until nothing more follows. It works on the bounds of a
// simplex and remembers which variables it changed.
type tightener struct {
	s       *simplex
	whole   []bool
	touched []int32 // variables changed since the last reset
	marked  []bool
	queue   []int32 // rows to be looked at
	queued  []bool
}

func newTightener(s *simplex, whole []bool) *tightener {
	return &tightener{s: s, whole: whole, marked: make([]bool, s.n), queued: make([]bool, s.m)}
}

// reset forgets what was changed.
func (t *tightener) reset() {
	for _, j := range t.touched {
		t.marked[j] = false
	}
	t.touched = t.touched[:0]
}

// all asks for a look at every row.
func (t *tightener) all() {
	for i := range int32(t.s.m) {
		t.ask(i)
	}
}

func (t *tightener) ask(row int32) {
	if !t.queued[row] {
		t.queued[row] = true
		t.queue = append(t.queue, row)
	}
}

// set narrows one variable. Bounds that would widen are passed over.
func (t *tightener) set(j int32, lower, upper float64) {
	s := t.s
	if lower <= s.lower[j] && upper >= s.upper[j] {
		return
	}
	s.lower[j], s.upper[j] = max(s.lower[j], lower), min(s.upper[j], upper)
	if !t.marked[j] {
		t.marked[j] = true
		t.touched = append(t.touched, j)
	}
	rows, _ := s.byCol.of(j)
	for _, r := range rows {
		t.ask(r)
	}
}

// run looks at the rows asked for and those that follow. It gives false when rows and bounds contradict each other.
func (t *tightener) run() bool {
	// a continuous variable could be narrowed for ever by less and less
	most := 40*(t.s.m+t.s.n) + 1000
	for k := 0; k < len(t.queue) && k < most; k++ {
		r := t.queue[k]
		t.queued[r] = false
		if !t.row(r) {
			t.drop()
			return false
		}
	}
	t.drop()
	return true
}

func (t *tightener) drop() {
	for _, r := range t.queue {
		t.queued[r] = false
	}
	t.queue = t.queue[:0]
}

// activity is what the terms of a row can add up to; infinite ones are counted apart.
type activity struct {
	least, most         float64
	leastOpen, mostOpen int
	size                float64
}

func (s *simplex) activity(r int32) activity {
	var a activity
	cols, values := s.byRow.of(r)
	for k, j := range cols {
		v := values[k]
		low, high := v*s.lower[j], v*s.upper[j]
		if v < 0 {
			low, high = high, low
		}
		if math.IsInf(low, 0) {
			a.leastOpen++
		} else {
			a.least += low
			a.size = max(a.size, math.Abs(low))
		}
		if math.IsInf(high, 0) {
			a.mostOpen++
		} else {
			a.most += high
			a.size = max(a.size, math.Abs(high))
		}
	}
	return a
}

// row narrows the variables of one row.
func (t *tightener) row(r int32) bool {
	s := t.s
	low, high := s.lower[s.n+int(r)], s.upper[s.n+int(r)]
	a := s.activity(r)
	margin := rowMargin * (1 + a.size)
	if a.leastOpen == 0 && a.least > high+margin || a.mostOpen == 0 && a.most < low-margin {
		return false
	}
	useHigh := !math.IsInf(high, 1) && a.leastOpen <= 1 && !(a.mostOpen == 0 && a.most <= high)
	useLow := !math.IsInf(low, -1) && a.mostOpen <= 1 && !(a.leastOpen == 0 && a.least >= low)
	if !useHigh && !useLow {
		return true
	}
	cols, values := s.byRow.of(r)
	for k, j := range cols {
		if s.lower[j] == s.upper[j] {
			continue
		}
		v := values[k]
		lower, upper := math.Inf(-1), math.Inf(1)
		own, ownMost := v*s.lower[j], v*s.upper[j]
		if v < 0 {
			own, ownMost = ownMost, own
		}
		if useHigh {
			rest, ok := without(a.least, a.leastOpen, own)
			if ok {
				lower, upper = side(lower, upper, (high-rest)/v, v > 0)
			}
		}
		if useLow {
			rest, ok := without(a.most, a.mostOpen, ownMost)
			if ok {
				lower, upper = side(lower, upper, (low-rest)/v, v < 0)
			}
		}
		if !t.narrow(j, lower, upper) {
			return false
		}
	}
	return true
}

// without takes the part of one variable out of an activity; not ok when another part is infinite.
func without(sum float64, open int, own float64) (float64, bool) {
	if math.IsInf(own, 0) {
		return sum, open == 1
	}
	return sum - own, open == 0
}

func side(lower, upper, value float64, isUpper bool) (float64, float64) {
	if isUpper {
		return lower, min(upper, value)
	}
	return max(lower, value), upper
}

// narrow takes new bounds for a variable where they are worth it: whole ones rounded inwards, others a little wide.
func (t *tightener) narrow(j int32, lower, upper float64) bool {
	s := t.s
	l, u := s.lower[j], s.upper[j]
	if t.whole[j] {
		lower, upper = math.Ceil(lower-wholeSlack), math.Floor(upper+wholeSlack)
	} else {
		worth := 0.1 * (u - l)
		if lower -= 1e-7 * (1 + math.Abs(lower)); lower < l+worth {
			lower = math.Inf(-1)
		}
		if upper += 1e-7 * (1 + math.Abs(upper)); upper > u-worth {
			upper = math.Inf(1)
		}
		if math.IsInf(u-l, 1) {
			// an infinite bound is left alone: a far bound in its place does harm to the numbers
			lower, upper = math.Inf(-1), math.Inf(1)
		}
	}
	if max(lower, l) > min(upper, u) {
		return false
	}
	t.set(j, lower, upper)
	return true
}
