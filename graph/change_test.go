package graph_test

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// trip is one change there and back: the form, the fields asked of what it made, and what they must say.
type trip struct {
	field, fields string
	form          form
	want          string // JSON; IDS stand for themselves, * for anything
	read          string // a question that reads it back; ID is the id made
	found         string // what the answer to it must hold
}

// Each change is made once, sent again under its key (which changes nothing) and read back. They build on each other in this order.
func TestEveryChangeThereAndBack(t *testing.T) {
	s := newScene(t)
	id := s.id
	s.id["part Tomasz"] = s.partOf(t, "Tomasz")
	trips := []trip{
		{"addYard", "id name", form{"on": "2025-06-01", "id": "NORDEN", "name": "Norden"}, `{"id":"NORDEN","name":"Norden"}`, `{ yards { id name } }`, `"NORDEN"`},
		{"addRoad", "fromYardId toYardId minutes", form{"on": "2025-06-01", "fromYardId": "VARROW", "toYardId": "NORDEN", "minutes": 40},
			`{"fromYardId":"VARROW","toYardId":"NORDEN","minutes":40}`, "", ""},
		{"addFamily", "id name", form{"on": "2025-06-01", "id": "F5", "name": "material handler"}, `{"id":"F5","name":"material handler"}`, `{ families { id } }`, `"F5"`},
		{"addDevice", "id family { id } yard { id } type platformCm anchorCm emergencyLow", with(form{"on": "2025-06-01"}, deviceForm("A05")),
			`{"id":"A05","family":{"id":"F1"},"yard":{"id":"VARROW"},"type":"articulating","platformCm":1300,"anchorCm":1000,"emergencyLow":"YES"}`, `{ devices { edges { node { id } } } }`, `"A05"`},
		{"classDevice", "deviceId familyId anchorCm emergencyLow", form{"at": "2025-06-11T14:00:00+01:00", "deviceId": "A05", "familyId": "F5", "anchorCm": 1100},
			`{"deviceId":"A05","familyId":"F5","anchorCm":1100,"emergencyLow":null}`,
			`{ devices { edges { node { id family { id } anchorCm emergencyLow classings { familyId recorded { happenedAt } } } } } }`,
			`{"id":"A05","family":{"id":"F5"},"anchorCm":1100,"emergencyLow":"YES","classings":[{"familyId":"F5","recorded":{"happenedAt":"2025-06-11T13:00:00Z"}}]}`},
		{"addKit", "id parts ropeCm inServiceOn", form{"on": "2025-06-01", "id": "K05", "parts": 4, "ropeCm": 5000, "inServiceOn": "2025-01-01"},
			`{"id":"K05","parts":4,"ropeCm":5000,"inServiceOn":"2025-01-01"}`, `{ kits { edges { node { id placing { deviceId } } } } }`, `"K05"`},
		{"placeKit", "deviceId yardId", form{"on": "2025-06-01", "kitId": "K05", "deviceId": "A05"}, `{"deviceId":"A05","yardId":""}`,
			`{ kits { edges { node { id placing { deviceId } } } } }`, `{"id":"K05","placing":{"deviceId":"A05"}}`},
		{"inspect", "kind checklist result", form{"on": "2025-06-10", "deviceId": "A05", "kind": "DAILY_LOWER_CONTROLS", "result": "IN_SERVICE",
			"checklist": "device-daily-1", "lines": sheet("device-daily-1")},
			`{"kind":"DAILY_LOWER_CONTROLS","checklist":"device-daily-1","result":"IN_SERVICE"}`,
			`{ devices { edges { node { id inspections { result } } } } }`, `"inspections":[{"result":"IN_SERVICE"}]`},
		{"raiseDefect", "deviceId kitId cause separated remarks", form{"on": nil, "at": "2025-06-10T14:20:00+01:00", "kitId": "K05", "cause": "SHOCK_LOAD", "separated": true, "remarks": "a pull while closed"},
			`{"deviceId":"","kitId":"K05","cause":"SHOCK_LOAD","separated":true,"remarks":"a pull while closed"}`,
			`{ kits { edges { node { id defects { cause recorded { happenedAt } } } } } }`, `{"id":"K05","defects":[{"cause":"SHOCK_LOAD","recorded":{"happenedAt":"2025-06-10T13:20:00Z"}}]}`},
		{"addWorker", "number name grading { grade year } employment { employer relation fromOn } yard { id }", with(workerForm("Petra", "1200"), form{"grade": "APPRENTICE", "year": 2}),
			`{"number":"1200","name":"Petra Oduya-Prewitt","grading":{"grade":"APPRENTICE","year":2},"employment":{"employer":"Halverra Lines","relation":"EMPLOYEE","fromOn":"2024-01-01"},"yard":{"id":"VARROW"}}`,
			`{ workers { edges { node { number } } } }`, `"1200"`},
		{"renameWorker", "workerId name", form{"fromOn": "2025-06-01", "workerId": id["Dov"], "name": "Dov Barrow"}, fmt.Sprintf(`{"workerId":%q,"name":"Dov Barrow"}`, id["Dov"]),
			fmt.Sprintf(`{ worker(id: %q) { name before: name(on: "2025-05-31") } }`, id["Dov"]), `"name":"Dov Barrow","before":"Dov Oduya-Prewitt"`},
		{"gradeWorker", "grade year", form{"fromOn": "2025-06-01", "workerId": id["Aoife"], "grade": "GROUND"}, `{"grade":"GROUND","year":0}`,
			fmt.Sprintf(`{ worker(id: %q) { grading { grade } } }`, id["Aoife"]), `"GROUND"`},
		{"postWorker", "workerId yardId", form{"fromOn": "2025-06-01", "workerId": id["Dov"], "yardId": "STENHOLT"}, fmt.Sprintf(`{"workerId":%q,"yardId":"STENHOLT"}`, id["Dov"]),
			fmt.Sprintf(`{ worker(id: %q) { yard { id } } }`, id["Dov"]), `"STENHOLT"`},
		{"setUnavailable", "workerId kind fromAt toAt", form{"workerId": id["Dov"], "kind": "LEAVE", "fromAt": "2025-07-01T00:00:00+01:00", "toAt": "2025-07-08T00:00:00+01:00"},
			fmt.Sprintf(`{"workerId":%q,"kind":"LEAVE","fromAt":"2025-06-30T23:00:00Z","toAt":"2025-07-07T23:00:00Z"}`, id["Dov"]), "", ""},
		{"addCrew", "id name yard { id } kind normalSize families", with(form{"on": "2025-06-01"}, crewForm("V3")),
			`{"id":"V3","name":"crew V3","yard":{"id":"VARROW"},"kind":"LINE","normalSize":3,"families":["F1"]}`, `{ crews { edges { node { id } } } }`, `"V3"`},
		{"joinCrew", "worker { id } part reason fromOn toOn", with(member("V3", id["Aoife"], false), form{"reason": "LOAN", "fromOn": "2025-06-11", "toOn": "2025-06-13"}),
			fmt.Sprintf(`{"worker":{"id":%q},"part":"MEMBER","reason":"LOAN","fromOn":"2025-06-11","toOn":"2025-06-13"}`, id["Aoife"]),
			`{ crew(id: "V3") { members(on: "2025-06-12") { worker { id } } after: members(on: "2025-06-14") { worker { id } } } }`, fmt.Sprintf(`"members":[{"worker":{"id":%q}}],"after":[]`, id["Aoife"])},
		{"planShift", "worker { id } yard { id } fromAt toAt", form{"workerId": id["Gideon"], "yardId": "VARROW", "fromAt": "2025-06-12T05:00:00+01:00", "toAt": "2025-06-12T13:00:00+01:00"},
			fmt.Sprintf(`{"worker":{"id":%q},"yard":{"id":"VARROW"},"fromAt":"2025-06-12T04:00:00Z","toAt":"2025-06-12T12:00:00Z"}`, id["Gideon"]),
			`{ shifts(from: "2025-06-12", through: "2025-06-12") { id worker { name } yard { name } } }`, `"worker":{"name":"Gideon Oduya-Prewitt"},"yard":{"name":"Varrow"}`},
		{"grantAuthority", "assessorId methods families fromOn", form{"on": "2025-06-01", "assessorId": id["Linh"], "methods": []string{"PAIR_KIT"}, "families": []string{"F1"}, "fromOn": "2025-06-01"},
			fmt.Sprintf(`{"assessorId":%q,"methods":["PAIR_KIT"],"families":["F1"],"fromOn":"2025-06-01"}`, id["Linh"]), "", ""},
		{"bookSession", "session { yard { id } startAt seats methods } bookings { worker { id } renews }", form{"yardId": "VARROW", "startAt": "2025-06-24T08:00:00+01:00",
			"endAt": "2025-06-24T12:00:00+01:00", "methods": []string{"PAIR_KIT"}, "deviceId": "A04", "assessorId": id["Gideon"], "seats": 6, "bookings": []form{{"workerId": id["Maren"], "renews": []string{"PAIR_KIT"}}}},
			fmt.Sprintf(`{"session":{"yard":{"id":"VARROW"},"startAt":"2025-06-24T07:00:00Z","seats":6,"methods":["PAIR_KIT"]},"bookings":[{"worker":{"id":%q},"renews":["PAIR_KIT"]}]}`, id["Maren"]),
			`{ sessions(from: "2025-06-24", through: "2025-06-24") { id assessor { id } bookings { worker { id } } } }`, fmt.Sprintf(`"assessor":{"id":%q}`, id["Gideon"])},
		{"bookSeat", "worker { id } renews", form{"sessionId": "ID of bookSession", "workerId": id["Keahi"]}, fmt.Sprintf(`{"worker":{"id":%q},"renews":[]}`, id["Keahi"]), "", ""},
		{"recordDrill", "runs { method complete marks { stage seconds } parts { role criticalFail } }", form{"runs": []form{with(runForm(id["Aoife"], id["Dov"]), form{"on": "2025-06-10"})}},
			`{"runs":[{"method":"PAIR_KIT","complete":true,"marks":[{"stage":"S0","seconds":0},{"stage":"S7","seconds":95}],"parts":[{"role":"LEAD","criticalFail":false},{"role":"SECOND","criticalFail":false}]}]}`,
			fmt.Sprintf(`{ standing(ask: {worker: %q, method: PAIR_KIT, role: LEAD, family: "F1"}) { standing } }`, id["Aoife"]), `"CURRENT"`},
		{"assess", "workerId method role result assessorId", assessmentForm(id), fmt.Sprintf(`{"workerId":%q,"method":"PAIR_KIT","role":"LEAD","result":"PASS","assessorId":%q}`, id["Maren"], id["Gideon"]),
			fmt.Sprintf(`{ standing(ask: {worker: %q, method: PAIR_KIT, role: LEAD, family: "F1"}) { restsOn } }`, id["Maren"]), "ID"},
		{"recordOutside", "workerId method issuer level", form{"on": "2025-06-01", "workerId": id["Aoife"], "method": "FIRST_AID", "role": "LEAD", "issuer": "a school", "level": "COPY_SEEN", "checkerId": id["Henrike"]},
			fmt.Sprintf(`{"workerId":%q,"method":"FIRST_AID","issuer":"a school","level":"COPY_SEEN"}`, id["Aoife"]), "", ""},
		{"suspend", "workerId method cause", form{"on": "2025-06-09", "workerId": id["Maren"], "method": "PAIR_KIT", "cause": "a step left out"},
			fmt.Sprintf(`{"workerId":%q,"method":"PAIR_KIT","cause":"a step left out"}`, id["Maren"]),
			fmt.Sprintf(`{ standing(ask: {worker: %q, method: PAIR_KIT, role: LEAD, family: "F1"}) { standing } }`, id["Maren"]), `"SUSPENDED"`},
		{"lift", "suspensionId passId", form{"on": "2025-06-11", "suspensionId": "ID of suspend", "passId": "ID of assess"}, `{"suspensionId":"ID of suspend","passId":"ID of assess"}`,
			fmt.Sprintf(`{ standing(ask: {worker: %q, method: PAIR_KIT, role: LEAD, family: "F1"}) { standing } }`, id["Maren"]), `"CURRENT"`},
		{"extend", "workerId fromOn toOn approverId", form{"on": "2025-06-10", "workerId": id["Keahi"], "method": "PAIR_KIT", "fromOn": "2025-06-11", "toOn": "2025-06-30", "approverId": id["Henrike"], "basis": "the ground is closed"},
			fmt.Sprintf(`{"workerId":%q,"fromOn":"2025-06-11","toOn":"2025-06-30","approverId":%q}`, id["Keahi"], id["Henrike"]), "", ""},
		{"acceptProvisionally", "workerId role fromOn toOn conditions", form{"on": "2025-06-10", "workerId": id["Aoife"], "method": "MANUAL_LOWERING", "role": "LEAD", "familyId": "F1", "fromOn": "2025-06-11", "toOn": "2025-06-30", "basis": "copy seen", "approverId": id["Henrike"], "evidenceId": nil, "conditions": "ground crew only"},
			fmt.Sprintf(`{"workerId":%q,"role":"LEAD","fromOn":"2025-06-11","toOn":"2025-06-30","conditions":"ground crew only"}`, id["Aoife"]), "", ""},
		{"bookJob", "crew { id } startAt aloft methods near50V siteKind callPlan", jobForm("V1"),
			`{"crew":{"id":"V1"},"startAt":"2025-06-12T05:00:00Z","aloft":1,"methods":["PAIR_KIT"],"near50V":"YES","siteKind":"FIELD","callPlan":"YES"}`,
			`{ coverOn(day: "2025-06-12") { job { id } why cover { verdict caution } } }`, `"why":"","cover":{"verdict":"READY"`},
		{"brief", "jobId kitOnDevice kitSuits aloft remarks", form{"jobId": "ID of bookJob", "kitOnDevice": "YES", "kitSuits": "YES", "aloft": []string{id["Tomasz"]}, "remarks": "wind from the west"},
			fmt.Sprintf(`{"jobId":"ID of bookJob","kitOnDevice":"YES","kitSuits":"YES","aloft":[%q],"remarks":"wind from the west"}`, id["Tomasz"]),
			`{ jobs(from: "2025-06-12", through: "2025-06-12") { briefings { id kitOnDevice kitSuits } } }`, `"briefings":[{"id":"ID","kitOnDevice":"YES","kitSuits":"YES"}]`},
		{"giveAnswer", "crew { id } job { id } ruleSetId verdict looksToMake { look } decisions { id }", form{"jobId": "ID of bookJob"},
			`{"crew":{"id":"V1"},"job":{"id":"ID of bookJob"},"ruleSetId":"R2","verdict":"READY","looksToMake":[{"look":"LOWER_CONTROLS"}],"decisions":[]}`,
			`{ answersGiven { edges { node { id verdict } } pageInfo { hasNextPage } } }`, `{"id":"ID","verdict":"READY"}`},
		{"decide", "answerId decided remarks", form{"answerId": "ID of giveAnswer", "decided": "SENT_CHANGED", "remarks": "Keahi joins"},
			`{"answerId":"ID of giveAnswer","decided":"SENT_CHANGED","remarks":"Keahi joins"}`,
			`{ answerGiven(id: "ID of giveAnswer") { caution decisions { decided } } }`, `"decisions":[{"decided":"SENT_CHANGED"}]`},
		{"withdraw", "withdrawsId because", form{"entryId": "ID of bookSession", "because": "rain"}, `{"withdrawsId":"ID of bookSession","because":"rain"}`,
			`{ sessions(from: "2025-06-24", through: "2025-06-24") { id } }`, `[]`},
		{"suggestRotation", "startOn endOn seed", form{"startOn": "2026-02-02", "endOn": "2026-03-13", "seed": 7, "rounds": 50, "slots": []form{{"id": "thu-am", "on": "2026-02-12", "part": "am", "yardId": "VARROW",
			"familyId": "F1", "deviceId": "A04", "assessorId": id["Gideon"], "methods": []string{"PAIR_KIT"}, "seats": 8, "maxRuns": 8, "minutes": 240}}},
			`{"startOn":"2026-02-02","endOn":"2026-03-13","seed":"7"}`, `{ plans { edges { node { id adoptedAt } } } }`, `"adoptedAt":null`},
		{"startRotation", "state name startOn", form{"name": "winter", "startOn": "2026-02-02", "endOn": "2026-03-13", "seed": 7, "rounds": 50, "offer": form{"everyWeeks": 2, "weekdays": []string{"thu"}},
			"stagger": form{"most": 2, "days": 14}, "forbidSlots": []string{"thu-am"}, "forbidDays": []form{{"workerId": id["Maren"], "fromOn": "2026-02-05", "toOn": "2026-02-05"}},
			"aloft": []form{{"crewId": "V1", "aloft": 1}}}, `{"state":"WAITING","name":"winter","startOn":"2026-02-02"}`,
			`{ rotationJobs { edges { node { id state } } } }`, `{"id":"ID","state":"WAITING"}`},
		{"adoptPlan", "plan { id } sessions { yard { id } startAt }", form{"planId": "ID of suggestRotation"}, "", `{ plan(id: "ID of suggestRotation") { adoptedAt } }`, `"2025-06-11T`},
		{"proposeRules", "ruleSetId title effectiveFrom approval { id }", ruleSetForm(t, s), `{"ruleSetId":"R9","title":"stricter, invented","effectiveFrom":"2026-01-01","approval":null}`,
			`{ ruleProposals { edges { node { id ruleSetId } } } }`, `{"id":"ID","ruleSetId":"R9"}`},
		{"decideOnRules", "approval { proposalId decision reason } ruleSet { id }", form{"proposalId": "ID of proposeRules", "decision": "APPROVED", "reason": "read and agreed"},
			`{"approval":{"proposalId":"ID of proposeRules","decision":"APPROVED","reason":"read and agreed"},"ruleSet":{"id":"R9"}}`,
			`{ ruleSets { id } ruleProposals { edges { node { approval { decision } } } } }`, `{"approval":{"decision":"APPROVED"}}`},
		{"disputeEntry", "workerId entryId claim ruling { id }", form{"entryId": s.id["part Tomasz"], "claim": "I led that run to the end"},
			fmt.Sprintf(`{"workerId":%q,"entryId":%q,"claim":"I led that run to the end","ruling":null}`, id["Tomasz"], s.id["part Tomasz"]),
			`{ disputes { edges { node { id claim } } } }`, `{"id":"ID","claim":"I led that run to the end"}`},
		{"ruleOnDispute", "disputeId outcome reason putRightById", form{"disputeId": "ID of disputeEntry", "outcome": "NOT_UPHELD", "reason": "the sheet agrees with the entry"},
			`{"disputeId":"ID of disputeEntry","outcome":"NOT_UPHELD","reason":"the sheet agrees with the entry","putRightById":""}`,
			`{ disputes { edges { node { id } } } all: disputes(open: false) { edges { node { ruling { outcome } } } } }`, `"disputes":{"edges":[]},"all":{"edges":[{"node":{"ruling":{"outcome":"NOT_UPHELD"}}}]}`},
		{"openReview", "entryId cause workerId closing { id }", form{"entryId": "ID of assess", "cause": "IMPLAUSIBLE", "reason": "two places at one time"},
			fmt.Sprintf(`{"entryId":"ID of assess","cause":"IMPLAUSIBLE","workerId":%q,"closing":null}`, id["Maren"]), `{ reviews { edges { node { id cause } } } }`, `{"id":"ID","cause":"IMPLAUSIBLE"}`},
		{"closeReview", "reviewId outcome reason newEntryId", form{"reviewId": "ID of openReview", "outcome": "STANDS", "reason": "the road was short"},
			`{"reviewId":"ID of openReview","outcome":"STANDS","reason":"the road was short","newEntryId":""}`,
			`{ reviews { edges { node { id } } } all: reviews(open: false) { edges { node { closing { outcome } } } } }`, `"reviews":{"edges":[]},"all":{"edges":[{"node":{"closing":{"outcome":"STANDS"}}}]}`},
		{"findAssessorInvalid", "finding { assessorId fromOn toOn reason } reviews { entryId cause }", form{"assessorId": id["Gideon"], "fromOn": "2025-06-10", "toOn": "2025-06-10", "reason": "the authority had ended"},
			fmt.Sprintf(`{"finding":{"assessorId":%q,"fromOn":"2025-06-10","toOn":"2025-06-10","reason":"the authority had ended"},"reviews":[{"entryId":"ID of assess","cause":"ASSESSOR_FOUND_INVALID"}]}`, id["Gideon"]),
			`{ reviews { edges { node { cause } } } }`, `"cause":"ASSESSOR_FOUND_INVAL`},
		{"reportEvent", "kind crewId kitId what casualtyDownSeconds firstAidSeconds", form{"at": "2025-06-11T10:40:00+01:00", "kind": "NEAR_MISS", "crewId": "V1", "what": "the rope ran over an edge", "casualtyDownSeconds": 140},
			`{"kind":"NEAR_MISS","crewId":"V1","kitId":"","what":"the rope ran over an edge","casualtyDownSeconds":140,"firstAidSeconds":0}`, "", ""},
		{"employWorker", "employer relation fromOn", form{"fromOn": "2025-06-02", "workerId": "ID of addWorker", "employer": "Another Lines", "relation": "EMPLOYEE"}, "", "", ""},
	}
	trips = append(trips, identityTrips(id)...)
	made := map[string]string{"correctPart": "its own test", "eraseNames": "takes somebody who left long ago, see its own test"}
	for _, tr := range trips {
		t.Run(tr.field, func(t *testing.T) { s.travel(t, tr, made) })
	}
	for _, f := range fieldsOf(schema().Mutation) {
		if f.Arguments.ForName("form") != nil {
			assert.Contains(t, made, f.Name, "has no round trip")
		}
	}
	assert.Empty(t, s.log.String(), "nothing failed inside")
}

