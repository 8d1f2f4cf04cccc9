package paper

import (
	"crypto/sha256"
	"fmt"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Each letter of a cut must be drawn as in the whole face and take the same room, or the page would not be the one that was measured.
func TestCutFacesDrawTheSameLetters(t *testing.T) {
	letters := 0
	for f, file := range cut() {
		cutFont := mustParse(file)
		for r := range rune(lastRune) {
			if !unicode.Is(everyday, r) || advanceOf(face(f), r) == missing {
				continue
			}
			var buf sfnt.Buffer
			whole, err := faces[f].font.GlyphIndex(&buf, r)
			require.NoError(t, err)
			glyph, err := cutFont.GlyphIndex(&buf, r)
			require.NoError(t, err)
			require.NotZero(t, glyph, "%#U", r)
			require.Equal(t, strokes(t, faces[f].font, whole), strokes(t, cutFont, glyph), "%#U", r)
			letters++
		}
	}
	assert.Greater(t, letters, 2000)
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

func TestUnusualLettersGetTheWholeFace(t *testing.T) {
	with := func(text string) []byte { return files([]*page{{texts: []ink{{text: text}}}})[plain] }
	assert.Equal(t, cut()[plain], with("Łukasz Đặng Ọ – “ö” Győző Зоя Γιώργος"))
	assert.Equal(t, faces[plain].data, with("Վարդան"))
}

func TestEmIsThatOfTheFont(t *testing.T) {
	for _, f := range faces {
		assert.Equal(t, f.em, int(f.font.UnitsPerEm()))
	}
}

// The faces are read by all pages that are drawn at the same time, so whoever draws must leave them as they are.
func TestDrawingEveryLetterLeavesTheFacesAlone(t *testing.T) {
	var all []rune
	for r := range rune(lastRune) {
		if printable(r) {
			all = append(all, r)
		}
	}
	require.Greater(t, len(all), 4000)
	var before [len(faces)][sha256.Size]byte
	for f := range faces {
		before[f] = sha256.Sum256(faces[f].data)
	}
	_, err := pdfOf([]*page{{texts: []ink{{text: string(all), size: 1}, {text: string(all), size: 1, face: bold}}}}, about{})
	require.NoError(t, err)
	for f := range faces {
		assert.Equal(t, before[f], sha256.Sum256(faces[f].data))
	}
}
