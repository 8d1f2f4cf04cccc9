package rollcall

import (
	"context"
	"fmt"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// shelf is the rule sets that stand, read once a question.
type shelf struct {
	sets  []groundhand.RuleSet
	rules []rulebook.Rules // of each set
}

func (r *Roll) shelf(ctx context.Context) (shelf, error) {
	sets, err := store.Standing[groundhand.RuleSet](ctx, r.store)
	if err != nil {
		return shelf{}, err
	}
	s := shelf{sets: sets, rules: make([]rulebook.Rules, len(sets))}
	for i, set := range sets {
		if s.rules[i], err = rulebook.Read(set.Body); err != nil {
			return shelf{}, fmt.Errorf("rule set %s: %v", set.ID, err) // not wrapped: what stands in the records is no refusal of who asks
		}
	}
	return s, nil
}

// facts gives the rule sets as the engine wants them.
func (s shelf) facts() []competence.RuleSet {
	out := make([]competence.RuleSet, len(s.sets))
	for i, set := range s.sets {
		out[i] = competence.RuleSet{ID: string(set.ID), Default: set.IsDefault, EffectiveFrom: set.EffectiveFrom,
			EffectiveThrough: set.EffectiveThrough, Lines: s.rules[i].Standing}
	}
	return out
}

// on is the rule set named or, without a name, the default one of a day: among those in force the one that started last.
func (s shelf) on(day groundhand.Date, name groundhand.RuleSetID) (groundhand.RuleSet, rulebook.Rules, error) {
	best := -1
	for i, set := range s.sets {
		if name != "" && set.ID == name {
			best = i
		}
		if name == "" && inForce(set, day) && (best < 0 || set.EffectiveFrom > s.sets[best].EffectiveFrom) {
			best = i
		}
	}
	switch {
	case best >= 0:
		return s.sets[best], s.rules[best], nil
	case name != "":
		return groundhand.RuleSet{}, rulebook.Rules{}, groundhand.NotFound("ruleSet", "There is no rule set %q.", name)
	}
	return groundhand.RuleSet{}, rulebook.Rules{}, groundhand.NotFound("ruleSet", "No rule set of our own is in force on %s.", day.Words())
}

func inForce(set groundhand.RuleSet, day groundhand.Date) bool {
	return set.IsDefault && set.EffectiveFrom <= day && (set.EffectiveThrough == 0 || day <= set.EffectiveThrough)
}
