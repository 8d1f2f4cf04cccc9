package rollcall_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// manyCrews makes line crews of three, each with two people current.
func (w *town) manyCrews(from, to int) {
	for i := from; i < to; i++ {
		names := []groundhand.WorkerID{"a", "b", "c"}
		for j := range names {
			names[j] += groundhand.WorkerID(fmt.Sprintf("-%03d", i))
		}
		w.crew(groundhand.CrewID(fmt.Sprintf("L%03d", i)), groundhand.LineCrew, groundhand.List{"F1", "F3"}, names...)
		w.run(names[0], "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
		w.assess(names[1], "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
		w.firstAid(names[0], "2025-02-03")
		w.firstAid(names[2], "2025-02-03")
	}
}

func (w *town) statements(ask func()) uint64 {
	before := w.store.Statements()
	ask()
	return w.store.Statements() - before
}

func TestStatementsDoNotGrowWithTheCrews(t *testing.T) {
	if underRace {
		t.Skip("minutes under the race detector, with nothing side by side; run without it in .ci/run")
	}
	w := newTown(t)
	w.run("gideon", "2024-09-12", groundhand.PairKit, groundhand.Lead, "F1")
	w.manyCrews(0, 3)
	company := func() {
		_, err := w.roll.Company(w.ctx, day("2025-06-10"))
		require.NoError(t, err)
	}
	jobs := func(crews int) func() {
		return func() {
			got, err := w.roll.JobsCover(w.ctx, w.at("2025-06-10 00:00"), w.at("2025-06-11 00:00"))
			require.NoError(t, err)
			require.Len(t, got, crews)
		}
	}
	book := func(from, to int) {
		for i := from; i < to; i++ {
			add(w, groundhand.Job{ID: groundhand.JobID(fmt.Sprintf("J%03d", i)), Recorded: w.told("2025-06-09"), CrewID: groundhand.CrewID(fmt.Sprintf("L%03d", i)), DeviceID: "A05",
				StartAt: w.at("2025-06-10 07:00"), EndAt: w.at("2025-06-10 15:00"), Aloft: 1, Near50V: groundhand.Yes, SiteKind: groundhand.FieldSite, CallPlan: groundhand.Yes})
		}
	}
	book(0, 3)
	few, fewJobs := w.statements(company), w.statements(jobs(3))
	w.manyCrews(3, 30)
	book(3, 30)
	assert.Equal(t, few, w.statements(company))
	assert.Equal(t, fewJobs, w.statements(jobs(30)))
	t.Logf("company %d statements, jobs %d", few, fewJobs)
}

func TestOneDayOfTheCompany(t *testing.T) {
	w := newTown(t)
	w.run("gideon", "2024-09-12", groundhand.PairKit, groundhand.Lead, "F1")
	w.manyCrews(0, 2)
	c, err := w.roll.Company(w.ctx, day("2025-06-10"))
	require.NoError(t, err)
	assert.Equal(t, groundhand.RuleSetID("R2"), c.RuleSetID)
	assert.Equal(t, 60, c.LeadDays)
	require.Len(t, c.Crews, 2)
	require.Len(t, c.Workers, 6)
	first, third := c.Crews[0].Families[0], c.Crews[0].Families[1]
	assert.Equal(t, "F1 2 false true READY", fmt.Sprint(first.FamilyID, " ", first.Rescuers, " ", first.BelowTwo(), " ", first.GroundCover, " ", first.Verdict))
	assert.Equal(t, "F3 0 true false NOT_READY", fmt.Sprint(third.FamilyID, " ", third.Rescuers, " ", third.BelowTwo(), " ", third.GroundCover, " ", third.Verdict))
	assert.Equal(t, []groundhand.WorkerID{"c-000"}, first.MayGoAloft)
	a := c.Workers[0]
	require.Len(t, a.Aerial(), 2)
	assert.Equal(t, "2026-02-02", a.Aerial()[0].LastGoodDay.String())
	assert.Equal(t, "2026-02-03", a.Aerial()[0].ChangesOn.String())
	assert.Len(t, a.NotCurrent(), 1, "F3 was never practised")

	w.away("a-000", groundhand.Leave, "2025-06-10 00:00", "2025-06-11 00:00")
	c, err = w.roll.Company(w.ctx, day("2025-06-10"))
	require.NoError(t, err)
	assert.Equal(t, 1, c.Crews[0].Families[0].Rescuers)
	assert.Equal(t, readiness.NotReady, c.Crews[0].Families[0].Verdict)
	assert.Equal(t, readiness.Ready, c.Crews[1].Families[0].Verdict)

	_, err = w.roll.Company(w.ctx, day("2023-06-10"))
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
}

func TestACompanyWithNobody(t *testing.T) {
	w := newTown(t)
	c, err := w.roll.Company(w.ctx, day("2025-06-10"))
	require.NoError(t, err)
	assert.Empty(t, c.Workers)
	assert.Empty(t, c.Crews)
}

// Half a crew in a storm, and visitors, are a crew for that time alone; a crew that lost its people is still looked at.
func TestACrewForATimeIsNoCrewAfterwards(t *testing.T) {
	w := newTown(t)
	w.crew("A", groundhand.LineCrew, groundhand.List{"F1"}, "ann", "bob")
	w.crew("B", groundhand.LineCrew, groundhand.List{"F1"})
	w.crew("HALF", groundhand.LineCrew, groundhand.List{"F1"})
	w.join("bob", "HALF", groundhand.Split, "2025-06-02", "2025-06-08")
	crews := func(on string) (out []groundhand.CrewID) {
		c, err := w.roll.Company(w.ctx, day(on))
		require.NoError(t, err)
		for _, d := range c.Crews {
			out = append(out, d.Crew.ID)
		}
		return out
	}
	assert.Equal(t, []groundhand.CrewID{"A", "B"}, crews("2025-06-01"))
	assert.Equal(t, []groundhand.CrewID{"A", "B", "HALF"}, crews("2025-06-08"))
	assert.Equal(t, []groundhand.CrewID{"A", "B"}, crews("2025-06-09"))
}
