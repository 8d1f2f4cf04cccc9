package demo_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/competence"
	g "groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/store"
)

// P11: the week of the storm.

func (c company) stormJobs() map[g.JobID]seenJob {
	c.Helper()
	all, err := c.roll.JobsCover(c.ctx, c.instant("2025-01-20 00:00"), c.instant("2025-01-27 00:00"))
	require.NoError(c, err)
	out := map[g.JobID]seenJob{}
	for _, a := range all {
		require.NoError(c, a.Refused, a.Job.ID)
		out[a.Job.ID] = seenJob{verdict: a.Answer.Verdict, timeline: a.Answer.Timeline}
	}
	return out
}

func TestNineJobsOfTheStormChangeTheirVerdict(t *testing.T) {
	c := played(t)
	after := c.stormJobs()
	require.Len(t, after, 62)
	require.Len(t, script.eves, 62, "each was asked about on the evening before")
	changed := map[g.JobID][2]readiness.Verdict{}
	for id, now := range after {
		was := script.eves[id]
		midway := slices.ContainsFunc(now.timeline, func(s readiness.Stretch) bool { return s.Verdict != now.timeline[0].Verdict })
		if was.verdict != now.verdict || midway {
			changed[id] = [2]readiness.Verdict{was.verdict, now.verdict}
		} else {
			assert.Equal(t, readiness.Ready, now.verdict, id)
		}
	}
	const yes, no = readiness.Ready, readiness.NotReady
	assert.Equal(t, map[g.JobID][2]readiness.Verdict{
		"J-0120-M1": {no, yes}, "J-0121-M2": {no, yes}, "J-0122-M3": {no, yes}, "J-0124-M4": {no, yes}, // met on a local device before they leave
		"J-0121-V3B": {yes, no}, // the foreman is ill
		"J-0122-V1":  {yes, no}, // the truck stops at 11:05
		"J-0122-M3N": {no, no},  // Rena is good until midnight
		"J-0123-S2B": {yes, no}, // one of three goes home at ten
		"J-0124-V4":  {yes, no}, // one of two is ill
	}, changed)
}

func TestEighteenComeTwoAreRefusedAndFiveAreTakenOnPaper(t *testing.T) {
	c := played(t)
	employed, err := store.All[g.Employment](c.ctx, c.store)
	require.NoError(t, err)
	visitors := map[g.WorkerID]bool{}
	for _, e := range employed {
		if e.Relation == g.Visitor {
			visitors[e.WorkerID] = true
		}
	}
	assert.Len(t, visitors, 18)
	members, err := c.store.MembershipsOn(c.ctx, g.MustDate("2025-01-20"), g.MustDate("2025-01-26"))
	require.NoError(t, err)
	home := map[g.WorkerID]string{}
	for _, m := range members {
		assert.Equal(t, visitors[m.WorkerID], m.Reason == g.Storm, m.WorkerID)
		if m.Reason == g.Storm && m.ToOn != g.MustDate("2025-01-26") {
			home[m.WorkerID] = m.ToOn.String()
		}
	}
	refused := c.who("Kwame Lidgate", "Felix Nyqvist-Obi")
	assert.Equal(t, map[g.WorkerID]string{refused[0]: "2025-01-21", refused[1]: "2025-01-24"}, home, "refused and sent home on the day of their intake")
	for _, s := range c.ask(on("2025-01-26"), g.PairKit, g.Second, "F1", "Kwame Lidgate", "Felix Nyqvist-Obi") {
		assert.Equal(t, competence.Suspended, s.Standing)
	}

	paper, err := store.Standing[g.Provisional](c.ctx, c.store)
	require.NoError(t, err)
	require.Len(t, paper, 5)
	for _, p := range paper {
		assert.True(t, visitors[p.WorkerID])
		assert.Equal(t, "2025-01-26", p.ToOn.String())
	}
	selma := func(day string) string {
		return words(c.ask(on(day), g.PairKit, g.Second, "F1", "Selma Kuusik-Dean"))[0][:5]
	}
	assert.Equal(t, []string{"NEVER", "PROVI", "NEVER"}, []string{selma("2025-01-19"), selma("2025-01-26"), selma("2025-01-27")})
	for _, crew := range []g.CrewID{"M1", "M2", "M3", "M4", "V3B", "S2B"} {
		later, err := c.store.MembershipsOn(c.ctx, g.MustDate("2025-01-27"), g.MustDate("2025-01-27"))
		require.NoError(t, err)
		assert.False(t, slices.ContainsFunc(later, func(m g.Membership) bool { return m.CrewID == crew }), "nobody is in %s any more", crew)
	}
}

func TestAVisitorLapsesInTheMiddleOfTheWeek(t *testing.T) {
	c := played(t)
	rena := func(day string) []string { return words(c.ask(on(day), g.PairKit, g.Lead, "F3", "Rena Iwasaki-Flint")) }
	assert.Equal(t, []string{"CURRENT 2025-01-22"}, rena("2025-01-22"))
	assert.Equal(t, []string{"LAPSED 2025-01-22"}, rena("2025-01-23"))
	assert.Equal(t, []string{"CURRENT 2026-01-23"}, rena("2025-01-24"), "watched again on Friday")
	night := c.stormJobs()["J-0122-M3N"]
	require.Len(t, night.timeline, 2)
	assert.Equal(t, readiness.Ready, night.timeline[0].Verdict)
	assert.Equal(t, c.instant("2025-01-23 00:00"), night.timeline[1].From.At)
	assert.Equal(t, readiness.NotReady, night.timeline[1].Verdict)
}
