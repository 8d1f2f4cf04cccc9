package paper

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"io"
	"slices"
	"sync"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

func rowsWith(text string) rowSet { return rowsOf([]*page{{texts: []ink{{text: text}}}})[plain] }

func unpacked(t *testing.T, packed []byte) []byte {
	z, err := zlib.NewReader(bytes.NewReader(packed))
	require.NoError(t, err)
	data, err := io.ReadAll(z)
	require.NoError(t, err)
	return data
}

// Each letter of a cut must be drawn as in the whole face and take the same room, or the page would not be the one that was measured.
func TestCutFacesDrawTheSameLetters(t *testing.T) {
	for f := range faces {
		for _, text := range []string{"a", "Łukasz Đặng Ọ̀ṣun – “ö” Győző", "Γιώργος Зоя Վարդան ჯონი"} {
			rows := rowsWith(text)
			c := cutOf(face(f), rows)
			whole := fpdf.UTF8CutFont(slices.Clone(faces[f].data), string(lettersOf(face(f), rows.starts())))
			file := unpacked(t, c.file)
			assert.Len(t, file, c.length)
			assert.Equal(t, onlyTables(whole, pdfTables), file)
			cutFont, glyphs := mustParse(whole), unpacked(t, c.glyphs)
			for r := rune(' '); int(2*r) < len(glyphs); r++ {
				glyph := sfnt.GlyphIndex(glyphs[2*r])<<8 | sfnt.GlyphIndex(glyphs[2*r+1])
				if glyph == 0 {
					continue
				}
				var buf sfnt.Buffer
				whole, err := faces[f].font.GlyphIndex(&buf, r)
				require.NoError(t, err)
				assert.Equal(t, strokes(t, faces[f].font, whole), strokes(t, cutFont, glyph), "%#U", r)
				assert.Contains(t, " "+c.widths, fmt.Sprintf(" %d [", r))
			}
			for _, r := range text {
				assert.NotZero(t, int(glyphs[2*r])<<8|int(glyphs[2*r+1]), "%#U is there", r)
			}
		}
	}
}

func TestOnlyTablesKeepsWhatItIsToldTo(t *testing.T) {
	font := faces[bold].data
	got := onlyTables(font, pdfTables)
	var names []string
	for i := range int(binary.BigEndian.Uint16(got[4:])) {
		name := string(got[12+16*i:][:4])
		names = append(names, name)
		want := table(font, name)
		if have := table(got, name); name == "head" {
			assert.Equal(t, want[12:], have[12:], "but for the sum of all")
		} else {
			assert.True(t, bytes.Equal(want, have), name)
		}
	}
	assert.Equal(t, []string{"cvt ", "fpgm", "glyf", "head", "hhea", "hmtx", "loca", "maxp", "prep"}, names)
	assert.Equal(t, []byte{0, 9, 0, 128, 0, 3, 0, 16}, got[4:12], "nine tables; the powers of two that a search starts with")
	sum := uint32(0)
	for at := 0; at < len(got); at += 4 {
		sum += binary.BigEndian.Uint32(got[at:])
	}
	assert.Equal(t, uint32(0xB1B0AFBA), sum)
}

func table(font []byte, name string) []byte {
	for i := range int(binary.BigEndian.Uint16(font[4:])) {
		e := font[12+16*i:]
		if string(e[:4]) == name {
			return font[binary.BigEndian.Uint32(e[8:]):][:binary.BigEndian.Uint32(e[12:])]
		}
	}
	return nil
}

// strokes are the lines of a glyph and how far it moves on.
func strokes(t *testing.T, f *sfnt.Font, glyph sfnt.GlyphIndex) string {
	var buf sfnt.Buffer
	segments, err := f.LoadGlyph(&buf, glyph, fixed.I(2048), nil)
	require.NoError(t, err)
	lines := fmt.Sprint(segments)
	advance, err := f.GlyphAdvance(&buf, glyph, fixed.I(2048), font.HintingNone)
	require.NoError(t, err)
	return fmt.Sprint(lines, advance)
}

func TestRowsFollowFromTheLettersAlone(t *testing.T) {
	assert.Equal(t, []rune{0}, rowsWith("").starts())
	assert.Equal(t, []rune{0}, rowsWith("Ana").starts())
	assert.Equal(t, []rune{0, 0x80, 0x100, 0x1E80}, rowsWith("Đặng Peña").starts())
	assert.Equal(t, rowsWith("Ñ"), rowsWith("ñññ"))
	assert.Equal(t, []rune{0, 0xFF80}, rowsWith(string(rune(lastRune))).starts())
}

// What is kept must not decide what a page looks like, and must not grow without end.
func TestMoreRowsThanAreKept(t *testing.T) {
	var busy sync.WaitGroup
	for i := range keptCuts + 20 {
		var rows rowSet
		for bit := range 7 {
			if i&(1<<bit) != 0 {
				rows.add(rune(bit+1) * rowLength)
			}
		}
		rows.add(0)
		busy.Go(func() { cutOf(plain, rows) })
	}
	busy.Wait()
	assert.LessOrEqual(t, len(cuts.kept[plain]), keptCuts)
	rows := rowsWith("Вася Ω ֏ Ạ")
	first, second := cutOf(plain, rows), cutOf(plain, rows)
	assert.NotSame(t, first, second, "not kept")
	assert.Equal(t, first, second)
}

// The measures that a PDF wants stand in the font.
func TestMeasuresAreThoseOfTheFont(t *testing.T) {
	for _, f := range faces {
		var buf sfnt.Buffer
		assert.Equal(t, f.em, int(f.font.UnitsPerEm()))
		box, err := f.font.Bounds(&buf, fixed.I(1000), font.HintingNone)
		require.NoError(t, err)
		assert.Contains(t, f.measures, fmt.Sprintf("/FontBBox [%d %d %d %d]", box.Min.X.Round(), -box.Max.Y.Round(), box.Max.X.Round(), -box.Min.Y.Round()))
		m, err := f.font.Metrics(&buf, fixed.I(1000), font.HintingNone)
		require.NoError(t, err)
		assert.Contains(t, f.measures, fmt.Sprintf("/Ascent %d /Descent -%d /CapHeight %d", m.Ascent.Round(), m.Descent.Round(), -m.CapHeight.Round()), "this reader of fonts counts capitals downwards")
	}
}
