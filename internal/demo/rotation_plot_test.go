package demo_test

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/demo"
	g "groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
	"groundhand/internal/store"
)

// apart is the wish of the coordinator: no more than two of a crew in any six weeks.
var apart = rotation.Stagger{Most: 2, Days: 42}

// longPlan asks for the yearly practice of the crews to the end of June 2026, with sessions made of the devices, kits and assessors that
// are really there every other week.
func longPlan() rollcall.RotationAsk {
	return rollcall.RotationAsk{Name: "to the end of June", Start: g.MustDate("2025-06-12"), End: g.MustDate("2026-06-30"), Methods: []g.Method{g.PairKit},
		Holidays: demo.Holidays(), Offer: &rollcall.Offering{Weekdays: []string{"tue", "thu"}, EveryWeeks: 2}}
}

func suggestApart(ctx context.Context, p rotation.Problem) (rotation.Plan, error) {
	return rotation.Suggest(ctx, p, rotation.Options{Seed: 1, Rounds: 50, Stagger: &apart})
}

// P33. The window is longer than a practice is good for, so it is planned in two stages. Five of a crew would lapse after one day; after
// the plan no more than two of a crew do in any six weeks. Three cannot be placed: Greta and Beatriz are on long leave to August, and of
// the three of V2 whose drill on 24 June is promised, only two can renew together in June of the year after.
func TestARotationToTheEndOfNextJuneKeepsCrewsApart(t *testing.T) {
	c := played(t)
	stages, err := c.roll.RotationStages(c.ctx, longPlan(), suggestApart)
	require.NoError(t, err)
	require.Len(t, stages, 2, "longer than the shortest interval")

	unplaced := map[string]rotation.Choice{}
	for _, s := range stages {
		sound, err := rollcall.Sound(s.Problem, s.Plan, apart.Most)
		require.NoError(t, err)
		assert.Empty(t, sound.Faults)
		assert.NotEmpty(t, rotation.DrillDays(s.Problem, s.Plan))
		assert.Empty(t, sound.Below, "no crew is below cover because its own people are at a drill")
		assert.Empty(t, sound.Short, "nor on a day with a drill for any other reason")
		for _, u := range sound.Unplaced {
			unplaced[u.Worker] = u
		}
	}

	clusters := rollcall.StageClusters(stages)
	before, _ := rollcall.Largest(clusters.Before)
	_, after := rollcall.Largest(clusters.After)
	assert.Equal(t, 5, before, "in one day")
	assert.Equal(t, 2, after, "in any six weeks")
	assert.Empty(t, rollcall.Beyond(clusters.After, apart.Most))

	require.Len(t, unplaced, 3)
	last := stages[len(stages)-1].Problem
	for _, away := range c.who("Greta Halvorsby", "Beatriz Anjos-Teague") {
		u := unplaced[string(away)]
		assert.Empty(t, u.Others, "no session while they are there")
		assert.Zero(t, u.DaysLapsed, "and no day of work on which they are not current")
		assert.True(t, awayThroughout(last, u.Worker), u.Worker)
		delete(unplaced, u.Worker)
	}
	for who, u := range unplaced {
		assert.Contains(t, c.who("Dario Pellgrove", "Callum Reyvers", "Yusuf Demirkol-Ash"), g.WorkerID(who))
		assert.Equal(t, rotation.CrowdedOut, u.Reason)
		assert.Positive(t, u.DaysLapsed)
		require.NotEmpty(t, u.Others)
		for _, o := range u.Others {
			assert.NotEmpty(t, o.Rule, "something stands against %s", o.Slot)
		}
	}
	t.Logf("from %d in one day to %d in six weeks; %+v", before, after, rollcall.StagesTogether(stages))
}

// awayThroughout says that a worker is on leave from the first to the last day of a problem.
func awayThroughout(p rotation.Problem, worker string) bool {
	for _, w := range p.Workers {
		for _, l := range w.Leave {
			if w.ID == worker && l.From <= p.Start && p.End <= l.To {
				return true
			}
		}
	}
	return false
}

// P2, the heap behind the cliff: as known on that evening, all five of V2 lapse on one day if nobody drills.
func TestTheCliffOfV2IsAHeapOfFive(t *testing.T) {
	c := played(t)
	var before []rollcall.Cluster
	require.NoError(t, c.store.InPast(c.ctx, c.instant("2025-04-07 18:00"), func(then *store.Store) error {
		p, err := rollcall.New(then, c.zone).RotationProblem(c.ctx, rollcall.RotationAsk{Start: g.MustDate("2025-04-07"), End: g.MustDate("2025-06-06"),
			Methods: []g.Method{g.PairKit}})
		before = rollcall.Clusters(p, rotation.Plan{}).Before
		return err
	}))
	i := slices.IndexFunc(before, func(k rollcall.Cluster) bool { return k.Crew == "V2" })
	require.GreaterOrEqual(t, i, 0)
	day := g.MustDate("2025-06-05")
	heap := rollcall.Heap{Tickets: 5, From: day, To: day}
	for _, who := range c.who("Ifeoma Castellane", "Dario Pellgrove", "Hana Sotomura", "Callum Reyvers", "Yusuf Demirkol-Ash") {
		heap.Workers = append(heap.Workers, string(who))
	}
	assert.Equal(t, rollcall.Cluster{Crew: "V2", Qualification: string(g.PairKit), OneDay: heap, SixWeeks: heap}, before[i])
}
