package competence

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/groundhand"
)

// Small worlds for properties: three people who assess each other, two families, entries of every kind over two years.

var (
	someone   = rapid.SampledFrom([]string{"W", "W", "W", "Gideon", "Sanna"})
	somePart  = rapid.SampledFrom([]string{RoleLead, RoleLead, RoleSecond, RoleLone})
	someKin   = rapid.SampledFrom([]string{"F1", "F1", "F2"})
	evidences = rapid.SampledFrom([]Kind{Run, Run, Assessment, Assessment, Outside})
	kinds     = rapid.SampledFrom([]Kind{Run, Run, Run, Assessment, Assessment, Outside, Suspension, Lifting, Extension, Provisional, Away, Grade, Withdrawal})
	firstDay  = day("2023-01-01")
	laterDay  = rapid.SampledFrom(daysFrom(firstDay.AddDays(250), 700))
	someDay   = rapid.SampledFrom(daysFrom(firstDay, 731)) // numbers drawn from a range would crowd at its start
)

func daysFrom(d groundhand.Date, n int) []groundhand.Date {
	out := make([]groundhand.Date, n)
	for i := range out {
		out[i] = d.AddDays(i)
	}
	return out
}

func drawDay(t *rapid.T, label string) groundhand.Date {
	return someDay.Draw(t, label)
}

// drawHappened is a bare day or an instant.
func drawHappened(t *rapid.T) string {
	d := drawDay(t, "day").String()
	if rapid.Bool().Draw(t, "timed") {
		return fmt.Sprintf("%sT%02d:00:00Z", d, rapid.IntRange(0, 22).Draw(t, "hour"))
	}
	return d
}

func drawEntry(t *rapid.T, kind Kind, id string, before []Entry) Entry {
	e := entry(kind, id, someone.Draw(t, "person"), drawHappened(t), usualTask)
	e.Role, e.Family = somePart.Draw(t, "role"), someKin.Draw(t, "family")
	switch kind {
	case Run:
		e.Complete, e.WatchedBy = true, rapid.SampledFrom([]string{"", "Gideon"}).Draw(t, "watched")
	case Assessment:
		e.Result, e.Assessor = ResultPass, someone.Draw(t, "assessor")
	case Outside:
		e.Level, e.Checker = rapid.SampledFrom(levels).Draw(t, "level"), "Henrike"
	case Extension, Provisional, Away:
		e.From, e.Approver = drawDay(t, "from"), "Alasdair"
		e.To = e.From.AddDays(int(someDay.Draw(t, "days")-firstDay) / 2)
	case Grade:
		e.Grade, e.Year = GradeApprentice, rapid.IntRange(1, 4).Draw(t, "year")
	}
	return drawLink(t, e, before)
}

// drawLink lets an entry name another one that was recorded before it.
func drawLink(t *rapid.T, e Entry, before []Entry) Entry {
	if e.Kind == Lifting || e.Kind == Withdrawal || e.Kind != Authority && len(before) > 0 && rapid.SampledFrom([]int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}).Draw(t, "corrects") == 9 {
		e.RecordedAt = instant("2025-06-01T00:00:00Z") + groundhand.Instant(60_000*len(before))
	}
	target := rapid.SampledFrom(before).Draw(t, "names")
	switch {
	case e.Kind == Lifting:
		e.Lifts, e.ByPass = target.ID, rapid.SampledFrom(before).Draw(t, "by").ID
	case e.Kind == Withdrawal:
		e = withdrawal(e.ID, target.ID, e.RecordedAt.String())
	case e.RecordedAt > instant("2025-06-01T00:00:00Z") && target.Kind != Withdrawal:
		e.Replaces = target.ID
	}
	return e
}

func drawWorld(t *rapid.T, conventions ...Convention) Facts {
	entries := []Entry{authority("auth1", "Gideon", "2023-01-01"), authority("auth2", "Sanna", "2023-01-01"), run("first", "Gideon", "2023-01-02")}
	for i := range 3 { // so that there is something to lose
		entries = append(entries, run(fmt.Sprintf("base%d", i), "W", drawHappened(t)))
	}
	for i := range rapid.SampledFrom([]int{0, 1, 2, 4, 6, 8, 12, 16, 20}).Draw(t, "entries") {
		e := drawEntry(t, kinds.Draw(t, "kind"), fmt.Sprintf("E%02d", i), entries)
		if (e.Kind == Assessment || e.Kind == Run) && rapid.SampledFrom([]int{0, 1, 2, 3, 4, 5, 6, 7}).Draw(t, "fails") == 7 {
			e.Result, e.CriticalFail, e.Critical = ResultFail, e.Kind == Run, rapid.Bool().Draw(t, "critical")
		}
		entries = append(entries, e)
	}
	zone := rapid.SampledFrom([]string{"Europe/Dublin", "America/Santiago"}).Draw(t, "zone")
	return Facts{Name: "world", Zone: zone, RuleSets: drawRuleSets(t, conventions), Entries: entries}
}

