package graph_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

const coverOfV1 = `{ crewCover(ask: {crew: "V1", from: "2025-06-12T06:00:00+01:00", to: "2025-06-12T14:00:00+01:00", device: "A04", methods: [PAIR_KIT], near50V: YES, callPlan: YES}) {
	verdict verdictUntil then mayGoAloft { worker { id } verdict with } mustStayDown { worker { id } because } choices { aloft verdict method roles { role worker } }
	timeline { from to verdict mayGoAloft mustStayDown } findings { code severity things values { name value } } conditions { code things } question caution ruleSetId } }`

// The question that comes with an answer gives the same answer to anybody who asks it of the engine.
func TestACoverIsRecomputedFromItsQuestion(t *testing.T) {
	s := newScene(t)
	got := s.get(groundhand.Dispatcher, coverOfV1).(map[string]any)
	assert.Equal(t, "READY", got["verdict"])
	assert.NotEmpty(t, got["caution"])
	question, err := readiness.Decode([]byte(got["question"].(string)))
	require.NoError(t, err)
	again, err := readiness.Judge(question)
	require.NoError(t, err)
	assert.Equal(t, got["verdict"], again.Verdict.String())
	assert.Equal(t, got["verdictUntil"], again.HoldsUntil.Verdict.At.String())
	require.Len(t, got["mayGoAloft"], len(again.MayGoAloft))
	for i, a := range again.MayGoAloft {
		shown := got["mayGoAloft"].([]any)[i].(map[string]any)
		assert.Equal(t, string(a.Person), shown["worker"].(map[string]any)["id"])
		assert.Equal(t, a.Class.String(), shown["verdict"])
	}
	require.Len(t, got["choices"], len(again.Choices))
	require.Len(t, got["timeline"], len(again.Timeline))
	require.Len(t, got["findings"], len(again.Findings))
	for i, f := range again.Findings {
		assert.Equal(t, string(f.Code), got["findings"].([]any)[i].(map[string]any)["code"])
	}
}

func TestAStandingIsRecomputedFromItsFacts(t *testing.T) {
	s := newScene(t)
	for _, name := range []string{"Maren", "Aoife"} {
		ask := fmt.Sprintf(`(ask: {worker: %q, method: PAIR_KIT, role: LEAD, family: "F1", on: "2025-06-11"})`, s.id[name])
		got := s.get(groundhand.Auditor, `{ standing`+ask+` { standing lastGoodDay restsOn refused { entry code } line ruleSetId changesOn } }`).(map[string]any)
		facts := s.get(groundhand.Auditor, `{ standingFacts`+ask+` }`).(string)
		text, err := competence.AnswerFile([]byte(facts))
		require.NoError(t, err)
		var file struct{ Answers []map[string]any }
		require.NoError(t, json.Unmarshal(text, &file))
		require.Len(t, file.Answers, 1)
		answer := file.Answers[0]
		assert.Equal(t, got["standing"], answer["standing"], name)
		for ours, theirs := range map[string]string{"lastGoodDay": "last_good_day", "line": "line", "ruleSetId": "rule_set", "changesOn": "changes_on"} {
			assert.Equal(t, got[ours], answer[theirs], "%s of %s", ours, name)
		}
		assert.Equal(t, got["restsOn"], answer["rests_on"])
	}
}

// manyCrews adds crews of three until there are so many.
func (s *scene) manyCrews(from, to int) {
	for c := from; c < to; c++ {
		crew := fmt.Sprintf("N%02d", c)
		s.make("addCrew", with(form{"on": "2024-01-01"}, crewForm(crew)))
		for i := range 3 {
			who := s.make("addWorker", workerForm("Odo", fmt.Sprintf("9%02d%d", c, i)))
			s.make("joinCrew", member(crew, who, i == 0))
		}
	}
}

