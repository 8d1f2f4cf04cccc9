package paper

import (
	"fmt"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"github.com/skip2/go-qrcode"

	"groundhand/internal/groundhand"
)

const family = "page"

// Write draws the certificate as a PDF of one A4 page with its fonts inside and the signed file attached byte for byte. The sheet is
// checked first, as Check does, and nothing is written if it is refused. The same sheet gives the same bytes.
func Write(w io.Writer, s Sheet) error {
	p, err := setPage(s)
	if err != nil {
		return err
	}
	pdf := blank(s, files(p.texts))
	drawTexts(pdf, p.texts)
	drawBars(pdf, p.bars)
	if p.code != "" {
		code, err := qrcode.New(p.code, qrcode.Medium)
		if err != nil {
			return fmt.Errorf("draw code of certificate %s: %w", s.Number, err)
		}
		drawCode(pdf, code.Bitmap(), p.codeX, p.codeY)
		pdf.LinkString(p.codeX, p.codeY, codeSide, codeSide, p.code)
	}
	pdf.SetAttachments([]fpdf.Attachment{{Content: s.Signed, Filename: signedName(s), Description: "The signed certificate"}})
	if err := pdf.Output(w); err != nil {
		return fmt.Errorf("write certificate %s: %w", s.Number, err)
	}
	return nil
}

// signedName is the name of the attached file.
func signedName(s Sheet) string { return s.Number + ".json" }

// blank is an empty page. Dates and the order of its parts are fixed, because the writer's own choice would differ from run to run; the
// person is left out of the file's properties, where nobody would look for a name to strike out.
func blank(s Sheet, fonts [len(faces)][]byte) *fpdf.Fpdf {
	pdf := fpdf.New("P", "mm", "A4", "")
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(midnight(s.IssuedOn))
	pdf.SetModificationDate(midnight(s.IssuedOn))
	pdf.SetProducer("groundhand", true)
	pdf.SetTitle(title+", certificate number "+s.Number, true)
	pdf.SetAuthor(s.Employer, true)
	pdf.SetLang("en")
	pdf.SetAutoPageBreak(false, 0)
	for i, f := range faces {
		pdf.AddUTF8FontFromBytes(family, f.style, fonts[i])
	}
	pdf.AddPage()
	return pdf
}

func midnight(d groundhand.Date) time.Time { return d.Start(time.UTC) }

func drawTexts(pdf *fpdf.Fpdf, texts []ink) {
	for _, line := range texts {
		for _, t := range runs(line) {
			pdf.SetFont(family, faces[t.face].style, t.size)
			pdf.Text(t.x, t.y, t.text)
		}
	}
}

func drawBars(pdf *fpdf.Fpdf, bars []bar) {
	for _, b := range bars {
		pdf.SetLineWidth(b.thick)
		if b.h == 0 {
			pdf.Line(b.x, b.y, b.x+b.w, b.y)
			continue
		}
		pdf.Rect(b.x, b.y, b.w, b.h, "D")
	}
}

// drawCode fills the dark modules, joined along each row, as areas and not as an image: sharp at any printer.
func drawCode(pdf *fpdf.Fpdf, modules [][]bool, x, y float64) {
	side := codeSide / float64(len(modules))
	for row, line := range modules {
		for from := 0; from < len(line); from++ {
			to := from
			for to < len(line) && line[to] {
				to++
			}
			if to > from {
				pdf.Rect(x+float64(from)*side, y+float64(row)*side, float64(to-from)*side, side, "F")
				from = to
			}
		}
	}
}
