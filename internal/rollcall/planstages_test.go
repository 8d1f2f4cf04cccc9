package rollcall_test

import (
	"context"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
)

func suggest(ctx context.Context, p rotation.Problem) (rotation.Plan, error) {
	return rotation.Suggest(ctx, p, rotation.Options{Seed: 1, Rounds: 400})
}

// nightCrew is a crew of two that practises alone every six months, in the yearly company of the town.
func nightCrew(t *testing.T) *town {
	w := planTown(t)
	w.crew("N1", groundhand.FaultCrew, groundhand.List{"F1"}, "dan", "eve")
	w.run("dan", "2025-02-03", groundhand.LoneKit, groundhand.Lone, "F1")
	w.run("eve", "2025-04-07", groundhand.LoneKit, groundhand.Lone, "F1")
	return w
}

func thirteenMonths() rollcall.RotationAsk {
	return rollcall.RotationAsk{Start: day("2025-06-11"), End: day("2026-06-30"), Methods: []groundhand.Method{groundhand.PairKit, groundhand.LoneKit},
		Offer: &rollcall.Offering{Weekdays: []string{"tue", "thu"}}}
}

// The lone method is good for six months, and one aims 21 days before: 11 June to 11 December, of which the last 22 days look ahead; from
// 20 November to 20 May likewise; from 29 April to the end.
func TestALongWindowIsPlannedInStages(t *testing.T) {
	w := nightCrew(t)
	ask := thirteenMonths()
	stages, err := w.roll.RotationStages(w.ctx, ask, suggest)
	require.NoError(t, err)
	var windows [][3]string
	for _, s := range stages {
		windows = append(windows, [3]string{s.Problem.Start.String(), s.Problem.End.String(), s.Through.String()})
		assert.Empty(t, rotation.Check(s.Problem, s.Plan))
		for _, slot := range s.Problem.Slots {
			assert.True(t, s.Problem.Start <= slot.Date && slot.Date <= s.Through, slot.ID)
		}
	}
	assert.Equal(t, [][3]string{{"2025-06-11", "2025-12-11", "2025-11-19"}, {"2025-11-20", "2026-05-20", "2026-04-28"}, {"2026-04-29", "2026-06-30", "2026-06-30"}}, windows)

	// dan practised on 3 February and eve on 7 April, so they are good through 2 August and 6 October
	assert.Equal(t, day("2025-08-02"), workerOf(t, stages[0].Problem, "dan").Tickets[0].ValidThrough)
	assert.Equal(t, day("2025-10-06"), workerOf(t, stages[0].Problem, "eve").Tickets[0].ValidThrough)
	on := renewedOn(stages[0], "dan", "LONE_KIT")
	require.NotZero(t, on)
	assert.Equal(t, on.AddMonths(6), workerOf(t, stages[1].Problem, "dan").Tickets[0].ValidThrough)
	assert.Equal(t, lapsedDayByDay(stages), rollcall.StagesTogether(stages).LapsedDays)
	cal := workerOf(t, stages[1].Problem, "cal").Tickets[0]
	assert.Equal(t, renewedOn(stages[0], "cal", "PAIR_KIT").AddMonths(12), cal.ValidThrough, "a year's ticket is renewed once")

	p, plan := rollcall.Together(stages)
	assert.Equal(t, "from 2025-06-11", p.Name)
	assert.Equal(t, day("2026-06-30"), p.End)
	assert.Len(t, plan.Sessions, len(stages[0].Plan.Sessions)+len(stages[1].Plan.Sessions)+len(stages[2].Plan.Sessions))
	assert.Equal(t, rollcall.StagesTogether(stages), plan.Objective)
	assert.Equal(t, len(plan.Sessions), plan.Objective.SessionCost)
}

func renewedOn(s rollcall.Stage, worker, qualification string) (on groundhand.Date) {
	for _, held := range s.Plan.Sessions {
		for _, a := range held.Attend {
			for _, q := range a.Renews {
				if a.Worker == worker && q == qualification {
					on = dateOf(s.Problem, held.Slot)
				}
			}
		}
	}
	return on
}

func dateOf(p rotation.Problem, slot string) groundhand.Date {
	for _, s := range p.Slots {
		if s.ID == slot {
			return s.Date
		}
	}
	return 0
}