// travel does one trip; ids made earlier are filled in.
func (s *scene) travel(t *testing.T, tr trip, made map[string]string) {
	fill := func(text string) string {
		for field, id := range made {
			text = strings.ReplaceAll(text, "ID of "+field+`"`, id+`"`)
		}
		return text
	}
	text, err := json.Marshal(tr.form)
	require.NoError(t, err)
	var f form
	require.NoError(t, json.Unmarshal([]byte(fill(string(text))), &f))
	if tr.field == "employWorker" {
		s.endEmployment(t, f)
	}
	key := s.key()
	fields := tr.fields
	for _, alone := range []string{"session {", "runs {", "plan {", "finding {", "approval {"} {
		fields = strings.Replace(fields, alone, alone+" id", 1)
	}
	r := s.change(s.who(tr.field), tr.field, key, f, fields)
	require.Empty(t, r.Errors, r.body)
	made[tr.field] = s.lastMade(t, key)
	if tr.want != "" {
		again := s.change(s.who(tr.field), tr.field, key, f, tr.fields)
		assert.JSONEq(t, fill(tr.want), string(again.Data[tr.field]))
	}
	before := s.rows()
	again := s.change(s.who(tr.field), tr.field, key, f, fields)
	assert.JSONEq(t, r.body, again.body, "the same key again gives the same answer")
	assert.Equal(t, before, s.rows(), "and changes nothing")
	if tr.read != "" {
		back := s.ask(s.token[groundhand.Coordinator], fill(tr.read), nil)
		require.Empty(t, back.Errors, back.body)
		assert.Contains(t, back.body, strings.ReplaceAll(fill(tr.found), "ID", made[tr.field]))
	}
}

