package rotation

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// W1 and W2 of the four drill on 5 March in the first plan. In the second the yard is closed until the 29th: they are renewed on the 30th,
// after two lapsed working days; W4 is not renewed at all.
func TestCompareByHand(t *testing.T) {
	p, plan := fourAlone()
	q := p
	q.Slots = p.Slots[4:]
	q.Slots[0].Yard = "Y2"
	later := Plan{Sessions: []Session{{"S5", []Attendee{{"W1", []string{"lone"}}, {"W2", []string{"lone"}}, {"W3", []string{"lone"}}}}}}
	d := Compare(p, plan, q, later)
	assert.Equal(t, Objective{SessionCost: 2, MinutesAway: 4*240 + 2*30, BusiestInstructor: 2}, d.Before)
	// on 29 and 30 March none of the crew is current, so it is short; W4 has ten lapsed days, the others two each; then only three are current
	assert.Equal(t, Objective{CrewDaysShort: 2, LapsedDays: 16, SessionCost: 1, MinutesAway: 3*(240+80) + 30, DaysOffAim: 75, BusiestInstructor: 1}, d.After)
	assert.Equal(t, Objective{CrewDaysShort: 2, LapsedDays: 16, SessionCost: -1, MinutesAway: -30, DaysOffAim: 75, BusiestInstructor: -1}, d.By)
	assert.Equal(t, []CrewAway{{"C1", Away{1020, 990}}}, d.Crews)
	assert.Equal(t, Away{1020, 990}, d.Away)
	assert.Equal(t, []Moved{{"W1", "lone", "", "S2", "S5", march(5), march(30)}, {"W2", "lone", "", "S2", "S5", march(5), march(30)},
		{"W3", "lone", "", "S3", "S5", march(5), march(30)}, {"W4", "lone", "", "S3", "", march(5), 0}}, d.Moved)
	assert.Equal(t, []LapseChange{{"W1", "lone", "", 0, 2, march(31)}, {"W2", "lone", "", 0, 2, march(31)}, {"W3", "lone", "", 0, 2, march(31)},
		{"W4", "lone", "", 0, 10, 0}}, d.Lapses)
	assert.Zero(t, d.SafeAgain, "W4 stays lapsed")

	later.Sessions[0].Attend = append(later.Sessions[0].Attend, Attendee{"W4", []string{"lone"}})
	d = Compare(p, plan, q, later)
	assert.Equal(t, march(31), d.SafeAgain)
	assert.True(t, d.Lapses[3].Newly())
	back := Compare(q, later, p, plan)
	assert.True(t, back.Lapses[0].NoLonger())
	assert.Zero(t, back.SafeAgain, "nobody lapses any more")
}

func TestDrillDaysByHand(t *testing.T) {
	p, plan := fourAlone()
	assert.Equal(t, []DrillDay{{Day: march(5), Part: "am", Crew: "C1", AtWork: 4, Away: 2}, {Day: march(5), Part: "pm", Crew: "C1", AtWork: 4, Away: 2}}, DrillDays(p, plan))
	plan.Sessions[0].Attend = append(plan.Sessions[0].Attend, Attendee{"W3", []string{"lone"}})
	plan.Sessions[1].Attend = plan.Sessions[1].Attend[1:]
	assert.True(t, DrillDays(p, plan)[0].Below, "one left of three away")
	plan.Sessions[0] = Session{"S4", []Attendee{{"W1", []string{"lone"}}, {"W2", []string{"lone"}}, {"W3", []string{"lone"}}, {"W4", nil}}}
	plan.Sessions = plan.Sessions[:1]
	assert.Equal(t, []DrillDay{{Day: march(12), Part: "am", Crew: "C1", AtWork: 4, Away: 4, StandsDown: true}}, DrillDays(p, plan))
	p.Workers[0].Tickets, p.Workers[1].Tickets, p.Workers[2].Tickets = nil, nil, nil
	plan.Sessions[0].Attend = []Attendee{{"W4", []string{"lone"}}}
	assert.Equal(t, []DrillDay{{Day: march(12), Part: "am", Crew: "C1", AtWork: 4, Away: 1, Short: true}}, DrillDays(p, plan), "short anyway, so not because of the drill")
}

// Of a plan against itself nothing changes; crew minutes add up to the fourth figure; below cover because of a drill is what F14 forbids.
func TestLawsOfComparison(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 9))
	for range 4 {
		p := crammed(rng)
		one, two := suggest(t, p, 100), Plan{}
		same := Compare(p, one, p, one)
		require.Equal(t, Objective{}, same.By)
		require.Empty(t, same.Moved)
		require.Empty(t, same.Lapses)
		require.Equal(t, one.Objective.MinutesAway, same.Away.After)
		require.NotEmpty(t, one.Sessions)
		two.Sessions = one.Sessions[1:]
		d := Compare(p, one, p, two)
		sum := 0
		for _, l := range d.Lapses {
			sum += l.After - l.Before
		}
		require.Equal(t, d.By.LapsedDays, sum)
		require.Equal(t, Recount(p, two), d.After)
		require.Len(t, d.Moved, renewedIn(one.Sessions[0]))
		for _, day := range DrillDays(p, one) {
			require.False(t, day.Below)
		}
	}
}

func renewedIn(s Session) (n int) {
	for _, a := range s.Attend {
		n += len(a.Renews)
	}
	return n
}
