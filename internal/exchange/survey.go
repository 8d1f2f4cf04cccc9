package exchange

import (
	"encoding/xml"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// Bounds of what is kept of a sheet: more than a table of records can have.
const (
	mostMerged  = 1_000
	marksPerRow = 10
)

// A survey is what a worksheet's own XML says of its cells beyond their text. The library gives texts as a stream, and the rest only
// by loading the sheet in a way that lets a small hostile file fill the memory; so this looks for itself, also as a stream.
type survey struct {
	marks  map[place]mark
	lone   map[int]map[int]string // row -> column -> fault of a cell that shows no text
	merged []area
}

// A place is a cell by row and column, both from 1.
type place struct{ row, col int }

// A mark is what is unusual about a cell.
type mark struct {
	day     bool // a number shown as a date
	iso     bool // a date stored as text by the program
	formula bool
	truth   bool // yes or no, stored as 1 or 0
	zeros   int  // a number shown with leading zeros, filled up to so many digits
	fault   string
}

// An area is a merged range.
type area struct {
	ref                      string
	top, bottom, left, right int
}

// A looker reads one worksheet part and refuses what would make the stream of texts and the survey disagree.
type looker struct {
	dec    *xml.Decoder
	styles map[int]mark
	limit  Limit
	survey survey
	at     place
	filled int // rows with content
	inRow  bool
}

func look(r io.Reader, styles map[int]mark, limit Limit) (survey, error) {
	l := &looker{dec: xml.NewDecoder(r), styles: styles, limit: limit}
	l.survey = survey{marks: map[place]mark{}, lone: map[int]map[int]string{}}
	for {
		token, err := l.dec.Token()
		if ended(err) {
			return l.survey, nil
		}
		if err != nil {
			return survey{}, unreadable()
		}
		if start, ok := token.(xml.StartElement); ok {
			if err := l.element(start); err != nil {
				return survey{}, err
			}
		}
	}
}

func (l *looker) element(start xml.StartElement) error {
	switch start.Name.Local {
	case "row":
		return l.row(start)
	case "c":
		return l.cell(start)
	case "mergeCell":
		return l.merge(attribute(start, "ref"))
	}
	return nil
}

// row goes to the next row; rows must ascend, as every program writes them.
func (l *looker) row(start xml.StartElement) error {
	next := l.at.row + 1
	if r := attribute(start, "r"); r != "" {
		n, err := strconv.Atoi(r)
		if err != nil || n < next || n > excelize.TotalRows {
			return unreadable()
		}
		next = n
	}
	l.at, l.inRow = place{next, 0}, false
	return nil
}

// cell goes to the next cell of the row and notes what is unusual about it.
func (l *looker) cell(start xml.StartElement) error {
	next := l.at.col + 1
	if ref := attribute(start, "r"); ref != "" {
		col, row, err := excelize.CellNameToCoordinates(ref)
		if err != nil || row != l.at.row || col < next {
			return unreadable()
		}
		next = col
	}
	l.at.col = next
	var body struct {
		F  *struct{} `xml:"f"`
		V  string    `xml:"v"`
		IS *struct{} `xml:"is"`
	}
	if err := l.dec.DecodeElement(&body, &start); err != nil {
		return unreadable()
	}
	if body.F == nil && body.V == "" && body.IS == nil {
		return nil
	}
	return l.note(attribute(start, "t"), attribute(start, "s"), body.F != nil, body.V)
}

func (l *looker) note(form, style string, formula bool, value string) error {
	if err := l.count(); err != nil {
		return err
	}
	var m mark
	if n, err := strconv.Atoi(style); (form == "" || form == "n") && err == nil {
		m = l.styles[n]
	}
	m.formula, m.iso, m.truth = formula, form == "d", form == "b"
	switch {
	case formula && value == "":
		m.fault = "The cell holds a formula without a result. Formulas are not run; write the value."
		l.noteLone(m.fault)
	case form == "e":
		m.fault = "The cell shows an error of the spreadsheet program. Write the value."
	}
	if m == (mark{}) {
		return nil
	}
	l.survey.marks[l.at] = m
	if len(l.survey.marks) > marksPerRow*(l.limit.Rows+1) {
		return tooLarge("The sheet has more dates and formulas than a table of %d rows can have. Save the sheet as CSV.", l.limit.Rows)
	}
	return nil
}

func (l *looker) noteLone(fault string) {
	if l.survey.lone[l.at.row] == nil {
		l.survey.lone[l.at.row] = map[int]string{}
	}
	l.survey.lone[l.at.row][l.at.col] = fault
}

// count bounds the rows and columns with content; formatted cells without content do not count.
func (l *looker) count() error {
	if l.at.col > mostColumns {
		return tooWide()
	}
	if !l.inRow {
		l.inRow = true
		l.filled++
	}
	if l.filled > l.limit.Rows+1 {
		return tooLarge("The table has more than %d rows. Split it.", l.limit.Rows)
	}
	return nil
}

func (l *looker) merge(ref string) error {
	first, last, _ := strings.Cut(ref, ":")
	left, top, err := excelize.CellNameToCoordinates(first)
	if err != nil {
		return unreadable()
	}
	right, bottom, err := excelize.CellNameToCoordinates(last)
	if err != nil || right < left || bottom < top {
		return unreadable()
	}
	if left > mostColumns {
		return nil
	}
	l.survey.merged = append(l.survey.merged, area{ref, top, bottom, left, min(right, mostColumns)})
	if len(l.survey.merged) > mostMerged {
		return tooLarge("The sheet has more than %d merged ranges. Undo the merging and write the value in every cell.", mostMerged)
	}
	return nil
}

func attribute(e xml.StartElement, name string) string {
	i := slices.IndexFunc(e.Attr, func(a xml.Attr) bool { return a.Name.Local == name && a.Name.Space == "" })
	if i < 0 {
		return ""
	}
	return e.Attr[i].Value
}

// dateStyles lists the cell styles that show a number as a date or with leading zeros.
func dateStyles(f *excelize.File) map[int]mark {
	out := map[int]mark{}
	if f.Styles == nil || f.Styles.CellXfs == nil {
		return out
	}
	codes := formatCodes(f)
	for i, xf := range f.Styles.CellXfs.Xf {
		if xf.NumFmtID == nil {
			continue
		}
		id := *xf.NumFmtID
		m := formatMark(codes[id])
		m.day = m.day || builtInDay(id)
		if m != (mark{}) {
			out[i] = m
		}
	}
	return out
}

func formatCodes(f *excelize.File) map[int]string {
	out := map[int]string{}
	if f.Styles.NumFmts == nil {
		return out
	}
	for _, n := range f.Styles.NumFmts.NumFmt {
		if n != nil {
			out[n.NumFmtID] = n.FormatCode
		}
	}
	return out
}

// builtInDay names the formats without a code of their own that show a day (ECMA-376 part 1, 18.8.30: 14 to 17 and 22, and those of
// East Asian languages). Times of day alone are no days.
func builtInDay(id int) bool {
	return id >= 14 && id <= 17 || id == 22 || id >= 27 && id <= 31 || id == 36 || id >= 50 && id <= 54 || id >= 57 && id <= 58
}

// formatMark reads a format code of the workbook's own: whether it shows a day, and how many digits it fills up.
func formatMark(code string) mark {
	if code != "" && strings.Trim(code, "0") == "" {
		return mark{zeros: len(code)}
	}
	positive, _, _ := strings.Cut(code, ";")
	return mark{day: strings.ContainsAny(strings.ToLower(withoutLiterals(positive)), "yd")}
}

// withoutLiterals drops quoted text, escaped characters and what stands in brackets: colours, currencies, languages.
func withoutLiterals(code string) string {
	var out strings.Builder
	for i := 0; i < len(code); i++ {
		switch code[i] {
		case '\\', '_', '*':
			i++
		case '"':
			i = skipTo(code, i, '"')
		case '[':
			i = skipTo(code, i, ']')
		default:
			out.WriteByte(code[i])
		}
	}
	return out.String()
}

func skipTo(code string, i int, end byte) int {
	n := strings.IndexByte(code[i+1:], end)
	if n < 0 {
		return len(code)
	}
	return i + 1 + n
}
