package rollcall_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
)

// cliff is a crew of four of which three lapse after Friday 26 March 2027 and one after 7 May, 42 days later; slots on the Thursdays before.
func cliff() rotation.Problem {
	p := rotation.Problem{Name: "cliff", Start: day("2027-03-01"), End: day("2027-06-06"), VisitMinutes: 30, Yards: []rotation.Yard{{ID: "Y1"}},
		Qualifications: []rotation.Qualification{{ID: "PAIR_KIT", PeoplePerRun: 2, ValidMonths: 12, AimDaysBefore: 21}, {ID: "FIRST_AID", ValidMonths: 12}},
		Crews:          []rotation.Crew{{ID: "C1", Yard: "Y1", Device: "F1", Cover: []rotation.CoverRule{{AnyOf: []string{"PAIR_KIT"}, AtLeast: 2}}}},
		Instructors:    []rotation.Instructor{{ID: "I1"}}}
	for i, through := range []string{"2027-03-26", "2027-03-26", "2027-03-26", "2027-05-07"} {
		p.Workers = append(p.Workers, rotation.Worker{ID: fmt.Sprintf("W%d", i+1), Crew: "C1", Yard: "Y1", Tickets: []rotation.Ticket{
			{Qualification: "PAIR_KIT", Device: "F1", ValidThrough: day(through)}, {Qualification: "FIRST_AID", ValidThrough: day("2027-08-31")}}})
	}
	for i, on := range []string{"2027-03-04", "2027-03-18", "2027-04-01", "2027-04-15"} {
		p.Slots = append(p.Slots, rotation.Slot{ID: fmt.Sprintf("S%d", i+1), Date: day(on), Part: "am", Yard: "Y1", Device: "F1", Instructor: "I1",
			Qualifications: []string{"PAIR_KIT"}, Seats: 4, MaxRuns: 8, Minutes: 240, Cost: 1})
	}
	return p
}

func attend(slot string, renews ...string) rotation.Session {
	s := rotation.Session{Slot: slot}
	for _, w := range renews {
		s.Attend = append(s.Attend, rotation.Attendee{Worker: w, Renews: []string{"PAIR_KIT"}})
	}
	return s
}

func TestClustersBeforeAndAfterAPlan(t *testing.T) {
	p := cliff()
	require.NoError(t, p.Validate())
	four := []string{"W1", "W2", "W3", "W4"}
	aid := rollcall.Cluster{Crew: "C1", Qualification: "FIRST_AID",
		OneDay:   rollcall.Heap{Tickets: 4, From: day("2027-08-31"), To: day("2027-08-31"), Workers: four},
		SixWeeks: rollcall.Heap{Tickets: 4, From: day("2027-08-31"), To: day("2027-08-31"), Workers: four}}
	three := rollcall.Heap{Tickets: 3, From: day("2027-03-26"), To: day("2027-03-26"), Workers: four[:3]}
	none := rollcall.Clusters(p, rotation.Plan{})
	assert.Equal(t, []rollcall.Cluster{aid, {Crew: "C1", Qualification: "PAIR_KIT", OneDay: three, SixWeeks: three}}, none.Before,
		"26 March to 6 May are 42 days; 7 May is the 43rd")
	assert.Equal(t, none.Before, none.After, "nobody renews anything")

	// two on 4 March, good through 4 March 2028; W3 late on 1 April, so lapsed after 26 March and good through 1 April 2028; W4 as before
	plan := rotation.Plan{Sessions: []rotation.Session{attend("S1", "W1", "W2"), attend("S3", "W3", "W4")}}
	after := rollcall.Clusters(p, plan).After
	assert.Equal(t, rollcall.Cluster{Crew: "C1", Qualification: "PAIR_KIT",
		OneDay:   rollcall.Heap{Tickets: 2, From: day("2028-03-04"), To: day("2028-03-04"), Workers: []string{"W1", "W2"}},
		SixWeeks: rollcall.Heap{Tickets: 4, From: day("2028-03-04"), To: day("2028-04-01"), Workers: four}}, after[1])
	oneDay, sixWeeks := rollcall.Largest(after[1:])
	assert.Equal(t, []int{2, 4}, []int{oneDay, sixWeeks})
}

// Twice renewed, the first renewal in time: only the last one is left to lapse.
func TestClustersOverStages(t *testing.T) {
	if underRace {
		t.Skip("minutes under the race detector, with nothing side by side; run without it in .ci/run")
	}
	w := nightCrew(t)
	stages, err := w.roll.RotationStages(w.ctx, thirteenMonths(), suggest)
	require.NoError(t, err)
	got := rollcall.StageClusters(stages)
	for _, c := range got.After {
		if c.Crew != "N1" {
			continue
		}
		var last []groundhand.Date
		for _, who := range []string{"dan", "eve"} {
			for _, s := range stages {
				if on := renewedOn(s, who, "LONE_KIT"); on != 0 {
					last = append(last, on.AddMonths(6))
				}
			}
		}
		assert.Contains(t, last, c.OneDay.From)
	}
	before := got.Before[len(got.Before)-1]
	assert.Equal(t, "V1", before.Crew)
	assert.Equal(t, 1, before.OneDay.Tickets, "ann alone lapses; bob is suspended and cal was never current")
}

func TestWhetherARotationIsSound(t *testing.T) {
	p := cliff()
	// two on 4 March and two on 1 April: W3 was lapsed by then, so the crew had three current and two were left at work
	plan := rotation.Plan{Sessions: []rotation.Session{attend("S1", "W1", "W2"), attend("S3", "W3", "W4")}}
	plan.Objective = rotation.Recount(p, plan)
	got, err := rollcall.Sound(p, plan, 4)
	require.NoError(t, err)
	assert.Empty(t, got.Faults)
	assert.Empty(t, got.Below)
	assert.Empty(t, got.Together)
	assert.Empty(t, got.Unplaced)
	got, err = rollcall.Sound(p, plan, 3)
	require.NoError(t, err)
	require.Len(t, got.Together, 2, "first aid lapses for all four after one day, and the four renewals within six weeks of each other")

	three := rotation.Plan{Sessions: []rotation.Session{attend("S1", "W1", "W2", "W3")}}
	three.Objective = rotation.Recount(p, three)
	got, err = rollcall.Sound(p, three, 0)
	require.NoError(t, err)
	require.Len(t, got.Faults, 1)
	assert.Equal(t, "F14", got.Faults[0].Code)
	require.Len(t, got.Below, 1)
	assert.Equal(t, day("2027-03-04"), got.Below[0].Day)

	p.Qualifications[0].PeoplePerRun = 1 // nobody needs a partner
	two := rotation.Plan{Sessions: []rotation.Session{attend("S1", "W1", "W2")}}
	two.Objective = rotation.Recount(p, two)
	got, err = rollcall.Sound(p, two, 2)
	require.NoError(t, err)
	require.Len(t, got.Unplaced, 2)
	assert.Equal(t, "W3", got.Unplaced[0].Worker)
	rules := map[string]string{}
	for _, o := range got.Unplaced[0].Others {
		rules[o.Slot] = o.Rule
	}
	// two are renewed on 4 March already; 15 April is the 43rd day from there
	assert.Equal(t, map[string]string{"S1": "F14", "S2": rotation.StaggerRule, "S3": rotation.StaggerRule, "S4": ""}, rules)
}
