package readiness_test

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

func refused(err error) []string {
	fields := []string{}
	for _, e := range groundhand.Refusals(err) {
		fields = append(fields, e.Field)
	}
	return fields
}

func TestEveryFaultIsToldAtOnceWithItsField(t *testing.T) {
	q := morning(
		func(q *readiness.Question) { q.Window.To = q.Window.From },
		func(q *readiness.Question) { q.Job.Buckets[0].People = -1 },
		func(q *readiness.Question) { q.Job.Exclusive = []readiness.Duty{{Duty: "TRAFFIC", Person: "zed"}} },
		func(q *readiness.Question) { q.Job.Methods["SWING"] = readiness.Yes },
		func(q *readiness.Question) { q.People[1].ID = "ann" },
		func(q *readiness.Question) { q.People[2].Capabilities[0].Method = "SWING" },
		func(q *readiness.Question) { q.People[2].Capabilities[1].State = "FRESH" },
		func(q *readiness.Question) { q.Rules.CrewRescuers = 1 },
		func(q *readiness.Question) { q.Rules.FirstAid.Field = 1 },
		func(q *readiness.Question) { q.Rules.FirstAid.Trimmers = 2 },
		func(q *readiness.Question) {
			q.Rules.States[readiness.Provisional] = readiness.StateRule{Counts: readiness.CountsFull}
		},
		func(q *readiness.Question) {
			q.Rules.States[readiness.OnExtension] = readiness.StateRule{Counts: readiness.CountsConditional}
		},
		func(q *readiness.Question) { delete(q.Rules.States, readiness.InGrace) },
		func(q *readiness.Question) { q.Rules.Methods[0].Rescuers = 1 },
		func(q *readiness.Question) { q.Rules.Methods[2].AimMissed = "" },
		func(q *readiness.Question) { q.Rules.Methods[3].Needs = []readiness.Need{"WINGS"} },
		func(q *readiness.Question) { q.Kit.Parts = number(0) },
	)
	_, err := readiness.Judge(q)
	require.ErrorIs(t, err, groundhand.CodeInvalid)
	assert.ElementsMatch(t, []string{"window.to", "job.buckets[0].people", "job.exclusive[0].person", "job.methods.SWING", "people[1].id",
		"people[2].capabilities[0].method", "people[2].capabilities[1].state", "rules.crew_rescuers", "rules.first_aid.field",
		"rules.first_aid.trimmers", "rules.states.PROVISIONAL.counts", "rules.states.ON_EXTENSION.condition", "rules.states.IN_GRACE.counts",
		"rules.methods[0].rescuers", "rules.methods[2].aim_missed", "rules.methods[3].needs[0]", "kit.parts"}, refused(err))
}

func TestDecodeTellsFaultsOfShapeAndOfContentTogether(t *testing.T) {
	file := string(encoded(t, morning()))
	for _, c := range []struct{ name, old, new, field string }{
		{"another format", `"cover-question/1"`, `"cover-question/9"`, "format"},
		{"a zone nobody knows", `"Europe/Dublin"`, `"Mars/Olympus"`, "window.zone"},
		{"the machine's own zone", `"Europe/Dublin"`, `"Local"`, "window.zone"},
		{"a time without offset", `07:00:00+01:00`, `07:00:00`, "window.from"},
		{"neither yes nor no", `"near_50v":"yes"`, `"near_50v":"perhaps"`, "job.near_50v"},
		{"voltage not said", `"near_50v":"yes"`, `"near_50v":null`, "job.near_50v"},
		{"call plan not said", `"call_plan":"yes"`, `"call_plan_":"yes"`, "job.call_plan"},
		{"half a centimetre", `"rope_cm":6000`, `"rope_cm":6000.5`, "kit.rope_cm"},
		{"not sure who can go aloft", `"can_go_aloft":true`, `"can_go_aloft":null`, "people[0].can_go_aloft"},
		{"a day that is none", `"weekly":"2027-12-31"`, `"weekly":"2027-02-30"`, "kit.due_through.weekly"},
		{"a sick note", `"unavailable":[]`, `"unavailable":[{"from":"2026-06-10","to":null,"why":"SICK"}]`, "people[0].unavailable[0].why"},
		{"no last good day", `"through":"2027-12-31"`, `"until":"2027-12-31"`, "people[0].capabilities[0].through"},
		{"a list that is none", `"families":["F1","F2"]`, `"families":"F1"`, "rules.families"},
		{"an object that is none", `"buckets":[{`, `"buckets":[7,{`, "job.buckets[0]"},
		{"a role that is none", `"role":"LEAD"`, `"role":"BOSS"`, "people[0].capabilities[0].role"},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Contains(t, file, c.old)
			broken := strings.Replace(file, c.old, c.new, 1)
			broken = strings.Replace(broken, `"crew_rescuers":2`, `"crew_rescuers":1`, 1)
			q, err := readiness.Decode([]byte(broken))
			assert.Contains(t, refused(err), c.field)
			assert.Contains(t, refused(err), "rules.crew_rescuers", "the fault of content is told too")
			assert.Equal(t, "morning", q.Name)
		})
	}
}