// A page costs as many statements with twelve crews as with three. Look-ups are given time to gather, so that a busy machine does not
// part them.
func TestAPageCostsNoMoreStatementsForMoreRows(t *testing.T) {
	s := newScene(t)
	s.root.Wait = 100 * time.Millisecond
	queries := []string{
		`{ crews { edges { node { id yard { name } members { worker { name yard { name } grading { grade } employment { employer } crew { id } standings { standing } } } openFlags { kind } } } } }`,
		`{ workers(first: 200) { edges { node { name standings { standing } crew { name } } } } }`,
		`{ coverOn(day: "2025-06-12") { job { crew { name } yard { name } briefings { id } } cover { verdict mayGoAloft { worker { name } } nMinus1 { hangsOn { worker { name } } }
			gear { line inspectionId } mustStayDown { worker { name } words } } } }`,
		`{ coverOn(day: "2025-06-12") { cover { changes { words } findings { words } conditions { words } } } }`, // names asked for at another moment would be another statement
		s.search(`leastChanges { steps { words } }`),
		s.search(`leastChanges { steps { people { name } } aloft { name } lenders { crew { name } people { name } } } refusedCandidates { worker { name } lender { name } }`),
		`{ devices { edges { node { family { name } anchorCm emergencyLow classings { id } defects { id } inspections { result } } } } }`,
		`{ outlook(on: "2025-06-12") { crews { crew { name } families { mayGoAloft { name } nMinus1 { hangsOn { worker { name } } } } } } }`,
		`{ stormGrid(ask: {from: "2025-06-12T06:00:00+01:00", until: "2025-06-12T14:00:00+01:00", kinds: [ONE_ALOFT]}) { rows { crew { name } members { name } booked { id } cells { aloft { name } } } } }`,
		`{ effectOf(event: {at: "2025-06-12T05:00:00+01:00", kit: "K04"}) { jobs { job { crew { name } } after { mayGoAloft { worker { name } } mustStayDown { worker { name } } } kits { kitId yard { name } } } } }`,
		`{ answersGiven { edges { node { crew { name } job { place } decisions { decided } } } } }`,
	}
	s.make("bookJob", jobForm("V1"))
	s.answered("V1", "V2")
	count := func(query string, by groundhand.Capacity) uint64 {
		before := s.store.Statements()
		s.get(by, query)
		return s.store.Statements() - before
	}
	s.manyCrews(2, 3)
	s.make("bookJob", jobForm("N02"))
	few := map[string]uint64{}
	for _, q := range queries {
		few[q] = count(q, groundhand.Coordinator)
	}
	s.manyCrews(3, 12)
	s.make("bookJob", jobForm("N05"))
	s.make("bookJob", jobForm("N06"))
	s.make("addDevice", with(form{"on": "2025-06-01"}, deviceForm("A07")))
	s.answered("N03", "N04", "N05", "N06")
	for _, q := range queries {
		assert.Equal(t, few[q], count(q, groundhand.Coordinator), q)
		assert.Less(t, few[q], uint64(120), q)
	}
}

// search asks for the least change of V1 without Keahi.
func (s *scene) search(fields string) string {
	return fmt.Sprintf(`{ crewCover(ask: {crew: "V1", absent: [%q], device: "A04", near50V: YES, callPlan: YES, from: "2025-06-12T06:00:00+01:00", to: "2025-06-12T14:00:00+01:00", changes: {show: 50}}) { %s } }`,
		s.id["Keahi"], fields)
}

// answered gives an answer about tomorrow for each crew, and decides upon it.
func (s *scene) answered(crews ...string) {
	for _, crew := range crews {
		id := s.make("giveAnswer", form{"ask": form{"crew": crew, "device": "A04", "from": "2025-06-12T06:00:00+01:00", "to": "2025-06-12T14:00:00+01:00"}})
		s.make("decide", form{"answerId": id, "decided": "NOT_SENT", "remarks": "wind"})
	}
}

