package paper

import (
	"bytes"
	"fmt"

	"codeberg.org/go-pdf/fpdf"
	"github.com/skip2/go-qrcode"

	"groundhand/internal/groundhand"
)

// about is what a PDF says of itself, and the file that it carries.
type about struct {
	title    string
	author   string
	day      groundhand.Date // of making, as far as anybody is told
	attached *File           // nil: none; its name is of plain letters
}

const family = "page"

// pdfOf writes pages as a PDF with all its letters inside. The same pages give the same bytes: dates and the order of its parts are fixed,
// because the writer's own choice would differ from run to run.
func pdfOf(pages []*page, a about) ([]byte, error) {
	pdf := fpdf.New("P", "mm", "A4", "")
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(midnight(a.day))
	pdf.SetModificationDate(midnight(a.day))
	pdf.SetProducer("groundhand", true)
	pdf.SetTitle(a.title, true)
	pdf.SetAuthor(a.author, true)
	pdf.SetLang("en")
	pdf.SetAutoPageBreak(false, 0)
	for i, file := range files(pages) {
		pdf.AddUTF8FontFromBytes(family, faces[i].style, file)
	}
	for _, p := range pages {
		pdf.AddPage()
		drawTexts(pdf, p.texts)
		drawBars(pdf, p.bars)
		if err := drawCode(pdf, p); err != nil {
			return nil, err
		}
	}
	if a.attached != nil {
		pdf.SetAttachments([]fpdf.Attachment{{Content: a.attached.Data, Filename: a.attached.Name, Description: "The signed certificate"}})
	}
	var out bytes.Buffer
	err := pdf.Output(&out)
	return out.Bytes(), err
}

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
func drawCode(pdf *fpdf.Fpdf, p *page) error {
	if p.code == "" {
		return nil
	}
	code, err := qrcode.New(p.code, qrcode.Medium)
	if err != nil {
		return fmt.Errorf("draw the code of %s: %w", p.code, err)
	}
	modules := code.Bitmap()
	side := codeSide / float64(len(modules))
	for row, line := range modules {
		for from := 0; from < len(line); from++ {
			to := from
			for to < len(line) && line[to] {
				to++
			}
			if to > from {
				pdf.Rect(p.codeX+float64(from)*side, p.codeY+float64(row)*side, float64(to-from)*side, side, "F")
				from = to
			}
		}
	}
	pdf.LinkString(p.codeX, p.codeY, codeSide, codeSide, p.code)
	return nil
}
