package demo_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/competence"
	g "groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// The plot points of the invented company. Each is a question of the day whose answer has to follow from the facts played.

// ask asks for one line of some people.
func (c company) ask(q rollcall.StandingQuestion, m g.Method, r g.Role, f g.FamilyID, names ...string) []rollcall.WorkerStanding {
	c.Helper()
	q.Workers, q.Lines = c.who(names...), []rulebook.Asked{{Method: m, Role: r, FamilyID: f}}
	out, err := c.roll.Standings(c.ctx, q)
	require.NoError(c, err)
	require.Len(c, out, len(names))
	return out
}

func on(day string) rollcall.StandingQuestion {
	return rollcall.StandingQuestion{On: g.MustDate(day)}
}

func (c company) instant(moment string) g.Instant {
	c.Helper()
	t, err := time.ParseInLocation("2006-01-02 15:04", moment, c.zone)
	require.NoError(c, err)
	return g.InstantOf(t)
}

func words(list []rollcall.WorkerStanding) []string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = strings.TrimSpace(string(s.Standing) + " " + s.LastGoodDay.String())
	}
	return out
}

// faultDay asks about a crew of two at work all day with one of them aloft, whose foreman says that the kit suits them.
func (c company) faultDay(crew g.CrewID, device g.DeviceID, day g.Date) readiness.Answer {
	c.Helper()
	a, err := c.roll.Cover(c.ctx, rollcall.CoverQuestion{CrewID: crew, DeviceID: device, FromAt: g.InstantOf(day.Start(c.zone)) + 7*3600*1000,
		ToAt: g.InstantOf(day.Start(c.zone)) + 19*3600*1000, Aloft: 1, Methods: []g.Method{g.LoneKit}, Near50V: g.Yes, CallPlan: g.Yes, KitSuits: g.Yes})
	require.NoError(c, err)
	return a.Answer
}

func aloft(a readiness.Answer) (up, down []g.WorkerID) {
	for _, p := range a.MayGoAloft {
		up = append(up, g.WorkerID(p.Person))
	}
	for _, p := range a.MustStayDown {
		down = append(down, g.WorkerID(p.Person))
	}
	return up, down
}

func TestEverybodyIsInDateOnTheFirstDay(t *testing.T) {
	c := played(t)
	all, err := c.roll.Company(c.ctx, g.MustDate("2024-01-01"))
	require.NoError(t, err)
	assert.Equal(t, g.RuleSetID("R0"), all.RuleSetID)
	for _, w := range all.Workers {
		assert.NotEmpty(t, w.Lines, w.WorkerID)
		for _, l := range w.Lines {
			assert.Equal(t, competence.Current, l.Standing, "%s %s", w.WorkerID, l.Method)
		}
	}
}

// P1, the part that needs no search for fixes.
func TestTwoAloftWithOneRescuerLeftIsNotReady(t *testing.T) {
	c := played(t)
	a, err := c.roll.JobCover(c.ctx, "J-0612-04", rollcall.Wish{})
	require.NoError(t, err)
	assert.Equal(t, readiness.NotReady, a.Answer.Verdict)
	up, down := aloft(a.Answer)
	assert.Empty(t, up)
	assert.Len(t, down, 5)
	i := slices.IndexFunc(a.Answer.Findings, func(f readiness.Finding) bool { return f.Code == readiness.CrewBelowTwo })
	require.GreaterOrEqual(t, i, 0)
	assert.Equal(t, 1, *a.Answer.Findings[i].Values["count"], "Ifeoma alone")

	lapsed := c.ask(on("2025-06-11"), g.PairKit, g.Second, "F1", "Dario Pellgrove", "Callum Reyvers", "Yusuf Demirkol-Ash")
	assert.Equal(t, []string{"LAPSED 2025-06-05", "LAPSED 2025-06-05", "LAPSED 2025-06-05"}, words(lapsed))
	again := c.ask(on("2025-06-11"), g.PairKit, g.Lead, "F1", "Ifeoma Castellane", "Hana Sotomura", "Leilani Crosswell")
	assert.Equal(t, []string{"CURRENT 2026-05-19", "CURRENT 2026-05-19", "CURRENT 2026-05-05"}, words(again))

	sessions, err := c.store.SessionsBetween(c.ctx, c.instant("2025-06-24 00:00"), c.instant("2025-06-25 00:00"))
	require.NoError(t, err)
	require.Len(t, sessions, 1)
	booked, err := store.FindStanding[g.Booking](c.ctx, c.store, store.BySession, []g.SessionID{sessions[0].ID})
	require.NoError(t, err)
	var who []g.WorkerID
	for _, b := range booked {
		who = append(who, b.WorkerID)
	}
	assert.Subset(t, who, c.who("Dario Pellgrove", "Callum Reyvers", "Yusuf Demirkol-Ash"))
}

