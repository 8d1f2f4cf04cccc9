package training

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"groundhand/internal/groundhand"
)

// Limits of what a form may hold. They are far above real entries and keep a typing error or a hostile form from being stored.
const (
	longestName    = 200  // characters
	longestRemark  = 4000 // characters
	longestID      = 64   // bytes
	longestKey     = 200  // bytes
	mostRuns       = 100  // runs in one drill form
	mostParts      = 30   // people in one run
	mostSteps      = 60   // critical steps or checklist lines in one sheet
	mostSeats      = 60
	mostWords      = 30 // entries of a short list: methods, families, duties
	mostCrew       = 60 // people a crew goes out with
	mostHorizon    = 5  // years that a plan may lie ahead
	mostService    = 40 // years that a kit may stay in service from today
	mostHeightCM   = 20000
	mostRopeCM     = 50000
	mostKG         = 1000
	mostMinutes    = 24 * 60
	mostBodyLength = 1 << 20 // bytes of a rule set
)

// earliestDay is the first day that may be recorded; anything before it is a typing error.
var earliestDay = groundhand.NewDate(1950, time.January, 1)

// fields collects what is wrong with one form. The checks on it are pure: what is recorded is looked at afterwards.
type fields struct {
	groundhand.Problems
	now     groundhand.Instant
	zone    *time.Location
	prefix  string // path of the part of the form that is looked at, as "runs[2]."
	tooMany bool   // a list is over its limit, so nothing in it was looked at
	broken  []breach
}

// Add notes a refusal of a field of the part that is looked at.
func (c *fields) Add(code groundhand.Code, field, format string, args ...any) {
	c.Problems.Add(code, c.prefix+field, format, args...)
}

// take notes the refusals that another package found in a part of the form.
func (c *fields) take(field string, err error) {
	for _, e := range groundhand.Refusals(err) {
		path := e.Field
		if field != "" && path != "" {
			path = field + "." + path
		} else if field != "" {
			path = field
		}
		c.Add(e.Code, path, "%s", e.Message)
	}
}

// within looks at a part of the form.
func (c *fields) within(list string, i int, look func()) {
	outer := c.prefix
	c.prefix += index(list, i) + "."
	look()
	c.prefix = outer
}

func (c *fields) wrong(field, format string, args ...any) {
	c.Add(groundhand.CodeInvalid, field, format, args...)
}

func (c *fields) today() groundhand.Date { return groundhand.DateOf(c.now.In(c.zone)) }

func (c *fields) horizon(years int) groundhand.Date { return c.today().AddMonths(12 * years) }

// name asks for a short text on one line.
func (c *fields) name(field, text string) {
	if text == "" {
		c.wrong(field, "Give this; it may not be empty.")
		return
	}
	c.words(field, text)
}

// words allows a short text on one line, or none.
func (c *fields) words(field, text string) {
	c.text(field, text, longestName, "")
}

// remark allows a longer text with line breaks, or none.
func (c *fields) remark(field, text string) {
	c.text(field, text, longestRemark, "\n\t")
}

func (c *fields) text(field, text string, limit int, allowed string) {
	switch {
	case len(text) > 4*limit || utf8.RuneCountInString(text) > limit:
		c.wrong(field, "This is too long; it may have %d characters.", limit)
	case !utf8.ValidString(text):
		c.wrong(field, "This is not readable text (UTF-8).")
	case strings.ContainsFunc(text, func(r rune) bool { return groundhand.Hidden(r) && !strings.ContainsRune(allowed, r) }):
		c.wrong(field, "This holds control characters; type it again without them.")
	case text != strings.TrimSpace(text):
		c.wrong(field, "This begins or ends with a space; take it away.")
	}
}

// id asks for the id of something recorded.
func (c *fields) id(field, id string) {
	if id == "" {
		c.wrong(field, "Say which; it may not be empty.")
		return
	}
	c.maybeID(field, id)
}

