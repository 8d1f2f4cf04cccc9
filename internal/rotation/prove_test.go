package rotation

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// crowd makes a problem in which people are often in each other's way. Unlike drawn problems it is as large as it may be, and it is the same
// for the same seed.
func crowd(seed uint64, most size) Problem {
	rng := rand.New(rand.NewPCG(seed, 1))
	among := func(list ...string) string { return list[rng.IntN(len(list))] }
	p := blank()
	p.Start = groundhand.MustDate("2028-02-21").AddDays(rng.IntN(4))
	p.End = p.Start.AddDays(most.days - rng.IntN(4))
	p.VisitMinutes = 10 * rng.IntN(5)
	p.Qualifications[0].AimDaysBefore = rng.IntN(9)
	for i := range most.crews {
		c := Crew{ID: fmt.Sprintf("C%d", i), Yard: "Y1", Device: among("", "boom", "boom")}
		for range 1 + rng.IntN(2) {
			anyOf := [][]string{{"two", "lone"}, {"lone"}, {"aid"}, {"two", "aid"}}[rng.IntN(4)]
			c.Cover = append(c.Cover, CoverRule{anyOf, 1 + rng.IntN(2)})
		}
		p.Crews = append(p.Crews, c)
	}
	for i := range most.workers {
		p.Workers = append(p.Workers, crowdWorker(rng, p, i, most))
	}
	if rng.IntN(2) == 0 {
		p.Instructors[0].Worker = p.Workers[rng.IntN(len(p.Workers))].ID
	}
	for i := range most.slots {
		s := Slot{ID: fmt.Sprintf("S%d", i), Date: p.Start.AddDays(rng.IntN(most.days)), Part: among("am", "pm", "day"), Yard: among("Y1", "Y1", "Y2"),
			Device: among("boom", "boom", ""), Instructor: among("I1", "I2"), Truck: among("", "", "T1"), Seats: 1 + rng.IntN(4),
			MaxRuns: rng.IntN(6), Minutes: 60 * (1 + rng.IntN(4)), Cost: 1 + rng.IntN(2)}
		if i > 0 && rng.IntN(3) == 0 {
			s.Date = p.Slots[i-1].Date
		}
		s.Qualifications = [][]string{{"two"}, {"two", "lone"}, {"lone", "aid"}, {"aid"}, {"two", "lone", "aid"}}[rng.IntN(5)]
		p.Slots = append(p.Slots, s)
	}
	for range rng.IntN(1 + most.pins) {
		p.Pinned = append(p.Pinned, crowdPin(rng, p))
	}
	return p
}

func crowdWorker(rng *rand.Rand, p Problem, i int, most size) Worker {
	w := Worker{ID: fmt.Sprintf("W%d", i), Yard: []string{"Y1", "Y1", "Y2"}[rng.IntN(3)]}
	if rng.IntN(6) > 0 {
		w.Crew = p.Crews[rng.IntN(len(p.Crews))].ID
	}
	for _, q := range rng.Perm(3)[:1+rng.IntN(most.tickets)] {
		one := Ticket{Qualification: []string{"two", "lone", "aid"}[q]}
		if rng.IntN(8) > 0 {
			one.ValidThrough = p.Start.AddDays(rng.IntN(most.days+4) - 3)
		}
		if q != 2 && rng.IntN(2) == 0 {
			one.Device = "boom"
		}
		w.Tickets = append(w.Tickets, one)
	}
	if rng.IntN(3) == 0 {
		from := p.Start.AddDays(rng.IntN(most.days))
		w.Leave = []Stretch{{from, from.AddDays(rng.IntN(5))}}
	}
	if rng.IntN(3) == 0 {
		from := p.Start.AddDays(rng.IntN(most.days))
		w.Standby = []Stretch{{from, from.AddDays(rng.IntN(5))}}
	}
	return w
}

func crowdPin(rng *rand.Rand, p Problem) Pin {
	s, w := p.Slots[rng.IntN(len(p.Slots))], p.Workers[rng.IntN(len(p.Workers))]
	pin := Pin{Slot: s.ID, Worker: w.ID, Renews: []string{}}
	for _, one := range w.Tickets {
		if slices.Contains(s.Qualifications, one.Qualification) && rng.IntN(2) == 0 {
			pin.Renews = append(pin.Renews, one.Qualification)
		}
	}
	return pin
}

// fewWays are problems of which all plans can be tried, crowded ones the largest that are proved in a moment.
var (
	fewWays = []size{{days: 12, workers: 3, crews: 1, slots: 2, tickets: 1, pins: 1}, {days: 12, workers: 2, crews: 1, slots: 3, tickets: 1, pins: 1}}
	crowded = size{days: 24, workers: 9, crews: 2, slots: 10, tickets: 3, pins: 1}
)

// crowds is how many problems a law is tried on.
func crowds() uint64 {
	if os.Getenv("GROUNDHAND_MANY") != "" {
		return 1000
	}
	return 100
}

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
		plan := r.plan()
		require.Equal(t, figures, plan.Objective)
		require.Empty(t, Check(p, plan))
	}
	return figures, true
}

