package rollcall

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// checkUnderRules refuses at once everything that is wrong with a question. It gives the people under the ids under which they are found.
func (r *Roll) checkUnderRules(ctx context.Context, sh shelf, ask UnderRulesQuestion) ([]groundhand.WorkerID, rulebook.Rules, error) {
	var p groundhand.Problems
	rules := sh.checkNamed(&p, ask)
	if err := r.checkLines(ctx, &p, ask.Lines); err != nil {
		return nil, rules, err
	}
	who, err := r.checkPeople(ctx, &p, ask.People)
	if err == nil {
		err = p.Err()
	}
	return who, rules, err
}

// checkNamed refuses a rule set that does not stand or is not in force on the day. As a preview, rules are asked about elsewhere.
func (s shelf) checkNamed(p *groundhand.Problems, ask UnderRulesQuestion) rulebook.Rules {
	if ask.On == 0 {
		p.Add(groundhand.CodeInvalid, "on", "Name the day that is asked about.")
	}
	if ask.RuleSet == "" {
		p.Add(groundhand.CodeInvalid, "ruleSet", "Name the rule set under which the people are asked about.")
		return rulebook.Rules{}
	}
	set, rules, err := s.on(ask.On, ask.RuleSet)
	switch {
	case err != nil:
		p.Add(groundhand.CodeNotFound, "ruleSet", "There is no rule set %q that stands.", ask.RuleSet)
	case ask.On != 0 && ask.On < set.EffectiveFrom:
		p.Add(groundhand.CodeInvalid, "ruleSet", "The rule set %s is in force from %s; %s is before that.", set.ID, set.EffectiveFrom.Words(), ask.On.Words())
	case set.EffectiveThrough != 0 && ask.On > set.EffectiveThrough:
		p.Add(groundhand.CodeInvalid, "ruleSet", "The rule set %s was in force through %s; %s is after that.", set.ID, set.EffectiveThrough.Words(), ask.On.Words())
	}
	return rules
}

func (r *Roll) checkPeople(ctx context.Context, p *groundhand.Problems, people []groundhand.WorkerID) ([]groundhand.WorkerID, error) {
	switch {
	case len(people) == 0:
		p.Add(groundhand.CodeInvalid, "people", "Name 1 to %d people.", MostPeopleUnderRules)
	case len(people) > MostPeopleUnderRules:
		p.Add(groundhand.CodeTooLarge, "people", "Ask about at most %d people at a time; these are %d.", MostPeopleUnderRules, len(people))
		return nil, nil
	}
	found, err := store.Find[groundhand.Worker](ctx, r.store, store.ByID, people)
	if err != nil {
		return nil, err
	}
	known := map[groundhand.WorkerID]bool{}
	for _, w := range found {
		known[w.ID] = true
	}
	first, out := map[groundhand.WorkerID]int{}, make([]groundhand.WorkerID, len(people))
	for i, id := range people {
		out[i] = r.store.Kept(id)
		at, named := first[out[i]]
		switch {
		case !known[out[i]]:
			p.Add(groundhand.CodeNotFound, fmt.Sprintf("people[%d]", i), "There is no worker %q.", id)
		case named:
			p.Add(groundhand.CodeInvalid, fmt.Sprintf("people[%d]", i), "This person is named already, as people[%d]; name everybody once.", at)
		default:
			first[out[i]] = i
		}
	}
	return out, nil
}

func (r *Roll) checkLines(ctx context.Context, p *groundhand.Problems, lines []Asked) error {
	if lines == nil {
		return nil
	}
	if len(lines) == 0 || len(lines) > MostLinesUnderRules {
		p.Add(groundhand.CodeInvalid, "lines", "Ask for 1 to %d lines of each, or leave them out.", MostLinesUnderRules)
		return nil
	}
	families, err := store.Standing[groundhand.Family](ctx, r.store)
	for i, a := range lines {
		at := fmt.Sprintf("lines[%d].", i)
		if !slices.Contains(groundhand.Methods, a.Method) {
			p.Add(groundhand.CodeInvalid, at+"method", "The method %q is not one of %v.", a.Method, groundhand.Methods)
		}
		if !a.Role.Rescues() {
			p.Add(groundhand.CodeInvalid, at+"role", "The role %q is none of a rescuer; ask for LEAD, SECOND or LONE.", a.Role)
		}
		if a.FamilyID != "" && !slices.ContainsFunc(families, func(f groundhand.Family) bool { return f.ID == a.FamilyID }) {
			p.Add(groundhand.CodeNotFound, at+"family", "There is no control family %q.", a.FamilyID)
		}
		if slices.Contains(lines[:i], a) {
			p.Add(groundhand.CodeInvalid, strings.TrimSuffix(at, "."), "This line is asked already; ask for each once.")
		}
	}
	return err
}

// lineFor is the line that judges a method in a role: that of the role, else that of any role.
func lineFor(rules rulebook.Rules, a Asked) (competence.Line, bool) {
	for _, role := range []string{roleWord(a.Role), competence.RoleAny} {
		for _, l := range rules.Standing {
			if l.Method == string(a.Method) && l.Role == role {
				return l, true
			}
		}
	}
	return competence.Line{}, false
}

// roleOf is a rescuer's role from the word of the format; empty for every other.
func roleOf(word string) groundhand.Role {
	if role := groundhand.Role(strings.ToUpper(word)); role.Rescues() {
		return role
	}
	return ""
}

func askedOrder(a, b Asked) int {
	return cmp.Or(cmp.Compare(slices.Index(groundhand.Methods, a.Method), slices.Index(groundhand.Methods, b.Method)),
		cmp.Compare(slices.Index(groundhand.Roles, a.Role), slices.Index(groundhand.Roles, b.Role)), cmp.Compare(a.FamilyID, b.FamilyID))
}
