package competence

import (
	"slices"
	"time"

	"groundhand/internal/groundhand"
)

// Limits of the format.
const (
	maxMonths  = 120
	maxDays    = 3660
	maxAbsence = 12000 // months; no one is away longer, and sums of days stay in range
)

var lineRoles = []string{RoleLead, RoleSecond, RoleLone, RoleAny}
var conventions = []Convention{DayBefore, Anniversary, Days365, MonthEnd, CalendarYear, BaseMonth}
var accepted = []string{AcceptsPass, AcceptsDrill, AcceptsOutside}
var citationKinds = []string{"", "law", "employer", "common_practice"}

// Check gives the first fault of facts, a *groundhand.Error whose Field names the entry, line, rule set or question; nil without one.
// The rules are those of the standing-facts/1 format.
func Check(f Facts) error {
	_, err := check(f)
	return err
}

// check is Check and gives the index of the entries by id as well.
func check(f Facts) (map[string]int32, error) {
	if _, err := loadZone(f.Zone); err != nil {
		return nil, err
	}
	if err := checkRuleSets(f.RuleSets); err != nil {
		return nil, err
	}
	byID, err := checkEntries(f.Entries)
	if err != nil {
		return nil, err
	}
	return byID, checkQuestions(f)
}

func loadZone(name string) (*time.Location, error) {
	if name == "" || name == "Local" { // which the library takes for the zone of the machine
		return nil, fault("facts", "The zone %q is not a zone like Europe/Dublin.", name)
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		return nil, fault("facts", "The zone %q is not a zone like Europe/Dublin.", name)
	}
	return zone, nil
}

func checkRuleSets(sets []RuleSet) error {
	ids, starts := map[string]bool{}, map[groundhand.Date]bool{}
	for i := range sets {
		s := &sets[i]
		where := "rule set " + s.ID
		switch {
		case s.ID == "" || ids[s.ID]:
			return fault(where, "Each rule set needs an id of its own.")
		case s.EffectiveFrom.IsZero():
			return fault(where, "The day from which it is effective is missing.")
		case !s.EffectiveThrough.IsZero() && s.EffectiveThrough < s.EffectiveFrom:
			return fault(where, "It ends before it starts.")
		case s.Default && starts[s.EffectiveFrom]:
			return fault(where, "Two default rule sets start on %s.", s.EffectiveFrom)
		}
		ids[s.ID] = true
		starts[s.EffectiveFrom] = starts[s.EffectiveFrom] || s.Default
		if err := checkLines(s); err != nil {
			return err
		}
	}
	return nil
}

func checkLines(s *RuleSet) error {
	type asks struct{ method, role string }
	ids, asked := map[string]bool{}, map[asks]bool{}
	for i := range s.Lines {
		l := &s.Lines[i]
		where := "rule set " + s.ID + ", line " + l.ID
		if l.ID == "" || ids[l.ID] {
			return fault(where, "Each line needs an id of its own.")
		}
		if asked[asks{l.Method, l.Role}] {
			return fault(where, "There are two lines for the method %s and the role %s.", l.Method, l.Role)
		}
		ids[l.ID], asked[asks{l.Method, l.Role}] = true, true
		if err := checkLine(where, l); err != nil {
			return err
		}
	}
	return nil
}

func checkLine(where string, l *Line) error {
	switch {
	case l.Method == "":
		return fault(where, "The method is missing.")
	case !slices.Contains(lineRoles, l.Role):
		return fault(where, "The role %q is not one of lead, second, lone and any.", l.Role)
	case l.OutsideLevel != "" && !slices.Contains(levels, l.OutsideLevel):
		return fault(where, "The level %q is not a level of outside evidence.", l.OutsideLevel)
	case !slices.Contains(citationKinds, l.CitationKind):
		return fault(where, "The kind of citation %q is not one of law, employer and common_practice.", l.CitationKind)
	case l.MinimumRuns < 0 || l.MaxExtensions < 0 || l.AbsenceMonths < 0 || l.AbsenceMonths > maxAbsence:
		return fault(where, "A count of runs, extensions or months of absence is out of range.")
	}
	for _, a := range l.Accepts {
		if !slices.Contains(accepted, a) {
			return fault(where, "It accepts %q, which is not one of assessed_pass, drill_run and outside_evidence.", a)
		}
	}
	if err := checkInterval(where, l); err != nil {
		return err
	}
	return checkConvention(where, l)
}

func checkInterval(where string, l *Line) error {
	i, least := l.Interval, l.Interval.Days
	if i.Months != 0 {
		least = 28 * i.Months
	}
	switch {
	case (i.Months == 0) == (i.Days == 0):
		return fault(where, "The interval must be a number of months or a number of days.")
	case i.Months < 0 || i.Months > maxMonths || i.Days < 0 || i.Days > maxDays:
		return fault(where, "The interval must be 1 to %d months or 1 to %d days.", maxMonths, maxDays)
	case l.EarlyWindowDays < 0 || l.EarlyWindowDays >= least:
		return fault(where, "The early window must be shorter than the interval, at most %d days.", least-1)
	}
	return nil
}

func checkConvention(where string, l *Line) error {
	months := l.Interval.Months
	switch {
	case !slices.Contains(conventions, l.LastGoodDay):
		return fault(where, "The last good day %q is not a known convention.", l.LastGoodDay)
	case l.LastGoodDay == Days365 && months != 12:
		return fault(where, "DAYS_365 goes with an interval of 12 months.")
	case l.LastGoodDay == MonthEnd && months == 0:
		return fault(where, "MONTH_END needs an interval in months.")
	case l.LastGoodDay == CalendarYear && (months == 0 || months%12 != 0):
		return fault(where, "CALENDAR_YEAR needs an interval of whole years, in months.")
	case l.LastGoodDay == BaseMonth && (months < 3 || l.EarlyWindowDays != 0):
		return fault(where, "BASE_MONTH needs an interval of 3 months or more and no early window.")
	}
	return nil
}

func checkQuestions(f Facts) error {
	ids := make(map[string]bool, len(f.Questions))
	for i := range f.Questions {
		q := &f.Questions[i]
		if q.ID == "" || ids[q.ID] {
			return fault("question "+q.ID, "Each question needs an id of its own.")
		}
		ids[q.ID] = true
		if err := checkQuestion(q); err != nil {
			return err
		}
		if q.RuleSet != "" && !slices.ContainsFunc(f.RuleSets, func(s RuleSet) bool { return s.ID == q.RuleSet }) {
			return fault("question "+q.ID, "There is no rule set %q.", q.RuleSet)
		}
	}
	return nil
}

func checkQuestion(q *Question) error {
	where := "question " + q.ID
	switch {
	case q.Person == "" || q.Method == "":
		return fault(where, "The person or the method is missing.")
	case !playsPart(q.Role):
		return fault(where, "The role %q is not one of lead, second and lone.", q.Role)
	case q.On.IsZero() == q.At.IsZero():
		return fault(where, "It must be asked either on a day or at an instant.")
	case q.Course.From > q.Course.Through || q.Course.From.IsZero() && !q.Course.Through.IsZero():
		return fault(where, "The course ends before it starts.")
	}
	return nil
}
