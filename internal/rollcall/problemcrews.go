package rollcall

import (
	"cmp"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
)

func (f *planFacts) yards() []rotation.Yard {
	out := make([]rotation.Yard, len(f.yardRows))
	for i, y := range f.yardRows {
		out[i] = rotation.Yard{ID: string(y.ID), Name: y.Name}
	}
	return out
}

// travel: of two roads between the same yards the shorter one is taken.
func (f *planFacts) travel() []rotation.Travel {
	least := map[[2]string]int{}
	for _, road := range f.roads {
		key := [2]string{string(min(road.FromYardID, road.ToYardID)), string(max(road.FromYardID, road.ToYardID))}
		if minutes, there := least[key]; !there || road.Minutes < minutes {
			least[key] = road.Minutes
		}
	}
	out := make([]rotation.Travel, 0, len(least))
	for key, minutes := range least {
		out = append(out, rotation.Travel{From: key[0], To: key[1], Minutes: minutes})
	}
	slices.SortFunc(out, func(a, b rotation.Travel) int { return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To)) })
	return out
}

// planned says whether a method is planned at all.
func (f *planFacts) planned(m groundhand.Method) bool {
	return f.ask.Methods == nil || slices.Contains(f.ask.Methods, m)
}

// crews lists who is sent out, each with its first family as its device class: the planner knows one.
func (f *planFacts) crews() []rotation.Crew {
	var out []rotation.Crew
	for _, c := range f.lineUp.sentOut() {
		crew := rotation.Crew{ID: string(c.ID), Name: c.Name, Yard: string(c.YardID), Cover: []rotation.CoverRule{}}
		if len(c.Families) > 0 {
			crew.Device = c.Families[0]
		}
		for _, m := range f.coverMethods(c) {
			crew.Cover = append(crew.Cover, rotation.CoverRule{AnyOf: []string{string(m)}, AtLeast: f.atLeast(c, m)})
		}
		out = append(out, crew)
	}
	return out
}

// atLeast is how many of a crew must be current in a method. With a people aloft, a+1 keep one on the ground whoever goes up; never fewer
// than the rule set's card asks for.
func (f *planFacts) atLeast(c groundhand.Crew, m groundhand.Method) int {
	if m == groundhand.FirstAid {
		return f.rules.Cover.FirstAid.Field
	}
	aloft := 1
	for _, a := range f.ask.Aloft {
		if a.CrewID == c.ID {
			aloft = a.Aloft
		}
	}
	return max(f.rules.Cover.CrewRescuers, aloft+1)
}

// mostInPair is the size up to which the one who stays down is alone.
const mostInPair = 2

// coverMethods lists the planned methods that cover of a crew is counted in: of a crew of two the lone method where it is asked, because
// whoever stays down is alone. First aid stands beside rescue: 29 CFR 1910.269(b)(1)(i) asks for two trained people where two or more work
// in the field.
func (f *planFacts) coverMethods(c groundhand.Crew) []groundhand.Method {
	var out []groundhand.Method
	for _, a := range f.rules.Of(c) {
		if f.planned(a.Method) && !slices.Contains(out, a.Method) && (a.Method.Aerial() || a.Method == groundhand.FirstAid) {
			out = append(out, a.Method)
		}
	}
	if c.NormalSize <= mostInPair && slices.Contains(out, groundhand.LoneKit) {
		out = slices.DeleteFunc(out, func(m groundhand.Method) bool { return m.Aerial() && m != groundhand.LoneKit })
	}
	return out
}

// qualifications lists what tickets, cover and slots name. How long each is valid is what its line says.
func (f *planFacts) qualifications(p *rotation.Problem) []rotation.Qualification {
	named := map[string]bool{}
	for _, w := range p.Workers {
		for _, t := range w.Tickets {
			named[t.Qualification] = true
		}
	}
	for _, s := range p.Slots {
		for _, q := range s.Qualifications {
			named[q] = true
		}
	}
	for _, c := range p.Crews {
		for _, rule := range c.Cover {
			named[rule.AnyOf[0]] = true
		}
	}
	out := []rotation.Qualification{}
	for _, m := range groundhand.Methods {
		if named[string(m)] {
			out = append(out, rotation.Qualification{ID: string(m), PeoplePerRun: peoplePerRun(m), ValidMonths: f.validMonths(m), AimDaysBefore: aimDaysBefore})
		}
	}
	return out
}

// peoplePerRun is how many people a timed run of a method takes.
func peoplePerRun(m groundhand.Method) int {
	switch m {
	case groundhand.PairKit, groundhand.ManualLowering, groundhand.SubstationCase:
		return 2
	case groundhand.FirstAid:
		return 0 // a classroom
	}
	return 1
}

// validMonths is the shortest interval among the lines of a method, in whole months.
func (f *planFacts) validMonths(m groundhand.Method) int {
	const longest, daysOfMonth = 120, 31
	least := longest
	for _, l := range f.rules.Standing {
		if l.Method == string(m) {
			least = min(least, cmp.Or(l.Interval.Months, max(1, l.Interval.Days/daysOfMonth)))
		}
	}
	return least
}