func TestWhatIsMissingIsUnknownAndNeverGood(t *testing.T) {
	file := string(encoded(t, morning()))
	for _, c := range []struct{ name, old, new, unknown string }{
		{"lower controls", `"lower_controls_checked":"yes",`, ``, "device.lower_controls_checked"},
		{"family", `"device":{"id":"D1","family":"F1"`, `"device":{"id":"D1","family":null`, "device.family"},
		{"rated load", `"rated_load_kg":200`, `"rated_load_kg":null`, "kit.rated_load_kg"},
		{"last day of use", `"use_through":"none"`, `"use_through":null`, "kit.use_through"},
		{"inspections", `"due_through":{`, `"due":{`, "kit.yearly"},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Contains(t, file, c.old)
			q, err := readiness.Decode([]byte(strings.Replace(file, c.old, c.new, 1)))
			require.NoError(t, err)
			a := judge(t, q)
			assert.Equal(t, readiness.CannotTell, a.Verdict)
			assert.Contains(t, finding(t, a, readiness.UnknownDecides).Things, c.unknown)
		})
	}
}

func TestARefusalNamesItsFields(t *testing.T) {
	_, err := readiness.Judge(morning(func(q *readiness.Question) { q.Rules.CrewRescuers = 0 }))
	assert.JSONEq(t, `{"format":"cover-answer/1","question":"morning","refused_fields":["rules.crew_rescuers"]}`,
		string(encoded(t, readiness.Refusal{Question: "morning", Err: err})))
}

func TestMoreThanWillBeJudgedIsRefused(t *testing.T) {
	crowd := func(n int) change {
		return func(q *readiness.Question) {
			q.People = nil
			for i := range n {
				q.People = append(q.People, person(strings.Repeat("p", i+1)))
			}
		}
	}
	for _, c := range []struct {
		name    string
		changes []change
	}{
		{"too many people", []change{crowd(65)}},
		{"too many ways to go up", []change{crowd(60), aloft(12)}},
		{"too many changes inside the window", []change{crowd(40), aloft(3), each(who("p"), func(p *readiness.Person) {
			from := at("2026-06-10T07:00:00+01:00")
			for i := range groundhand.Instant(5000) {
				p.NotForRescue = append(p.NotForRescue, readiness.Interval{From: readiness.Edge{At: from + i*1000}, To: from + i*1000 + 500})
			}
		})}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := readiness.Judge(morning(c.changes...))
			assert.ErrorIs(t, err, groundhand.CodeTooLarge)
		})
	}
	_, err := readiness.Decode(bytes.Repeat([]byte(" "), 9<<20))
	assert.ErrorIs(t, err, groundhand.CodeTooLarge)
}

func FuzzDecode(f *testing.F) {
	f.Add(encoded(f, morning()))
	f.Add([]byte(`{"format":"cover-question/1","people":[{"capabilities":[{}]}],"rules":{"methods":[null]}}`))
	f.Add([]byte(`[]`))
	f.Fuzz(func(t *testing.T, file []byte) {
		q, err := readiness.Decode(file)
		if err != nil {
			require.NotEmpty(t, groundhand.Refusals(err), "every refusal is one a person can act on")
			return
		}
		if a, err := readiness.Judge(q); err == nil {
			_, err := json.Marshal(a)
			require.NoError(t, err)
		}
	})
}
