package competence

import (
	"cmp"
	"slices"

	"groundhand/internal/groundhand"
)

// era is a stretch of days, to the start of the next one, judged by one default rule set or by none.
type era struct {
	from groundhand.Date
	set  *RuleSet
}

// erasOf lays the default rule sets out in time: of those in force on a day, the one that started last.
func erasOf(sets []RuleSet) []era {
	var defaults []*RuleSet
	var turns []groundhand.Date
	for i := range sets {
		if s := &sets[i]; s.Default {
			defaults, turns = append(defaults, s), append(turns, s.EffectiveFrom)
			if !s.EffectiveThrough.IsZero() {
				turns = append(turns, s.EffectiveThrough+1)
			}
		}
	}
	slices.SortFunc(defaults, func(x, y *RuleSet) int { return cmp.Compare(y.EffectiveFrom, x.EffectiveFrom) })
	slices.Sort(turns)
	var out []era
	for _, day := range slices.Compact(turns) {
		out = append(out, era{day, inForce(defaults, day)})
	}
	return out
}

// inForce finds the set in a list with the latest start first.
func inForce(latestFirst []*RuleSet, day groundhand.Date) *RuleSet {
	for _, s := range latestFirst {
		if s.EffectiveFrom <= day && (s.EffectiveThrough.IsZero() || day <= s.EffectiveThrough) {
			return s
		}
	}
	return nil
}

// eraAfter is the place of the first era that starts after a day.
func (b *Book) eraAfter(day groundhand.Date) int {
	at, _ := slices.BinarySearchFunc(b.eras, day+1, func(e era, d groundhand.Date) int { return cmp.Compare(e.from, d) })
	return at
}

// defaultSet is the default rule set of a day, nil when none covers it.
func (b *Book) defaultSet(day groundhand.Date) *RuleSet {
	at := b.eraAfter(day)
	if at == 0 {
		return nil
	}
	return b.eras[at-1].set
}

// named is the rule set of an id, nil when there is none.
func (b *Book) named(id string) *RuleSet {
	for i := range b.sets {
		if b.sets[i].ID == id {
			return &b.sets[i]
		}
	}
	return nil
}

// line finds the line of a method for a role: the one of that role before the one of any role.
func (s *RuleSet) line(method, role string) *Line {
	var any *Line
	for i := range s.Lines {
		switch l := &s.Lines[i]; {
		case l.Method != method:
		case l.Role == role:
			return l
		case l.Role == RoleAny:
			any = l
		}
	}
	return any
}
