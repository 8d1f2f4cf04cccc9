package rollcall_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// The invented scenario and its plot points P4, P5, P7, P8, P10, P25, P27 are the story the answers are held against.

func (w *town) standing(who groundhand.WorkerID, m groundhand.Method, role groundhand.Role, family groundhand.FamilyID, on, set string) rollcall.WorkerStanding {
	w.t.Helper()
	got, err := w.roll.Standings(w.ctx, rollcall.StandingQuestion{Workers: []groundhand.WorkerID{who}, On: day(on), RuleSet: groundhand.RuleSetID(set),
		Lines: []rulebook.Asked{{Method: m, Role: role, FamilyID: family}}})
	require.NoError(w.t, err)
	require.Len(w.t, got, 1)
	return got[0]
}

func (w *town) cover(q rollcall.CoverQuestion) rollcall.CoverAnswer {
	w.t.Helper()
	got, err := w.roll.Cover(w.ctx, q)
	require.NoError(w.t, err)
	return got
}

func mayGo(a rollcall.CoverAnswer) []string {
	out := []string{}
	for _, p := range a.Answer.MayGoAloft {
		out = append(out, p.Person)
	}
	return out
}

// S3: a fault crew of two. James is lone-current; Dilnoza has practised as one of a pair only.
func stenholt(t *testing.T) *town {
	w := newTown(t)
	w.crew("S3", groundhand.FaultCrew, groundhand.List{"F1"}, "james", "dilnoza")
	w.run("james", "2024-10-01", groundhand.LoneKit, groundhand.Lone, "F1")
	w.run("dilnoza", "2024-10-01", groundhand.PairKit, groundhand.Lead, "F1")
	w.firstAid("james", "2024-06-01")
	w.firstAid("dilnoza", "2024-06-01")
	return w
}

func (w *town) shift(crew groundhand.CrewID, from, to string) rollcall.CoverQuestion {
	return rollcall.CoverQuestion{CrewID: crew, FromAt: w.at(from), ToAt: w.at(to), DeviceID: "A05", Aloft: 1, Near50V: groundhand.Yes, CallPlan: groundhand.Yes,
		Looks: rollcall.LooksSupposed}
}

func TestThePairCurrentMayGoUpAndTheLoneCurrentMustStayDown(t *testing.T) {
	w := stenholt(t)
	a := w.cover(w.shift("S3", "2024-11-04 08:00", "2024-11-04 16:00"))
	assert.Equal(t, readiness.Ready, a.Answer.Verdict)
	assert.Equal(t, []string{"dilnoza"}, mayGo(a))
	assert.Equal(t, []readiness.Down{{Person: "james", Because: "NO_COVER"}}, a.Answer.MustStayDown)
	assert.Equal(t, groundhand.RuleSetID("R1"), a.RuleSetID)

	c, err := w.roll.Company(w.ctx, day("2024-11-04"))
	require.NoError(t, err)
	require.Len(t, c.Crews, 1)
	f := c.Crews[0].Families[0]
	assert.True(t, f.GroundCover)
	assert.Equal(t, 2, f.Rescuers)
	assert.Equal(t, []groundhand.WorkerID{"dilnoza"}, f.MayGoAloft)
	byName := map[groundhand.WorkerID][]rollcall.LineDay{}
	for _, x := range c.Workers {
		byName[x.WorkerID] = x.NotCurrent()
	}
	assert.Empty(t, byName["james"])
	require.Len(t, byName["dilnoza"], 1, "she is asked the lone method and never practised it")
	assert.Equal(t, competence.Never, byName["dilnoza"][0].Standing)
}

func TestTheOldHabitLetEitherGoUp(t *testing.T) {
	w := stenholt(t)
	a := w.cover(w.shift("S3", "2024-10-31 08:00", "2024-10-31 16:00"))
	assert.Equal(t, groundhand.RuleSetID("R0"), a.RuleSetID)
	assert.Equal(t, []string{"dilnoza", "james"}, mayGo(a))
}

