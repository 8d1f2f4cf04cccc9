package competence

import (
	"slices"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// Builders for facts of tests. Everything is bucket rescue as lead on family F1 unless changed.

func day(s string) groundhand.Date { return groundhand.MustDate(s) }

// dayOrNone reads an expected day, "" being none.
func dayOrNone(s string) groundhand.Date {
	if s == "" {
		return 0
	}
	return day(s)
}

func instant(s string) groundhand.Instant {
	t, err := time.Parse(time.RFC3339, s)
	if err != nil {
		panic(err)
	}
	return groundhand.InstantOf(t)
}

// entry happened on a day (YYYY-MM-DD) or at an instant (RFC 3339) and was recorded at 23:00Z of that day.
func entry(kind Kind, id, person, when string, changes ...func(*Entry)) Entry {
	e := Entry{ID: id, Kind: kind, Person: person, Author: "Henrike", RecordedAt: instant(when[:10] + "T23:00:00Z")}
	if len(when) == len(time.DateOnly) {
		e.HappenedOn = day(when)
	} else {
		e.HappenedAt = instant(when)
	}
	for _, change := range changes {
		change(&e)
	}
	return e
}

func usualTask(e *Entry) { e.Method, e.Role, e.Family = "bucket", RoleLead, "F1" }

func run(id, person, when string, changes ...func(*Entry)) Entry {
	return entry(Run, id, person, when, append([]func(*Entry){usualTask, func(e *Entry) { e.Complete = true }}, changes...)...)
}

func pass(id, person, when string, changes ...func(*Entry)) Entry {
	return entry(Assessment, id, person, when, append([]func(*Entry){usualTask, func(e *Entry) { e.Result, e.Assessor = ResultPass, "Gideon" }}, changes...)...)
}

func fail(id, person, when string, changes ...func(*Entry)) Entry {
	return pass(id, person, when, append([]func(*Entry){func(e *Entry) { e.Result = ResultFail }}, changes...)...)
}

func suspension(id, person, when string, changes ...func(*Entry)) Entry {
	return entry(Suspension, id, person, when, append([]func(*Entry){func(e *Entry) { e.Method = "bucket" }}, changes...)...)
}

func lifting(id, person, when, lifts, by string, changes ...func(*Entry)) Entry {
	return entry(Lifting, id, person, when, append([]func(*Entry){func(e *Entry) { e.Lifts, e.ByPass = lifts, by }}, changes...)...)
}

func extension(id, person, granted, from, to string, changes ...func(*Entry)) Entry {
	return entry(Extension, id, person, granted, append([]func(*Entry){func(e *Entry) {
		e.Method, e.Approver, e.From, e.To = "bucket", "Alasdair", day(from), dayOrNone(to)
	}}, changes...)...)
}

func away(id, person, from, to string) Entry {
	return entry(Away, id, person, from, func(e *Entry) { e.From, e.To = day(from), dayOrNone(to) })
}

func grade(id, person, when string, year int) Entry {
	return entry(Grade, id, person, when, func(e *Entry) {
		e.Grade, e.Year = GradeQualified, year
		if year > 0 {
			e.Grade = GradeApprentice
		}
	})
}

func authority(id, person, when string, changes ...func(*Entry)) Entry {
	return entry(Authority, id, person, when, append([]func(*Entry){func(e *Entry) { e.Methods, e.From = []string{"bucket"}, e.HappenedOn }}, changes...)...)
}

func withdrawal(id, withdraws, recorded string) Entry {
	return Entry{ID: id, Kind: Withdrawal, Author: "Henrike", Withdraws: withdraws, RecordedAt: instant(recorded)}
}

func role(r string) func(*Entry)     { return func(e *Entry) { e.Role = r } }
func family(f string) func(*Entry)   { return func(e *Entry) { e.Family = f } }
func assessor(a string) func(*Entry) { return func(e *Entry) { e.Assessor = a } }
func recorded(s string) func(*Entry) { return func(e *Entry) { e.RecordedAt = instant(s) } }
func watchedBy(w string) func(*Entry) {
	return func(e *Entry) { e.WatchedBy = w }
}
func replaces(id, at string) func(*Entry) {
	return func(e *Entry) { e.Replaces, e.RecordedAt = id, instant(at) }
}
func critical(e *Entry) { e.Critical = true }

// gideon may assess on every family; he drilled as lead and as lone on F1 and F2.
func gideon() []Entry {
	return []Entry{
		authority("g-authority", "Gideon", "2023-01-02"),
		run("g-lead1", "Gideon", "2024-01-02"), run("g-lead2", "Gideon", "2024-01-02", family("F2")),
		run("g-lone1", "Gideon", "2024-01-02", role(RoleLone)), run("g-lone2", "Gideon", "2024-01-02", role(RoleLone), family("F2")),
	}
}

func line(role string, c Convention, months int, changes ...func(*Line)) Line {
	l := Line{ID: "line-" + role, Method: "bucket", Role: role, Interval: Interval{Months: months}, LastGoodDay: c,
		Accepts: []string{AcceptsPass, AcceptsDrill, AcceptsOutside}, Citation: "invented for this case", CitationKind: "employer"}
	for _, change := range changes {
		change(&l)
	}
	return l
}

func window(days int) func(*Line) { return func(l *Line) { l.EarlyWindowDays = days } }
func perFamily(l *Line)           { l.PerFamily = true }

func ruleSet(id, from string, lines ...Line) RuleSet {
	return RuleSet{ID: id, Default: true, EffectiveFrom: day(from), Lines: lines}
}

// usual are the rules of the edge cases: yearly, cautious, per family; three months of absence, one extension, provisional allowed.
func usual(changes ...func(*Line)) []RuleSet {
	changes = append([]func(*Line){perFamily, func(l *Line) { l.AbsenceMonths, l.MaxExtensions, l.Provisional = 3, 1, true }}, changes...)
	return []RuleSet{ruleSet("R", "2020-01-01", line(RoleLead, DayBefore, 12, changes...), line(RoleSecond, DayBefore, 12, changes...), line(RoleLone, DayBefore, 12, changes...))}
}

// asking is a question about bucket rescue as lead on F1, on a day or at an instant.
func asking(person, when string, changes ...func(*Question)) Question {
	q := Question{ID: "Q", Person: person, Method: "bucket", Role: RoleLead, Family: "F1"}
	if len(when) == len(time.DateOnly) {
		q.On = day(when)
	} else {
		q.At = instant(when)
	}
	for _, change := range changes {
		change(&q)
	}
	return q
}

func as(role string) func(*Question)      { return func(q *Question) { q.Role = role } }
func on(family string) func(*Question)    { return func(q *Question) { q.Family = family } }
func under(id string) func(*Question)     { return func(q *Question) { q.RuleSet = id } }
func knownAt(when string) func(*Question) { return func(q *Question) { q.AsKnownAt = instant(when) } }

func bookOf(t require.TestingT, zone string, sets []RuleSet, entries ...Entry) *Book {
	b, err := NewBook(Facts{Name: "test", Zone: zone, RuleSets: sets, Entries: slices.Clone(entries)})
	require.NoError(t, err)
	return b
}

func answer(t testing.TB, b *Book, q Question) Answer {
	t.Helper()
	a, err := b.Standing(q)
	require.NoError(t, err)
	return a
}

// refusedAs gives the reason against an entry, empty for none.
func refusedAs(a Answer, id string) Reason {
	for _, r := range a.Refused {
		if r.Entry == id {
			return r.Code
		}
	}
	return ""
}
