package runsheet

import (
	"context"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/groundhand"
)

// everySheet tries all runs in all orders with all timekeepers and gives the best figures, judged by the definitions alone; false when no
// sheet of so many runs gives everybody what he needs. It knows nothing of the planner.
func everySheet(p Problem, runs int) (best Figures, found bool) {
	var kinds []Run
	for _, a := range p.People {
		kinds = append(kinds, Run{Lone: a.ID})
		for _, b := range p.People {
			if a.ID != b.ID {
				kinds = append(kinds, Run{Lead: a.ID, Second: b.ID})
			}
		}
	}
	need := map[string]*Needs{}
	lacking := 0
	for i, w := range p.People {
		need[w.ID] = &p.People[i].Needs
		n := w.Needs
		need[w.ID] = &n
		lacking += max(0, n.Lead) + n.Second + n.Lone
	}
	s := Sheet{}
	judge := func() {
		if f := Recount(p, s); !found || f.Less(best) {
			best, found = f, true
		}
	}
	var keepers func(at int)
	keepers = func(at int) {
		if at == len(s.Runs) {
			judge()
			return
		}
		s.Runs[at].Timekeeper = ""
		free := false
		for _, w := range p.People {
			if !rescues(s.Runs[at], w.ID) {
				free = true
				s.Runs[at].Timekeeper = w.ID
				keepers(at + 1)
			}
		}
		if !free {
			keepers(at + 1)
		}
		s.Runs[at].Timekeeper = ""
	}
	var order func()
	order = func() {
		if lacking > 2*(runs-len(s.Runs)) {
			return // a run gives two people something at most
		}
		if len(s.Runs) == runs {
			keepers(0)
			return
		}
		for _, r := range kinds {
			gives := 0
			take := func(n *int, by int) {
				if by < 0 && *n > 0 {
					gives++
				}
				*n += by
			}
			change := func(by int) {
				if r.Lone != "" {
					take(&need[r.Lone].Lone, by)
					return
				}
				take(&need[r.Lead].Lead, by)
				take(&need[r.Second].Second, by)
			}
			change(-1)
			lacking -= gives
			s.Runs = append(s.Runs, r)
			order()
			s.Runs = s.Runs[:len(s.Runs)-1]
			lacking += gives
			change(1)
		}
	}
	order()
	return best, found
}

func TestPlanIsTheBestOfAllSheets(t *testing.T) {
	checks := 0
	for seed := 0; checks < 60; seed++ {
		p := problems(size{people: 4, needs: 2, runs: 4}).Filter(plannable).Example(seed)
		if len(p.People) > 3 && p.Fewest() > 3 {
			continue
		}
		checks++
		s := plan(t, p)
		best, found := everySheet(p, p.Fewest())
		require.True(t, found, "%d: %+v", seed, p)
		assert.Equal(t, best, s.Objective, "%d: %+v", seed, p)
		assert.Equal(t, 6, s.ProvedLevels, "%d: %+v", seed, p)
		if p.Fewest() > 0 {
			_, found = everySheet(p, p.Fewest()-1)
			assert.False(t, found, "%d: one run less does for %+v", seed, p)
		}
	}
}

func TestNoSheetSaysWhatDoesNotFit(t *testing.T) {
	for name, c := range map[string]struct {
		p    Problem
		want NoSheet
		says string
	}{
		"too few runs": {Problem{MaxRuns: 3, People: []Person{{"A", "C", Needs{1, 1, 1}}, {"B", "C", Needs{1, 1, 0}}, {"D", "C", Needs{0, 0, 1}}}}, NoSheet{3, 2, 2, ""},
			"max_runs: 2 pair runs and 2 lone runs are needed, 4 in all, and there is time for 3"},
		"a lead without a second":       {Problem{MaxRuns: 9, People: []Person{{"A", "C", Needs{1, 0, 0}}}}, NoSheet{9, 1, 0, "A"}, "people: A needs a run with a lead and a second"},
		"both":                          {Problem{MaxRuns: 1, People: []Person{{"A", "C", Needs{1, 1, 0}}}}, NoSheet{1, 2, 0, "A"}, "people: A needs"},
		"one learner wants both in one": {Problem{MaxRuns: 1, People: []Person{{"A", "C", Needs{1, 1, 0}}, {ID: "B"}}}, NoSheet{1, 2, 0, ""}, "2 pair runs and 0 lone runs"},
	} {
		require.NoError(t, c.p.Validate())
		_, err := Plan(context.Background(), c.p, Options{})
		var no *NoSheet
		require.ErrorAs(t, err, &no, name)
		assert.Equal(t, c.want, *no, name)
		assert.ErrorContains(t, err, c.says, name)
		assert.ErrorIs(t, err, groundhand.CodeConflict, name)
	}
}