func TestLoneRescueIsGoodForSixMonthsFromMarch(t *testing.T) {
	w := stenholt(t)
	assert.Equal(t, competence.Current, w.standing("james", groundhand.LoneKit, groundhand.Lone, "F1", "2025-02-28", "").Standing)
	s := w.standing("james", groundhand.LoneKit, groundhand.Lone, "F1", "2025-03-01", "")
	assert.Equal(t, competence.Current, s.Standing)
	assert.Equal(t, "2025-03-31", s.LastGoodDay.String(), "six months from 1 October, the day before")
	a := w.cover(w.shift("S3", "2025-04-01 08:00", "2025-04-01 16:00"))
	assert.Equal(t, readiness.NotReady, a.Answer.Verdict)
}

func TestLeapDayUnderEachRule(t *testing.T) {
	w := newTown(t)
	w.crew("V6", groundhand.SubstationCrew, groundhand.List{"F1"}, "wiktor", "omar", "ngaire")
	w.run("wiktor", "2024-02-29", groundhand.PairKit, groundhand.Lead, "F1")
	for _, c := range []struct{ on, set, last string }{
		{"2024-10-31", "", "2025-02-28"}, // R0 counts to the anniversary, clipped
		{"2024-11-01", "", "2025-02-27"}, // R1, the cautious day before (plot point P8)
		{"2024-11-01", "R-X", "2025-02-28"},
		{"2024-11-01", "R-C", "2025-02-27"},
	} {
		s := w.standing("wiktor", groundhand.PairKit, groundhand.Second, "F1", c.on, c.set)
		assert.Equal(t, competence.Current, s.Standing, c)
		assert.Equal(t, c.last, s.LastGoodDay.String(), c)
	}
	assert.Equal(t, competence.Lapsed, w.standing("wiktor", groundhand.PairKit, groundhand.Second, "F1", "2025-02-28", "").Standing)
}

func TestRefusedAtTheClientsGate(t *testing.T) {
	w := newTown(t)
	w.crew("C2", groundhand.LineCrew, groundhand.List{"F1"}, "uche", "katya", "jun")
	w.run("uche", "2024-01-12", groundhand.PairKit, groundhand.Lead, "F1")
	own := w.standing("uche", groundhand.PairKit, groundhand.Lead, "F1", "2025-01-14", "R-X")
	client := w.standing("uche", groundhand.PairKit, groundhand.Lead, "F1", "2025-01-14", "R-C")
	assert.Equal(t, "CURRENT 2025-01-31", string(own.Standing)+" "+own.LastGoodDay.String())
	assert.Equal(t, "LAPSED 2025-01-11", string(client.Standing)+" "+client.LastGoodDay.String())
}

// Pavel's first aid is good through 8 March; the night shift crosses midnight (plot point P7).
func TestReadyUntilMidnightOnly(t *testing.T) {
	w := newTown(t)
	w.crew("V5", groundhand.FaultCrew, groundhand.List{"F1"}, "pavel", "siobhan")
	for _, who := range []groundhand.WorkerID{"pavel", "siobhan"} {
		w.run(who, "2024-11-12", groundhand.LoneKit, groundhand.Lone, "F1")
	}
	w.firstAid("pavel", "2024-03-09")
	w.firstAid("siobhan", "2024-09-01")
	a := w.cover(w.shift("V5", "2025-03-08 18:00", "2025-03-09 06:00"))
	assert.Equal(t, readiness.NotReady, a.Answer.Verdict)
	assert.Equal(t, "2025-03-09T00:00:00+00:00", localTime(t, a.Answer.HoldsUntil.Verdict))
	require.Len(t, a.Answer.Timeline, 2)
	assert.Equal(t, readiness.Ready, a.Answer.Timeline[0].Verdict)
	assert.Contains(t, a.Answer.HoldsUntil.Changes, readiness.Change{Edge: "END", Of: readiness.OfFirstAid, ID: "pavel"})

	c, err := w.roll.Company(w.ctx, day("2025-03-09"))
	require.NoError(t, err)
	f := c.Crews[0].Families[0]
	assert.Equal(t, readiness.NotReady, f.Verdict)
	assert.True(t, f.GroundCover, "first aid is another matter than bringing somebody down")
}

func lineCrew(t *testing.T, names ...groundhand.WorkerID) *town {
	w := newTown(t)
	w.crew("V1", groundhand.LineCrew, groundhand.List{"F1"}, names...)
	for _, n := range names {
		w.firstAid(n, "2025-01-10")
	}
	return w
}

