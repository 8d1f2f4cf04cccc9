package readiness_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/readiness"
)

// byHand is the verdict of a question in which nothing is unknown and nothing changes inside the window, by trying every choice of who
// goes aloft with every assignment of people to roles. First aid is asked of everybody alike and left out.
func byHand(_ require.TestingT, q readiness.Question) readiness.Verdict {
	best := readiness.NotReady
	for bits := range 1 << len(q.People) {
		var up, ground []readiness.Person
		able := true
		for i, p := range q.People {
			if bits>>i&1 == 0 {
				ground = append(ground, p)
				continue
			}
			up, able = append(up, p), able && p.CanGoAloft
		}
		if able && len(up) == q.Job.Buckets[0].People {
			best = max(best, min(cardByHand(q), rescueByHand(q, ground)))
		}
	}
	return best
}

func cardByHand(q readiness.Question) readiness.Verdict {
	full, some := 0, 0
	for _, p := range q.People {
		best := readiness.NotReady
		for _, m := range q.Rules.Methods {
			for _, role := range m.Roles {
				best = max(best, standsFor(q, p, m, role))
			}
		}
		if best == readiness.Ready {
			full++
		}
		if best != readiness.NotReady {
			some++
		}
	}
	switch {
	case full >= q.Rules.CrewRescuers:
		return readiness.Ready
	case some >= q.Rules.CrewRescuers:
		return readiness.Conditional
	}
	return readiness.NotReady
}

func rescueByHand(q readiness.Question, ground []readiness.Person) readiness.Verdict {
	best := readiness.NotReady
	for _, m := range q.Rules.Methods {
		if q.Job.Methods[m.ID] == readiness.Yes {
			best = max(best, teamsByHand(q, m, ground, nil))
		}
	}
	return best
}

// teamsByHand is the best class of any team that begins with these people.
func teamsByHand(q readiness.Question, m readiness.Method, ground []readiness.Person, team []int) readiness.Verdict {
	if len(team) == len(m.Roles) {
		return teamByHand(q, m, ground, team)
	}
	best := readiness.NotReady
	for i := range ground {
		if !slices.Contains(team, i) {
			best = max(best, teamsByHand(q, m, ground, append(slices.Clone(team), i)))
		}
	}
	return best
}

func teamByHand(q readiness.Question, m readiness.Method, ground []readiness.Person, team []int) readiness.Verdict {
	class := readiness.Ready
	for role, i := range team {
		class = min(class, standsFor(q, ground[i], m, m.Roles[role]))
	}
	full, some := 0, 0
	for _, p := range ground {
		best := readiness.NotReady
		for _, role := range m.Roles {
			best = max(best, standsFor(q, p, m, role))
		}
		if best == readiness.Ready {
			full++
		}
		if best != readiness.NotReady {
			some++
		}
	}
	switch {
	case some < m.Rescuers:
		return readiness.NotReady
	case full < m.Rescuers || m.Conditional:
		return min(class, readiness.Conditional)
	}
	return class
}

// standsFor is READY, CONDITIONAL or NOT_READY as somebody counts fully, conditionally or not.
func standsFor(q readiness.Question, p readiness.Person, m readiness.Method, role readiness.Role) readiness.Verdict {
	lower := (role == readiness.Lead || role == readiness.Lone) && slices.Contains(m.Needs, readiness.NeedLowerControls)
	best := readiness.NotReady
	for _, c := range p.Capabilities {
		standsIn := c.Role == role || c.Role == readiness.Lead && role == readiness.Second
		if c.Method != m.ID || !standsIn || m.PerFamily && c.Family != q.Device.Family || lower && p.OperatesLower != readiness.Yes || slices.Contains(q.Rules.GradeLimits[p.Grade], role) {
			continue
		}
		switch rule := q.Rules.States[c.State]; {
		case c.State == readiness.Current || rule.Counts == readiness.CountsFull && !slices.Contains(rule.NotRoles, role):
			best = readiness.Ready
		case rule.Counts == readiness.CountsConditional && !slices.Contains(rule.NotRoles, role):
			best = max(best, readiness.Conditional)
		}
	}
	return best
}

func TestTheRolesAreMatchedAsByTryingEveryAssignment(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := morning(aloft(rapid.IntRange(1, 2).Draw(t, "aloft")), near50V(readiness.No), func(q *readiness.Question) { q.Rules.FirstAid.Below50V, q.People = 0, nil })
		roles := []readiness.Role{readiness.Lead, readiness.Second, readiness.Lone}
		for i := range q.Rules.Methods[:2] {
			m := &q.Rules.Methods[i]
			m.Roles = rapid.SliceOfN(rapid.SampledFrom(roles), 1, 4).Draw(t, "roles")
			m.Rescuers = len(m.Roles) + rapid.IntRange(0, 1).Draw(t, "rescuers more")
			m.Needs = []readiness.Need{}
		}
		allows("LONE_KIT", rapid.SampledFrom([]readiness.YesNo{readiness.Yes, readiness.No}).Draw(t, "the other method"))(&q)
		for i := range rapid.IntRange(2, 6).Draw(t, "crew") {
			p := person(fmt.Sprintf("p%d", i))
			p.Grade = rapid.SampledFrom([]string{"LINE", "LINE", "APPRENTICE_1"}).Draw(t, "grade")
			p.Capabilities = nil
			for _, role := range rapid.SliceOfNDistinct(rapid.SampledFrom(roles), 0, 3, rapid.ID).Draw(t, "practised") {
				c := capability(rapid.SampledFrom([]string{"PAIR_KIT", "PAIR_KIT", "LONE_KIT"}).Draw(t, "method"), role)
				c.State = rapid.SampledFrom([]readiness.State{readiness.Current, readiness.Current, readiness.OnExtension, readiness.Provisional}).Draw(t, "state")
				p.Capabilities = append(p.Capabilities, c)
			}
			q.People = append(q.People, p)
		}
		require.Equal(t, byHand(t, q), ask(t, q).Verdict)
	})
}
