package readiness_test

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

func TestAQuestionWithAPoolComesBackFromItsFile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		file, err := json.Marshal(short(t))
		require.NoError(t, err)
		q, err := readiness.Decode(file)
		require.NoError(t, err)
		again, err := json.Marshal(q)
		require.NoError(t, err)
		back, err := readiness.Decode(again)
		require.NoError(t, err)
		require.Equal(t, q, back)
	})
}

func TestAPoolAsksForTheUsualWhereItSaysNothing(t *testing.T) {
	q := shortCrew()
	q.Pool = nil
	file := bytes.Replace(encoded(t, q), []byte(`"name":`), []byte(`"pool":{},"name":`), 1)
	q, err := readiness.Decode(file)
	require.NoError(t, err)
	assert.Equal(t, readiness.Ready, q.Pool.Target)
	assert.Equal(t, 2, q.Pool.MaxChanges)
	assert.Equal(t, 10, q.Pool.MaxFixes)
}

// fullPool has one candidate of every kind and a lending crew.
func fullPool(p *readiness.Pool) {
	k := kit()
	no := readiness.No
	p.People = []readiness.PoolPerson{spare("x", of("V1")), spare("y")}
	p.Crews = []readiness.PoolCrew{lending("V1", "x", "v", "w")}
	p.Kits = []readiness.PoolKit{{ID: "K2", Place: readiness.Place{Yard: "Y1"}, Kit: *k}}
	p.Devices = []readiness.PoolDevice{{ID: "D2", Place: readiness.Place{Yard: "Y2"}, Device: *morning().Device, Kit: k}}
	p.Drills = []readiness.PoolDrill{{ID: "drill", Assessor: "tom", Authorised: readiness.Yes, AssessorFreeFrom: at("2026-06-10T05:00:00+01:00"), AssessorFreeTo: at("2026-06-10T07:00:00+01:00"),
		Method: "PAIR_KIT", Family: "F1", Role: readiness.Lead, Start: at("2026-06-10T05:30:00+01:00"), Minutes: 45, Seats: 2, MinPeople: 1, People: who("cal")}}
	p.LaterWindows = []readiness.LaterWindow{{ID: "late", From: at("2026-06-10T09:00:00+01:00"), To: at("2026-06-10T12:00:00+01:00")}}
	p.OtherWays = []readiness.OtherWay{{ID: "dead", Job: readiness.JobChange{Near50V: &no, Buckets: []readiness.Bucket{{ID: "B1", People: 1}}}}}
}

func TestEveryFaultOfAPoolIsToldAtOnceWithItsField(t *testing.T) {
	_, err := readiness.Judge(shortCrew(withPool(fullPool)))
	require.NoError(t, err)
	p := func(edit func(*readiness.Pool)) change { return func(q *readiness.Question) { edit(q.Pool) } }
	q := shortCrew(withPool(fullPool),
		p(func(p *readiness.Pool) { p.MaxChanges, p.MaxFixes = -1, 100_000 }),
		p(func(p *readiness.Pool) {
			p.People = append(p.People, spare("ann"), spare("x"), spare("z", of("V9")), spare("s", of("V1")), spare("b", in("Y1", -1)))
		}),
		p(func(p *readiness.Pool) {
			p.People[1].Capabilities = []readiness.Capability{capability("SWING", readiness.Lead)}
		}),
		p(func(p *readiness.Pool) { p.Crews[0].Question.Rules.CrewRescuers = 1 }),
		p(func(p *readiness.Pool) {
			p.Crews = append(p.Crews, readiness.PoolCrew{ID: "V1"}, lending("V3", "n"))
			p.Crews[2].Question.Pool = &readiness.Pool{}
		}),
		p(func(p *readiness.Pool) { p.Kits = append(p.Kits, p.Kits[0]); p.Kits[0].Kit.Parts = number(0) }),
		p(func(p *readiness.Pool) {
			p.Devices[0].Device.AnchorHeightCM, p.Devices[0].Kit.RopeCM = number(-1), number(-1)
		}),
		p(func(p *readiness.Pool) {
			d := &p.Drills[0]
			d.Method, d.Role, d.Start, d.Minutes, d.Seats, d.MinPeople, d.People = "SWING", "BOSS", 0, -1, -1, -1, who("cal", "cal")
		}),
		p(func(p *readiness.Pool) { p.LaterWindows[0].To = p.LaterWindows[0].From }),
		p(func(p *readiness.Pool) {
			p.OtherWays[0].Job = readiness.JobChange{Buckets: []readiness.Bucket{{People: -1}}, Methods: map[string]readiness.YesNo{"PAIR_KIT": readiness.Yes},
				Exclusive: []readiness.Duty{{Duty: "TRAFFIC", Person: "nobody"}, {Duty: "WATCH", Person: "y"}}}
		}))
	_, err = readiness.Judge(q)
	assert.ElementsMatch(t, []string{"pool.max_changes", "pool.max_fixes", "pool.people[2].id", "pool.people[3].id", "pool.people[4].crew", "pool.people[5].crew", "pool.people[6].travel_minutes",
		"pool.people[1].capabilities[0].method", "pool.crews[0].question.rules.crew_rescuers", "pool.crews[1].id", "pool.crews[2].question.pool",
		"pool.kits[1].id", "pool.kits[0].kit.parts", "pool.devices[0].device.anchor_height_cm", "pool.devices[0].kit.rope_cm",
		"pool.drills[0].method", "pool.drills[0].role", "pool.drills[0].start", "pool.drills[0].minutes", "pool.drills[0].seats", "pool.drills[0].min_people", "pool.drills[0].people[1]",
		"pool.later_windows[0].to", "pool.other_ways[0].job.buckets[0].people", "pool.other_ways[0].job.methods.LONE_KIT", "pool.other_ways[0].job.methods.MANUAL",
		"pool.other_ways[0].job.methods.POLE_TOP", "pool.other_ways[0].job.exclusive[0].person"}, refused(err))
	assert.ErrorIs(t, err, groundhand.CodeInvalid)
}

func TestDecodeTellsFaultsOfThePoolsShape(t *testing.T) {
	file := string(encoded(t, shortCrew(withPool(fullPool))))
	for _, c := range []struct{ name, old, new, field string }{
		{"a target that is none", `"target":"READY"`, `"target":"GREAT"`, "pool.target"},
		{"half a change", `"max_changes":2`, `"max_changes":2.5`, "pool.max_changes"},
		{"nowhere", `"yard":"Y2","travel_minutes":0`, `"travel_minutes":0`, "pool.devices[0].yard"},
		{"no kit to put on", `"kit":{"id":"K1","on_device":"yes"`, `"kit_":{"id":"K1","on_device":"yes"`, ""},
		{"neither yes nor no", `"authorised":"yes"`, `"authorised":"perhaps"`, "pool.drills[0].authorised"},
		{"no beginning", `"start":"2026`, `"start_":"2026`, "pool.drills[0].start"},
		{"a question of another format", `"question":{"format":"cover-question/1"`, `"question":{"format":"other"`, "pool.crews[0].question.format"},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Contains(t, file, c.old)
			i := strings.Index(file, c.old)
			if c.field == "" { // the crew's own kit comes later in the file
				i, c.field = strings.LastIndex(file[:strings.Index(file, `"devices"`)], c.old), "pool.kits[0].kit"
			}
			_, err := readiness.Decode([]byte(file[:i] + c.new + file[i+len(c.old):]))
			assert.Contains(t, refused(err), c.field)
		})
	}
}
