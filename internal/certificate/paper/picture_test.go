package paper_test

import (
	"bytes"
	"flag"
	"image"
	"image/draw"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/paper"
)

var update = flag.Bool("update", false, "draw the reference pictures anew; look at them before committing")

// The reference pictures, and by how much a page may differ from its own. Programs that draw PDFs differ a little in how they smooth
// letters, and so do their versions; a missing or shifted line differs in its tile by far more.
const (
	pictureDPI = "60"
	tile       = 24   // pixels, about a centimetre
	tolerance  = 14.0 // mean difference of grey values, 0 to 255, in any tile
)

func pages() map[string]paper.Sheet {
	return map[string]paper.Sheet{
		"certificate": paper.Sample(),
		"certificate-without-address": paper.Changed(func(s *paper.Sheet) {
			s.Person, s.CheckAddress, s.Assessor = "Đặng Thị Phượng", "", ""
		}),
		"certificate-with-long-words": paper.Changed(func(s *paper.Sheet) {
			s.Person = "Bartholomäus Featherstonehaugh-Żółkiewski de la Peña y Şahinoğlu"
			s.Employer = "Halverra Line Services, Overhead Networks of the Northern Counties and Islands (invented)"
			s.Title = "Bucket rescue by lower controls or emergency lowering, extraction by hand"
			s.Practice[0].Text = s.Title
			s.Practice[2].Text = "F3, telescopic with over-centre elbow, remote controls by radio; maker's group 2 and 3 alike"
			s.Rules[2].Text = "12 months; the end of the month of the anniversary of the day shown, shortened where the client of the job asks for it"
		}),
	}
}

func picture(t *testing.T, s paper.Sheet, dpi string) *image.Gray {
	t.Helper()
	drawn, err := png.Decode(strings.NewReader(run(t, printed(t, s), "pdftoppm", "-r", dpi, "-gray", "-png", "-")))
	require.NoError(t, err)
	return grey(drawn)
}

func grey(from image.Image) *image.Gray {
	to := image.NewGray(from.Bounds())
	draw.Draw(to, to.Rect, from, to.Rect.Min, draw.Src)
	return to
}

// apart is the largest mean difference of any tile of two pictures of one size.
func apart(t *testing.T, a, b *image.Gray) float64 {
	t.Helper()
	require.Equal(t, a.Rect, b.Rect)
	worst := 0.0
	for y := 0; y < a.Rect.Max.Y; y += tile {
		for x := 0; x < a.Rect.Max.X; x += tile {
			sum, n := 0, 0
			for yy := y; yy < min(y+tile, a.Rect.Max.Y); yy++ {
				for xx := x; xx < min(x+tile, a.Rect.Max.X); xx++ {
					d := int(a.GrayAt(xx, yy).Y) - int(b.GrayAt(xx, yy).Y)
					sum, n = sum+max(d, -d), n+1
				}
			}
			worst = max(worst, float64(sum)/float64(n))
		}
	}
	return worst
}

func TestPageLooksAsItDid(t *testing.T) {
	for name, s := range pages() {
		t.Run(name, func(t *testing.T) {
			got := picture(t, s, pictureDPI)
			file := filepath.Join("testdata", name+".png")
			if *update {
				var b bytes.Buffer
				require.NoError(t, (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, got))
				require.NoError(t, os.WriteFile(file, b.Bytes(), 0o644))
			}
			data, err := os.ReadFile(file)
			require.NoError(t, err)
			want, err := png.Decode(bytes.NewReader(data))
			require.NoError(t, err)
			assert.LessOrEqual(t, apart(t, grey(want), got), tolerance, "the page differs from %s; draw it anew with -update if it should", file)
		})
	}
}

// The comparison must see what a reader would see. The fingerprint at the bottom differs with every change, so it is the upper part, or what
// stands on the right, that is looked at.
func TestPicturesOfOtherPagesAreOtherPictures(t *testing.T) {
	first := picture(t, paper.Sample(), pictureDPI)
	facts := image.Rect(0, 0, first.Rect.Max.X, first.Rect.Max.Y*2/3)
	code := image.Rect(first.Rect.Max.X*2/3, first.Rect.Max.Y*2/3, first.Rect.Max.X, first.Rect.Max.Y*5/6)
	for name, c := range map[string]struct {
		change func(*paper.Sheet)
		part   image.Rectangle
	}{
		"a letter of the name": {func(s *paper.Sheet) { s.Person = "Saoirse Kettlewich" }, facts},
		"a day":                {func(s *paper.Sheet) { s.LastGoodDay += 10 }, facts},
		"the assessor":         {func(s *paper.Sheet) { s.Assessor = "" }, facts},
		"no code":              {func(s *paper.Sheet) { s.CheckAddress = "" }, code},
		"another code":         {func(s *paper.Sheet) { s.CheckAddress = strings.Replace(s.CheckAddress, "records", "keepers", 1) }, code},
	} {
		other := picture(t, paper.Changed(c.change), pictureDPI)
		assert.Greater(t, apart(t, cutOut(first, c.part), cutOut(other, c.part)), tolerance, name)
	}
}

func cutOut(from *image.Gray, part image.Rectangle) *image.Gray {
	to := image.NewGray(image.Rect(0, 0, part.Dx(), part.Dy()))
	draw.Draw(to, to.Rect, from, part.Min, draw.Src)
	return to
}

// A photocopy knows black and white alone. What must survive it is the code and, for those without a telephone, the letters.
func TestCodeSurvivesAPhotocopy(t *testing.T) {
	if _, err := exec.LookPath("zbarimg"); err != nil {
		t.Skip("zbarimg is not installed")
	}
	for _, darkness := range []uint8{90, 128, 190} {
		copied := picture(t, paper.Sample(), "100")
		for i, v := range copied.Pix {
			copied.Pix[i] = 255
			if v < darkness {
				copied.Pix[i] = 0
			}
		}
		file := filepath.Join(t.TempDir(), "copy.png")
		var b bytes.Buffer
		require.NoError(t, png.Encode(&b, copied))
		require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
		assert.Equal(t, paper.Sample().CheckAddress, strings.TrimSpace(run(t, nil, "zbarimg", "-q", "--raw", file)), "darkness %d", darkness)
	}
}
