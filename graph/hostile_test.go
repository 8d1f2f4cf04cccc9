package graph_test

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// Each form is refused with every problem in it, by code and path of the field, and leaves nothing behind.
func TestARefusedFormSaysEverythingAndLeavesNothing(t *testing.T) {
	s := newScene(t)
	id := s.id
	drill := func(change form) form { return form{"runs": []form{with(runForm(id["Maren"], id["Tomasz"]), change)}} }
	cases := []struct {
		name, field string
		form        form
		want        []string
	}{
		{"unknown ids", "addCrew", with(crewForm("V9"), form{"on": "2025-06-01", "yardId": "NOWHERE", "families": []string{"F1", "F9"}}), []string{"NOT_FOUND yardId", "NOT_FOUND families[1]"}},
		{"a person in two places", "joinCrew", with(member("V2", id["Maren"], false), form{"fromOn": "2025-06-11"}), []string{"CONFLICT fromOn"}},
		{"a membership that ends before it starts", "joinCrew", with(member("V9", id["Maren"], false), form{"reason": "LOAN", "fromOn": "2025-06-12", "toOn": "2025-06-11"}),
			[]string{"INVALID toOn", "NOT_FOUND crewId"}},
		{"an assessor assessing self", "assess", with(assessmentForm(id), form{"workerId": id["Gideon"]}), []string{"INVALID assessorId"}},
		{"an assessor without authority on that day", "assess", with(assessmentForm(id), form{"on": "2023-12-31"}), []string{"CONFLICT assessorId"}},
		{"stage marks that decrease", "recordDrill", drill(form{"marks": []form{{"stage": "S0", "seconds": 0}, {"stage": "S3", "seconds": 40}, {"stage": "S7", "seconds": 30}}}), []string{"INVALID runs[0].marks[2].seconds"}},
		{"a day ahead", "recordDrill", drill(form{"on": "2025-06-12"}), []string{"INVALID runs[0].on"}},
		{"a device of no yard", "addDevice", form{"on": "2025-06-01", "id": "A09", "familyId": "F1", "yardId": "", "type": "articulating", "platformCm": 1300}, []string{"INVALID yardId"}},
		{"a class that says nothing, of no device", "classDevice", form{"on": "2025-06-10", "deviceId": "A99"}, []string{"INVALID familyId", "NOT_FOUND deviceId"}},
		{"a class of no family", "classDevice", form{"on": "2025-06-10", "deviceId": "A04", "familyId": "F99", "anchorCm": 999999}, []string{"NOT_FOUND familyId", "INVALID anchorCm"}},
		{"a defect of both and without a moment", "raiseDefect", form{"deviceId": "A04", "kitId": "K99", "cause": "WORKSHOP"}, []string{"INVALID at", "INVALID deviceId", "NOT_FOUND kitId"}},
		{"a shift of two days", "planShift", form{"workerId": id["Gideon"], "yardId": "NOWHERE", "fromAt": "2025-06-12T05:00:00Z", "toAt": "2025-06-14T05:00:00Z"}, []string{"INVALID toAt", "NOT_FOUND yardId"}},
		{"a briefing of no job", "brief", form{"jobId": "x", "aloft": []string{"y"}}, []string{"NOT_FOUND jobId", "NOT_FOUND aloft[0]"}},
		{"a decision upon nothing", "decide", form{"answerId": "x", "decided": "NOT_SENT"}, []string{"INVALID remarks", "NOT_FOUND answerId"}},
		{"an answer about neither job nor crew", "giveAnswer", form{}, []string{"INVALID jobId"}},
		{"an answer about no job, without somebody unknown", "giveAnswer", form{"jobId": "x", "absent": []string{"y"}}, []string{"NOT_FOUND jobId", "NOT_FOUND absent[0]"}},
		{"an answer about both", "giveAnswer", form{"jobId": "x", "absent": []string{"y"}, "ask": form{"crew": "V1", "from": "2025-06-12T06:00:00Z", "to": "2025-06-12T14:00:00Z", "changes": form{}}},
			[]string{"INVALID jobId", "INVALID ask.changes"}},
		{"an answer about what there is none of", "giveAnswer", form{"ask": form{"crew": "V1", "people": []string{"x"}, "device": "A99", "kit": "K99", "from": "2025-06-12T06:00:00Z", "to": "2025-06-12T14:00:00Z"}},
			[]string{"NOT_FOUND ask.people[0]"}},
		{"an answer on a device that there is none of", "giveAnswer", form{"ask": form{"crew": "V1", "device": "A99", "kit": "K99", "from": "2025-06-12T06:00:00Z", "to": "2025-06-12T14:00:00Z"}, "changes": form{"most": 9}},
			[]string{"INVALID changes.most"}},
		{"the same without a search", "giveAnswer", form{"ask": form{"crew": "V1", "device": "A99", "kit": "K99", "from": "2025-06-12T06:00:00Z", "to": "2025-06-12T14:00:00Z"}},
			[]string{"NOT_FOUND ask.device", "NOT_FOUND ask.kit"}},
		{"everything at once", "addDevice", form{"on": "2026-01-01", "id": "A 9", "yardId": "", "type": "", "platformCm": -1, "familyId": "F9"},
			[]string{"INVALID on", "INVALID id", "INVALID yardId", "INVALID platformCm", "NOT_FOUND familyId"}},
		{"a day written in another order", "addYard", form{"on": "11/06/2025", "id": "N", "name": "N"}, []string{"INVALID on"}},
		{"a bad day deep in a form", "recordDrill", form{"runs": []form{runForm(id["Maren"], id["Tomasz"]), with(runForm(id["Maren"], id["Tomasz"]), form{"on": "2025-02-30"})}}, []string{"INVALID runs[1].on"}},
		{"a moment without an offset", "addYard", form{"at": "2025-06-11T06:00:00", "id": "N", "name": "N"}, []string{"INVALID at"}},
		{"a moment that is a number", "addYard", form{"at": 12, "id": "N", "name": "N"}, []string{"INVALID at"}},
		{"a stage that there is none of", "recordDrill", drill(form{"marks": []form{{"stage": "S0", "seconds": 5000000000}}}), []string{"INVALID runs[0].marks[0].seconds"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			before := s.rows()
			r := s.change(s.who(c.field), c.field, s.key(), c.form, "__typename")
			assert.ElementsMatch(t, c.want, r.problems(), r.body)
			require.Len(t, r.Errors, 1, r.body)
			assert.Equal(t, []any{c.field}, r.Errors[0].Path)
			for _, p := range r.Errors[0].Extensions.Problems {
				assert.Contains(t, r.Errors[0].Message, p.Message, "the message alone says it all")
			}
			assert.Equal(t, before, s.rows(), "a refused form leaves nothing behind")
		})
	}
	assert.Empty(t, s.log.String(), "what a client got wrong is no failure of ours")
}

