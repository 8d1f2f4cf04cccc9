package rotation

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// firstRoster is a plan to start from; false when the pins clash.
func firstRoster(g *grid) (*roster, bool) {
	r, err := placePins(g)
	if err != nil {
		return nil, false
	}
	r.firstPlan(func() bool { return false })
	return r, true
}

// proveFrom proves from a first plan, and gives the best figures found.
func proveFrom(g *grid, r *roster, work int) (proof, Objective) {
	start := r.snapshot()
	out := g.prove(context.Background(), start, work)
	if out.better != nil {
		return out, out.better.figures
	}
	return out, start.figures
}

// best gives the figures that are proved best at all six levels, with a plan that has them.
func best(t require.TestingT, p Problem) (Objective, bool) {
	g := newGrid(p)
	r, ok := firstRoster(g)
	if !ok {
		return Objective{}, false
	}
	out, figures := proveFrom(g, r, proofWork)
	require.Equal(t, 6, out.proved, "%v of %v", out.bound, figures)
	require.Equal(t, figures, out.bound)
	if out.better != nil {
		r.restore(*out.better)
		plan := r.plan(proof{})
		require.Equal(t, figures, plan.Objective)
		require.Empty(t, Check(p, plan))
	}
	return figures, true
}

func TestProofsOfTinyProblemsAgainstEveryPlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems(tiny).Draw(t, "problem")
		want, feasible := bestOfAll(p)
		got, ok := best(t, p)
		require.Equal(t, feasible, ok)
		require.Equal(t, want, got)
	})
}

// bestOfAll tries every plan.
func bestOfAll(p Problem) (best Objective, feasible bool) {
	everyPlan(p, func(plan Plan) {
		c := newChecker(p, plan)
		c.checkSessions()
		c.checkPlaces()
		c.checkPins()
		if c.checkCover(); len(c.faults) > 0 {
			return
		}
		if o := c.recount(); !feasible || o.Less(best) {
			best, feasible = o, true
		}
	})
	return best, feasible
}

func TestNoBoundIsAboveTheBestFigures(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems(small).Draw(t, "problem")
		figures, ok := best(t, p)
		if !ok {
			return
		}
		g := newGrid(p)
		r, _ := firstRoster(g)
		assertBelow(t, g.bound(figures.LapsedDays), figures)
		for _, work := range []int{0, 1, rapid.IntRange(2, 3000).Draw(t, "work")} {
			out, reached := proveFrom(g, r, work)
			require.False(t, reached.Less(figures))
			levels, bound, top := reached.Levels(), out.bound.Levels(), figures.Levels()
			for i := range levels {
				require.LessOrEqual(t, bound[i], top[i], "%s with work %d: %v", LevelNames[i], work, out)
				if levels[i] != top[i] {
					break // from here on the bounds speak of plans that are as good as this one before
				}
			}
			require.GreaterOrEqual(t, 6, out.proved)
			require.Equal(t, levels[:out.proved], top[:out.proved])
		}
	})
}

func assertBelow(t assert.TestingT, bound, figures Objective) {
	b, f := bound.Levels(), figures.Levels()
	for i := range b {
		assert.LessOrEqual(t, b[i], f[i], LevelNames[i])
	}
}

func TestMoreRoomNeverMakesTheBestWorse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems(small).Draw(t, "problem")
		before, ok := best(t, p)
		if !ok {
			return
		}
		p.Slots = slices.Clone(p.Slots)
		i := rapid.IntRange(0, len(p.Slots)-1).Draw(t, "slot")
		switch rapid.IntRange(0, 2).Draw(t, "more") {
		case 0:
			p.Slots[i].Seats++
		case 1:
			p.Slots[i].MaxRuns++
		case 2:
			p.Instructors = append(slices.Clone(p.Instructors), Instructor{ID: "another"})
			another := p.Slots[i]
			another.ID, another.Instructor, another.Truck = "another", "another", ""
			p.Slots = append(p.Slots, another)
		}
		after, ok := best(t, p)
		require.True(t, ok)
		require.False(t, before.Less(after), "%v, with more room %v", before, after)
	})
}

func TestNamesAndOrderChangeNoBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems(small).Draw(t, "problem")
		before, ok := best(t, p)
		if !ok {
			return
		}
		o := relabelled(t, p)
		after, ok := best(t, o)
		require.True(t, ok)
		require.Equal(t, before, after)
		require.Equal(t, newGrid(p).bound(before.LapsedDays), newGrid(o).bound(before.LapsedDays))
	})
}

