package paper

import (
	"fmt"
	"slices"
	"unicode"

	"github.com/go-fonts/dejavu/dejavusans"
	"github.com/go-fonts/dejavu/dejavusansbold"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/unicode/norm"
)

// face is one of the two cuts of the only type on the page. DejaVu Sans has the widest cover of names among the fonts to be had as a Go module.
type face int

const (
	plain face = iota
	bold
)

var faces = [...]struct {
	style string // as the PDF writer calls it
	data  []byte
	font  *sfnt.Font
	em    int // units of the font to an em
}{
	plain: {"", dejavusans.TTF, mustParse(dejavusans.TTF), 2048},
	bold:  {"B", dejavusansbold.TTF, mustParse(dejavusansbold.TTF), 2048},
}

// mustParse reads a font that is part of the program.
func mustParse(data []byte) *sfnt.Font {
	f, err := sfnt.Parse(data)
	if err != nil {
		panic(err)
	}
	return f
}

// lastRune ends the part of Unicode that the PDF writer can reach in a font, short of the specials: those stand for a letter that was
// already lost on the way here.
const lastRune = 0xFFEF

// Scripts whose letters change with their neighbours or run from right to left. The PDF writer sets one glyph after the other from left to
// right, so they would come out wrong even where the font has the glyphs. Private letters mean nothing outside one machine.
var unset = []*unicode.RangeTable{
	unicode.Arabic, unicode.Hebrew, unicode.Syriac, unicode.Thaana, unicode.Nko, unicode.Lao, unicode.Mongolian, unicode.Devanagari,
	unicode.Thai, unicode.Hangul, unicode.Co,
}

// A text is drawn in its composed form (Unicode normalization form C): e followed by an accent is the letter é, the same name in the eyes of
// Unicode and of people. Nothing else about a text is ever changed, and the signed file keeps the bytes that were recorded.
//
// unprintable lists, each once, the characters of a text that cannot be set right, as "U+674E '李'"; of many it names the first few.
func unprintable(text string) []string {
	const few = 8
	var bad []string
	runes := []rune(norm.NFC.String(text))
	for i, r := range runes {
		if printable(r) && (!unicode.Is(unicode.M, r) || settable(r, runes[:i])) {
			continue
		}
		name := fmt.Sprintf("%#U", r)
		if slices.Contains(bad, name) {
			continue
		}
		if len(bad) == few {
			return append(bad, "and others")
		}
		bad = append(bad, name)
	}
	return bad
}

func printable(r rune) bool {
	if ' ' <= r && r <= '~' {
		return true
	}
	return r <= lastRune && !unicode.In(r, unset...) && unicode.IsGraphic(r) && advanceOf(plain, r) != missing && advanceOf(bold, r) != missing
}

const mmPerPoint = 25.4 / 72

// width is how many millimetres a text takes in a face at a size in points.
func width(text string, f face, size float64) float64 {
	sum := 0
	for _, r := range text {
		if unicode.Is(unicode.M, r) {
			continue // an accent takes no room of its own
		}
		sum += max(0, advanceOf(f, r))
	}
	return float64(sum) / float64(faces[f].em) * size * mmPerPoint
}