// maybeID allows an id, or none.
func (c *fields) maybeID(field, id string) {
	if id != "" && !wellFormed(id) {
		c.wrong(field, "This is not an id: up to %d letters, digits and the signs - _ . : /", longestID)
	}
}

func wellFormed(id string) bool {
	return id != "" && len(id) <= longestID && !strings.ContainsFunc(id, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune("-_.:/", r)
	})
}

// number asks for a number within limits, both included.
func (c *fields) number(field string, n, least, most int) {
	if n < least || n > most {
		c.wrong(field, "%d does not lie between %d and %d.", n, least, most)
	}
}

// atMost refuses a list that is over its limit; the list is then not to be looked at.
func (c *fields) atMost(field string, n, most int) bool {
	if n <= most {
		return true
	}
	c.tooMany = true
	c.Add(groundhand.CodeTooLarge, field, "This has %d entries; at most %d are taken in one form.", n, most)
	return false
}

// answer allows yes, no, unknown, or nothing, which is unknown.
func (c *fields) answer(field string, a groundhand.Answer) {
	noneOr(c, field, a, groundhand.Yes, groundhand.No, groundhand.Unknown)
}

func orUnknown(a groundhand.Answer) groundhand.Answer {
	if a == "" {
		return groundhand.Unknown
	}
	return a
}

// oneOf asks for one of a closed set of words.
func oneOf[T ~string](c *fields, field string, word T, set ...T) {
	if !slices.Contains(set, word) {
		c.wrong(field, "%s is none of %s.", quoted(string(word)), listed(set))
	}
}

// noneOr allows one of a closed set of words, or nothing.
func noneOr[T ~string](c *fields, field string, word T, set ...T) {
	if word != "" {
		oneOf(c, field, word, set...)
	}
}

// listOf checks a short list of words, each once and each by the rule given.
func (c *fields) listOf(field string, list groundhand.List, each func(at, word string)) {
	if !c.atMost(field, len(list), mostWords) {
		return
	}
	seen := map[string]bool{}
	for i, word := range list {
		at := index(field, i)
		each(at, word)
		if seen[word] {
			c.wrong(at, "%s stands here twice.", quoted(word))
		}
		seen[word] = true
	}
}

func (c *fields) methods(field string, list groundhand.List) {
	c.listOf(field, list, func(at, word string) { oneOf(c, at, groundhand.Method(word), groundhand.Methods...) })
}

func (c *fields) ids(field string, list groundhand.List) { c.listOf(field, list, c.id) }

// day refuses a day before 1950 or after last. No day is allowed.
func (c *fields) day(field string, d, last groundhand.Date) {
	switch {
	case d == 0:
	case d < earliestDay:
		c.wrong(field, "%s lies before 1950; look at the year again.", d)
	case d > last && last == c.today():
		c.wrong(field, "%s lies ahead; today is %s, and only what has happened can be entered.", d, last)
	case d > last:
		c.wrong(field, "%s lies too far ahead; the last day taken is %s.", d, last)
	}
}

// dayGiven asks for a day.
func (c *fields) dayGiven(field string, d, last groundhand.Date) {
	if d == 0 {
		c.wrong(field, "Give the day.")
		return
	}
	c.day(field, d, last)
}

// stretch asks for a first day and allows a last day that is not before it.
func (c *fields) stretch(fromField, toField string, from, to groundhand.Date) {
	last := c.horizon(mostHorizon)
	c.dayGiven(fromField, from, last)
	c.day(toField, to, last)
	if to != 0 && to < from {
		c.wrong(toField, "It ends on %s, before it begins on %s.", to, from)
	}
}

// span asks for a start and an end after it.
func (c *fields) span(fromField, toField string, from, to groundhand.Instant) {
	c.momentGiven(fromField, from)
	c.momentGiven(toField, to)
	c.order(toField, from, to)
}

func (c *fields) order(toField string, from, to groundhand.Instant) {
	if from != 0 && to != 0 && to <= from {
		c.wrong(toField, "It ends at %s, not after it begins at %s.", c.clock(to), c.clock(from))
	}
}