// What the grammar of the query refuses names the variable's path.
func TestAValueOfTheWrongTypeNamesItsPath(t *testing.T) {
	s := newScene(t)
	road := form{"on": "2025-06-01", "fromYardId": "VARROW", "toYardId": "STENHOLT", "minutes": 30}
	for field, value := range map[string]any{"minutes": 30.5, "name": "no such field", "fromYardId": nil, "cameBy": "BY_PIGEON"} {
		r := s.change(s.token[groundhand.Coordinator], "addRoad", s.key(), with(road, form{field: value}), "id")
		require.Equal(t, []string{"GRAPHQL_VALIDATION_FAILED"}, r.codes(), r.body)
		assert.Equal(t, []any{"variable", "form", field}, r.Errors[0].Path)
	}
	assert.Zero(t, s.rows()["roads"])
}

func TestAFileThatIsNoTextIsRefused(t *testing.T) {
	s := newScene(t)
	before := s.rows()
	query := `mutation($file: Upload!, $key: String!) { importFile(key: $key, file: $file, kind: PEOPLE) { written } }`
	r := s.upload(s.token[groundhand.Coordinator], query, form{"key": s.key()}, strings.NewReader("number,name\n1,\xff\xfe\xfa\n"))
	require.Len(t, r.Errors, 1, r.body)
	assert.Equal(t, []string{"INVALID"}, r.codes(), r.body)
	assert.Contains(t, r.body, "UTF-8")
	assert.Equal(t, before, s.rows())
}

