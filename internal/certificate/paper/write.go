package paper

import (
	"fmt"
	"io"
	"time"

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
	file, err := pdfOf([]*page{p}, about{
		title: title + ", certificate number " + s.Number, author: s.Employer, day: s.IssuedOn, attached: &File{signedName(s), s.Signed},
	})
	if err == nil {
		_, err = w.Write(file)
	}
	if err != nil {
		return fmt.Errorf("write certificate %s: %w", s.Number, err)
	}
	return nil
}

// signedName is the name of the attached file.
func signedName(s Sheet) string { return s.Number + ".json" }

func midnight(d groundhand.Date) time.Time { return d.Start(time.UTC) }
