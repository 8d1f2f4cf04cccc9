package paper_test

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
)

// run hands a PDF to an outside program and gives back what it says; the test is skipped where the program is absent.
func run(t *testing.T, pdf []byte, program string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(program)
	if err != nil {
		t.Skipf("%s is not installed", program)
	}
	cmd := exec.Command(path, args...)
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	require.NoError(t, err)
	return string(out)
}

func textOf(t *testing.T, s paper.Sheet) string {
	t.Helper()
	return strings.Join(strings.Fields(run(t, printed(t, s), "pdftotext", "-layout", "-", "-")), " ")
}

func TestPageStatesEveryFact(t *testing.T) {
	s := sample()
	text := textOf(t, s)
	for _, fact := range []string{
		"Record of rescue practice", "Certificate number " + s.Number, s.Person, s.Employer, s.Issuer, s.Method, s.Role, s.ControlFamily,
		"Thu 6 Jun 2024", s.ShownHow, s.Assessor, s.RuleSet, "Good through 24:00 local time on Thu 5 Jun 2025", s.LastGoodDayRule,
		s.CheckAddress, "Mon 10 Jun 2024", "good, as known on " + s.AsKnownAt, "page 1 of 1",
		"It is no licence", "accredited", "Local rules", "the makers' instructions", "licensed practice", "withdrawn or replaced",
	} {
		assert.Contains(t, text, fact)
	}
	assert.NotContains(t, text, "Not to be relied on")
}

func TestAnyStandingButGoodIsAWarning(t *testing.T) {
	for _, standing := range []string{"withdrawn on Mon 5 May 2025", "replaced by another", "Good ", "unknown"} {
		s := sample()
		s.Standing = standing
		text := textOf(t, s)
		assert.Contains(t, text, "Not to be relied on: "+strings.TrimSpace(standing))
		assert.NotContains(t, text, "Good through")
		assert.Contains(t, text, "When issued: good through 24:00 local time on Thu 5 Jun 2025")
	}
}

func TestNamesComeOutRight(t *testing.T) {
	for _, name := range []string{
		"Łukasz Żółć", "Şebnem Yılmaz", "Győző Őri", "Đặng Thị Phượng", "María Peña", "Søren Ærø", "Jörg Strauß", "Ana-Lúcia O’Neil",
		"Þórður Ðeira", "Mäkelä Väinö", "Čeněk Ďuriš", "Adébáyọ̀ Ọṣun", "Kaʻiulani", "Γιώργος Ρ.", "Зоя Щука", "Seán (Jack) Ó Sé",
	} {
		s := sample()
		s.Person = name
		assert.Contains(t, textOf(t, s), name)
	}
}

func TestPageIsOneA4SheetWithItsFontsInside(t *testing.T) {
	file := filepath.Join(t.TempDir(), "page.pdf")
	require.NoError(t, os.WriteFile(file, printed(t, sample()), 0o600))
	info := run(t, nil, "pdfinfo", file)
	assert.Regexp(t, `Pages:\s+1\n`, info)
	assert.Contains(t, info, "(A4)")
	assert.NotContains(t, info, sample().Person, "the file's properties name nobody")
	fonts := strings.Split(strings.TrimSpace(run(t, nil, "pdffonts", file)), "\n")
	require.Len(t, fonts, 4)
	for _, line := range fonts[2:] {
		assert.Regexp(t, `Identity-H\s+yes`, line, "the font is embedded")
	}
	assert.Less(t, len(printed(t, sample())), 120_000, "only the letters used are inside: a whole face has 700 kB")
}

// The reader measures with its own reading of the font, so this also checks our widths.
func TestNothingIsPrintedPastTheMargins(t *testing.T) {
	const point = 25.4 / 72
	s := sample()
	s.Person = strings.Repeat("Wolkenstein-Ångström ", 8)
	s.Method = strings.Repeat("Wolkenstein", 10)
	s.CheckAddress = "https://records.halverra.example/" + strings.Repeat("x7Q-", 41)
	boxes := regexp.MustCompile(`xMin="([0-9.]+)" yMin="[0-9.]+" xMax="([0-9.]+)" yMax="([0-9.]+)"`).
		FindAllStringSubmatch(run(t, printed(t, s), "pdftotext", "-bbox", "-", "-"), -1)
	require.Greater(t, len(boxes), 100)
	right := 0.0
	for _, box := range boxes {
		var left, end, low float64
		_, err := fmt.Sscan(strings.Join(box[1:], " "), &left, &end, &low)
		require.NoError(t, err)
		assert.GreaterOrEqual(t, left*point, 19.9)
		assert.LessOrEqual(t, end*point, 190.1)
		assert.LessOrEqual(t, low*point, 292.0)
		right = max(right, end*point)
	}
	assert.Greater(t, right, 170.0, "the lines are as long as they may be")
}

