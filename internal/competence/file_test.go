package competence

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// The files in testdata are published with the formats: facts with their answers, worked out by hand and by an independent program.

func files(t *testing.T, pattern string, least int) []string {
	t.Helper()
	names, err := filepath.Glob(filepath.Join("testdata", pattern))
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(names), least)
	return names
}

func TestPublishedFactsGiveThePublishedAnswers(t *testing.T) {
	for _, name := range files(t, "*.facts.json", 8) {
		in, err := os.ReadFile(name)
		require.NoError(t, err)
		want, err := os.ReadFile(strings.Replace(name, ".facts.", ".answers.", 1))
		require.NoError(t, err)
		got, err := AnswerFile(in)
		require.NoError(t, err, name)
		sameAnswers(t, name, want, got)
	}
}

// sameAnswers compares question by question as plain JSON, so that a missing null or list shows.
func sameAnswers(t *testing.T, name string, want, got []byte) {
	t.Helper()
	type file struct {
		Format, Facts string
		Answers       []map[string]any
	}
	var w, g file
	require.NoError(t, json.Unmarshal(want, &w))
	require.NoError(t, json.Unmarshal(got, &g))
	assert.Equal(t, w.Format, g.Format, name)
	assert.Equal(t, w.Facts, g.Facts, name)
	require.Len(t, g.Answers, len(w.Answers), name)
	for i := range w.Answers {
		assert.Equal(t, w.Answers[i], g.Answers[i], "%s, question %v", name, w.Answers[i]["id"])
	}
}

func TestPublishedFaultyFactsAreRefused(t *testing.T) {
	where := map[string]string{ // where the first fault lies
		"base-month-of-two": "line lead", "calendar-half": "line lead", "convention": "line lead", "days-365-of-6": "line lead",
		"two-intervals": "line lead", "window-too-wide": "line lead", "two-lines": "line b", "two-defaults-one-day": "rule set S",
		"correction-too-early": "entry E2", "replaces-nothing": "entry E2", "withdraws-nothing": "entry E3", "period-backwards": "entry E4",
		"level": "entry E5", "replaces-withdrawal": "entry E5", "format": "facts", "zone": "facts",
		"neither-on-nor-at": "question Q1", "on-and-at": "question Q1", "question-role": "question Q1", "rule-set-unknown": "question Q1",
	}
	for _, name := range files(t, "faulty/*.facts.json", 29) {
		in, err := os.ReadFile(name)
		require.NoError(t, err)
		out, err := AnswerFile(in)
		assert.Nil(t, out, name)
		assert.ErrorIs(t, err, groundhand.CodeInvalid, name)
		refusals := groundhand.Refusals(err)
		require.Len(t, refusals, 1, name)
		short := strings.TrimSuffix(filepath.Base(name), ".facts.json")
		if where[short] == "" {
			where[short] = "entry E1"
		}
		assert.True(t, strings.HasSuffix(refusals[0].Field, where[short]), "%s: %s", short, refusals[0].Field)
	}
}

func TestFactsSurviveWritingAndReading(t *testing.T) {
	for _, name := range files(t, "*.facts.json", 8) {
		in, err := os.ReadFile(name)
		require.NoError(t, err)
		first, err := Decode(in)
		require.NoError(t, err)
		written, err := first.Encode()
		require.NoError(t, err)
		second, err := Decode(written)
		require.NoError(t, err, name)
		assert.Equal(t, first, second, name)
	}
}

func TestAnswersSurviveWritingAndReading(t *testing.T) {
	for _, name := range files(t, "*.answers.json", 8) {
		in, err := os.ReadFile(name)
		require.NoError(t, err)
		var first, second Answers
		require.NoError(t, json.Unmarshal(in, &first))
		written, err := first.Encode()
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(written, &second))
		assert.Equal(t, first, second, name)
		sameAnswers(t, name, in, written)
	}
}

// minimal is a whole file with a place for entries and for questions.
func minimal(entries, questions string) []byte {
	return []byte(`{"format": "standing-facts/1", "name": "m", "zone": "UTC", "rule_sets": [{"id": "R", "default": true, "effective_from": "2020-01-01",
		"lines": [{"id": "L", "method": "bucket", "role": "any", "interval": {"months": 12}, "last_good_day": "ANNIVERSARY", "accepts": ["drill_run"]}]}],
		"entries": [` + entries + `], "questions": [` + questions + `]}`)
}

