package runsheet

import (
	"context"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// meetings counts how often every two of some people are in one group of one round, and fails when somebody is in two groups at once.
func meetings(t *testing.T, rounds [][][]int) map[[2]int]int {
	t.Helper()
	out := map[[2]int]int{}
	for _, round := range rounds {
		seen := map[int]bool{}
		for _, group := range round {
			for i, a := range group {
				require.False(t, seen[a], "%d is in two groups of a round", a)
				seen[a] = true
				for _, b := range group[:i] {
					out[[2]int{min(a, b), max(a, b)}]++
				}
			}
		}
	}
	return out
}

func assertEveryPairOnce(t *testing.T, people int, rounds [][][]int) {
	t.Helper()
	met := meetings(t, rounds)
	assert.Len(t, met, people*(people-1)/2)
	for pair, times := range met {
		assert.Equal(t, 1, times, "%v", pair)
	}
}

// mostRounds is how many rounds groups of a size can have in which nobody meets the same person twice, by counting: each round has size-1
// others in it for everybody.
func mostRounds(groups, size int) int { return (groups*size - 1) / (size - 1) }

func asGroups(rounds [][][2]int) [][][]int {
	var out [][][]int
	for _, round := range rounds {
		var groups [][]int
		for _, pair := range round {
			groups = append(groups, pair[:])
		}
		out = append(out, groups)
	}
	return out
}

// n(n-1)/2 pairs in n-1 rounds for an even number of people and in n for an odd one: the round-robin tournament by the circle method.
func TestRoundsLetEverybodyMeetEverybodyOnce(t *testing.T) {
	for people := 2; people <= 20; people++ {
		rounds := Rounds(people)
		assertEveryPairOnce(t, people, asGroups(rounds))
		for _, round := range rounds {
			assert.Len(t, round, people/2, "%d people: at most one rests", people)
		}
		if people%2 == 0 {
			assert.Len(t, rounds, people-1)
			assert.Len(t, rounds, mostRounds(people/2, 2), "no more rounds than counting allows")
		} else {
			assert.Len(t, rounds, people)
		}
	}
	assert.Empty(t, slices.Concat(Rounds(1)...))
	assert.Empty(t, slices.Concat(Rounds(0)...))
}

// schedules goes through all sets of rounds in which every two of an even number of people meet once; round k has the pair of 0 and k.
func schedules(people int, visit func(rounds [][][2]int)) {
	used := map[[2]int]bool{}
	rounds := make([][][2]int, people-1)
	var fill func(k int, free []int)
	fill = func(k int, free []int) {
		if len(free) == 0 {
			if k+1 == len(rounds) {
				visit(rounds)
				return
			}
			fill(k+1, all(people))
			return
		}
		a := free[0]
		for _, b := range free[1:] {
			pair := [2]int{a, b}
			if used[pair] || a == 0 && b != k+1 {
				continue
			}
			used[pair] = true
			rounds[k] = append(rounds[k], pair)
			fill(k, slices.DeleteFunc(slices.Clone(free), func(x int) bool { return x == a || x == b }))
			rounds[k] = rounds[k][:len(rounds[k])-1]
			used[pair] = false
		}
	}
	fill(0, all(people))
}

func all(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// 1, 1, 6 and 6240 round-robin schedules for 2, 4, 6 and 8 people (OEIS A000438), and Rounds is one of them.
func TestRoundsAreOneOfAllSchedules(t *testing.T) {
	for people, want := range map[int]int{2: 1, 4: 1, 6: 6, 8: 6240} {
		ours := Rounds(people)
		for _, round := range ours {
			slices.SortFunc(round, func(a, b [2]int) int { return a[0] - b[0] })
		}
		slices.SortFunc(ours, func(a, b [][2]int) int { return a[0][1] - b[0][1] })
		count, found := 0, 0
		schedules(people, func(rounds [][][2]int) {
			count++
			if fmt.Sprint(rounds) == fmt.Sprint(ours) {
				found++
			}
		})
		assert.Equal(t, want, count, "%d people", people)
		assert.Equal(t, 1, found, "%d people", people)
	}
}

// Permutations without fixed points, 0 to 9 people (derangements), and those without 2-cycles either (OEIS A038205): whoever leads once and is
// second once is a place in such a permutation, and a couple that repeats is a 2-cycle of it.
func TestPairingsOfPeopleAlikeAreDerangements(t *testing.T) {
	derangements := []int{1, 0, 1, 2, 9, 44, 265, 1854, 14833, 133496}
	without2Cycles := []int{1, 0, 0, 2, 6, 24, 160, 1140, 8988, 80864}
	for people := range derangements {
		d := newDrill(alike(people, Needs{1, 1, 0}))
		s := &pairSearch{d: d, ctx: context.Background(), left: 1 << 30, all: true}
		count, free := 0, 0
		s.each(func(pairing) {
			count++
			if s.repeats == 0 {
				free++
			}
		})
		assert.True(t, s.whole)
		assert.Equal(t, derangements[people], count, "%d people", people)
		assert.Equal(t, without2Cycles[people], free, "%d people", people)
	}
}

// Fifteen people in groups of three, on seven days, every pair once (Kirkman 1850): one such day over two rings of seven and one in the
// middle, in which every difference comes once, moves on by a place each day.
func TestKirkmansFifteenCanBeBuilt(t *testing.T) {
	const ring, middle = 7, 14
	orbit := func(a, b int) [3]int { // of a pair under moving on
		a, b = min(a, b), max(a, b)
		switch {
		case b == middle:
			return [3]int{a / ring, 2, 0}
		case a/ring == b/ring:
			return [3]int{a / ring, a / ring, min((b-a)%ring, ring-(b-a)%ring)}
		}
		return [3]int{0, 1, ((b-a)%ring + ring) % ring}
	}
	used := map[[3]int]bool{}
	var day [][]int
	var build func(free []int) bool
	build = func(free []int) bool {
		if len(free) == 0 {
			return true
		}
		for i := 1; i < len(free); i++ {
			for j := i + 1; j < len(free); j++ {
				group := []int{free[0], free[i], free[j]}
				orbits := [][3]int{orbit(group[0], group[1]), orbit(group[0], group[2]), orbit(group[1], group[2])}
				if used[orbits[0]] || used[orbits[1]] || used[orbits[2]] || orbits[0] == orbits[1] || orbits[0] == orbits[2] || orbits[1] == orbits[2] {
					continue
				}
				for _, o := range orbits {
					used[o] = true
				}
				day = append(day, group)
				if build(slices.DeleteFunc(slices.Clone(free), func(x int) bool { return slices.Contains(group, x) })) {
					return true
				}
				day = day[:len(day)-1]
				for _, o := range orbits {
					used[o] = false
				}
			}
		}
		return false
	}
	require.True(t, build(all(middle+1)))
	var days [][][]int
	for shift := range ring {
		var groups [][]int
		for _, group := range day {
			var moved []int
			for _, who := range group {
				if who != middle {
					who = who/ring*ring + (who%ring+shift)%ring
				}
				moved = append(moved, who)
			}
			groups = append(groups, moved)
		}
		days = append(days, groups)
	}
	assertEveryPairOnce(t, middle+1, days)
	assert.Len(t, days, mostRounds(5, 3), "as many days as counting allows")
}

// At most floor((gp-1)/(p-1)) rounds of g groups of p without a repeated pair.
func TestCountingBoundsTheRoundsOfGroups(t *testing.T) {
	for _, c := range [][3]int{{8, 4, 10}, {5, 3, 7}, {5, 4, 6}, {4, 4, 5}, {3, 3, 4}} {
		assert.Equal(t, c[2], mostRounds(c[0], c[1]), "%d groups of %d", c[0], c[1])
	}
}

// Row-complete Latin squares: every two follow each other in some row exactly once, for every even order by the rule of Williams (1949): the
// first row goes 0, 1, n-1, 2, n-2, ..., the others are moved on. Cut into pairs of neighbours, the rows are rounds like those of Rounds.
func TestWilliamsSquaresAreRowComplete(t *testing.T) {
	for order := 2; order <= 12; order += 2 {
		follows, columns, pairs := map[[2]int]int{}, make([]map[int]bool, order), map[[2]int]int{}
		for row := range order {
			seen, last := map[int]bool{}, nobody
			for at := range order {
				v := (at + 1) / 2
				if at%2 == 0 {
					v = (order - at/2) % order
				}
				v = (v + row) % order
				seen[v] = true
				if columns[at] == nil {
					columns[at] = map[int]bool{}
				}
				columns[at][v] = true
				if last != nobody {
					follows[[2]int{last, v}]++
					pairs[[2]int{min(last, v), max(last, v)}]++
				}
				last = v
			}
			assert.Len(t, seen, order)
		}
		for _, column := range columns {
			assert.Len(t, column, order)
		}
		assert.Len(t, follows, order*(order-1), "order %d: every two follow each other, in both ways", order)
		met := meetings(t, asGroups(Rounds(order)))
		for pair, times := range pairs {
			assert.Equal(t, 2*met[pair], times, "twice as often as they meet in the rounds")
		}
	}
}

// Whoever leads once and is second once has two partners in a drill, so a crew of n needs (n-1)/2 drills, rounded up, and no more.
func TestAYearBringsACrewTogether(t *testing.T) {
	for people := 3; people <= 8; people++ {
		p := alike(people, Needs{1, 1, 0})
		drills := people / 2
		year, err := Year(context.Background(), p, drills, Options{Seed: 1})
		require.NoError(t, err)
		require.Len(t, year, drills)
		met, before := map[[2]string]int{}, 0
		for i, drill := range year {
			require.Empty(t, Check(drill.Problem, drill.Sheet), "%d people, drill %d", people, i)
			assert.Zero(t, drill.Sheet.Objective.RepeatPairs)
			assert.GreaterOrEqual(t, drill.Sheet.ProvedLevels, 4, "%d people, drill %d", people, i)
			before += drill.Sheet.Objective.PairCost
			for _, r := range drill.Sheet.Runs {
				met[coupleKey(r.Lead, r.Second)]++
			}
		}
		assert.Len(t, met, people*(people-1)/2, "%d people: everybody met everybody", people)
		assert.Equal(t, drills*people-len(met), before, "%d people: nobody met more often than had to be", people)
	}
}

func TestAYearLeavesWhatWasPairedBeforeToTheFigures(t *testing.T) {
	p := alike(4, Needs{1, 1, 0})
	p.PairedBefore = []Couple{{"P1", "P2", 2}}
	p.People[3].Crew = ""
	year, err := Year(context.Background(), p, 2, Options{Seed: 1})
	require.NoError(t, err)
	assert.Equal(t, p, year[0].Problem)
	assert.Equal(t, year[0].Problem.After(year[0].Sheet), year[1].Problem)
	none, err := Year(context.Background(), p, 0, Options{})
	require.NoError(t, err)
	assert.Empty(t, none)
	p.MaxRuns = 3
	_, err = Year(context.Background(), p, 1, Options{})
	var no *NoSheet
	assert.ErrorAs(t, err, &no)
}
