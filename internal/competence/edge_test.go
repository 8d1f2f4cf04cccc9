package competence

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// edge is one case: what is recorded, what is asked, what the answer must be.
type edge struct {
	name    string
	rules   []RuleSet // nil: usual()
	entries []Entry   // beside gideon()
	ask     Question
	want    Standing
	last    string            // last good day, "" for none
	changes string            // changes on, "" for not looked at, "never" for none
	refused map[string]Reason // the reason against each, "" for none
	rests   []string          // nil: not looked at
}

func (c edge) check(t *testing.T) {
	t.Helper()
	if c.rules == nil {
		c.rules = usual()
	}
	a := answer(t, bookOf(t, "Europe/Dublin", c.rules, append(gideon(), c.entries...)...), c.ask)
	assert.Equal(t, c.want, a.Standing, c.name)
	assert.Equal(t, c.last, a.LastGoodDay.String(), c.name)
	switch c.changes {
	case "":
	case "never":
		assert.True(t, a.ChangesOn.IsZero(), "%s: changes on %s", c.name, a.ChangesOn)
	default:
		assert.Equal(t, c.changes, a.ChangesOn.String(), c.name)
	}
	for id, why := range c.refused {
		assert.Equal(t, why, refusedAs(a, id), "%s: %s", c.name, id)
	}
	if c.rests != nil {
		assert.Equal(t, c.rests, a.RestsOn, c.name)
	}
}