// lastMade is the id by which an act's first result is found again.
func (s *scene) lastMade(t *testing.T, key string) string {
	acts, err := store.All[groundhand.Act](context.Background(), s.store)
	require.NoError(t, err)
	i := slices.IndexFunc(acts, func(a groundhand.Act) bool { return a.Key == key })
	require.GreaterOrEqual(t, i, 0)
	return strings.Fields(acts[i].Result + " -")[0]
}

// partOf is some part in a run that a worker led.
func (s *scene) partOf(t *testing.T, name string) string {
	parts, err := store.FindStanding[groundhand.RunPart](context.Background(), s.store, store.ByWorker, []string{s.id[name]})
	require.NoError(t, err)
	i := slices.IndexFunc(parts, func(p groundhand.RunPart) bool { return p.Role == groundhand.Lead })
	require.GreaterOrEqual(t, i, 0)
	return string(parts[i].ID)
}

// endEmploymentOn says, by a correction, that a worker left.
func (s *scene) endEmploymentOn(t *testing.T, who, day string) {
	all, err := store.FindStanding[groundhand.Employment](context.Background(), s.store, store.ByWorker, []string{who})
	require.NoError(t, err)
	require.Len(t, all, 1)
	s.make("employWorker", form{"fromOn": all[0].FromOn, "toOn": day, "workerId": who, "employer": all[0].Employer, "relation": all[0].Relation, "replaces": all[0].ID, "because": "left"})
}

