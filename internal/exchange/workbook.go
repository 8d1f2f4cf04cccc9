package exchange

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"path"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"groundhand/internal/groundhand"
)

const (
	mostParts    = 1_000 // files within a workbook
	mostColumns  = 100   // columns with content
	relationPart = "xl/_rels/workbook.xml.rels"

	// Parts other than worksheets are read whole into structures many times their size.
	mostStrings  = 16 << 20 // bytes of the table of texts
	mostSidePart = 4 << 20  // bytes of any other part
	tagsPerRow   = 40       // tags in all these parts together: texts of their own for ten cells a row,
	tagsBeside   = 200_000  // and styles, themes and the rest
)

// workbookSource walks over one worksheet: the texts come from excelize, what they are from the survey made before.
type workbookSource struct {
	file   *excelize.File
	rows   *excelize.Rows
	survey survey
	row    int
	text   int64 // bytes of cell text read so far
	limit  Limit
	first  groundhand.Date // day of serial number 0
}

// openWorkbook makes ready an XLSX file. Nothing of it is evaluated.
func openWorkbook(body []byte, kind Kind, limit Limit) (src source, name string, err error) {
	defer notReadable(&err)
	if err := checkParts(body, limit); err != nil {
		return nil, "", err
	}
	// Both limits alike: everything stays in memory and no temporary file is left behind.
	f, err := excelize.OpenReader(bytes.NewReader(body), excelize.Options{RawCellValue: true, UnzipSizeLimit: limit.Unzipped, UnzipXMLSizeLimit: limit.Unzipped})
	if err != nil {
		return nil, "", unreadable()
	}
	name, err = chooseSheet(f.GetSheetList(), kind)
	if err != nil {
		return nil, "", err
	}
	part, err := sheetPart(f, name)
	if err != nil {
		return nil, "", err
	}
	found, err := look(bytes.NewReader(part), dateStyles(f), limit)
	if err != nil {
		return nil, "", err
	}
	rows, err := f.Rows(name)
	if err != nil {
		return nil, "", unreadable()
	}
	return &workbookSource{file: f, rows: rows, survey: found, limit: limit, first: epoch(f)}, name, nil
}

// notReadable turns a panic over a malformed workbook into a refusal: the library was written for honest files.
func notReadable(err *error) {
	if recover() != nil {
		*err = unreadable()
	}
}

func unreadable() error {
	return groundhand.Invalid("file", "The workbook cannot be read. Open it, save it anew as XLSX, or save the sheet as CSV.")
}

// checkParts looks at the sizes before anything is unpacked. The zip reader stops at the size declared, so a lie about it is no way round.
func checkParts(body []byte, limit Limit) error {
	z, err := zip.NewReader(bytes.NewReader(body), int64(len(body)))
	if err != nil {
		return unreadable()
	}
	left, tags := uint64(max(limit.Unzipped, 0)), tagsPerRow*limit.Rows+tagsBeside
	for _, part := range z.File {
		size := part.UncompressedSize64
		if size <= left && size <= mostOf(part.Name, left) && !streamed(part.Name) {
			tags -= countTags(part)
		}
		if size > left || size > mostOf(part.Name, left) || tags < 0 || len(z.File) > mostParts {
			return tooLarge("The workbook unpacks to more than is read in one go. Save the sheet as CSV.")
		}
		if part.Name == "_rels/.rels" && !mainPartBeside(part) {
			return unreadable()
		}
		left -= size
	}
	return nil
}

// mainPartBeside refuses a workbook whose main part hides among the worksheets, which may be far larger than it.
func mainPartBeside(part *zip.File) bool {
	r, err := part.Open()
	if err != nil {
		return false
	}
	defer r.Close()
	var found relations
	if err := xml.NewDecoder(r).Decode(&found); err != nil {
		return false
	}
	for _, relation := range found.Relationship {
		if streamed(strings.TrimPrefix(path.Clean("/"+relation.Target), "/")) {
			return false
		}
	}
	return true
}

// relations are a part that says where other parts are.
type relations struct {
	Relationship []struct {
		ID     string `xml:"Id,attr"`
		Target string `xml:"Target,attr"`
	}
}

// streamed says whether a part is never read into structures: worksheets go by row by row, pictures are not looked into.
func streamed(part string) bool {
	name := strings.ToLower(part)
	return strings.HasPrefix(name, "xl/worksheets/") || strings.HasPrefix(name, "xl/media/")
}

// countTags counts what becomes structures: five bytes of XML can become a hundred in memory. A part that cannot be unpacked counts as
// far as it goes.
func countTags(part *zip.File) int {
	r, err := part.Open()
	if err != nil {
		return 0
	}
	defer r.Close()
	n, buf := 0, make([]byte, 32<<10)
	for {
		read, err := r.Read(buf)
		n += bytes.Count(buf[:read], []byte("<"))
		if err != nil {
			return n
		}
	}
}

// mostOf is how many bytes a part may unpack to.
func mostOf(part string, left uint64) uint64 {
	switch {
	case streamed(part):
		return left
	case strings.EqualFold(part, "xl/sharedStrings.xml"):
		return mostStrings
	}
	return mostSidePart
}

