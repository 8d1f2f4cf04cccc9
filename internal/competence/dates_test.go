package competence

import (
	"database/sql"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	_ "modernc.org/sqlite" // a general-purpose reference for date arithmetic

	"groundhand/internal/groundhand"
)

// policy gives the rule set of a published policy.
func policy(c Convention, months int, changes ...func(*Line)) []RuleSet {
	return []RuleSet{ruleSet("R", "2000-01-01", line(RoleAny, c, months, changes...))}
}

// The sources of the worked examples.
const (
	letter365   = "OSHA letter 24 Jan 2007, the parenthesis: 365 days"
	letter12    = "OSHA letter 24 Jan 2007: 12 months, anniversary"
	monthEnd    = "14 CFR 107.65, previous calendar months"
	keep3       = "EASA AMC1 ORO.FC.145(g), ED Decision 2022/014/R"
	baseMonth   = "14 CFR 121.401(b), 125.293(a)"
	byHand      = "common practice, no source; worked by hand"
	fromNewYork = "-05:00"
)

func TestWorkedExamplesOfPublishedDatePolicies(t *testing.T) {
	strict, anniversary, half := policy(Days365, 12), policy(Anniversary, 12), policy(Anniversary, 6)
	month, kept, base := policy(MonthEnd, 12), policy(MonthEnd, 12, window(92)), policy(BaseMonth, 12)
	series := policy(Anniversary, 12, window(30))
	june2024 := []string{"2024-06-12"} // base month June 2024, due June 2025
	with := func(days []string, more ...string) []string { return append(append([]string{}, days...), more...) }
	for _, c := range []struct {
		name, source string
		rules        []RuleSet
		done         []string
		asked        string
		want         Standing
		last         string
	}{
		{"D1 365 days, on the last", letter365, strict, []string{"2023-03-15"}, "2024-03-14", Current, "2024-03-14"},
		{"D1 365 days, the day after", letter365, strict, []string{"2023-03-15"}, "2024-03-15", Lapsed, "2024-03-14"},
		{"D2 anniversary over a leap day", letter12, anniversary, []string{"2023-03-15"}, "2024-03-15", Current, "2024-03-15"},
		{"D2 the day after", letter12, anniversary, []string{"2023-03-15"}, "2024-03-16", Lapsed, "2024-03-15"},
		{"D3 from the leap day", letter12, anniversary, []string{"2024-02-29"}, "2025-02-28", Current, "2025-02-28"},
		{"D3 the day after, which AddDate would allow", letter12, anniversary, []string{"2024-02-29"}, "2025-03-01", Lapsed, "2025-02-28"},
		{"D4 365 days from the leap day", letter365, strict, []string{"2024-02-29"}, "2025-02-28", Current, "2025-02-28"},
		{"D5 365 days", letter365, strict, []string{"2023-03-01"}, "2024-03-01", Lapsed, "2024-02-29"},
		{"D5 anniversary", letter12, anniversary, []string{"2023-03-01"}, "2024-03-01", Current, "2024-03-01"},
		{"D6 28 February stays the 28th", letter12, anniversary, []string{"2023-02-28"}, "2024-02-28", Current, "2024-02-28"},
		{"D7 month end is the leap day", monthEnd, month, []string{"2023-02-28"}, "2024-02-29", Current, "2024-02-29"},
		{"D7 the day after", monthEnd, month, []string{"2023-02-28"}, "2024-03-01", Lapsed, "2024-02-29"},
		{"D8 395 days", monthEnd, month, []string{"2024-03-01"}, "2025-03-31", Current, "2025-03-31"},
		{"D9 six months from the 31st", byHand, half, []string{"2025-08-31"}, "2025-09-01", Current, "2026-02-28"},
		{"D10 k = 1", byHand, series, []string{"2024-02-29"}, "2024-02-29", Current, "2025-02-28"},
		{"D10 k = 2", byHand, series, []string{"2024-02-29", "2025-02-20"}, "2025-02-20", Current, "2026-02-28"},
		{"D10 k = 3", byHand, series, []string{"2024-02-29", "2025-02-20", "2026-02-20"}, "2026-02-20", Current, "2027-02-28"},
		{"D10 k = 4 is a leap day again", byHand, series, []string{"2024-02-29", "2025-02-20", "2026-02-20", "2027-02-20"}, "2027-02-20", Current, "2028-02-29"},
		{"D10 k = 5", byHand, series, []string{"2024-02-29", "2025-02-20", "2026-02-20", "2027-02-20", "2028-02-20"}, "2028-02-20", Current, "2029-02-28"},
		{"D11 first day of the window", keep3, kept, []string{"2024-05-10", "2025-03-01"}, "2025-03-01", Current, "2026-05-31"},
		{"D12 one day early", keep3, kept, []string{"2024-05-10", "2025-02-28"}, "2025-02-28", Current, "2026-02-28"},
		{"D13 one day late, before the renewal", keep3, kept, []string{"2024-05-10", "2025-06-01T14:00:00Z"}, "2025-06-01T12:00:00Z", Lapsed, "2025-05-31"},
		{"D13 one day late, after it", keep3, kept, []string{"2024-05-10", "2025-06-01T14:00:00Z"}, "2025-06-01", Current, "2026-06-30"},
		{"D14 month end computed anew", keep3, kept, []string{"2026-02-11", "2027-01-05"}, "2027-01-05", Current, "2028-02-29"},
		{"D15 first day of the month before", baseMonth, base, with(june2024, "2025-05-01"), "2025-07-31", Current, "2026-06-30"},
		{"D15 month due, read as any other (common practice, no source)", baseMonth, base, with(june2024, "2025-06-30"), "2025-07-31", Current, "2026-06-30"},
		{"D15 last day of the month after", baseMonth, base, with(june2024, "2025-07-31"), "2025-07-31", Current, "2026-06-30"},
		{"D16 two months early", baseMonth, base, with(june2024, "2025-04-30"), "2025-06-01", Current, "2026-04-30"},
		{"D16 two months late, before it", baseMonth, base, with(june2024, "2025-08-01T14:00:00Z"), "2025-08-01T00:00:00Z", Lapsed, "2025-06-30"},
		{"D16 two months late, after it", baseMonth, base, with(june2024, "2025-08-01T14:00:00Z"), "2025-08-01", Current, "2026-08-31"},
		{"D17 not done, in the month due", baseMonth, base, june2024, "2025-06-30", Current, "2025-06-30"},
		{"D17 not done, in the grace month", baseMonth, base, june2024, "2025-07-10", InGrace, "2025-06-30"},
		{"D17 not done, after it", baseMonth, base, june2024, "2025-08-01", Lapsed, "2025-06-30"},
		{"D18 456 days apart, still in grace", baseMonth, base, with(june2024, "2025-05-01", "2026-07-31"), "2026-07-30", InGrace, "2026-06-30"},
		{"D18 456 days apart, kept", baseMonth, base, with(june2024, "2025-05-01", "2026-07-31"), "2026-07-31", Current, "2027-06-30"},
		{"D18 is no yearly practice by 365 days", letter365, strict, with(june2024, "2025-05-01", "2026-07-31"), "2026-07-30", Lapsed, "2026-05-01"},
		{"D19 a drill in each calendar year, lapsed", letter12, anniversary, []string{"2008-12-15", "2009-06-15", "2010-12-15"}, "2010-06-16", Lapsed, "2010-06-15"},
		{"D19 lapsed through the day before", letter12, anniversary, []string{"2008-12-15", "2009-06-15", "2010-12-15"}, "2010-12-14", Lapsed, "2010-06-15"},
		{"D19 current again", letter12, anniversary, []string{"2008-12-15", "2009-06-15", "2010-12-15"}, "2010-12-15", Current, "2011-12-15"},
	} {
		var entries []Entry
		for i, when := range c.done {
			entries = append(entries, run("E"+strconv.Itoa(i), "W", when))
		}
		a := answer(t, bookOf(t, "UTC", c.rules, entries...), asking("W", c.asked))
		assert.Equal(t, c.want, a.Standing, "%s (%s)", c.name, c.source)
		assert.Equal(t, c.last, a.LastGoodDay.String(), "%s (%s)", c.name, c.source)
	}

	t.Run("D20 the last good day ends by the local clock", func(t *testing.T) { // byHand; a fixed offset of five hours west
		b := bookOf(t, "Etc/GMT+5", anniversary, run("E", "W", "2024-03-15"))
		a := answer(t, b, asking("W", "2025-03-16T03:00:00Z"))
		assert.Equal(t, Current, a.Standing)
		assert.Equal(t, day("2025-03-15"), a.Day)
		assert.Equal(t, day("2025-03-16"), a.ChangesOn)
		assert.Equal(t, Lapsed, answer(t, b, asking("W", "2025-03-16T00:00:00"+fromNewYork)).Standing)
	})
	t.Run("D21 two of three hold through the second-latest day", func(t *testing.T) { // byHand
		b := bookOf(t, "UTC", anniversary, run("E1", "W1", "2024-05-10"), run("E2", "W2", "2024-06-01"), run("E3", "W3", "2024-09-30"))
		for when, want := range map[string]int{"2025-05-10": 3, "2025-05-11": 2, "2025-06-01": 2, "2025-06-02": 1, "2025-09-30": 1, "2025-10-01": 0} {
			current := 0
			for _, person := range []string{"W1", "W2", "W3"} {
				if answer(t, b, asking(person, when)).Standing == Current {
					current++
				}
			}
			assert.Equal(t, want, current, when)
		}
	})
	t.Run("D18 the gap is 456 days", func(t *testing.T) {
		assert.Equal(t, 456, int(day("2026-07-31")-day("2025-05-01")))
	})
}

