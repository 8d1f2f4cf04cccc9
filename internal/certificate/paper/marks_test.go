package paper

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// An accent that lies in its letter cannot be seen, and the name is another one.
func TestAccentsOfTheirOwnStandClearOfTheLetter(t *testing.T) {
	for _, letter := range "aAbdgijlmMOQWyƆəɛŊ" {
		for _, mark := range []rune{'\u0300', '\u0301', '\u0302', '\u0304', '\u030C', '\u0323', '\u0331'} {
			for _, f := range []face{plain, bold} {
				placed := runs(ink{20, 50, f, 12, "x" + string(letter) + string(mark) + "y"})
				require.Len(t, placed, 3)
				at, shape := outline(letter, f), outline(mark, f)
				em := 12 * mmPerPoint
				left := placed[1].x + shape.left*em
				right := placed[1].x + shape.right*em
				begin := 20 + width("x", f, 12)
				assert.InDelta(t, 2*begin+(at.left+at.right)*em, left+right, 0.001, "%c%c is centred", letter, mark)
				bottom := placed[1].y - shape.bottom*em
				top := placed[1].y - shape.top*em
				clear := bottom < 50-at.top*em || top > 50-at.bottom*em
				assert.True(t, clear, "%c%c lies in its letter", letter, mark)
				assert.InDelta(t, begin+width(string(letter), f, 12), placed[2].x, 0.001, "what follows stands where it would")
			}
		}
	}
}

func TestTwoAccentsStandOneOverTheOther(t *testing.T) {
	placed := runs(ink{0, 50, bold, 20, "Q\u0302\u0301"})
	require.Len(t, placed, 3)
	circumflex, acute := outline('\u0302', bold), outline('\u0301', bold)
	em := 20 * mmPerPoint
	assert.Less(t, placed[2].y-acute.bottom*em, placed[1].y-circumflex.top*em)
}

func TestAccentsThatCannotBePlacedAreRefused(t *testing.T) {
	for _, text := range []string{"\u0301Ana", "Ana \u0301", "Q\u0302\u0301\u0300", "Ana\u0336", "1\u0301", "Q\u20dd"} {
		assert.NotEmpty(t, unprintable(text), "%+q", text)
	}
	assert.Empty(t, unprintable("Ọ̀ M̀ E\u0301"))
}

func TestRunsLoseNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOfN(rapid.SampledFrom([]rune("abQ \u0301\u0323É")), 0, 30, -1).Draw(t, "text")
		got := ""
		for _, r := range runs(ink{0, 0, plain, 10, text}) {
			got += r.text
		}
		assert.Equal(t, text, got)
	})
}
