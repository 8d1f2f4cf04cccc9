package rollcall_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

func (w *town) ahead(on string, days int) rollcall.LookAhead {
	w.t.Helper()
	l, err := w.roll.LookAhead(w.ctx, day(on), days)
	require.NoError(w.t, err)
	return l
}

// badDays writes the first bad days of crews as "V1 F1 2025-06-02".
func badDays(l rollcall.LookAhead) []string {
	out := []string{}
	for _, b := range l.FirstBadDays {
		out = append(out, strings.Join(strings.Fields(fmt.Sprint(b.CrewID, " ", b.FamilyID, " ", b.Day)), " "))
	}
	return out
}

// lapses writes who lapses as "ann F1 2025-05-10".
func lapses(l rollcall.LookAhead) []string {
	out := []string{}
	for _, x := range l.Lapses {
		out = append(out, fmt.Sprint(x.WorkerID, " ", x.FamilyID, " ", x.GoodThrough()))
	}
	return out
}

// threeRescuers is the worked example of a crew whose people are good through 10 May, 1 June and 30 September 2025. A year and the day
// before: they practised a day after those days in 2024. Arithmetic; the second latest last day holds the crew, so it is short from 2 June.
func threeRescuers(t *testing.T) *town {
	w := newTown(t)
	w.crew("V1", groundhand.LineCrew, groundhand.List{"F1"}, "ann", "bob", "cal")
	w.run("ann", "2024-05-11", groundhand.PairKit, groundhand.Lead, "F1")
	w.run("bob", "2024-06-02", groundhand.PairKit, groundhand.Lead, "F1")
	w.run("cal", "2024-10-01", groundhand.PairKit, groundhand.Lead, "F1")
	return w
}

func TestACrewIsShortAfterTheSecondLatestLastDay(t *testing.T) {
	w := threeRescuers(t)
	l := w.ahead("2025-05-01", 60)
	assert.Equal(t, []string{"V1 F1 2025-06-02"}, badDays(l))
	assert.Equal(t, []string{"ann F1 2025-05-10", "bob F1 2025-06-01"}, lapses(l))
	assert.Empty(t, l.Clusters)
	assert.Equal(t, "2025-05-01 2025-06-30 R2", fmt.Sprint(l.On, " ", l.Through, " ", l.RuleSetID))
	assert.Equal(t, []string{"V1 F1 2025-06-02"}, badDays(w.ahead("2025-05-01", 32)), "the last day looked at is 2 June")
	assert.Empty(t, badDays(w.ahead("2025-05-01", 31)))

	for on, want := range map[string]bool{"2025-06-01": false, "2025-06-02": true} {
		c, err := w.roll.Company(w.ctx, day(on))
		require.NoError(t, err)
		assert.Equal(t, want, c.Crews[0].Families[0].BelowTwo(), "the day itself agrees: %s", on)
	}
}

func TestACrewThatIsShortAlreadyHasTheDayItself(t *testing.T) {
	w := threeRescuers(t)
	assert.Equal(t, []string{"V1 F1 2025-06-15"}, badDays(w.ahead("2025-06-15", 10)))
	w.crew("V2", groundhand.LineCrew, groundhand.List{"F1"}, "dee")
	w.run("dee", "2025-06-01", groundhand.PairKit, groundhand.Lead, "F1")
	w.crew("V3", groundhand.LineCrew, groundhand.List{"F1"})
	assert.Equal(t, []string{"V2 F1 2025-05-01", "V3 F1 2025-05-01"}, badDays(w.ahead("2025-05-01", 10)), "one person and nobody are too few")
}

func TestLaterPracticeAndLeaveAreNotSeen(t *testing.T) {
	w := threeRescuers(t)
	w.run("ann", "2025-05-05", groundhand.PairKit, groundhand.Lead, "F1")
	w.away("cal", groundhand.Leave, "2025-05-20 00:00", "2025-05-27 00:00")
	assert.Equal(t, []string{"V1 F1 2025-06-02"}, badDays(w.ahead("2025-05-01", 60)))
	assert.Empty(t, badDays(w.ahead("2025-05-05", 60)), "on the day of the practice it is")
}

func TestPeopleOfACrewWhoLapseTogether(t *testing.T) {
	w := newTown(t)
	w.crew("V2", groundhand.LineCrew, groundhand.List{"F1", "F3"}, "a", "b", "c", "d", "e", "f")
	for _, who := range []groundhand.WorkerID{"a", "b", "c", "d", "e"} {
		w.run(who, "2024-06-06", groundhand.PairKit, groundhand.Second, "F1")
		w.run(who, "2024-06-06", groundhand.PairKit, groundhand.Second, "F3")
	}
	w.crew("V1", groundhand.LineCrew, groundhand.List{"F1"}, "x", "y")
	w.run("x", "2024-06-06", groundhand.PairKit, groundhand.Second, "F1")
	w.crew("RELIEF", groundhand.ReliefPool, groundhand.List{"F1"}, "r", "s", "t")
	w.run("r", "2024-05-20", groundhand.PairKit, groundhand.Second, "F1")
	w.run("s", "2024-05-20", groundhand.PairKit, groundhand.Second, "F1")
	l := w.ahead("2025-04-07", 60)
	require.Len(t, l.Clusters, 2)
	assert.Equal(t, rollcall.LapseCluster{CrewID: "V2", LastGoodDay: day("2025-06-05"), Workers: []groundhand.WorkerID{"a", "b", "c", "d", "e"}, Of: 6}, l.Clusters[0],
		"each person once, however many families")
	assert.Equal(t, rollcall.LapseCluster{CrewID: "RELIEF", LastGoodDay: day("2025-05-19"), Workers: []groundhand.WorkerID{"r", "s"}, Of: 3}, l.Clusters[1])
	assert.Len(t, l.Lapses, 12, "pair practice is not asked of a crew of two")
	assert.Equal(t, []string{"V1 F1 2025-04-07", "V2 F1 2025-06-06", "V2 F3 2025-06-06"}, badDays(l), "the relief pool is not sent out")
}

