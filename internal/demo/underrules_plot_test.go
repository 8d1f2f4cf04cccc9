package demo_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	g "groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

// P10, as the client asks it at the gate: eleven named people, one rule set, one day.
func TestElevenPeopleAtTheClientsGate(t *testing.T) {
	c := played(t)
	names := []string{"Katya Lormier", "Uche Ravenhall", "Pádraig Solheim-Kerry", "Jun Takamori-Pell", "Marcus Ballantree-Ode", "Yara Ilincic", "Desmond Pikethorne",
		"Aroha Mitcheldean", "Stefan Brocklebank-Ito", "Nils Overgaard-Smythe", "Gwen Abasolo-Trent"}
	under := func(set g.RuleSetID, known g.Instant) []rollcall.PersonUnderRules {
		got, err := c.roll.UnderRules(c.ctx, rollcall.UnderRulesQuestion{People: c.who(names...), RuleSet: set, On: g.MustDate("2025-01-14"), AsKnownAt: known})
		require.NoError(t, err)
		require.Len(t, got, len(names))
		for i, p := range got {
			assert.Equal(t, names[i], p.Name)
			assert.NotEmpty(t, p.Employer)
			assert.Equal(t, p.Good, p.Because == "", p.Name)
			assert.Equal(t, p.Good, rollcall.WhyNotGood(p) == "", p.Name)
		}
		return got
	}
	client, own := under("R-C", 0), under("R-X", 0)
	good := func(people []rollcall.PersonUnderRules) (out []string) {
		for _, p := range people {
			if p.Good {
				out = append(out, p.Name)
			}
		}
		return out
	}
	assert.Equal(t, names, good(own), "all eleven are good under the contractor's own rule")
	assert.Equal(t, names[4:], good(client), "C2 drilled on Friday 12 January 2024, and its year is over for the client")
	uche := slices.Index(names, "Uche Ravenhall")
	assert.False(t, client[uche].Good)
	assert.Equal(t, "kit, two on the ground, second, F3: last good day was Sat 11 Jan 2025", rollcall.WhyNotGood(client[uche]))
	assert.True(t, own[uche].Good, "good under the contractor's own rule")
	assert.Equal(t, "2025-01-31", own[uche].GoodThrough.String())
	at := c.instant("2025-01-14 05:30")
	assert.Equal(t, rollcall.BecauseOver, under("R-C", at)[uche].Because, "and nobody could have said otherwise at the gate that morning")
}
