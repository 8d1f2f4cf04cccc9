package competence

import "groundhand/internal/groundhand"

// Format is the name of the format of facts.
const Format = "standing-facts/1"

// Facts are everything an answer is made from. The order of entries means nothing.
type Facts struct {
	Name      string
	Zone      string // IANA name; days are local days of this zone
	RuleSets  []RuleSet
	Entries   []Entry
	Questions []Question
}

// RuleSet is dated: a day is judged by the default set that started last and is in force, or by the one named in the question.
type RuleSet struct {
	ID               string          `json:"id"`
	Default          bool            `json:"default"` // one of the employer's own, chosen by date; others are used only when named
	EffectiveFrom    groundhand.Date `json:"effective_from"`
	EffectiveThrough groundhand.Date `json:"effective_through,omitzero"` // last day in force; zero is without end
	Lines            []Line          `json:"lines"`
}

// Line is one requirement: what must have been practised, how often, and what counts. One line per method and role in a rule set.
type Line struct {
	ID              string     `json:"id"`
	Method          string     `json:"method"`
	Role            string     `json:"role"` // lead, second, lone or any
	AlsoMethods     []string   `json:"also_methods,omitempty"`
	PerFamily       bool       `json:"per_family,omitzero"`
	Interval        Interval   `json:"interval"`
	LastGoodDay     Convention `json:"last_good_day"`
	EarlyWindowDays int        `json:"early_window_days,omitzero"` // a refresh in the last so many days of validity keeps the anniversary
	Accepts         []string   `json:"accepts"`
	OutsideLevel    string     `json:"outside_level,omitzero"`  // empty is demonstrated_here
	MinimumRuns     int        `json:"minimum_runs,omitzero"`   // counting entries within one local day that make a credit; zero is 1
	BarredYears     []int      `json:"barred_years,omitempty"`  // apprentice years that may not hold this line
	AbsenceMonths   int        `json:"absence_months,omitzero"` // away longer: held until a watched run; zero is no such rule
	MaxExtensions   int        `json:"max_extensions,omitzero"` // extensions allowed per credit
	Provisional     bool       `json:"provisional,omitzero"`    // acceptance on paper gives PROVISIONAL
	Citation        string     `json:"citation,omitzero"`       // printed, never computed with
	CitationKind    string     `json:"citation_kind,omitzero"`  // law, employer or common_practice
}

// Interval is a number of months (1 to 120) or a number of days (1 to 3660), never both.
type Interval struct {
	Months int `json:"months,omitzero"`
	Days   int `json:"days,omitzero"`
}

// Convention says which day is the last good one of a period.
type Convention string

// The conventions. A is the first day plus the interval.
const (
	DayBefore    Convention = "DAY_BEFORE"    // A - 1 day, the cautious one
	Anniversary  Convention = "ANNIVERSARY"   // A
	Days365      Convention = "DAYS_365"      // 365 days a period (OSHA letter 24 Jan 2007, in parentheses)
	MonthEnd     Convention = "MONTH_END"     // the last day of A's month (aviation's "calendar month")
	CalendarYear Convention = "CALENDAR_YEAR" // 31 December of A's year: allows nearly two years between drills
	BaseMonth    Convention = "BASE_MONTH"    // 14 CFR 121.401(b): a month early or late keeps the month; allows gaps of 14 months
)

// Roles. Lead covers lead and second, second only second, lone only lone. A casualty and an observer have no part that gives credit.
const (
	RoleLead     = "lead"
	RoleSecond   = "second"
	RoleLone     = "lone"
	RoleAny      = "any" // of a line only
	RoleCasualty = "casualty"
	RoleObserver = "observer"
)

// What a line accepts.
const (
	AcceptsPass    = "assessed_pass"
	AcceptsDrill   = "drill_run"
	AcceptsOutside = "outside_evidence"
)

// Levels of outside evidence, from the least.
const (
	LevelStated       = "stated"
	LevelCopySeen     = "copy_seen"
	LevelOriginalSeen = "original_seen"
	LevelConfirmed    = "issuer_confirmed"
	LevelDemonstrated = "demonstrated_here"
)

var levels = []string{LevelStated, LevelCopySeen, LevelOriginalSeen, LevelConfirmed, LevelDemonstrated}

// Results of an assessment.
const (
	ResultPass         = "pass"
	ResultFail         = "fail"
	ResultNotCompleted = "not_completed"
)

// Grades of a person.
const (
	GradeQualified  = "qualified"
	GradeApprentice = "apprentice"
)

// Question asks for one person's standing on a day (at its close) or at an instant; exactly one of On and At is set.
type Question struct {
	ID        string             `json:"id"`
	Person    string             `json:"person"`
	Method    string             `json:"method"`
	Role      string             `json:"role"` // lead, second or lone
	Family    string             `json:"family,omitzero"`
	On        groundhand.Date    `json:"on,omitzero"`
	At        groundhand.Instant `json:"at,omitzero"`
	AsKnownAt groundhand.Instant `json:"as_known_at,omitzero"` // zero: with everything that is known
	RuleSet   string             `json:"rule_set,omitzero"`    // empty: the default one of the day
	Course    Period             `json:"course,omitzero"`      // zero: no course is wanted
}

// Period is a span of days, both included.
type Period struct {
	From    groundhand.Date `json:"from"`
	Through groundhand.Date `json:"through"`
}