// endEmployment gives the employment that is in the way a last day, by a correction.
func (s *scene) endEmployment(t *testing.T, next form) {
	s.endEmploymentOn(t, next["workerId"].(string), "2025-06-01")
}

func assessmentForm(id map[string]string) form {
	return form{"on": "2025-06-10", "workerId": id["Maren"], "method": "PAIR_KIT", "role": "LEAD", "familyId": "F1", "result": "PASS", "assessorId": id["Gideon"]}
}

func jobForm(crew string) form {
	return form{"crewId": crew, "startAt": "2025-06-12T06:00:00+01:00", "endAt": "2025-06-12T14:00:00+01:00", "deviceId": "A04", "aloft": 1, "methods": []string{"PAIR_KIT"},
		"near50V": "YES", "siteKind": "FIELD", "callPlan": "YES", "place": "Mill Lane"}
}

func ruleSetForm(t *testing.T, s *scene) form {
	sets, err := store.All[groundhand.RuleSet](context.Background(), s.store)
	require.NoError(t, err)
	return form{"ruleSetId": "R9", "title": "stricter, invented", "owner": "Halverra Lines", "isDefault": true, "effectiveFrom": "2026-01-01", "body": sets[0].Body}
}

func TestTheSameKeyWithAnotherFormIsAConflict(t *testing.T) {
	s := newScene(t)
	token, key := s.token[groundhand.Coordinator], s.key()
	yard := form{"on": "2025-06-01", "id": "NORDEN", "name": "Norden"}
	require.Empty(t, s.change(token, "addYard", key, yard, "id").Errors)
	before := s.rows()
	r := s.change(token, "addYard", key, with(yard, form{"name": "Sudden"}), "id")
	assert.Equal(t, []string{"CONFLICT key"}, r.problems(), r.body)
	assert.Equal(t, before, s.rows())
}

