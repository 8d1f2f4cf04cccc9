package paper

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// A PDF carries its letters inside. To cut out exactly the letters of one page takes longer than all the rest of it, so a page gets whole rows
// of letters: 128 each, such as a to z, the letters of Western Europe, or those of Vietnam. The rows follow from the page's own texts alone,
// and so do its bytes; a cut is made once and kept for the next page with the same rows.

const (
	rowLength = 128
	keptCuts  = 64 // of each face; pages with still other rows get their cut made anew
)

// rowSet are the rows of one face that a page needs, as bits.
type rowSet [(lastRune + 1 + 64*rowLength - 1) / (64 * rowLength)]uint64

func (s *rowSet) add(r rune) { s[r/rowLength/64] |= 1 << (r / rowLength % 64) }

func (s rowSet) starts() []rune {
	var out []rune
	for row := rune(0); row <= lastRune/rowLength; row++ {
		if s[row/64]&(1<<(row%64)) != 0 {
			out = append(out, row*rowLength)
		}
	}
	return out
}

// rowsOf gives the rows of both faces. The first is always there.
func rowsOf(pages []*page) (out [len(faces)]rowSet) {
	for f := range out {
		out[f].add(0)
	}
	for _, p := range pages {
		for _, t := range p.texts {
			for _, r := range t.text {
				out[t.face].add(r)
			}
		}
	}
	return out
}

// cutFace is a face with some rows of letters, ready to be written into a PDF. A letter is named there by its Unicode number.
type cutFace struct {
	file      []byte // TrueType, packed
	length    int    // of the file before it was packed
	widths    string // of each letter, in thousandths of an em: number [width] …
	glyphs    []byte // two bytes a letter from number 0: which glyph of the file it is; packed
	toUnicode []byte // the same numbers again, for whoever copies text out of the page; packed
}

var cuts struct {
	sync.Mutex
	kept [len(faces)]map[rowSet]func() *cutFace
}

// cutOf gives a face with the rows, from those kept if it can. Whoever comes second for the same rows waits for the first.
func cutOf(f face, rows rowSet) *cutFace {
	cuts.Lock()
	kept := &cuts.kept[f]
	if *kept == nil {
		*kept = map[rowSet]func() *cutFace{}
	}
	get, known := (*kept)[rows]
	if !known {
		get = sync.OnceValue(func() *cutFace { return cut(f, rows.starts()) })
		if len(*kept) < keptCuts {
			(*kept)[rows] = get
		}
	}
	cuts.Unlock()
	return get()
}

func cut(f face, starts []rune) *cutFace {
	letters := lettersOf(f, starts)
	file := fpdf.UTF8CutFont(slices.Clone(faces[f].data), string(letters))
	font := mustParse(file)
	glyphs := make([]byte, 2*(starts[len(starts)-1]+rowLength))
	var buf sfnt.Buffer
	var widths strings.Builder
	for _, r := range letters {
		glyph, err := font.GlyphIndex(&buf, r)
		if err != nil {
			panic(err) // the font is part of the program
		}
		glyphs[2*r], glyphs[2*r+1] = byte(glyph>>8), byte(glyph)
		fmt.Fprintf(&widths, "%d [%d] ", r, (advanceOf(f, r)*1000+faces[f].em/2)/faces[f].em)
	}
	file = onlyTables(file, pdfTables)
	return &cutFace{deflated(file), len(file), widths.String(), deflated(glyphs), deflated([]byte(toUnicode(starts)))}
}

// lettersOf are those that a face has of some rows.
func lettersOf(f face, starts []rune) (out []rune) {
	for _, start := range starts {
		for r := max(start, ' '); r < start+rowLength; r++ {
			if advanceOf(f, r) != missing {
				out = append(out, r)
			}
		}
	}
	return out
}

// toUnicode is a CMap (ISO 32000-1, 9.10.3) that gives each number as its own letter.
func toUnicode(starts []rune) string {
	var b strings.Builder
	b.WriteString("/CIDInit /ProcSet findresource begin 12 dict begin begincmap\n" +
		"/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def /CMapName /Adobe-Identity-UCS def /CMapType 2 def\n" +
		"1 begincodespacerange <0000> <FFFF> endcodespacerange\n")
	for part := range slices.Chunk(starts, 100) { // no more are allowed at once
		fmt.Fprintf(&b, "%d beginbfrange\n", len(part))
		for _, start := range part {
			fmt.Fprintf(&b, "<%04X> <%04X> <%04X>\n", start, start+rowLength-1, start)
		}
		b.WriteString("endbfrange\n")
	}
	b.WriteString("endcmap CMapName currentdict /CMap defineresource pop end end\n")
	return b.String()
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
