package rotation

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/groundhand"
)

// company makes up a large problem: crews of two to eight at some yards, tickets that lapse over the whole window, and enough slots, led by
// some of the workers and by others.
func company(seed uint64, workers, weeks int) Problem {
	m := &maker{rng: rand.New(rand.NewPCG(seed, 1)), p: Problem{Name: fmt.Sprintf("company of %d", workers), VisitMinutes: 30,
		Start: groundhand.MustDate("2027-03-01")}}
	m.p.End = m.p.Start.AddDays(7*weeks - 1)
	m.p.Qualifications = []Qualification{
		{ID: "two", PeoplePerRun: 2, ValidMonths: 12, AimDaysBefore: 21},
		{ID: "lone", PeoplePerRun: 1, ValidMonths: 12, AimDaysBefore: 21},
		{ID: "aid", ValidMonths: 24, AimDaysBefore: 28},
	}
	for i := range 6 {
		m.p.Yards = append(m.p.Yards, Yard{ID: fmt.Sprintf("Y%d", i)})
		for j := range i {
			m.p.Travel = append(m.p.Travel, Travel{fmt.Sprintf("Y%d", i), fmt.Sprintf("Y%d", j), 15 + m.rng.IntN(90)})
		}
	}
	for len(m.p.Workers) < workers {
		m.crew(min(2+m.rng.IntN(7), workers-len(m.p.Workers)))
	}
	m.slots(workers*weeks/40, max(3, workers/40))
	return m.p
}

type maker struct {
	rng *rand.Rand
	p   Problem
}

func (m *maker) crew(size int) {
	c := Crew{ID: fmt.Sprintf("C%d", len(m.p.Crews)), Yard: m.yard(), Device: m.device()}
	c.Cover = []CoverRule{{[]string{"two", "lone"}, 2}}
	if size > 3 && m.rng.IntN(2) == 0 {
		c.Cover = append(c.Cover, CoverRule{[]string{"aid"}, 2})
	}
	m.p.Crews = append(m.p.Crews, c)
	for range size {
		w := Worker{ID: fmt.Sprintf("W%d", len(m.p.Workers)), Crew: c.ID, Yard: c.Yard}
		if m.rng.IntN(50) == 0 {
			w.Crew = ""
		}
		w.Tickets = []Ticket{m.ticket([]string{"two", "two", "two", "lone"}[m.rng.IntN(4)], c.Device), m.ticket("aid", "")}
		from := m.day()
		w.Leave = []Stretch{{from, from.AddDays(3 + m.rng.IntN(12))}}
		m.p.Workers = append(m.p.Workers, w)
	}
}

// ticket lapses on some day of the year, so that in a window of a year nearly all are due; one in thirty was never held.
func (m *maker) ticket(qual, device string) Ticket {
	t := Ticket{Qualification: qual, Device: device}
	if m.rng.IntN(30) > 0 {
		t.ValidThrough = m.p.Start.AddDays(m.rng.IntN(400) - 5)
		t.Earliest = t.ValidThrough.AddDays(-60)
	}
	return t
}

func (m *maker) slots(n, instructors int) {
	for i := range instructors {
		in := Instructor{ID: fmt.Sprintf("I%d", i)}
		if m.rng.IntN(2) == 0 {
			in.Worker = m.p.Workers[m.rng.IntN(len(m.p.Workers))].ID
		}
		m.p.Instructors = append(m.p.Instructors, in)
	}
	for i := range n {
		s := Slot{ID: fmt.Sprintf("S%d", i), Date: m.day(), Part: []string{"am", "pm", "day"}[m.rng.IntN(3)], Yard: m.yard(),
			Instructor: fmt.Sprintf("I%d", m.rng.IntN(instructors)), Seats: 4 + m.rng.IntN(6), MaxRuns: 5 + m.rng.IntN(5), Minutes: 240, Cost: 1}
		switch m.rng.IntN(5) {
		case 0:
			s.Qualifications = []string{"aid"}
		default:
			s.Device, s.Qualifications = m.device(), []string{"two", "lone"}
		}
		if m.rng.IntN(3) == 0 {
			s.Truck = fmt.Sprintf("T%d", m.rng.IntN(instructors))
		}
		m.p.Slots = append(m.p.Slots, s)
	}
}

func (m *maker) yard() string   { return m.p.Yards[m.rng.IntN(len(m.p.Yards))].ID }
func (m *maker) device() string { return []string{"boom", "mast"}[m.rng.IntN(2)] }
func (m *maker) day() groundhand.Date {
	return m.p.Start.AddDays(m.rng.IntN(int(m.p.End-m.p.Start) + 1))
}

