package rotation

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// fourAlone is the example of the page, for the lone method: a crew of four, all good through Friday 26 March, at least two of them current
// on the ground; S1 on 3 March with two seats, S2 on the morning of the 5th with three, S3 that afternoon with two, S4 on the 12th with
// four, and here S5 on 30 March. One aims at 5 March.
func fourAlone() (Problem, Plan) {
	p := blank()
	p.End = march(40)
	p.Qualifications[1].AimDaysBefore = 21
	crewOf(&p, 4, 2, "lone", ticket("lone", march(26)))
	p.Slots = []Slot{slot("S1", 3, "am", "lone"), slot("S2", 5, "am", "lone"), slot("S3", 5, "pm", "lone"), slot("S4", 12, "am", "lone"), slot("S5", 30, "am", "lone")}
	for i, seats := range []int{2, 3, 2, 4, 4} {
		p.Slots[i].Seats = seats
	}
	return p, Plan{Sessions: []Session{
		{"S2", []Attendee{{"W1", []string{"lone"}}, {"W2", []string{"lone"}}}},
		{"S3", []Attendee{{"W3", []string{"lone"}}, {"W4", []string{"lone"}}}}}}
}

func TestWhyThisSlotByHand(t *testing.T) {
	p, plan := fourAlone()
	require.NoError(t, p.Validate())
	why, err := Why(p, plan, "W1")
	require.NoError(t, err)
	assert.Equal(t, []Choice{{Worker: "W1", Qualification: "lone", Slot: "S2", On: march(5), Others: []Alternative{
		// one more session with one more visit, two days before the aim
		{Slot: "S1", On: march(3), Changes: []FigureChange{{"session_cost", 1}, {"minutes_away", 30}, {"days_off_aim", 2}, {"busiest_instructor", 1}}},
		{Slot: "S4", On: march(12), Changes: []FigureChange{{"session_cost", 1}, {"minutes_away", 30}, {"days_off_aim", 7}, {"busiest_instructor", 1}}},
		// Monday 29 and Tuesday 30 March would be worked without a current ticket
		{Slot: "S5", On: march(30), Changes: []FigureChange{{"lapsed_days", 2}, {"session_cost", 1}, {"minutes_away", 30}, {"days_off_aim", 25}, {"busiest_instructor", 1}}},
		{Slot: "S3", On: march(5), Rule: "F9"},
	}}}, why)

	why, err = Why(p, plan, "W3")
	require.NoError(t, err)
	assert.Equal(t, Alternative{Slot: "S2", On: march(5), Rule: "F14"}, why[0].Others[3], "three of four away leave one current behind")
}

func TestWhyNamesTheFirstRuleThatFails(t *testing.T) {
	p, plan := fourAlone()
	for i := range p.Workers {
		p.Workers[i].Tickets = []Ticket{ticket("two", march(26))}
	}
	p.Crews[0].Cover[0].AnyOf = []string{"two"}
	for i := range p.Slots {
		p.Slots[i].Qualifications = []string{"two"}
	}
	for _, s := range plan.Sessions {
		for i := range s.Attend {
			s.Attend[i].Renews = []string{"two"}
		}
	}
	why, err := Why(p, plan, "W1")
	require.NoError(t, err)
	rules := map[string]string{}
	for _, o := range why[0].Others {
		rules[o.Slot] = o.Rule
	}
	assert.Equal(t, map[string]string{"S1": "F11", "S3": "F9", "S4": "F11", "S5": "F11"}, rules, "nobody does a two-person rescue alone")
	p.Pinned = []Pin{{"S2", "W1", []string{"two"}}}
	why, err = Why(p, plan, "W2")
	require.NoError(t, err)
	assert.Equal(t, "F11", why[0].Others[0].Rule)
	p.Slots[1].MaxRuns, p.Slots[3].MaxRuns = 2, 1
	plan.Sessions = append(plan.Sessions[:1:1], Session{"S3", []Attendee{{"W3", []string{"two"}}, {"W4", []string{"two"}}}})
	why, err = Why(p, plan, "W3")
	require.NoError(t, err)
	rules = map[string]string{}
	for _, o := range why[0].Others {
		rules[o.Slot] = o.Rule
	}
	assert.Equal(t, "F10", rules["S2"], "three renewals need three runs")
}

