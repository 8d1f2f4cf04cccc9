// Package exchange reads tables that people kept in spreadsheets: CSV and XLSX files of people, crews, drills and assessments.
//
// It turns a file into typed rows and refusals, each refusal with its row, its column and the text of the cell. It knows no database
// and no clock: whether a person exists, or a day lies in the future, is for the caller to say. Where a cell can be read in two ways it
// is refused, never guessed. The file is hostile until read: everything is bounded by a Limit.
package exchange

import (
	"bytes"
	"errors"
	"io"

	"groundhand/internal/groundhand"
)

// Kind is what the rows of a table are about.
type Kind string

// The kinds. The sheet of a workbook with several sheets is found by this name.
const (
	People      Kind = "people"
	Crews       Kind = "crews" // who is in which crew, from when to when
	Drills      Kind = "drills"
	Assessments Kind = "assessments"
)

// Kinds lists them in the order in which an empty company would read them in.
var Kinds = []Kind{People, Crews, Drills, Assessments}

// Limit bounds what is read of one file. What exceeds it is refused with TOO_LARGE, never cut short silently.
type Limit struct {
	Bytes    int64 // of the file as sent
	Unzipped int64 // of all parts of a workbook together
	Rows     int   // rows below the headings
	Cell     int   // bytes of text in one cell
	Refusals int   // refused cells after which reading ends: it is the wrong file
}

// Usual is the limit for a file that a person sends.
var Usual = Limit{Bytes: 16 << 20, Unzipped: 128 << 20, Rows: 100_000, Cell: 2_000, Refusals: 10_000}

// A source gives the records of a table in order and io.EOF at its end.
type source interface{ next() (record, error) }

// A record is one row as it stands in the file.
type record struct {
	row   int // counted from 1, as the person's own program shows it
	cells []cell
}

// A cell is one field. Text is what the person sees there.
type cell struct {
	text    string
	raw     string // to the letter, spaces and all; of a date or another cell that shows its number otherwise: text
	short   bool   // the row ends here, before its last heading
	day     bool   // a real date of the spreadsheet program, text being YYYY-MM-DD
	formula bool   // the text is the last result of a formula, which is never run here
	fault   string // why the cell cannot be taken, a whole sentence; empty if it can
}

func (r record) blank() bool {
	for _, c := range r.cells {
		if c.text != "" || c.fault != "" {
			return false
		}
	}
	return true
}

var (
	zipStart = []byte("PK\x03\x04")
	oleStart = []byte{0xD0, 0xCF, 0x11, 0xE0}
)

// open tells the form of the file by its first bytes: a name can lie. It gives the name of the sheet too, where the form has sheets.
func open(body []byte, kind Kind, limit Limit) (source, string, error) {
	switch {
	case len(bytes.TrimSpace(body)) == 0:
		return nil, "", groundhand.Invalid("file", "The file is empty.")
	case bytes.HasPrefix(body, zipStart):
		return openWorkbook(body, kind, limit)
	case bytes.HasPrefix(body, oleStart):
		return nil, "", groundhand.Invalid("file", "The file is a workbook of the old form, or one with a password. Save it as XLSX without a password, or as CSV.")
	}
	src, err := openText(body)
	return src, "", err
}

func tooLarge(format string, args ...any) error {
	e := groundhand.Invalid("file", format, args...)
	e.Code = groundhand.CodeTooLarge
	return e
}

// ended says whether err only means that the table is at its end.
func ended(err error) bool { return errors.Is(err, io.EOF) }
