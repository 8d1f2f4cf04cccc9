package graph_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// later suspends Maren two hours on, and gives the moment before that.
func (s *scene) later(t *testing.T) (before string) {
	before = "2025-06-11T19:30:00+01:00"
	s.clock.Advance(2 * time.Hour)
	s.make("suspend", form{"on": "2025-06-11", "workerId": s.id["Maren"], "method": "PAIR_KIT", "cause": "a step left out"})
	return before
}

// Whoever sent a crew is judged by what was known then, and it is shown what became known since.
func TestAnAnswerIsAskedAsKnownThenAndNow(t *testing.T) {
	s := newScene(t)
	s.make("bookJob", jobForm("V1"))
	job := s.get(groundhand.Coordinator, `{ jobs(from: "2025-06-12", through: "2025-06-12") { id } }`).([]any)[0].(map[string]any)["id"]
	then := s.later(t)
	aloft := `mayGoAloft { worker { id } }`
	ask := fmt.Sprintf(`{worker: %q, method: PAIR_KIT, role: LEAD, family: "F1", on: "2025-06-11"}`, s.id["Maren"])
	twice := s.get(groundhand.Coordinator, fmt.Sprintf(`{ standingTwice(ask: %s, then: %q) { then { standing } now { standing } same differs { kind changed capacity workerId } } }`, ask, then)).(map[string]any)
	assert.Equal(t, map[string]any{"standing": "CURRENT"}, twice["then"])
	assert.Equal(t, map[string]any{"standing": "SUSPENDED"}, twice["now"])
	assert.Equal(t, false, twice["same"])
	assert.Equal(t, []any{map[string]any{"kind": "suspensions", "changed": true, "capacity": "COORDINATOR", "workerId": s.id["Maren"]}}, twice["differs"])

	cover := s.get(groundhand.Auditor, fmt.Sprintf(`{ jobCoverTwice(job: %q, then: %q) { then { %s } now { %s caution } same differs { kind } } }`, job, then, aloft, aloft)).(map[string]any)
	assert.Equal(t, false, cover["same"])
	assert.NotEqual(t, cover["then"], cover["now"])
	past := s.get(groundhand.Auditor, fmt.Sprintf(`{ jobCover(job: %q, asKnownAt: %q) { %s } }`, job, then, aloft))
	assert.Equal(t, cover["then"], past)
	window := `{crew: "V1", from: "2025-06-12T06:00:00+01:00", to: "2025-06-12T14:00:00+01:00", device: "A04", aloft: 1, near50V: YES, callPlan: YES}`
	cover = s.get(groundhand.Dispatcher, fmt.Sprintf(`{ coverTwice(ask: %s, then: %q) { then { %s } now { %s } same } }`, window, then, aloft, aloft)).(map[string]any)
	assert.Equal(t, false, cover["same"])
	assert.Equal(t, cover["then"], s.get(groundhand.Dispatcher, fmt.Sprintf(`{ crewCover(ask: %s, asKnownAt: %q) { %s } }`, window, then, aloft)))

	r := s.ask(s.token[groundhand.CrewForeman], fmt.Sprintf(`{ coverTwice(ask: %s, then: %q) { same differs { kind } } }`, window, then), nil)
	assert.Equal(t, []string{"FORBIDDEN"}, r.codes(), "who entered what is not for the foreman: "+r.body)
	assert.Contains(t, r.body, `"same":false`)
	r = s.ask(s.token[groundhand.CrewForeman], fmt.Sprintf(`{ coverTwice(ask: %s, then: %q) { same } }`, strings.Replace(window, "V1", "V2", 1), then), nil)
	assert.Equal(t, []string{"FORBIDDEN"}, r.codes(), r.body)
}

