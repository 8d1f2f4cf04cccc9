package readiness

// tour goes through the moments of a crew with people added: the stretches in which neither the crew's state nor what anybody adds changes.
type tour struct {
	crew    []standing
	courses [maxChanges][]added
	at      [maxChanges]int // place in each course
	size    int
	held    bool
	left    []uint64 // choices that have served so far
	started bool
}

func (t *tour) begin(x *setting, chosen []int, ideals int, held bool) {
	t.crew, t.size, t.held, t.started = x.crew, len(chosen)+ideals, held, false
	for i := range t.size {
		t.at[i] = 0
		t.courses[i] = x.table.st.ideal
		if i < len(chosen) {
			t.courses[i] = x.kinds[chosen[i]].course
		}
	}
}

// next goes on to the next moment, and is false at the end of the window.
func (t *tour) next() bool {
	next := never
	if len(t.crew) > 1 {
		next = t.crew[1].from
	}
	for i := range t.size {
		if at := t.at[i] + 1; at < len(t.courses[i]) {
			next = min(next, t.courses[i][at].from)
		}
	}
	if len(t.crew) > 1 && t.crew[1].from == next {
		t.crew = t.crew[1:]
	}
	for i := range t.size {
		if at := t.at[i] + 1; at < len(t.courses[i]) && t.courses[i][at].from == next {
			t.at[i] = at
		}
	}
	return next != never
}

// spot is where the tour is, for a view.
func (t *tour) spot(view int) spot {
	s := spot{state: t.crew[0].state, view: uint8(view), size: uint8(t.size), held: t.held}
	for i := range t.size {
		s.columns[i] = t.courses[i][t.at[i]].columns[view]
	}
	return s
}

// serves says that the moment does not rule out the target, as viewsOf has it; with hope only the bound is asked.
func (t *tour) serves(outcomes *table, hope bool) bool {
	switch target := outcomes.st.s.target; {
	case target == Ready:
		return t.keep(outcomes.choices(t.spot(0)))
	case !outcomes.some(t.spot(0)):
		return false
	case target != Conditional || hope:
		return true
	}
	return !outcomes.some(t.spot(1)) || outcomes.some(t.spot(2))
}

// keep strikes the choices that do not serve at this moment, and says whether any is left.
func (t *tour) keep(serve []uint64) bool {
	if !t.started {
		t.left, t.started = append(t.left[:0], serve...), true
	}
	var some uint64
	for i := range serve {
		t.left[i] &= serve[i]
		some |= t.left[i]
	}
	return some != 0
}