const aRun = `{"id": "E", "kind": "run", "person": "W", "method": "bucket", "role": "lead", "complete": true, "happened_on": "2024-02-29",
	"recorded_at": "2024-02-29T21:00:00Z", "author": "H"`

func TestNullIsMissingAndUnknownFieldsAreIgnored(t *testing.T) {
	f, err := Decode(minimal(aRun+`, "family": null, "happened_at": null, "Family": "F9", "weather": {"wind": 7}}`, ""))
	require.NoError(t, err)
	assert.Equal(t, "", f.Entries[0].Family)
	assert.Equal(t, day("2024-02-29"), f.Entries[0].HappenedOn)
}

func TestTheFirstInstantOf1970IsAnInstant(t *testing.T) {
	in := minimal(strings.Replace(aRun, `"happened_on": "2024-02-29"`, `"happened_at": "1970-01-01T00:00:00Z"`, 1)+`}`,
		`{"id": "Q", "person": "W", "method": "bucket", "role": "lead", "rule_set": "R", "at": "1970-01-01T00:00:00Z"}`)
	f, err := Decode(in)
	require.NoError(t, err)
	answers, err := f.Answers()
	require.NoError(t, err)
	assert.Equal(t, Current, answers.Answers[0].Standing)
	written, err := f.Encode()
	require.NoError(t, err)
	again, err := AnswerFile(written)
	require.NoError(t, err)
	assert.Contains(t, string(again), `"day":"1970-01-01","standing":"CURRENT"`)
}

func TestWrongShapesAreFaultsWithTheirPlace(t *testing.T) {
	question := `{"id": "Q", "person": "W", "method": "bucket", "role": "lead", "on": "2024-03-01"`
	for _, c := range []struct{ name, entry, question, field string }{
		{"a flag that is text", aRun + `, "complete": "yes"}`, "", "entry E"},
		{"a person that is a number", aRun + `, "person": 7}`, "", "entry E"},
		{"an empty family", aRun + `, "family": ""}`, "", "entry E"},
		{"an entry without an author", aRun + `, "author": null}`, "", "entry E"},
		{"an entry that is no object", `7`, "", "entry 1"},
		{"an entry that is null", `null`, "", "entry 1"},
		{"an entry without an id", `{"kind": "run"}`, "", "entry 1"},
		{"a day with a time", aRun + `, "happened_on": "2024-02-29T00:00:00Z"}`, "", "entry E"},
		{"a day without zeros", aRun + `, "happened_on": "2024-2-9"}`, "", "entry E"},
		{"the 30th of February", aRun + `, "happened_on": "2024-02-30"}`, "", "entry E"},
		{"an instant with a blank", aRun + `, "recorded_at": "2024-02-29 21:00:00Z"}`, "", "entry E"},
		{"an instant with a fraction of nothing", aRun + `, "recorded_at": "2024-02-29T21:00:00.0Z"}`, "", "entry E"},
		{"an instant without seconds", aRun + `, "recorded_at": "2024-02-29T21:00Z"}`, "", "entry E"},
		{"an offset without a colon", aRun + `, "recorded_at": "2024-02-29T21:00:00+0100"}`, "", "entry E"},
		{"an apprentice without a year", `{"id": "G", "kind": "grade", "person": "W", "grade": "apprentice", "happened_on": "2024-01-01", "recorded_at": "2024-01-01T00:00:00Z", "author": "H"}`, "", "entry G"},
		{"an extension without a first day", `{"id": "X", "kind": "extension", "person": "W", "method": "bucket", "to": "2024-02-01", "happened_on": "2024-01-01", "recorded_at": "2024-01-01T00:00:00Z", "author": "H"}`, "", "entry X"},
		{"a withdrawal of nothing", `{"id": "X", "kind": "withdrawal", "recorded_at": "2024-01-01T00:00:00Z", "author": "H"}`, "", "entry X"},
		{"a lifting recorded before what it names", `{"id": "L", "kind": "lifting", "person": "W", "lifts": "E", "by_pass": "E", "happened_on": "2024-02-29", "recorded_at": "2024-02-29T20:59:59Z", "author": "H"}, ` + aRun + `}`, "", "entry L"},
		{"a correction of itself", aRun + `, "replaces": "E"}`, "", "entry E"},
		{"a question asked twice", "", question + `}, ` + question + `}`, "question Q"},
		{"a course that ends before it starts", "", question + `, "course": {"from": "2024-02-02", "through": "2024-02-01"}}`, "question Q"},
		{"a course without an end", "", question + `, "course": {"from": "2024-02-02"}}`, "question Q"},
		{"a question for any role", "", question + `, "role": "any"}`, "question Q"},
	} {
		_, err := Decode(minimal(c.entry, c.question))
		refusals := groundhand.Refusals(err)
		if assert.Len(t, refusals, 1, c.name) {
			assert.Equal(t, c.field, refusals[0].Field, c.name)
		}
	}
}