func TestAQuestionThatCannotBeReadIsRefusedByItsField(t *testing.T) {
	s := newScene(t)
	token := s.token[groundhand.Coordinator]
	window := `from: "2025-06-12T06:00:00+01:00", to: "2025-06-12T14:00:00+01:00"`
	cases := []struct {
		name, query string
		want        []string
	}{
		{"a bad day in the text", `{ rollCall(on: "11/06/2025") { on } }`, []string{"INVALID on"}},
		{"a bad moment in the text", `{ crewCover(ask: {crew: "V1", from: "noon", to: "2025-06-12T14:00:00+01:00"}) { verdict } }`, []string{"INVALID ask.from"}},
		{"an unknown crew", `{ crewCover(ask: {crew: "V9", ` + window + `}) { verdict } }`, []string{"NOT_FOUND ask.crew"}},
		{"an unknown device", `{ crewCover(ask: {crew: "V1", device: "A99", ` + window + `}) { verdict } }`, []string{"NOT_FOUND ask.device"}},
		{"an unknown crew, device and kit", `{ crewCover(ask: {crew: "V9", device: "A99", kit: "K99", ` + window + `}) { verdict } }`, []string{"NOT_FOUND ask.crew", "NOT_FOUND ask.device", "NOT_FOUND ask.kit"}},
		{"an unknown rule set", `{ crewCover(ask: {crew: "V1", ruleSet: "R99", ` + window + `}) { verdict } }`, []string{"NOT_FOUND ask.ruleSet"}},
		{"a duty of a stranger", fmt.Sprintf(`{ crewCover(ask: {crew: "V1", duties: [{duty: "TRAFFIC", workerId: %q}], `+window+`}) { verdict } }`, s.id["Linh"]), []string{"INVALID ask.duties[0].workerId"}},
		{"a thousand buckets", `{ crewCover(ask: {crew: "V1", buckets: [` + strings.Repeat("1,", 1000) + `], ` + window + `}) { verdict } }`, []string{"TOO_LARGE ask.buckets"}},
		{"a bucket of fewer than nobody", `{ crewCover(ask: {crew: "V1", buckets: [2, -1], ` + window + `}) { verdict } }`, []string{"INVALID ask.buckets[1]"}},
		{"buckets that hold others than are aloft", `{ crewCover(ask: {crew: "V1", aloft: 1, buckets: [1, 1], ` + window + `}) { verdict } }`, []string{"INVALID ask.buckets"}},
		{"a search without bounds", `{ crewCover(ask: {crew: "V1", changes: {most: 4, show: 0, within: 601}, ` + window + `}) { verdict } }`,
			[]string{"INVALID ask.changes.most", "INVALID ask.changes.show", "INVALID ask.changes.within"}},
		{"later starts in the past and for ever away", `{ crewCover(ask: {crew: "V1", changes: {later: ["2025-06-01T06:00:00Z", "2025-06-12T08:00:00Z", "2225-06-12T08:00:00Z"]}, ` + window + `}) { verdict } }`,
			[]string{"INVALID ask.changes.later[0]", "INVALID ask.changes.later[2]"}},
		{"a search about a job that there is none of", `{ jobCover(job: "x", wish: {changes: {}}) { verdict } }`, []string{"NOT_FOUND job"}},
		{"an answer that there is none of", `{ answerGiven(id: "x") { verdict } }`, []string{"NOT_FOUND"}},
		{"shifts of too many days", `{ shifts(from: "2025-01-01", through: "2025-12-31") { id } }`, []string{"INVALID through"}},
		{"an event without a thing", `{ effectOf(event: {at: "2025-06-12T06:00:00Z"}) { at } }`, []string{"INVALID event"}},
		{"unknown people", `{ crewCover(ask: {crew: "V1", people: ["x"], absent: ["y"], ` + window + `}) { verdict } }`, []string{"NOT_FOUND ask.people[0]", "NOT_FOUND ask.absent[0]"}},
		{"a window that ends before it starts, of nobody", `{ crewCover(ask: {from: "2025-06-12T14:00:00+01:00", to: "2025-06-12T06:00:00+01:00"}) { verdict } }`, []string{"INVALID ask.to", "INVALID ask.crew"}},
		{"an unknown worker", `{ standing(ask: {worker: "x", method: PAIR_KIT, role: LEAD}) { standing } }`, []string{"NOT_FOUND ask.worker"}},
		{"a day and a moment", fmt.Sprintf(`{ standing(ask: {worker: %q, method: PAIR_KIT, role: LEAD, on: "2025-06-01", at: "2025-06-01T00:00:00Z"}) { standing } }`, s.id["Maren"]), []string{"INVALID ask.at"}},
		{"days the wrong way round", `{ sessions(from: "2025-06-12", through: "2025-06-11") { id } }`, []string{"INVALID through"}},
		{"too large a page", `{ workers(first: 201) { edges { cursor } } }`, []string{"INVALID first"}},
		{"an unknown job", `{ jobCover(job: "x") { verdict } }`, []string{"NOT_FOUND job"}},
		{"nothing by that id", `{ worker(id: "x") { id } }`, []string{"NOT_FOUND"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := s.ask(token, c.query, nil)
			assert.ElementsMatch(t, c.want, r.problems(), r.body)
		})
	}
	assert.Empty(t, s.log.String())
}

