package graph_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// An answer that was given is a question file: whoever asks it of the engine again gets the same answer, word for word.
func TestAnAnswerGivenIsRecomputedFromItsQuestion(t *testing.T) {
	s, v1, _ := shortHanded(t)
	for name, f := range map[string]form{
		"about a job, with a search":  {"jobId": v1, "changes": form{"most": 1, "later": []string{"2025-06-12T09:00:00+01:00"}}},
		"about a job":                 {"jobId": v1, "absent": []string{s.id["Maren"]}},
		"about a question of its own": {"ask": form{"crew": "V2", "device": "A06", "from": "2025-06-12T06:00:00+01:00", "to": "2025-06-12T14:00:00+01:00"}},
		"about named people, with a search": {"ask": form{"people": []string{s.id["Linh"], s.id["Aoife"]}, "device": "A06", "aloft": 1, "methods": []string{"PAIR_KIT"}, "near50V": "YES",
			"from": "2025-06-12T06:00:00+01:00", "to": "2025-06-12T14:00:00+01:00"}, "changes": form{}},
	} {
		t.Run(name, func(t *testing.T) {
			key := s.key()
			fields := "id verdict question answer looksToMake { look words } caution decisions { id } recorded { capacity authorId }"
			r := s.change(s.token[groundhand.Dispatcher], "giveAnswer", key, f, fields)
			require.Empty(t, r.Errors, r.body)
			before := s.rows()
			assert.Equal(t, r.body, s.change(s.token[groundhand.Dispatcher], "giveAnswer", key, f, fields).body, "the same key again gives the same answer")
			assert.Equal(t, before, s.rows())
			var given struct{ ID, Verdict, Question, Answer, Caution string }
			require.NoError(t, json.Unmarshal(r.Data["giveAnswer"], &given))
			question, err := readiness.Decode([]byte(given.Question))
			require.NoError(t, err)
			again, err := readiness.Judge(question)
			require.NoError(t, err)
			text, err := json.Marshal(again)
			require.NoError(t, err)
			assert.Equal(t, given.Answer, string(text))
			assert.Equal(t, given.Verdict, again.Verdict.String())
			assert.NotEmpty(t, given.Caution)
			assert.Equal(t, f["changes"] != nil, question.Pool != nil)
		})
	}
}

// What was recorded after an answer was given changes nothing in it: it says what was known then.
func TestAnAnswerGivenStaysAsItWas(t *testing.T) {
	s := newScene(t)
	job := s.make("bookJob", jobForm("V1"))
	id := s.make("giveAnswer", form{"jobId": job})
	read := fmt.Sprintf(`{ answerGiven(id: %q) { verdict question answer restsOn crew { id } job { id } } }`, id)
	before := s.ask(s.token[groundhand.Auditor], read, nil)
	require.Empty(t, before.Errors, before.body)
	assert.Contains(t, before.body, `"verdict":"READY"`)
	assert.Contains(t, before.body, s.id["membership Maren"])
	s.make("setUnavailable", form{"workerId": s.id["Keahi"], "kind": "LEAVE", "fromAt": "2025-06-12T00:00:00+01:00", "toAt": "2025-06-13T00:00:00+01:00"})
	assert.Equal(t, before.body, s.ask(s.token[groundhand.Auditor], read, nil).body)
	assert.Equal(t, "NOT_READY", s.coverOf(fmt.Sprintf(`{ jobCover(job: %q) { verdict } }`, job))["verdict"], "asked again, it is another one")
}

// Nobody is sent upon an answer that is not ready without the name of who accepted that.
func TestADecisionUponAnAnswer(t *testing.T) {
	s, v1, _ := shortHanded(t)
	id := s.make("giveAnswer", form{"jobId": v1})
	dispatcher := s.token[groundhand.Dispatcher]
	r := s.change(dispatcher, "decide", s.key(), form{"answerId": id, "decided": "SENT"}, "id")
	assert.Equal(t, []string{"CONFLICT decided"}, r.problems(), r.body)
	s.make("decide", form{"answerId": id, "decided": "SENT_CHANGED", "remarks": "Gideon joins"})
	got := s.get(groundhand.Auditor, fmt.Sprintf(`{ answerGiven(id: %q) { verdict decisions { decided remarks recorded { capacity } } } }`, id)).(map[string]any)
	assert.Equal(t, []any{map[string]any{"decided": "SENT_CHANGED", "remarks": "Gideon joins", "recorded": map[string]any{"capacity": "DISPATCHER"}}}, got["decisions"])
}

func TestASearchAboutAJobIsRefusedByItsWish(t *testing.T) {
	s := newScene(t)
	job := s.make("bookJob", jobForm("V1"))
	r := s.ask(s.token[groundhand.Dispatcher], fmt.Sprintf(`{ jobCover(job: %q, absent: ["x"], wish: {changes: {most: 0}}) { verdict } }`, job), nil)
	assert.Equal(t, []string{"NOT_FOUND absent[0]"}, r.problems(), r.body)
	r = s.ask(s.token[groundhand.Dispatcher], fmt.Sprintf(`{ jobCover(job: %q, wish: {changes: {most: 0, later: ["2025-06-12T05:00:00+01:00"]}}) { verdict } }`, job), nil)
	assert.ElementsMatch(t, []string{"INVALID wish.changes.most", "INVALID wish.changes.later[0]"}, r.problems(), r.body)
}