func (c *fields) momentGiven(field string, at groundhand.Instant) {
	if at == 0 {
		c.wrong(field, "Give day and time.")
		return
	}
	c.moment(field, at)
}

// moment refuses a moment before 1950 or too far ahead. No moment is allowed.
func (c *fields) moment(field string, at groundhand.Instant) {
	last := c.horizon(mostHorizon)
	switch {
	case at == 0:
	case at < groundhand.InstantOf(earliestDay.Start(c.zone)):
		c.wrong(field, "This lies before 1950; look at the year again.")
	case at >= groundhand.InstantOf(last.End(c.zone)):
		c.wrong(field, "This lies too far ahead; the last day taken is %s.", last)
	}
}

func (c *fields) clock(at groundhand.Instant) string { return at.In(c.zone).Format("2006-01-02 15:04") }

// familyNeeded asks for the control family where the method is about the lower controls. Old books and other employers often did not
// note it; such an entry is taken as it is and simply counts for no family.
func (c *fields) familyNeeded(field string, m groundhand.Method, family groundhand.FamilyID, origin groundhand.Origin) {
	old := origin == groundhand.Imported || origin == groundhand.Elsewhere || origin == groundhand.FromPaper
	if family == "" && !old && (m.Aerial() || m == groundhand.Familiarisation) {
		c.wrong(field, "Say which control family; practice on one does not count for another.")
	}
}

// rescueRoles says which rescue roles a method has: the two-person methods have a lead and a second, the lone method one rescuer.
// First aid, familiarisation, pole-top and panel rescue are practised both ways. Common practice, no source.
var rescueRoles = map[groundhand.Method][]groundhand.Role{
	groundhand.PairKit:         {groundhand.Lead, groundhand.Second},
	groundhand.LoneKit:         {groundhand.Lone},
	groundhand.ManualLowering:  {groundhand.Lead, groundhand.Second},
	groundhand.PoleTop:         {groundhand.Lead, groundhand.Second, groundhand.Lone},
	groundhand.SubstationCase:  {groundhand.Lead, groundhand.Second},
	groundhand.LowVoltagePanel: {groundhand.Lead, groundhand.Second, groundhand.Lone},
	groundhand.FirstAid:        {groundhand.Lead, groundhand.Second, groundhand.Lone},
	groundhand.Familiarisation: {groundhand.Lead, groundhand.Second, groundhand.Lone},
}

// method asks for a method.
func (c *fields) method(field string, m groundhand.Method) {
	oneOf(c, field, m, groundhand.Methods...)
}

// rescueRole asks for a role that the method has. A method that is unknown is refused elsewhere.
func (c *fields) rescueRole(field string, m groundhand.Method, r groundhand.Role) {
	roles := rescueRoles[m]
	if len(roles) > 0 && !slices.Contains(roles, r) {
		c.wrong(field, "%s has no role %s; its roles are %s.", m, quoted(string(r)), listed(roles))
	}
}

// steps checks the answers of a sheet.
func (c *fields) steps(field string, steps groundhand.CriticalSteps) {
	if !c.atMost(field, len(steps), mostSteps) {
		return
	}
	for i, step := range steps {
		c.within(field, i, func() {
			c.name("step", step.Step)
			oneOf(c, "done", step.Done, groundhand.StepYes, groundhand.StepNo, groundhand.StepNotApplicable)
		})
	}
}

func index(field string, i int) string { return fmt.Sprintf("%s[%d]", field, i) }

// quoted shows what was typed, cut short, so that a refusal never sends back a whole hostile form.
func quoted(text string) string {
	const most = 60
	if len(text) > most {
		text = strings.ToValidUTF8(text[:most], "") + "…"
	}
	return fmt.Sprintf("%q", text)
}

func listed[T ~string](set []T) string {
	words := make([]string, len(set))
	for i, w := range set {
		words[i] = string(w)
	}
	return strings.Join(words, ", ")
}
