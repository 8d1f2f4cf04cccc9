package graph_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

const sickness = "a torn ligament, invented"

// shortHanded takes Keahi out of V1 until the end of tomorrow, books both crews for tomorrow, each with a device and a kit, and puts Gideon
// into the relief pool. V1 is then one short, and V2 exactly enough.
func shortHanded(t *testing.T) (s *scene, v1, v2 string) {
	s = newScene(t)
	s.make("addDevice", with(form{"on": "2025-06-01"}, deviceForm("A06")))
	s.make("addKit", form{"on": "2025-06-01", "id": "K06", "parts": 4, "ropeCm": 6000, "tailCm": 400, "ratedLoadKg": 140, "inServiceOn": "2023-05-02"})
	s.equip("A06", "K06")
	s.make("addCrew", with(form{"on": "2025-06-01"}, crewForm("RELIEF"), form{"kind": "RELIEF"}))
	s.make("joinCrew", with(member("RELIEF", s.id["Gideon"], false), form{"fromOn": "2025-06-01"}))
	s.make("setUnavailable", form{"workerId": s.id["Keahi"], "kind": "SICK", "fromAt": "2025-06-10T00:00:00+01:00", "toAt": "2025-06-13T00:00:00+01:00", "reason": sickness})
	v1 = s.make("bookJob", jobForm("V1"))
	v2 = s.make("bookJob", with(jobForm("V2"), form{"deviceId": "A06"}))
	return s, v1, v2
}

// everyPart asks for all that an answer about cover tells.
const everyPart = `verdict ruleSetId verdictUntil then listsUntil changes { edge of id words } mayGoAloft { worker { name } verdict with } mustStayDown { worker { name } because words }
	choices { aloft verdict method roles { role worker } conditions { code things words } } timeline { from to verdict } planned findings { code severity things words values { name value } }
	conditions { code things words } nMinus1 { secure hangsOn { worker { id } without } } looksToMake { look words } gear { of id line words holds goodThrough madeOn inspectionId }
	onlySwaps swaps { at comeDown { id } mayGoUp { id } } leastChanges { rung rungWords travelMinutes verdict aloft { name } steps { do id people { name } words } lenders { crew { id } people { id } before after }
	looksAgain { look } caution } refusedCandidates { kind id worker { name } reason words lender { id } before after } leftOut question caution`

func (s *scene) coverOf(query string) map[string]any {
	s.t.Helper()
	return s.get(groundhand.Dispatcher, query).(map[string]any)
}

func rows(v any) []map[string]any {
	out := []map[string]any{}
	for _, row := range v.([]any) {
		out = append(out, row.(map[string]any))
	}
	return out
}

func TestTheLeastChangeOfABookedJob(t *testing.T) {
	s, v1, _ := shortHanded(t)
	got := s.coverOf(fmt.Sprintf(`{ jobCover(job: %q, wish: {changes: {most: 1}}) { %s } }`, v1, everyPart))
	assert.Equal(t, "NOT_READY", got["verdict"])
	assert.Contains(t, got["caution"], "looks of the day")
	assert.Contains(t, got["caution"], "does not say that a law is met")

	changes := rows(got["leastChanges"])
	require.GreaterOrEqual(t, len(changes), 3)
	first := changes[0]
	assert.Equal(t, 4.0, first["rung"])
	assert.Equal(t, "one more person of this yard", first["rungWords"])
	assert.Equal(t, "READY", first["verdict"])
	assert.NotEmpty(t, first["caution"])
	assert.Equal(t, "Gideon Oduya-Prewitt joins", rows(first["steps"])[0]["words"], "the relief pool is there to lend")
	last := changes[len(changes)-1]
	assert.Equal(t, "do not send", last["rungWords"])
	assert.Nil(t, last["verdict"])
	var later map[string]any
	for _, c := range changes {
		if rows(c["steps"])[0]["do"] == "LATER" {
			later = c
		}
	}
	require.NotNil(t, later, "Keahi is there again the day after")
	assert.Equal(t, []any{map[string]any{"look": "LOWER_CONTROLS"}, map[string]any{"look": "KIT_ON_DEVICE"}}, later["looksAgain"])

	refused := map[string]map[string]any{}
	for _, r := range rows(got["refusedCandidates"]) {
		refused[r["id"].(string)] = r
	}
	for _, name := range []string{"Linh", "Dov", "Aoife"} {
		r := refused[s.id[name]]
		require.NotNil(t, r, name)
		assert.Equal(t, "LENDER_WORSE", r["reason"])
		assert.Equal(t, map[string]any{"id": "V2"}, r["lender"])
		assert.Equal(t, "READY", r["before"])
		assert.Equal(t, "NOT_READY", r["after"])
		assert.Equal(t, map[string]any{"name": name + " Oduya-Prewitt"}, r["worker"])
	}
}

