package certificate

import (
	"context"
	"fmt"
	"strings"

	"groundhand/internal/certificate/paper"
	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// book is what certificates name without saying it: the words are looked up when a page is made. What was replaced or withdrawn since
// still has its name here.
type book struct {
	families map[groundhand.FamilyID]string
	titles   map[groundhand.RuleSetID]string
	lines    map[groundhand.RuleSetID][]competence.Line
	today    groundhand.Date
}

func (c *Issuer) book(ctx context.Context) (book, error) {
	b := book{map[groundhand.FamilyID]string{}, map[groundhand.RuleSetID]string{}, map[groundhand.RuleSetID][]competence.Line{}, c.roll.Today()}
	families, err := store.All[groundhand.Family](ctx, c.store)
	if err != nil {
		return b, err
	}
	for _, f := range families {
		b.families[f.ID] = f.Name
	}
	sets, err := store.All[groundhand.RuleSet](ctx, c.store)
	if err != nil {
		return b, err
	}
	for _, set := range sets {
		rules, err := rulebook.Read(set.Body)
		if err != nil {
			return b, fmt.Errorf("rule set %s: %w", set.ID, err)
		}
		b.titles[set.ID], b.lines[set.ID] = set.Title, rules.Standing
	}
	return b, nil
}

// sheet puts a certificate into words for paper, as one that may be relied on. The page says of which day its standing is and not of
// which minute, so that the same request gives the same bytes.
func (b book) sheet(cert groundhand.Certificate) (paper.Sheet, error) {
	rule, err := b.lastGoodDayRule(cert)
	return paper.Sheet{
		Number: string(cert.ID), Person: cert.PersonName, Employer: cert.Employer, Issuer: cert.Issuer,
		Method: methodWords[cert.Method], Role: roleWords[cert.Role], ControlFamily: familyWords(b.families, cert.FamilyID),
		ShownOn: cert.ShownOn, ShownHow: shownWords[cert.EvidenceKind], Assessor: assessorWords(cert.AssessorName),
		RuleSet: b.titles[cert.RuleSetID], LastGoodDay: cert.LastGoodDay, LastGoodDayRule: rule, CheckAddress: cert.CheckAddress,
		IssuedOn: cert.HappenedOn, Standing: paper.Good, AsKnownAt: b.today.Words(),
	}, err
}

// lastGoodDayRule says in words how the last good day of a certificate was reckoned: by the line of its role or, where there is none, by
// the line of any role.
func (b book) lastGoodDayRule(cert groundhand.Certificate) (string, error) {
	for _, role := range []string{strings.ToLower(string(cert.Role)), competence.RoleAny} {
		for _, line := range b.lines[cert.RuleSetID] {
			if line.Method == string(cert.Method) && line.Role == role {
				return lineWords(line), nil
			}
		}
	}
	return "", groundhand.Conflict("ruleSet", "The rule set %s has no line for %s.", cert.RuleSetID, cert.Method)
}
