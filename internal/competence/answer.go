package competence

import (
	"bytes"
	"encoding/json"

	"groundhand/internal/groundhand"
)

// AnswerFormat is the name of the format of answers.
const AnswerFormat = "standing-answers/1"

// Standing is the word for a person, method, role and family on a day.
type Standing string

// The eight standings. Only CURRENT is current.
const (
	Suspended   Standing = "SUSPENDED"    // a fail or a suspension is open
	Held        Standing = "HELD"         // away too long, and no watched run since
	Current     Standing = "CURRENT"      // the day is no later than the last good day
	InGrace     Standing = "IN_GRACE"     // BASE_MONTH only: the month after the due month
	OnExtension Standing = "ON_EXTENSION" // past the last good day, within an approved extension
	OnPaper     Standing = "PROVISIONAL"  // accepted on paper for a time
	Lapsed      Standing = "LAPSED"       // there was a credit once
	Never       Standing = "NEVER"        // no credit
)

// Note says why nothing was looked at; the standing is then NEVER.
type Note string

// The notes.
const (
	NoRuleSet Note = "NO_RULE_SET" // no default rule set covers the day
	NoLine    Note = "NO_LINE"     // the rule set asks nothing of this method and role
	NoFamily  Note = "NO_FAMILY"   // the line is per family and no family was asked
)

// Answer is one answer. LastGoodDay is what the evidence alone gives, whatever the standing: read the standing first.
type Answer struct {
	ID          string          `json:"id"`
	Day         groundhand.Date `json:"day"` // the judged day
	Standing    Standing        `json:"standing"`
	Note        Note            `json:"note"`
	RuleSet     string          `json:"rule_set"`
	Line        string          `json:"line"`
	LastGoodDay groundhand.Date `json:"last_good_day"` // zero: there is none
	RestsOn     []string        `json:"rests_on"`      // entry ids, sorted
	Refused     []Refusal       `json:"refused"`       // sorted by entry
	ChangesOn   groundhand.Date `json:"changes_on"`    // first day with another word if nothing else happens; zero: none
	Course      []Span          `json:"course"`        // only if the question wants it
}

// Refusal is an entry that gives nothing here, with the first reason against it.
type Refusal struct {
	Entry string `json:"entry"`
	Code  Reason `json:"code"`
}

// Span is a stretch of days, both ends included, with one standing, line and last good day.
type Span struct {
	From        groundhand.Date `json:"from"`
	Through     groundhand.Date `json:"through"`
	Standing    Standing        `json:"standing"`
	Line        string          `json:"line"`
	LastGoodDay groundhand.Date `json:"last_good_day"`
}

// Answers are the answers to a file of facts, in the order of its questions.
type Answers struct {
	Facts   string   `json:"facts"` // the name of the facts
	Answers []Answer `json:"answers"`
}

// MarshalJSON writes what is missing as null and lists as lists.
func (a Answer) MarshalJSON() ([]byte, error) {
	type plain Answer // without this method
	return json.Marshal(struct {
		plain
		Note        *Note            `json:"note"`
		RuleSet     *string          `json:"rule_set"`
		Line        *string          `json:"line"`
		LastGoodDay *groundhand.Date `json:"last_good_day"`
		RestsOn     []string         `json:"rests_on"`
		Refused     []Refusal        `json:"refused"`
		ChangesOn   *groundhand.Date `json:"changes_on"`
		Course      []Span           `json:"course,omitempty"`
	}{plain(a), orNull(a.Note), orNull(a.RuleSet), orNull(a.Line), orNull(a.LastGoodDay),
		orEmpty(a.RestsOn), orEmpty(a.Refused), orNull(a.ChangesOn), a.Course})
}

// MarshalJSON writes what is missing as null.
func (s Span) MarshalJSON() ([]byte, error) {
	type plain Span
	return json.Marshal(struct {
		plain
		Line        *string          `json:"line"`
		LastGoodDay *groundhand.Date `json:"last_good_day"`
	}{plain(s), orNull(s.Line), orNull(s.LastGoodDay)})
}

func orNull[T comparable](v T) *T {
	var none T
	if v == none {
		return nil
	}
	return &v
}

func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

// Encode writes the answers in the standing-answers/1 format, one answer a line.
func (a Answers) Encode() ([]byte, error) {
	var out bytes.Buffer
	head := []member{{"format", AnswerFormat}, {"facts", orNull(a.Facts)}}
	err := writeLines(&out, head, lines("answers", a.Answers))
	return out.Bytes(), err
}
