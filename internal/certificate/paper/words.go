package paper

import (
	"fmt"

	"groundhand/internal/groundhand"
)

const title = "Record of rescue practice"

// cautions stand on every page. They keep the paper from being taken for more than it is.
var cautions = []string{
	"This is the employer's own record that the person named was seen doing the practice named on that day. It is no licence and is not " +
		"accredited.",
	"It holds only for the method, the role and the control family named, and only under the rule set named. Another, such as a client's, " +
		"may end it sooner.",
	"It does not say that the person, the crew, the device or the kit is fit for today's job. Local rules, the makers' instructions and " +
		"licensed practice come first.",
	"It may be withdrawn or replaced at any time, and this page cannot show that. Check the number at the address below before relying on it.",
}

// Gaps below a fact, in millimetres: the wide one is easier to read, the narrow one is for pages with much to say.
const (
	wide   = 2.4
	narrow = 0.4
)

// compose sets the whole page, or says which texts do not fit.
func compose(s Sheet) (*page, error) {
	p, end := fill(s, wide)
	if end > factsEnd {
		p, end = fill(s, narrow)
	}
	if end > factsEnd {
		p.problem.Add(groundhand.CodeInvalid, "", "The texts together are too long for one page; shorten the longest.")
	}
	return p, p.problem.Err()
}

// fill sets every part and says where the facts end.
func fill(s Sheet, air float64) (*page, float64) {
	p := &page{code: s.CheckAddress, codeX: pageWidth - margin - codeSide + 2.4, codeY: factsEnd + 8, air: air}
	c := &column{p, margin, 14, textWidth}
	heading(c, s)
	practice(c, s)
	goodThrough(c, s)
	origin(c, s)
	beforeRelying(p, s)
	foot(p, s)
	return p, c.y
}

func heading(c *column, s Sheet) {
	c.set("employer", s.Employer, bold, headType)
	c.skip(3)
	c.set("", title, bold, titleType)
	c.skip(0.5)
	c.set("number", "Certificate number "+s.Number, plain, headType)
	c.skip(3)
	c.rule(0.6)
	c.skip(3)
	if s.Standing != Good {
		c.frame(1.2, func(in *column) {
			in.set("standing", "Not to be relied on: "+s.Standing, bold, alarmType)
		})
		c.skip(3)
	}
}

func practice(c *column, s Sheet) {
	c.set("", "Person", plain, labelType)
	c.set("person", s.Person, bold, nameType)
	c.skip(c.page.air + 1)
	c.fact("method", "Rescue method", s.Method)
	c.fact("role", "Role practised", s.Role)
	c.fact("controlFamily", "Control family", s.ControlFamily)
	c.fact("", "Shown on", s.ShownOn.Words())
	c.fact("shownHow", "How shown", s.ShownHow)
	c.fact("assessor", "Watched by", s.Assessor)
	c.skip(2)
}

func goodThrough(c *column, s Sheet) {
	until := fmt.Sprintf("ood through 24:00 local time on %s", s.LastGoodDay.Words())
	c.frame(0.6, func(in *column) {
		if s.Standing == Good {
			in.set("", "G"+until, bold, boxType)
		} else {
			in.set("", "When issued: g"+until, plain, boxType)
		}
		in.skip(1.8)
		in.fact("ruleSet", "Rule set", s.RuleSet)
		in.fact("lastGoodDayRule", "Last good day", s.LastGoodDay.Words()+": "+s.LastGoodDayRule)
	})
	c.skip(4)
}

func origin(c *column, s Sheet) {
	c.fact("issuer", "Issued by", s.Issuer)
	c.fact("", "Issued on", s.IssuedOn.Words())
	c.fact("standing", "Standing", s.Standing+", "+knownAt(s))
}

// knownAt says of when the standing is. A page is older than its reader, so a standing is never given without its moment.
func knownAt(s Sheet) string {
	if s.AsKnownAt == "" {
		return "when this page was made"
	}
	return "as known on " + s.AsKnownAt
}

func beforeRelying(p *page, s Sheet) {
	c := &column{p, margin, factsEnd + 3, textWidth}
	c.rule(0.6)
	c.skip(2.5)
	c.set("", "Before you rely on this page", bold, []choice{{11, 1}})
	c.skip(1.5)
	c.w = textWidth - codeSide - 2
	for _, caution := range cautions {
		c.set("", caution, plain, smallText)
		c.skip(1.2)
	}
	c.skip(1)
	c.w = textWidth
	c.set("", "Check at", plain, labelType)
	c.set("checkAddress", s.CheckAddress, bold, []choice{{10, 1}, {smallType, 3}})
}

func foot(p *page, s Sheet) {
	c := &column{p, margin, footLine, textWidth}
	c.set("number", "Number "+s.Number+", page 1 of 1", plain, []choice{{9, 1}, {smallType, 1}})
}