// lapsedDayByDay walks through all days with one state a ticket. Everybody of the town has one ticket, and all devices are of their family.
func lapsedDayByDay(stages []rollcall.Stage) int {
	n, first := 0, stages[0].Problem
	for _, w := range first.Workers {
		for _, ticket := range w.Tickets {
			good, renewed := ticket.ValidThrough, groundhand.Date(0)
			for d := first.Start; d <= stages[len(stages)-1].Through; d++ {
				if renewed != 0 {
					good, renewed = renewed, 0
				}
				if atWork(w, d) && d > good {
					n++
				}
				for _, s := range stages {
					if renewedOnDay(s, w.ID, ticket.Qualification, d) {
						renewed = d.AddMonths(map[string]int{"PAIR_KIT": 12, "LONE_KIT": 6}[ticket.Qualification])
					}
				}
			}
		}
	}
	return n
}

func renewedOnDay(s rollcall.Stage, worker, qualification string, d groundhand.Date) bool {
	return d >= s.Problem.Start && d <= s.Through && renewedOn(s, worker, qualification) == d
}

func atWork(w rotation.Worker, d groundhand.Date) bool {
	for _, l := range w.Leave {
		if l.From <= d && d <= l.To {
			return false
		}
	}
	return d.Weekday() != time.Saturday && d.Weekday() != time.Sunday
}

// What is posed is a plain file that comes back as it was, and the independent checker, which lies beside the project, accepts the plans.
func TestStagesAreFilesThatOthersJudge(t *testing.T) {
	w := nightCrew(t)
	w.away("gideon", groundhand.Leave, "2025-07-21 00:00", "2025-07-26 00:00")
	stages, err := w.roll.RotationStages(w.ctx, thirteenMonths(), suggest)
	require.NoError(t, err)
	for _, s := range stages {
		posed, err := json.Marshal(s.Problem)
		require.NoError(t, err)
		back, err := rotation.Decode(posed)
		require.NoError(t, err)
		again, err := json.Marshal(back)
		require.NoError(t, err)
		assert.JSONEq(t, string(posed), string(again))
		assert.Empty(t, rotation.Check(back, s.Plan))
		judgedOutside(t, posed, s.Plan)
	}
}

func judgedOutside(t *testing.T, problem []byte, plan rotation.Plan) {
	t.Helper()
	shared := os.Getenv("GROUNDHAND_SHARED")
	if shared == "" {
		return
	}
	made, err := json.Marshal(plan)
	require.NoError(t, err)
	dir := t.TempDir()
	asked, answered := filepath.Join(dir, "problem.json"), filepath.Join(dir, "plan.json")
	require.NoError(t, os.WriteFile(asked, problem, 0o600))
	require.NoError(t, os.WriteFile(answered, made, 0o600))
	out, err := exec.Command("python3", filepath.Join(shared, "rotation", "check_plan.py"), asked, answered).CombinedOutput()
	require.NoError(t, err, "%s", out)
}

func TestAShortWindowIsOneStage(t *testing.T) {
	w := planTown(t)
	posed := w.posed(summer()).Problem
	stages, err := w.roll.RotationStages(w.ctx, summer(), suggest)
	require.NoError(t, err)
	require.Len(t, stages, 1)
	assert.Equal(t, posed, stages[0].Problem)
	assert.Equal(t, stages[0].Plan.Objective, stages[0].Figures)
}

func TestAPlannerThatFailsStopsTheStages(t *testing.T) {
	w := nightCrew(t)
	broken := errors.New("no plan")
	asked := 0
	_, err := w.roll.RotationStages(w.ctx, thirteenMonths(), func(ctx context.Context, p rotation.Problem) (rotation.Plan, error) {
		if asked++; asked == 2 {
			return rotation.Plan{}, broken
		}
		return suggest(ctx, p)
	})
	assert.ErrorIs(t, err, broken)
}

// What is promised in a later stage binds there and not before.
func TestPromisesBindInTheirStage(t *testing.T) {
	w := nightCrew(t)
	ask := thirteenMonths()
	ask.Pins = []rotation.Pin{{Slot: "Y1/2026-01-13/am/gideon/A05", Worker: "dan", Renews: []string{"LONE_KIT"}}}
	stages, err := w.roll.RotationStages(w.ctx, ask, suggest)
	require.NoError(t, err)
	assert.NotContains(t, stages[0].Problem.Pinned, ask.Pins[0])
	assert.Contains(t, stages[1].Problem.Pinned, ask.Pins[0])
	assert.Equal(t, day("2026-01-13"), renewedOn(stages[1], "dan", "LONE_KIT"))
}