func TestHostileQueriesAreRefusedAtOnce(t *testing.T) {
	s := newScene(t)
	token := s.token[groundhand.Coordinator]
	var bomb strings.Builder
	bomb.WriteString("query { ...f0 }")
	for i := range 60 { // written out these are 2^60 fields
		fmt.Fprintf(&bomb, " fragment f%d on Query { ...f%d ...f%d }", i, i+1, i+1)
	}
	bomb.WriteString(" fragment f60 on Query { me { id } }")
	cases := []struct{ name, query, code string }{
		{"a query of depth 50", `{ me { worker { ` + strings.Repeat(`crew { members { worker { `, 16) + `id` + strings.Repeat(` } } }`, 16) + ` } } }`, "TOO_LARGE"},
		{"the same through a fragment", `{ me { worker { ...w } } } fragment w on Worker { ` + strings.Repeat(`crew { members { worker { `, 16) + `id` + strings.Repeat(` } } }`, 16) + ` }`, "TOO_LARGE"},
		{"a fragment bomb", bomb.String(), "TOO_LARGE"},
		{"fragments in a ring", `{ ...a } fragment a on Query { ...b } fragment b on Query { ...a }`, "GRAPHQL_VALIDATION_FAILED"},
		{"a query of 100,000 tokens", `{ ` + strings.Repeat("me{id}", 20_000) + ` }`, "TOO_LARGE"},
		{"as many tokens as fit", `{ ` + strings.Repeat("me{id}", 10_000) + ` }`, "GRAPHQL_PARSE_FAILED"},
		{"a hundred questions in one", aliased(100, `crewCover(ask: {crew: "V1", from: "2025-06-12T06:00:00Z", to: "2025-06-12T14:00:00Z"}) { verdict }`), "COMPLEXITY_LIMIT_EXCEEDED"},
		{"a hundred searches in one", aliased(100, `crewCover(ask: {crew: "V1", from: "2025-06-12T06:00:00Z", to: "2025-06-12T14:00:00Z", changes: {}}) { verdict }`), "COMPLEXITY_LIMIT_EXCEEDED"},
		{"three searches in one", aliased(3, `jobCover(job: "x", wish: {changes: {most: 3}}) { verdict }`), "COMPLEXITY_LIMIT_EXCEEDED"},
		{"three storms", aliased(3, `stormGrid(ask: {from: "2025-06-12T06:00:00Z", until: "2025-06-12T14:00:00Z"}) { leftOut }`), "COMPLEXITY_LIMIT_EXCEEDED"},
		{"three events", aliased(3, `effectOf(event: {at: "2025-06-12T06:00:00Z", kit: "K04"}) { at }`), "COMPLEXITY_LIMIT_EXCEEDED"},
		{"three outlooks", aliased(3, `outlook(on: "2025-06-12") { on }`), "COMPLEXITY_LIMIT_EXCEEDED"},
		{"three answers with a search", `mutation { ` + strings.Trim(aliased(3, `giveAnswer(key: "k", form: {jobId: "x", changes: {}}) { id }`), "{}") + ` }`, "COMPLEXITY_LIMIT_EXCEEDED"},
		{"a way of looking that there is none of", `{ crewCover(ask: {crew: "V1", looks: GUESSED, from: "2025-06-12T06:00:00Z", to: "2025-06-12T14:00:00Z"}) { verdict } }`, "GRAPHQL_VALIDATION_FAILED"},
		{"a site that there is none of", `{ crewCover(ask: {crew: "V1", siteKind: MOON, from: "2025-06-12T06:00:00Z", to: "2025-06-12T14:00:00Z"}) { verdict } }`, "GRAPHQL_VALIDATION_FAILED"},
		{"a target that is none", `{ jobCover(job: "x", wish: {changes: {target: BEST}}) { verdict } }`, "GRAPHQL_VALIDATION_FAILED"},
		{"a kind of job that there is none of", `{ stormGrid(ask: {from: "2025-06-12T06:00:00Z", until: "2025-06-12T14:00:00Z", kinds: [DANCE]}) { leftOut } }`, "GRAPHQL_VALIDATION_FAILED"},
		{"the whole company thrice", aliased(3, `rollCall(on: "2025-06-11") { on }`), "COMPLEXITY_LIMIT_EXCEEDED"},
		{"the watch sent out three times", `mutation { a: sweep(on: "2025-06-11") { sweep { id } } b: sweep(on: "2025-06-11") { sweep { id } } c: sweep(on: "2025-06-11") { sweep { id } } }`, "COMPLEXITY_LIMIT_EXCEEDED"},
		{"pages within pages", `{ workers(first: 200) { edges { node { id standings { refused { entry code } restsOn worker { id name number } } crew { members { worker { id name standings { standing } } } } } } } }`, "COMPLEXITY_LIMIT_EXCEEDED"},
		{"the description over and over", aliased(40, `__schema { types { name fields { name type { name } } } }`), "TOO_LARGE"},
		{"no such field", `{ passwords }`, "GRAPHQL_VALIDATION_FAILED"},
		{"no grammar", `{ me {`, "GRAPHQL_PARSE_FAILED"},
		{"nothing", ``, "GRAPHQL_VALIDATION_FAILED"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			began := s.store.Statements()
			r := s.ask(token, c.query, nil)
			require.NotEmpty(t, r.Errors, r.body)
			assert.Equal(t, c.code, r.Errors[0].Extensions.Code, "%.300s", r.body)
			assert.LessOrEqual(t, s.store.Statements()-began, uint64(2), "nothing was looked up but the token")
			assert.Less(t, len(r.body), 20_000)
		})
	}
}

