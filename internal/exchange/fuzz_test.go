package exchange

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// small bounds what a fuzzing run spends on one input.
var small = Limit{Bytes: 1 << 18, Unzipped: 1 << 20, Rows: 500, Cell: 200, Refusals: 1_000}

// holds checks what is true of whatever was read: an error has a code, every refusal a row and a sentence, and no row is both taken and refused.
func holds(t *testing.T, body []byte, kind Kind) {
	sheet, err := Read(bytes.NewReader(body), "f", kind, small)
	if err != nil {
		require.NotEmpty(t, groundhand.Refusals(err), "%v", err)
		return
	}
	holdsMapped(t, body, kind)
	refused := map[int]bool{}
	for _, r := range sheet.Refusals {
		refused[r.Row] = true
		assert.Positive(t, r.Row)
		assert.NotEmpty(t, r.Message)
	}
	last := 0
	for _, l := range sheet.Lines() {
		assert.False(t, refused[l.Row], "row %d", l.Row)
		assert.Greater(t, l.Row, last)
		assert.Less(t, l.SameAs, l.Row)
		last = l.Row
	}
}

// holdsMapped checks what is true of every proposal: it fits its own headings, and every row read by it is kept once and in order.
func holdsMapped(t *testing.T, body []byte, kind Kind) {
	table, err := Open(bytes.NewReader(body), "f", kind, small)
	require.NoError(t, err)
	p := table.Propose()
	require.NoError(t, CheckMeanings(kind, p.Headings, p.Meanings()))
	for _, g := range p.Guesses {
		assert.Equal(t, g.Column == "", g.Sure == CannotTell)
		assert.NotEmpty(t, g.Why)
	}
	sheet, err := table.Read(p.Meanings())
	if err != nil {
		require.NotEmpty(t, groundhand.Refusals(err), "%v", err)
		return
	}
	last := 0
	assert.Len(t, sheet.Originals, sheet.Rows)
	for _, o := range sheet.Originals {
		assert.Greater(t, o.Row, last)
		last = o.Row
	}
}

func FuzzCSV(f *testing.F) {
	for i, kind := range Kinds {
		f.Add(strings.Join(names(kind), ",")+"\n1,2,3\n", i)
	}
	f.Add(peopleHeadings+"\n00123,A,B,employee,ground,,Varrow,2023-01-02\n00123,A,B,employee,ground,,Varrow,03/04/24\n", 0)
	f.Add("\xEF\xBB\xBFdate;number;method;role;complete;s0;s1\n2023-01-02;1;pair kit;lead;yes;0;9\n", 2)
	f.Add("\"a\nb\",\"c", 1)
	f.Add("Date of drill,Staff #,Technique,Part,Finished,Signed\n03/04/24,1002,pair kit,lead,yes,Y\n", 2)
	f.Fuzz(func(t *testing.T, body string, kind int) {
		holds(t, []byte(body), Kinds[uint(kind)%uint(len(Kinds))])
	})
}

// FuzzSheet puts anything into the worksheet, the styles and the texts of an otherwise honest workbook, where flipped bits of a zip would not get.
func FuzzSheet(f *testing.F) {
	base := workbook(f, "people", [][]any{peopleHeadingCells(), peopleRow})
	f.Add([]byte("<worksheet><sheetData>"+headingXML()+`<row r="2">`+inline("A2", "7")+`<c r="B2" s="1"><f>1</f><v>45385</v></c></row></sheetData><mergeCells><mergeCell ref="A2:B3"/></mergeCells></worksheet>`), 0)
	f.Add([]byte(`<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><numFmts><numFmt numFmtId="170" formatCode="[$-409]d&quot;"/></numFmts><cellXfs><xf numFmtId="170"/><xf/></cellXfs></styleSheet>`), 1)
	f.Add([]byte(`<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><si><t>number</t></si><si><r><t>x</t></r></si></sst>`), 2)
	f.Add([]byte(`<workbook><workbookPr date1904="1"/><sheets><sheet name="people" id="rId1"/></sheets></workbook>`), 3)
	parts := []string{"xl/worksheets/sheet1.xml", "xl/styles.xml", "xl/sharedStrings.xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels"}
	f.Fuzz(func(t *testing.T, part []byte, which int) {
		holds(t, repacked(t, base, parts[uint(which)%uint(len(parts))], part), People)
	})
}

func FuzzWorkbook(f *testing.F) {
	f.Add(workbook(f, "people", [][]any{peopleHeadingCells(), peopleRow}))
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, body []byte) { holds(t, body, People) })
}