func TestACorrectionReplacesAndKeepsBothRecords(t *testing.T) {
	s := newScene(t)
	run := s.make("recordDrill", form{"runs": []form{with(runForm(s.id["Aoife"], s.id["Dov"]), form{"on": "2025-06-10"})}})
	standing := fmt.Sprintf(`{ standing(ask: {worker: %q, method: PAIR_KIT, role: LEAD, family: "F1"}) { standing } }`, s.id["Aoife"])
	require.Equal(t, map[string]any{"standing": "CURRENT"}, s.get(groundhand.Coordinator, standing))
	parts, err := store.FindStanding[groundhand.RunPart](t.Context(), s.store, store.ByRun, []string{run})
	require.NoError(t, err)
	lead := parts[slices.IndexFunc(parts, func(p groundhand.RunPart) bool { return p.Role == groundhand.Lead })]
	r := s.change(s.token[groundhand.Coordinator], "correctPart", s.key(), form{"runId": run, "workerId": s.id["Aoife"], "role": "OBSERVER", "replaces": lead.ID, "because": "watched only"}, "role worker { id }")
	require.Empty(t, r.Errors, r.body)
	assert.Equal(t, map[string]any{"standing": "NEVER"}, s.get(groundhand.Coordinator, standing))
	both, err := store.Find[groundhand.RunPart](t.Context(), s.store, store.ByRun, []string{run})
	require.NoError(t, err)
	assert.Len(t, both, 3, "the first record stays readable")

	assessment := s.make("assess", assessmentForm(s.id))
	right := with(assessmentForm(s.id), form{"result": "FAIL", "replaces": assessment, "because": "wrong box ticked"})
	r = s.change(s.token[groundhand.Assessor], "assess", s.key(), right, "result recorded { replacesId because capacity authorId }")
	require.Empty(t, r.Errors, r.body)
	assert.JSONEq(t, fmt.Sprintf(`{"result":"FAIL","recorded":{"replacesId":%q,"because":"wrong box ticked","capacity":"ASSESSOR","authorId":%q}}`, assessment, s.id["Gideon"]), string(r.Data["assess"]))
	assert.Equal(t, []string{"FORBIDDEN"}, s.change(s.token[groundhand.Coordinator], "assess", s.key(), right, "id").codes())
}