func TestPracticeCountsFromWhenItHappened(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	w.run("ann", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	told := w.told("2025-06-11")
	told.HappenedOn, told.HappenedAt, told.RecordedAt = 0, w.at("2025-06-11 05:45"), w.at("2025-06-11 05:50")
	w.runTold("bob", told, groundhand.PairKit, groundhand.Second, "F1")
	early := w.shift("V1", "2025-06-11 05:00", "2025-06-11 15:30")
	assert.Equal(t, readiness.NotReady, w.cover(early).Answer.Verdict, "the drill is at a quarter to six")
	late := w.shift("V1", "2025-06-11 05:45", "2025-06-11 15:30")
	assert.Equal(t, readiness.Ready, w.cover(late).Answer.Verdict)
	assert.Equal(t, []string{"cal"}, mayGo(w.cover(late)))

	bare := lineCrew(t, "ann", "bob", "cal")
	bare.run("ann", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	bare.run("bob", "2025-06-11", groundhand.PairKit, groundhand.Second, "F1")
	assert.Equal(t, readiness.NotReady, bare.cover(bare.shift("V1", "2025-06-11 06:00", "2025-06-11 15:30")).Answer.Verdict, "on a bare day nobody knows when")
	assert.Equal(t, readiness.Ready, bare.cover(bare.shift("V1", "2025-06-12 06:00", "2025-06-12 15:30")).Answer.Verdict)
}

func TestAFailInTheMorningIsNotHiddenByAPassInTheAfternoon(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	w.run("gideon", "2025-01-20", groundhand.PairKit, groundhand.Lead, "F1")
	w.run("ann", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	w.run("bob", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	for _, x := range []struct {
		at     string
		result groundhand.AssessmentResult
	}{{"2025-06-10 10:00", groundhand.Fail}, {"2025-06-10 15:00", groundhand.Pass}} {
		told := w.told("2025-06-10")
		told.HappenedOn, told.HappenedAt = 0, w.at(x.at)
		add(w, groundhand.Assessment{ID: w.id(), Recorded: told, WorkerID: "bob", Method: groundhand.PairKit, Role: groundhand.Lead, FamilyID: "F1",
			Result: x.result, AssessorID: "gideon"})
	}
	assert.Equal(t, readiness.NotReady, w.cover(w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30")).Answer.Verdict)
	assert.Equal(t, readiness.Ready, w.cover(w.shift("V1", "2025-06-10 15:00", "2025-06-10 15:30")).Answer.Verdict)
	assert.Equal(t, readiness.Ready, w.cover(w.shift("V1", "2025-06-11 07:00", "2025-06-11 15:30")).Answer.Verdict)
}

func TestALoanStandsOverTheHomeCrew(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	w.crew("V2", groundhand.LineCrew, groundhand.List{"F1"}, "dee", "eve", "fay")
	for _, who := range []groundhand.WorkerID{"ann", "bob", "dee"} {
		w.run(who, "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
		w.firstAid(who, "2025-02-03")
	}
	w.firstAid("eve", "2025-02-03")
	assert.Equal(t, readiness.Ready, w.cover(w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30")).Answer.Verdict)
	w.join("bob", "V2", groundhand.Loan, "2025-06-10", "2025-06-10")
	assert.Equal(t, readiness.NotReady, w.cover(w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30")).Answer.Verdict, "the lender is left with one")
	a := w.cover(w.shift("V2", "2025-06-10 07:00", "2025-06-10 15:30"))
	assert.Equal(t, readiness.Ready, a.Answer.Verdict)
	assert.Len(t, a.Question.People, 4)
	assert.Equal(t, readiness.Ready, w.cover(w.shift("V1", "2025-06-11 07:00", "2025-06-11 15:30")).Answer.Verdict, "back the next day")
}

func TestAbsences(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	w.run("ann", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	w.run("bob", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	q := w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30")
	q.Absent = []groundhand.WorkerID{"ann"}
	a := w.cover(q)
	assert.Equal(t, readiness.NotReady, a.Answer.Verdict)
	assert.Contains(t, a.Answer.MustStayDown, readiness.Down{Person: "ann", Because: "ABSENT"})

	w.away("bob", groundhand.Sick, "2025-06-10 12:00", "2025-06-11 00:00")
	a = w.cover(w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30"))
	assert.Equal(t, readiness.NotReady, a.Answer.Verdict)
	assert.Equal(t, "2025-06-10T12:00:00+01:00", localTime(t, a.Answer.HoldsUntil.Verdict))
	text, err := a.Question.MarshalJSON()
	require.NoError(t, err)
	assert.Contains(t, string(text), `"why":"OTHER"`)
	assert.NotContains(t, string(text), "SICK", "a health reason never reaches an answer")

	w.away("cal", groundhand.NotForRescue, "2025-06-01 00:00", "")
	a = w.cover(w.shift("V1", "2025-06-09 07:00", "2025-06-09 15:30"))
	assert.Equal(t, readiness.Ready, a.Answer.Verdict, "held back from rescue, cal may still go aloft")
	assert.Equal(t, []string{"cal"}, mayGo(a))

	w.away("ann", groundhand.NotForRescue, "2025-06-09 12:00", "2025-06-10 00:00")
	a = w.cover(w.shift("V1", "2025-06-09 07:00", "2025-06-09 15:30"))
	assert.Equal(t, readiness.NotReady, a.Answer.Verdict, "from noon only bob counts below")
	assert.Equal(t, "2025-06-09T12:00:00+01:00", localTime(t, a.Answer.HoldsUntil.Verdict))
}

func TestPeopleWhoJoin(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	w.run("ann", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	w.worker("leilani", groundhand.Qualified)
	w.run("leilani", "2025-02-03", groundhand.PairKit, groundhand.Second, "F1")
	q := w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30")
	assert.Equal(t, readiness.NotReady, w.cover(q).Answer.Verdict)
	q.People = []groundhand.WorkerID{"leilani"}
	assert.Equal(t, readiness.Ready, w.cover(q).Answer.Verdict)
	alone := q
	alone.CrewID, alone.People, alone.Methods = "", []groundhand.WorkerID{"ann", "leilani", "bob"}, []groundhand.Method{groundhand.PairKit}
	assert.Equal(t, readiness.Ready, w.cover(alone).Answer.Verdict)
}

func TestReliefIsAskedAndNotSentOut(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	w.crew("RELIEF", groundhand.ReliefPool, groundhand.List{"F1", "F3"}, "leilani", "hamid", "viggo")
	w.run("leilani", "2025-02-03", groundhand.PairKit, groundhand.Second, "F1")
	c, err := w.roll.Company(w.ctx, day("2025-06-10"))
	require.NoError(t, err)
	require.Len(t, c.Crews, 1)
	assert.Equal(t, groundhand.CrewID("V1"), c.Crews[0].Crew.ID)
	for _, x := range c.Workers {
		if x.WorkerID == "leilani" {
			require.Len(t, x.Aerial(), 2, "second on each family")
			require.Len(t, x.NotCurrent(), 1)
			assert.Equal(t, groundhand.FamilyID("F3"), x.NotCurrent()[0].FamilyID)
		}
	}
}

func TestAnUnknownDeviceIsNeverReady(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	for _, who := range []groundhand.WorkerID{"ann", "bob", "cal"} {
		w.run(who, "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
		w.run(who, "2025-02-03", groundhand.PairKit, groundhand.Lead, "F3")
	}
	w.device("H31", "")
	for _, device := range []groundhand.DeviceID{"", "H31"} {
		q := w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30")
		q.DeviceID = device
		a := w.cover(q)
		assert.Equal(t, readiness.CannotTell, a.Answer.Verdict)
		assert.Contains(t, deciding(a), "device.family")
	}
}

// deciding lists the unknowns that are to be looked at.
func deciding(a rollcall.CoverAnswer) []string {
	for _, f := range a.Answer.Findings {
		if f.Code == readiness.UnknownDecides {
			return f.Things
		}
	}
	return nil
}

func TestADeviceIsOutUntilItIsReturned(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	w.run("ann", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	w.run("bob", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	look := func(at string, result groundhand.InspectionResult) {
		told := w.told(at[:10])
		told.HappenedOn, told.HappenedAt = 0, w.at(at)
		add(w, groundhand.Inspection{ID: w.id(), Recorded: told, DeviceID: "A05", Kind: groundhand.DailyLowerControls, Checklist: "1", Result: result})
	}
	look("2025-06-09 14:20", groundhand.OutOfService)
	look("2025-06-09 16:00", groundhand.InService) // another look, not a return
	look("2025-06-10 12:00", groundhand.Returned)
	a := w.cover(w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30"))
	assert.Equal(t, readiness.NotReady, a.Answer.Verdict)
	assert.Equal(t, "2025-06-10T12:00:00+01:00", localTime(t, a.Answer.HoldsUntil.Verdict))
	assert.Equal(t, readiness.Ready, w.cover(w.shift("V1", "2025-06-10 12:00", "2025-06-10 15:30")).Answer.Verdict)
}

func TestApprenticeIsSecondAndNotLead(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "linh")
	add(w, groundhand.Grading{ID: w.id(), Recorded: w.told("2024-02-01"), WorkerID: "linh", Grade: groundhand.Apprentice, Year: 2})
	for _, who := range []groundhand.WorkerID{"ann", "linh"} {
		w.run(who, "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	}
	q := w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30")
	a := w.cover(q)
	assert.Equal(t, readiness.Ready, a.Answer.Verdict)
	require.NotEmpty(t, a.Answer.Choices)
	assert.Equal(t, []readiness.RoleOf{{Role: "LEAD", Person: "ann"}, {Role: "SECOND", Person: "linh"}}, a.Answer.Choices[0].Roles)
	assert.Equal(t, competence.Never, w.standing("linh", groundhand.PairKit, groundhand.Lead, "F1", "2025-06-10", "").Standing)
}

func TestHeldAfterALongAbsence(t *testing.T) {
	w := newTown(t)
	w.crew("S2", groundhand.LineCrew, groundhand.List{"F1"}, "meera", "piet", "zofia")
	w.run("gideon", "2024-09-12", groundhand.PairKit, groundhand.Lead, "F1")
	w.run("meera", "2024-03-12", groundhand.PairKit, groundhand.Lead, "F1")
	w.away("meera", groundhand.Leave, "2024-05-14 00:00", "2025-02-18 00:00")
	for on, want := range map[string]competence.Standing{"2024-11-13": competence.Current, "2024-11-14": competence.Held, "2025-02-18": competence.Held} {
		assert.Equal(t, want, w.standing("meera", groundhand.PairKit, groundhand.Second, "F1", on, "").Standing, on)
	}
	w.assess("meera", "2025-03-04", groundhand.PairKit, groundhand.Lead, "F1")
	s := w.standing("meera", groundhand.PairKit, groundhand.Second, "F1", "2025-03-04", "")
	assert.Equal(t, "CURRENT 2026-03-03", string(s.Standing)+" "+s.LastGoodDay.String(), "the assessor's own records are loaded too")
}

func TestAPassMovedToAnotherPersonLeavesTheFirst(t *testing.T) {
	w := newTown(t)
	w.crew("S3", groundhand.LineCrew, groundhand.List{"F1"}, "senior", "junior", "third")
	w.run("gideon", "2024-09-12", groundhand.PairKit, groundhand.Lead, "F1")
	wrong := w.assess("senior", "2024-10-22", groundhand.PairKit, groundhand.Lead, "F1")
	right := wrong
	right.ID, right.WorkerID, right.ReplacesID, right.Because = w.id(), "junior", wrong.ID, "same name, other person"
	right.RecordedAt = w.at("2024-11-05 09:00")
	add(w, right)
	senior := w.standing("senior", groundhand.PairKit, groundhand.Lead, "F1", "2024-11-06", "")
	assert.Equal(t, competence.Never, senior.Standing)
	assert.Equal(t, []competence.Refusal{{Entry: string(wrong.ID), Code: competence.Replaced}}, senior.Refused)
	assert.Equal(t, competence.Current, w.standing("junior", groundhand.PairKit, groundhand.Lead, "F1", "2024-11-06", "").Standing)

	known, err := w.roll.Standings(w.ctx, rollcall.StandingQuestion{Workers: []groundhand.WorkerID{"senior"}, On: day("2024-11-06"), AsKnownAt: w.at("2024-11-01 12:00"),
		Lines: []rulebook.Asked{{Method: groundhand.PairKit, Role: groundhand.Lead, FamilyID: "F1"}}})
	require.NoError(t, err)
	assert.Equal(t, competence.Current, known[0].Standing, "as known on 1 November")
}

func TestAWithdrawnRunGivesNothing(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	part := w.run("ann", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	gone := groundhand.Withdrawal{ID: w.id(), Recorded: w.told("2025-05-16"), WithdrawsID: groundhand.EntryID(part.RunID)}
	add(w, gone)
	assert.Equal(t, competence.Never, w.standing("ann", groundhand.PairKit, groundhand.Lead, "F1", "2025-06-10", "").Standing)
	add(w, groundhand.Withdrawal{ID: w.id(), Recorded: w.told("2025-05-20"), WithdrawsID: gone.ID})
	assert.Equal(t, competence.Current, w.standing("ann", groundhand.PairKit, groundhand.Lead, "F1", "2025-06-10", "").Standing, "the withdrawal was withdrawn")
}

func TestCorrectionWithinASecond(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	part := w.run("ann", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	right := part
	right.ID, right.ReplacesID, right.Because, right.Role = w.id(), part.ID, "played the casualty", groundhand.Casualty
	right.RecordedAt += 5
	add(w, right)
	ask := rollcall.StandingQuestion{Workers: []groundhand.WorkerID{"ann"}, On: day("2025-06-10"), Lines: []rulebook.Asked{{Method: groundhand.PairKit, Role: groundhand.Lead, FamilyID: "F1"}}}
	got, err := w.roll.Standings(w.ctx, ask)
	require.NoError(t, err)
	assert.Equal(t, competence.Never, got[0].Standing)
	facts, err := w.roll.Export(w.ctx, ask)
	require.NoError(t, err)
	text, err := facts.Encode()
	require.NoError(t, err)
	_, err = competence.Decode(text)
	assert.NoError(t, err, "the file counts in whole seconds and must still say which came first")
}

func TestJobs(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	w.run("ann", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	w.run("bob", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	job := groundhand.Job{ID: "J-1", Recorded: w.told("2025-06-09"), CrewID: "V1", YardID: "Y1", StartAt: w.at("2025-06-12 06:00"), EndAt: w.at("2025-06-12 14:00"),
		DeviceID: "A05", Aloft: 1, Methods: groundhand.List{"PAIR_KIT"}, Near50V: groundhand.Yes, SiteKind: groundhand.FieldSite, CallPlan: groundhand.Yes}
	other := job
	other.ID, other.RuleSetID, other.Methods = "J-2", "R-C", nil
	add(w, job, other)
	got, err := w.roll.JobsCover(w.ctx, w.at("2025-06-12 00:00"), w.at("2025-06-13 00:00"))
	require.NoError(t, err)
	require.Len(t, got, 2)
	assert.Equal(t, readiness.Ready, got[0].Answer.Verdict)
	assert.Equal(t, readiness.CannotTell, got[1].Answer.Verdict, "nobody said which methods the site allows")
	assert.Equal(t, groundhand.RuleSetID("R-C"), got[1].RuleSetID)
	one, err := w.roll.JobCover(w.ctx, "J-1", rollcall.Wish{Absent: []groundhand.WorkerID{"ann"}})
	require.NoError(t, err)
	assert.Equal(t, readiness.NotReady, one.Answer.Verdict)
	_, err = w.roll.JobCover(w.ctx, "nobody", rollcall.Wish{})
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
}

func TestRefusedQuestions(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	_, err := w.roll.Cover(w.ctx, rollcall.CoverQuestion{FromAt: 5, ToAt: 5, Aloft: -1, Methods: []groundhand.Method{"WINCH"}})
	var fields []string
	for _, e := range groundhand.Refusals(err) {
		fields = append(fields, e.Field)
	}
	assert.ElementsMatch(t, []string{"to", "crew", "aloft", "methods[0]"}, fields)
	q := w.shift("NOBODY", "2025-06-10 07:00", "2025-06-10 15:30")
	_, err = w.roll.Cover(w.ctx, q)
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
	q = w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30")
	q.DeviceID = "X99"
	_, err = w.roll.Cover(w.ctx, q)
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
	_, err = w.roll.Cover(w.ctx, w.shift("V1", "2023-06-10 07:00", "2023-06-10 15:30"))
	assert.ErrorIs(t, err, groundhand.CodeNotFound, "no rule set of ours was in force")
	_, err = store.Get[groundhand.Job](w.ctx, w.store, groundhand.JobID("x"))
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
}

// localTime is a moment as the answer writes it.
func localTime(t *testing.T, at readiness.LocalTime) string {
	t.Helper()
	text, err := json.Marshal(at)
	require.NoError(t, err)
	return strings.Trim(string(text), `"`)
}
