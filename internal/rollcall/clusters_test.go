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
