package readiness

import (
	"cmp"
	"slices"
)

// found gathers the findings of an answer.
type found []Finding

func (fs *found) add(code Code, severity Severity, things []string, values Values) {
	if things == nil {
		things = []string{}
	}
	if values == nil {
		values = Values{}
	}
	*fs = append(*fs, Finding{code, severity, things, values})
}

// findings lists every reason of the answer as data, in the order of codes.
func (in *inquiry) findings(c course, swap bool, deciding []string) []Finding {
	fs := found{}
	in.cardFinding(&fs)
	in.siteFinding(&fs)
	in.groundFinding(&fs)
	in.aloftFindings(&fs)
	in.planFinding(&fs)
	in.equipmentFindings(&fs)
	in.noteFindings(&fs)
	if slices.ContainsFunc(c, func(s sheet) bool { return s.verdict == NotReady }) {
		fs.add(NoCover, SeverityBlock, nil, nil)
	}
	if len(deciding) > 0 {
		fs.add(UnknownDecides, SeverityUnknown, deciding, nil)
	}
	if swap {
		fs.add(SwapAloft, SeverityCondition, nil, nil)
	}
	slices.SortFunc(fs, func(a, b Finding) int { return cmp.Compare(a.Code, b.Code) })
	return fs
}

// blockOr is BLOCK if something fails at some moment under every reading, else UNKNOWN.
func blockOr(surely bool) Severity {
	if surely {
		return SeverityBlock
	}
	return SeverityUnknown
}

// cardFinding flags the card's number whenever it is not met, a note only when nobody goes aloft.
func (in *inquiry) cardFinding(fs *found) {
	least, count, surely := in.q.Rules.CrewRescuers, maxPeople, false
	for i := range in.moments {
		highest := 0
		for f := range in.families {
			trained := in.moments[i].trained[f].some.size()
			count, highest = min(count, trained), max(highest, trained)
		}
		surely = surely || highest < least
	}
	if count >= least {
		return
	}
	severity := blockOr(surely)
	if in.aloft == 0 {
		severity = SeverityNote
	}
	fs.add(CrewBelowTwo, severity, nil, Values{"count": &count, "least": &least})
}

func (in *inquiry) siteFinding(fs *found) {
	have := maxPeople
	for i := range in.moments {
		if in.moments[i].present.size() >= 2 {
			have = min(have, in.moments[i].aid.size())
		}
	}
	if need := in.numbers.greatest; have < need {
		fs.add(FirstAidSite, blockOr(have < in.numbers.least), nil, Values{"have": &have, "need": &need})
	}
}

// groundFinding tells that whoever of those present goes up, too few first aiders stay on the ground.
func (in *inquiry) groundFinding(fs *found) {
	if in.aloft == 0 || in.numbers.greatest == 0 {
		return
	}
	have, need := maxPeople, in.q.Rules.FirstAid.Ground
	for i := range in.moments {
		if most, some := in.mostOnGround(&in.moments[i]); some && in.moments[i].present.size() >= 2 {
			have = min(have, most)
		}
	}
	if have < need {
		fs.add(FirstAidGround, blockOr(in.numbers.least > 0), nil, Values{"have": &have, "need": &need})
	}
}

// mostOnGround is the greatest number of first aiders left below by any choice of those present, if there is one.
func (in *inquiry) mostOnGround(m *moment) (most int, some bool) {
	for _, aloft := range in.choices {
		if aloft&^m.present == 0 {
			most, some = max(most, (m.aid&^aloft).size()), true
		}
	}
	return most, some
}

func (in *inquiry) aloftFindings(fs *found) {
	if in.aloft == 0 {
		return
	}
	if slices.ContainsFunc(in.moments, func(m moment) bool { return (m.present & in.able).size() < in.aloft }) {
		fs.add(TooFewAbleAloft, SeverityBlock, nil, Values{"need": &in.aloft})
	}
	if slices.ContainsFunc(in.moments, func(m moment) bool { return m.present.size() == 1 }) {
		fs.add(LoneWorker, SeverityBlock, nil, nil)
	}
}

func (in *inquiry) planFinding(fs *found) {
	switch plan := in.q.Job.CallPlan; {
	case plan == Unknown:
		fs.add(CallPlanMissing, SeverityUnknown, nil, nil)
	case plan == No && in.q.Rules.CallPlanMissing == NotReady:
		fs.add(CallPlanMissing, SeverityBlock, nil, nil)
	case plan == No:
		fs.add(CallPlanMissing, SeverityCondition, nil, nil)
	}
}

// noteFindings tells the duties nobody holds, who is held back, and what is information only.
func (in *inquiry) noteFindings(fs *found) {
	duties, held := map[string]bool{}, []string{}
	for i := range in.moments {
		for _, d := range in.moments[i].unheld {
			duties[d] = true
		}
	}
	for i := range in.people {
		if slices.ContainsFunc(in.people[i].held, func(s span) bool { return s.overlaps(in.q.Window) }) {
			held = append(held, in.people[i].ID)
		}
	}
	if len(duties) > 0 {
		fs.add(DutyUnheld, SeverityCondition, sorted(duties), nil)
	}
	if len(held) > 0 {
		fs.add(NotForRescueDuty, SeverityNote, held, nil)
	}
	if site := in.q.Job.Site; site.Kind == Fixed {
		fs.add(FourMinutes, SeverityNote, nil, Values{"minutes": site.ReachMinutes})
	}
}

// equipmentFindings tells each want of device and kit that strikes a method which the site does not forbid.
func (in *inquiry) equipmentFindings(fs *found) {
	for i := range in.table {
		w := &in.table[i]
		struck := in.struckBy(w.need)
		if len(struck) == 0 {
			continue
		}
		in.tell(fs, w, in.overMoments(w), struck)
	}
}

// overMoments is No if the want surely fails at some moment, else Unknown if it may, else Yes.
func (in *inquiry) overMoments(w *want) YesNo {
	holds := Yes
	for t := range in.moments {
		switch w.at(in.moments[t].from) {
		case No:
			return No
		case Unknown:
			holds = Unknown
		}
	}
	return holds
}

// struckBy lists the methods with one of these needs that the site does not forbid.
func (in *inquiry) struckBy(need needs) []string {
	var ids []string
	for i := range in.methods {
		if m := &in.methods[i]; m.allowed != No && m.needs&need != 0 {
			ids = append(ids, m.ID)
		}
	}
	slices.Sort(ids)
	return ids
}

func (in *inquiry) tell(fs *found, w *want, holds YesNo, struck []string) {
	var values Values
	if w.code == KitReach {
		values = reachValues(in.q)
	}
	switch holds {
	case No:
		fs.add(w.code, SeverityLine, struck, values)
	case Unknown:
		fs.add(w.code, SeverityUnknown, struck, values)
	}
}