func TestWhyOfATicketThatIsNotRenewed(t *testing.T) {
	p, _ := fourAlone()
	p.Slots = p.Slots[4:]
	p.Slots[0].Seats = 2
	plan := Plan{Sessions: []Session{{"S5", []Attendee{{"W1", []string{"lone"}}, {"W2", []string{"lone"}}}}}}
	why, err := Why(p, plan, "W3")
	require.NoError(t, err)
	// 29 March to 9 April are ten working days; S5 on 30 March would leave two, and is full
	assert.Equal(t, []Choice{{Worker: "W3", Qualification: "lone", DaysLapsed: 10, Reason: FirstChanceTooLate, Others: []Alternative{{Slot: "S5", On: march(30), Rule: "F9"}}}}, why)
	p.Slots = nil
	why, err = Why(p, Plan{}, "W3")
	require.NoError(t, err)
	assert.Equal(t, NoOffer, why[0].Reason)
	p.Workers[2].Tickets[0].ValidThrough = p.End
	why, err = Why(p, Plan{}, "W3")
	require.NoError(t, err)
	assert.Empty(t, why, "not due")
}

func TestWhatCouldNotBePlaced(t *testing.T) {
	p, _ := fourAlone()
	p.Slots = p.Slots[1:4]
	plan := Plan{Sessions: []Session{{"S2", []Attendee{{"W1", []string{"lone"}}, {"W2", []string{"lone"}}}}}}
	p.Crews[0].Cover[0].AtLeast = 1
	p.Workers[3].Tickets = []Ticket{{Qualification: "lone", Device: "F9", ValidThrough: march(26)}}
	out, err := Unplaced(p, plan, 2, 30)
	require.NoError(t, err)
	require.Len(t, out, 2)
	assert.Equal(t, Choice{Worker: "W3", Qualification: "lone", DaysLapsed: 10, Reason: CrowdedOut, Others: []Alternative{
		{Slot: "S2", On: march(5), Rule: "F14"}, {Slot: "S3", On: march(5), Rule: StaggerRule}, {Slot: "S4", On: march(12), Rule: StaggerRule}}}, out[0])
	assert.Equal(t, Choice{Worker: "W4", Qualification: "lone", Device: "F9", DaysLapsed: 10, Reason: NoOffer}, out[1])
	_, err = Unplaced(p, Plan{Sessions: []Session{{"S2", nil}}}, 0, 0)
	assert.ErrorIs(t, err, groundhand.CodeConflict)
}

func TestWhyRefusesWhatItCannotJudge(t *testing.T) {
	p, plan := fourAlone()
	_, err := Why(p, plan, "W9")
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
	plan.Sessions[0].Slot = "S9"
	_, err = Why(p, plan, "W1")
	assert.ErrorIs(t, err, groundhand.CodeConflict)
}

// crammed is three crews of four whose tickets lapse within six weeks, with a dozen slots of which many share an instructor, a truck or a day.
func crammed(rng *rand.Rand) Problem {
	p := blank()
	p.End = march(42)
	for c := range 3 {
		crew := fmt.Sprintf("C%d", c)
		p.Crews = append(p.Crews, Crew{ID: crew, Yard: "Y1", Cover: []CoverRule{{[]string{"two", "lone"}, 2}}})
		for i := range 4 {
			w := Worker{ID: fmt.Sprintf("W%d%d", c, i), Crew: crew, Yard: "Y1"}
			for _, q := range []string{"two", "lone", "aid"}[:1+rng.IntN(3)] {
				w.Tickets = append(w.Tickets, ticket(q, march(4+rng.IntN(34))))
			}
			p.Workers = append(p.Workers, w)
		}
	}
	p.Instructors[0].Worker = "W00"
	for i := range 12 {
		s := slot(fmt.Sprintf("S%d", i), 1+rng.IntN(30), []string{"am", "pm", "day"}[rng.IntN(3)], []string{"two", "lone", "aid"}[:1+rng.IntN(3)]...)
		s.Yard, s.Instructor, s.Truck = []string{"Y1", "Y1", "Y2"}[rng.IntN(3)], []string{"I1", "I2"}[rng.IntN(2)], []string{"", "T1"}[rng.IntN(2)]
		s.Seats, s.MaxRuns = 2+rng.IntN(4), 2+rng.IntN(6)
		p.Slots = append(p.Slots, s)
	}
	return p
}