func drawRuleSets(t *rapid.T, conventions []Convention) []RuleSet {
	var sets []RuleSet
	for i, from := range []string{"2022-01-01", "2024-03-01"} {
		convention := rapid.SampledFrom(conventions).Draw(t, "convention")
		change := func(l *Line) {
			l.PerFamily = rapid.Bool().Draw(t, "per family")
			l.MaxExtensions, l.Provisional = rapid.IntRange(0, 2).Draw(t, "extensions"), true
			l.AbsenceMonths, l.MinimumRuns = rapid.IntRange(0, 3).Draw(t, "absence"), rapid.SampledFrom([]int{1, 1, 1, 2}).Draw(t, "minimum")
			l.OutsideLevel = LevelOriginalSeen
			if convention != BaseMonth {
				l.EarlyWindowDays = rapid.SampledFrom([]int{0, 30, 90}).Draw(t, "window")
			}
			if rapid.SampledFrom([]int{0, 1, 2, 3, 4}).Draw(t, "barred") == 4 {
				l.BarredYears = []int{1, 2}
			}
		}
		sets = append(sets, ruleSet(fmt.Sprintf("R%d", i), from, line(RoleLead, convention, 12, change), line(RoleAny, convention, 12, change)))
	}
	return sets
}

func drawQuestion(t *rapid.T) Question {
	q := asking("W", laterDay.Draw(t, "asked").String(), as(somePart.Draw(t, "as")), on(someKin.Draw(t, "on")))
	if rapid.Bool().Draw(t, "at an instant") {
		q.At, q.On = groundhand.InstantOf(q.On.Start(time.UTC))+groundhand.Instant(rapid.IntRange(0, 86_399).Draw(t, "second")*1000), 0
	}
	if rapid.SampledFrom([]int{0, 1, 2, 3}).Draw(t, "as known") == 3 {
		q.AsKnownAt = groundhand.InstantOf(laterDay.Draw(t, "known").Start(time.UTC))
	}
	return q
}

var anyConvention = []Convention{DayBefore, Anniversary, Days365, MonthEnd, CalendarYear, BaseMonth}

func book(t *rapid.T, f Facts) *Book {
	b, err := NewBook(f)
	require.NoError(t, err)
	return b
}

func ask(t *rapid.T, f Facts, q Question) Answer {
	a, err := book(t, f).Standing(q)
	require.NoError(t, err)
	return a
}

func TestOrderOfEntriesMeansNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, q := drawWorld(t, anyConvention...), drawQuestion(t)
		q.Course = Period{firstDay, firstDay.AddDays(900)}
		want := ask(t, f, q)
		f.Entries = rapid.Permutation(f.Entries).Draw(t, "order")
		require.Equal(t, want, ask(t, f, q))
	})
}

func TestCourseHasNoGapAndAgreesWithTheQuestionOfEachDay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, q := drawWorld(t, anyConvention...), drawQuestion(t)
		from := drawDay(t, "from")
		through := from.AddDays(rapid.IntRange(0, 500).Draw(t, "length"))
		b := book(t, f)
		spans, err := b.Course(q, Period{from, through})
		require.NoError(t, err)
		next := from
		for i, s := range spans {
			require.Equal(t, next, s.From)
			require.LessOrEqual(t, s.From, s.Through)
			if i > 0 {
				before := spans[i-1]
				require.False(t, before.Standing == s.Standing && before.Line == s.Line && before.LastGoodDay == s.LastGoodDay, "equal neighbours are joined")
			}
			for d := s.From; d <= s.Through; d++ {
				q.On, q.At = d, 0
				a, err := b.Glance(q)
				require.NoError(t, err)
				require.Equal(t, Span{s.From, s.Through, a.Standing, a.Line, a.LastGoodDay}, s, "%s", d)
			}
			next = s.Through + 1
		}
		require.Equal(t, through+1, next)
	})
}