// The table of the trade: common practice, no source; checked by calculation.
func TestLastGoodDaysOfTheTradeTable(t *testing.T) {
	for _, c := range []struct {
		done                string
		months              int
		cautious, inclusive string
	}{
		{"2024-06-06", 12, "2025-06-05", "2025-06-06"}, {"2024-02-29", 12, "2025-02-27", "2025-02-28"},
		{"2024-08-31", 6, "2025-02-27", "2025-02-28"}, {"2024-11-30", 3, "2025-02-27", "2025-02-28"}, {"2024-03-09", 12, "2025-03-08", "2025-03-09"},
	} {
		e := run("E", "W", c.done)
		assert.Equal(t, c.cautious, answer(t, bookOf(t, "UTC", policy(DayBefore, c.months), e), asking("W", c.done)).LastGoodDay.String(), c.done)
		assert.Equal(t, c.inclusive, answer(t, bookOf(t, "UTC", policy(Anniversary, c.months), e), asking("W", c.done)).LastGoodDay.String(), c.done)
	}
	june := run("E", "W", "2024-06-06")
	assert.Equal(t, "2025-06-30", answer(t, bookOf(t, "UTC", policy(MonthEnd, 12), june), asking("W", "2024-06-06")).LastGoodDay.String())
	assert.Equal(t, "2025-12-31", answer(t, bookOf(t, "UTC", policy(CalendarYear, 12), june), asking("W", "2024-06-06")).LastGoodDay.String())
	early := run("F", "W", "2025-05-20")
	assert.Equal(t, "2026-06-05", answer(t, bookOf(t, "UTC", policy(DayBefore, 12, window(30)), june, early), asking("W", "2025-05-20")).LastGoodDay.String())
	assert.Equal(t, "2026-05-19", answer(t, bookOf(t, "UTC", policy(DayBefore, 12), june, early), asking("W", "2025-05-20")).LastGoodDay.String())
}