// Maren is foreman of V1. Her own crew's answers are hers to give, to read and to decide upon; those that searched for changes tell of others.
func TestAForemanAndTheAnswersOfTheOwnCrew(t *testing.T) {
	s, v1, v2 := shortHanded(t)
	foreman := s.token[groundhand.CrewForeman]
	of := func(crew string) string {
		return s.make("giveAnswer", form{"jobId": map[string]string{"V1": v1, "V2": v2}[crew]})
	}
	own, other := of("V1"), of("V2")
	searched := s.make("giveAnswer", form{"jobId": v1, "changes": form{}})
	window := `from: "2025-06-12T06:00:00+01:00", to: "2025-06-12T14:00:00+01:00"`

	for name, c := range map[string]struct {
		query string
		want  []string
	}{
		"an answer of another crew":            {fmt.Sprintf(`{ answerGiven(id: %q) { verdict question } }`, other), []string{"FORBIDDEN"}},
		"a search for the own crew":            {`{ crewCover(ask: {crew: "V1", changes: {}, ` + window + `}) { verdict question } }`, []string{"FORBIDDEN ask.changes"}},
		"a search for the own job":             {fmt.Sprintf(`{ jobCover(job: %q, wish: {changes: {}}) { verdict question } }`, v1), []string{"FORBIDDEN wish.changes"}},
		"the texts of an answer with a search": {fmt.Sprintf(`{ answerGiven(id: %q) { question answer } }`, searched), []string{"FORBIDDEN", "FORBIDDEN"}},
		"the entries behind an answer":         {fmt.Sprintf(`{ answerGiven(id: %q) { restsOn } }`, own), []string{"FORBIDDEN"}},
		"another crew in a storm":              {`{ stormGrid(ask: {crews: ["V1", "V2"], from: "2025-06-12T06:00:00Z", until: "2025-06-12T14:00:00Z"}) { leftOut } }`, []string{"FORBIDDEN"}},
		"a stranger who is not there":          {fmt.Sprintf(`{ effectOf(event: {at: "2025-06-12T05:00:00+01:00", worker: %q}) { at } }`, s.id["Linh"]), []string{"FORBIDDEN"}},
		"an entry that is withdrawn":           {fmt.Sprintf(`{ effectOf(event: {at: "2025-06-12T05:00:00+01:00", entry: %q}) { at } }`, s.id["membership Maren"]), []string{"FORBIDDEN"}},
	} {
		t.Run("may not read "+name, func(t *testing.T) {
			r := s.ask(foreman, c.query, nil)
			require.NotEmpty(t, r.Errors, r.body)
			got := r.problems()
			assert.ElementsMatch(t, c.want, got, r.body)
			assert.NotContains(t, r.body, "Linh")
			assert.NotContains(t, r.body, "cover-question")
		})
	}
	for name, c := range map[string]struct {
		field string
		form  form
	}{
		"an answer for another crew":  {"giveAnswer", form{"jobId": v2}},
		"a search for the own crew":   {"giveAnswer", form{"jobId": v1, "changes": form{}}},
		"an answer about strangers":   {"giveAnswer", form{"ask": form{"people": []string{s.id["Linh"]}, "from": "2025-06-12T06:00:00Z", "to": "2025-06-12T14:00:00Z"}}},
		"a decision for another crew": {"decide", form{"answerId": other, "decided": "SENT"}},
		"a briefing of another crew":  {"brief", form{"jobId": v2, "kitSuits": "YES"}},
		"a shift":                     {"planShift", form{"workerId": s.id["Keahi"], "yardId": "VARROW", "fromAt": "2025-06-12T05:00:00Z", "toAt": "2025-06-12T09:00:00Z"}},
		"the class of a device":       {"classDevice", form{"on": "2025-06-10", "deviceId": "A04", "familyId": "F3"}},
	} {
		t.Run("may not enter "+name, func(t *testing.T) {
			before := s.rows()
			r := s.change(foreman, c.field, s.key(), c.form, "__typename")
			assert.Contains(t, r.codes(), "FORBIDDEN", r.body)
			assert.Equal(t, before, s.rows())
		})
	}
	r := s.ask(foreman, `{ answersGiven { edges { node { id crew { id } } } } }`, nil)
	require.Empty(t, r.Errors, r.body)
	assert.Contains(t, r.body, own)
	assert.Contains(t, r.body, searched)
	assert.NotContains(t, r.body, `"V2"`)
	r = s.ask(foreman, fmt.Sprintf(`{ answerGiven(id: %q) { verdict question answer decisions { id } caution } }`, own), nil)
	require.Empty(t, r.Errors, r.body)
	assert.Contains(t, r.body, "cover-question/1")
	for field, f := range map[string]form{"brief": {"jobId": v1, "kitSuits": "YES"}, "giveAnswer": {"jobId": v1}, "decide": {"answerId": own, "decided": "NOT_SENT", "remarks": "short"},
		"raiseDefect": {"at": "2025-06-11T19:00:00+01:00", "deviceId": "A06", "cause": "DEFECT_FOUND"}} {
		assert.Empty(t, s.change(foreman, field, s.key(), f, "id").Errors, field)
	}
	whole := s.ask(foreman, `{ outlook(on: "2025-06-12") { crews { crew { id } verdict } }
		effectOf(event: {at: "2025-06-12T05:00:00+01:00", kit: "K04"}) { jobs { job { crew { id } } verdictChanges back { rung } kits { kitId } } leftOut } }`, nil)
	require.Empty(t, whole.Errors, whole.body)
	grid := s.ask(foreman, `{ stormGrid(ask: {from: "2025-06-12T06:00:00Z", until: "2025-06-12T14:00:00Z"}) { rows { crew { id } cells { verdict } } unlocks { words } leftOut } }`, nil)
	require.Empty(t, grid.Errors, grid.body)
	for _, body := range []string{whole.body, grid.body} {
		assert.Contains(t, body, `"V1"`)
		assert.NotContains(t, body, `"V2"`)
		assert.NotContains(t, body, "Gideon")
	}
	assert.Contains(t, whole.body, `"back":null`)
	assert.Contains(t, grid.body, `"unlocks":null`)
}
