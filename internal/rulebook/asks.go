package rulebook

import (
	"encoding/json"
	"fmt"
	"strings"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

type ask struct {
	Method      string `json:"method"`
	Role        string `json:"role"`
	Families    string `json:"families"`
	CrewAtLeast int    `json:"crew_at_least"`
	CrewAtMost  int    `json:"crew_at_most"`
}

const largestCrew = 1000

func readAsks(p *groundhand.Problems, raw []json.RawMessage, ls lines) []Ask {
	out := make([]Ask, 0, len(raw))
	for i := range raw {
		at := fmt.Sprintf("asks[%d]", i)
		var a ask
		if err := strict(raw[i], &a); err != nil {
			p.Add(groundhand.CodeInvalid, at, "This ask is not readable: %s.", err)
			continue
		}
		a.check(p, at, ls)
		out = append(out, Ask{groundhand.Method(a.Method), groundhand.Role(a.Role), AskedFamilies(a.Families), a.CrewAtLeast, a.CrewAtMost})
	}
	return out
}

func (a ask) check(p *groundhand.Problems, at string, ls lines) {
	knownMethod(p, at+".method", a.Method)
	oneOf(p, at+".role", readiness.Role(a.Role), rescuers)
	oneOf(p, at+".families", a.Families, []string{string(CrewFamilies), string(AnyFamily)})
	between(p, at+".crew_at_least", a.CrewAtLeast, 0, largestCrew)
	between(p, at+".crew_at_most", a.CrewAtMost, 0, largestCrew)
	if a.CrewAtMost != 0 && a.CrewAtMost < a.CrewAtLeast {
		p.Add(groundhand.CodeInvalid, at+".crew_at_most", "The greatest crew is smaller than the smallest one.")
	}
	a.checkLine(p, at, ls)
}

// checkLine refuses an ask that nobody could ever meet: without a line, or without a family where the line goes by family.
func (a ask) checkLine(p *groundhand.Problems, at string, ls lines) {
	l, ok := ls.of(a.Method, strings.ToLower(a.Role))
	switch {
	case !ok && !ls.unreadable:
		p.Add(groundhand.CodeInvalid, at+".role", "No line says how long %s as %s is good for.", a.Method, a.Role)
	case ok && l.PerFamily && a.Families == string(AnyFamily):
		p.Add(groundhand.CodeInvalid, at+".families", "The line %s goes by control family; ask it for the families of the crew.", l.ID)
	}
}