func TestEdgeCasesOfFailsAndSuspensions(t *testing.T) {
	old := run("old", "W", "2024-01-10")
	hold := suspension("hold", "W", "2024-02-01")
	for _, c := range []edge{
		{name: "fail and pass on one day, both without time", entries: []Entry{old, fail("f", "W", "2024-02-01"), pass("p", "W", "2024-02-01")},
			ask: asking("W", "2024-02-01"), want: Suspended, last: "2025-01-31", changes: "never", rests: []string{"f"}, refused: map[string]Reason{"f": Failed, "p": ""}},
		{name: "fail and pass at the same instant", entries: []Entry{old, fail("f", "W", "2024-02-01T10:00:00Z"), pass("p", "W", "2024-02-01T10:00:00Z")},
			ask: asking("W", "2024-02-01"), want: Suspended, last: "2025-01-31"},
		{name: "the pass provably later", entries: []Entry{old, fail("f", "W", "2024-02-01T10:00:00Z"), pass("p", "W", "2024-02-01T10:00:01Z")},
			ask: asking("W", "2024-02-01"), want: Current, last: "2025-01-31", rests: []string{"p"}},
		{name: "a pass as second after a fail as lead", entries: []Entry{old, fail("f", "W", "2024-02-01"), pass("p", "W", "2024-02-02", role(RoleSecond))},
			ask: asking("W", "2024-02-03"), want: Suspended, last: "2025-01-09"},
		{name: "a pass as lead after a fail as second", entries: []Entry{old, fail("f", "W", "2024-02-01", role(RoleSecond)), pass("p", "W", "2024-02-02")},
			ask: asking("W", "2024-02-03", as(RoleSecond)), want: Current, last: "2025-02-01"},
		{name: "a critical fail reaches the other family", entries: []Entry{run("old2", "W", "2024-01-10", family("F2")), fail("f", "W", "2024-02-01", critical)},
			ask: asking("W", "2024-02-03", on("F2")), want: Suspended, last: "2025-01-09", refused: map[string]Reason{"f": WrongFamily}},
		{name: "another fail does not", entries: []Entry{run("old2", "W", "2024-01-10", family("F2")), fail("f", "W", "2024-02-01")},
			ask: asking("W", "2024-02-03", on("F2")), want: Current, last: "2025-01-09"},
		{name: "a critical fault in a run suspends as well", entries: []Entry{old, run("f", "W", "2024-02-01", func(e *Entry) { e.CriticalFail = true })},
			ask: asking("W", "2024-02-03"), want: Suspended, last: "2025-01-09", refused: map[string]Reason{"f": Failed}},
		{name: "a lone pass gives no lead credit", entries: []Entry{pass("p", "W", "2024-02-01", role(RoleLone))},
			ask: asking("W", "2024-02-03"), want: Never, refused: map[string]Reason{"p": WrongRole}},
		{name: "a lone pass lifts no pair fail", entries: []Entry{old, fail("f", "W", "2024-02-01"), pass("p", "W", "2024-02-02", role(RoleLone))},
			ask: asking("W", "2024-02-03"), want: Suspended, last: "2025-01-09"},
		{name: "a pair fail leaves lone alone", entries: []Entry{run("lone", "W", "2024-01-10", role(RoleLone)), fail("f", "W", "2024-02-01")},
			ask: asking("W", "2024-02-03", as(RoleLone)), want: Current, last: "2025-01-09"},
		{name: "a fail nobody was entitled to assess suspends", entries: []Entry{old, fail("f", "W", "2024-02-01", assessor("Nobody"))},
			ask: asking("W", "2024-02-03"), want: Suspended, last: "2025-01-09"},
		{name: "a failed theory paper suspends nobody", entries: []Entry{old, fail("f", "W", "2024-02-01", func(e *Entry) { e.Theory = true })},
			ask: asking("W", "2024-02-03"), want: Current, last: "2025-01-09", refused: map[string]Reason{"f": TheoryOnly}},
		{name: "a fail later that day is not seen at noon", entries: []Entry{old, fail("f", "W", "2024-02-01T15:00:00Z")},
			ask: asking("W", "2024-02-01T12:00:00Z"), want: Current, last: "2025-01-09"},
		{name: "a fail on the bare day is seen at noon", entries: []Entry{old, fail("f", "W", "2024-02-01")},
			ask: asking("W", "2024-02-01T12:00:00Z"), want: Suspended, last: "2025-01-09", refused: map[string]Reason{"f": Future}},
		{name: "a suspension is no fail: a pass alone does not end it", entries: []Entry{old, hold, pass("p", "W", "2024-02-02")},
			ask: asking("W", "2024-02-04"), want: Suspended, last: "2025-02-01", rests: []string{"hold"}},
		{name: "lifted by a pass, and older evidence counts again", entries: []Entry{old, hold, pass("p", "W", "2024-02-02", family("F2")), lifting("l", "W", "2024-02-03", "hold", "p")},
			ask: asking("W", "2024-02-04"), want: Current, last: "2025-01-09", refused: map[string]Reason{"l": ""}},
		{name: "a lifting by the person himself", entries: []Entry{old, hold, pass("p", "W", "2024-02-02"), lifting("l", "W", "2024-02-03", "hold", "p", func(e *Entry) { e.Author = "W" })},
			ask: asking("W", "2024-02-04"), want: Suspended, last: "2025-02-01", refused: map[string]Reason{"l": LiftsNothing}},
		{name: "a lifting by a pass before the suspension", entries: []Entry{old, pass("p", "W", "2024-01-31"), hold, lifting("l", "W", "2024-02-03", "hold", "p")},
			ask: asking("W", "2024-02-04"), want: Suspended, last: "2025-01-30", refused: map[string]Reason{"l": LiftsNothing}},
		{name: "a lifting on a day before its pass", entries: []Entry{old, hold, pass("p", "W", "2024-02-03"), lifting("l", "W", "2024-02-02", "hold", "p", recorded("2024-02-04T12:00:00Z"))},
			ask: asking("W", "2024-02-05"), want: Suspended, last: "2025-02-02", refused: map[string]Reason{"l": LiftsNothing}},
		{name: "a line of any role feels a lone fail", rules: policy(DayBefore, 12), entries: []Entry{old, fail("f", "W", "2024-02-01", role(RoleLone))},
			ask: asking("W", "2024-02-03"), want: Suspended, last: "2025-01-09"},
		{name: "a lifting of a suspension that was taken back stays unrefused", entries: []Entry{old, hold, pass("p", "W", "2024-02-02"), lifting("l", "W", "2024-02-03", "hold", "p"), withdrawal("w", "hold", "2024-02-05T00:00:00Z")},
			ask: asking("W", "2024-02-06"), want: Current, last: "2025-02-01", refused: map[string]Reason{"l": ""}},
		{name: "a corrected suspension needs a new lifting", entries: []Entry{old, hold, pass("p", "W", "2024-02-02"), lifting("l", "W", "2024-02-03", "hold", "p"),
			suspension("hold2", "W", "2024-02-01", replaces("hold", "2024-02-05T00:00:00Z"))},
			ask: asking("W", "2024-02-06"), want: Suspended, last: "2025-02-01", rests: []string{"hold2"}, refused: map[string]Reason{"l": ""}},
		{name: "also-methods spread evidence but no suspension", rules: usual(func(l *Line) { l.AlsoMethods = []string{"pole-top"} }),
			entries: []Entry{run("pole", "W", "2024-01-10", func(e *Entry) { e.Method = "pole-top" }), fail("f", "W", "2024-02-01", func(e *Entry) { e.Method = "pole-top" })},
			ask:     asking("W", "2024-02-03"), want: Current, last: "2025-01-09", refused: map[string]Reason{"f": Failed}},
	} {
		c.check(t)
	}
}

