package web

import (
	"strings"
	"time"

	"groundhand/internal/groundhand"
)

// lookedPage is how a certificate stands, and what anybody may compare with the one in hand. Its person is not among it.
func (p public) lookedPage(found Looked) sheet {
	said := stateWords[found.State]
	return sheet{Verdict: &said, Parts: []part{{Head: "Compare with the certificate in your hand", Facts: publicFacts(found),
		Note: "The name is on the certificate and deliberately not here. To see it as it was signed, check the file."}}}
}

func publicFacts(found Looked) []fact {
	return filled(
		fact{since[found.State], words(found.Since)},
		fact{"Training", found.Training},
		fact{"Certificate number", found.Number},
		fact{"Issued by", found.Issuer},
		fact{"Issued on", words(found.IssuedOn)},
		fact{"Last good day", words(found.GoodThrough)},
		fact{"Fingerprint of the signed file", found.Fingerprint},
		fact{"Signing key", found.KeyID})
}

// insidePage is what a file holds. Only what was signed is shown as said by the issuer.
func (p public) insidePage(found Inside) sheet {
	if found.Problem != "" {
		return problemPage(found)
	}
	said, known := stateWords[found.State]
	if !known || found.State == NotKnown {
		found.Problem = "NOT_RECORDED" // a good signature alone is no certificate of ours
		return problemPage(found)
	}
	return sheet{Verdict: &said, Parts: []part{
		{Head: "What was signed", Facts: signedFacts(found.Signed),
			Note: "The signature of the file is good: these are the words that were signed. Compare them with the page in your hand, because a page can be altered without touching the file in it."},
		{Head: "How it stands here", Facts: filled(fact{since[found.State], words(found.Since)}, fact{"Fingerprint of the signed file", found.Fingerprint}, fact{"Signing key", found.Signed.KeyID})},
	}}
}

// problemPage tells what is wrong. What a file says whose signature does not hold is nobody's word, so it is not repeated.
func problemPage(found Inside) sheet {
	said, known := problemWords[found.Problem]
	if !known {
		said = unknownProblem
	}
	return sheet{Verdict: &said}
}

func signedFacts(c Found) []fact {
	facts := filled(
		fact{"Name", c.Person},
		fact{"Training", c.Achievement.Name},
		fact{"Certificate number", c.Number},
		fact{"Issued by", c.IssuerName},
		fact{"Issuer id", c.IssuerID},
		fact{"Shown on", days(c.ShownFrom, c.ShownThrough)},
		fact{"Issued on", day(c.ValidFrom)},
		fact{"Last good day", day(c.ValidUntil)},
		fact{"Role practised", c.Role},
		fact{"Outcome", c.Outcome},
		fact{"Assessor", c.Assessor},
		fact{"Code", c.Achievement.Code},
		fact{"Rule set", c.Achievement.Version})
	facts = append(facts, lines(c.Achievement.Criteria)...)
	return append(facts, lines(c.Achievement.Description)...)
}

// lines reads text of the form "Label: text", a fact a line.
func lines(text string) []fact {
	var facts []fact
	for line := range strings.Lines(text) {
		label, said, two := strings.Cut(strings.TrimSpace(line), ": ")
		if !two {
			label, said = "Remark", label
		}
		facts = append(facts, fact{label, said})
	}
	return filled(facts...)
}

// filled leaves out facts that say nothing.
func filled(facts ...fact) []fact {
	var said []fact
	for _, f := range facts {
		if f.Text != "" {
			said = append(said, f)
		}
	}
	return said
}

// words is a day for people, or nothing.
func words(d groundhand.Date) string {
	if d.IsZero() {
		return ""
	}
	return d.Words()
}

// day is the day of a moment in the zone it was signed with.
func day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return words(groundhand.DateOf(t))
}

func days(from, through time.Time) string {
	if first, last := day(from), day(through); last != "" && first != last {
		return first + " to " + last
	}
	return day(from)
}