// A crew without a job of its own lends people, and is named as the one that does.
func TestALenderIsNamedWithItsVerdicts(t *testing.T) {
	s, v1, v2 := shortHanded(t)
	s.change(s.token[groundhand.Dispatcher], "withdraw", s.key(), form{"entryId": v2, "because": "rain"}, "id")
	got := s.coverOf(fmt.Sprintf(`{ jobCover(job: %q, wish: {changes: {most: 1, show: 50}}) { leastChanges { steps { id } lenders { crew { id } people { id } before after } } } }`, v1))
	var found bool
	for _, c := range rows(got["leastChanges"]) {
		if rows(c["steps"])[0]["id"] == s.id["Linh"] {
			found = true
			assert.Equal(t, []any{map[string]any{"crew": map[string]any{"id": "V2"}, "people": []any{map[string]any{"id": s.id["Linh"]}}, "before": nil, "after": nil}}, c["lenders"])
		}
	}
	assert.True(t, found)
}

// The question with its whole pool gives the same changes and refusals to anybody who asks it of the engine.
func TestASearchIsRecomputedFromItsQuestion(t *testing.T) {
	s, v1, _ := shortHanded(t)
	got := s.coverOf(fmt.Sprintf(`{ jobCover(job: %q, wish: {changes: {}}) { verdict question leastChanges { rung steps { do id } } refusedCandidates { kind id reason } nMinus1 { secure hangsOn { without } } } }`, v1))
	question, err := readiness.Decode([]byte(got["question"].(string)))
	require.NoError(t, err)
	require.NotNil(t, question.Pool)
	again, err := readiness.Judge(question)
	require.NoError(t, err)
	assert.Equal(t, got["verdict"], again.Verdict.String())
	var changes, refused []string
	for _, f := range again.Fixes {
		text := fmt.Sprint(f.Rung)
		for _, c := range f.Changes {
			text += fmt.Sprint(" ", c.Do, " ", c.ID)
		}
		changes = append(changes, text)
	}
	for _, r := range again.Refused {
		refused = append(refused, fmt.Sprint(r.Kind, " ", r.ID, " ", r.Reason))
	}
	var shown, shownRefused []string
	for _, c := range rows(got["leastChanges"]) {
		text := fmt.Sprint(c["rung"])
		for _, step := range rows(c["steps"]) {
			text += fmt.Sprint(" ", step["do"], " ", step["id"])
		}
		shown = append(shown, text)
	}
	for _, r := range rows(got["refusedCandidates"]) {
		shownRefused = append(shownRefused, fmt.Sprint(r["kind"], " ", r["id"], " ", r["reason"]))
	}
	assert.Equal(t, changes, shown)
	assert.Equal(t, refused, shownRefused)
	assert.Nil(t, again.NMinus1.Secure)
	assert.Nil(t, got["nMinus1"].(map[string]any)["secure"])
}

const ofTomorrow = `from: "2025-06-12T06:00:00+01:00", to: "2025-06-12T14:00:00+01:00"`

// A crew of three hangs on everybody; the lines of device and kit say until when each look is good, and what is still to be looked at.
func TestWhomItHangsOnAndWhatIsToBeLookedAt(t *testing.T) {
	s := newScene(t)
	got := s.coverOf(`{ crewCover(ask: {crew: "V1", device: "A04", methods: [PAIR_KIT], near50V: YES, callPlan: YES, ` + ofTomorrow + `}) { ` + everyPart + ` } }`)
	assert.Equal(t, "READY", got["verdict"])
	hangs := got["nMinus1"].(map[string]any)
	assert.Equal(t, false, hangs["secure"])
	assert.Len(t, hangs["hangsOn"], 3)
	assert.Equal(t, []any{"LOWER_CONTROLS", "KIT_ON_DEVICE", "KIT_SUITS"}, column(got["looksToMake"], "look"))
	lines := map[string]map[string]any{}
	for _, l := range rows(got["gear"]) {
		lines[l["of"].(string)+" "+l["line"].(string)] = l
	}
	weekly := lines["KIT WEEKLY_LOOK"]
	assert.Equal(t, "2025-06-09", weekly["madeOn"])
	assert.Equal(t, "2025-06-16", weekly["goodThrough"], "seven days, and the rule set says so")
	assert.Equal(t, "YES", weekly["holds"])
	assert.NotEmpty(t, weekly["inspectionId"])
	assert.Equal(t, "YES", lines["KIT REACH"]["holds"], "56 m of rope in four parts, 40 m needed")
	assert.Equal(t, "2033-05-01", lines["KIT LAST_DAY_OF_USE"]["goodThrough"])
	assert.Equal(t, "YES", lines["DEVICE FAMILY_KNOWN"]["holds"])
	assert.Empty(t, got["leastChanges"])
	assert.Equal(t, false, got["onlySwaps"])
}