// What Why says of a move is what the checker says of the whole plan with that move made.
func TestWhyAgreesWithTheChecker(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	seen := map[string]int{}
	for range 8 {
		p := crammed(rng)
		plan := suggest(t, p, 200)
		if n := len(plan.Sessions); n > 0 {
			held := plan.Sessions[rng.IntN(n)]
			p.Pinned = []Pin{{held.Slot, held.Attend[0].Worker, held.Attend[0].Renews}}
		}
		for _, w := range p.Workers {
			choices, err := Why(p, plan, w.ID)
			require.NoError(t, err)
			for _, c := range choices {
				judgeChoice(t, p, plan, w, c)
				for _, o := range c.Others {
					seen[o.Rule]++
				}
			}
		}
	}
	for _, rule := range []string{"", "F9", "F10", "F11", "F12", "F13", "F14"} {
		assert.Greater(t, seen[rule], 3, "%q in %v", rule, seen)
	}
}

func judgeChoice(t *testing.T, p Problem, plan Plan, w Worker, c Choice) {
	for _, kept := range plan.NotKeptCurrent {
		if kept.Worker == w.ID && kept.Qualification == c.Qualification && kept.Device == c.Device {
			require.Equal(t, kept.DaysLapsed, c.DaysLapsed)
			require.Equal(t, kept.Reason, c.Reason)
			for _, chance := range kept.Chances {
				require.True(t, slices.ContainsFunc(c.Others, func(a Alternative) bool { return a.Slot == chance.Slot }))
			}
		}
	}
	possible := true
	for _, a := range c.Others {
		require.False(t, a.Rule == "" && !possible, "what is possible comes first")
		possible = a.Rule == ""
		moved := movedPlan(plan, w.ID, c.Qualification, c.Slot, a.Slot)
		moved.Objective = Recount(p, moved)
		faults := Check(p, moved)
		if a.Rule != "" {
			require.True(t, slices.ContainsFunc(faults, func(f Fault) bool { return f.Code == a.Rule }), "%s %s: %v", a.Slot, a.Rule, faults)
			continue
		}
		require.Empty(t, faults)
		before, after := Recount(p, plan).Levels(), moved.Objective.Levels()
		by := a.byLevel()
		for i := range after {
			require.Equal(t, after[i]-before[i], by[i], LevelNames[i])
		}
	}
}

// The planner's own judgement of a move under a Stagger and this one agree.
func TestWhyAgreesWithTheStaggeredSearch(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 17))
	agreed := 0
	for range 2 {
		p := crammed(rng)
		rule := Stagger{Most: 1 + rng.IntN(2), Days: 7 + rng.IntN(14)}
		plan, err := Suggest(t.Context(), p, Options{Seed: 1, Rounds: 100, Stagger: &rule})
		require.NoError(t, err)
		choices, err := Unplaced(p, plan, rule.Most, rule.Days)
		require.NoError(t, err)
		for _, c := range choices {
			for _, kept := range plan.NotKeptCurrent {
				if kept.Worker != c.Worker || kept.Qualification != c.Qualification {
					continue
				}
				for _, chance := range kept.Chances {
					i := slices.IndexFunc(c.Others, func(a Alternative) bool { return a.Slot == chance.Slot })
					require.GreaterOrEqual(t, i, 0)
					if chance.Rule == StaggerRule {
						require.NotEmpty(t, c.Others[i].Rule, "%s %s", c.Worker, chance.Slot)
					}
					if c.Others[i].Rule == StaggerRule {
						require.Equal(t, StaggerRule, chance.Rule, "%s %s", c.Worker, chance.Slot)
						agreed++
					}
				}
			}
		}
	}
	assert.Positive(t, agreed)
}

func TestTheLimitOfRenewalsCloseTogether(t *testing.T) {
	p, plan := fourAlone()
	rules := func(most, days int) map[string]string {
		out := map[string]string{}
		why, err := WhyWithin(p, plan, "W1", most, days)
		require.NoError(t, err)
		for _, o := range why[0].Others {
			out[o.Slot] = o.Rule
		}
		return out
	}
	// three others are renewed on the 5th; the 12th is the eighth day from there
	assert.Equal(t, map[string]string{"S1": StaggerRule, "S4": "", "S5": "", "S3": "F9"}, rules(3, 7))
	assert.Equal(t, map[string]string{"S1": StaggerRule, "S4": StaggerRule, "S5": "", "S3": "F9"}, rules(3, 8))
	assert.Equal(t, map[string]string{"S1": "", "S4": "", "S5": "", "S3": "F9"}, rules(4, 42))
}
