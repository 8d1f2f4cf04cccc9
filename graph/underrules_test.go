package graph_test

import (
	"archive/zip"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

const underRules = `query($p: [ID!]!, $r: ID!, $on: Date!, $l: [LineAsk!], $k: DateTime) { peopleUnderRules(people: $p, ruleSet: $r, on: $on, lines: $l, asKnownAt: $k) {
  ruleSetId on caution people { worker { number } name employer crewId good goodThrough because why
    lines { good because why standing { method role familyId standing lastGoodDay restsOn } } } } }`

func (s *scene) people(names ...string) []string {
	out := []string{}
	for _, name := range names {
		out = append(out, s.id[name])
	}
	return out
}

// What a client asks at the gate, with the reason for who is not good, and the caution beside it.
func TestPeopleUnderRulesOverTheWire(t *testing.T) {
	s := newScene(t)
	r := s.ask(s.token[groundhand.Coordinator], underRules, form{"p": s.people("Keahi", "Aoife"), "r": "R-C", "on": "2025-06-11"})
	require.Empty(t, r.Errors, r.body)
	var got struct {
		PeopleUnderRules struct {
			RuleSetID, On, Caution string
			People                 []struct {
				Worker                                            struct{ Number string }
				Name, Employer, CrewID, GoodThrough, Because, Why string
				Good                                              bool
				Lines                                             []struct {
					Good     bool
					Standing struct{ Method, FamilyID, Standing, LastGoodDay string }
				}
			}
		}
	}
	require.NoError(t, json.Unmarshal([]byte(r.body), &struct{ Data any }{&got}))
	answer := got.PeopleUnderRules
	assert.Equal(t, "R-C 2025-06-11 "+rollcall.UnderRulesCaution, answer.RuleSetID+" "+answer.On+" "+answer.Caution)
	require.Len(t, answer.People, 2)
	keahi, aoife := answer.People[0], answer.People[1]
	assert.Equal(t, "1005 Keahi Oduya-Prewitt Halverra Lines V1 true 2026-01-09", fmt.Sprint(keahi.Worker.Number, " ", keahi.Name, " ", keahi.Employer, " ", keahi.CrewID, " ", keahi.Good, " ", keahi.GoodThrough))
	assert.Empty(t, keahi.Because+keahi.Why)
	require.Len(t, keahi.Lines, 2)
	assert.Equal(t, "PAIR_KIT F1 CURRENT 2026-03-09", strings.Join([]string{keahi.Lines[0].Standing.Method, keahi.Lines[0].Standing.FamilyID, keahi.Lines[0].Standing.Standing, keahi.Lines[0].Standing.LastGoodDay}, " "))
	assert.Equal(t, "false  NEVER_PRACTISED kit, two on the ground, second, F1: never practised this method", fmt.Sprint(aoife.Good, " ", aoife.GoodThrough, " ", aoife.Because, " ", aoife.Why))

	lone := []form{{"method": "LONE_KIT", "role": "LONE", "family": "F1"}}
	r = s.ask(s.token[groundhand.Coordinator], underRules, form{"p": s.people("Keahi"), "r": "R-C", "on": "2025-06-11", "l": lone})
	assert.Contains(t, r.body, `"good":false,"goodThrough":null,"because":"NEVER_PRACTISED"`, "asked for the lone method alone")
	r = s.ask(s.token[groundhand.Coordinator], underRules, form{"p": s.people("Keahi"), "r": "R-C", "on": "2025-06-11", "k": "2024-01-02T00:00:00Z"})
	assert.NotEmpty(t, r.problems(), "nothing was recorded by then")
}

func TestWhatIsWrongWithAQuestionUnderRulesIsTold(t *testing.T) {
	s := newScene(t)
	four := []string{s.id["Keahi"], "nobody", s.id["Aoife"], s.id["Keahi"]}
	for _, c := range []struct {
		vars form
		want []string
	}{
		{form{"p": four, "r": "R-Q", "on": "2025-06-11"}, []string{"NOT_FOUND ruleSet", "NOT_FOUND people[1]", "INVALID people[3]"}},
		{form{"p": four[:1], "r": "R2", "on": "2025-02-28"}, []string{"INVALID ruleSet"}},
		{form{"p": []string{}, "r": "R-C", "on": "2025-06-11"}, []string{"INVALID people"}},
		{form{"p": four[:1], "r": "R-C", "on": "2025-06-11", "k": "1970-01-01T00:00:00Z"}, []string{"INVALID asKnownAt"}},
		{form{"p": four[:1], "r": "R-C", "on": "2025-06-11", "l": []form{{"method": "PAIR_KIT", "role": "CASUALTY"}}}, []string{"INVALID lines[0].role"}},
	} {
		r := s.ask(s.token[groundhand.Coordinator], underRules, c.vars)
		assert.Equal(t, c.want, r.problems(), r.body)
	}
	many := make([]string, 501)
	r := s.ask(s.token[groundhand.Coordinator], `query($p: [ID!]!) { peopleUnderRules(people: $p, ruleSet: "R-C", on: "2025-06-11") { ruleSetId } }`, form{"p": many})
	assert.Equal(t, []string{"TOO_LARGE people"}, r.problems(), r.body)
	r = s.ask(s.token[groundhand.Coordinator], underRules, form{"p": many[:500], "r": "R-C", "on": "2025-06-11"})
	assert.NotEmpty(t, r.Errors)
	assert.Empty(t, s.log.String())
}

// A foreman asks about the own crew; who may not read standings asks about nobody. Whose certificates are missing is for those who read them.
func TestWhoMayAskAboutPeopleUnderRules(t *testing.T) {
	s := newScene(t)
	foreman := s.token[groundhand.CrewForeman]
	r := s.ask(foreman, underRules, form{"p": s.people("Maren", "Keahi"), "r": "R-C", "on": "2025-06-11"})
	assert.Empty(t, r.Errors, r.body)
	r = s.ask(foreman, underRules, form{"p": s.people("Keahi", "Linh"), "r": "R-C", "on": "2025-06-11"})
	assert.Equal(t, []string{"FORBIDDEN people[1]"}, r.problems(), r.body)
	assert.NotContains(t, r.body, "CURRENT")
	for _, by := range []groundhand.Capacity{groundhand.Inspector, groundhand.FieldWorker} {
		assert.Equal(t, []string{"FORBIDDEN"}, s.ask(s.token[by], underRules, form{"p": s.people("Tomasz"), "r": "R-C", "on": "2025-06-11"}).codes(), by)
	}
	without := `query($p: [ID!]!) { peopleUnderRules(people: $p, ruleSet: "R-C", on: "2025-06-11") { ruleSetId withoutCertificate } }`
	r = s.ask(foreman, without, form{"p": s.people("Maren", "Keahi")})
	assert.Equal(t, []string{"FORBIDDEN"}, r.codes(), r.body)
	assert.Contains(t, r.body, `"ruleSetId":"R-C"`, "the rest is answered")
}

// Good and without a certificate under the client's rules: issued in one go, once, and nothing is missing any more.
func TestMissingCertificatesAreIssuedOverTheWire(t *testing.T) {
	s := newScene(t)
	names := s.people("Maren", "Aoife", "Keahi")
	without := func() string {
		return s.ask(s.token[groundhand.HR], `query($p: [ID!]!) { peopleUnderRules(people: $p, ruleSet: "R-C", on: "2025-06-11") { withoutCertificate } }`, form{"p": names}).body
	}
	assert.Contains(t, without(), fmt.Sprintf(`"withoutCertificate":[%q,%q]`, names[0], names[2]))
	issue := `mutation($key: String!, $p: [ID!]!) { issueMissingCertificates(key: $key, people: $p, ruleSet: "R-C", on: "2025-06-11") { id personName ruleSetId lastGoodDay evidenceKind } }`
	before := s.rows()
	vars := form{"key": s.key(), "p": append(names, "nobody")}
	r := s.ask(s.token[groundhand.Coordinator], issue, vars)
	assert.Equal(t, []string{"NOT_FOUND people[3]"}, r.problems(), r.body)
	assert.Equal(t, before, s.rows(), "nothing was written")
	assert.Equal(t, []string{"FORBIDDEN"}, s.ask(s.token[groundhand.HR], issue, form{"key": s.key(), "p": names}).codes())

	vars["p"] = names
	r = s.ask(s.token[groundhand.Coordinator], issue, vars)
	require.Empty(t, r.Errors, r.body)
	assert.Contains(t, r.body, `{"id":"2025-0001","personName":"Maren Oduya-Prewitt","ruleSetId":"R-C","lastGoodDay":"2026-03-09","evidenceKind":"PRACTICE_RUN"}`)
	assert.Equal(t, r.body, s.ask(s.token[groundhand.Coordinator], issue, vars).body, "the same key issues nothing again")
	assert.Equal(t, before["certificates"]+2, s.rows()["certificates"])
	assert.Contains(t, without(), `"withoutCertificate":[]`)
	assert.Empty(t, s.log.String())
}

// The pack goes out to a coordinator and HR, and that it did is noted for each person; what is refused is noted for nobody.
func TestAPackIsStreamed(t *testing.T) {
	s := newScene(t)
	path := func(ruleSet, on string, people ...string) string {
		return "/packs.zip?" + url.Values{"ruleSet": {ruleSet}, "on": {on}, "person": people}.Encode()
	}
	noted := func() int {
		n, err := store.Count[groundhand.Viewing](t.Context(), s.store, "", nil)
		require.NoError(t, err)
		return n
	}
	for _, c := range []struct {
		name, path string
		by         groundhand.Capacity
		status     int
		want       []string
	}{
		{"a dispatcher", path("R-C", "2025-06-11", s.id["Keahi"]), groundhand.Dispatcher, http.StatusForbidden, []string{"FORBIDDEN"}},
		{"an auditor", path("R-C", "2025-06-11", s.id["Keahi"]), groundhand.Auditor, http.StatusForbidden, []string{"FORBIDDEN"}},
		{"no day", path("R-C", "", s.id["Keahi"]), groundhand.HR, http.StatusUnprocessableEntity, []string{"INVALID on"}},
		{"nobody", path("R-C", "2025-06-11"), groundhand.HR, http.StatusUnprocessableEntity, []string{"INVALID people"}},
		{"unknown and twice", path("R-Q", "2025-06-11", s.id["Keahi"], "x", s.id["Keahi"]), groundhand.HR, http.StatusNotFound, []string{"NOT_FOUND ruleSet", "NOT_FOUND people[1]", "INVALID people[2]"}},
	} {
		r := s.send(s.token[c.by], http.MethodGet, c.path, "", nil)
		assert.Equal(t, c.status, r.status, "%s: %s", c.name, r.body)
		assert.Equal(t, c.want, r.problems(), c.name)
	}
	assert.Zero(t, noted())
	r := s.send(s.token[groundhand.HR], http.MethodGet, path("R-C", "2025-06-11", s.id["Keahi"], s.id["Aoife"]), "", nil)
	require.Equal(t, http.StatusOK, r.status, r.body)
	archive, err := zip.NewReader(strings.NewReader(r.body), int64(len(r.body)))
	require.NoError(t, err)
	names := []string{}
	for _, f := range archive.File {
		names = append(names, f.Name)
	}
	assert.Subset(t, names, []string{"README.txt", "people.pdf", "people.csv", "export/manifest.csv", "export/issuer/did.json"})
	assert.Equal(t, 1, noted())
	seen, err := store.All[groundhand.Viewing](t.Context(), s.store)
	require.NoError(t, err)
	assert.Equal(t, groundhand.List(s.people("Keahi", "Aoife")), seen[0].Workers)
	assert.Equal(t, "client pack under R-C", seen[0].Question)
	assert.Empty(t, s.log.String())
}
