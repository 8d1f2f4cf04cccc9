package rotation

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// The cases that a planner must get right at the edges: Monday 1 March 2027 to Friday 26 March 2027, every weekday worked.
var firstDay, lastDay = groundhand.MustDate("2027-03-01"), groundhand.MustDate("2027-03-26")

func blank() Problem {
	return Problem{Name: "edge", Start: firstDay, End: lastDay, VisitMinutes: 30,
		Yards:  []Yard{{ID: "Y1"}, {ID: "Y2"}},
		Travel: []Travel{{"Y1", "Y2", 40}},
		Qualifications: []Qualification{
			{ID: "two", PeoplePerRun: 2, ValidMonths: 12}, {ID: "lone", PeoplePerRun: 1, ValidMonths: 12}, {ID: "aid", ValidMonths: 24},
		},
		Instructors: []Instructor{{ID: "I1"}, {ID: "I2"}}}
}

// march is a day of March 2027; the 1st is a Monday.
func march(day int) groundhand.Date { return firstDay.AddDays(day - 1) }

func ticket(qual string, valid groundhand.Date) Ticket {
	return Ticket{Qualification: qual, ValidThrough: valid}
}

func slot(id string, day int, part string, quals ...string) Slot {
	return Slot{ID: id, Date: march(day), Part: part, Yard: "Y1", Instructor: "I1", Qualifications: quals, Seats: 6, MaxRuns: 8, Minutes: 240, Cost: 1}
}

// crewOf adds a crew of n workers, W1 to Wn, each with the same tickets, under a rule for at least so many of a qualification.
func crewOf(p *Problem, n, atLeast int, qual string, tickets ...Ticket) {
	p.Crews = append(p.Crews, Crew{ID: "C1", Yard: "Y1", Cover: []CoverRule{{[]string{qual}, atLeast}}})
	for i := range n {
		p.Workers = append(p.Workers, Worker{ID: fmt.Sprintf("W%d", i+1), Crew: "C1", Yard: "Y1", Tickets: tickets})
	}
}

// planned makes a plan and lets Check judge it.
func planned(t *testing.T, p Problem) Plan {
	t.Helper()
	plan := suggest(t, p, 400)
	require.Empty(t, Check(p, plan))
	return plan
}

func TestNobodyDueGivesAnEmptyPlanThatIsProved(t *testing.T) {
	p := blank()
	crewOf(&p, 3, 2, "two", ticket("two", lastDay.AddDays(30)))
	p.Slots = []Slot{slot("S1", 3, "am", "two")}
	plan := planned(t, p)
	assert.Empty(t, plan.Sessions)
	assert.Equal(t, Objective{}, plan.Objective)
	assert.Equal(t, 6, plan.ProvedLevels)
}

func TestNothingGivenGivesAnEmptyPlan(t *testing.T) {
	plan := planned(t, blank())
	assert.Empty(t, plan.Sessions)
	assert.Equal(t, 6, plan.ProvedLevels)
}

func TestWithoutSlotsEveryDueTicketHasNoOffer(t *testing.T) {
	p := blank()
	crewOf(&p, 2, 2, "two", ticket("two", march(12)))
	plan := planned(t, p)
	assert.Equal(t, Objective{CrewDaysShort: 10, LapsedDays: 20}, plan.Objective)
	require.Len(t, plan.NotKeptCurrent, 2)
	assert.Equal(t, NotKept{Worker: "W1", Qualification: "two", DaysLapsed: 10, UnavoidableDays: 10, Reason: NoOffer}, plan.NotKeptCurrent[0])
	assert.Equal(t, 6, plan.ProvedLevels)
}

