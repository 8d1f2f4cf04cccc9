package graph_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/vektah/gqlparser/v2/ast"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
)

// valueFor writes the smallest value that the grammar lets through for a type.
func valueFor(t *ast.Type, by groundhand.Capacity) any {
	if t.Elem != nil {
		return []any{valueFor(t.Elem, by)}
	}
	switch t.NamedType {
	case "Date":
		return "2025-06-11"
	case "DateTime":
		return "2025-06-11T18:00:00Z"
	case "Int":
		return 1
	case "Boolean":
		return true
	case "MembershipReason":
		return "LOAN" // a permanent one asks for another act, see below
	case "Capacity":
		return map[bool]string{true: "HR", false: "AUDITOR"}[by == groundhand.HR] // HR adds its own alone, the coordinator all others
	}
	def := schema().Types[t.NamedType]
	switch def.Kind {
	case ast.Enum:
		return def.EnumValues[0].Name
	case ast.InputObject:
		out := form{}
		for _, f := range def.Fields {
			if f.Type.NonNull {
				out[f.Name] = valueFor(f.Type, by)
			}
		}
		return out
	}
	return "nobody"
}

// smallest asks one field of the root with nothing but what it must be given.
func (s *scene) smallest(by groundhand.Capacity, operation string, f *ast.FieldDefinition) reply {
	var declared, passed []string
	variables := form{}
	file := false
	for _, a := range f.Arguments {
		if a.Type.NonNull {
			declared, passed = append(declared, fmt.Sprintf("$%s: %s", a.Name, a.Type)), append(passed, a.Name+": $"+a.Name)
			variables[a.Name] = valueFor(a.Type, by)
			file = file || a.Type.Name() == "Upload"
		}
	}
	query := operation + " { " + f.Name
	if len(declared) > 0 {
		query = fmt.Sprintf("%s(%s) { %s(%s)", operation, strings.Join(declared, ", "), f.Name, strings.Join(passed, ", "))
	}
	if schema().Types[f.Type.Name()].IsCompositeType() {
		query += " { __typename }"
	}
	if file {
		return s.upload(s.token[by], query+" }", variables, strings.NewReader("number,name\n"))
	}
	return s.ask(s.token[by], query+" }", variables)
}

// Every capacity against every field of the root: what the table of acts refuses is FORBIDDEN, and what it allows may fail for anything else.
func TestTheTableOfActsIsKept(t *testing.T) {
	s := newScene(t)
	table := access.Table()
	asked := 0
	for _, root := range []*ast.Definition{schema().Query, schema().Mutation} {
		for _, f := range fieldsOf(root) {
			act := access.Act(f.Directives.ForName("act").Arguments.ForName("needs").Value.Raw)
			for _, by := range groundhand.Capacities {
				asked++
				r := s.smallest(by, strings.ToLower(root.Name), f)
				if slices.Contains(table[act], by) {
					assert.NotContains(t, r.codes(), "FORBIDDEN", "%s may %s: %s", by, f.Name, r.body)
					assert.NotContains(t, r.codes(), "INTERNAL", "%s %s: %s", by, f.Name, r.body)
					assert.NotContains(t, r.codes(), "GRAPHQL_VALIDATION_FAILED", "%s %s: %s", by, f.Name, r.body)
				} else {
					assert.Equal(t, []string{"FORBIDDEN"}, r.codes(), "%s may not %s: %s", by, f.Name, r.body)
					assert.NotContains(t, string(r.Data[f.Name]), "__typename", "%s %s", by, f.Name)
				}
			}
		}
	}
	assert.Greater(t, asked, 450)
	assert.Empty(t, s.log.String(), "nothing failed inside")
}

func TestALoanAsksForLessThanAPermanentPlace(t *testing.T) {
	s := newScene(t)
	loan := with(member("V2", s.id["Keahi"], false), form{"reason": "LOAN", "fromOn": "2025-06-12", "toOn": "2025-06-13"})
	r := s.change(s.token[groundhand.Dispatcher], "joinCrew", s.key(), loan, "id")
	assert.Empty(t, r.Errors, r.body)
	r = s.change(s.token[groundhand.Dispatcher], "joinCrew", s.key(), member("V2", s.id["lorcan"], false), "id")
	assert.Equal(t, []string{"FORBIDDEN"}, r.codes())
}