func column(v any, field string) []any {
	out := []any{}
	for _, row := range rows(v) {
		out = append(out, row[field])
	}
	return out
}

// What counts of the looks of the day is asked three ways, and what the foreman says on the spot comes before all of them.
func TestLooksOfTheDay(t *testing.T) {
	s := newScene(t)
	cover := func(more string) map[string]any {
		return s.coverOf(`{ crewCover(ask: {crew: "V1", device: "A04", methods: [PAIR_KIT], near50V: YES, callPlan: YES, ` + ofTomorrow + more + `}) { verdict looksToMake { look } findings { code things words } } }`)
	}
	assert.Equal(t, "READY", cover(``)["verdict"], "nobody can have looked for tomorrow yet")
	assert.Equal(t, "READY", cover(`, looks: SUPPOSED`)["verdict"])
	recorded := cover(`, looks: RECORDED`)
	assert.Equal(t, "CANNOT_TELL", recorded["verdict"])
	assert.Empty(t, recorded["looksToMake"])
	assert.Contains(t, fmt.Sprint(recorded["findings"]), "does the kit suit everybody who goes aloft")
	assert.Equal(t, "READY", cover(`, looks: RECORDED, controlsChecked: YES, kitOnDevice: YES, kitSuits: YES`)["verdict"])
	said := cover(`, kitOnDevice: NO`)
	assert.Equal(t, "NOT_READY", said["verdict"])
	assert.Contains(t, fmt.Sprint(said["findings"]), "the kit is not on this device: kit, two on the ground")
	assert.Equal(t, "CANNOT_TELL", cover(`, kitSuits: UNKNOWN`)["verdict"])
}

// Buckets, rule text, trimmers and duties reach the question as they are asked.
func TestTheQuestionHoldsWhatWasAsked(t *testing.T) {
	s := newScene(t)
	got := s.coverOf(fmt.Sprintf(`{ crewCover(ask: {crew: "V1", device: "A04", kit: "K04", buckets: [1, 1], siteKind: TRIMMERS, ruleText: CONSTRUCTION, hiresTrained: YES, methods: [PAIR_KIT],
		duties: [{duty: "TRAFFIC", workerId: %q}], plannedAloft: [%q], %s}) { question planned } }`, s.id["Tomasz"], s.id["Keahi"], ofTomorrow))
	q, err := readiness.Decode([]byte(got["question"].(string)))
	require.NoError(t, err)
	assert.Equal(t, []readiness.Bucket{{ID: "B1", People: 1}, {ID: "B2", People: 1}}, q.Job.Buckets)
	assert.Equal(t, readiness.Site{Kind: readiness.Trimmers, RuleText: readiness.Construction, NewHiresTrained: readiness.Yes}, q.Job.Site)
	assert.Equal(t, []readiness.Duty{{Duty: "TRAFFIC", Person: s.id["Tomasz"]}}, q.Job.Exclusive)
	assert.Equal(t, "K04", q.Kit.ID)
	assert.Equal(t, "NOT_PERMITTED", got["planned"], "one is named and two are to go up")
}