// chooseSheet takes the sheet named as the kind, else the only one.
func chooseSheet(sheets []string, kind Kind) (string, error) {
	var named []string
	for _, s := range sheets {
		if fold(s) == fold(string(kind)) {
			named = append(named, s)
		}
	}
	switch {
	case len(named) == 1:
		return named[0], nil
	case len(named) == 0 && len(sheets) == 1:
		return sheets[0], nil
	case len(sheets) == 0:
		return "", unreadable()
	}
	return "", groundhand.Invalid("file", "The workbook has %d sheets. Name the one to be read %q, and only that one.", len(sheets), kind)
}

// sheetPart gives the bytes of a worksheet, found over the relations of the workbook.
func sheetPart(f *excelize.File, name string) ([]byte, error) {
	var found relations
	if err := xml.Unmarshal(bytesOf(f, relationPart), &found); err != nil {
		return nil, unreadable()
	}
	for _, sheet := range f.WorkBook.Sheets.Sheet {
		for _, r := range found.Relationship {
			if sheet.Name == name && r.ID == sheet.ID {
				if part := bytesOf(f, partName(r.Target)); part != nil {
					return part, nil
				}
			}
		}
	}
	return nil, unreadable()
}

func partName(target string) string {
	if strings.HasPrefix(target, "/") {
		return strings.TrimPrefix(path.Clean(target), "/")
	}
	return path.Join("xl", target)
}

func bytesOf(f *excelize.File, part string) []byte {
	v, _ := f.Pkg.Load(part)
	b, _ := v.([]byte)
	return b
}

// epoch is the day of serial number 0. Workbooks count from the last day of 1899, some from the first of 1904.
func epoch(f *excelize.File) groundhand.Date {
	if p, err := f.GetWorkbookProps(); err == nil && p.Date1904 != nil && *p.Date1904 {
		return groundhand.NewDate(1904, time.January, 1)
	}
	return groundhand.NewDate(1899, time.December, 30)
}

func (s *workbookSource) next() (rec record, err error) {
	defer notReadable(&err)
	if !s.rows.Next() {
		if s.rows.Error() != nil {
			return record{}, unreadable()
		}
		_ = s.file.Close()
		return record{}, io.EOF
	}
	s.row++
	texts, err := s.rows.Columns()
	if err != nil {
		return record{}, unreadable()
	}
	if len(texts) > mostColumns {
		return record{}, tooWide()
	}
	rec.row = s.row
	for col, text := range texts {
		if s.text += int64(len(text)); s.text > s.limit.Unzipped {
			return record{}, tooLarge("The sheet holds more than %d bytes of text. Split it.", s.limit.Unzipped)
		}
		rec.cells = append(rec.cells, s.cell(place{s.row, col + 1}, text))
	}
	s.addFaults(&rec)
	return rec, nil
}

// cell joins a raw text with what the survey found at its place.
func (s *workbookSource) cell(at place, raw string) cell {
	m := s.survey.marks[at]
	c := cell{text: strings.TrimSpace(raw), formula: m.formula}
	switch {
	case m.iso:
		c.text, c.day = isoDay(c.text), true
	case m.day && c.text != "":
		c.text, c.day = s.serialDay(c.text)
	case m.truth:
		c.text = map[string]string{"1": "TRUE", "0": "FALSE"}[c.text]
	case m.zeros > len(c.text) && whole(c.text):
		c.text = strings.Repeat("0", m.zeros-len(c.text)) + c.text
	}
	c.raw = c.text
	if c.text == strings.TrimSpace(raw) {
		c.raw = raw
	}
	return c
}

// addFaults marks the cells that cannot be taken. A row without any text stays blank, whatever is merged there.
func (s *workbookSource) addFaults(rec *record) {
	for col := range rec.cells {
		if m := s.survey.marks[place{rec.row, col + 1}]; m.fault != "" {
			rec.cells[col].fault = m.fault
		}
	}
	for col, why := range s.survey.lone[rec.row] {
		rec.reach(col).fault = why
	}
	if rec.blank() {
		return
	}
	for _, m := range s.survey.merged {
		if m.top <= rec.row && rec.row <= m.bottom {
			rec.addMerged(m)
		}
	}
}

// addMerged marks every cell of a merged range: only its first holds the text, and whether that holds for the others cannot be known.
func (r *record) addMerged(m area) {
	for col := m.left; col <= m.right; col++ {
		if c := r.reach(col); c.fault == "" {
			c.fault = fmt.Sprintf("The cells %s are merged. Undo the merging and write the value in every cell.", m.ref)
		}
	}
}

// reach gives the cell in a column counted from 1, lengthening the row when it ends before.
func (r *record) reach(col int) *cell {
	for len(r.cells) < col {
		r.cells = append(r.cells, cell{})
	}
	return &r.cells[col-1]
}

// lastSerial is beyond the year 2199 in both countings; firstSerial leaves out the days before March 1900, which programs count differently.
const (
	firstSerial = 61
	lastSerial  = 110_000
)

// serialDay reads the number behind a date cell; the time of day after the point is left out. A number that is no day stays as it is.
func (s *workbookSource) serialDay(raw string) (string, bool) {
	n, err := strconv.ParseFloat(raw, 64)
	if err != nil || !(n >= firstSerial && n < lastSerial) {
		return raw, false
	}
	return s.first.AddDays(int(n)).String(), true
}

func isoDay(raw string) string {
	day, _, _ := strings.Cut(raw, "T")
	return day
}

func whole(s string) bool {
	return s != "" && strings.Trim(s, "0123456789") == ""
}

func tooWide() error {
	return tooLarge("The sheet has content beyond column %s. Is this the right sheet?", letter(mostColumns-1))
}