// relabelled is the same problem with other names, in another order.
func relabelled(t *rapid.T, p Problem) Problem {
	other := func(id string) string {
		if id == "" {
			return ""
		}
		return "new-" + id
	}
	p.Workers = slices.Clone(rapid.Permutation(p.Workers).Draw(t, "workers"))
	for i := range p.Workers {
		p.Workers[i].ID, p.Workers[i].Crew = other(p.Workers[i].ID), other(p.Workers[i].Crew)
	}
	if len(p.Crews) > 0 {
		p.Crews = slices.Clone(rapid.Permutation(p.Crews).Draw(t, "crews"))
	}
	for i := range p.Crews {
		p.Crews[i].ID = other(p.Crews[i].ID)
	}
	p.Instructors = slices.Clone(rapid.Permutation(p.Instructors).Draw(t, "instructors"))
	for i := range p.Instructors {
		p.Instructors[i].Worker = other(p.Instructors[i].Worker)
	}
	p.Slots = slices.Clone(rapid.Permutation(p.Slots).Draw(t, "slots"))
	for i := range p.Slots {
		p.Slots[i].ID = other(p.Slots[i].ID)
	}
	p.Pinned = slices.Clone(p.Pinned)
	for i := range p.Pinned {
		p.Pinned[i].Slot, p.Pinned[i].Worker = other(p.Pinned[i].Slot), other(p.Pinned[i].Worker)
	}
	return p
}

func TestAProofIsTheSameEachTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems(small).Draw(t, "problem")
		g := newGrid(p)
		r, ok := firstRoster(g)
		if !ok {
			return
		}
		work := rapid.SampledFrom([]int{1, 500, proofWork}).Draw(t, "work")
		one := g.prove(context.Background(), r.snapshot(), work)
		again := newGrid(p).prove(context.Background(), r.snapshot(), work)
		require.Equal(t, one, again)
	})
}

func TestAProofWithoutTimeGivesTheCheapBounds(t *testing.T) {
	g := newGrid(readExample(t, "e2-small"))
	r, ok := firstRoster(g)
	require.True(t, ok)
	over, end := context.WithCancel(context.Background())
	end()
	out := g.prove(over, r.snapshot(), proofWork)
	assert.Equal(t, g.bound(r.lapsed), out.bound)
	assert.Nil(t, out.better)
}

func TestProofsOfTheExamples(t *testing.T) {
	for _, name := range []string{"e1-alternating-crew", "e2-small", "e4-reasons"} {
		got, ok := best(t, readExample(t, name))
		require.True(t, ok)
		assert.Equal(t, readExpected(t, name).Objective, got, name)
	}
}

// generated gives problems of the independent generator with the figures that its independent exact solver proved best: a few, or many
// when GROUNDHAND_MANY is set.
func generated(t *testing.T, each func(name string, p Problem, want Objective)) {
	n := 8
	if os.Getenv("GROUNDHAND_MANY") != "" {
		n = 50
	}
	for i := range n {
		args := []string{"--size", "small", "--seed", strconv.Itoa(7000 + i), "--workers", strconv.Itoa(4 + i%7)}
		if i%5 == 4 {
			args = append(args, "--twist", "tight")
		}
		file, record := filepath.Join(t.TempDir(), "p.json"), filepath.Join(t.TempDir(), "best.json")
		python(t, "generate.py", append([]string{"-o", file}, args...)...)
		python(t, "solve_reference.py", file, "--solver", "cbc", "--limit", "40", "--record", record)
		var outside struct {
			Status    string
			Objective Objective
		}
		content, err := os.ReadFile(record)
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(content, &outside))
		if outside.Status != "optimal" {
			continue
		}
		content, err = os.ReadFile(file)
		require.NoError(t, err)
		p, err := Decode(content)
		require.NoError(t, err)
		each(fmt.Sprint(args), p, outside.Objective)
	}
}

func TestProofsAndStagesOfGeneratedProblems(t *testing.T) {
	needOutsideSolver(t)
	seen := 0
	generated(t, func(name string, p Problem, want Objective) {
		seen++
		got, ok := best(t, p)
		require.True(t, ok)
		assert.Equal(t, want, got, name)
		g := newGrid(p)
		r, _ := firstRoster(g)
		assert.Equal(t, want, bestOutside(t, g, r.figures()), name)
		assertBelow(t, g.bound(want.LapsedDays), want)
	})
	require.Positive(t, seen)
}

func TestStagesOfTheExamplesByAnOutsideSolver(t *testing.T) {
	needOutsideSolver(t)
	for _, name := range []string{"e1-alternating-crew", "e2-small", "e4-reasons"} {
		g := newGrid(readExample(t, name))
		r, ok := firstRoster(g)
		require.True(t, ok)
		assert.Equal(t, readExpected(t, name).Objective, bestOutside(t, g, r.figures()), name)
	}
}