func TestWithoutAGoodTokenThereIsNoData(t *testing.T) {
	s := newScene(t)
	account, revoked, err := s.door.AddAccount(t.Context(), "gone", groundhand.Coordinator, "")
	require.NoError(t, err)
	_, err = s.door.Revoke(t.Context(), account.ID)
	require.NoError(t, err)
	tokens := map[string]string{"no token": "", "a wrong token": "gh_" + strings.Repeat("A", 43), "a revoked token": revoked, "a digest is no token": "Basic x"}
	for name, token := range tokens {
		for _, path := range []string{"/graphql", "/certificates.zip", "/packs.zip", "/certificates/2025-0001.pdf", "/certificates/2025-0001.json", "/audit/V1.zip"} {
			for _, method := range []string{http.MethodGet, http.MethodPost} {
				t.Run(name+" "+method+" "+path, func(t *testing.T) {
					r := s.send(token, method, path, "application/json", strings.NewReader(`{"query": "{ me { id } yards { id } }"}`))
					if method == http.MethodPost && path != "/graphql" {
						assert.Equal(t, http.StatusMethodNotAllowed, r.status)
					} else {
						assert.Equal(t, http.StatusUnauthorized, r.status)
						assert.Equal(t, []string{"UNAUTHENTICATED"}, r.codes())
						assert.Nil(t, r.Data)
					}
					assert.NotContains(t, r.body, "VARROW")
				})
			}
		}
	}
	for _, path := range []string{"/", "/explorer/explorer.css", "/explorer/explorer.js", "/schema.graphql"} {
		r := s.send("", http.MethodGet, path, "", nil)
		assert.Equal(t, http.StatusOK, r.status, path)
	}
	assert.Equal(t, http.StatusNotFound, s.send("", http.MethodGet, "/records.db", "", nil).status)
}

// A worker reads the own record through the own account, and by no path anybody else's.
func TestAWorkerReadsOnlyTheOwnRecord(t *testing.T) {
	s := newScene(t)
	token := s.token[groundhand.FieldWorker]
	r := s.ask(token, `{ me { name capacity worker { id name standings { method standing } } } }`, nil)
	require.Empty(t, r.Errors, r.body)
	assert.Contains(t, r.body, `"standing":"CURRENT"`)
	r = s.ask(token, `{ me { worker { id crew { id name openFlags { id } members { worker { id name standings { standing } } } } } } }`, nil)
	assert.ElementsMatch(t, []string{"FORBIDDEN", "FORBIDDEN"}, r.codes(), r.body)
	assert.NotContains(t, r.body, s.id["Maren"])
	for _, query := range []string{`{ worker(id: %q) { id } }`, `{ standing(ask: {worker: %q, method: PAIR_KIT, role: LEAD}) { standing } }`,
		`{ standingFacts(ask: {worker: %q, method: PAIR_KIT, role: LEAD}) }`, `{ unavailabilityReasons(worker: %q) { reason } }`} {
		for _, name := range []string{"Tomasz", "Maren"} {
			r := s.ask(token, fmt.Sprintf(query, s.id[name]), nil)
			assert.Equal(t, []string{"FORBIDDEN"}, r.codes(), r.body)
		}
	}
}

// Who reads the roster need not be one who reads standings: an inspector is not.
func TestStandingsAreNotPartOfTheRoster(t *testing.T) {
	s := newScene(t)
	r := s.ask(s.token[groundhand.Inspector], `{ crew(id: "V1") { members { worker { name standings { standing } } } openFlags { id } } }`, nil)
	assert.Equal(t, []string{"FORBIDDEN", "FORBIDDEN", "FORBIDDEN", "FORBIDDEN"}, r.codes(), r.body)
	assert.NotContains(t, r.body, "CURRENT")
	assert.Contains(t, r.body, "Maren")
}