func TestWhatIsNoFactsFileIsRefused(t *testing.T) {
	for _, in := range []string{"", "null", "[]", "7", `{"format": "standing-facts/1"}`, "{}", `{"format": 1}`, "\xff\xfe{}", string(minimal("", "")) + "x"} {
		_, err := Decode([]byte(in))
		assert.ErrorIs(t, err, groundhand.CodeInvalid, "%q", in)
	}
	local := bytes.Replace(minimal("", ""), []byte(`"UTC"`), []byte(`"Local"`), 1) // would be the zone of the machine
	_, err := Decode(local)
	assert.ErrorIs(t, err, groundhand.CodeInvalid)
}

func TestLimitsOfALine(t *testing.T) {
	for _, c := range []struct {
		name string
		ok   bool
		line Line
	}{
		{"120 months", true, line(RoleLead, DayBefore, 120)},
		{"121 months", false, line(RoleLead, DayBefore, 121)},
		{"no interval", false, line(RoleLead, DayBefore, 0)},
		{"3660 days", true, line(RoleLead, DayBefore, 0, func(l *Line) { l.Interval.Days = 3660 })},
		{"3661 days", false, line(RoleLead, DayBefore, 0, func(l *Line) { l.Interval.Days = 3661 })},
		{"months and days", false, line(RoleLead, DayBefore, 12, func(l *Line) { l.Interval.Days = 3 })},
		{"a window of 335 days in 12 months", true, line(RoleLead, DayBefore, 12, window(335))},
		{"a window of 336 days in 12 months", false, line(RoleLead, DayBefore, 12, window(336))},
		{"a window of 9 in 10 days", true, line(RoleLead, DayBefore, 0, window(9), func(l *Line) { l.Interval.Days = 10 })},
		{"a window of 10 in 10 days", false, line(RoleLead, DayBefore, 0, window(10), func(l *Line) { l.Interval.Days = 10 })},
		{"a window before today", false, line(RoleLead, DayBefore, 12, window(-1))},
		{"a month end of days", false, line(RoleLead, MonthEnd, 0, func(l *Line) { l.Interval.Days = 30 })},
		{"a calendar of 24 months", true, line(RoleLead, CalendarYear, 24)},
		{"a calendar of days", false, line(RoleLead, CalendarYear, 0, func(l *Line) { l.Interval.Days = 365 })},
		{"365 days as days", false, line(RoleLead, Days365, 0, func(l *Line) { l.Interval.Days = 365 })},
		{"a base month of 3", true, line(RoleLead, BaseMonth, 3)},
		{"a base month with a window", false, line(RoleLead, BaseMonth, 12, window(1))},
		{"a line for a casualty", false, line(RoleCasualty, DayBefore, 12)},
		{"hearsay accepted", false, line(RoleLead, DayBefore, 12, func(l *Line) { l.Accepts = []string{"hearsay"} })},
		{"a level nobody knows", false, line(RoleLead, DayBefore, 12, func(l *Line) { l.OutsideLevel = "rumoured" })},
	} {
		err := Check(Facts{Zone: "UTC", RuleSets: []RuleSet{ruleSet("R", "2020-01-01", c.line)}})
		assert.Equal(t, c.ok, err == nil, "%s: %v", c.name, err)
	}
}
