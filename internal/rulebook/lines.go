package rulebook

import (
	"encoding/json"
	"fmt"
	"slices"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
)

var (
	lineRoles   = []string{competence.RoleLead, competence.RoleSecond, competence.RoleLone, competence.RoleAny}
	conventions = []competence.Convention{competence.DayBefore, competence.Anniversary, competence.Days365, competence.MonthEnd,
		competence.CalendarYear, competence.BaseMonth}
	evidenceKinds = []string{competence.AcceptsPass, competence.AcceptsDrill, competence.AcceptsOutside}
	outsideLevels = []string{"", competence.LevelStated, competence.LevelCopySeen, competence.LevelOriginalSeen, competence.LevelConfirmed,
		competence.LevelDemonstrated}
	citationKinds = []string{"law", "employer", "common_practice"}
)

const (
	mostMonths   = 120
	mostDays     = 3660
	longestYear  = 6 // apprentice years
	longestText  = 500
	mostRepeats  = 100
	daysPerMonth = 28 // of the shortest month: the early window must be shorter than any period
)

// lines are the requirement lines that could be read. While one is unreadable, nothing is said about lines that are missing.
type lines struct {
	read       []competence.Line
	unreadable bool
}

func readLines(p *groundhand.Problems, raw []json.RawMessage) lines {
	var out lines
	if len(raw) == 0 {
		p.Add(groundhand.CodeInvalid, "lines", "A rule set has at least one line.")
	}
	ids, tuples := map[string]bool{}, map[string]bool{}
	for i := range raw {
		at := fmt.Sprintf("lines[%d]", i)
		var l competence.Line
		if err := strict(raw[i], &l); err != nil {
			p.Add(groundhand.CodeInvalid, at, "This line is not readable: %s.", err)
			out.unreadable = true
			continue
		}
		out.read = append(out.read, l)
		once(p, at+".id", "line", l.ID, ids)
		once(p, at+".role", "line for this method and role", l.Method+" "+l.Role, tuples)
		checkLine(p, at, l)
	}
	return out
}

// once refuses an empty or repeated name.
func once(p *groundhand.Problems, field, what, id string, seen map[string]bool) {
	if id == "" || seen[id] {
		p.Add(groundhand.CodeInvalid, field, "Give every %s once and by name; %q is empty or repeated.", what, id)
	}
	seen[id] = true
}

func checkLine(p *groundhand.Problems, at string, l competence.Line) {
	knownMethod(p, at+".method", l.Method)
	for i, m := range l.AlsoMethods {
		knownMethod(p, fmt.Sprintf("%s.also_methods[%d]", at, i), m)
	}
	oneOf(p, at+".role", l.Role, lineRoles)
	oneOf(p, at+".last_good_day", l.LastGoodDay, conventions)
	oneOf(p, at+".citation_kind", l.CitationKind, citationKinds)
	if l.Citation == "" || len(l.Citation) > longestText {
		p.Add(groundhand.CodeInvalid, at+".citation", "Say where the rule comes from, in at most %d bytes.", longestText)
	}
	checkEvidence(p, at, l)
	checkPeople(p, at, l)
	checkPeriod(p, at, l)
}

func checkEvidence(p *groundhand.Problems, at string, l competence.Line) {
	if len(l.Accepts) == 0 {
		p.Add(groundhand.CodeInvalid, at+".accepts", "Say which evidence counts; a line that accepts nothing is never met.")
	}
	for i, kind := range l.Accepts {
		oneOf(p, fmt.Sprintf("%s.accepts[%d]", at, i), kind, evidenceKinds)
	}
	oneOf(p, at+".outside_level", l.OutsideLevel, outsideLevels)
	between(p, at+".minimum_runs", l.MinimumRuns, 0, mostRepeats)
}

func checkPeople(p *groundhand.Problems, at string, l competence.Line) {
	for i, year := range l.BarredYears {
		between(p, fmt.Sprintf("%s.barred_years[%d]", at, i), year, 1, longestYear)
	}
	between(p, at+".absence_months", l.AbsenceMonths, 0, mostMonths)
	between(p, at+".max_extensions", l.MaxExtensions, 0, mostRepeats)
}

// checkPeriod holds the interval against what its convention needs.
func checkPeriod(p *groundhand.Problems, at string, l competence.Line) {
	field := at + ".interval"
	months, days := l.Interval.Months, l.Interval.Days
	switch {
	case (months == 0) == (days == 0):
		p.Add(groundhand.CodeInvalid, field, "Give the interval either in months or in days.")
	case days != 0:
		between(p, field+".days", days, 1, mostDays)
		between(p, at+".early_window_days", l.EarlyWindowDays, 0, days-1)
	default:
		between(p, field+".months", months, 1, mostMonths)
		between(p, at+".early_window_days", l.EarlyWindowDays, 0, daysPerMonth*months-1)
	}
	if !conventionFits(l) {
		p.Add(groundhand.CodeInvalid, field, "%s does not go with this interval.", l.LastGoodDay)
	}
}

// conventionFits holds what each convention needs: 12 months for DAYS_365, whole years for CALENDAR_YEAR, and so on.
func conventionFits(l competence.Line) bool {
	months := l.Interval.Months
	switch l.LastGoodDay {
	case competence.Days365:
		return months == 12
	case competence.MonthEnd:
		return months > 0
	case competence.CalendarYear:
		return months > 0 && months%12 == 0
	case competence.BaseMonth:
		return months >= 3 && l.EarlyWindowDays == 0
	}
	return true
}

// of finds the line that judges a method in a role (lower case): that of the role, else that of any role.
func (ls lines) of(method, role string) (competence.Line, bool) {
	for _, want := range []string{role, competence.RoleAny} {
		for _, l := range ls.read {
			if l.Method == method && l.Role == want {
				return l, true
			}
		}
	}
	return competence.Line{}, false
}

func knownMethod(p *groundhand.Problems, field, method string) {
	if !slices.Contains(groundhand.Methods, groundhand.Method(method)) {
		p.Add(groundhand.CodeInvalid, field, "The method %q is not one of %v.", method, groundhand.Methods)
	}
}

func oneOf[T ~string](p *groundhand.Problems, field string, got T, want []T) {
	if !slices.Contains(want, got) {
		p.Add(groundhand.CodeInvalid, field, "%q is not one of %v.", got, want)
	}
}

func between(p *groundhand.Problems, field string, got, least, most int) {
	if got < least || got > most {
		p.Add(groundhand.CodeInvalid, field, "%d is not between %d and %d.", got, least, most)
	}
}
