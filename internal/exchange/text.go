package exchange

import (
	"bytes"
	"encoding/csv"
	"errors"
	"strings"
	"unicode/utf8"

	"groundhand/internal/groundhand"
)

var (
	utf8Mark    = []byte{0xEF, 0xBB, 0xBF}
	utf16Little = []byte{0xFF, 0xFE}
	utf16Big    = []byte{0xFE, 0xFF}
)

// separators that programs write between the fields of a text file. No heading holds one, so the heading row tells which it is.
const separators = ",;\t"

type textSource struct {
	r     *csv.Reader
	width int // fields of the heading row; 0: not read yet
}

// openText makes ready a CSV file in UTF-8, with or without its mark.
func openText(body []byte) (source, error) {
	if bytes.HasPrefix(body, utf16Little) || bytes.HasPrefix(body, utf16Big) {
		return nil, groundhand.Invalid("file", "The file is written in UTF-16. Save it as CSV in UTF-8.")
	}
	body = bytes.TrimPrefix(body, utf8Mark)
	if err := checkText(body); err != nil {
		return nil, err
	}
	r := csv.NewReader(bytes.NewReader(body))
	r.FieldsPerRecord = -1 // judged here, so that the refusal names row and column
	r.Comma = separator(body)
	return &textSource{r: r}, nil
}

// checkText refuses bytes that are no UTF-8 text, naming the first by line and byte.
func checkText(body []byte) error {
	if i := bytes.IndexByte(body, 0); i >= 0 {
		return groundhand.Invalid("file", "Line %d holds a zero byte: this is no text file, or one in UTF-16. Save it as CSV in UTF-8.", lineOf(body, i))
	}
	if utf8.Valid(body) {
		return nil
	}
	i := 0
	for {
		r, n := utf8.DecodeRune(body[i:])
		if r == utf8.RuneError && n <= 1 {
			break
		}
		i += n
	}
	start := bytes.LastIndexByte(body[:i], '\n') + 1
	return groundhand.Invalid("file", "Line %d is not UTF-8: its byte %d is 0x%02X. Save the file as CSV in UTF-8.", lineOf(body, i), i-start+1, body[i])
}

func lineOf(body []byte, i int) int { return bytes.Count(body[:i], []byte("\n")) + 1 }

func separator(body []byte) rune {
	first, _, _ := bytes.Cut(bytes.TrimLeft(body, "\r\n"), []byte("\n"))
	if i := bytes.IndexAny(first, separators); i >= 0 {
		return rune(first[i])
	}
	return ','
}

func (s *textSource) next() (record, error) {
	fields, err := s.r.Read()
	if ended(err) {
		return record{}, err
	}
	if err != nil {
		return record{}, badQuotes(err)
	}
	for len(fields) > mostColumns && strings.TrimSpace(fields[len(fields)-1]) == "" {
		fields = fields[:len(fields)-1]
	}
	if len(fields) > mostColumns {
		return record{}, tooWide()
	}
	line, _ := s.r.FieldPos(0)
	rec := record{row: line}
	for _, f := range fields {
		rec.cells = append(rec.cells, cell{text: strings.TrimSpace(f), raw: f})
	}
	s.checkWidth(&rec)
	return rec, nil
}

// checkWidth refuses a row with fewer fields than the headings: which of them is missing cannot be known. Rows that are too long are
// refused for the cell that stands under no heading.
func (s *textSource) checkWidth(rec *record) {
	switch n := len(rec.cells); {
	case rec.blank():
	case s.width == 0:
		s.width = n
	case n < s.width:
		rec.cells[n-1].short = true
		rec.cells[n-1].fault = "The row ends here, before the last heading. Fields that are left empty still need their separators."
	}
}

func badQuotes(err error) error {
	var p *csv.ParseError
	if errors.As(err, &p) {
		return groundhand.Invalid("file", "The quotation marks of the field that begins in line %d do not match, seen in line %d. Write a quotation mark inside a field twice.", p.StartLine, p.Line)
	}
	return err
}
