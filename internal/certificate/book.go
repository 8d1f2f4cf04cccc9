package certificate

import (
	"context"
	"fmt"
	"strings"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// book is what certificates name without saying it: the words are looked up when one is signed, and stand in it from then on.
type book struct {
	families map[groundhand.FamilyID]string
	titles   map[groundhand.RuleSetID]string
	lines    map[groundhand.RuleSetID][]competence.Line
}

func (c *Issuer) book(ctx context.Context) (book, error) {
	b := book{map[groundhand.FamilyID]string{}, map[groundhand.RuleSetID]string{}, map[groundhand.RuleSetID][]competence.Line{}}
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
			return b, fmt.Errorf("rule set %s: %v", set.ID, err) // not wrapped: what stands in the records is no refusal of who asks
		}
		b.titles[set.ID], b.lines[set.ID] = set.Title, rules.Standing
	}
	return b, nil
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