func TestASweepByHandAndWhatItRaises(t *testing.T) {
	s := newScene(t)
	sweep := `mutation { sweep(on: "2025-06-11") { sweep { day byHand raised } raised { kind worker { id } crew { id } } cleared { id } } }`
	r := s.ask(s.token[groundhand.Coordinator], sweep, nil)
	require.Empty(t, r.Errors, r.body)
	assert.Contains(t, r.body, `"kind":"PRACTICE_LAPSED","worker":{"id":"`+s.id["Aoife"]+`"}`)
	r = s.ask(s.token[groundhand.Coordinator], sweep, nil)
	assert.Contains(t, r.body, `"raised":[],"cleared":[]`, "looking twice changes nothing")
	flags := s.ask(s.token[groundhand.Dispatcher], `{ flags { edges { node { kind raisedOn clearedOn worker { name } } } pageInfo { hasNextPage } } sweeps { edges { node { day } } } }`, nil)
	require.Empty(t, flags.Errors)
	assert.Contains(t, flags.body, `"raisedOn":"2025-06-11","clearedOn":null`)
	assert.Equal(t, 2, strings.Count(flags.body, `"day":"2025-06-11"`))
}

func TestAFileIsLookedAtAndThenImported(t *testing.T) {
	s := newScene(t)
	file := "number,name,employer,relation,grade,yard,from\n1301,Ines Amadi-Wieland,Halverra Lines,employee,qualified,VARROW,2025-06-02\n1302,Odo Barrow,Halverra Lines,employee,wizard,VARROW,2025-06-02\n"
	look := `mutation($file: Upload!) { previewImport(file: $file, kind: PEOPLE) { rows new known refusals { row column cell message } } }`
	token := s.token[groundhand.Coordinator]
	before := s.rows()
	r := s.upload(token, look, nil, strings.NewReader(file))
	require.Empty(t, r.Errors, r.body)
	assert.Contains(t, r.body, `"rows":2,"new":[2],"known":[],"refusals":[{"row":3,"column":"grade","cell":"wizard"`)
	read := `mutation($file: Upload!, $key: String!, $rows: [Int!]) { importFile(key: $key, file: $file, kind: PEOPLE, rows: $rows) { written known preview { refusals { row } } } }`
	r = s.upload(token, read, form{"key": s.key()}, strings.NewReader(file))
	assert.Contains(t, r.body, `"written":0,"known":0,"preview":{"refusals":[{"row":3}]}`, "one refused row refuses the file")
	assert.Equal(t, before, s.rows(), "and nothing is written")
	key := s.key()
	for range 2 {
		r = s.upload(token, read, form{"key": key, "rows": []int{2}}, strings.NewReader(file))
		assert.Contains(t, r.body, `"written":1`, r.body)
	}
	assert.Equal(t, before["workers"]+1, s.rows()["workers"])
}