// One comes at noon, when another leaves: somebody comes down and somebody goes up. Nothing is wrong with that.
func TestASwapIsNothingWrong(t *testing.T) {
	s := newScene(t)
	away := func(name, from, to string) {
		s.make("setUnavailable", form{"workerId": s.id[name], "kind": "COURSE", "fromAt": from, "toAt": to})
	}
	s.id["Petra"] = s.make("addWorker", workerForm("Petra", "1200"))
	away("Aoife", "2025-06-12T10:00:00+01:00", "2025-06-13T00:00:00+01:00")
	away("Petra", "2025-06-12T00:00:00+01:00", "2025-06-12T10:00:00+01:00")
	got := s.coverOf(fmt.Sprintf(`{ crewCover(ask: {people: [%q, %q, %q, %q], device: "A04", methods: [PAIR_KIT], near50V: YES, callPlan: YES, %s}) {
		verdict onlySwaps swaps { at comeDown { name } mayGoUp { name } } conditions { code words } timeline { verdict } } }`, s.id["Maren"], s.id["Tomasz"], s.id["Aoife"], s.id["Petra"], ofTomorrow))
	assert.Equal(t, "CONDITIONAL", got["verdict"])
	assert.Equal(t, true, got["onlySwaps"])
	assert.Equal(t, []any{map[string]any{"at": "2025-06-12T09:00:00Z", "comeDown": []any{map[string]any{"name": "Aoife Oduya-Prewitt"}},
		"mayGoUp": []any{map[string]any{"name": "Petra Oduya-Prewitt"}}}}, got["swaps"])
	assert.Equal(t, []any{"READY", "READY"}, column(got["timeline"], "verdict"))
}

// A device hired in is met by nobody until it is classed, and by its class from then on.
func TestADeviceThatNobodyClassed(t *testing.T) {
	s := newScene(t)
	hired := deviceForm("H1")
	delete(hired, "familyId")
	s.make("addDevice", with(form{"on": "2025-06-11"}, hired))
	s.make("addKit", form{"on": "2025-06-01", "id": "K07", "parts": 4, "ropeCm": 6000, "tailCm": 400, "ratedLoadKg": 140, "inServiceOn": "2023-05-02"})
	s.equip("H1", "K07")
	ask := `{ crewCover(ask: {crew: "V1", device: "H1", methods: [PAIR_KIT], near50V: YES, callPlan: YES, ` + ofTomorrow + `}) { verdict findings { code words } gear { line holds } } }`
	got := s.coverOf(ask)
	assert.Equal(t, "CANNOT_TELL", got["verdict"])
	assert.Contains(t, fmt.Sprint(got["findings"]), "which control family the device belongs to")
	family := `{ devices { edges { node { id family { id } } } } }`
	assert.Contains(t, s.ask(s.token[groundhand.Dispatcher], family, nil).body, `{"id":"H1","family":null}`)
	s.make("classDevice", form{"at": "2025-06-11T14:00:00+01:00", "deviceId": "H1", "familyId": "F1"})
	assert.Equal(t, "READY", s.coverOf(ask)["verdict"])
	assert.Contains(t, s.ask(s.token[groundhand.Dispatcher], family, nil).body, `{"id":"H1","family":{"id":"F1"}}`)
}

// The entries behind an answer are for those who read the entries.
func TestWhatAnAnswerRestsOn(t *testing.T) {
	s := newScene(t)
	ask := `{ crewCover(ask: {crew: "V1", device: "A04", ` + ofTomorrow + `}) { verdict restsOn } }`
	got := s.get(groundhand.Auditor, ask).(map[string]any)
	assert.Contains(t, got["restsOn"], s.id["membership Maren"])
	assert.Greater(t, len(got["restsOn"].([]any)), 9, "memberships, runs, first aid and looks")
	r := s.ask(s.token[groundhand.Dispatcher], ask, nil)
	assert.Equal(t, []string{"FORBIDDEN"}, r.codes())
	assert.Contains(t, r.body, `"restsOn":null`)
	assert.Contains(t, r.body, `"verdict":`)
}

