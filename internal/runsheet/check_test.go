package runsheet

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestEachRuleIsFoundBroken(t *testing.T) {
	var broken []proposed
	for code, change := range map[string]func(p *Problem, s *Sheet){
		"R1": func(p *Problem, s *Sheet) { p.MaxRuns = 3 },
		"R2": func(p *Problem, s *Sheet) { s.Runs = append(s.Runs, Run{Lead: "P1", Timekeeper: "P2"}) },
		"R3": func(p *Problem, s *Sheet) { s.Runs = append(s.Runs, Run{Lone: "P9", Timekeeper: "P2"}) },
		"R4": func(p *Problem, s *Sheet) { s.Runs = append(s.Runs, Run{Lead: "P1", Second: "P1", Timekeeper: "P2"}) },
		"R5": func(p *Problem, s *Sheet) { s.Runs[0].Timekeeper = "" },
		"R6": func(p *Problem, s *Sheet) { s.Runs = s.Runs[1:] },
		"R7": func(p *Problem, s *Sheet) { s.Objective.WaitSquares-- },
	} {
		p := problemOf(t, "r1-four-alike")
		s := plan(t, p)
		p.MaxRuns, s.Runs = 9, slices.Clone(s.Runs)
		require.Empty(t, Check(p, s))
		change(&p, &s)
		var found []string
		for _, f := range Check(p, s) {
			found = append(found, f.Code)
			assert.NotEmpty(t, f.String())
		}
		assert.Equal(t, []string{code}, slices.Compact(found), code)
		broken = append(broken, proposed{p, s})
	}
	assert.Equal(t, slices.Repeat([]int{1}, len(broken)), python(t, broken...), "the independent checker finds them broken, too")
}

func TestBusyOrAbsentPeopleDoNotKeepTheTime(t *testing.T) {
	p := problemOf(t, "r1-four-alike")
	for _, who := range []string{"P9", plan(t, p).Runs[0].Lead, plan(t, p).Runs[0].Second} {
		s := plan(t, p)
		s.Runs[0].Timekeeper = who
		faults := Check(p, s)
		require.Len(t, faults, 1, who)
		assert.Equal(t, "R5", faults[0].Code)
		assert.Equal(t, who, faults[0].Person)
	}
}

// size bounds a random problem.
type size struct{ people, needs, runs int }

// problems draws problems in which people need different things, some nothing, and some were paired before.
func problems(most size) *rapid.Generator[Problem] {
	return rapid.Custom(func(t *rapid.T) Problem {
		p := Problem{Name: "drawn"}
		need := rapid.IntRange(0, most.needs)
		ordinary := rapid.Bool().Draw(t, "ordinary") // everybody leads once and is second once
		for i := range rapid.IntRange(1, most.people).Draw(t, "people") {
			w := Person{ID: fmt.Sprintf("P%d", i), Crew: rapid.SampledFrom([]string{"", "A", "A", "B"}).Draw(t, "crew")}
			if ordinary {
				w.Needs = Needs{1, 1, min(1, need.Draw(t, "lone"))}
			} else {
				w.Needs = Needs{need.Draw(t, "lead"), need.Draw(t, "second"), need.Draw(t, "lone")}
			}
			p.People = append(p.People, w)
			if p.Fewest() > most.runs {
				p.People[i].Needs = Needs{}
			}
			for j := range i {
				if rapid.IntRange(0, 2).Draw(t, "were paired") == 0 {
					p.PairedBefore = append(p.PairedBefore, Couple{p.People[j].ID, w.ID, rapid.IntRange(0, 3).Draw(t, "times")})
				}
			}
		}
		p.MaxRuns = p.Fewest() + rapid.IntRange(0, 2).Draw(t, "room")
		return p
	})
}

// plannable says that there is a sheet: somebody who needs a partner has somebody.
func plannable(p Problem) bool { return newDrill(p).fits(p.MaxRuns) == nil }

func TestRandomSheetsAreSoundRepeatableAndBounded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems(size{people: 6, needs: 2, runs: 8}).Filter(plannable).Draw(t, "problem")
		s := plan(t, p)
		assert.Empty(t, Check(p, s))
		assert.Equal(t, s, plan(t, p), "the same problem and seed give the same sheet")
		figures, bound := s.Objective.Levels(), s.Bound.Levels()
		assert.Equal(t, p.Fewest(), figures[0])
		for i := range bound {
			assert.LessOrEqual(t, bound[i], figures[i], LevelNames[i])
		}
	})
}

// The independent checker judges sheets as they are planned and sheets in which something was changed.
func TestTheIndependentCheckerAgrees(t *testing.T) {
	var cases []proposed
	var want []int
	for seed := range 240 {
		p := problems(size{people: 6, needs: 2, runs: 8}).Filter(plannable).Example(seed)
		s := plan(t, p)
		if seed%2 == 1 && len(s.Runs) > 0 {
			spoil(&s, p, seed)
		}
		cases, want = append(cases, proposed{p, s}), append(want, min(1, len(Check(p, s))))
	}
	for i, status := range python(t, cases...) {
		assert.Equal(t, want[i], status, "%+v", cases[i])
	}
	broken := 0
	for _, status := range want {
		broken += status
	}
	assert.Greater(t, broken, 40)
	assert.Greater(t, len(want)-broken, 100)
}

// spoil changes one thing, which may or may not break a rule.
func spoil(s *Sheet, p Problem, seed int) {
	s.Runs = slices.Clone(s.Runs)
	i, who := seed%len(s.Runs), p.People[seed%len(p.People)].ID
	switch r := &s.Runs[i]; seed / 2 % 7 {
	case 0:
		r.Timekeeper = who
	case 1:
		r.Timekeeper = ""
	case 2:
		s.Runs = slices.Delete(s.Runs, i, i+1)
	case 3:
		s.Runs = append(s.Runs, *r)
	case 4:
		slices.Reverse(s.Runs) // no figure changes
	case 5:
		s.Objective.PairCost++
	case 6:
		if r.Lone == "" {
			r.Second = who
		} else {
			r.Lone = who
		}
	}
}
