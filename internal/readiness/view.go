package readiness

// A view asks one thing of a moment, of which more people can only make more (with somebody aloft). What a target asks is made of views,
// so that of everybody only what a view sees has to be looked at.
type view uint8

const (
	// surelyReady: some choice is READY in every reading. Over a window the same choice must be.
	surelyReady view = iota
	// surelyCovered: some choice is CONDITIONAL at least in every reading.
	surelyCovered
	// perhapsReady: some choice is READY in some reading.
	perhapsReady
	// perhapsCovered: some choice is CONDITIONAL at least in some reading.
	perhapsCovered
	views
)

func (v view) sure() bool { return v == surelyReady || v == surelyCovered }

// least is the class asked for.
func (v view) least() Verdict {
	if v == surelyReady || v == perhapsReady {
		return Ready
	}
	return Conditional
}

// viewsOf lists the views that a target is made of, the first of which is the bound: without it the target is not reached.
//
// READY: the same choice surely READY all through. CANNOT_TELL: at every moment some choice is not NOT_READY in some reading.
//
// CONDITIONAL: at every moment surelyCovered, and surelyReady or not perhapsReady. For then: if some choice is surely READY the moment is
// READY. If none is, but one is READY in some reading, one must look first: CANNOT_TELL. If none is READY in any reading, the choice that
// is covered in every reading is known CONDITIONAL and nothing is better, which is CONDITIONAL. Without a choice covered in every reading
// there is none that is known, and the moment is CANNOT_TELL or NOT_READY.
func viewsOf(target Verdict) []view {
	switch target {
	case Ready:
		return []view{surelyReady}
	case Conditional:
		return []view{surelyCovered, perhapsReady, surelyReady}
	}
	return []view{perhapsCovered}
}

// counts says whether somebody who counts so is seen in a role.
func (v view) counts(surely, perhaps pair) bool {
	seen := surely
	if !v.sure() {
		seen.full |= perhaps.full
		seen.some |= perhaps.some
	}
	if v.least() == Ready {
		return seen.full != 0
	}
	return seen.some != 0
}

// useful says that a method can lead to what the view asks at a moment: a conditional method never to READY, one that is not surely
// allowed and in order to nothing sure, one that is surely forbidden or out of order to nothing.
func (v view) useful(m *method, at *moment) bool {
	switch {
	case m.Conditional && v.least() == Ready:
		return false
	case v.sure():
		return m.allowed == Yes && at.meets(m.needs, 0)
	}
	return m.allowed != No && at.meets(m.needs, allNeeds)
}

// sees says that a choice has what the view asks: in every family's worst reading, or in some family's best.
func (v view) sees(in *inquiry, m *moment, aloft crew) bool {
	for f := range in.families {
		r := in.best(f)
		if v.sure() {
			r = in.worst(f)
		}
		if reached := in.class(m, r, aloft) >= v.least(); reached != v.sure() {
			return reached
		}
	}
	return v.sure()
}