func TestPlanRefusesWhatValidateRefuses(t *testing.T) {
	_, err := Plan(context.Background(), Problem{MaxRuns: -1}, Options{})
	assert.ErrorIs(t, err, groundhand.CodeInvalid)
	_, err = Year(context.Background(), Problem{MaxRuns: -1}, 2, Options{})
	assert.ErrorIs(t, err, groundhand.CodeInvalid)
}

func TestNobodyNeedsAnything(t *testing.T) {
	for _, p := range []Problem{{}, {People: []Person{{ID: "A"}}}, {People: []Person{{ID: "A"}, {ID: "B"}, {ID: "D"}}, MaxRuns: 4}} {
		s := plan(t, p)
		assert.Empty(t, s.Runs)
		assert.Equal(t, Figures{}, s.Objective)
		assert.Equal(t, 6, s.ProvedLevels)
		assert.Empty(t, Check(p, s))
	}
}

func TestOneAloneRescuesAloneAndTheInstructorKeepsTheTime(t *testing.T) {
	p := Problem{MaxRuns: 2, People: []Person{{"A", "C", Needs{0, 0, 2}}}}
	s := plan(t, p)
	assert.Equal(t, []Run{{Lone: "A"}, {Lone: "A"}}, s.Runs)
	assert.Equal(t, Figures{2, 0, 0, 1, 0, 0}, s.Objective)
	assert.Equal(t, 6, s.ProvedLevels)
}

func TestAPlanOutOfTimeIsStillSound(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	p := alike(12, Needs{1, 1, 1})
	p.PairedBefore = []Couple{{"P1", "P2", 3}, {"P3", "P9", 1}}
	s, err := Plan(ctx, p, Options{Seed: 1})
	require.NoError(t, err)
	assert.Empty(t, Check(p, s))
	assert.Less(t, s.ProvedLevels, 6, "there was no time to prove it")
}

func TestProgressGetsBetterAndStaysAboveItsBound(t *testing.T) {
	var seen []Progress
	s, err := Plan(context.Background(), alike(7, Needs{1, 1, 1}), Options{Seed: 1, Report: func(p Progress) { seen = append(seen, p) }})
	require.NoError(t, err)
	require.NotEmpty(t, seen)
	for i, p := range seen {
		assert.False(t, p.Best.Less(s.Objective), "step %d", i)
		assert.False(t, i > 0 && seen[i-1].Best.Less(p.Best), "step %d is worse than the one before", i)
	}
}

func TestRelabellingChangesNoFigure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems(size{people: 5, needs: 1, runs: 7}).Filter(plannable).Draw(t, "problem")
		other := Problem{Name: p.Name, MaxRuns: p.MaxRuns, People: rapid.Permutation(p.People).Draw(t, "order")}
		name := map[string]string{}
		for i, w := range other.People {
			name[w.ID] = fmt.Sprintf("%c", 'Z'-i)
		}
		other.People = slices.Clone(other.People)
		for i := range other.People {
			other.People[i].ID = name[other.People[i].ID]
		}
		for _, c := range p.PairedBefore {
			other.PairedBefore = append(other.PairedBefore, Couple{name[c.B], name[c.A], c.Times})
		}
		a, b := plan(t, p), plan(t, other)
		require.Equal(t, 6, a.ProvedLevels)
		assert.Equal(t, a.Objective, b.Objective)
	})
}

func TestMoreTimeAndMoreHelpNeverHurt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems(size{people: 5, needs: 1, runs: 7}).Filter(plannable).Draw(t, "problem")
		was := plan(t, p)
		more := p
		more.MaxRuns += rapid.IntRange(1, 5).Draw(t, "more runs")
		assert.False(t, was.Objective.Less(plan(t, more).Objective), "more time made it worse")

		helped := p
		helped.People = append(slices.Clone(p.People), Person{ID: "helper", Crew: rapid.SampledFrom([]string{"", "A"}).Draw(t, "helper's crew")})
		with := plan(t, helped).Objective
		assert.Equal(t, was.Objective.Runs, with.Runs, "a helper needs no run")
		assert.LessOrEqual(t, with.RepeatPairs, was.Objective.RepeatPairs, "a helper is one more partner")
	})
}