func TestSlotsThatCannotBeHeldAreSetAside(t *testing.T) {
	p := blank()
	crewOf(&p, 1, 0, "lone", ticket("lone", march(12)))
	p.Workers[0].Leave = []Stretch{{march(10), march(10)}}
	p.Holidays = []groundhand.Date{march(9)}
	p.Instructors = append(p.Instructors, Instructor{ID: "I3", Worker: "W1"})
	p.Slots = []Slot{slot("S1", 0, "am", "lone"), slot("S2", 29, "am", "lone"), slot("S3", 6, "am", "lone"), slot("S4", 9, "am", "lone"), slot("S5", 10, "am", "lone")}
	p.Slots[4].Instructor = "I3"
	plan := planned(t, p)
	assert.Equal(t, []SetAside{{"S1", Past}, {"S2", AfterWindow}, {"S3", Weekend}, {"S4", Holiday}, {"S5", InstructorAway}}, plan.SlotsSetAside)
	assert.Empty(t, plan.Sessions)
}

func clashOf(t *testing.T, p Problem) *PinClash {
	t.Helper()
	_, err := Suggest(context.Background(), p, Options{Seed: 1, Rounds: 100})
	var clash *PinClash
	require.ErrorAs(t, err, &clash)
	assert.ErrorIs(t, err, groundhand.CodeConflict)
	return clash
}

func TestPinsThatClashAreNamed(t *testing.T) {
	p := blank()
	crewOf(&p, 1, 0, "lone", ticket("lone", march(12)))
	p.Workers = append(p.Workers, Worker{ID: "W2", Yard: "Y1", Tickets: []Ticket{ticket("lone", march(12))}})
	p.Slots = []Slot{slot("S1", 3, "am", "lone"), slot("S2", 3, "pm", "lone"), slot("S3", 4, "am", "lone")}
	p.Slots[1].Yard = "Y2"
	p.Slots[1].Instructor = "I2"
	p.Pinned = []Pin{{"S3", "W2", []string{"lone"}}, {"S1", "W1", []string{"lone"}}, {"S2", "W1", []string{"lone"}}}
	clash := clashOf(t, p)
	assert.Equal(t, []int{1, 2}, clash.Pins)
	assert.Equal(t, p.Pinned[1:], clash.Named)
	assert.True(t, clash.Proved)
	assert.Contains(t, clash.Error(), "pinned[1] (W1 in S1), pinned[2] (W1 in S2)")
}

func TestAPinOfAnImpossiblePairIsNamedAlone(t *testing.T) {
	for name, change := range map[string]func(p *Problem){
		"on leave":              func(p *Problem) { p.Workers[1].Leave = []Stretch{{march(3), march(3)}} },
		"on standby":            func(p *Problem) { p.Workers[1].Standby = []Stretch{{march(1), march(5)}} },
		"too early":             func(p *Problem) { p.Workers[1].Tickets[0].Earliest = march(4) },
		"not due":               func(p *Problem) { p.Workers[1].Tickets[0].ValidThrough = lastDay },
		"leads it himself":      func(p *Problem) { p.Instructors[0].Worker = "W2" },
		"out of reach":          func(p *Problem) { p.Travel = nil; p.Slots[0].Yard = "Y2" },
		"slot set aside":        func(p *Problem) { p.Holidays = []groundhand.Date{march(3)} },
		"another qualification": func(p *Problem) { p.Pinned[1].Renews = []string{"aid"} },
		"no seat":               func(p *Problem) { p.Slots[0].Seats = 0 },
	} {
		p := blank()
		crewOf(&p, 1, 0, "lone", ticket("lone", march(12)))
		p.Workers = append(p.Workers, Worker{ID: "W2", Yard: "Y1", Tickets: []Ticket{ticket("lone", march(12))}})
		p.Slots = []Slot{slot("S1", 3, "am", "lone"), slot("S2", 4, "am", "lone")}
		p.Pinned = []Pin{{"S2", "W1", []string{"lone"}}, {"S1", "W2", []string{"lone"}}}
		change(&p)
		clash := clashOf(t, p)
		assert.Equal(t, []int{1}, clash.Pins, name)
		assert.True(t, clash.Proved, name)
	}
}