// Asked after the last entry, nothing else happens, so the course shows the next change.
func TestChangesOnAgreesWithTheCourse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, q := drawWorld(t, anyConvention...), drawQuestion(t)
		q.On, q.At = firstDay.AddDays(731+rapid.IntRange(0, 60).Draw(t, "after")), 0
		b := book(t, f)
		a, err := b.Standing(q)
		require.NoError(t, err)
		spans, err := b.Course(q, Period{q.On, q.On.AddDays(3000)})
		require.NoError(t, err)
		at := slices.IndexFunc(spans, func(s Span) bool { return s.Standing != a.Standing })
		if at < 0 {
			require.True(t, a.ChangesOn.IsZero())
		} else {
			require.Equal(t, spans[at].From, a.ChangesOn)
		}
	})
}

// rank orders the standings; a hold is above a lapse, because more evidence can turn a lapse into a hold and a hold into current.
var rank = map[Standing]int{Suspended: 0, Never: 1, Lapsed: 2, Held: 3, OnPaper: 4, OnExtension: 5, InGrace: 6, Current: 7}

// Only a fail, a suspension, an away entry, a grade, a correction or a withdrawal can lower a standing. BASE_MONTH is apart: there an
// older entry shows that the base month was another one.
func TestMoreEvidenceNeverLowersAStanding(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, q := drawWorld(t, DayBefore, Anniversary, Days365, MonthEnd, CalendarYear), drawQuestion(t)
		before := ask(t, f, q)
		more := drawEntry(t, evidences.Draw(t, "more"), "more", f.Entries)
		more.Replaces = ""
		f.Entries = append(slices.Clone(f.Entries), more)
		after := ask(t, f, q)
		require.GreaterOrEqual(t, rank[after.Standing], rank[before.Standing], "%s, then %s", before.Standing, after.Standing)
		require.GreaterOrEqual(t, after.LastGoodDay, before.LastGoodDay)
	})
}

// That a newer entry never shortens the course holds under BASE_MONTH too, but for a second drill in the grace month.
func TestUnderBaseMonthAnOlderEntryCanShortenTheCourse(t *testing.T) {
	later, older := run("later", "W", "2024-06-20"), run("older", "W", "2023-07-10")
	rules := policy(BaseMonth, 12)
	require.Equal(t, "2025-06-30", answer(t, bookOf(t, "UTC", rules, later), asking("W", "2024-07-01")).LastGoodDay.String())
	require.Equal(t, "2025-07-31", answer(t, bookOf(t, "UTC", rules, later, older), asking("W", "2024-07-01")).LastGoodDay.String())
	earlier := run("earlier", "W", "2023-05-10") // 2024-06 is then the month after the one due, and May stays the base
	require.Equal(t, "2025-05-31", answer(t, bookOf(t, "UTC", rules, later, earlier), asking("W", "2024-07-01")).LastGoodDay.String())
}

func TestWhatIsNotYetKnownIsAsIfItWereNotThere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, q := drawWorld(t, anyConvention...), drawQuestion(t)
		q.AsKnownAt = groundhand.InstantOf(laterDay.Draw(t, "known").Start(time.UTC))
		q.Course = Period{firstDay, firstDay.AddDays(900)}
		with := ask(t, f, q)
		with.Refused = slices.DeleteFunc(with.Refused, func(r Refusal) bool { return r.Code == NotYetKnown })
		f.Entries = slices.DeleteFunc(slices.Clone(f.Entries), func(e Entry) bool { return e.RecordedAt > q.AsKnownAt })
		q.AsKnownAt = 0
		require.Equal(t, with, ask(t, f, q))
	})
}

func TestWithdrawingAWithdrawalBringsBackTheAnswer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, q := drawWorld(t, anyConvention...), drawQuestion(t)
		q.AsKnownAt = 0
		before := ask(t, f, q)
		target := rapid.SampledFrom(f.Entries).Draw(t, "target")
		f.Entries = append(slices.Clone(f.Entries), withdrawal("w1", target.ID, "2025-09-01T00:00:00Z"), withdrawal("w2", "w1", "2025-09-02T00:00:00Z"))
		require.Equal(t, before, ask(t, f, q))
	})
}

func TestFactsOfAnyWorldSurviveTheFormat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawWorld(t, anyConvention...)
		f.Questions = []Question{drawQuestion(t)}
		written, err := f.Encode()
		require.NoError(t, err)
		again, err := Decode(written)
		require.NoError(t, err)
		require.Equal(t, ask(t, f, f.Questions[0]), ask(t, again, again.Questions[0]))
	})
}