// soundRoster holds a roster against the checker, which shares nothing with the planner, and against its own sums.
func soundRoster(t *testing.T, r *roster) {
	t.Helper()
	plan := Plan{Problem: r.g.p.Name, Sessions: r.sessions(), Objective: r.figures()}
	assert.Empty(t, Check(r.g.p, plan), "hard rules and figures, F1 to F15")
}

func TestParcelsLeaveTheRosterSoundAfterEachPhase(t *testing.T) {
	p := company(7, 200, 26)
	require.NoError(t, p.Validate())
	r, err := placePins(newGrid(p))
	require.NoError(t, err)
	phases, last := 0, Objective{}
	r.improveInParcels(context.Background(), parcelPlan{seed: 3, rounds: 12_000, tickets: 60, report: func(at Progress) {
		soundRoster(t, r)
		if phases++; phases > 1 {
			assert.False(t, last.Less(at.Best) && last.BusiestInstructor >= at.Best.BusiestInstructor, "no phase makes the figures worse")
		}
		last = at.Best
	}})
	assert.Greater(t, phases, 3)
	assert.NotEmpty(t, r.sessions())
}

func TestPinsHoldInParcels(t *testing.T) {
	r, err := placePins(newGrid(company(8, 200, 26)))
	require.NoError(t, err)
	r.improveInParcels(context.Background(), parcelPlan{seed: 3, rounds: 500, tickets: 60})
	for _, session := range r.sessions()[:8] {
		for _, a := range session.Attend {
			pin := Pin{session.Slot, a.Worker, a.Renews}
			r.g.p.Pinned = append(r.g.p.Pinned, pin)
			require.True(t, r.pin(pin), "it is there already")
		}
	}
	r.improveInParcels(context.Background(), parcelPlan{seed: 4, rounds: 5_000, tickets: 60, report: func(Progress) { soundRoster(t, r) }})
}

func TestParcelsAreTheSameOnAnyNumberOfProcessors(t *testing.T) {
	p := company(9, 650, 52)
	require.True(t, newGrid(p).large(), "the way of large problems is what is looked at")
	plans := map[int]Plan{}
	for _, processors := range []int{1, 2} {
		before := runtime.GOMAXPROCS(processors)
		plan, err := Suggest(context.Background(), p, Options{Seed: 5, Rounds: 900})
		runtime.GOMAXPROCS(before)
		require.NoError(t, err)
		plans[processors] = plan
	}
	assert.Equal(t, plans[1], plans[2])
	assert.Empty(t, Check(p, plans[1]))
}

// ending is a context that ends when it has been asked so many times, so that the end comes at the same place whatever the clock says.
type ending struct {
	context.Context
	asks *int
}

func (e ending) Err() error {
	if *e.asks--; *e.asks < 0 {
		return context.Canceled
	}
	return nil
}

func TestAPlanIsSoundWheneverTheTimeRunsOut(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1)) // the asks are counted without a lock
	p := company(10, 200, 52)
	var renewed []int
	for _, asks := range []int{0, 1, 3, 20, 150, 2000} {
		r, err := placePins(newGrid(p))
		require.NoError(t, err)
		r.improveInParcels(ending{context.Background(), &asks}, parcelPlan{seed: 3, rounds: 100_000, tickets: 60})
		soundRoster(t, r)
		n := 0
		for _, list := range r.renews {
			n += len(list)
		}
		renewed = append(renewed, n)
	}
	assert.IsIncreasing(t, renewed[2:5], "a first plan that was cut short is a part of one: %v", renewed)
}

// Bytes of heap that the numbers of a problem of 2,000 workers and 52 weeks may take.
const mostGrid = 40 << 20

func TestTheNumbersOfALargeProblemStaySmall(t *testing.T) {
	p := company(11, 2000, 52)
	before := heap()
	g := newGrid(p)
	r := newRoster(g)
	assert.Less(t, heap()-before, int64(mostGrid))
	runtime.KeepAlive(g)
	runtime.KeepAlive(r)
}

func heap() int64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}

// BenchmarkScale plans companies of several sizes for a few seconds each and says how far it came; GROUNDHAND_PROBLEM names a file to plan instead.
func BenchmarkScale(b *testing.B) {
	if file := os.Getenv("GROUNDHAND_PROBLEM"); file != "" {
		content, err := os.ReadFile(file)
		require.NoError(b, err)
		p, err := Decode(content)
		require.NoError(b, err)
		benchmarkPlan(b, p)
		return
	}
	for _, workers := range []int{200, 2000, 20_000} {
		b.Run(fmt.Sprint(workers), func(b *testing.B) { benchmarkPlan(b, company(1, workers, 52)) })
	}
}

