package competence

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The rule sets of the invented scenario: R0 any rescue in the last year, R1 yearly per family, R2 lone every six months; R-X the
// contractor's month end, R-C the client's without extensions. The people and stories are invented.
func scenario() []RuleSet {
	months := func(n int) func(*Line) { return func(l *Line) { l.Interval.Months = n } }
	hard := func(l *Line) { l.PerFamily, l.AbsenceMonths, l.MaxExtensions = true, 6, 1 }
	other := func(method string) func(*Line) { return func(l *Line) { l.ID, l.Method = method, method } }
	named := func(id string, lines ...Line) RuleSet {
		return RuleSet{ID: id, EffectiveFrom: day("2024-01-01"), Lines: lines}
	}
	return []RuleSet{
		ruleSet("R0", "2023-01-01", line(RoleAny, Anniversary, 12), line(RoleAny, DayBefore, 12, other("cpr"))),
		ruleSet("R1", "2024-11-01", line(RoleLead, DayBefore, 12, hard), line(RoleSecond, DayBefore, 12, hard), line(RoleLone, DayBefore, 12, hard),
			line(RoleAny, DayBefore, 12, other("cpr")), line(RoleAny, DayBefore, 12, other("familiarisation"), perFamily)),
		ruleSet("R2", "2025-03-01", line(RoleLead, DayBefore, 12, hard), line(RoleSecond, DayBefore, 12, hard), line(RoleLone, DayBefore, 12, hard, months(6)),
			line(RoleAny, DayBefore, 12, other("cpr")), line(RoleAny, DayBefore, 12, other("familiarisation"), perFamily)),
		named("R-X", line(RoleAny, MonthEnd, 12)), named("R-C", line(RoleAny, DayBefore, 12)),
	}
}

func TestStoriesOfTheScenario(t *testing.T) {
	of := func(method string) func(*Entry) { return func(e *Entry) { e.Method = method } }
	about := func(method string) func(*Question) { return func(q *Question) { q.Method = method } }
	b := bookOf(t, "Europe/Dublin", scenario(),
		authority("g-authority", "Gideon", "2023-01-02"), run("g-lead", "Gideon", "2024-08-01", family("F4")), run("g-lone", "Gideon", "2024-08-01", role(RoleLone)),
		run("g-lead1", "Gideon", "2024-08-01"), run("pavel-pair", "Pavel", "2024-03-12"), pass("pavel-lone", "Pavel", "2024-11-12", role(RoleLone)),
		run("pavel-cpr", "Pavel", "2024-03-09", of("cpr")), run("leap", "Wiktor", "2024-02-29"), run("uche", "Uche", "2024-01-12"),
		run("familiar", "Jamie", "2025-04-28", of("familiarisation"), family("F4"), recorded("2025-05-05T07:12:00Z")),
		withdrawal("taken-back", "familiar", "2025-05-16T09:00:00Z"),
		pass("luca-pass", "Luca", "2024-09-03", family("F4")), fail("luca-fail", "Luca", "2025-02-18T10:20:00Z", family("F4"), critical), pass("luca-again", "Luca", "2025-02-25", family("F4")),
		run("meera-run", "Meera", "2024-03-12"), away("meera-away", "Meera", "2024-05-14", "2025-02-17"), pass("meera-pass", "Meera", "2025-03-04"),
	)
	for _, c := range []struct {
		name          string
		ask           Question
		want          Standing
		last, changes string
		why           map[string]Reason
	}{
		{"P5 lone under the old habit", asking("Pavel", "2024-10-22", as(RoleLone)), Current, "2025-03-12", "2024-11-01", nil},
		{"P5 preview of R1", asking("Pavel", "2024-10-22", as(RoleLone), under("R1")), Never, "", "", map[string]Reason{"pavel-pair": WrongRole, "pavel-lone": Future}},
		{"P5 R1 has come", asking("Pavel", "2024-11-01", as(RoleLone)), Never, "", "", nil},
		{"P5 passed lone, and R2 will come", asking("Pavel", "2024-11-12", as(RoleLone)), Current, "2025-11-11", "2025-05-12", nil},
		{"P7 the last second of the last good day", asking("Pavel", "2025-03-08T23:59:59Z", about("cpr")), Current, "2025-03-08", "2025-03-09", nil},
		{"P7 a second later", asking("Pavel", "2025-03-09T00:00:00Z", about("cpr")), Lapsed, "2025-03-08", "", nil},
		{"P8 leap day, last good day", asking("Wiktor", "2025-02-27"), Current, "2025-02-27", "2025-02-28", nil},
		{"P8 leap day, the day after", asking("Wiktor", "2025-02-28"), Lapsed, "2025-02-27", "", nil},
		{"P10 the contractor's own rules", asking("Uche", "2025-01-14", under("R-X")), Current, "2025-01-31", "2025-02-01", nil},
		{"P10 at the client's gate", asking("Uche", "2025-01-14", under("R-C")), Lapsed, "2025-01-11", "", nil},
		{"P22 as known 3 May", asking("Jamie", "2025-05-03", about("familiarisation"), on("F4"), knownAt("2025-05-03T22:00:00Z")), Never, "", "", map[string]Reason{"familiar": NotYetKnown}},
		{"P22 as known 6 May", asking("Jamie", "2025-05-03", about("familiarisation"), on("F4"), knownAt("2025-05-06T22:00:00Z")), Current, "2026-04-27", "2026-04-28", nil},
		{"P22 as known 20 May", asking("Jamie", "2025-05-03", about("familiarisation"), on("F4"), knownAt("2025-05-20T22:00:00Z")), Never, "", "", map[string]Reason{"familiar": Withdrawn}},
		{"P23 a second before the fail", asking("Luca", "2025-02-18T10:19:59Z", on("F4")), Current, "2025-09-02", "2025-09-03", nil},
		{"P23 then", asking("Luca", "2025-02-18T10:20:00Z", on("F4")), Suspended, "2025-09-02", "", map[string]Reason{"luca-fail": Failed}},
		{"P23 passed again", asking("Luca", "2025-02-25", on("F4")), Current, "2026-02-24", "2026-02-25", nil},
		{"P27 the day before the hold", asking("Meera", "2024-11-13"), Current, "2025-03-11", "2024-11-14", nil},
		{"P27 the first day held", asking("Meera", "2024-11-14"), Held, "2025-03-11", "2025-03-12", nil},
		{"P27 back at work, still held", asking("Meera", "2025-02-18"), Held, "2025-03-11", "2025-03-12", nil},
		{"P27 watched run", asking("Meera", "2025-03-04"), Current, "2026-03-03", "2026-03-04", nil},
	} {
		a := answer(t, b, c.ask)
		assert.Equal(t, c.want, a.Standing, c.name)
		assert.Equal(t, c.last, a.LastGoodDay.String(), c.name)
		assert.Equal(t, c.changes, a.ChangesOn.String(), c.name)
		for id, why := range c.why {
			assert.Equal(t, why, refusedAs(a, id), "%s: %s", c.name, id)
		}
	}
}