func TestListsAreReadAsTheyWereKnown(t *testing.T) {
	s := newScene(t)
	s.make("bookJob", jobForm("V1"))
	s.issue(s.partOf(t, "Maren"), nil)
	early := "2025-06-11T18:30:00+01:00"
	known := "2025-06-11T19:25:00+01:00"
	for query, held := range map[string]bool{
		`{ coverOn(day: "2025-06-12", asKnownAt: %q) { job { id } } }`:                       true,
		`{ outlook(on: "2025-06-12", asKnownAt: %q) { crews { members } } }`:                 true,
		`{ lookAhead(on: "2025-06-11", days: 400, asKnownAt: %q) { firstBadDays { day } } }`: true,
		`{ flags(asKnownAt: %q) { edges { cursor } } }`:                                      false,
		`{ certificates(asKnownAt: %q) { edges { node { state } } } }`:                       true,
	} {
		now := s.ask(s.token[groundhand.Auditor], fmt.Sprintf(query, known), nil)
		assert.Empty(t, now.Errors, now.body)
		before := s.ask(s.token[groundhand.Auditor], fmt.Sprintf(query, early), nil)
		if held {
			assert.NotEqual(t, now.body, before.body, query)
		}
	}
	r := s.ask(s.token[groundhand.Auditor], fmt.Sprintf(`{ flags(open: false, asKnownAt: %q) { edges { cursor } } }`, known), nil)
	assert.Equal(t, []string{"INVALID asKnownAt"}, r.problems(), r.body)
}

// A worker reads the own record; a look at somebody else's is noted.
func TestALookAtARecordIsNoted(t *testing.T) {
	s := newScene(t)
	s.make("extend", form{"on": "2025-06-10", "workerId": s.id["Tomasz"], "method": "PAIR_KIT", "fromOn": "2025-06-11", "toOn": "2025-06-30", "approverId": s.id["Henrike"], "basis": "the ground is closed", "conditions": "not alone"})
	record := `workerId number names { name } crewId standings { standing { standing } why } entries { entryId kind marks recorded { recordedAt } corrections { id } disputes { claim } } extensions { number extension { toOn conditions } } provisionals { number } openDisputes caution`
	own := s.ask(s.token[groundhand.FieldWorker], `{ ownRecord { `+record+` } }`, nil)
	require.Empty(t, own.Errors, own.body)
	for _, part := range []string{s.id["Tomasz"], `"number":"1004"`, `"crewId":"V1"`, `"standing":"CURRENT"`, `"kind":"run_parts"`, `"marks":["LATE"]`, `"toOn":"2025-06-30","conditions":"not alone"`} {
		assert.Contains(t, own.body, part)
	}
	assert.Equal(t, []string{"FORBIDDEN"}, s.ask(s.token[groundhand.FieldWorker], fmt.Sprintf(`{ workerRecord(worker: %q) { number } }`, s.id["Tomasz"]), nil).codes())
	assert.Equal(t, []string{"NOT_FOUND worker"}, s.ask(s.token[groundhand.Auditor], `{ workerRecord(worker: "nobody") { number } }`, nil).problems())
	looks := `{ viewings(since: "2025-06-11T00:00:00Z") { edges { node { question workers } } } }`
	assert.Equal(t, map[string]any{"edges": []any{}}, s.get(groundhand.Auditor, looks), "an own look is not noted, nor one at nobody")

	for who, query := range map[groundhand.Capacity]string{
		groundhand.Coordinator: fmt.Sprintf(`{ workerRecord(worker: %q) { number } }`, s.id["Maren"]),
		groundhand.HR:          fmt.Sprintf(`{ unavailabilityReasons(worker: %q) { reason } }`, s.id["Keahi"]),
		groundhand.Auditor:     fmt.Sprintf(`{ standingFacts(ask: {worker: %q, method: PAIR_KIT, role: LEAD, family: "F1"}) }`, s.id["Linh"]),
	} {
		r := s.ask(s.token[who], query, nil)
		require.Empty(t, r.Errors, r.body)
	}
	body := s.ask(s.token[groundhand.Auditor], looks, nil).body
	for question, name := range map[string]string{"workerRecord": "Maren", "unavailabilityReasons": "Keahi", "standingFacts": "Linh"} {
		assert.Equal(t, 1, strings.Count(body, fmt.Sprintf(`{"question":%q,"workers":[%q]}`, question, s.id[name])), body)
	}
	one := s.ask(s.token[groundhand.HR], fmt.Sprintf(`{ viewings(worker: %q, since: "2025-06-11T00:00:00Z") { edges { node { question } } } }`, s.id["Maren"]), nil)
	assert.Equal(t, 1, strings.Count(one.body, "question"), one.body)
	s.get(groundhand.Dispatcher, `{ crews { edges { node { members { worker { name } } } } } }`)
	assert.Equal(t, body, s.ask(s.token[groundhand.Auditor], looks, nil).body, "the roster is not a look at a record")
}