func TestEdgeCasesOfTheDay(t *testing.T) {
	for _, c := range []edge{
		{name: "run without time, asked at 18:00", entries: []Entry{run("r", "W", "2024-02-01")}, ask: asking("W", "2024-02-01T18:00:00Z"), want: Never, changes: "never", refused: map[string]Reason{"r": Future}},
		{name: "run without time, asked on the day", entries: []Entry{run("r", "W", "2024-02-01")}, ask: asking("W", "2024-02-01"), want: Current, last: "2025-01-31", changes: "2025-02-01"},
		{name: "lapsed yesterday, at noon before the run", entries: []Entry{run("old", "W", "2024-02-01"), run("new", "W", "2025-02-01T15:00:00Z")},
			ask: asking("W", "2025-02-01T12:00:00Z"), want: Lapsed, last: "2025-01-31"},
		{name: "lapsed yesterday, run today, asked on the day", entries: []Entry{run("old", "W", "2024-02-01"), run("new", "W", "2025-02-01T15:00:00Z")},
			ask: asking("W", "2025-02-01"), want: Current, last: "2026-01-31"},
		{name: "refresh 30 days early keeps the anniversary", rules: usual(window(30)), entries: []Entry{run("old", "W", "2023-06-06"), run("new", "W", "2024-05-07")},
			ask: asking("W", "2024-05-07"), want: Current, last: "2025-06-05", rests: []string{"new", "old"}},
		{name: "refresh 31 days early moves it", rules: usual(window(30)), entries: []Entry{run("old", "W", "2023-06-06"), run("new", "W", "2024-05-06")},
			ask: asking("W", "2024-05-06"), want: Current, last: "2025-05-05", rests: []string{"new"}},
		{name: "drilled again between, then early: the best origin wins", rules: usual(window(30)), entries: []Entry{run("old", "W", "2023-06-06"), run("between", "W", "2023-12-01"), run("new", "W", "2024-05-20")},
			ask: asking("W", "2024-05-20"), want: Current, last: "2025-06-05", rests: []string{"new", "old"}},
		{name: "unknown person", ask: asking("Nobody", "2024-02-01"), want: Never, changes: "never", rests: []string{}},
		{name: "a run without family never fits a line per family", entries: []Entry{run("r", "W", "2024-02-01", family(""))}, ask: asking("W", "2024-02-01"), want: Never, refused: map[string]Reason{"r": WrongFamily}},
		{name: "the bare day of 25 hours is not over an hour early", entries: []Entry{run("r", "W", "2024-10-27")}, ask: asking("W", "2024-10-27T23:30:00Z"), want: Never, refused: map[string]Reason{"r": Future}},
		{name: "of equal last good days the latest origin", rules: policy(Anniversary, 1, window(5)), entries: []Entry{run("r30", "W", "2024-01-30"), run("r31", "W", "2024-01-31")}, ask: asking("W", "2024-02-01"), want: Current, last: "2024-02-29", rests: []string{"r31"}},
		{name: "a second drill in the base month changes nothing", rules: policy(BaseMonth, 12), entries: []Entry{run("first", "W", "2024-06-05"), run("again", "W", "2024-06-20")}, ask: asking("W", "2024-07-01"), want: Current, last: "2025-06-30", rests: []string{"first"}},
		{name: "a run recorded before it happened", entries: []Entry{run("r", "W", "2024-02-01", recorded("2024-01-31T23:59:59Z"))}, ask: asking("W", "2024-02-01"), want: Never, refused: map[string]Reason{"r": RecordedBefore}},
	} {
		c.check(t)
	}
}

