package certificate

import (
	"strings"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
)

// sheetOf renders what was signed and nothing else, so that the same credential gives the same page whatever happens later.
func sheetOf(c credential.Credential, keyID string, signed []byte) paper.Sheet {
	rules, warnings := facts(c.Achievement.Description)
	practice, _ := facts(c.Achievement.Criteria)
	return paper.Sheet{
		Number: c.Number, Person: c.Person, Employer: c.IssuerName, Title: c.Achievement.Name, Practice: practice,
		ShownOn: groundhand.DateOf(c.ShownFrom), Assessor: c.Assessor, LastGoodDay: groundhand.DateOf(c.ValidUntil), Rules: rules,
		IssuedOn: groundhand.DateOf(c.ValidFrom), Cautions: warnings, CheckAddress: checkAddressIn(c), CredentialID: strings.TrimPrefix(c.ID, urn), KeyID: keyID, Signed: signed,
	}
}

// checkAddressIn is the check address, which goes with that of the status list; empty without one.
func checkAddressIn(c credential.Credential) string {
	if c.Status == nil {
		return ""
	}
	address, _, _ := strings.Cut(c.Status.List, "/status/")
	return address + "/verify/" + strings.TrimPrefix(c.ID, urn)
}

// facts takes lines "Label: text" apart, the cautions for themselves.
func facts(text string) (rows []paper.Fact, warnings []string) {
	for line := range strings.SplitSeq(text, "\n") {
		label, said, _ := strings.Cut(line, ": ")
		if label == cautions {
			warnings = append(warnings, said)
			continue
		}
		rows = append(rows, paper.Fact{Label: label, Text: said})
	}
	return rows, warnings
}