// Maren is foreman of V1; Linh leads V2.
func TestAForemanReachesTheOwnCrewAlone(t *testing.T) {
	s := newScene(t)
	session := s.make("bookSession", form{"yardId": "VARROW", "startAt": "2025-06-10T08:00:00+01:00", "endAt": "2025-06-10T12:00:00+01:00", "methods": []string{"PAIR_KIT"},
		"deviceId": "A04", "assessorId": s.id["Gideon"], "seats": 6})
	stranger := s.make("recordDrill", form{"sessionId": session, "runs": []form{with(runForm(s.id["Linh"], s.id["Dov"]), form{"on": "2025-06-10"})}})
	own := s.make("recordDrill", form{"sessionId": session, "runs": []form{with(runForm(s.id["Keahi"], s.id["Tomasz"]), form{"on": "2025-06-10"})}})
	foreman := s.token[groundhand.CrewForeman]
	window := `from: "2025-06-12T06:00:00+01:00", to: "2025-06-12T14:00:00+01:00", device: "A04", aloft: 1`
	allowed := map[string]string{
		"cover of the own crew":         `{ crewCover(ask: {crew: "V1", ` + window + `}) { verdict } }`,
		"the standing of a crew mate":   fmt.Sprintf(`{ standing(ask: {worker: %q, method: PAIR_KIT, role: LEAD, family: "F1"}) { standing } }`, s.id["Keahi"]),
		"the crew mates' standings":     `{ crew(id: "V1") { members { worker { standings { standing } } } openFlags { id } } }`,
		"a run of a crew mate":          fmt.Sprintf(`{ run(id: %q) { id } }`, own),
		"a run in which somebody helps": fmt.Sprintf(`{ worker(id: %q) { standings(on: "2024-02-01") { standing } } }`, s.id["Maren"]),
	}
	for name, query := range allowed {
		t.Run("may read "+name, func(t *testing.T) {
			r := s.ask(foreman, query, nil)
			assert.Empty(t, r.Errors, r.body)
		})
	}
	refused := map[string]string{
		"cover of another crew":           `{ crewCover(ask: {crew: "V2", ` + window + `}) { verdict question } }`,
		"cover of strangers":              fmt.Sprintf(`{ crewCover(ask: {people: [%q], `+window+`}) { verdict question } }`, s.id["Linh"]),
		"strangers beside the own crew":   fmt.Sprintf(`{ crewCover(ask: {crew: "V1", people: [%q], `+window+`}) { verdict question } }`, s.id["Linh"]),
		"a stranger's standing":           fmt.Sprintf(`{ standing(ask: {worker: %q, method: PAIR_KIT, role: LEAD}) { standing } }`, s.id["Linh"]),
		"a stranger's course":             fmt.Sprintf(`{ course(ask: {worker: %q, method: PAIR_KIT, role: LEAD}, from: "2025-01-01", through: "2025-06-01") { standing } }`, s.id["Linh"]),
		"a stranger's standings":          fmt.Sprintf(`{ worker(id: %q) { standings { standing } } }`, s.id["Linh"]),
		"a stranger's standings long ago": fmt.Sprintf(`{ worker(id: %q) { standings(on: "2024-02-01") { standing } } }`, s.id["Linh"]),
		"flags of another crew":           `{ crew(id: "V2") { openFlags { id } } }`,
		"flags of everybody":              `{ flags(open: false) { edges { cursor } } }`,
		"a run of strangers":              fmt.Sprintf(`{ run(id: %q) { id } }`, stranger),
		"facts, which tell of assessors":  fmt.Sprintf(`{ standingFacts(ask: {worker: %q, method: PAIR_KIT, role: LEAD}) }`, s.id["Keahi"]),
	}
	for name, query := range refused {
		t.Run("may not read "+name, func(t *testing.T) {
			r := s.ask(foreman, query, nil)
			assert.Equal(t, []string{"FORBIDDEN"}, r.codes(), r.body)
			assert.NotContains(t, r.body, "CURRENT")
		})
	}
	for name, query := range map[string]string{
		"the sessions of a day": `{ sessions(from: "2025-06-10", through: "2025-06-10") { runs { id parts { worker { id } } } } }`,
		"the roll call":         `{ rollCall(on: "2025-06-11") { notCurrent { edges { node { worker { id } } } } near { edges { node { worker { id } } } } crews { crew { id } mayGoAloft } } }`,
		"the days ahead":        `{ lookAhead(on: "2025-06-11", days: 400) { lapses { edges { node { worker { id } } } } firstBadDays { crew { id } } } }`,
		"the day's jobs":        `{ coverOn(day: "2025-06-12") { job { id crew { id } } } }`,
	} {
		t.Run("sees the own crew alone in "+name, func(t *testing.T) {
			r := s.ask(foreman, query, nil)
			require.Empty(t, r.Errors, r.body)
			for _, name := range []string{"Linh", "Dov", "Aoife"} {
				assert.NotContains(t, r.body, s.id[name])
			}
			assert.NotContains(t, r.body, `"V2"`)
		})
	}
	r := s.change(foreman, "recordDrill", s.key(), form{"runs": []form{with(runForm(s.id["Linh"], s.id["Keahi"]), form{"on": "2025-06-10"})}}, "runs { id }")
	assert.Equal(t, []string{"FORBIDDEN runs[0].parts[0].workerId"}, r.problems(), r.body)
}

