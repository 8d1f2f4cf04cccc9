package readiness_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// short draws a question that is often below its target, with a pool of a few candidates of every kind.
func short(t *rapid.T) readiness.Question {
	d := dice{t, rapid.Bool().Draw(t, "unknowns")}
	q := crews(t, 0, d.unknowns)
	q.Yard = "Y1"
	q.Rules.CrewRescuers = rapid.SampledFrom([]int{2, 2, 3, 4}).Draw(t, "card")
	q.Rules.FirstAid.Ground = rapid.IntRange(1, 2).Draw(t, "first aiders on the ground")
	if rapid.IntRange(0, 3).Draw(t, "otherwise in order") > 0 {
		usual := morning()
		q.Job.Methods["PAIR_KIT"], q.Job.CallPlan, q.Device, q.Job.Exclusive = readiness.Yes, readiness.Yes, usual.Device, []readiness.Duty{}
		if rapid.Bool().Draw(t, "the kit too") {
			q.Kit = usual.Kit
		}
	}
	for i := range q.People {
		if rapid.Bool().Draw(t, "lapsed") {
			q.People[i].Capabilities = nil
		}
	}
	if rapid.Bool().Draw(t, "a plan") {
		q.Job.PlannedAloft = []string{"p0"}
	}
	q.Pool = &readiness.Pool{
		Target:     rapid.SampledFrom([]readiness.Verdict{readiness.Ready, readiness.Ready, readiness.Conditional, readiness.Conditional, readiness.CannotTell}).Draw(t, "target"),
		MaxChanges: rapid.IntRange(1, 4).Draw(t, "most changes"),
		MaxFixes:   rapid.SampledFrom([]int{0, 1, 3, 100}).Draw(t, "most fixes"),
		Neighbours: []string{"Y2"},
	}
	d.poolPeople(q.Pool, q)
	d.poolEquipment(q.Pool, q)
	d.poolRest(q.Pool)
	return q
}

func (d dice) place() readiness.Place {
	p := readiness.Place{Yard: rapid.SampledFrom([]string{"Y1", "Y1", "Y1", "Y2", "Y2", "Y9"}).Draw(d.T, "yard"), TravelMinutes: 10 * rapid.IntRange(0, 2).Draw(d.T, "travel")}
	if d.rarely("not there yet") {
		p.ReadyAt = at("2026-06-10T17:30:00+01:00") + groundhand.Instant(rapid.IntRange(0, 4).Draw(d.T, "half hours"))*1_800_000
	}
	return p
}

func (d dice) poolPeople(p *readiness.Pool, asked readiness.Question) {
	for c := range rapid.IntRange(0, 2).Draw(d.T, "lending crews") {
		crew := readiness.PoolCrew{ID: fmt.Sprintf("V%d", c)}
		q := morning(aloft(rapid.IntRange(0, 1).Draw(d.T, "aloft there")))
		q.Window, q.People = asked.Window, nil
		members := rapid.IntRange(2, 5).Draw(d.T, "members")
		for i := range members {
			lent := d.person(fmt.Sprintf("v%d%d", c, i))
			if !d.rarely("weak lender") {
				lent = good(lent.ID)
			}
			q.People = append(q.People, lent)
			if i < 2 {
				p.People = append(p.People, readiness.PoolPerson{Person: d.spare(lent.ID, crew.ID), Place: d.place()})
			}
		}
		if d.rarely("a duty there") {
			q.Job.Exclusive = []readiness.Duty{{Duty: "TRAFFIC", Person: q.People[0].ID}}
		}
		if crew.Question = &q; d.rarely("no job there") {
			crew.Question = nil
		}
		p.Crews = append(p.Crews, crew)
	}
	for i := range rapid.IntRange(0, 3).Draw(d.T, "spare people") {
		p.People = append(p.People, readiness.PoolPerson{Person: d.spare(fmt.Sprintf("z%d", i), ""), Place: d.place()})
	}
}

func (d dice) spare(id, crew string) readiness.Person {
	p := d.person(id)
	if !d.rarely("good all night") {
		p = good(id)
		p.CanGoAloft, p.OperatesLower = !d.rarely("stays low"), d.mostly("operates lower")
	}
	p.Crew = crew
	return p
}