// SQLite's date() is the reference where both agree, days up to the 28th. Above, it runs over into the next month, and so does Go's
// AddDate: 2024-02-29 and a year is 2025-03-01 there. A due date computed with either gives a day too many.
func TestMonthsAgreeWithSQLiteUpToThe28thAndAreNeverLaterAfterIt(t *testing.T) {
	db, err := sql.Open("sqlite", ":memory:")
	require.NoError(t, err)
	defer db.Close()
	add, err := db.Prepare(`SELECT date(?, ?)`)
	require.NoError(t, err)
	defer add.Close()
	for _, months := range []int{1, 6, 12, 48, 120} {
		l := line(RoleAny, Anniversary, months)
		for d := day("2023-12-30"); d <= day("2024-03-03"); d++ {
			var got string
			require.NoError(t, add.QueryRow(d.String(), "+"+strconv.Itoa(months)+" months").Scan(&got))
			reference, ours := day(got), l.lastGoodDay(d, 1)
			goes := groundhand.DateOf(utc(d).AddDate(0, months, 0))
			assert.Equal(t, goes, reference, "Go and SQLite run over alike: %s + %d", d, months)
			if _, _, n := d.Civil(); n <= 28 {
				assert.Equal(t, reference, ours, "%s + %d months", d, months)
			} else {
				assert.LessOrEqual(t, ours, reference, "%s + %d months", d, months)
			}
		}
	}
	for _, c := range []struct{ from, step, reference, ours string }{
		{"2024-02-29", "+1 year", "2025-03-01", "2025-02-28"},
		{"2024-01-31", "+1 month", "2024-03-02", "2024-02-29"},
		{"2025-01-31", "+1 month", "2025-03-03", "2025-02-28"},
	} {
		var got string
		require.NoError(t, add.QueryRow(c.from, c.step).Scan(&got))
		assert.Equal(t, c.reference, got, "what SQLite says of %s %s", c.from, c.step)
		months := map[string]int{"+1 year": 12, "+1 month": 1}[c.step]
		l := line(RoleAny, Anniversary, months)
		assert.Equal(t, c.ours, l.lastGoodDay(day(c.from), 1).String())
		assert.Equal(t, c.reference, groundhand.DateOf(utc(day(c.from)).AddDate(0, months, 0)).String(), "what AddDate says")
	}
}