func TestEdgeCasesOfRuleSets(t *testing.T) {
	second := ruleSet("R2", "2024-06-01", line(RoleLead, DayBefore, 6, perFamily))
	preview := append(usual(), second, RuleSet{ID: "X", EffectiveFrom: day("2030-01-01"), Lines: []Line{line(RoleAny, MonthEnd, 12)}})
	ended := usual()
	ended[0].EffectiveThrough = day("2024-03-31")
	r := run("r", "W", "2024-02-01")
	for _, c := range []edge{
		{name: "the coming rule set is seen coming", rules: preview, entries: []Entry{r}, ask: asking("W", "2024-03-01"), want: Current, last: "2025-01-31", changes: "2024-08-01"},
		{name: "named outside its dates: a preview", rules: preview, entries: []Entry{r}, ask: asking("W", "2024-03-01", under("X")), want: Current, last: "2025-02-28", changes: "2025-03-01"},
		{name: "a day before any rule set", entries: []Entry{r}, ask: asking("W", "2019-12-31"), want: Never, changes: "never"},
		{name: "the last day of the only rule set", rules: ended, entries: []Entry{r}, ask: asking("W", "2024-03-31"), want: Current, last: "2025-01-31", changes: "2024-04-01"},
		{name: "after the only rule set", rules: ended, entries: []Entry{r}, ask: asking("W", "2024-04-01"), want: Never, changes: "never"},
	} {
		c.check(t)
	}
	b := bookOf(t, "Europe/Dublin", ended, r)
	assert.Equal(t, NoRuleSet, answer(t, b, asking("W", "2024-04-01")).Note)
	other := asking("W", "2024-03-01")
	other.Method = "pole-top"
	assert.Equal(t, NoLine, answer(t, b, other).Note)
	a := answer(t, b, asking("W", "2024-03-01", on("")))
	assert.Equal(t, NoFamily, a.Note)
	assert.Equal(t, "line-lead", a.Line, "the line is given with NO_FAMILY too")
	_, err := b.Standing(asking("W", "2024-03-01", under("Z")))
	assert.ErrorContains(t, err, "no rule set")
}

func TestEdgeCasesOfAssessors(t *testing.T) {
	noon := pass("p", "W", "2024-02-01T10:00:00Z")
	gideonFails := fail("g-fail", "Gideon", "2024-02-01T15:00:00Z", assessor("Sanna"))
	late := authority("late", "Sanna", "2024-02-05", func(e *Entry) { e.From = day("2024-01-01") })
	early := authority("early", "Sanna", "2024-01-01", recorded("2024-02-05T12:00:00Z"))
	sanna := run("s-lead", "Sanna", "2024-01-02")
	bySanna := pass("p", "W", "2024-02-01", assessor("Sanna"))
	for _, c := range []edge{
		{name: "the assessor fails that afternoon, asked at noon", entries: []Entry{noon, gideonFails}, ask: asking("W", "2024-02-01T12:00:00Z"), want: Current, last: "2025-01-31"},
		{name: "the assessor fails that afternoon, asked for the day", entries: []Entry{noon, gideonFails}, ask: asking("W", "2024-02-01"), want: Never, refused: map[string]Reason{"p": AssessorNotCurrent}},
		{name: "authority granted after the pass for the time before", entries: []Entry{sanna, late, bySanna}, ask: asking("W", "2024-02-06"), want: Never, refused: map[string]Reason{"p": AssessorNoRight}},
		{name: "authority granted before and only entered later", entries: []Entry{sanna, early, bySanna}, ask: asking("W", "2024-02-06"), want: Current, last: "2025-01-31"},
		{name: "the same, as known before it was entered", entries: []Entry{sanna, early, bySanna}, ask: asking("W", "2024-02-06", knownAt("2024-02-04T00:00:00Z")), want: Never, refused: map[string]Reason{"p": AssessorNoRight}},
		{name: "authority granted by himself", entries: []Entry{sanna, authority("own", "Sanna", "2024-01-01", func(e *Entry) { e.Author = "Sanna" }), bySanna}, ask: asking("W", "2024-02-06"), want: Never, refused: map[string]Reason{"p": AssessorNoRight}},
		{name: "authority for another family", entries: []Entry{sanna, authority("f2", "Sanna", "2024-01-01", func(e *Entry) { e.Families = []string{"F2"} }), bySanna}, ask: asking("W", "2024-02-06"), want: Never, refused: map[string]Reason{"p": AssessorNoRight}},
		{name: "authority for no family at all", entries: []Entry{sanna, authority("none", "Sanna", "2024-01-01", func(e *Entry) { e.Families = []string{} }), bySanna}, ask: asking("W", "2024-02-06"), want: Never, refused: map[string]Reason{"p": AssessorNoRight}},
		{name: "self", entries: []Entry{pass("p", "Gideon", "2024-02-01")}, ask: asking("Gideon", "2024-02-06"), want: Current, last: "2025-01-01", refused: map[string]Reason{"p": SelfAssessed}},
		{name: "no assessor", entries: []Entry{pass("p", "W", "2024-02-01", assessor(""))}, ask: asking("W", "2024-02-06"), want: Never, refused: map[string]Reason{"p": AssessorNoRight}},
		{name: "two friends in one afternoon", entries: []Entry{authority("a1", "W", "2024-01-01"), authority("a2", "Sanna", "2024-01-01"),
			pass("p", "W", "2024-02-01T10:00:00Z", assessor("Sanna")), pass("q", "Sanna", "2024-02-01T11:00:00Z", assessor("W"))},
			ask: asking("W", "2024-02-01"), want: Never, refused: map[string]Reason{"p": AssessorNotCurrent}},
		{name: "a chain of passes falls with its first link", entries: []Entry{authority("a2", "Sanna", "2024-01-01"), authority("a3", "Omar", "2024-01-01"),
			pass("first", "Sanna", "2024-02-01", assessor("Nobody")), pass("next", "Omar", "2024-02-02", assessor("Sanna")), pass("p", "W", "2024-02-03", assessor("Omar"))},
			ask: asking("W", "2024-02-06"), want: Never, refused: map[string]Reason{"p": AssessorNotCurrent}},
		{name: "the same chain with a good first link", entries: []Entry{authority("a2", "Sanna", "2024-01-01"), authority("a3", "Omar", "2024-01-01"),
			pass("first", "Sanna", "2024-02-01"), pass("next", "Omar", "2024-02-02", assessor("Sanna")), pass("p", "W", "2024-02-03", assessor("Omar"))},
			ask: asking("W", "2024-02-06"), want: Current, last: "2025-02-02"},
	} {
		c.check(t)
	}
}

