package paper_test

import (
	"bytes"
	"crypto/sha256"
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
	"golang.org/x/text/unicode/norm"
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
	s := paper.Sample()
	text := textOf(t, s)
	for _, f := range append(s.Practice[1:], s.Rules...) {
		assert.Contains(t, text, f.Label+" "+f.Text, "label and text stand on one line")
	}
	for _, fact := range []string{
		"This page is a rendering. What counts is the signed file attached to it, GH-2024-000318.json", "Record of rescue practice", "ertificate number " + s.Number, s.Person, s.Employer, s.Title, "Shown on Thu 6 Jun 2024",
		"Watched by " + s.Assessor, "Good through 24:00 local time on Thu 5 Jun 2025", "Issued on Mon 10 Jun 2024", s.CheckAddress, s.KeyID,
		"page 1 of 1", "It is no licence", "accredited", "Local rules", "the makers' instructions", "licensed practice", "withdrawn or replaced",
		"The name is not shown there: only the file proves it",
	} {
		assert.Contains(t, text, fact)
	}
	assert.Equal(t, 1, strings.Count(text, s.Title), "the method is not said twice")
}

func TestPageShowsTheFingerprintOfItsSignedFile(t *testing.T) {
	s := paper.Sample()
	hex := fmt.Sprintf("%x", sha256.Sum256(s.Signed))
	assert.Contains(t, textOf(t, s), strings.Join([]string{hex[:4], hex[4:8], hex[8:12], hex[12:16]}, " "))
}

func TestPageWithoutAnAddressSaysWhomToAsk(t *testing.T) {
	s := paper.Changed(func(s *paper.Sheet) { s.CheckAddress = "" })
	text := textOf(t, s)
	assert.Contains(t, text, "cannot be withdrawn electronically: ask the issuer")
	for _, not := range []string{"Check it at", "https://", "replaced since"} {
		assert.NotContains(t, text, not)
	}
	assert.Contains(t, text, "This page is a rendering. What counts is the signed file attached to it")
}

func TestSignedFileIsAttachedByteForByte(t *testing.T) {
	s := paper.Sample()
	s.Signed = bytes.Replace(s.Signed, []byte("{"), []byte("{ \r\n\t"), 1) // blanks count too
	file := filepath.Join(t.TempDir(), "page.pdf")
	require.NoError(t, os.WriteFile(file, printed(t, s), 0o600))
	assert.Contains(t, run(t, nil, "pdfdetach", "-list", file), s.Number+".json")
	out := filepath.Join(t.TempDir(), "out.json")
	run(t, nil, "pdfdetach", "-save", "1", "-o", out, file)
	got, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.Equal(t, string(s.Signed), string(got))
}

func TestNamesComeOutRight(t *testing.T) {
	for _, name := range []string{
		"Łukasz Żółć", "Şebnem Yılmaz", "Győző Őri", "Đặng Thị Phượng", "María Peña", "Søren Ærø", "Jörg Strauß", "Ana-Lúcia O’Neil",
		"Ọ̀ṣunlékè M̀bá", "Þórður Ðeira", "Nguyễn Ặ ờ", "Mäkelä Väinö", "Čeněk Ďuriš", "Adébáyọ̀ Ọṣun", "Kaʻiulani", "Γιώργος Ρ.", "Зоя Щука", "Seán (Jack) Ó Sé",
	} {
		assert.Contains(t, textOf(t, named(name)), name)
		apart := norm.NFD.String(name) // as some systems write it
		assert.Contains(t, textOf(t, named(apart)), name, "the same name in letters and accents apart")
		s := named(apart)
		got, err := paper.Attached(printed(t, s))
		require.NoError(t, err)
		assert.Equal(t, [][]byte{s.Signed}, got, "what is signed keeps its bytes")
	}
}

func TestPageIsOneA4SheetWithItsFontsInside(t *testing.T) {
	file := filepath.Join(t.TempDir(), "page.pdf")
	require.NoError(t, os.WriteFile(file, printed(t, paper.Sample()), 0o600))
	info := run(t, nil, "pdfinfo", file)
	assert.Regexp(t, `Pages:\s+1\n`, info)
	assert.Contains(t, info, "(A4)")
	assert.NotContains(t, info, paper.Sample().Person, "the file's properties name nobody")
	fonts := strings.Split(strings.TrimSpace(run(t, nil, "pdffonts", file)), "\n")
	require.Len(t, fonts, 4)
	for _, line := range fonts[2:] {
		assert.Regexp(t, `Identity-H\s+yes`, line, "the font is embedded")
	}
	assert.Less(t, len(printed(t, paper.Sample())), 120_000, "only the letters used are inside: a whole face has 700 kB")
}

// The reader measures with its own reading of the font, so this also checks our widths.
func TestNothingIsPrintedPastTheMargins(t *testing.T) {
	const point = 25.4 / 72
	s := paper.Changed(func(s *paper.Sheet) {
		s.Person = strings.TrimSpace(strings.Repeat("Wolkenstein-Ångström ", 8))
		s.Title = strings.Repeat("Wolkenstein", 10)
		s.CheckAddress = "https://records.halverra.example/" + strings.Repeat("x7Q-", 32) + "/" + s.CredentialID
	})
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
	long := paper.Sample()
	long.CheckAddress = "https://records.halverra.example/" + strings.Repeat("x7Q-", 32) + "/" + long.CredentialID
	for _, s := range []paper.Sheet{paper.Sample(), long} {
		png := run(t, printed(t, s), "pdftoppm", "-r", "150", "-gray", "-png", "-")
		file := filepath.Join(t.TempDir(), "page.png")
		require.NoError(t, os.WriteFile(file, []byte(png), 0o600))
		assert.Equal(t, s.CheckAddress, strings.TrimSpace(run(t, nil, "zbarimg", "-q", "--raw", file)))
	}
}

func TestPageIsBlackOnWhite(t *testing.T) {
	ppm := []byte(run(t, printed(t, paper.Sample()), "pdftoppm", "-r", "50", "-"))
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
	first := printed(t, paper.Sample())
	assert.True(t, bytes.Contains(first, []byte("/CreationDate (D:20240610000000)")), "the day of issue, not of printing")
	assert.True(t, bytes.Contains(first, []byte("/ModDate (D:20240610000000)")))
	for range 5 {
		assert.True(t, bytes.Equal(first, printed(t, paper.Sample())))
	}
	other := paper.Changed(func(s *paper.Sheet) { s.Number = "GH-2024-000319" })
	assert.False(t, bytes.Equal(first, printed(t, other)))
}

func TestPagesCanBeDrawnAtTheSameTime(t *testing.T) {
	want := printed(t, paper.Sample())
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			var b bytes.Buffer
			assert.NoError(t, paper.Write(&b, paper.Sample()))
			assert.True(t, bytes.Equal(want, b.Bytes()))
		})
	}
	wg.Wait()
}

// either checks that a sheet with this name is drawn whole or refused with a code, and says which.
func either(t require.TestingT, name string) bool {
	var b bytes.Buffer
	err := paper.Write(&b, named(name))
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
		assert.NoError(t, paper.Check(named(string(block[from:min(from+80, len(block))]))))
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
		require.NoError(b, paper.Write(io.Discard, paper.Sample()))
	}
}