// P2.
func TestAWholeCrewLapsesAfterOneDay(t *testing.T) {
	c := played(t)
	ahead, err := c.roll.LookAhead(c.ctx, g.MustDate("2025-04-07"), 60)
	require.NoError(t, err)
	i := slices.IndexFunc(ahead.Clusters, func(l rollcall.LapseCluster) bool { return l.CrewID == "V2" })
	require.GreaterOrEqual(t, i, 0)
	v2 := ahead.Clusters[i]
	assert.Equal(t, "2025-06-05", v2.LastGoodDay.String())
	assert.Equal(t, c.who("Ifeoma Castellane", "Dario Pellgrove", "Hana Sotomura", "Callum Reyvers", "Yusuf Demirkol-Ash"), v2.Workers)
	assert.Equal(t, 5, v2.Of)
	i = slices.IndexFunc(ahead.FirstBadDays, func(b rollcall.FirstBadDay) bool { return b.CrewID == "V2" })
	require.GreaterOrEqual(t, i, 0)
	assert.Equal(t, "Fri 6 Jun 2025", ahead.FirstBadDays[i].Day.Words())
}

// P4.
func TestWhoIsLoneCurrentStaysDown(t *testing.T) {
	c := played(t)
	dilnoza, james := c.who("Dilnoza Rahmonova-Pike"), c.who("James Tallis")
	away, err := c.store.UnavailableBetween(c.ctx, append(c.who("James Tallis"), dilnoza...), c.instant("2024-11-01 00:00"), c.instant("2025-06-12 00:00"))
	require.NoError(t, err)
	asked := 0
	for day := g.MustDate("2024-11-01"); day <= g.MustDate("2025-06-12"); day++ {
		if slices.ContainsFunc(away, func(u g.Unavailability) bool {
			return u.FromAt < g.InstantOf(day.End(c.zone)) && g.InstantOf(day.Start(c.zone)) < u.ToAt
		}) {
			continue // one alone is another story
		}
		asked++
		a := c.faultDay("S3", "A06", day)
		up, down := aloft(a)
		assert.Equal(t, readiness.Ready, a.Verdict, day)
		assert.Equal(t, dilnoza, up, day)
		assert.Equal(t, james, down, day)
	}
	assert.Greater(t, asked, 180)
}

// P5.
func TestOldRulesCalledANightCrewGoodThatHadNeverRescuedAlone(t *testing.T) {
	c := played(t)
	v5 := []string{"Pavel Dragutin-Moss", "Siobhan Marsh-Adeyi"}
	assert.Equal(t, []string{"CURRENT 2025-03-12", "CURRENT 2025-03-12"}, words(c.ask(on("2024-10-22"), g.LoneKit, g.Lone, "F3", v5...)))
	preview := on("2024-10-22")
	preview.RuleSet = "R1"
	assert.Equal(t, []string{"NEVER", "NEVER"}, words(c.ask(preview, g.LoneKit, g.Lone, "F3", v5...)))
	for day := g.MustDate("2024-11-01"); day < g.MustDate("2024-11-12"); day++ {
		up, _ := aloft(c.faultDay("V5", "T17", day))
		assert.Empty(t, up, day)
	}
	assert.Equal(t, []string{"CURRENT 2025-11-11", "CURRENT 2025-11-11"}, words(c.ask(on("2024-11-12"), g.LoneKit, g.Lone, "F3", v5...)))
	up, _ := aloft(c.faultDay("V5", "T17", g.MustDate("2024-11-13")))
	assert.Equal(t, c.who(v5...), up)
}