func TestAPageLeadsToTheNext(t *testing.T) {
	s := newScene(t)
	page := func(after string) (edges []any, more bool, cursor string) {
		got := s.get(groundhand.HR, fmt.Sprintf(`{ workers(first: 4, after: %q) { edges { cursor node { id } } pageInfo { hasNextPage endCursor } } }`, after)).(map[string]any)
		info := got["pageInfo"].(map[string]any)
		cursor, _ = info["endCursor"].(string)
		return got["edges"].([]any), info["hasNextPage"].(bool), cursor
	}
	seen, after, more := map[string]bool{}, "", true
	for pages := 0; more; pages++ {
		require.Less(t, pages, 5)
		var edges []any
		edges, more, after = page(after)
		for _, e := range edges {
			seen[e.(map[string]any)["cursor"].(string)] = true
		}
	}
	assert.Len(t, seen, s.rows()["workers"])

	s.manyCrews(2, 3)
	whole := s.get(groundhand.Coordinator, `{ rollCall(on: "2025-06-11") { notCurrent(first: 200) { edges { cursor } } } }`).(map[string]any)["notCurrent"].(map[string]any)["edges"].([]any)
	require.Greater(t, len(whole), 1)
	var leafed []any
	for after := ""; len(leafed) < len(whole); {
		got := s.get(groundhand.Coordinator, fmt.Sprintf(`{ rollCall(on: "2025-06-11") { notCurrent(first: 1, after: %q) { edges { cursor } pageInfo { hasNextPage endCursor } } } }`, after)).(map[string]any)["notCurrent"].(map[string]any)
		require.Len(t, got["edges"], 1)
		leafed = append(leafed, got["edges"].([]any)...)
		after = got["pageInfo"].(map[string]any)["endCursor"].(string)
		assert.Equal(t, len(leafed) < len(whole), got["pageInfo"].(map[string]any)["hasNextPage"])
	}
	assert.Equal(t, whole, leafed)
	r := s.ask(s.token[groundhand.Coordinator], `{ rollCall(on: "2025-06-11") { notCurrent(after: "x") { edges { cursor } } } }`, nil)
	assert.Equal(t, []string{"INVALID after"}, r.problems())
}

// A job of a crew that was taken out of the records cannot be judged; the others still are, and it stands first.
func TestAJobThatCannotBeJudgedHidesNoOther(t *testing.T) {
	s := newScene(t)
	s.make("bookJob", jobForm("V1"))
	lost := s.make("bookJob", with(jobForm("V2"), form{"deviceId": nil}))
	s.make("withdraw", form{"entryId": "V2", "because": "never was"})
	got := s.get(groundhand.Dispatcher, `{ coverOn(day: "2025-06-12") { job { id } why cover { verdict } } }`).([]any)
	require.Len(t, got, 2)
	assert.Equal(t, lost, got[0].(map[string]any)["job"].(map[string]any)["id"])
	assert.Nil(t, got[0].(map[string]any)["cover"])
	assert.NotEmpty(t, got[0].(map[string]any)["why"])
	assert.Equal(t, map[string]any{"verdict": "READY"}, got[1].(map[string]any)["cover"])
}

func TestCertificatesAreIssuedReadAndStreamed(t *testing.T) {
	s := newScene(t)
	pass := s.make("assess", assessmentForm(s.id))
	coordinator := s.token[groundhand.Coordinator]
	issue := `mutation($key: String!, $e: ID!) { issueCertificate(key: $key, evidence: $e) { id worker { id } personName method role evidenceKind shownOn lastGoodDay ruleSetId } }`
	vars := form{"key": s.key(), "e": pass}
	r := s.ask(coordinator, issue, vars)
	require.Empty(t, r.Errors, r.body)
	assert.Equal(t, r.body, s.ask(coordinator, issue, vars).body, "the same key gives the same certificate")
	assert.Contains(t, r.body, `"id":"2025-0001"`)
	assert.Contains(t, r.body, `"evidenceKind":"PASSED_ASSESSMENT","shownOn":"2025-06-10"`)
	assert.Contains(t, s.ask(s.token[groundhand.HR], `{ certificate(id: "2025-0001") { personName } certificates { edges { node { id } } } }`, nil).body, "Maren Oduya-Prewitt")

	paper := s.send(coordinator, http.MethodGet, "/certificates/2025-0001.pdf", "", nil)
	assert.Equal(t, http.StatusOK, paper.status)
	assert.True(t, strings.HasPrefix(paper.body, "%PDF-"))
	whole := s.send(coordinator, http.MethodGet, "/certificates.zip?from=2025-06-01&through=2025-06-30&crew=V1", "", nil)
	require.Equal(t, http.StatusOK, whole.status)
	files, err := zip.NewReader(bytes.NewReader([]byte(whole.body)), int64(len(whole.body)))
	require.NoError(t, err)
	assert.Len(t, files.File, 6, "the page and its signed file, the note, the document, the list of what was withdrawn, and the list")

	cases := []struct {
		name, path string
		by         groundhand.Capacity
		status     int
		want       []string
	}{
		{"a number that there is none of", "/certificates/2025-0099.pdf", groundhand.Coordinator, http.StatusNotFound, []string{"NOT_FOUND number"}},
		{"no PDF", "/certificates/2025-0001", groundhand.Coordinator, http.StatusNotFound, []string{"NOT_FOUND number"}},
		{"days that cannot be read", "/certificates.zip?from=1%2F6&through=x", groundhand.Coordinator, http.StatusUnprocessableEntity, []string{"INVALID from", "INVALID through"}},
		{"numbers that there are none of", "/certificates.zip?number=2025-0001&number=1&number=2", groundhand.Coordinator, http.StatusNotFound, []string{"NOT_FOUND numbers[1]", "NOT_FOUND numbers[2]"}},
		{"a file for a dispatcher", "/certificates.zip", groundhand.Dispatcher, http.StatusForbidden, []string{"FORBIDDEN"}},
		{"a paper for a worker", "/certificates/2025-0001.pdf", groundhand.FieldWorker, http.StatusForbidden, []string{"FORBIDDEN"}},
		{"a file for an auditor, who reads them one by one", "/certificates.zip", groundhand.Auditor, http.StatusForbidden, []string{"FORBIDDEN"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := s.send(s.token[c.by], http.MethodGet, c.path, "", nil)
			assert.Equal(t, c.status, r.status, r.body)
			assert.ElementsMatch(t, c.want, r.problems(), r.body)
		})
	}
	assert.Empty(t, s.log.String())
}

