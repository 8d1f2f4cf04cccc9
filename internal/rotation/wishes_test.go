package rotation

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// cliff is a crew of five without cover rules that lapses on one day, with a morning every week.
func cliff(weeks int) Problem {
	start := groundhand.MustDate("2027-03-01")
	p := Problem{Name: "cliff", Start: start, End: start.AddDays(7*weeks - 1), VisitMinutes: 30, Yards: []Yard{{ID: "Y1"}},
		Qualifications: []Qualification{{ID: "pole-top", PeoplePerRun: 1, ValidMonths: 12}},
		Crews:          []Crew{{ID: "C1", Yard: "Y1", Cover: []CoverRule{}}}, Instructors: []Instructor{{ID: "I1"}}}
	for _, id := range []string{"W1", "W2", "W3", "W4", "W5"} {
		p.Workers = append(p.Workers, Worker{ID: id, Crew: "C1", Yard: "Y1",
			Tickets: []Ticket{{Qualification: "pole-top", ValidThrough: p.End - 7}}})
	}
	for week := range weeks {
		day := start.AddDays(7 * week)
		p.Slots = append(p.Slots, Slot{ID: "S" + day.String(), Date: day, Part: "am", Yard: "Y1", Instructor: "I1",
			Qualifications: []string{"pole-top"}, Seats: 8, MaxRuns: 8, Minutes: 240, Cost: 1})
	}
	return p
}

// mostTogether is the most renewals whose last valid days lie in any so many days, counted from the plan alone.
func mostTogether(p Problem, plan Plan, days int) int {
	var ends []groundhand.Date
	for _, s := range plan.Sessions {
		slot := p.Slots[slices.IndexFunc(p.Slots, func(o Slot) bool { return o.ID == s.Slot })]
		for _, a := range s.Attend {
			for range a.Renews {
				ends = append(ends, slot.Date.AddMonths(12))
			}
		}
	}
	most := 0
	for _, from := range ends {
		n := 0
		for _, end := range ends {
			if end >= from && end < from.AddDays(days) {
				n++
			}
		}
		most = max(most, n)
	}
	return most
}

func TestACrewThatLapsesTogetherIsStaggered(t *testing.T) {
	p := cliff(26)
	together, err := Suggest(context.Background(), p, Options{Rounds: 2_000})
	require.NoError(t, err)
	require.Equal(t, 5, mostTogether(p, together, 42), "one session is cheapest")
	apart, err := Suggest(context.Background(), p, Options{Rounds: 2_000, Stagger: &Stagger{Most: 2, Days: 42}})
	require.NoError(t, err)
	require.Empty(t, Check(p, apart))
	require.Equal(t, 2, mostTogether(p, apart, 42))
	require.Zero(t, apart.Objective.LapsedDays, "26 weeks have room for three pairs")
	require.Equal(t, 3, apart.Objective.SessionCost)
	require.LessOrEqual(t, apart.Bound.SessionCost, 3)
}

func TestStaggerSaysWhoFindsNoRoom(t *testing.T) {
	p := cliff(5)
	plan, err := Suggest(context.Background(), p, Options{Rounds: 500, Stagger: &Stagger{Most: 2, Days: 42}})
	require.NoError(t, err)
	require.Len(t, plan.NotKeptCurrent, 3, "five weeks have room for one pair")
	for _, one := range plan.NotKeptCurrent {
		require.Equal(t, CrowdedOut, one.Reason)
		require.NotEmpty(t, one.Chances)
		for _, c := range one.Chances {
			require.Equal(t, StaggerRule, c.Rule)
		}
	}
}

func TestAFaultyStaggerIsRefused(t *testing.T) {
	_, err := Suggest(context.Background(), cliff(5), Options{Stagger: &Stagger{}})
	require.ErrorContains(t, err, "stagger.most")
	require.ErrorContains(t, err, "stagger.days")
}

func TestAnOlderPlanIsChangedAsLittleAsCanBe(t *testing.T) {
	p := cliff(20)
	old, err := Suggest(context.Background(), p, Options{Rounds: 2_000, Stagger: &Stagger{Most: 2, Days: 42}})
	require.NoError(t, err)
	gone := old.Sessions[1].Slot
	p.Slots = slices.DeleteFunc(p.Slots, func(s Slot) bool { return s.ID == gone })
	again, err := Suggest(context.Background(), p, Options{Rounds: 2_000, Keep: &old})
	require.NoError(t, err)
	require.Empty(t, Check(p, again))
	kept := 0
	for _, s := range old.Sessions {
		for _, a := range s.Attend {
			if s.Slot != gone && slices.ContainsFunc(again.Sessions, func(o Session) bool {
				return o.Slot == s.Slot && slices.ContainsFunc(o.Attend, func(b Attendee) bool { return b.Worker == a.Worker && slices.Equal(a.Renews, b.Renews) })
			}) {
				kept++
			}
		}
	}
	require.Equal(t, 5-len(old.Sessions[1].Attend), kept, "only those of the session that fell through go elsewhere")
	require.Zero(t, again.Objective.LapsedDays)
}
