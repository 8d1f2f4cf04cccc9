package competence

import (
	"slices"

	"groundhand/internal/groundhand"
)

// assessed judges who assessed: not the person, with authority, and current himself that day.
func (b *Book) assessed(i int32, see sight) Reason {
	e := &b.entries[i]
	switch {
	case e.Assessor == e.Person:
		return SelfAssessed
	case e.Assessor == "" || !b.entitled(i, see.known):
		return AssessorNoRight
	case !b.assessorCurrent(i, see):
		return AssessorNotCurrent
	}
	return ""
}

// entitled says that somebody else had given the assessor authority for the day, method and family of a pass, and not provably
// after it. It asks what is known, not what was seen: an authority granted before and only entered later is good.
func (b *Book) entitled(pass int32, known int64) bool {
	for _, a := range b.authority[b.entries[pass].Assessor] {
		if b.reaches(a, pass) && !b.later(a, pass) && b.setAside(a, known) == "" {
			return true
		}
	}
	return false
}

// reaches says that an authority covers day, method and family of a pass; a pass without family needs an authority for all.
func (b *Book) reaches(authority, pass int32) bool {
	a, e, day := &b.entries[authority], &b.entries[pass], b.when[pass].day
	return a.Author != a.Person && a.From <= day && (a.To.IsZero() || day <= a.To) && slices.Contains(a.Methods, e.Method) &&
		(a.Families == nil || e.Family != "" && slices.Contains(a.Families, e.Family))
}

// assessorThatDay is a question about an assessor. adverse and known are part of it because a later look may see more.
type assessorThatDay struct {
	person, method, role, family string
	day                          groundhand.Date
	adverse, known               int64
}

// assessorCurrent says that the assessor was current for the method, role and family of a pass on its local day, judged by the
// default rule set of that day. Favourable entries must have been over before that day began, so that two friends cannot make each
// other current in one afternoon and every step of the recursion goes to an earlier day.
func (b *Book) assessorCurrent(pass int32, see sight) bool {
	e, day := &b.entries[pass], b.when[pass].day
	start, end := b.bounds(pass)
	asked := assessorThatDay{e.Assessor, e.Method, e.Role, e.Family, day, min(end, see.bad), see.known}
	if current, found := b.remembered(asked); found {
		return current
	}
	set := b.defaultSet(day)
	if set == nil {
		return b.remember(asked, false)
	}
	line := set.line(e.Method, e.Role)
	if line == nil || line.PerFamily && e.Family == "" {
		return b.remember(asked, false)
	}
	r := reading{book: b, own: b.entriesOf(e.Assessor), task: task{e.Assessor, e.Method, e.Role, e.Family}}
	r.weigh(line, sight{asked.known, start - 1, asked.adverse})
	return b.remember(asked, r.currentOn(day))
}

// currentOn is word(day) == Current without what does not matter for it.
func (r *reading) currentOn(day groundhand.Date) bool {
	if len(r.credits) == 0 || day > r.last {
		return false
	}
	r.findSuspensions()
	r.findHolds()
	return len(r.open) == 0 && !r.heldOn(day)
}

// bounds are the first and last second of the local day of an entry.
func (b *Book) bounds(i int32) (int64, int64) {
	if m := &b.when[i]; !b.entries[i].HappenedOn.IsZero() {
		return m.lo, m.hi
	}
	day := b.when[i].day
	return startOf(day, b.zone), endOf(day, b.zone)
}

// memoLimit bounds the memory of a long-lived book; what is forgotten is found again.
const memoLimit = 1 << 20

func (b *Book) remembered(asked assessorThatDay) (current, found bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	current, found = b.memo[asked]
	return current, found
}

func (b *Book) remember(asked assessorThatDay, current bool) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.memo) >= memoLimit {
		clear(b.memo)
	}
	b.memo[asked] = current
	return current
}

// goodPass says that an entry is an assessment passed in practice and valid in itself, whatever the line.
func (r *reading) goodPass(i int32) bool {
	b := r.book
	e, m := &b.entries[i], &b.when[i]
	return e.Kind == Assessment && e.Result == ResultPass && !e.Theory && m.recorded >= m.lo &&
		b.unseen(i, r.see) == "" && b.assessed(i, r.see) == ""
}
