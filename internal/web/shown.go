package web

import (
	"slices"
	"strings"
	"time"

	"groundhand/internal/certificate"
	"groundhand/internal/certificate/credential"
	"groundhand/internal/groundhand"
)

// lookedPage is how a certificate stands, and what anybody may compare with the one in hand. Its person is not among it.
func (p public) lookedPage(found certificate.Looked) sheet {
	return sheet{Verdict: standing(found), Parts: []part{{Head: "Compare with the certificate in your hand", Facts: publicFacts(found), Notes: []string{
		"The name is on the certificate and deliberately not here. To see it as it was signed, check the file.",
		"Look at the address that your browser shows, too: it must be the issuer's own. A forged certificate can lead to a forged page."}}}}
}

// standing is the verdict on a certificate that is known.
func standing(found certificate.Looked) *verdict {
	said := stateWords[found.State]
	if day := words(found.Since); day != "" && dated[found.State] {
		said.Since = "on " + day
	}
	return &said
}

func publicFacts(found certificate.Looked) []fact {
	return filled(
		fact{"Training", found.Training},
		fact{"Certificate number", found.Number},
		fact{"Issued by", found.Issuer},
		fact{"Issued on", words(found.IssuedOn)},
		fact{"Last good day", words(found.GoodThrough)},
		fact{"Fingerprint of the signed file", found.Fingerprint},
		fact{"Signing key", found.KeyID})
}

// insidePage is what a file holds. Only what was signed is shown as said by the issuer.
func (p public) insidePage(found certificate.Inside) sheet {
	if found.Problem == "" && !isKnown(found.State) {
		found.Problem = certificate.NotRecorded // a good signature alone is no certificate of ours
	}
	if found.Problem != "" {
		return problemPage(found)
	}
	return sheet{Verdict: standing(found.Looked), Parts: []part{
		{Head: "What was signed", Facts: signedFacts(found.Signed), Notes: []string{
			"The signature of the file is good: these are the words that were signed. Compare them with the page in your hand, because a page can be altered without touching the file in it."}},
		{Head: "The signature", Facts: filled(fact{"Fingerprint of the signed file", found.Fingerprint}, fact{"Signing key", found.Signed.KeyID})},
	}}
}

func isKnown(state certificate.State) bool {
	_, told := stateWords[state]
	return told && state != certificate.NotKnown
}

// problemPage tells what is wrong. What a file says whose signature does not hold is nobody's word, so it is not repeated; what was
// issued under the id that it bears is shown beside, as to anybody who has the id.
func problemPage(found certificate.Inside) sheet {
	said, told := problemWords[found.Problem]
	if !told {
		said = unknownProblem
	}
	s := sheet{Verdict: &said}
	if isKnown(found.State) {
		issued := append([]fact{{"How that one stands", stateWords[found.State].Word}}, publicFacts(found.Looked)...)
		s.Parts = []part{{Head: "What was issued under the id in this file", Facts: issued, Notes: []string{"Compare: whatever the file says otherwise is not the issuer's word."}}}
	}
	return s
}

func signedFacts(c credential.Found) []fact {
	facts := filled(
		fact{"Name", c.Person},
		fact{"Training", c.Achievement.Name},
		fact{"Certificate number", c.Number},
		fact{"Issued by", c.IssuerName},
		fact{"Issuer id", c.IssuerID},
		fact{"Address of the issuer", c.IssuerURL},
		fact{"Shown on", days(c.ShownFrom, c.ShownThrough)},
		fact{"Issued on", day(c.ValidFrom)},
		fact{"Current until the end of", day(c.ValidUntil)},
		fact{"Role practised", c.Role},
		fact{"Outcome", c.Outcome},
		fact{"Assessor", c.Assessor},
		fact{"Code of the training", c.Achievement.Code},
		fact{"Code of the rule set", c.Achievement.Version})
	for _, a := range c.Achievement.Alignment {
		facts = append(facts, fact{"Meant for, as the issuer says", strings.Join(strings.Fields(a.Framework+" "+a.Code+" "+a.Name+" "+a.URL), " ")})
	}
	for _, also := range append(lines(c.Achievement.Criteria), lines(c.Achievement.Description)...) {
		if !slices.Contains(facts, also) {
			facts = append(facts, also)
		}
	}
	return facts
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