func TestAllowancesOfADayAreListed(t *testing.T) {
	s := newScene(t)
	s.make("extend", form{"on": "2025-06-10", "workerId": s.id["Dov"], "method": "PAIR_KIT", "fromOn": "2025-06-11", "toOn": "2025-06-30", "approverId": s.id["Henrike"], "basis": "the ground is closed"})
	s.make("acceptProvisionally", form{"on": "2025-06-10", "workerId": s.id["Aoife"], "method": "PAIR_KIT", "role": "LEAD", "familyId": "F1", "fromOn": "2025-06-11", "toOn": "2025-06-30", "basis": "copy seen", "approverId": s.id["Henrike"]})
	all := `{ extensions(on: "2025-06-12") { crewId number extension { workerId } } provisionals(on: "2025-06-12") { crewId number provisional { workerId approverId } evidence { id } } }`
	r := s.ask(s.token[groundhand.Coordinator], all, nil)
	require.Empty(t, r.Errors, r.body)
	assert.Contains(t, r.body, fmt.Sprintf(`{"crewId":"V2","number":1,"extension":{"workerId":%q}}`, s.id["Dov"]))
	assert.Contains(t, r.body, fmt.Sprintf(`{"crewId":"V2","number":1,"provisional":{"workerId":%q,"approverId":%q},"evidence":null}`, s.id["Aoife"], s.id["Henrike"]))
	r = s.ask(s.token[groundhand.CrewForeman], all, nil)
	assert.JSONEq(t, `{"extensions":[],"provisionals":[]}`, string(mustData(t, r)), "of another crew")
	crews := s.ask(s.token[groundhand.Dispatcher], `{ leaningCrews(on: "2025-06-12") { crew { id } verdict families { leansOn { worker { id } } } caution } }`, nil)
	require.Empty(t, crews.Errors, crews.body)
}

// The log answers for itself; a proof can be checked with the root alone.
func TestAnEntryIsProvedToBeInTheLog(t *testing.T) {
	s := newScene(t)
	part := s.partOf(t, "Tomasz")
	point := s.get(groundhand.Auditor, `{ checkpoint { origin size root text } }`).(map[string]any)
	proof := s.get(groundhand.Auditor, fmt.Sprintf(`{ inclusionProof(entry: %q) { leaf leafHash proof size root fits } }`, part)).(map[string]any)
	assert.Equal(t, point["root"], proof["root"])
	assert.Equal(t, point["size"], proof["size"])
	assert.Equal(t, true, proof["fits"])
	assert.Equal(t, point["root"], rootFrom(t, proof), "worked out anew as RFC 6962 says")
	assert.Equal(t, []string{"NOT_FOUND entry"}, s.ask(s.token[groundhand.Auditor], `{ inclusionProof(entry: "nobody") { leaf } }`, nil).problems())
	marks := s.get(groundhand.Auditor, fmt.Sprintf(`{ marks(entries: [%q, "nobody"]) { entryId marks } }`, part))
	assert.Equal(t, []any{map[string]any{"entryId": part, "marks": []any{"LATE"}}}, marks)
}

