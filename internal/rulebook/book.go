package rulebook

import (
	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// Rules is what a rule set says, read from its body.
type Rules struct {
	Standing    []competence.Line
	Asks        []Ask
	Cover       readiness.Rules // without the id and, as a rule, without families: the company's families are filled in when a question is asked
	Inspections Inspections     // how long looks at kits and devices are good for
	LeadDays    int             // how many days before a last good day somebody is told, 1 to 366
}

// Ask is one thing that the rule set asks of every member of a crew of a normal size. The relief pool counts with its own normal size.
type Ask struct {
	Method      groundhand.Method
	Role        groundhand.Role
	Families    AskedFamilies
	CrewAtLeast int // smallest normal size it is asked of; 0: any
	CrewAtMost  int // greatest; 0: any
}

// AskedFamilies says for which control families something is asked.
type AskedFamilies string

// The two ways: for each family of the crew, or once whatever the family.
const (
	CrewFamilies AskedFamilies = "crew"
	AnyFamily    AskedFamilies = "any"
)

// Of says whether the ask concerns a crew.
func (a Ask) Of(c groundhand.Crew) bool {
	return c.NormalSize >= a.CrewAtLeast && (a.CrewAtMost == 0 || c.NormalSize <= a.CrewAtMost)
}

// Of lists what is asked of a member of a crew, a line for each family where that is asked.
func (r Rules) Of(c groundhand.Crew) []Asked {
	var out []Asked
	for _, a := range r.Asks {
		if !a.Of(c) {
			continue
		}
		if a.Families == AnyFamily {
			out = append(out, Asked{a.Method, a.Role, ""})
			continue
		}
		for _, f := range c.Families {
			out = append(out, Asked{a.Method, a.Role, groundhand.FamilyID(f)})
		}
	}
	return out
}

// Asked is one line asked of one person. An empty family means whatever the family.
type Asked struct {
	Method   groundhand.Method
	Role     groundhand.Role
	FamilyID groundhand.FamilyID
}