var elsewhere = regexp.MustCompile(`(?i)(https?:)?//[a-z0-9]|url\(|@import|integrity=|<iframe|<link[^>]+href="[^/]`)

// The page asks the service it came from and nobody else, and its policy would not let it.
func TestThePageLoadsNothingFromElsewhere(t *testing.T) {
	s := newScene(t)
	for path, kind := range map[string]string{"/": "text/html", "/explorer/explorer.css": "text/css", "/explorer/explorer.js": "text/javascript"} {
		res, err := s.server.Client().Get(s.server.URL + path)
		require.NoError(t, err)
		var body bytes.Buffer
		_, err = body.ReadFrom(res.Body)
		require.NoError(t, err)
		require.NoError(t, res.Body.Close())
		assert.Equal(t, http.StatusOK, res.StatusCode)
		assert.Contains(t, res.Header.Get("Content-Type"), kind)
		assert.NotRegexp(t, elsewhere, body.String(), path)
		policy := res.Header.Get("Content-Security-Policy")
		assert.Contains(t, policy, "default-src 'none'")
		assert.NotContains(t, policy, "http")
		assert.NotContains(t, policy, "unsafe")
		assert.Equal(t, "no-store", res.Header.Get("Cache-Control"))
		assert.Equal(t, "nosniff", res.Header.Get("X-Content-Type-Options"))
	}
	page := s.send("", http.MethodGet, "/", "", nil).body
	assert.NotContains(t, page, "<script>", "a policy without unsafe-inline lets no script of the page itself run")
	assert.NotContains(t, page, "style=")
	assert.Contains(t, page, "local rules", "a caution stands on it")
	assert.Equal(t, schemaFile(t), s.send("", http.MethodGet, "/schema.graphql", "", nil).body)
}

// What the page asks to learn the schema is let through by the bounds.
func TestThePageLearnsTheSchema(t *testing.T) {
	s := newScene(t)
	script := s.send("", http.MethodGet, "/explorer/explorer.js", "", nil).body
	query := regexp.MustCompile("(?s)introspection = `(.*?)`").FindStringSubmatch(script)
	require.Len(t, query, 2)
	r := s.ask(s.token[groundhand.FieldWorker], query[1], nil)
	require.Empty(t, r.Errors, "%.400s", r.body)
	assert.Contains(t, r.body, "May this crew be sent")
	starting := regexp.MustCompile(`(?s)<textarea id="query"[^>]*>(.*?)</textarea>`).FindStringSubmatch(s.send("", http.MethodGet, "/", "", nil).body)
	require.Len(t, starting, 2)
	r = s.ask(s.token[groundhand.Dispatcher], starting[1], nil)
	assert.Empty(t, r.Errors, r.body)
}