// P7.
func TestANightShiftIsReadyUntilMidnightOnly(t *testing.T) {
	c := played(t)
	a := c.job("J-0308-V5", rollcall.Wish{})
	assert.Equal(t, readiness.NotReady, a.Verdict)
	assert.Equal(t, readiness.Ready, a.Timeline[0].Verdict)
	assert.Equal(t, c.instant("2025-03-09 00:00"), a.HoldsUntil.Verdict.At)
}

// P8.
func TestADrillOnALeapDayIsGoodThroughThe27th(t *testing.T) {
	c := played(t)
	const wiktor = "Wiktor Lindqvist-Roe"
	assert.Equal(t, []string{"CURRENT 2025-02-27"}, words(c.ask(on("2024-11-15"), g.PairKit, g.Lead, "F3", wiktor)), "as R1 judges it")
	assert.Equal(t, []string{"CURRENT 2025-02-27"}, words(c.ask(on("2025-02-27"), g.PairKit, g.Lead, "F3", wiktor)))
	assert.Equal(t, []string{"LAPSED 2025-02-27"}, words(c.ask(on("2025-02-28"), g.PairKit, g.Lead, "F3", wiktor)))
	assert.Equal(t, time.Thursday, g.MustDate("2025-02-27").Weekday())
}

// runsOf gives the runs of a night, in order.
func (c company) runsOf(day string) []g.Run {
	c.Helper()
	all, err := store.All[g.Run](c.ctx, c.store)
	require.NoError(c, err)
	all = slices.DeleteFunc(all, func(r g.Run) bool { return r.HappenedOn != g.MustDate(day) || r.DeviceID != "T17" })
	slices.SortFunc(all, func(a, b g.Run) int { return int(a.HappenedAt - b.HappenedAt) })
	return all
}

// P9.
func TestDrillsInBothNightsOfTheClockChange(t *testing.T) {
	c := played(t)
	wall := func(r g.Run) string { return r.HappenedAt.In(c.zone).Format("15:04 -0700") }

	autumn := c.runsOf("2024-10-27")
	require.Len(t, autumn, 3)
	assert.Equal(t, "00:40 +0100", wall(autumn[0]))
	assert.Equal(t, "01:30 +0100", wall(autumn[1]))
	assert.Equal(t, "01:30 +0000", wall(autumn[2]), "half past one comes twice")
	assert.Equal(t, g.Instant(3600*1000), autumn[2].HappenedAt-autumn[1].HappenedAt)

	spring := c.runsOf("2025-03-30")
	require.Len(t, spring, 2)
	assert.Equal(t, "00:40 +0000", wall(spring[0]))
	assert.Equal(t, "02:10 +0100", wall(spring[1]))
	assert.Equal(t, g.Instant(30*60*1000), spring[1].HappenedAt-spring[0].HappenedAt, "the hour from one to two was never there")

	for _, night := range []struct {
		runs  []g.Run
		hours float64
	}{{autumn, 3}, {spring, 1.5}} {
		s, err := store.Get[g.Session](c.ctx, c.store, night.runs[0].SessionID)
		require.NoError(t, err)
		assert.Equal(t, night.hours, time.Duration(s.EndAt-s.StartAt).Hours()*1e6, "elapsed, not read off two wall clocks")
		for _, r := range night.runs {
			s8, marked := r.Marks.At(g.S8)
			assert.True(t, marked)
			assert.Positive(t, s8)
			assert.NoError(t, r.Marks.Check("marks"))
		}
	}
}

