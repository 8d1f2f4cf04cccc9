package exchange

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"groundhand/internal/groundhand"
)

// Proposal says what the columns of a table may mean. It is to be looked at by a person; nothing is read by it alone.
type Proposal struct {
	Kind     Kind
	Headings []string
	Guesses  []Guess  // one a heading, in order
	Missing  []string // needed columns that no heading is taken for
}

// Guess is what one heading may mean, and why.
type Guess struct {
	Letter  string
	Heading string
	Column  string // empty: left out
	Sure    Sureness
	Why     string // whole sentences
}

// Sureness is how sure a guess is.
type Sureness string

// The degrees.
const (
	Certain    Sureness = "CERTAIN" // the heading says it and the values looked at fit
	Likely     Sureness = "LIKELY"  // a person should look
	CannotTell Sureness = "CANNOT_TELL"
)

// Meanings gives the proposal as a mapping.
func (p Proposal) Meanings() []string {
	out := make([]string, len(p.Guesses))
	for i, g := range p.Guesses {
		out[i] = g.Column
	}
	return out
}

// How a column was found, better ones last.
const (
	byNothing = iota
	byValues
	byOtherWord
	byOwnWord
)

// A guess is a Guess in the making.
type guess struct {
	Guess
	by int
}

// leave gives the column up.
func (g *guess) leave(format string, args ...any) {
	g.Column, g.Sure, g.Why, g.by = "", CannotTell, fmt.Sprintf(format, args...), byNothing
}

func (g *guess) take(column string, by int, sure Sureness, format string, args ...any) {
	g.Column, g.by, g.Sure, g.Why = column, by, sure, fmt.Sprintf(format, args...)
}

// Propose says from the headings and the values of the first rows which column means what. What cannot be told is left out, with the
// reason: two columns that could both be one thing, a heading whose values do not fit, merged headings.
func (t *Table) Propose() Proposal {
	guesses := make([]guess, len(t.head.cells))
	for i, c := range t.head.cells {
		guesses[i] = t.guess(i, c)
	}
	t.settle(guesses)
	p := Proposal{Kind: t.Kind, Headings: t.Headings}
	for _, g := range guesses {
		p.Guesses = append(p.Guesses, g.Guess)
	}
	for _, c := range columns[t.Kind] {
		if c.Needed && !slices.ContainsFunc(p.Guesses, func(g Guess) bool { return g.Column == c.Name }) {
			p.Missing = append(p.Missing, c.Name)
		}
	}
	return p
}

func (t *Table) guess(i int, c cell) guess {
	g := guess{Guess: Guess{Letter: letter(i), Heading: t.Headings[i]}}
	values := t.values(i)
	switch {
	case c.fault != "":
		g.leave("%s", c.fault)
	case c.text == "" && len(values) == 0:
		g.leave("The column has no heading, and nothing stands in its first rows.")
	case c.text == "":
		g.leave("The column has no heading.")
	default:
		g.judge(t.Kind, t.headingColumns(c.text), values)
	}
	return g
}

// values are the cells of a column in the first rows that hold something.
func (t *Table) values(i int) []cell {
	var out []cell
	for _, rec := range t.first {
		if i < len(rec.cells) && rec.cells[i].text != "" {
			out = append(out, rec.cells[i])
		}
	}
	return out
}

// headingColumns gives the columns that a heading can stand for, and how that is known.
func (t *Table) headingColumns(text string) headingMatch {
	if own := columnsByName(t.Kind)[fold(text)]; own != "" {
		return headingMatch{[]string{own}, byOwnWord}
	}
	word := foldEveryday(text)
	var out []string
	for _, c := range columns[t.Kind] {
		if slices.Contains(everyday[c.Name], word) || fold(c.Name) == word {
			out = append(out, c.Name)
		}
	}
	return headingMatch{out, byOtherWord}
}

type headingMatch struct {
	columns []string
	by      int
}

func (g *guess) judge(kind Kind, m headingMatch, values []cell) {
	if len(m.columns) == 0 {
		g.judgeValues(kind, values)
		return
	}
	var fitting []string
	for _, column := range m.columns {
		if good, _ := fit(column, values); good > 0 || len(values) == 0 {
			fitting = append(fitting, column)
		}
	}
	switch {
	case len(fitting) > 1:
		g.leave("The heading may mean %s. Say which.", strings.Join(fitting, " or "))
	case len(fitting) == 0:
		_, wrong := fit(m.columns[0], values)
		g.leave("The heading reads like %s, but what stands below does not fit, such as %q.", m.columns[0], shown(wrong))
	default:
		g.judgeOne(fitting[0], m.by, values)
	}
}

func (g *guess) judgeOne(column string, by int, values []cell) {
	good, wrong := fit(column, values)
	_, checkable := fits[column]
	note := ""
	if n := ambiguousDays(column, values); n > 0 {
		note = fmt.Sprintf(" Days not written year-month-day among the %d looked at: %d. Such can be read in two ways and are refused, unless their order is stated.", len(values), n)
	}
	switch {
	case len(values) == 0:
		g.take(column, by, Likely, "The heading says so; nothing stands in the first rows.")
	case good < len(values):
		g.take(column, by, Likely, "The heading says so and %d of %d values fit; one that does not is %q.%s", good, len(values), shown(wrong), note)
	case note != "":
		g.take(column, by, Likely, "The heading says so.%s", note)
	case checkable || by == byOwnWord:
		g.take(column, by, Certain, "The heading says so and the values fit.")
	default:
		g.take(column, by, Likely, "The heading says so; the values could be anything.")
	}
}