func aliased(n int, field string) string {
	var b strings.Builder
	b.WriteString("{ ")
	for i := range n {
		fmt.Fprintf(&b, "a%d: %s ", i, field)
	}
	return b.String() + "}"
}

// endless yields bytes as long as somebody reads, and counts them.
type endless struct {
	head io.Reader
	left int64
	read int64
}

func (e *endless) Read(b []byte) (int, error) {
	if n, _ := e.head.Read(b); n > 0 {
		e.read += int64(n)
		return n, nil
	}
	if e.left <= 0 {
		return 0, io.EOF
	}
	n := min(int64(len(b)), e.left)
	for i := range b[:n] {
		b[i] = 'x'
	}
	e.left, e.read = e.left-n, e.read+n
	return int(n), nil
}

const twoGiB = 2 << 30

func TestAHugeBodyIsCutOffEarly(t *testing.T) {
	s := newScene(t)
	query := `mutation($file: Upload!, $key: String!) { importFile(key: $key, file: $file, kind: PEOPLE) { written } }`
	form, kind := multipartBody(t, query, form{"key": "k"}, strings.NewReader(""))
	head, err := io.ReadAll(form)
	require.NoError(t, err)
	head = head[:bytes.LastIndex(head, []byte("\r\n--"))] // up to where the file goes on
	cases := []struct {
		name, kind string
		head       []byte
		by         groundhand.Capacity
		claimed    int64
		status     int
		code       string
		most       int64
	}{
		{"a file that claims 2 GiB", kind, head, groundhand.Coordinator, twoGiB, http.StatusRequestEntityTooLarge, "TOO_LARGE", 24 << 20},
		{"a file that claims nothing and streams 2 GiB", kind, head, groundhand.Coordinator, -1, http.StatusRequestEntityTooLarge, "TOO_LARGE", 24 << 20},
		{"a file from one who may not import", kind, head, groundhand.Dispatcher, -1, http.StatusForbidden, "FORBIDDEN", 4 << 20},
		{"a question of 2 GiB", "application/json", []byte(`{"query": "`), groundhand.Coordinator, -1, http.StatusRequestEntityTooLarge, "TOO_LARGE", 8 << 20},
		{"a question without a token", "application/json", []byte(`{"query": "`), "", -1, http.StatusUnauthorized, "UNAUTHENTICATED", 4 << 20},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			body := &endless{head: bytes.NewReader(c.head), left: twoGiB}
			req, err := http.NewRequest(http.MethodPost, s.server.URL+"/graphql", body)
			require.NoError(t, err)
			req.ContentLength = c.claimed
			req.Header.Set("Content-Type", c.kind)
			req.Header.Set("Authorization", "Bearer "+s.token[c.by])
			w := &recorder{header: http.Header{}}
			s.server.Config.Handler.ServeHTTP(w, req)
			assert.Equal(t, c.status, w.status)
			assert.Contains(t, w.body.String(), c.code)
			assert.LessOrEqual(t, body.read, c.most)
		})
	}
}