func TestEdgeCasesOfAbsenceExtensionAndGrade(t *testing.T) {
	old := run("old", "W", "2024-02-01")
	barred := usual(func(l *Line) { l.BarredYears = []int{1, 2} })
	late := grade("g", "W", "2024-01-01", 1)
	late.RecordedAt = instant("2024-06-01T12:00:00Z")
	yes := func(id, granted, from, to string) Entry { return extension(id, "W", granted, from, to) }
	for _, c := range []edge{
		{name: "away exactly three months", entries: []Entry{old, away("a", "W", "2024-03-01", "2024-05-31")}, ask: asking("W", "2024-06-10"), want: Current, last: "2025-01-31", changes: "2025-02-01"},
		{name: "away one day more, the day before", entries: []Entry{old, away("a", "W", "2024-03-01", "2024-06-01")}, ask: asking("W", "2024-05-31"), want: Current, last: "2025-01-31", changes: "2024-06-01"},
		{name: "away one day more", entries: []Entry{old, away("a", "W", "2024-03-01", "2024-06-01")}, ask: asking("W", "2024-06-01"), want: Held, last: "2025-01-31", changes: "2025-02-01", rests: []string{"a", "old"}},
		{name: "two stretches that touch are one absence", entries: []Entry{old, away("a", "W", "2024-03-01", "2024-04-30"), away("b", "W", "2024-05-01", "2024-06-01")}, ask: asking("W", "2024-06-01"), want: Held, last: "2025-01-31", rests: []string{"a", "b", "old"}},
		{name: "two stretches with a day between are two", entries: []Entry{old, away("a", "W", "2024-03-01", "2024-04-29"), away("b", "W", "2024-05-01", "2024-06-01")}, ask: asking("W", "2024-06-01"), want: Current, last: "2025-01-31"},
		{name: "held, and the last good day passes: lapsed", entries: []Entry{old, away("a", "W", "2024-03-01", "")}, ask: asking("W", "2025-02-01"), want: Lapsed, last: "2025-01-31"},
		{name: "a run that nobody watched does not end it", entries: []Entry{old, away("a", "W", "2024-03-01", "2024-07-31"), run("r", "W", "2024-08-05")}, ask: asking("W", "2024-08-05"), want: Held, last: "2025-08-04"},
		{name: "watched by himself", entries: []Entry{old, away("a", "W", "2024-03-01", "2024-07-31"), run("r", "W", "2024-08-05", watchedBy("W"))}, ask: asking("W", "2024-08-05"), want: Held, last: "2025-08-04"},
		{name: "a watched run ends it", entries: []Entry{old, away("a", "W", "2024-03-01", "2024-07-31"), run("r", "W", "2024-08-05", watchedBy("Gideon"))}, ask: asking("W", "2024-08-05"), want: Current, last: "2025-08-04"},
		{name: "a watched run on the last day away does not", entries: []Entry{old, away("a", "W", "2024-03-01", "2024-07-31"), run("r", "W", "2024-07-31", watchedBy("Gideon"))}, ask: asking("W", "2024-08-05"), want: Held, last: "2025-07-30"},
		{name: "a watched run on another family does not", entries: []Entry{old, away("a", "W", "2024-03-01", "2024-07-31"), run("r", "W", "2024-08-05", watchedBy("Gideon"), family("F2"))}, ask: asking("W", "2024-08-05"), want: Held, last: "2025-01-31"},
		{name: "extension granted before the first credit", entries: []Entry{yes("x", "2024-01-10", "2025-02-01", "2025-02-21"), old}, ask: asking("W", "2025-02-01"), want: Lapsed, last: "2025-01-31", refused: map[string]Reason{"x": NothingToExtend}},
		{name: "on extension", entries: []Entry{old, yes("x", "2025-01-20", "2025-01-20", "2025-02-21")}, ask: asking("W", "2025-02-01"), want: OnExtension, last: "2025-01-31", changes: "2025-02-22", rests: []string{"old", "x"}},
		{name: "a second extension of one credit", entries: []Entry{old, yes("x", "2025-01-20", "2025-02-01", "2025-02-21"), yes("y", "2025-02-20", "2025-02-22", "2025-03-21")}, ask: asking("W", "2025-02-22"), want: Lapsed, last: "2025-01-31", refused: map[string]Reason{"x": "", "y": TooMany}},
		{name: "an extension of an older credit does not use up the newer one's", entries: []Entry{run("older", "W", "2023-02-01"), yes("x", "2024-01-20", "2024-02-01", "2024-02-21"), old, yes("y", "2025-01-20", "2025-02-01", "2025-02-21")},
			ask: asking("W", "2025-02-10"), want: OnExtension, last: "2025-01-31", refused: map[string]Reason{"x": "", "y": ""}},
		{name: "an extension without role never reaches lone", entries: []Entry{run("lone", "W", "2024-02-01", role(RoleLone)), yes("x", "2025-01-20", "2025-02-01", "2025-02-21")}, ask: asking("W", "2025-02-10", as(RoleLone)), want: Lapsed, last: "2025-01-31", refused: map[string]Reason{"x": WrongRole}},
		{name: "an open-ended extension", entries: []Entry{old, yes("x", "2025-01-20", "2025-02-01", "")}, ask: asking("W", "2025-02-10"), want: Lapsed, last: "2025-01-31", refused: map[string]Reason{"x": OpenEnded}},
		{name: "approved by the person", entries: []Entry{old, extension("x", "W", "2025-01-20", "2025-02-01", "2025-02-21", func(e *Entry) { e.Approver = "W" })}, ask: asking("W", "2025-02-10"), want: Lapsed, last: "2025-01-31", refused: map[string]Reason{"x": SelfApproved}},
		{name: "two extensions granted one day, one without time: it counts as the later", entries: []Entry{old, yes("x", "2025-01-20", "2025-02-01", "2025-02-21"), yes("y", "2025-01-20T08:00:00Z", "2025-02-01", "2025-02-21")}, ask: asking("W", "2025-02-10"), want: OnExtension, last: "2025-01-31", refused: map[string]Reason{"x": TooMany, "y": ""}},
		{name: "an extension that begins after a gap", entries: []Entry{old, yes("x", "2025-01-20", "2025-02-10", "2025-02-21")}, ask: asking("W", "2025-02-03"), want: Lapsed, last: "2025-01-31", changes: "2025-02-10"},
		{name: "two grades of one day: the one recorded last decides", rules: barred, entries: []Entry{old, grade("y", "W", "2024-01-01", 3), late}, ask: asking("W", "2024-03-01"), want: Never, refused: map[string]Reason{"old": GradeBarred}},
		{name: "apprentice year recorded late, as known before", rules: barred, entries: []Entry{old, late}, ask: asking("W", "2024-03-01", knownAt("2024-03-01T00:00:00Z")), want: Never, refused: map[string]Reason{"old": GradeUnknown}},
		{name: "apprentice year recorded late, with all that is known", rules: barred, entries: []Entry{old, late}, ask: asking("W", "2024-03-01"), want: Never, refused: map[string]Reason{"old": GradeBarred}},
		{name: "no grade known where the line bars years", rules: barred, entries: []Entry{old}, ask: asking("W", "2024-03-01"), want: Never, refused: map[string]Reason{"old": GradeUnknown}},
		{name: "an apprentice of a barred year", rules: barred, entries: []Entry{old, grade("g", "W", "2024-01-01", 2)}, ask: asking("W", "2024-03-01"), want: Never, refused: map[string]Reason{"old": GradeBarred}},
		{name: "the same evidence counts once the year is over", rules: barred, entries: []Entry{old, grade("g", "W", "2024-01-01", 2), grade("h", "W", "2024-05-02", 3)}, ask: asking("W", "2024-05-02"), want: Current, last: "2025-01-31"},
		{name: "two runs wanted, one and its assessment", rules: usual(func(l *Line) { l.MinimumRuns = 2 }), entries: []Entry{old, pass("p", "W", "2024-02-01", func(e *Entry) { e.OfRun = "old" })}, ask: asking("W", "2024-03-01"), want: Never, refused: map[string]Reason{"old": TooFewRuns}},
	} {
		c.check(t)
	}
}