func (d dice) poolEquipment(p *readiness.Pool, q readiness.Question) {
	for i := range rapid.IntRange(0, 1).Draw(d.T, "kits") {
		k := kit()
		k.ID, k.SuitsAll, k.DueThrough.Weekly = fmt.Sprintf("k%d", i), d.mostly("suits"), d.through("weekly")
		k.OnDevice = d.yesNo("said to be on a device")
		p.Kits = append(p.Kits, readiness.PoolKit{ID: k.ID, Place: d.place(), Kit: *k})
	}
	for i := range rapid.IntRange(0, 1).Draw(d.T, "devices") {
		unit := *q.Device
		unit.ID, unit.LowerControlsChecked, unit.Family = fmt.Sprintf("d%d", i), d.mostly("checked"), rapid.SampledFrom([]string{"F1", "F1", "F2", ""}).Draw(d.T, "family")
		own := kit()
		own.OnDevice = d.mostly("own kit on it")
		if d.rarely("without a kit") {
			own = nil
		}
		p.Devices = append(p.Devices, readiness.PoolDevice{ID: unit.ID, Place: d.place(), Device: unit, Kit: own})
	}
}

func (d dice) poolRest(p *readiness.Pool) {
	start := at("2026-06-10T15:00:00+01:00")
	for i := range rapid.IntRange(0, 2).Draw(d.T, "drills") {
		begin := start + groundhand.Instant(rapid.IntRange(0, 7).Draw(d.T, "begins"))*1_800_000
		p.Drills = append(p.Drills, readiness.PoolDrill{ID: fmt.Sprintf("drill%d", i), Assessor: rapid.SampledFrom([]string{"tom", "tom", "tim", "p1"}).Draw(d.T, "assessor"),
			Authorised: d.mostly("authorised"), AssessorFreeFrom: start, AssessorFreeTo: start + 14_400_000,
			Method: rapid.SampledFrom([]string{"PAIR_KIT", "PAIR_KIT", "MANUAL"}).Draw(d.T, "method"), Family: "F1", Role: rapid.SampledFrom([]readiness.Role{readiness.Lead, readiness.Second}).Draw(d.T, "role"),
			Start: begin, Minutes: 45, Seats: rapid.IntRange(0, 3).Draw(d.T, "seats"), MinPeople: rapid.IntRange(0, 2).Draw(d.T, "least"), People: []string{"p0", "p1", "p2", "nobody"}})
	}
	for i := range rapid.IntRange(0, 1).Draw(d.T, "windows") {
		from := at("2026-06-10T18:00:00+01:00") + groundhand.Instant(rapid.IntRange(-4, 6).Draw(d.T, "later"))*1_800_000
		p.LaterWindows = append(p.LaterWindows, readiness.LaterWindow{ID: fmt.Sprintf("w%d", i), From: from, To: from + 28_800_000})
	}
	for i := range rapid.IntRange(0, 1).Draw(d.T, "ways") {
		p.OtherWays = append(p.OtherWays, readiness.OtherWay{ID: fmt.Sprintf("o%d", i), Job: d.way(p)})
	}
}

func (d dice) way(p *readiness.Pool) readiness.JobChange {
	var c readiness.JobChange
	switch rapid.IntRange(0, 4).Draw(d.T, "way") {
	case 0:
		c.Buckets = []readiness.Bucket{{ID: "B1", People: rapid.IntRange(0, 2).Draw(d.T, "up")}}
	case 1:
		no := readiness.No
		c.Near50V = &no
	case 2:
		c.Methods = map[string]readiness.YesNo{"PAIR_KIT": readiness.Yes, "LONE_KIT": readiness.Yes, "MANUAL": readiness.No, "POLE_TOP": readiness.No}
	case 3:
		c.Exclusive = []readiness.Duty{}
	case 4:
		c.Exclusive = []readiness.Duty{{Duty: "TRAFFIC", Person: "p1"}}
		if len(p.People) > 0 {
			c.Exclusive = append(c.Exclusive, readiness.Duty{Duty: "WATCH", Person: p.People[0].ID})
		}
	}
	return c
}

func TestTheFixesAreThoseOfTheDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := short(t)
		a := ask(t, q)
		if a.Verdict >= q.Pool.Target {
			require.Empty(t, a.Refused)
			return
		}
		fixes, refused := bruteForce(t, q)
		require.Equal(t, fixes, a.Fixes)
		require.Equal(t, refused, append([]readiness.Refused(nil), a.Refused...))
	})
}