// recorder is a client that reads everything.
type recorder struct {
	header http.Header
	status int
	body   bytes.Buffer
}

func (r *recorder) Header() http.Header         { return r.header }
func (r *recorder) Write(b []byte) (int, error) { return r.body.Write(b) }
func (r *recorder) WriteHeader(status int)      { r.status = status }

func TestRequestsThatAreNone(t *testing.T) {
	const secret = "a name that must not come back"
	s := newScene(t)
	token := s.token[groundhand.Coordinator]
	cases := []struct {
		name, method, kind, body string
		code                     string
	}{
		{"no JSON", http.MethodPost, "application/json", `{"query": "` + secret, "INVALID"},
		{"a batch", http.MethodPost, "application/json", `[{"query": "{ me { id } } # ` + secret + `"}]`, "INVALID"},
		{"text", http.MethodPost, "application/json", `"` + secret + `"`, "INVALID"},
		{"variables of the wrong shape", http.MethodPost, "application/json", `{"query": "{ me { id } }", "variables": "` + secret + `"}`, "INVALID"},
		{"nothing", http.MethodPost, "application/json", ``, "INVALID"},
		{"a form of a web page", http.MethodPost, "application/x-www-form-urlencoded", "query=" + secret, "INVALID"},
		{"plain text", http.MethodPost, "text/plain", `{"query": "{ me { id } }"}`, "INVALID"},
		{"no type", http.MethodPost, "", `{"query": "{ me { id } }"}`, "INVALID"},
		{"a question by GET", http.MethodGet, "", "", "INVALID"},
		{"a change by PUT", http.MethodPut, "application/json", `{"query": "{ me { id } }"}`, "INVALID"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := s.send(token, c.method, "/graphql?query={me{id}}", c.kind, strings.NewReader(c.body))
			assert.Equal(t, []string{c.code}, r.codes(), r.body)
			assert.GreaterOrEqual(t, r.status, 400)
			assert.NotContains(t, r.body, secret)
			assert.Nil(t, r.Data)
		})
	}
	assert.NotContains(t, s.log.String(), secret)
}

func TestAnotherSiteCannotPost(t *testing.T) {
	s := newScene(t)
	for header, value := range map[string]string{"Sec-Fetch-Site": "cross-site", "Origin": "https://elsewhere.example"} {
		req, err := http.NewRequest(http.MethodPost, s.server.URL+"/graphql", strings.NewReader(`{"query": "{ me { id } }"}`))
		require.NoError(t, err)
		req.Header.Set(header, value)
		req.Header.Set("Content-Type", "application/json")
		req.Header.Set("Authorization", "Bearer "+s.token[groundhand.Coordinator])
		res, err := s.server.Client().Do(req)
		require.NoError(t, err)
		require.NoError(t, res.Body.Close())
		assert.Equal(t, http.StatusForbidden, res.StatusCode, header)
	}
}