func TestCodeOnThePageLeadsToTheCheckAddress(t *testing.T) {
	if _, err := exec.LookPath("zbarimg"); err != nil {
		t.Skip("zbarimg is not installed")
	}
	long := sample()
	long.CheckAddress = "https://records.halverra.example/" + strings.Repeat("x7Q-", 41)
	for _, s := range []paper.Sheet{sample(), long} {
		png := run(t, printed(t, s), "pdftoppm", "-r", "150", "-gray", "-png", "-")
		file := filepath.Join(t.TempDir(), "page.png")
		require.NoError(t, os.WriteFile(file, []byte(png), 0o600))
		assert.Equal(t, s.CheckAddress, strings.TrimSpace(run(t, nil, "zbarimg", "-q", "--raw", file)))
	}
}

func TestPageIsBlackOnWhite(t *testing.T) {
	ppm := []byte(run(t, printed(t, sample()), "pdftoppm", "-r", "50", "-"))
	pixels := ppm[bytes.Index(ppm, []byte("\n255\n"))+5:]
	require.Zero(t, len(pixels)%3)
	dark := 0
	for i := 0; i < len(pixels); i += 3 {
		require.Equal(t, pixels[i], pixels[i+1])
		require.Equal(t, pixels[i], pixels[i+2])
		if pixels[i] < 128 {
			dark++
		}
	}
	assert.Greater(t, dark, len(pixels)/3/100, "something is printed")
}

func TestSameSheetIsTheSameBytes(t *testing.T) {
	first := printed(t, sample())
	assert.Contains(t, string(first), "/CreationDate (D:20240610000000)", "the day of issue, not of printing")
	assert.Contains(t, string(first), "/ModDate (D:20240610000000)")
	for range 5 {
		assert.True(t, bytes.Equal(first, printed(t, sample())))
	}
	other := sample()
	other.Number = "GH-2024-000319"
	assert.False(t, bytes.Equal(first, printed(t, other)))
}

func TestPagesCanBeDrawnAtTheSameTime(t *testing.T) {
	want := printed(t, sample())
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			var b bytes.Buffer
			assert.NoError(t, paper.Write(&b, sample()))
			assert.True(t, bytes.Equal(want, b.Bytes()))
		})
	}
	wg.Wait()
}

// either checks that a sheet with this name is drawn whole or refused with a code, and says which.
func either(t require.TestingT, name string) bool {
	s := sample()
	s.Person = name
	var b bytes.Buffer
	err := paper.Write(&b, s)
	if err == nil {
		require.True(t, bytes.HasPrefix(b.Bytes(), []byte("%PDF-")))
		return true
	}
	require.ErrorIs(t, err, groundhand.CodeInvalid)
	require.Zero(t, b.Len())
	return false
}

func TestAnyNameIsPrintedOrRefused(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { either(t, rapid.String().Draw(t, "name")) })
}

func TestEveryLetterOfTheLatinAlphabetsCanBePrinted(t *testing.T) {
	var block []rune
	for r := rune(0xC0); r <= 0x24F; r++ { // Latin-1 letters, Latin Extended-A and -B
		block = append(block, r)
	}
	for r := rune(0x1E00); r <= 0x1EF9; r++ { // Latin Extended Additional up to the last Vietnamese letter
		block = append(block, r)
	}
	for from := 0; from < len(block); from += 80 {
		s := sample()
		s.Person = string(block[from:min(from+80, len(block))])
		assert.NoError(t, paper.Check(s))
	}
}

func FuzzName(f *testing.F) {
	for _, name := range []string{"Łukasz", "Đặng", "", "\xff", "a\x00b", "{nb}", "(\\)", "e\u0301\u0323", "\U0010ffff", strings.Repeat("W", 400)} {
		f.Add(name)
	}
	f.Fuzz(func(t *testing.T, name string) { either(t, name) })
}

func BenchmarkWrite(b *testing.B) {
	for b.Loop() {
		require.NoError(b, paper.Write(io.Discard, sample()))
	}
}