// A reason reaches HR through one field, and nobody through any other: not the answer to the form, not a standing, a cover, a question or facts.
func TestAHealthReasonReachesHRAlone(t *testing.T) {
	const reason = "a broken wrist, invented"
	s := newScene(t)
	r := s.change(s.token[groundhand.HR], "setUnavailable", s.key(), form{"workerId": s.id["Keahi"], "kind": "SICK", "fromAt": "2025-06-10T00:00:00+01:00", "reason": reason}, "id kind fromAt toAt")
	require.Empty(t, r.Errors, r.body)
	assert.NotContains(t, r.body, reason)
	query := fmt.Sprintf(`{ unavailabilityReasons(worker: %q) { reason } }`, s.id["Keahi"])
	assert.Equal(t, []any{map[string]any{"reason": reason}}, s.get(groundhand.HR, query))
	for _, by := range groundhand.Capacities {
		if by != groundhand.HR {
			assert.Equal(t, []string{"FORBIDDEN"}, s.ask(s.token[by], query, nil).codes(), by)
		}
	}
	bodies := []string{}
	for _, query := range []string{
		`{ crewCover(ask: {crew: "V1", from: "2025-06-12T06:00:00+01:00", to: "2025-06-12T14:00:00+01:00", device: "A04"}) { verdict question findings { code things } mustStayDown { worker { id } because } } }`,
		fmt.Sprintf(`{ standingFacts(ask: {worker: %q, method: PAIR_KIT, role: LEAD}) }`, s.id["Keahi"]),
		`{ rollCall(on: "2025-06-11") { crews { findings { code things words } } } }`,
	} {
		bodies = append(bodies, s.ask(s.token[groundhand.Coordinator], query, nil).body)
	}
	all := strings.Join(bodies, "\n")
	assert.NotContains(t, all, "wrist")
	assert.NotContains(t, all, "SICK")
	assert.Contains(t, all, "ABSENT", "that somebody is not there is told")
	for _, def := range ours() {
		for _, f := range def.Fields {
			if strings.Contains(f.Type.String(), "UnavailabilityReason") {
				assert.Equal(t, "Query.unavailabilityReasons", def.Name+"."+f.Name)
			}
		}
	}
}

func TestAnAccountOfHRIsAddedByHRAlone(t *testing.T) {
	s := newScene(t)
	add := func(by groundhand.Capacity, capacity string) reply {
		return s.ask(s.token[by], `mutation($c: Capacity!) { addAccount(name: "new", capacity: $c) { token account { capacity } } }`, form{"c": capacity})
	}
	assert.Equal(t, []string{"FORBIDDEN"}, add(groundhand.Coordinator, "HR").codes())
	assert.Equal(t, []string{"FORBIDDEN"}, add(groundhand.HR, "COORDINATOR").codes())
	assert.Equal(t, []string{"INVALID capacity"}, add(groundhand.Coordinator, "PROGRAM").problems())
	assert.Equal(t, []string{"INVALID workerId"}, add(groundhand.Coordinator, "FOREMAN").problems())
	r := add(groundhand.HR, "HR")
	require.Empty(t, r.Errors, r.body)
	var made struct {
		AddAccount struct{ Token string }
	}
	require.NoError(t, json.Unmarshal([]byte(r.body), &struct{ Data any }{&made}))
	assert.Empty(t, s.ask(made.AddAccount.Token, `{ me { capacity } }`, nil).Errors, "the new token opens the door, though no worker belongs to it")
	r = s.ask(s.token[groundhand.Coordinator], `mutation { addAccount(name: "new", capacity: AUDITOR, workerId: "nobody") { token } }`, nil)
	assert.Equal(t, []string{"NOT_FOUND workerId"}, r.problems(), r.body)
}