func TestProofsOfTinyProblemsAgainstEveryPlan(t *testing.T) {
	for seed := range crowds() {
		p := crowd(seed, fewWays[seed%2])
		want, feasible := bestOfAll(p)
		got, ok := best(t, p)
		require.Equal(t, feasible, ok, seed)
		require.Equal(t, want, got, seed)
	}
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
	for seed := range crowds() {
		rng, p := rand.New(rand.NewPCG(seed, 2)), crowd(seed, crowded)
		figures, ok := best(t, p)
		if !ok {
			continue
		}
		searched, _ := firstRoster(newGrid(p))
		one := searched.settleIslands(searched.snapshot(), seed)[0]
		one.cycle(func() bool { return false }, 200, 0)
		require.False(t, one.best.figures.Less(figures), "%v is better than what was proved best, %v", one.best.figures, figures)
		g := newGrid(p)
		r, _ := firstRoster(g)
		assertBelow(t, g.bound(figures.LapsedDays), figures)
		for _, work := range []int{0, 1, 2 + rng.IntN(3000)} {
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
	}
}

func assertBelow(t assert.TestingT, bound, figures Objective) {
	b, f := bound.Levels(), figures.Levels()
	for i := range b {
		assert.LessOrEqual(t, b[i], f[i], LevelNames[i])
	}
}

func TestMoreRoomNeverMakesTheBestWorse(t *testing.T) {
	for seed := range crowds() / 4 {
		rng, p := rand.New(rand.NewPCG(seed, 2)), crowd(seed, crowded)
		before, ok := best(t, p)
		if !ok {
			continue
		}
		p.Slots = slices.Clone(p.Slots)
		i := rng.IntN(len(p.Slots))
		switch rng.IntN(3) {
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
		if !ok {
			continue // the search for a plan that keeps the pins is given up after a while
		}
		require.False(t, before.Less(after), "%v, with more room %v", before, after)
	}
}

func TestNamesAndOrderChangeNoBound(t *testing.T) {
	for seed := range crowds() / 4 {
		rng, p := rand.New(rand.NewPCG(seed, 2)), crowd(seed, crowded)
		before, ok := best(t, p)
		if !ok {
			continue
		}
		o := relabelled(rng, p)
		after, ok := best(t, o)
		if !ok {
			continue
		}
		require.Equal(t, before, after)
		require.Equal(t, newGrid(p).bound(before.LapsedDays), newGrid(o).bound(before.LapsedDays))
	}
}

// relabelled is the same problem with other names, in another order.
func relabelled(rng *rand.Rand, p Problem) Problem {
	other := func(id string) string {
		if id == "" {
			return ""
		}
		return "new-" + id
	}
	p.Workers = shuffled(rng, p.Workers)
	for i := range p.Workers {
		p.Workers[i].ID, p.Workers[i].Crew = other(p.Workers[i].ID), other(p.Workers[i].Crew)
	}
	p.Crews = shuffled(rng, p.Crews)
	for i := range p.Crews {
		p.Crews[i].ID = other(p.Crews[i].ID)
	}
	p.Instructors = shuffled(rng, p.Instructors)
	for i := range p.Instructors {
		p.Instructors[i].Worker = other(p.Instructors[i].Worker)
	}
	p.Slots = shuffled(rng, p.Slots)
	for i := range p.Slots {
		p.Slots[i].ID = other(p.Slots[i].ID)
	}
	p.Pinned = slices.Clone(p.Pinned)
	for i := range p.Pinned {
		p.Pinned[i].Slot, p.Pinned[i].Worker = other(p.Pinned[i].Slot), other(p.Pinned[i].Worker)
	}
	return p
}

func shuffled[T any](rng *rand.Rand, list []T) []T {
	list = slices.Clone(list)
	rng.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
	return list
}

func TestAProofIsTheSameEachTime(t *testing.T) {
	for seed := range crowds() / 4 {
		rng, p := rand.New(rand.NewPCG(seed, 2)), crowd(seed, crowded)
		g := newGrid(p)
		r, ok := firstRoster(g)
		if !ok {
			continue
		}
		work := []int{1, 500, proofWork}[rng.IntN(3)]
		one := g.prove(context.Background(), r.snapshot(), work)
		again := newGrid(p).prove(context.Background(), r.snapshot(), work)
		require.Equal(t, one, again)
	}
}

// A large problem is looked at in all levels before any branching; what is learned then of the later levels must not reach the earlier ones.
func TestAGlanceFirstChangesNoProof(t *testing.T) {
	for seed := range crowds() / 4 {
		p := crowd(seed, crowded)
		figures, ok := best(t, p)
		if !ok {
			continue
		}
		g := newGrid(p)
		r, _ := firstRoster(g)
		start := r.snapshot()
		v := &prover{g: g, best: start, known: g.newKnown(start.figures), work: proofWork}
		v.glance(context.Background())
		for level := 1; level <= 6; level++ {
			v.proveLevel(context.Background(), level)
		}
		require.Equal(t, 6, v.proved, seed)
		require.Equal(t, figures, v.best.figures, seed)
	}
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
	for _, name := range examples {
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
