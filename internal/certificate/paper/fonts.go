package paper

import (
	"slices"
	"strings"
	"sync"
	"unicode"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// everyday are the letters that nearly every page gets by with: Latin with all its accents, Greek, Cyrillic, and the usual signs.
var everyday = &unicode.RangeTable{R16: []unicode.Range16{{0x20, 0x7E, 1}, {0xA0, 0x52F, 1}, {0x1E00, 0x1EFF, 1}, {0x2010, 0x205E, 1}, {0x20A0, 0x20BF, 1}}}

// cut holds both faces with the everyday letters alone. The PDF writer reads a face from end to end for each page, which takes most of the
// time that a page takes; of these there is a fifth to read. They are made once.
var cut = sync.OnceValue(func() (out [len(faces)][]byte) {
	var letters strings.Builder
	for r := range rune(lastRune) {
		if unicode.Is(everyday, r) {
			letters.WriteRune(r)
		}
	}
	for i, f := range faces {
		out[i] = fpdf.UTF8CutFont(slices.Clone(f.data), letters.String())
	}
	return out
})

// files are the faces for a PDF. They depend on its own letters alone, so that a page among others has the same bytes as the page by itself.
func files(pages []*page) (out [len(faces)][]byte) {
	for _, p := range pages {
		for _, t := range p.texts {
			if strings.ContainsFunc(t.text, func(r rune) bool { return !unicode.Is(everyday, r) }) {
				return whole()
			}
		}
	}
	return cut()
}

func whole() (out [len(faces)][]byte) {
	for i, f := range faces {
		out[i] = f.data
	}
	return out
}

// missing is the advance of a letter that a face does not have.
const missing = -1

// advances are the widths of all letters of both faces in units of the font. They are looked up for each letter of each way to set a text.
var advances = sync.OnceValue(func() (out [len(faces)][]int) {
	var buf sfnt.Buffer
	for i, f := range faces {
		out[i] = make([]int, lastRune+1)
		for r := range out[i] {
			glyph, err := f.font.GlyphIndex(&buf, rune(r))
			out[i][r] = missing
			if err != nil || glyph == 0 {
				continue
			}
			if advance, err := f.font.GlyphAdvance(&buf, glyph, fixed.I(f.em), font.HintingNone); err == nil {
				out[i][r] = advance.Round()
			}
		}
	}
	return out
})

func advanceOf(f face, r rune) int {
	if r < 0 || r > lastRune {
		return missing
	}
	return advances()[f][r]
}
