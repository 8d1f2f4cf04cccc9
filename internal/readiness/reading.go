package readiness

// reading is one way of filling in everything unknown.
type reading struct {
	family   int // index in the inquiry's families
	operates crew
	sites    uint32 // of the methods, one bit each: the site allows it, where that is unknown
	well     needs  // open needs that turn out well
	number   int    // first aiders asked for
	plan     bool   // there is a call plan, where that is unknown
}

func (r reading) allows(by *method) bool {
	return by.allowed == Yes || by.allowed == Unknown && r.sites>>by.place&1 == 1
}

// best and worst are the readings in which everything unknown turns out well, and in which nothing does, for one family. Every unknown
// pulls one way, so a class lies between the two.
func (in *inquiry) best(family int) reading {
	return reading{family: family, operates: in.asked, sites: ^uint32(0), well: allNeeds, number: in.numbers.least, plan: true}
}

func (in *inquiry) worst(family int) reading {
	return reading{family: family, number: in.numbers.greatest}
}

// class is the class of a choice at a moment under a reading: the worst of its lines.
func (in *inquiry) class(m *moment, r reading, aloft crew) Verdict {
	if aloft&^m.present != 0 {
		return NotReady
	}
	v := min(in.firstAid(m, r.number, aloft), in.callPlan(r), duty(m))
	if v == NotReady {
		return NotReady
	}
	return min(v, in.card(m, r.family), in.rescue(m, r, m.usable&^aloft))
}

func (in *inquiry) callPlan(r reading) Verdict {
	plan := in.q.Job.CallPlan
	if plan == Yes || plan == Unknown && r.plan {
		return Ready
	}
	return in.q.Rules.CallPlanMissing
}

func duty(m *moment) Verdict {
	if len(m.unheld) > 0 {
		return Conditional
	}
	return Ready
}

// sheet is what is known at one moment: the verdict and the class of every choice.
type sheet struct {
	verdict Verdict
	known   []Verdict
}

// sheetOf judges a moment. A choice is READY or CONDITIONAL only if it is so in every reading; a verdict of CONDITIONAL asks also that
// no reading holds anything better or worse, because then one must look first.
func (in *inquiry) sheetOf(m *moment) sheet {
	s := sheet{known: make([]Verdict, len(in.choices))}
	bestOfAll, sureOfAll, bestKnown := NotReady, Ready, NotReady
	low, high := make([]Verdict, len(in.families)), make([]Verdict, len(in.families))
	for c, aloft := range in.choices {
		lowest, highest := Ready, NotReady
		for f := range in.families {
			l, h := in.class(m, in.worst(f), aloft), in.class(m, in.best(f), aloft)
			low[f], high[f] = max(low[f], l), max(high[f], h)
			lowest, highest = min(lowest, l), max(highest, h)
		}
		s.known[c] = CannotTell
		if lowest == highest {
			s.known[c] = lowest
		}
		bestKnown = max(bestKnown, s.known[c])
	}
	for f := range in.families {
		bestOfAll, sureOfAll = max(bestOfAll, high[f]), min(sureOfAll, low[f])
	}
	s.verdict = momentVerdict(bestKnown, sureOfAll, bestOfAll)
	return s
}

func momentVerdict(known, lowest, highest Verdict) Verdict {
	switch {
	case known == Ready:
		return Ready
	case highest == NotReady:
		return NotReady
	case known == Conditional && lowest == Conditional && highest == Conditional:
		return Conditional
	}
	return CannotTell
}