func utc(d groundhand.Date) time.Time {
	y, m, n := d.Civil()
	return time.Date(y, m, n, 0, 0, 0, 0, time.UTC)
}

// W3C XML Schema Part 2, Appendix E: adding clips, and the order of steps matters.
func TestOrderOfStepsAsInXMLSchema(t *testing.T) {
	assert.Equal(t, "2000-04-30", day("2000-03-30").AddDays(1).AddMonths(1).String())
	assert.Equal(t, "2000-05-01", day("2000-03-30").AddMonths(1).AddDays(1).String())
}

func TestDaysFollowTheZoneNotMidnightPlus24Hours(t *testing.T) {
	for _, c := range []struct{ zone, name, last, lastSecond string }{
		{"America/Santiago", "the next day starts at 01:00", "2026-09-05", "2026-09-06T03:59:59Z"},
		{"America/Havana", "a day of 25 hours", "2025-11-02", "2025-11-03T04:59:59Z"},
		{"Europe/Dublin", "a day of 23 hours", "2025-03-30", "2025-03-30T22:59:59Z"},
		{"Pacific/Apia", "the next day was left out", "2011-12-29", "2011-12-30T09:59:59Z"},
	} {
		b := bookOf(t, c.zone, policy(Anniversary, 12), run("E", "W", day(c.last).AddMonths(-12).String()+"T20:00:00Z"))
		at := asking("W", c.lastSecond)
		a := answer(t, b, at)
		assert.Equal(t, c.last, a.Day.String(), c.name)
		assert.Equal(t, Current, a.Standing, c.name)
		at.At += 1000
		assert.Equal(t, Lapsed, answer(t, b, at).Standing, "%s, a second later", c.name)
	}
}
