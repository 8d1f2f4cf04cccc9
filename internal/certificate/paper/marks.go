package paper

import (
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
)

// Most letters with an accent are one character each, and norm.NFC makes them one. For some, such as the Yoruba Ọ̀, there is none: the
// accent stays a character of its own. The font would put it where it suits a small letter, and on a capital it would vanish in the letter.
// So such accents are placed here: centred, and clear of the letter.

const (
	above, below = 230, 220 // canonical combining classes (Unicode Standard, 4.3)
	maxMarks     = 2        // on one letter; more would reach into the next line
	clearance    = 0.05     // gap between a letter and its accent, in ems
)

// settable says whether an accent can be placed on what stands before it.
func settable(mark rune, before []rune) bool {
	marks := 0
	for marks < len(before) && unicode.Is(unicode.M, before[len(before)-1-marks]) {
		marks++
	}
	if marks >= maxMarks || marks == len(before) || !unicode.IsLetter(before[len(before)-1-marks]) {
		return false
	}
	class := norm.NFC.PropertiesString(string(mark)).CCC()
	return class == above || class == below
}

// runs splits a line where accents of their own have to be placed: text up to the letter, each accent, the text after it.
func runs(line ink) []ink {
	var out []ink
	text := []rune(line.text)
	x, start := line.x, 0
	for i := 0; i < len(text); {
		end := i + 1
		for end < len(text) && unicode.Is(unicode.M, text[end]) {
			end++
		}
		if end > i+1 {
			piece := line.part(x, text[start:i+1])
			x += piece.width()
			out = append(append(out, piece), stacked(line, x, text[i], text[i+1:end])...)
			start = end
		}
		i = end
	}
	if start < len(text) {
		out = append(out, line.part(x, text[start:]))
	}
	return out
}

func (i ink) part(x float64, text []rune) ink { return ink{x, i.y, i.face, i.size, string(text)} }

// stacked places accents on a letter that ends at x, each further out than the one before.
func stacked(line ink, x float64, letter rune, marks []rune) []ink {
	at := outline(letter, line.face)
	scale := line.size * mmPerPoint
	x -= at.advance * scale
	var out []ink
	for _, m := range marks {
		shape := outline(m, line.face)
		right := (at.left + at.right - shape.left - shape.right) / 2
		up := 0.0
		if norm.NFC.PropertiesString(string(m)).CCC() == above {
			up = max(0, at.top+clearance-shape.bottom)
			at.top = shape.top + up
		} else {
			up = min(0, at.bottom-clearance-shape.top)
			at.bottom = shape.bottom + up
		}
		piece := line.part(x+right*scale, []rune{m})
		piece.y -= up * scale
		out = append(out, piece)
	}
	return out
}

// shape is the box round a glyph, in ems from its origin, upwards.
type shape struct{ left, right, top, bottom, advance float64 }

func outline(r rune, f face) shape { return outlineIn(faces[f].font, r) }

func outlineIn(ft *sfnt.Font, r rune) shape {
	var buf sfnt.Buffer
	em := fixed.I(int(ft.UnitsPerEm()))
	glyph, err := ft.GlyphIndex(&buf, r)
	if err != nil {
		return shape{}
	}
	box, advance, err := ft.GlyphBounds(&buf, glyph, em, font.HintingNone)
	if err != nil {
		return shape{}
	}
	ems := func(v fixed.Int26_6) float64 { return float64(v) / float64(em) }
	return shape{ems(box.Min.X), ems(box.Max.X), -ems(box.Min.Y), -ems(box.Max.Y), ems(advance)}
}