// New fields of jobs, memberships and looks come back as they were entered.
func TestNewFieldsComeBack(t *testing.T) {
	s := newScene(t)
	job := with(jobForm("V1"), form{"kitId": "K04", "aloft": 2, "buckets": []int{1, 1}, "siteKind": "TRIMMERS", "ruleText": "CONSTRUCTION", "hiresTrained": "YES",
		"plannedAloft": []string{s.id["Keahi"]}, "duties": []form{{"duty": "TRAFFIC", "workerId": s.id["Maren"]}}})
	fields := `kitId aloft buckets siteKind ruleText hiresTrained plannedAloft duties { duty workerId } briefings { id }`
	r := s.change(s.token[groundhand.Dispatcher], "bookJob", s.key(), job, fields)
	assert.JSONEq(t, fmt.Sprintf(`{"kitId":"K04","aloft":2,"buckets":[1,1],"siteKind":"TRIMMERS","ruleText":"CONSTRUCTION","hiresTrained":"YES","plannedAloft":[%q],
		"duties":[{"duty":"TRAFFIC","workerId":%q}],"briefings":[]}`, s.id["Keahi"], s.id["Maren"]), string(r.Data["bookJob"]), r.body)
	r = s.change(s.token[groundhand.Dispatcher], "bookJob", s.key(), with(jobForm("V2"), form{"aloft": 2, "buckets": []int{5, 1}}), "id")
	assert.ElementsMatch(t, []string{"INVALID buckets[0]", "INVALID aloft"}, r.problems(), r.body)
	plain := s.change(s.token[groundhand.Dispatcher], "bookJob", s.key(), with(jobForm("V2"), form{"deviceId": nil}), fields)
	assert.JSONEq(t, `{"kitId":"","aloft":1,"buckets":[],"siteKind":"FIELD","ruleText":"GENERAL","hiresTrained":null,"plannedAloft":[],"duties":[],"briefings":[]}`, string(plain.Data["bookJob"]), plain.body)

	loan := with(member("V2", s.id["Keahi"], false), form{"reason": "SPLIT", "fromOn": "2025-06-12", "toOn": "2025-06-12", "fromAt": "2025-06-12T12:00:00+01:00", "toAt": "2025-06-12T18:00:00+01:00"})
	r = s.change(s.token[groundhand.Dispatcher], "joinCrew", s.key(), loan, "fromAt toAt")
	assert.JSONEq(t, `{"fromAt":"2025-06-12T11:00:00Z","toAt":"2025-06-12T17:00:00Z"}`, string(r.Data["joinCrew"]), r.body)
	r = s.change(s.token[groundhand.Dispatcher], "joinCrew", s.key(), with(loan, form{"fromAt": "2025-06-14T12:00:00+01:00"}), "id")
	assert.Contains(t, r.problems(), "INVALID fromAt", r.body)

	look := lookForm("deviceId", "A04", "DEVICE_MONTHLY", "device-monthly-1", "2025-06-10")
	r = s.change(s.token[groundhand.Inspector], "inspect", s.key(), look, "id")
	assert.Equal(t, []string{"INVALID loweringSeconds"}, r.problems(), "the list says that it was timed")
	r = s.change(s.token[groundhand.Inspector], "inspect", s.key(), with(look, form{"loweringSeconds": 74}), "loweringSeconds")
	assert.JSONEq(t, `{"loweringSeconds":74}`, string(r.Data["inspect"]), r.body)
	lists := rows(s.get(groundhand.Auditor, `{ checklists { id kind of version from lines { key critical mayNotApply words } source caution } }`))
	assert.Len(t, lists, 7)
	assert.Equal(t, "common practice, no source", lists[0]["source"])
}

// health is nowhere in what an answer, a search, an outlook, a storm or an event tells.
func TestNoAnswerTellsOfHealth(t *testing.T) {
	s, v1, _ := shortHanded(t)
	queries := []string{
		fmt.Sprintf(`{ jobCover(job: %q, wish: {changes: {show: 50}}) { %s restsOn } }`, v1, everyPart),
		`{ crewCover(ask: {crew: "V2", device: "A06", aloft: 2, ` + ofTomorrow + `, changes: {show: 50}}) { ` + everyPart + ` } }`,
		`{ outlook(on: "2025-06-11", days: 60) { ` + outlookParts + ` } }`,
		`{ stormGrid(ask: {from: "2025-06-12T06:00:00+01:00", until: "2025-06-12T14:00:00+01:00"}) { ` + gridParts + ` } }`,
		`{ effectOf(event: {at: "2025-06-11T20:00:00+01:00", kit: "K04"}) { jobs { job { id } before { question findings { words } } after { question findings { words } mustStayDown { words because } } back { steps { words } } } } }`,
		`{ answersGiven { edges { node { question answer } } } }`,
	}
	r := s.ask(s.token[groundhand.Coordinator], `mutation($key: String!, $form: AnswerForm!) { giveAnswer(key: $key, form: $form) { question answer restsOn } }`,
		form{"key": s.key(), "form": form{"jobId": v1, "changes": form{}}})
	require.Empty(t, r.Errors, r.body)
	all := r.body
	for _, q := range queries {
		r := s.ask(s.token[groundhand.Coordinator], q, nil)
		require.Empty(t, r.Errors, "%.600s", r.body)
		all += r.body
	}
	assert.NotContains(t, all, "ligament")
	assert.NotContains(t, all, "SICK")
	assert.NotContains(t, strings.ToLower(all), "sick")
	assert.Contains(t, all, "ABSENT", "that somebody is not there is told")
	assert.Contains(t, all, `OTHER`, "and in the question no more than that it is for another reason")
}
