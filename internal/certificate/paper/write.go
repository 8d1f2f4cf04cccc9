package paper

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"time"

	"github.com/skip2/go-qrcode"

	"groundhand/internal/groundhand"
)

// Write draws the certificate as a PDF of one A4 page with its letters inside and the signed file attached byte for byte. The sheet is
// checked first, as Check does, and nothing is written if it is refused. The same sheet gives the same bytes.
//
// The person is left out of the file's properties, where nobody would look for a name to strike out.
func Write(w io.Writer, s Sheet) error {
	p, err := setPage(s)
	if err != nil {
		return err
	}
	file := pdfOf([]*page{p}, about{
		title: title + ", certificate number " + s.Number, author: s.Employer, day: s.IssuedOn, attached: &File{signedName(s), s.Signed},
	})
	if _, err := w.Write(file); err != nil {
		return fmt.Errorf("write certificate %s: %w", s.Number, err)
	}
	return nil
}

// signedName is the name of the attached file.
func signedName(s Sheet) string { return s.Number + ".json" }

func midnight(d groundhand.Date) time.Time { return d.Start(time.UTC) }

// drawing is a page in the language of PDF, where points are counted from the bottom left corner.
func drawing(p *page) []byte {
	var b bytes.Buffer
	for _, line := range p.texts {
		for _, t := range runs(line) {
			fmt.Fprintf(&b, "BT /F%d %s Tf %s %s Td <", t.face, number(t.size), points(t.x), points(pageHeight-t.y))
			for _, r := range t.text {
				fmt.Fprintf(&b, "%04X", r)
			}
			b.WriteString("> Tj ET\n")
		}
	}
	for _, l := range p.bars {
		y := pageHeight - l.y
		fmt.Fprintf(&b, "%s w ", points(l.thick))
		if l.h == 0 {
			fmt.Fprintf(&b, "%s %s m %s %[2]s l S\n", points(l.x), points(y), points(l.x+l.w))
			continue
		}
		fmt.Fprintf(&b, "%s %s %s %s re S\n", points(l.x), points(y-l.h), points(l.w), points(l.h))
	}
	drawCode(&b, p)
	return b.Bytes()
}

// drawCode fills the dark modules, joined along each row, as areas and not as an image: sharp at any printer.
func drawCode(b *bytes.Buffer, p *page) {
	if p.code == "" {
		return
	}
	code, err := qrcode.New(p.code, qrcode.Medium)
	if err != nil {
		panic(err) // no address of a length that is let through is too long for a code
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
				fmt.Fprintf(b, "%s %s %s %s re\n", points(p.codeX+float64(from)*side), points(pageHeight-p.codeY-float64(row+1)*side),
					points(float64(to-from)*side), points(side))
				from = to
			}
		}
	}
	b.WriteString("f\n")
}

// points writes millimetres as points, to a thousandth.
func points(mm float64) string { return number(mm / mmPerPoint) }

func number(v float64) string { return strconv.FormatFloat(v, 'f', 3, 64) }
