package competence

import (
	"fmt"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// fifty are fifty entries of one person over ten years: a run every eleven weeks, some of them passes before Gideon.
func fifty(person string) []Entry {
	var out []Entry
	for i := range 50 {
		id, when := fmt.Sprintf("%s-%02d", person, i), day("2014-01-06").AddDays(77*i).String()
		if i%5 == 4 {
			out = append(out, pass(id, person, when))
		} else {
			out = append(out, run(id, person, when))
		}
	}
	return out
}

func cost() []Entry {
	out := append(gideon(), fifty("W")...)
	for i := range 11 {
		out = append(out, run(fmt.Sprintf("g%d", i), "Gideon", day("2013-12-01").AddDays(330*i).String()))
	}
	return append(out, authority("g-early", "Gideon", "2013-01-01"))
}

func early() []RuleSet {
	sets := usual()
	sets[0].EffectiveFrom = day("2010-01-01")
	return sets
}

// A course goes from turning day to turning day: ten times the days with the same spans cost the same. After 2025 nothing turns.
func TestCourseAllocatesBySpansNotByDays(t *testing.T) {
	b := bookOf(t, "Europe/Dublin", early(), cost()...)
	from := day("2020-01-01")
	spans := func(through groundhand.Date) int {
		s, err := b.Course(asking("W", "2020-01-01"), Period{from, through})
		require.NoError(t, err)
		return len(s)
	}
	allocations := func(through groundhand.Date) float64 { return testing.AllocsPerRun(20, func() { spans(through) }) }
	ten, hundred := from.AddDays(3653), from.AddDays(36530)
	require.Equal(t, spans(ten), spans(hundred))
	require.Greater(t, spans(ten), 5)
	assert.Equal(t, allocations(ten), allocations(hundred))
	assert.Less(t, allocations(hundred), 60.0)
}

func TestChangesOnAllocatesNothingByDays(t *testing.T) {
	near, far := usual(func(l *Line) { l.Interval.Months = 1 }), usual(func(l *Line) { l.Interval.Months = 120 })
	allocations := func(rules []RuleSet) float64 {
		b := bookOf(t, "Europe/Dublin", rules, run("r", "W", "2024-02-01"))
		return testing.AllocsPerRun(20, func() { answer(t, b, asking("W", "2024-02-01")) })
	}
	assert.Equal(t, allocations(near), allocations(far))
}

// A book may be asked from several goroutines at once; the memo of assessors must not mix their answers up.
func TestABookAnswersManyAtOnceAsOneByOne(t *testing.T) {
	b := bookOf(t, "Europe/Dublin", early(), cost()...)
	alone := bookOf(t, "Europe/Dublin", early(), cost()...)
	q := asking("W", "2020-01-01")
	q.Course = Period{day("2014-01-01"), day("2026-01-01")}
	want := answer(t, alone, q)
	got := make([]Answer, 16)
	var all sync.WaitGroup
	for i := range got {
		all.Go(func() { got[i], _ = b.Standing(q) })
	}
	all.Wait()
	for i := range got {
		assert.Equal(t, want, got[i])
	}
}

func BenchmarkStandingOfOneWorker(b *testing.B) {
	book := bookOf(b, "Europe/Dublin", early(), cost()...)
	q := asking("W", "2024-06-01")
	b.ReportAllocs()
	for b.Loop() {
		answer(b, book, q)
	}
}

func BenchmarkCourseOfOneWorker(b *testing.B) {
	book := bookOf(b, "Europe/Dublin", early(), cost()...)
	q := asking("W", "2024-06-01")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := book.Course(q, Period{day("2014-01-01"), day("2025-12-31")}); err != nil {
			b.Fatal(err)
		}
	}
}

// crowd are twenty entries each for so many people, a quarter of them assessed by one of twenty assessors.
func crowd(people int) []Entry {
	out := make([]Entry, 0, 20*people+400)
	for a := range 20 {
		name := fmt.Sprintf("A%02d", a)
		out = append(out, authority(name+"-authority", name, "2019-01-01"))
		for i := range 8 {
			out = append(out, run(fmt.Sprintf("%s-%d", name, i), name, day("2019-01-05").AddDays(300*i).String()))
		}
	}
	for p := range people {
		name := fmt.Sprintf("P%05d", p)
		for i := range 20 {
			id, when := fmt.Sprintf("%s-%02d", name, i), day("2020-01-06").AddDays(90*i+p%90).String()
			if i%4 == 3 {
				out = append(out, pass(id, name, when, assessor(fmt.Sprintf("A%02d", p%20))))
			} else {
				out = append(out, run(id, name, when))
			}
		}
	}
	return out
}

func BenchmarkNewBookOf400000Entries(b *testing.B) {
	f := Facts{Zone: "Europe/Dublin", RuleSets: early(), Entries: crowd(20_000)}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := NewBook(f); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRollCallOf20000People(b *testing.B) {
	book := bookOf(b, "Europe/Dublin", early(), crowd(20_000)...)
	b.ReportAllocs()
	for b.Loop() {
		for p := range 20_000 {
			if _, err := book.Glance(asking(fmt.Sprintf("P%05d", p), "2024-06-01")); err != nil {
				b.Fatal(err)
			}
		}
	}
}