func TestAPinThatCostsLapsesElsewhereIsKept(t *testing.T) {
	p := blank()
	p.Workers = []Worker{
		{ID: "W1", Yard: "Y1", Tickets: []Ticket{ticket("lone", march(25))}},
		{ID: "W2", Yard: "Y1", Tickets: []Ticket{ticket("lone", march(5))}},
	}
	p.Slots = []Slot{slot("S1", 4, "am", "lone"), slot("S2", 18, "am", "lone")}
	p.Slots[0].Seats = 1
	assert.Zero(t, planned(t, p).Objective.LapsedDays)
	p.Pinned = []Pin{{"S1", "W1", []string{"lone"}}}
	plan := planned(t, p)
	assert.Equal(t, 9, plan.Objective.LapsedDays, "Monday 8 to Thursday 18 March")
	require.Len(t, plan.NotKeptCurrent, 1)
	assert.Equal(t, CrowdedOut, plan.NotKeptCurrent[0].Reason)
	assert.Equal(t, []Chance{{"S1", "F9"}}, plan.NotKeptCurrent[0].Chances)
}

func TestACrewTooSmallToGoOutIsNotBound(t *testing.T) {
	p := blank()
	crewOf(&p, 1, 2, "lone", ticket("lone", march(12)))
	p.Slots = []Slot{slot("S1", 3, "am", "lone")}
	plan := planned(t, p)
	assert.Zero(t, plan.Objective.CrewDaysShort)
	assert.Zero(t, plan.Objective.LapsedDays)
	assert.Len(t, plan.Sessions, 1)
}

func TestACrewOfExactlyEnoughGoesTogetherOrNotAtAll(t *testing.T) {
	p := blank()
	crewOf(&p, 2, 2, "lone", ticket("lone", march(12)))
	p.Slots = []Slot{slot("S1", 3, "am", "lone")}
	plan := planned(t, p)
	require.Len(t, plan.Sessions, 1)
	assert.Len(t, plan.Sessions[0].Attend, 2)
	p.Slots[0].Seats = 1
	plan = planned(t, p)
	assert.Empty(t, plan.Sessions)
	assert.Equal(t, 20, plan.Objective.LapsedDays)
	assert.Equal(t, []Chance{{"S1", "F14"}}, plan.NotKeptCurrent[0].Chances)
}

func TestWithoutCoverRulesPeopleGoOneByOne(t *testing.T) {
	p := blank()
	p.Crews = []Crew{{ID: "C1", Yard: "Y1"}}
	p.Workers = []Worker{
		{ID: "W1", Crew: "C1", Yard: "Y1", Tickets: []Ticket{ticket("lone", march(12))}},
		{ID: "W2", Yard: "Y1", Tickets: []Ticket{ticket("lone", march(12))}},
	}
	p.Slots = []Slot{slot("S1", 3, "am", "lone"), slot("S2", 4, "am", "lone")}
	p.Slots[0].Seats, p.Slots[1].Seats = 1, 1
	plan := planned(t, p)
	assert.Len(t, plan.Sessions, 2)
	assert.Zero(t, plan.Objective.LapsedDays)
}

func TestLeadingTakesTheOnlyRescuerAway(t *testing.T) {
	p := blank()
	crewOf(&p, 2, 1, "lone")
	p.Workers[0].Tickets = []Ticket{ticket("lone", lastDay)}
	p.Workers[1].Tickets = []Ticket{ticket("aid", lastDay)}
	p.Workers = append(p.Workers, Worker{ID: "W3", Yard: "Y1", Tickets: []Ticket{ticket("lone", march(12))}})
	p.Instructors[0].Worker = "W1"
	p.Slots = []Slot{slot("S1", 3, "am", "lone")}
	plan := planned(t, p)
	assert.Empty(t, plan.Sessions)
	assert.Equal(t, []Chance{{"S1", "F14"}}, plan.NotKeptCurrent[0].Chances)
}

func TestAnInstructorRenewsInSomebodyElsesSession(t *testing.T) {
	p := blank()
	p.Workers = []Worker{{ID: "W1", Yard: "Y1", Tickets: []Ticket{ticket("lone", march(12))}}}
	p.Instructors[0].Worker = "W1"
	p.Slots = []Slot{slot("S1", 3, "am", "lone")}
	plan := planned(t, p)
	assert.Equal(t, OnlySelfAssessed, plan.NotKeptCurrent[0].Reason)
	p.Slots = append(p.Slots, slot("S2", 4, "am", "lone"))
	p.Slots[1].Instructor = "I2"
	plan = planned(t, p)
	assert.Equal(t, "S2", plan.Sessions[0].Slot)
	assert.Zero(t, plan.Objective.LapsedDays)
}

