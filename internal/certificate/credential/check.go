package credential

import (
	"fmt"
	"strings"
	"time"

	"groundhand/internal/groundhand"
)

// mostAlignments is how many rules one training may be meant for.
const mostAlignments = 32

// Check refuses what cannot be signed, all at once, as groundhand.Errors with the path of each field. Read applies it too, so that
// nothing is shown that could not have been issued.
func (c Credential) Check() error {
	var p problems
	p.match("id", c.ID, randomUUID.MatchString(c.ID), "urn:uuid: and a lower-case random UUID (version 4)")
	p.text("name", c.Name)
	p.match("issuerId", c.IssuerID, issuerID.MatchString(c.IssuerID), "a did or an https address without a fragment")
	p.text("issuerName", c.IssuerName)
	p.address("issuerUrl", c.IssuerURL, true)
	p.period("validFrom", c.ValidFrom, "validUntil", c.ValidUntil, true)
	if c.Status != nil {
		p.address("status.list", c.Status.List, false)
		if c.Status.Index < 0 || c.Status.Index >= ListLength {
			p.refuse("status.index", "%d is not between 0 and %d.", c.Status.Index, ListLength-1)
		}
	}
	p.text("person", c.Person)
	p.text("number", c.Number)
	p.period("shownFrom", c.ShownFrom, "shownThrough", c.ShownThrough, false)
	p.label("role", c.Role)
	p.label("assessor", c.Assessor)
	c.Achievement.check(&p)
	p.match("outcomeId", c.OutcomeID, anyUUID.MatchString(c.OutcomeID), "urn:uuid: and a lower-case UUID")
	p.match("outcome", c.Outcome, c.Outcome == Completed, Completed)
	return p.Err()
}

func (a Achievement) check(p *problems) {
	p.match("achievement.id", a.ID, anyUUID.MatchString(a.ID), "urn:uuid: and a lower-case UUID")
	known := a.Type == TypePassed || a.Type == TypePractised || a.Type == TypeCourse
	p.match("achievement.type", a.Type, known, strings.Join([]string{TypePassed, TypePractised, "or " + TypeCourse}, ", "))
	p.text("achievement.name", a.Name)
	p.lines("achievement.description", a.Description)
	p.label("achievement.code", a.Code)
	p.label("achievement.version", a.Version)
	p.lines("achievement.criteria", a.Criteria)
	if len(a.Alignment) > mostAlignments {
		p.refuse("achievement.alignment", "%d rules are more than the %d that fit.", len(a.Alignment), mostAlignments)
		return
	}
	for i, rule := range a.Alignment {
		path := fmt.Sprintf("achievement.alignment[%d].", i)
		p.text(path+"name", rule.Name)
		p.label(path+"framework", rule.Framework)
		p.label(path+"code", rule.Code)
		p.address(path+"url", rule.URL, false)
	}
}

// problems collects refusals by the path of their field.
type problems struct{ groundhand.Problems }

func (p *problems) refuse(path, format string, args ...any) {
	p.Add(groundhand.CodeInvalid, path, format, args...)
}

func (p *problems) match(path, s string, ok bool, what string) {
	if !ok {
		p.refuse(path, "%q is not %s.", s, what)
	}
}

// text must say something, label may be empty, lines may hold line feeds.
func (p *problems) text(path, s string)  { p.words(path, s, true, false) }
func (p *problems) label(path, s string) { p.words(path, s, false, false) }
func (p *problems) lines(path, s string) { p.words(path, s, true, true) }

func (p *problems) words(path, s string, need, lines bool) {
	if need && strings.TrimSpace(s) == "" {
		p.refuse(path, "The text is empty.")
	} else if fault := garbled(s, lines); fault != "" {
		p.refuse(path, "The text %s; correct it where it is recorded.", fault)
	} else if !need && s != "" && strings.TrimSpace(s) == "" {
		p.refuse(path, "The text says nothing; leave it out.")
	}
}

func (p *problems) address(path, s string, optional bool) {
	if !optional || s != "" {
		p.match(path, s, webAddress(s), "an https address in ASCII without a user or a fragment")
	}
}

func (p *problems) moment(path string, t time.Time) bool {
	fault := awry(t)
	if t.IsZero() {
		fault = "is missing"
	}
	if fault != "" {
		p.refuse(path, "The moment %s.", fault)
	}
	return fault == ""
}

// period checks two moments in their order; where it may be open, the later one may be zero.
func (p *problems) period(from string, begin time.Time, until string, end time.Time, open bool) {
	good := p.moment(from, begin)
	if open && end.IsZero() {
		return
	}
	if p.moment(until, end) && good && end.Before(begin) {
		p.refuse(until, "%s is before %s.", stamp(end), stamp(begin))
	}
}