func TestOldRulesAskOnceWhateverTheFamily(t *testing.T) {
	w := newTown(t)
	w.crew("V1", groundhand.LineCrew, nil, "ann", "bob", "cal")
	w.run("ann", "2024-01-10", groundhand.PairKit, groundhand.Lead, "F1")
	w.run("bob", "2024-02-10", groundhand.PairKit, groundhand.Lead, "F3")
	l := w.ahead("2024-09-01", 180)
	assert.Equal(t, "R0", string(l.RuleSetID))
	assert.Equal(t, []string{"V1 2024-11-01"}, badDays(l), "from November the rules go by family, and a line without one is good for nothing")
	assert.Empty(t, badDays(w.ahead("2024-09-01", 60)))

	l = w.ahead("2024-11-06", 30)
	assert.Equal(t, []string{"V1 2024-11-06"}, badDays(l), "rules by family ask nothing of a crew without one: not knowing is never enough")
	assert.Empty(t, l.Lapses)
}

func TestAStricterRuleSetIsSeenComing(t *testing.T) {
	w := stenholt(t)
	w.run("dilnoza", "2024-11-20", groundhand.LoneKit, groundhand.Lone, "F1")
	l := w.ahead("2024-12-15", 200)
	assert.Equal(t, []string{"james F1 2025-03-31", "dilnoza F1 2025-05-19"}, lapses(l), "six months instead of twelve from March")
	assert.Equal(t, "2025-09-30", l.Lapses[0].LastGoodDay.String(), "under the rules of December")
	assert.Equal(t, []string{"S3 F1 2025-04-01"}, badDays(l))
}

func TestOnlyWhatIsAskedHoldsACrew(t *testing.T) {
	w := stenholt(t)
	assert.Equal(t, []string{"S3 F1 2024-12-15"}, badDays(w.ahead("2024-12-15", 30)), "pair practice does not plan the drills of a crew of two")
}

func TestAnExtensionHoldsTheCrewUntilItsLastDay(t *testing.T) {
	w := threeRescuers(t)
	add(w, groundhand.Extension{ID: w.id(), Recorded: w.told("2025-06-01"), WorkerID: "bob", Method: groundhand.PairKit, FromOn: day("2025-06-02"), ToOn: day("2025-06-20"),
		ApproverID: "gideon"})
	l := w.ahead("2025-06-10", 60)
	assert.Equal(t, []string{"bob F1 2025-06-20"}, lapses(l))
	assert.Equal(t, []string{"V1 F1 2025-06-21"}, badDays(l))
}

func TestWhoIsBarredByGradeHoldsNoCrew(t *testing.T) {
	w := newTown(t)
	w.crew("S3", groundhand.FaultCrew, groundhand.List{"F1"}, "james", "linh")
	w.run("james", "2025-02-03", groundhand.LoneKit, groundhand.Lone, "F1")
	w.run("linh", "2025-02-03", groundhand.LoneKit, groundhand.Lone, "F1")
	assert.Empty(t, badDays(w.ahead("2025-06-10", 30)))
	add(w, groundhand.Grading{ID: w.id(), Recorded: w.told("2025-06-01"), WorkerID: "linh", Grade: groundhand.Apprentice, Year: 2})
	assert.Equal(t, []string{"S3 F1 2025-06-10"}, badDays(w.ahead("2025-06-10", 30)))
}

func TestAcceptanceOnPaperHoldsNoCrewOfTwo(t *testing.T) {
	w := newTown(t)
	w.crew("S3", groundhand.FaultCrew, groundhand.List{"F1"}, "james", "visitor")
	w.run("james", "2025-05-03", groundhand.LoneKit, groundhand.Lone, "F1")
	add(w, groundhand.Provisional{ID: w.id(), Recorded: w.told("2025-06-01"), WorkerID: "visitor", Method: groundhand.LoneKit, Role: groundhand.Lone, FamilyID: "F1",
		FromOn: day("2025-06-01"), ToOn: day("2025-06-30")})
	l := w.ahead("2025-06-10", 30)
	assert.Equal(t, []string{"S3 F1 2025-06-10"}, badDays(l), "on paper nobody counts as a lone rescuer")
	assert.Equal(t, []string{"visitor F1 2025-06-30"}, lapses(l), "the acceptance ends all the same")
}

func TestLookAheadRefusesAbsurdSpans(t *testing.T) {
	w := threeRescuers(t)
	for _, days := range []int{-1, 0, 401} {
		_, err := w.roll.LookAhead(w.ctx, day("2025-05-01"), days)
		assert.ErrorIs(t, err, groundhand.CodeInvalid)
	}
	assert.NotEmpty(t, badDays(w.ahead("2025-05-01", 400)))
	_, err := w.roll.LookAhead(w.ctx, day("2023-05-01"), 10)
	assert.ErrorIs(t, err, groundhand.CodeNotFound, "no rule set of ours was in force")
}