func TestACrewShortFromDayOneMaySendAnybody(t *testing.T) {
	p := blank()
	crewOf(&p, 2, 2, "lone", ticket("lone", 0))
	p.Slots = []Slot{slot("S1", 3, "am", "lone"), slot("S2", 3, "pm", "lone")}
	p.Slots[0].Seats, p.Slots[1].Seats = 1, 1
	plan := planned(t, p)
	assert.Equal(t, 3, plan.Objective.CrewDaysShort, "Monday to Wednesday; a renewal counts from the next day on")
	assert.Equal(t, 6, plan.Objective.LapsedDays)
}

func TestOneRenewerOfTheTwoPersonMethodNeedsAPartnerAndTwoRuns(t *testing.T) {
	p := blank()
	crewOf(&p, 3, 1, "two", ticket("two", lastDay))
	p.Workers[0].Tickets = []Ticket{ticket("two", march(12))}
	p.Slots = []Slot{slot("S1", 3, "am", "two")}
	plan := planned(t, p)
	require.Len(t, plan.Sessions, 1)
	assert.Len(t, plan.Sessions[0].Attend, 2)
	p.Slots[0].MaxRuns = 1
	plan = planned(t, p)
	assert.Empty(t, plan.Sessions)
	assert.Equal(t, []Chance{{"S1", "F10"}}, plan.NotKeptCurrent[0].Chances)
}

func TestSeatsSmallerThanTheCrewMakeItAlternate(t *testing.T) {
	p := blank()
	crewOf(&p, 4, 2, "lone", ticket("lone", march(12)))
	p.Slots = []Slot{slot("S1", 3, "am", "lone"), slot("S2", 4, "am", "lone")}
	p.Slots[0].Seats, p.Slots[1].Seats = 2, 2
	plan := planned(t, p)
	assert.Len(t, plan.Sessions, 2)
	assert.Zero(t, plan.Objective.LapsedDays)
}

func TestMorningAndAfternoonAtOneYardOnly(t *testing.T) {
	p := blank()
	p.Workers = []Worker{{ID: "W1", Yard: "Y1", Tickets: []Ticket{ticket("lone", march(5)), ticket("aid", march(5))}}}
	p.Slots = []Slot{slot("S1", 3, "am", "lone"), slot("S2", 3, "pm", "aid")}
	plan := planned(t, p)
	assert.Len(t, plan.Sessions, 2)
	p.Slots[1].Yard = "Y2"
	plan = planned(t, p)
	assert.Len(t, plan.Sessions, 1)
	assert.Equal(t, "F12", plan.NotKeptCurrent[0].Chances[0].Rule)
}

func TestAWholeCrewMayBeAwayInTwoSessionsAtOnce(t *testing.T) {
	p := blank()
	crewOf(&p, 2, 2, "lone", ticket("lone", march(12)))
	p.Slots = []Slot{slot("S1", 3, "am", "lone"), slot("S2", 3, "am", "lone")}
	p.Slots[0].Seats, p.Slots[1].Seats = 1, 1
	p.Slots[1].Instructor = "I2"
	p.Pinned = []Pin{{"S1", "W1", []string{"lone"}}}
	plan := planned(t, p)
	assert.Len(t, plan.Sessions, 2)
	assert.Zero(t, plan.Objective.LapsedDays)
}