func TestAnAuditorDrawsAndAsks(t *testing.T) {
	s := newScene(t)
	pass := s.make("assess", assessmentForm(s.id))
	sample := `{ auditSample(seed: 7, n: 5, from: "2025-06-01", through: "2025-06-11") { of passes { pass { id } draw leafFits words marks reviews { id } authorities { id } } } }`
	drawn := s.get(groundhand.Auditor, sample).(map[string]any)
	assert.EqualValues(t, 1, drawn["of"])
	first := drawn["passes"].([]any)[0].(map[string]any)
	assert.Equal(t, map[string]any{"id": pass}, first["pass"])
	assert.Equal(t, true, first["leafFits"])
	assert.Equal(t, drawn, s.get(groundhand.Coordinator, sample), "the same seed draws the same sample")
	s.make("withdraw", form{"entryId": s.partOf(t, "Tomasz"), "because": "it never was"})
	trail := s.ask(s.token[groundhand.Auditor], `{ auditTrail(since: "2025-06-11T00:00:00Z") { corrections { kind } late { kind recorded { recordedAt } } authors { authorId withdrawals } } auditScreens(from: "2025-01-01", through: "2025-06-11") { kind question on workers entries } }`, nil)
	require.Empty(t, trail.Errors, trail.body)
	assert.Contains(t, trail.body, fmt.Sprintf(`{"authorId":%q,"withdrawals":1}`, s.id["Henrike"]))
	for _, query := range []string{sample, `{ auditTrail(since: "2025-06-11T00:00:00Z") { since } }`, `{ viewings(since: "2025-06-11T00:00:00Z") { edges { cursor } } }`} {
		assert.Equal(t, []string{"FORBIDDEN"}, s.ask(s.token[groundhand.Dispatcher], query, nil).codes())
	}
}

func TestAnImportUnderAMappingKeepsItsRows(t *testing.T) {
	s := newScene(t)
	token := s.token[groundhand.Coordinator]
	file := "No,Who,Firm,How,What,Where,Since\n2001,Ines Tarn,Halverra Lines,employee,qualified,VARROW,2025-06-02\n2002,Odo Tarn,Halverra Lines,employee,wizard,VARROW,2025-06-02\n"
	mapping := form{"mapping": []string{"number", "name", "employer", "relation", "grade", "yard", "from"}}
	look := s.upload(token, `mutation($file: Upload!, $mapping: [String!]) { previewImport(file: $file, kind: PEOPLE, mapping: $mapping) { new refusals { row } columns { digest meanings guesses { heading column } } judged unjudged standings { number } } }`, mapping, strings.NewReader(file))
	require.Equal(t, http.StatusOK, look.status)
	require.Empty(t, look.Errors, look.body)
	assert.Contains(t, look.body, `"meanings":["number","name","employer","relation","grade","yard","from"]`)
	write := `mutation($file: Upload!, $mapping: [String!], $key: String!, $rows: [Int!]) { importFile(key: $key, file: $file, kind: PEOPLE, mapping: $mapping, accept: CLEAN, rows: $rows) { written preview { columns { digest } } } }`
	both := s.upload(token, write, with(mapping, form{"key": s.key(), "rows": []int{2}}), strings.NewReader(file))
	assert.Equal(t, []string{"INVALID rows"}, both.problems(), both.body)
	done := s.upload(token, write, with(mapping, form{"key": s.key()}), strings.NewReader(file))
	require.Empty(t, done.Errors, done.body)
	assert.Contains(t, done.body, `"written":1`)
	digest := strings.Split(strings.Split(done.body, `"digest":"`)[1], `"`)[0]
	rows := s.ask(s.token[groundhand.Auditor], fmt.Sprintf(`{ importRows(digest: %q) { edges { node { rowNumber cells outcome } } pageInfo { hasNextPage } } }`, digest), nil)
	require.Empty(t, rows.Errors, rows.body)
	assert.Contains(t, rows.body, `{"rowNumber":2,"cells":["2001","Ines Tarn","Halverra Lines","employee","qualified","VARROW","2025-06-02"],"outcome":"TAKEN"}`)
	assert.Contains(t, rows.body, `{"rowNumber":3,"cells":["2002","Odo Tarn","Halverra Lines","employee","wizard","VARROW","2025-06-02"],"outcome":"REFUSED"}`)
}