// P20.
func TestFivePassesFallWithTheirAssessor(t *testing.T) {
	c := played(t)
	s1 := []string{"Fiachra Dunmoor", "Amara Villeneuve-Oke", "Kofi Starling-Byrd", "Ines Barroso-Lind"}
	five := append(slices.Clone(s1), "Chidi Eastmarch")
	known := func(day, moment string) rollcall.StandingQuestion {
		q := on(day)
		q.AsKnownAt = c.instant(moment)
		return q
	}
	q := known("2024-11-18", "2024-11-18 20:00")
	for _, s := range c.ask(q, g.PairKit, g.Lead, "F1", five...) {
		assert.Equal(t, "CURRENT 2025-11-17", words([]rollcall.WorkerStanding{s})[0], s.WorkerID)
	}
	for _, s := range c.ask(known("2024-12-02", "2024-12-02 20:00"), g.PairKit, g.Lead, "F1", five...) {
		assert.Equal(t, competence.Lapsed, s.Standing, s.WorkerID)
		assert.Equal(t, 1, refusedAs(s, competence.AssessorNotCurrent), s.WorkerID)
	}
	assert.Equal(t, []string{"CURRENT 2024-10-16"}, words(c.ask(known("2024-10-16", "2024-12-02 20:00"), g.PairKit, g.Lead, "F1", "Sanna Kivela-Brooks")))
	for _, s := range c.ask(known("2024-12-19", "2024-12-20 20:00"), g.PairKit, g.Lead, "F1", s1...) {
		assert.Equal(t, competence.Current, s.Standing, s.WorkerID)
	}
	chidi := c.ask(known("2024-12-19", "2024-12-20 20:00"), g.PairKit, g.Lead, "F1", "Chidi Eastmarch")[0]
	assert.Equal(t, competence.Lapsed, chidi.Standing)
	assert.Equal(t, 1, refusedAs(chidi, competence.Withdrawn))
}

// refusedAs counts the entries refused for a reason.
func refusedAs(s rollcall.WorkerStanding, why competence.Reason) int {
	n := 0
	for _, r := range s.Refused {
		if r.Code == why {
			n++
		}
	}
	return n
}

// P23.
func TestAMissedHazardCheckSuspendsAtOnce(t *testing.T) {
	c := played(t)
	const luca = "Luca Ferrantino-Ware"
	ask := func(moment string) string {
		return words(c.ask(rollcall.StandingQuestion{At: c.instant(moment)}, g.PairKit, g.Lead, "F1", luca))[0]
	}
	assert.Equal(t, "CURRENT 2025-09-02", ask("2025-02-18 10:19"))
	assert.True(t, strings.HasPrefix(ask("2025-02-18 10:20"), "SUSPENDED"))
	assert.True(t, strings.HasPrefix(ask("2025-02-25 09:29"), "SUSPENDED"))
	assert.Equal(t, []string{"CURRENT 2026-02-24"}, words(c.ask(on("2025-02-25"), g.PairKit, g.Lead, "F1", luca)))
}

// P27.
func TestALongAbsenceHoldsSomebodyStillInDate(t *testing.T) {
	c := played(t)
	const meera = "Meera Chandrasekar-Holt"
	ask := func(day string) string { return words(c.ask(on(day), g.PairKit, g.Lead, "F4", meera))[0] }
	assert.Equal(t, "CURRENT 2025-03-11", ask("2024-11-13"))
	assert.Equal(t, "HELD 2025-03-11", ask("2025-02-18"), "back, and in date by the year alone")
	assert.Equal(t, "HELD 2025-03-11", ask("2025-03-03"))
	assert.Equal(t, "CURRENT 2026-03-03", ask("2025-03-04"))
}

// P35.
func TestAnApprenticeMayLeadFromTheThirdYear(t *testing.T) {
	c := played(t)
	const linh = "Linh Dao Trevant"
	assert.Equal(t, []string{"CURRENT 2026-04-07"}, words(c.ask(on("2025-05-01"), g.PairKit, g.Second, "F2", linh)))
	before := c.ask(on("2025-05-01"), g.PairKit, g.Lead, "F2", linh)[0]
	assert.Equal(t, competence.Never, before.Standing)
	assert.Positive(t, refusedAs(before, competence.GradeBarred))
	assert.Equal(t, []string{"CURRENT 2026-04-07"}, words(c.ask(on("2025-05-02"), g.PairKit, g.Lead, "F2", linh)))
}