func TestTheLastValidDay(t *testing.T) {
	for _, c := range []struct {
		valid        groundhand.Date
		held, lapsed int
	}{
		{march(10), 1, 0}, // the day of the session itself
		{march(9), 1, 1},  // one day before it
		{lastDay, 0, 0},   // the end of the window: not due
		{0, 1, 8},         // never held: lapsed from the start through the day of the session
	} {
		p := blank()
		p.Workers = []Worker{{ID: "W1", Yard: "Y1", Tickets: []Ticket{ticket("lone", c.valid)}}}
		p.Slots = []Slot{slot("S1", 10, "am", "lone")}
		plan := planned(t, p)
		assert.Len(t, plan.Sessions, c.held, c.valid)
		assert.Equal(t, c.lapsed, plan.Objective.LapsedDays, c.valid)
	}
}

func TestTheLeapDayIsADayLikeAnyOther(t *testing.T) {
	p := blank()
	p.Start, p.End = groundhand.MustDate("2028-02-21"), groundhand.MustDate("2028-03-10")
	p.Workers = []Worker{{ID: "W1", Yard: "Y1", Tickets: []Ticket{ticket("lone", groundhand.MustDate("2028-02-28"))}}}
	p.Slots = []Slot{slot("S1", 1, "am", "lone")}
	p.Slots[0].Date = groundhand.MustDate("2028-03-01")
	plan := planned(t, p)
	assert.Equal(t, 2, plan.Objective.LapsedDays, "Tuesday 29 February and Wednesday 1 March")
	assert.Equal(t, 2, plan.Objective.DaysOffAim)
}

func TestTheWindowMayBeAsLongAsTheShortestValidity(t *testing.T) {
	p := blank()
	p.Start, p.End = groundhand.MustDate("2028-02-29"), groundhand.MustDate("2029-02-28")
	assert.NoError(t, p.Validate())
	p.End = p.End.AddDays(1)
	assert.Equal(t, []string{"end"}, fields(p.Validate()))
}

func TestAWorkerOnLeaveAllWindowNeedNotBePlanned(t *testing.T) {
	p := blank()
	p.Workers = []Worker{{ID: "W1", Yard: "Y1", Tickets: []Ticket{ticket("lone", 0)}, Leave: []Stretch{{firstDay, lastDay}}}}
	p.Slots = []Slot{slot("S1", 10, "am", "lone")}
	plan := planned(t, p)
	assert.Equal(t, Objective{}, plan.Objective)
	assert.Empty(t, plan.NotKeptCurrent)
}

func TestADeviceThatNoSlotHasLeavesOthersAlone(t *testing.T) {
	p := blank()
	odd := ticket("lone", march(12))
	odd.Device = "frame"
	p.Workers = []Worker{{ID: "W1", Yard: "Y1", Tickets: []Ticket{odd}}, {ID: "W2", Yard: "Y1", Tickets: []Ticket{ticket("lone", march(12))}}}
	p.Slots = []Slot{slot("S1", 10, "am", "lone")}
	p.Slots[0].Device = "boom"
	plan := planned(t, p)
	require.Len(t, plan.NotKeptCurrent, 1)
	assert.Equal(t, NotKept{Worker: "W1", Qualification: "lone", Device: "frame", DaysLapsed: 10, UnavoidableDays: 10, Reason: NoOffer}, plan.NotKeptCurrent[0])
}

func TestTimeRunsOutWithAFeasiblePlan(t *testing.T) {
	ended, cancel := context.WithCancel(context.Background())
	cancel()
	p := readExample(t, "e3-middle")
	plan, err := Suggest(ended, p, Options{Seed: 1})
	require.NoError(t, err)
	assert.Empty(t, Check(p, plan))

	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	plan, err = Suggest(ctx, p, Options{Seed: 1, Rounds: 1 << 30, Report: func(at Progress) {
		if at.Round >= 256 {
			cancel()
		}
	}})
	require.NoError(t, err)
	assert.Empty(t, Check(p, plan))
	assert.Less(t, plan.Objective.LapsedDays, 400)
	assert.Positive(t, plan.ProvedLevels)
}

func TestAFaultyProblemIsRefused(t *testing.T) {
	p := blank()
	p.End = p.Start - 1
	_, err := Suggest(context.Background(), p, Options{Seed: 1, Rounds: 1})
	assert.Equal(t, []string{"end"}, fields(err))
}
