package competence

import "groundhand/internal/groundhand"

// task is what is asked of a person.
type task struct{ person, method, role, family string }

// reading is one person's entries judged under one line with what could be seen. Its slices are kept when it is used again, so that
// a course of many readings allocates no more than the longest of them.
type reading struct {
	book *Book
	task
	own []int32 // the person's entries in order of day and id

	line    *Line
	see     sight
	grade   Reason   // what the grade has against all evidence
	why     []Reason // against each of own
	credits []credit
	chain   []int // the credits that the last good day rests on
	last    groundhand.Date
	grace   groundhand.Date // last day of grace; the last good day where there is no grace

	extensions, provisionals []allowance
	open                     []int32 // open fails and suspensions
	away                     []int32 // away entries seen, by first day
	holds                    []hold
	keys                     []string // of counting entries within a day
}

// read judges everything a standing needs.
func (r *reading) read(line *Line, see sight) {
	r.weigh(line, see)
	r.findAllowances()
	r.findSuspensions()
	r.findHolds()
}

// weigh judges the evidence and how long it is good.
func (r *reading) weigh(line *Line, see sight) {
	r.line, r.see = line, see
	r.grade = r.barred()
	r.why = r.why[:0]
	for _, i := range r.own {
		why := Reason("")
		if r.book.entries[i].isEvidence() {
			why = r.evidence(i)
		}
		r.why = append(r.why, why)
	}
	r.findCredits()
	r.findValidity()
}

// counts says that an entry of own is evidence that nothing stands against.
func (r *reading) counts(at int) bool {
	return r.why[at] == "" && r.book.entries[r.own[at]].isEvidence()
}
