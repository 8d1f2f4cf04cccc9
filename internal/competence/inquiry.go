package competence

import (
	"sort"

	"groundhand/internal/groundhand"
)

// inquiry is one question on its way: which rule judges the day it has turned to, and the reading under it.
type inquiry struct {
	named *RuleSet // the rule set named, nil for the default ones
	known int64

	set  *RuleSet // of that day
	note Note     // why there is no reading
	reading
}

// inquire checks a question and prepares it.
func (b *Book) inquire(question *Question) (*inquiry, error) {
	if err := checkQuestion(question); err != nil {
		return nil, err
	}
	q := &inquiry{known: everything}
	if question.RuleSet != "" {
		if q.named = b.named(question.RuleSet); q.named == nil {
			return nil, fault("question "+question.ID, "There is no rule set %q.", question.RuleSet)
		}
	}
	if !question.AsKnownAt.IsZero() {
		q.known = seconds(question.AsKnownAt)
	}
	q.reading.book = b
	q.task = task{question.Person, question.Method, question.Role, question.Family}
	q.own = b.entriesOf(question.Person)
	return q, nil
}

// turnTo reads the entries under the line of a day.
func (q *inquiry) turnTo(day groundhand.Date, see sight) {
	q.set, q.line = q.named, nil
	if q.set == nil {
		q.set = q.book.defaultSet(day)
	}
	if q.set != nil {
		q.line = q.set.line(q.method, q.role)
	}
	switch {
	case q.set == nil:
		q.note = NoRuleSet
	case q.line == nil:
		q.note = NoLine
	case q.line.PerFamily && q.family == "":
		q.note = NoFamily
	default:
		q.note = ""
		q.read(q.line, see)
	}
}

// word, nextTurn and lastGoodDay are those of the reading, if there is one.
func (q *inquiry) word(day groundhand.Date) Standing {
	if q.note != "" {
		return Never
	}
	return q.reading.word(day)
}

func (q *inquiry) nextTurn(after groundhand.Date) groundhand.Date {
	if q.note != "" {
		return 0
	}
	return q.reading.nextTurn(after)
}

func (q *inquiry) lastGoodDay() groundhand.Date {
	if q.note != "" {
		return 0
	}
	return q.last
}

func (q *inquiry) lineID() string {
	if q.line == nil {
		return ""
	}
	return q.line.ID
}

// nextEra is the first day after a day on which another rule set may judge, or zero.
func (q *inquiry) nextEra(day groundhand.Date) groundhand.Date {
	at := q.book.eraAfter(day)
	if q.named != nil || at == len(q.book.eras) {
		return 0
	}
	return q.book.eras[at].from
}

// nextEntry is the first day after a day on which an entry of the person happened, or zero.
func (q *inquiry) nextEntry(day groundhand.Date) groundhand.Date {
	at := sort.Search(len(q.own), func(at int) bool { return q.book.when[q.own[at]].day > day })
	if at == len(q.own) {
		return 0
	}
	return q.book.when[q.own[at]].day
}
