package paper

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/groundhand"
)

// wordy fills every text with words of ordinary width up to n letters.
func wordy(n int) Sheet {
	text := strings.TrimSpace(string([]rune(strings.Repeat("Wolkenhöhe ", n/11+1))[:n]))
	return Changed(func(s *Sheet) {
		s.Number, s.Person, s.Employer, s.Title, s.Assessor = strings.Repeat("W", 40), text, text, text+".", text
		for i := range s.Practice {
			s.Practice[i].Text = text
		}
		for i := range s.Rules {
			s.Rules[i].Text = text
		}
		s.CheckAddress = "https://records.example/" + strings.Repeat("a1b2", 34) + "/" + s.CredentialID
	})
}

// assertTidy checks that nothing leaves the margins and that no text stands on another or on the code.
func assertTidy(t assert.TestingT, p *page) {
	texts := p.texts
	for i, a := range texts {
		assert.LessOrEqual(t, a.x+a.width(), pageWidth-margin+0.01, "right margin: %q", a.text)
		assert.Less(t, a.y, 292.0, "foot of the page: %q", a.text)
		assert.GreaterOrEqual(t, a.size, smallType, "too small for a photocopy: %q", a.text)
		assert.False(t, p.code != "" && a.x+a.width() > p.codeX && a.y > p.codeY && a.y-a.size*mmPerPoint*0.75 < p.codeY+codeSide, "on the code: %q", a.text)
		for _, b := range texts[i+1:] {
			apart := a.x+a.width() <= b.x || b.x+b.width() <= a.x
			assert.True(t, apart || max(a.y-b.y, b.y-a.y) >= 0.9*mmPerPoint*max(a.size, b.size) || lower(a, b), "%q stands on %q", a.text, b.text)
		}
	}
}

// lower says that the lower of the two texts ends, with its capitals, below the tails of the upper one.
func lower(a, b ink) bool {
	if a.y > b.y {
		a, b = b, a
	}
	return b.y-b.size*mmPerPoint*0.76 >= a.y+a.size*mmPerPoint*0.2
}

func TestAnyTextsOfOneHundredThirtyLettersFitTogether(t *testing.T) {
	for n := 1; n <= 130; n++ {
		p, err := setPage(wordy(n))
		require.NoError(t, err, "%d letters", n)
		assertTidy(t, p)
	}
}

func TestLongNamesShrinkThenWrap(t *testing.T) {
	size := func(name string) (float64, int) {
		s := wordy(20)
		s.Person = name
		s.Signed = SignedFor(s)
		p, err := setPage(s)
		require.NoError(t, err)
		size, lines := 0.0, 0
		for _, ink := range p.texts {
			if ink.face == bold && strings.HasPrefix(name, ink.text) {
				size = ink.size
			}
		}
		for _, ink := range p.texts {
			if ink.face == bold && ink.size == size && strings.Contains(name, ink.text) {
				lines++
			}
		}
		return size, lines
	}
	for _, c := range []struct {
		name  string
		size  float64
		lines int
	}{
		{"Ana Ó", 24, 1},
		{"Rosalind Featherstone-Aldersea Höhe", 20, 1},
		{"Maximiliane Wolkenstein-Ångström von Höhe", 17, 1},
		{"Bartholomew Featherstonehaugh-Cholmondeley de la Vega y Montenegro", 17, 2},
		{strings.Repeat("Wolkenstein", 12), 11, 2},
		{strings.Repeat("Wolkenstein", 18), 11, 3},
	} {
		got, lines := size(c.name)
		assert.Equal(t, c.size, got, c.name)
		assert.Equal(t, c.lines, lines, c.name)
	}
}

func TestWhatFitsNowhereIsRefusedWithItsField(t *testing.T) {
	s := wordy(20)
	s.Person = strings.Repeat("W", 250)
	s.Rules[1].Text = strings.Repeat("W", 250)
	s.Signed = SignedFor(s)
	err := Check(s)
	require.ErrorIs(t, err, groundhand.CodeInvalid)
	var paths []string
	for _, e := range groundhand.Refusals(err) {
		paths = append(paths, e.Field)
	}
	assert.Equal(t, []string{"person", "rules[1].text"}, paths)
}

func TestTextsThatFillMoreThanThePageAreRefusedTogether(t *testing.T) {
	full := wordy(130)
	for range 4 {
		full.Practice = append(full.Practice, full.Practice[1])
		full.Rules = append(full.Rules, full.Rules[1])
	}
	full.Signed = SignedFor(full)
	err := Check(full)
	require.Len(t, groundhand.Refusals(err), 1)
	assert.ErrorIs(t, err, groundhand.CodeInvalid)
	assert.ErrorContains(t, err, "too long for one page")
}

func TestCautionsStandOnThePageHoweverMuchElseIsSaid(t *testing.T) {
	for _, s := range []Sheet{Sample(), wordy(130), Changed(func(s *Sheet) { s.CheckAddress = "" })} {
		p, err := setPage(s)
		require.NoError(t, err)
		assertTidy(t, p)
		var all []string
		for _, line := range p.texts {
			all = append(all, line.text)
		}
		for _, caution := range s.Cautions {
			assert.Contains(t, strings.Join(all, " "), caution)
		}
	}
}

func TestWrappingKeepsEveryLetterAndTheAccentOnIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOfN(rapid.SampledFrom([]rune("abWi ñ\u0301\u0323Đ—")), 1, 80, -1).Draw(t, "text")
		limit := rapid.Float64Range(1, 60).Draw(t, "limit")
		lines := wrap(text, bold, 11, limit)
		squeezed := func(s string) string { return strings.Join(strings.Fields(s), "") }
		assert.Equal(t, squeezed(text), squeezed(strings.Join(lines, "")))
		for _, line := range lines[1:] {
			first := []rune(line)[0]
			if first == '\u0301' || first == '\u0323' {
				assert.Contains(t, text, " "+string(first), "an accent was torn from its letter: %q", lines)
			}
		}
	})
}