// fewestValues is how many values tell what a column is when its heading does not.
const fewestValues = 3

// judgeValues looks for the only column whose words all the values are.
func (g *guess) judgeValues(kind Kind, values []cell) {
	var found []string
	for _, c := range columns[kind] {
		if good, _ := fit(c.Name, values); telling[c.Name] && len(values) >= fewestValues && good == len(values) {
			found = append(found, c.Name)
		}
	}
	switch len(found) {
	case 0:
		g.leave("Neither the heading nor the values say what this is.")
	case 1:
		g.take(found[0], byValues, Likely, "The heading is not known, but all of the first %d values are such words or days.", len(values))
	default:
		g.leave("The values could be %s. Say which.", strings.Join(found, " or "))
	}
}

// settle leaves one heading a column: the one found in the best way, none when two are found equally well.
func (t *Table) settle(guesses []guess) {
	at := map[string][]int{}
	for i, g := range guesses {
		if g.Column != "" {
			at[g.Column] = append(at[g.Column], i)
		}
	}
	for column, places := range at {
		if len(places) < 2 {
			continue
		}
		slices.SortStableFunc(places, func(a, b int) int { return guesses[b].by - guesses[a].by })
		best, tied := places[0], guesses[places[0]].by == guesses[places[1]].by
		letters := lettersOf(places)
		for _, i := range places {
			if tied {
				guesses[i].leave("The columns %s could each be %s. Say which.", letters, column)
			} else if i != best {
				guesses[i].leave("Column %s is %s more plainly.", letter(best), column)
			}
		}
	}
}

func lettersOf(places []int) string {
	sorted := slices.Sorted(slices.Values(places))
	out := make([]string, len(sorted))
	for i, p := range sorted {
		out[i] = letter(p)
	}
	return strings.Join(out, " and ")
}

// fit counts the values that can stand in a column and gives the first that cannot.
func fit(column string, values []cell) (good int, wrong string) {
	can, known := fits[column]
	for _, v := range values {
		switch {
		case v.fault == "" && (!known || can(v)):
			good++
		case wrong == "":
			wrong = v.text
		}
	}
	return good, wrong
}

// ambiguousDays counts days in a writing that is not taken by itself.
func ambiguousDays(column string, values []cell) int {
	n := 0
	for _, v := range values {
		if _, err := groundhand.ParseDate(v.text); err != nil && slices.Contains(dayColumns, column) && someDay.MatchString(v.text) {
			n++
		}
	}
	return n
}

var (
	someDay     = regexp.MustCompile(`^\d{1,4}[/.\-]\d{1,2}[/.\-]\d{1,4}$`)
	staffNumber = regexp.MustCompile(`^[\p{L}\-/]{0,6}\d[\p{L}\d\-/]{0,20}$`)
	wholeNumber = regexp.MustCompile(`^\d{1,6}$`)
	letters     = regexp.MustCompile(`\p{L}`)
)

// fits says for the columns of which it can be said whether a value may stand there.
var fits = allFits()

func allFits() map[string]func(cell) bool {
	number := func(c cell) bool { return !c.day && !someDay.MatchString(c.text) && staffNumber.MatchString(c.text) }
	name := func(c cell) bool { return !c.day && letters.MatchString(c.text) && !number(c) }
	count := func(c cell) bool { return !c.day && wholeNumber.MatchString(c.text) }
	day := func(c cell) bool { return c.day || someDay.MatchString(c.text) }
	out := map[string]func(cell) bool{
		"number": number, "assessor": number, "watched by": number, "name": name, "employer": name, "year": count, "normal size": count,
		"date": day, "from": day, "to": day, "complete": among("YES", "NO", "TRUE", "FALSE"),
		"method": among(groundhand.Methods...), "role": among(groundhand.Roles...),
		"relation": among(groundhand.Employee, groundhand.ResidentContractor, groundhand.Visitor),
		"grade":    among(groundhand.Qualified, groundhand.Apprentice, groundhand.Ground, groundhand.Office),
		"kind":     among(groundhand.LineCrew, groundhand.FaultCrew, groundhand.SubstationCrew, groundhand.ReliefPool),
		"part":     among(groundhand.Foreman, groundhand.Member),
		"reason":   among(groundhand.Permanent, groundhand.Loan, groundhand.Split, groundhand.Storm),
		"result":   among(groundhand.Pass, groundhand.Fail, groundhand.NotCompleted),
	}
	for _, c := range stageColumns() {
		out[c.Name] = count
	}
	return out
}

func among[T ~string](words ...T) func(cell) bool {
	return func(c cell) bool { return slices.Contains(words, T(fold(c.text))) }
}

// telling are the columns whose values are enough without a heading.
var telling = map[string]bool{
	"method": true, "role": true, "relation": true, "grade": true, "kind": true, "part": true, "reason": true, "result": true, "date": true, "from": true, "to": true,
}
