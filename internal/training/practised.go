package training

import (
	"strings"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

// practised refuses a pass whose assessor's own practice was not good on that day, as far as is known: the pass would give nothing. The
// rule is asked of the engine itself. A fail is taken from anybody with authority: what was seen to be missing is not put aside because of
// who saw it. Of a pass from old books, whose assessor's practice is not in the records at all, the engine alone decides.
func (in *entering) practised(a groundhand.Assessment) {
	if in.Any() || in.err != nil || a.Result != groundhand.Pass || a.Theory {
		return
	}
	facts, err := rollcall.New(in.tx, in.zone).Facts(in.ctx, []groundhand.WorkerID{a.AssessorID})
	if in.failed(err) {
		return
	}
	facts.Entries = append(facts.Entries, passOf(a))
	book, err := competence.NewBook(facts)
	if in.failed(err) {
		return
	}
	answer, err := book.Standing(standingOf(a, a.WorkerID, a.HappenedOn))
	if in.failed(err) || refusedFor(answer, a.ID) != competence.AssessorNotCurrent {
		return
	}
	if a.CameBy == groundhand.Imported && in.unknownPractice(book, a, answer.RuleSet) {
		return
	}
	in.breaks(groundhand.NotCurrent, a.WorkerID, groundhand.CodeConflict, "assessorId",
		"The assessor's own practice of %s as %s on family %s was not good on %s, as far as is known; another assessor has to sign.", a.Method, a.Role, orAny(a.FamilyID), a.HappenedOn)
}

// unknownPractice says that nothing is recorded of the assessor before that day which would have counted.
func (in *entering) unknownPractice(book *competence.Book, a groundhand.Assessment, ruleSet string) bool {
	q := standingOf(a, a.AssessorID, a.HappenedOn-1)
	q.RuleSet = ruleSet
	before, err := book.Standing(q)
	return !in.failed(err) && before.Standing == competence.Never
}

// passOf is a pass as the engine reads it, to the second.
func passOf(a groundhand.Assessment) competence.Entry {
	e := competence.Entry{ID: string(a.ID), Kind: competence.Assessment, Person: string(a.WorkerID), RecordedAt: a.RecordedAt - a.RecordedAt%1000,
		Author: string(a.AuthorID), Method: string(a.Method), Role: strings.ToLower(string(a.Role)), Family: string(a.FamilyID),
		Result: competence.ResultPass, Assessor: string(a.AssessorID)}
	if e.Author == "" {
		e.Author = "capacity " + strings.ToLower(string(a.Capacity))
	}
	if a.HappenedAt != 0 {
		e.HappenedAt = a.HappenedAt - a.HappenedAt%1000
	} else {
		e.HappenedOn = a.HappenedOn
	}
	return e
}

// standingOf asks what an assessment gives somebody on a day, by our own rules of that day.
func standingOf(a groundhand.Assessment, who groundhand.WorkerID, on groundhand.Date) competence.Question {
	return competence.Question{ID: string(a.ID), Person: string(who), Method: string(a.Method), Role: strings.ToLower(string(a.Role)), Family: string(a.FamilyID), On: on}
}

func refusedFor(a competence.Answer, id groundhand.EntryID) competence.Reason {
	for _, r := range a.Refused {
		if r.Entry == string(id) {
			return r.Code
		}
	}
	return ""
}
