package readiness

// numbers are the first-aid numbers the site may ask for, by what is not known: near 50 V or not, new hires trained or not.
type numbers struct {
	near    [2]int // number near 50 V: new hires not trained, trained
	below   int
	near50V YesNo
	hires   YesNo

	least, greatest int // of the numbers under any reading
}

// numbersOf follows 29 CFR 1910.269(b)(1): two at a field site; tree trimmers who are not qualified employees one, if every new hire is
// trained within three months; the construction text (1926.951) has no such exception.
func numbersOf(q *Question) numbers {
	n, site := q.Rules.FirstAid, q.Job.Site
	at := numbers{near: [2]int{n.Field, n.Field}, below: n.Below50V, near50V: q.Job.Near50V, hires: site.NewHiresTrained}
	switch {
	case site.Kind == Fixed:
		at.near = [2]int{n.Fixed, n.Fixed}
	case site.Kind == Trimmers && site.RuleText == General:
		at.near[1] = n.Trimmers
	}
	at.least, at.greatest = at.reach()
	return at
}

func (n numbers) given(near50V, hires YesNo) int {
	switch {
	case near50V == No:
		return n.below
	case hires == Yes:
		return n.near[1]
	}
	return n.near[0]
}

// possible lists the ways an answer may turn out.
func (y YesNo) possible() []YesNo {
	if y == Unknown {
		return []YesNo{No, Yes}
	}
	return []YesNo{y}
}

// reach is the smallest and the greatest number under any reading.
func (n numbers) reach() (least, greatest int) {
	least, greatest = maxPeople+maxNumber, 0
	for _, near := range n.near50V.possible() {
		for _, hires := range n.hires.possible() {
			number := n.given(near, hires)
			least, greatest = min(least, number), max(greatest, number)
		}
	}
	return least, greatest
}

// firstAid is the class of both first-aid lines: so many in date on site, aloft ones included, and of them enough on the ground. They
// are asked only where two or more people are present.
func (in *inquiry) firstAid(m *moment, number int, aloft crew) Verdict {
	switch {
	case m.present.size() < 2:
		return Ready
	case m.aid.size() < number:
		return NotReady
	case in.aloft >= 1 && number > 0 && (m.aid&^aloft).size() < in.q.Rules.FirstAid.Ground:
		return NotReady
	}
	return Ready
}
