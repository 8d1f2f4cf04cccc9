package paper

import (
	"fmt"

	"groundhand/internal/groundhand"
)

const peopleTitle = "Rescue practice of named people"

// verdictWidth is the width of the place for the verdict, at the right edge.
const verdictWidth = 34.0

// The ways to set a text of the list, the best first.
var (
	personType  = []choice{{13, 1}, {11, 1}, {11, 2}, {10, 4}}
	verdictType = []choice{{11, 1}}
	lineType    = []choice{{10, 1}, {9.5, 2}, {9, 4}}
)

// part is a piece of a person that no page is broken in.
type part struct {
	page   page
	height float64
	first  bool // the name with the verdict, and the first line
	person int
}

// composePeople sets the list page by page. A person is broken only between lines, and the name then stands again on the next page.
func composePeople(l People) ([]*page, error) {
	var problem groundhand.Problems
	var pages []*page
	top, bottom := 0.0, 0.0
	var c *column
	turn := func() {
		p := &page{air: 1}
		c = &column{p, margin, 14, textWidth}
		headPeople(c, l)
		top, bottom = c.y, footTop-measuredFoot(l)
		pages = append(pages, p)
	}
	turn()
	for _, x := range partsOf(l) {
		if c.y+x.height > bottom && c.y > top {
			turn()
			if !x.first {
				c.place(namePart(l, x.person, true))
			}
		}
		c.place(x)
		problem = addProblems(problem, x.page.problem)
	}
	for i, p := range pages {
		footPeople(&column{p, margin, bottom, textWidth}, l, i+1, len(pages))
		problem = addProblems(problem, p.problem)
	}
	return pages, problem.Err()
}

func addProblems(all, more groundhand.Problems) groundhand.Problems {
	_ = all.Take("", more.Err()) // refusals alone
	return all
}

// place moves a part to the top of what is left of the column.
func (c *column) place(x part) {
	for _, t := range x.page.texts {
		t.y += c.y
		c.page.texts = append(c.page.texts, t)
	}
	for _, b := range x.page.bars {
		b.y += c.y
		c.page.bars = append(c.page.bars, b)
	}
	c.y += x.height
}

// partsOf cuts the list into parts. The name stays with the first line.
func partsOf(l People) []part {
	var out []part
	for i, one := range l.Persons {
		first := namePart(l, i, false)
		first.first = true
		for j, x := range one.Lines {
			next := linePart(i, fmt.Sprintf("people[%d].lines[%d]", i, j), x.what(), x.says())
			if j == 0 {
				next = joined(first, next)
			}
			out = append(out, next)
		}
		if len(one.Lines) == 0 {
			out = append(out, joined(first, linePart(i, fmt.Sprintf("people[%d].note", i), "", one.Note)))
		}
	}
	return out
}

func joined(a, b part) part {
	c := &column{page: &a.page, y: a.height}
	c.place(b)
	a.page.problem = addProblems(a.page.problem, b.page.problem)
	a.height = c.y
	return a
}

// namePart is the name and the verdict over all lines. Who is not good has a frame round the word: it must be told apart on a bad photocopy.
func namePart(l People, person int, again bool) part {
	one, out := l.Persons[person], part{person: person}
	c := &column{&out.page, margin, 1.5, textWidth}
	c.rule(0.3)
	c.skip(1.2)
	word := &column{&out.page, margin + textWidth - verdictWidth, c.y, verdictWidth}
	name, text := one.Name, goodness(one.Good)
	if again {
		name += ", continued"
	}
	if one.Good {
		word.x += 4
		word.set("", text, bold, verdictType)
	} else {
		word.y -= 1.2
		inner := &column{&out.page, word.x + 4, word.y + 1.2, word.w - 8}
		inner.set("", text, bold, verdictType)
		out.page.bars = append(out.page.bars, bar{word.x, word.y + 0.9, word.w, inner.y + 1 - word.y - 0.6, 0.5})
		word.y = inner.y + 0.8
	}
	c.w -= verdictWidth + 4
	c.set(fmt.Sprintf("people[%d].name", person), name, bold, personType)
	out.height = max(c.y, word.y) + 0.8
	return out
}

// linePart is what is asked, and below it what is said of it.
func linePart(person int, path, what, says string) part {
	out := part{person: person}
	c := &column{&out.page, margin + 4, 0, textWidth - 4}
	if what != "" {
		c.set(path, what, plain, lineType)
	}
	c.x, c.w = c.x+4, c.w-4
	c.set(path, says, plain, lineType)
	out.height = c.y + 1.4
	return out
}

func headPeople(c *column, l People) {
	c.set("employer", l.Employer, bold, headType)
	c.skip(0.6)
	c.set("", peopleTitle, plain, headType)
	c.skip(2)
	c.row("rules", "Under the rules", l.Rules, factType)
	c.row("", "On", l.On.Words(), factType)
	c.row("", "As known on", l.AsKnownOn.Words(), factType)
	c.skip(2)
	c.rule(0.6)
	c.skip(1.5)
}

// measuredFoot is the height of what stands on every page below the people.
func measuredFoot(l People) float64 {
	c := &column{page: &page{}, w: textWidth}
	cautionsOf(c, l)
	return c.y
}

func cautionsOf(c *column, l People) {
	c.skip(1)
	c.rule(0.6)
	c.skip(1.8)
	for i, caution := range l.Cautions {
		c.set(fmt.Sprintf("cautions[%d]", i), caution, plain, smallText)
		c.skip(0.6)
	}
}

func footPeople(c *column, l People, number, of int) {
	cautionsOf(c, l)
	c.skip(0.6)
	c.set("", fmt.Sprintf("%s, as known on %s, page %d of %d", peopleTitle, l.AsKnownOn.Words(), number, of), plain, traceType)
}