// In A <- B <- C only C stands; each withdrawal undoes exactly what it names.
func TestChainsOfCorrections(t *testing.T) {
	a, b := run("A", "W", "2024-02-01"), run("B", "W", "2024-02-02", replaces("A", "2024-02-03T12:00:00Z"))
	c := run("C", "W", "2024-02-03", replaces("B", "2024-02-05T12:00:00Z"))
	noB, noC := withdrawal("noB", "B", "2024-02-06T12:00:00Z"), withdrawal("noC", "C", "2024-02-06T12:00:00Z")
	yesC := withdrawal("yesC", "noC", "2024-02-07T12:00:00Z")
	for _, k := range []edge{
		{name: "only C stands", entries: []Entry{a, b, c}, want: Current, last: "2025-02-02", refused: map[string]Reason{"A": Replaced, "B": Replaced, "C": ""}},
		{name: "withdraw C and B stands", entries: []Entry{a, b, c, noC}, want: Current, last: "2025-02-01", refused: map[string]Reason{"A": Replaced, "B": "", "C": Withdrawn}},
		{name: "withdraw only B and C still stands", entries: []Entry{a, b, c, noB}, want: Current, last: "2025-02-02", refused: map[string]Reason{"A": Replaced, "B": Withdrawn, "C": ""}},
		{name: "withdraw both and A stands", entries: []Entry{a, b, c, noB, noC}, want: Current, last: "2025-01-31", refused: map[string]Reason{"A": "", "B": Withdrawn, "C": Withdrawn}},
		{name: "withdraw the withdrawal and all is as before", entries: []Entry{a, b, c, noC, yesC}, want: Current, last: "2025-02-02", refused: map[string]Reason{"B": Replaced, "C": ""}},
	} {
		k.ask = asking("W", "2024-03-01")
		k.check(t)
	}
	b2 := bookOf(t, "Europe/Dublin", usual(), a, b, c, noC, yesC)
	for known, want := range map[string]string{"2024-02-02T00:00:00Z": "2025-01-31", "2024-02-04T00:00:00Z": "2025-02-01", "2024-02-06T00:00:00Z": "2025-02-02", "2024-02-06T18:00:00Z": "2025-02-01", "2024-02-08T00:00:00Z": "2025-02-02"} {
		assert.Equal(t, want, answer(t, b2, asking("W", "2024-03-01", knownAt(known))).LastGoodDay.String(), known)
	}
}
