package competence

import "slices"

// Reason is why an entry gives nothing; empty when nothing stands against it.
type Reason string

// The reasons, in the order in which they are looked at; the first one is reported.
const (
	NotYetKnown        Reason = "NOT_YET_KNOWN"         // recorded after the moment asked as known
	Withdrawn          Reason = "WITHDRAWN"             // taken back
	Replaced           Reason = "REPLACED"              // corrected by another entry
	Future             Reason = "FUTURE"                // not provably over at the moment asked
	RecordedBefore     Reason = "RECORDED_BEFORE"       // recorded before it can have happened
	WrongMethod        Reason = "WRONG_METHOD"          // of a method that the line does not take
	KindNotAccepted    Reason = "KIND_NOT_ACCEPTED"     // of a kind that the line does not take
	TheoryOnly         Reason = "THEORY_ONLY"           // theory gives no credit
	NoPart             Reason = "NO_PART"               // casualty or observer
	WrongRole          Reason = "WRONG_ROLE"            // the role does not cover the one wanted
	WrongFamily        Reason = "WRONG_FAMILY"          // another control family, or none named
	Failed             Reason = "FAILED"                // failed, or a critical fault in a run
	NotComplete        Reason = "NOT_COMPLETE"          // broken off
	SelfAssessed       Reason = "SELF_ASSESSED"         // nobody assesses self
	AssessorNoRight    Reason = "ASSESSOR_NO_AUTHORITY" // no assessor, or no authority for that day, method and family
	AssessorNotCurrent Reason = "ASSESSOR_NOT_CURRENT"  // the assessor was not current that day
	NotChecked         Reason = "NOT_CHECKED"           // outside evidence that nobody else has checked
	LevelTooLow        Reason = "LEVEL_TOO_LOW"         // outside evidence not seen closely enough
	OpenEnded          Reason = "OPEN_ENDED"            // an allowance without a last day
	SelfApproved       Reason = "SELF_APPROVED"         // approved by nobody else
	NotAllowed         Reason = "NOT_ALLOWED"           // the line knows no such allowance
	GradeUnknown       Reason = "GRADE_UNKNOWN"         // the line bars apprentice years and no grade is seen
	GradeBarred        Reason = "GRADE_BARRED"          // an apprentice of a barred year
	TooFewRuns         Reason = "TOO_FEW_RUNS"          // fewer counting entries that day than the line wants
	NothingToExtend    Reason = "NOTHING_TO_EXTEND"     // no credit on or before the day it was granted
	TooMany            Reason = "TOO_MANY"              // more extensions of one credit than the line allows
	LiftsNothing       Reason = "LIFTS_NOTHING"         // a lifting without a suspension and a good pass after it
)

// sight is what can be seen: known is the moment as known, good the moment until which favourable entries must be over, bad the
// moment until which adverse ones must have begun. In a question good and bad are both the moment asked.
type sight struct{ known, good, bad int64 }

// unseen gives the reasons that come first for every favourable entry.
func (b *Book) unseen(i int32, see sight) Reason {
	if why := b.setAside(i, see.known); why != "" {
		return why
	}
	if b.when[i].hi > see.good {
		return Future
	}
	return ""
}

// evidence gives the first reason against a run, an assessment or outside evidence, apart from TOO_FEW_RUNS.
func (r *reading) evidence(i int32) Reason {
	if why := r.book.unseen(i, r.see); why != "" {
		return why
	}
	e, l, m := &r.book.entries[i], r.line, &r.book.when[i]
	switch {
	case m.recorded < m.lo:
		return RecordedBefore
	case e.Method != l.Method && !slices.Contains(l.AlsoMethods, e.Method):
		return WrongMethod
	case !l.acceptsKind(e.Kind):
		return KindNotAccepted
	case e.Theory && e.Kind != Outside:
		return TheoryOnly
	case !playsPart(e.Role):
		return NoPart
	case !covers(e.Role, l.Role):
		return WrongRole
	case l.PerFamily && e.Family != r.family:
		return WrongFamily
	}
	if why := r.outcome(i); why != "" {
		return why
	}
	return r.grade
}

// outcome gives the reasons that lie in how it went and who stands behind it.
func (r *reading) outcome(i int32) Reason {
	e := &r.book.entries[i]
	switch {
	case e.Kind == Outside:
		return checked(e, r.line)
	case e.isCriticalRun() || e.Kind == Assessment && e.Result == ResultFail:
		return Failed
	case e.Kind == Run && !e.Complete || e.Kind == Assessment && e.Result != ResultPass:
		return NotComplete
	case e.Kind == Assessment:
		return r.book.assessed(i, r.see)
	}
	return ""
}

// checked judges the level of outside evidence and that somebody else has looked at it.
func checked(e *Entry, l *Line) Reason {
	least := l.OutsideLevel
	if least == "" {
		least = LevelDemonstrated
	}
	switch {
	case e.Checker == "" || e.Checker == e.Person:
		return NotChecked
	case slices.Index(levels, e.Level) < slices.Index(levels, least):
		return LevelTooLow
	}
	return ""
}

func (l *Line) acceptsKind(k Kind) bool {
	switch k {
	case Run:
		return slices.Contains(l.Accepts, AcceptsDrill)
	case Assessment:
		return slices.Contains(l.Accepts, AcceptsPass)
	}
	return slices.Contains(l.Accepts, AcceptsOutside)
}

// barred judges the person's grade as far as the line cares: the latest one seen, by when it began, then by when it was recorded.
func (r *reading) barred() Reason {
	if len(r.line.BarredYears) == 0 {
		return ""
	}
	b, latest := r.book, int32(nobody)
	for _, i := range r.own {
		if b.entries[i].Kind == Grade && b.when[i].lo <= r.see.bad && b.setAside(i, r.see.known) == "" && (latest == nobody || b.graded(i, latest)) {
			latest = i
		}
	}
	if latest == nobody {
		return GradeUnknown
	}
	if e := &b.entries[latest]; e.Grade == GradeApprentice && slices.Contains(r.line.BarredYears, e.Year) {
		return GradeBarred
	}
	return ""
}

// graded says that the grade x decides before the grade y.
func (b *Book) graded(x, y int32) bool {
	mx, my := &b.when[x], &b.when[y]
	if mx.lo != my.lo {
		return mx.lo > my.lo
	}
	if mx.recorded != my.recorded {
		return mx.recorded > my.recorded
	}
	return b.entries[x].ID > b.entries[y].ID
}
