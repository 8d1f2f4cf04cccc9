package paper

import (
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"groundhand/internal/groundhand"
)

// The page is A4 upright; all measures are millimetres from its top left corner, type sizes are points.
const (
	pageWidth  = 210.0
	pageHeight = 297.0
	margin     = 20.0
	textWidth  = pageWidth - 2*margin
	valueLeft  = 66.0 // what a label stands for begins here, inside a frame too, so that all stand under one another
	maxLabel   = 40.0
	footTop    = 280.0 // what stands before the foot ends here
	codeSide   = 40.0  // of the QR code with its white border
	leading    = 1.25  // line height over type size
	smallType  = 8.5   // the least that survives a second photocopy (common practice, no source)
)

// ink is one line of text: x is its left edge, y its baseline.
type ink struct {
	x, y float64
	face face
	size float64
	text string
}

func (i ink) width() float64 { return width(i.text, i.face, i.size) }

// bar is a straight line or, with a height, a frame.
type bar struct{ x, y, w, h, thick float64 }

// page is what is to be drawn, already measured.
type page struct {
	texts   []ink
	bars    []bar
	code    string  // content of the QR code and address of its link; empty: none
	codeX   float64 // left edge
	codeY   float64 // top edge
	air     float64 // gap below a fact
	problem groundhand.Problems
}

// choice is a size and the number of lines allowed at that size.
type choice struct {
	size  float64
	lines int
}

// The ways to set a text, the best first. A long name is first set smaller, then on more lines.
var (
	nameType  = []choice{{24, 1}, {20, 1}, {17, 1}, {17, 2}, {14, 2}, {11, 3}}
	headType  = []choice{{13, 1}, {11, 1}, {10, 2}}
	trainType = []choice{{15, 1}, {13, 1}, {12, 2}, {10, 3}}
	boxType   = []choice{{15, 1}, {13, 1}, {11, 2}}
	factType  = []choice{{12, 1}, {11, 1}, {10, 2}, {smallType, 3}}
	labelType = []choice{{9, 1}}
	traceType = []choice{{9, 1}, {smallType, 1}}
	smallText = []choice{{9, 6}, {smallType, 7}}
)

// column is a place for text that fills from the top.
type column struct {
	page    *page
	x, y, w float64
}

// set writes one text at the top of what is left of the column, in the first way that fits. A text that fits in no way is refused under
// its path.
func (c *column) set(path, text string, f face, ways []choice) {
	text = norm.NFC.String(text)
	for _, way := range ways {
		lines := wrap(text, f, way.size, c.w)
		if len(lines) > way.lines {
			continue
		}
		height := way.size * mmPerPoint * leading
		for _, line := range lines {
			c.y += height
			c.page.texts = append(c.page.texts, ink{c.x, c.y - height*0.22, f, way.size, line})
		}
		return
	}
	c.page.problem.Add(groundhand.CodeInvalid, path, "This is too long for its place on the page; shorten it.")
}

func (c *column) skip(mm float64) { c.y += mm }

// rule draws a line over the whole column.
func (c *column) rule(thick float64) {
	c.page.bars = append(c.page.bars, bar{c.x, c.y, c.w, 0, thick})
}

// fact writes a label and, beside it on the same line, what it stands for.
func (c *column) fact(path, label, text string) {
	c.row(path, label, text, factType)
	c.y += c.page.air
}

// row is a fact in given sizes, with nothing below it.
func (c *column) row(path, label, text string, ways []choice) {
	texts := &c.page.texts
	first := len(*texts)
	beside := column{c.page, valueLeft, c.y, c.x + c.w - valueLeft}
	beside.set(path, text, plain, ways)
	if first < len(*texts) {
		*texts = slices.Insert(*texts, first, ink{c.x, (*texts)[first].y, plain, 9, norm.NFC.String(label)})
	}
	c.y = beside.y
}

// frame draws a box round what inside writes, with the left and right edge of the column.
func (c *column) frame(thick float64, inside func(*column)) {
	const pad = 3.0
	inner := column{c.page, c.x + pad + 1, c.y + pad, c.w - 2*pad - 2}
	inside(&inner)
	height := inner.y + pad - c.y
	c.page.bars = append(c.page.bars, bar{c.x, c.y, c.w, height, thick})
	c.y += height
}

// wrap breaks a text into lines no wider than limit millimetres, at spaces where it can and inside a word where it must.
func wrap(text string, f face, size, limit float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		if line != "" && width(line+" "+word, f, size) <= limit {
			line += " " + word
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for line = word; width(line, f, size) > limit; {
			cut := fitting(line, f, size, limit)
			lines, line = append(lines, line[:cut]), line[cut:]
		}
	}
	if line != "" || len(lines) == 0 {
		lines = append(lines, line)
	}
	return lines
}

// fitting is the length in bytes of the longest beginning of a word that is no wider than limit, at least one letter with its accents.
func fitting(word string, f face, size, limit float64) int {
	cut := 0
	for i, r := range word {
		if i == 0 || unicode.Is(unicode.M, r) {
			continue
		}
		if cut > 0 && width(word[:i], f, size) > limit {
			return cut
		}
		cut = i
	}
	if cut == 0 {
		return len(word)
	}
	return cut
}
