package competence

import (
	"cmp"
	"slices"

	"groundhand/internal/groundhand"
)

// allowance is a standing extension or provisional acceptance. Neither is ever a credit.
type allowance struct {
	entry    int32
	at       int // place in own
	from, to groundhand.Date
	credit   int // of an extension: the credit extended
}

func (a allowance) on(day groundhand.Date) bool { return a.from <= day && day <= a.to }

// findAllowances judges the extensions and provisional acceptances.
func (r *reading) findAllowances() {
	r.extensions, r.provisionals = r.extensions[:0], r.provisionals[:0]
	for at, i := range r.own {
		switch r.book.entries[i].Kind {
		case Extension:
			r.addExtension(at)
		case Provisional:
			r.addProvisional(at)
		}
	}
	r.dropTooMany()
}

func (r *reading) addExtension(at int) {
	i := r.own[at]
	e := &r.book.entries[i]
	covered := e.Role == "" && r.role != RoleLone || covers(e.Role, r.role)
	fits := e.Family == "" || e.Family == r.family
	if r.why[at] = r.allowed(i, covered, fits, e.Approver, r.line.MaxExtensions > 0); r.why[at] != "" {
		return
	}
	credit := r.latestCredit(r.book.when[i].day)
	if credit < 0 {
		r.why[at] = NothingToExtend
		return
	}
	r.extensions = append(r.extensions, allowance{i, at, e.From, e.To, credit})
}

func (r *reading) addProvisional(at int) {
	i := r.own[at]
	e := &r.book.entries[i]
	if r.why[at] = r.allowed(i, covers(e.Role, r.role), e.Family == r.family, e.Author, r.line.Provisional); r.why[at] == "" {
		r.provisionals = append(r.provisionals, allowance{i, at, e.From, e.To, 0})
	}
}

// allowed gives the reasons that extensions and provisional acceptances share. Here only the line's own method is good.
func (r *reading) allowed(i int32, covered, fits bool, approver string, allows bool) Reason {
	e := &r.book.entries[i]
	if why := r.book.unseen(i, r.see); why != "" {
		return why
	}
	switch {
	case e.Method != r.line.Method:
		return WrongMethod
	case !covered:
		return WrongRole
	case r.line.PerFamily && !fits:
		return WrongFamily
	case e.To.IsZero():
		return OpenEnded
	case approver == "" || approver == e.Person:
		return SelfApproved
	case !allows:
		return NotAllowed
	}
	return r.grade
}

// dropTooMany keeps of each credit as many extensions as the line allows, in the order granted, so that a new one never undoes one
// that was approved before.
func (r *reading) dropTooMany() {
	slices.SortFunc(r.extensions, func(x, y allowance) int {
		b := r.book
		return cmp.Or(cmp.Compare(x.credit, y.credit), cmp.Compare(b.when[x.entry].hi, b.when[y.entry].hi),
			cmp.Compare(x.from, y.from), cmp.Compare(b.entries[x.entry].ID, b.entries[y.entry].ID))
	})
	kept, of, credit := r.extensions[:0], 0, nobody
	for _, x := range r.extensions {
		if x.credit != credit {
			of, credit = 0, x.credit
		}
		if of++; of > r.line.MaxExtensions {
			r.why[x.at] = TooMany
			continue
		}
		kept = append(kept, x)
	}
	r.extensions = kept
}