func benchmarkPlan(b *testing.B, p Problem) {
	limit := 20 * time.Second
	if given, err := time.ParseDuration(os.Getenv("GROUNDHAND_LIMIT")); err == nil {
		limit = given
	}
	for b.Loop() {
		ctx, cancel := context.WithTimeout(context.Background(), limit)
		start, first := time.Now(), time.Duration(0)
		var begun Objective
		plan, err := Suggest(ctx, p, Options{Seed: 1, Rounds: 1 << 40, Report: func(at Progress) {
			if first == 0 {
				first, begun = time.Since(start), at.Best
			}
		}})
		cancel()
		require.NoError(b, err)
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		b.Logf("%d workers: first plan in %.1f s %v, after %.0f s %v, bound %v, gap %d and %d, %d MB from the system", len(p.Workers), first.Seconds(),
			begun.Levels(), time.Since(start).Seconds(), plan.Objective.Levels(), plan.Bound.Levels(),
			plan.Objective.CrewDaysShort-plan.Bound.CrewDaysShort, plan.Objective.LapsedDays-plan.Bound.LapsedDays, m.Sys>>20)
	}
}

// A bound of level 2 that looks at the first days only must not exceed the one that looks at everything, which is checked elsewhere
// against proved figures.
func TestTheEarlyBoundIsNoHigherThanTheWholeOne(t *testing.T) {
	raised := 0
	for seed := range uint64(12) {
		p := company(seed, 40, 12)
		for i := range p.Workers[:20] { // more who were never trained than there are seats at first
			p.Workers[i].Tickets[0].ValidThrough = 0
		}
		for i := range p.Slots {
			p.Slots[i].Seats = 2
		}
		g := newGrid(p)
		least := 0
		for _, row := range g.tickets {
			if row.due {
				least += row.least
			}
		}
		early, whole := g.leastLapsedEarly(), g.leastLapsed()
		assert.LessOrEqual(t, early, whole, "seed %d", seed)
		assert.GreaterOrEqual(t, early, least)
		if early > least {
			raised++
		}
	}
	assert.Positive(t, raised, "somewhere the rush costs days")
}

func TestRandomProblemsStaySoundInTinyParcels(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems(small).Draw(t, "problem")
		g := newGrid(p)
		r, err := placePins(g)
		if err != nil {
			t.Skip("pins clash")
		}
		last, phases := Objective{}, 0
		how := parcelPlan{seed: rapid.Uint64().Draw(t, "seed"), rounds: 40 * g.due, tickets: rapid.IntRange(1, 6).Draw(t, "size")}
		how.report = func(at Progress) {
			plan := Plan{Problem: p.Name, Sessions: r.sessions(), Objective: r.figures()}
			require.Empty(t, Check(p, plan))
			if phases++; phases > 1 {
				now := at.Best
				now.BusiestInstructor = last.BusiestInstructor // each parcel sees only its own sessions
				require.False(t, last.Less(now), "%v after %v", now, last)
			}
			last = at.Best
		}
		r.improveInParcels(context.Background(), how)
	})
}

func TestALargePlanIsChangedAsLittleAsCanBe(t *testing.T) {
	p := company(9, 650, 52)
	old, err := Suggest(context.Background(), p, Options{Seed: 5, Rounds: 900})
	require.NoError(t, err)
	again, err := Suggest(context.Background(), p, Options{Seed: 6, Rounds: 900, Keep: &old})
	require.NoError(t, err)
	free, err := Suggest(context.Background(), p, Options{Seed: 6, Rounds: 900})
	require.NoError(t, err)
	assert.Empty(t, Check(p, again))
	assert.LessOrEqual(t, again.Objective.CrewDaysShort, old.Objective.CrewDaysShort)
	assert.Greater(t, sharedRenewals(old, again), 2*sharedRenewals(old, free), "the older plan is followed")
}

// sharedRenewals counts the renewals that two plans have in the same slot.
func sharedRenewals(a, b Plan) int {
	type renewal struct{ slot, worker, qual string }
	seen, n := map[renewal]bool{}, 0
	for _, s := range a.Sessions {
		for _, one := range s.Attend {
			for _, q := range one.Renews {
				seen[renewal{s.Slot, one.Worker, q}] = true
			}
		}
	}
	for _, s := range b.Sessions {
		for _, one := range s.Attend {
			for _, q := range one.Renews {
				if seen[renewal{s.Slot, one.Worker, q}] {
					n++
				}
			}
		}
	}
	return n
}