// A rule set that cannot be read is nobody's fault who asks: the client learns nothing of it, the log does.
func TestOurOwnFailuresAreLoggedAndNotTold(t *testing.T) {
	s := newScene(t)
	broken := groundhand.RuleSet{ID: "BROKEN", Recorded: groundhand.Recorded{HappenedOn: groundhand.MustDate("2025-06-01"), RecordedAt: s.store.Now(), AuthorID: groundhand.WorkerID(s.id["Henrike"]),
		Capacity: groundhand.Coordinator, CameBy: groundhand.TypedLive}, Title: "broken", Owner: "x", EffectiveFrom: groundhand.MustDate("2025-06-01"), ApprovedBy: "x", Body: `{"standing": 7}`}
	require.NoError(t, addRow(s, broken))
	r := s.ask(s.token[groundhand.Coordinator], `{ me { id } rollCall(on: "2025-06-11") { on } }`, nil)
	require.Equal(t, []string{"INTERNAL"}, r.codes(), r.body)
	assert.Equal(t, []any{"rollCall"}, r.Errors[0].Path)
	assert.NotContains(t, r.body, "BROKEN")
	assert.Contains(t, string(r.Data["me"]), "id", "what stands beside it is answered")
	assert.Contains(t, s.log.String(), "BROKEN")
	assert.Contains(t, s.log.String(), "path=rollCall")
}

// The whole of the hostile requests takes no longer than honest ones: the test of a bomb would not come back otherwise.
func TestMeasuringABombTakesNoTime(t *testing.T) {
	s := newScene(t)
	var bomb strings.Builder
	bomb.WriteString("query { __typename ...f0 }")
	for i := range 300 {
		fmt.Fprintf(&bomb, " fragment f%d on Query { ...f%d ...f%d }", i, i+1, i+1)
	}
	bomb.WriteString(" fragment f300 on Query { __typename }")
	done := make(chan reply, 1)
	go func() { done <- s.ask(s.token[groundhand.Coordinator], bomb.String(), nil) }()
	select {
	case r := <-done:
		assert.Equal(t, []string{"TOO_LARGE"}, r.codes())
	case <-time.After(time.Minute): // a bound for what would else take ages, not a measure
		t.Fatal("a bomb of fragments is reckoned for ever")
	}
}

// A form with a file in it that is not put together as it should be is refused by a code too.
func TestAFormThatIsNotPutTogether(t *testing.T) {
	s := newScene(t)
	const kind = "multipart/form-data; boundary=b"
	part := func(name, text string) string {
		return "--b\r\nContent-Disposition: form-data; name=\"" + name + "\"\r\n\r\n" + text + "\r\n"
	}
	for name, body := range map[string]string{
		"nothing in it":            "--b--\r\n",
		"no boundary":              "x",
		"no operations":            part("map", "{}") + "--b--\r\n",
		"operations that are none": part("operations", "{") + part("map", "{}") + "--b--\r\n",
		"a map that is none":       part("operations", "{}") + part("map", "7") + "--b--\r\n",
		"a file nobody asked for":  part("operations", "{}") + part("map", "{}") + part("0", "x") + "--b--\r\n",
		"a file that is missing":   part("operations", `{"query": "{ me { id } }"}`) + part("map", `{"0": ["variables.file"]}`) + "--b--\r\n",
		"a file for a wrong place": part("operations", `{"query": "{ me { id } }"}`) + part("map", `{"0": ["elsewhere"]}`) + part("0", "x") + "--b--\r\n",
		"no query":                 part("operations", "{}") + part("map", "{}") + "--b--\r\n",
	} {
		t.Run(name, func(t *testing.T) {
			r := s.send(s.token[groundhand.Coordinator], http.MethodPost, "/graphql", kind, strings.NewReader(body))
			require.Len(t, r.Errors, 1, r.body)
			assert.Contains(t, []string{"INVALID", "GRAPHQL_VALIDATION_FAILED"}, r.codes()[0], r.body)
			assert.GreaterOrEqual(t, r.status, 400)
		})
	}
}
