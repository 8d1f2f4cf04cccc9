package exchange

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"groundhand/internal/groundhand"
)

func TestWorkbookOfEachKind(t *testing.T) {
	day := time.Date(2024, 4, 3, 0, 0, 0, 0, time.UTC)
	people := readWorkbook(t, People, workbook(t, "staff", [][]any{peopleHeadingCells(), peopleRow}))
	require.Empty(t, people.Refusals)
	assert.Equal(t, "00123", people.People[0].Number, "text keeps its leading zeros")

	crews := readWorkbook(t, Crews, workbook(t, "x", [][]any{{"crew", "number", "part", "reason", "from", "normal size"}, {"V1", 101, "member", "permanent", day, 5}}))
	require.Empty(t, crews.Refusals)
	assert.Equal(t, groundhand.MustDate("2024-04-03"), crews.Crews[0].FromOn, "a date cell is a day")
	assert.Equal(t, "101", crews.Crews[0].Number)
	assert.Equal(t, 5, crews.Crews[0].NormalSize)

	drills := readWorkbook(t, Drills, workbook(t, "x", [][]any{{"date", "number", "method", "role", "complete", "s0", "s3"}, {day, "101", "lone kit", "lone", true, 0, 40}}))
	require.Empty(t, drills.Refusals)
	assert.True(t, drills.Drills[0].Complete, "a true cell is a yes")
	assert.Equal(t, groundhand.StageMarks{{Stage: 0, Seconds: 0}, {Stage: 3, Seconds: 40}}, drills.Drills[0].Marks)

	passes := readWorkbook(t, Assessments, workbook(t, "x", [][]any{{"date", "number", "method", "role", "result", "assessor"}, {"2024-04-03", "101", "pair kit", "second", "pass", "200"}}))
	require.Empty(t, passes.Refusals)
	assert.Equal(t, groundhand.Pass, passes.Assessments[0].Result)
}

func TestSameRowInBothForms(t *testing.T) {
	fromText := readCSV(t, People, peopleHeadings, "00123,Ifeoma Brandt,Halverra Lines,employee,qualified,,Varrow,2023-01-02")
	row := append([]any{}, peopleRow...)
	row[7] = time.Date(2023, 1, 2, 0, 0, 0, 0, time.UTC)
	fromWorkbook := readWorkbook(t, People, workbook(t, "x", [][]any{peopleHeadingCells(), row}))
	require.Len(t, fromWorkbook.People, 1)
	assert.Equal(t, fromText.People[0].Digest, fromWorkbook.People[0].Digest)
}

// TestDateCells checks serial numbers against ECMA-376 part 1, 18.17.4.1: 1900-01-01 is 1 in the one counting, in the other 1904-01-01 is 0;
// its example has 2006-03-21 as 38797 or 37335. 46095 as 2026-03-14 was measured with another program.
func TestDateCells(t *testing.T) {
	cases := []struct {
		name   string
		serial float64
		format string
		in1904 bool
		want   string
	}{
		{"counted from 1900", 38797, "yyyy-mm-dd", false, "2006-03-21"},
		{"counted from 1904", 37335, "yyyy-mm-dd", true, "2006-03-21"},
		{"shown the European way", 46095, "dd.mm.yyyy", false, "2026-03-14"},
		{"shown without a year", 46095, "d mmm", false, "2026-03-14"},
		{"with a language and literals", 46095, `[$-409]d" day of "mmmm\ yyyy;@`, false, "2026-03-14"},
		{"with a time of day", 46095.75, "yyyy-mm-dd hh:mm", false, "2026-03-14"},
		{"shown as a number", 46095, "0.00", false, ""},
		{"shown as a time of day", 0.35, "hh:mm", false, ""},
		{"a format that only quotes a d", 46095, `0" d"`, false, ""},
		{"a format that only colours", 46095, `[Red]0.0`, false, ""},
		{"too early to be sure", 60, "yyyy-mm-dd", false, ""},
		{"before the beginning", -5, "yyyy-mm-dd", false, ""},
		{"far beyond", 9e9, "yyyy-mm-dd", false, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			row := append([]any{}, peopleRow...)
			row[7] = c.serial
			sheet := readWorkbook(t, People, workbook(t, "people", [][]any{peopleHeadingCells(), row}, func(f *excelize.File) {
				require.NoError(t, f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &c.in1904}))
				style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &c.format})
				require.NoError(t, err)
				require.NoError(t, f.SetCellStyle("people", "H2", "H2", style))
			}))
			if c.want == "" {
				require.Len(t, sheet.Refusals, 1)
				assert.Equal(t, "H", sheet.Refusals[0].Letter)
				return
			}
			require.Empty(t, sheet.Refusals)
			assert.Equal(t, c.want, sheet.People[0].FromOn.String())
		})
	}
}

func TestWorkbookCells(t *testing.T) {
	zeros := "00000"
	style := func(f *excelize.File, at string, s excelize.Style) {
		id, err := f.NewStyle(&s)
		require.NoError(t, err)
		require.NoError(t, f.SetCellStyle("people", at, at, id))
	}
	read := func(t *testing.T, change func(f *excelize.File)) Sheet {
		return readWorkbook(t, People, workbook(t, "people", [][]any{peopleHeadingCells(), peopleRow}, change))
	}
	t.Run("a number shown with leading zeros keeps them", func(t *testing.T) {
		sheet := read(t, func(f *excelize.File) {
			require.NoError(t, f.SetCellValue("people", "A2", 123))
			style(f, "A2", excelize.Style{CustomNumFmt: &zeros})
		})
		require.Empty(t, sheet.Refusals)
		assert.Equal(t, "00123", sheet.People[0].Number)
	})
	t.Run("a text that became a date is refused", func(t *testing.T) {
		sheet := read(t, func(f *excelize.File) {
			require.NoError(t, f.SetCellValue("people", "A2", 45385))
			style(f, "A2", excelize.Style{NumFmt: 14})
		})
		require.Len(t, sheet.Refusals, 1)
		assert.Equal(t, "A", sheet.Refusals[0].Letter)
		assert.Contains(t, sheet.Refusals[0].Message, "date")
	})
	t.Run("an ambiguous text in a date column is refused with its own text", func(t *testing.T) {
		sheet := read(t, func(f *excelize.File) { require.NoError(t, f.SetCellValue("people", "H2", "03/04/24")) })
		require.Len(t, sheet.Refusals, 1)
		assert.Equal(t, "03/04/24", sheet.Refusals[0].Cell)
	})
	t.Run("a formula without a result is refused", func(t *testing.T) {
		sheet := read(t, func(f *excelize.File) {
			require.NoError(t, f.SetCellValue("people", "B2", nil))
			require.NoError(t, f.SetCellFormula("people", "B2", `CONCATENATE("A","B")`))
		})
		require.Len(t, sheet.Refusals, 1)
		assert.Equal(t, "B", sheet.Refusals[0].Letter)
		assert.Contains(t, sheet.Refusals[0].Message, "formula")
	})
	t.Run("merged cells are refused in every row they cover", func(t *testing.T) {
		body := workbook(t, "people", [][]any{peopleHeadingCells(), peopleRow, peopleRow, peopleRow}, func(f *excelize.File) {
			require.NoError(t, f.MergeCell("people", "G2", "G3"))
		})
		sheet := readWorkbook(t, People, body)
		require.Len(t, sheet.Refusals, 2)
		assert.Equal(t, []int{2, 3}, []int{sheet.Refusals[0].Row, sheet.Refusals[1].Row})
		assert.Contains(t, sheet.Refusals[0].Message, "G2:G3")
		assert.Len(t, sheet.People, 1)
	})
	t.Run("a merged title above the headings is refused, not guessed over", func(t *testing.T) {
		body := workbook(t, "people", [][]any{{"Our people"}, peopleHeadingCells(), peopleRow}, func(f *excelize.File) {
			require.NoError(t, f.MergeCell("people", "A1", "H1"))
		})
		sheet := readWorkbook(t, People, body)
		assert.NotEmpty(t, sheet.Refusals)
		assert.Contains(t, sheet.Refusals[0].Message, "A1:H1")
		assert.Empty(t, sheet.People)
	})
	t.Run("rows left out and formatted empty cells do not matter", func(t *testing.T) {
		body := workbook(t, "people", [][]any{nil, peopleHeadingCells(), nil, peopleRow}, func(f *excelize.File) {
			style(f, "XFD9", excelize.Style{CustomNumFmt: &zeros})
		})
		sheet := readWorkbook(t, People, body)
		require.Empty(t, sheet.Refusals)
		assert.Equal(t, 4, sheet.People[0].Row)
	})
}

// sheetXML puts a hand-written worksheet into an otherwise honest workbook.
func sheetXML(t testing.TB, data string) []byte {
	head := `<?xml version="1.0" encoding="UTF-8"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">`
	return repacked(t, workbook(t, "people", nil), "xl/worksheets/sheet1.xml", []byte(head+data+`</worksheet>`))
}

func inline(at, text string) string {
	return fmt.Sprintf(`<c r="%s" t="inlineStr"><is><t>%s</t></is></c>`, at, text)
}

func headingXML() string {
	var out strings.Builder
	for i, h := range strings.Split(peopleHeadings, ",") {
		out.WriteString(inline(letter(i)+"1", h))
	}
	return `<row r="1">` + out.String() + `</row>`
}

// Cells that the library does not write: results of formulas, errors, dates as text.
func TestCellsOfOtherPrograms(t *testing.T) {
	row := func(name, from string) []byte {
		return sheetXML(t, "<sheetData>"+headingXML()+`<row r="2">`+inline("A2", "7")+name+inline("C2", "E")+inline("D2", "visitor")+inline("E2", "ground")+inline("G2", "Varrow")+from+"</row></sheetData>")
	}
	good := inline("H2", "2024-04-03")
	t.Run("the last result of a formula is taken", func(t *testing.T) {
		sheet := readWorkbook(t, People, row(`<c r="B2" t="str"><f>C2&amp;D2</f><v>Ana Wolff</v></c>`, good))
		require.Empty(t, sheet.Refusals)
		assert.Equal(t, "Ana Wolff", sheet.People[0].Name)
	})
	t.Run("but not for a day, which may change by itself", func(t *testing.T) {
		sheet := readWorkbook(t, People, row(inline("B2", "Ana"), `<c r="H2" t="str"><f>TEXT(TODAY(),"yyyy-mm-dd")</f><v>2024-04-03</v></c>`))
		require.Len(t, sheet.Refusals, 1)
		assert.Equal(t, "H", sheet.Refusals[0].Letter)
	})
	t.Run("an error is refused", func(t *testing.T) {
		sheet := readWorkbook(t, People, row(`<c r="B2" t="e"><v>#REF!</v></c>`, good))
		require.Len(t, sheet.Refusals, 1)
		assert.Equal(t, "#REF!", sheet.Refusals[0].Cell)
	})
	t.Run("a date stored as text is a day", func(t *testing.T) {
		sheet := readWorkbook(t, People, row(inline("B2", "Ana"), `<c r="H2" t="d"><v>2024-04-03T00:00:00Z</v></c>`))
		require.Empty(t, sheet.Refusals)
		assert.Equal(t, "2024-04-03", sheet.People[0].FromOn.String())
	})
	t.Run("a shared string that is not there is refused", func(t *testing.T) {
		sheet := readWorkbook(t, People, row(`<c r="B2" t="s"><v>999999</v></c>`, good))
		require.Len(t, sheet.Refusals, 1)
		assert.Equal(t, "name", sheet.Refusals[0].Column)
	})
}

func TestSheets(t *testing.T) {
	two := func(names ...string) []byte {
		return workbook(t, names[0], [][]any{peopleHeadingCells(), peopleRow}, func(f *excelize.File) {
			for _, n := range names[1:] {
				_, err := f.NewSheet(n)
				require.NoError(t, err)
			}
		})
	}
	assert.Len(t, readWorkbook(t, People, two("People", "notes")).People, 1, "the one named as the kind")
	assert.Len(t, readWorkbook(t, People, two("whatever")).People, 1, "the only one")
	_, err := Read(bytes.NewReader(two("a", "b")), "f", People, Usual)
	assert.ErrorIs(t, err, groundhand.CodeInvalid)
	_, err = Read(bytes.NewReader(two("people")), "f", Drills, Usual)
	assert.NoError(t, err)
}

func TestHostileWorkbook(t *testing.T) {
	honest := workbook(t, "people", [][]any{peopleHeadingCells(), peopleRow})
	blank := bytes.Repeat([]byte(" "), 200<<20)
	cases := []struct {
		name string
		body []byte
		code groundhand.Code
	}{
		{"a sheet that unpacks to 200 MB", repacked(t, honest, "xl/worksheets/sheet1.xml", blank), groundhand.CodeTooLarge},
		{"a table of texts that unpacks to 17 MB", repacked(t, honest, "xl/sharedStrings.xml", blank[:17<<20]), groundhand.CodeTooLarge},
		{"another part that unpacks to 5 MB", repacked(t, honest, "xl/styles.xml", blank[:5<<20]), groundhand.CodeTooLarge},
		{"content beyond column CV", sheetXML(t, `<sheetData><row r="1">`+inline("XFD1", "x")+`</row></sheetData>`), groundhand.CodeTooLarge},
		{"rows that go back", sheetXML(t, `<sheetData><row r="5">`+inline("A5", "x")+`</row><row r="2">`+inline("A2", "x")+`</row></sheetData>`), groundhand.CodeInvalid},
		{"a row below zero", sheetXML(t, `<sheetData><row r="-5"/></sheetData>`), groundhand.CodeInvalid},
		{"a row beyond all rows", sheetXML(t, `<sheetData><row r="99999999999"/></sheetData>`), groundhand.CodeInvalid},
		{"cells that go back", sheetXML(t, `<sheetData><row r="1">`+inline("C1", "x")+inline("A1", "y")+`</row></sheetData>`), groundhand.CodeInvalid},
		{"a cell of another row", sheetXML(t, `<sheetData><row r="1">`+inline("A9", "x")+`</row></sheetData>`), groundhand.CodeInvalid},
		{"a merged range without a meaning", sheetXML(t, `<sheetData/><mergeCells><mergeCell ref="B"/></mergeCells>`), groundhand.CodeInvalid},
		{"a thousand and one merged ranges", sheetXML(t, `<sheetData/><mergeCells>`+strings.Repeat(`<mergeCell ref="A1:A2"/>`, 1001)+`</mergeCells>`), groundhand.CodeTooLarge},
		{"a sheet that is not well-formed", sheetXML(t, `<sheetData><row>`), groundhand.CodeInvalid},
		{"a sheet without cells", sheetXML(t, `<sheetData/>`), groundhand.CodeInvalid},
		{"no sheet", repacked(t, honest, "xl/_rels/workbook.xml.rels", []byte(`<Relationships/>`)), groundhand.CodeInvalid},
		{"a main part among the worksheets", repacked(t, honest, "_rels/.rels", []byte(`<Relationships><Relationship Id="rId1" Target="/xl/./w&#111;rksheets/sheet1.xml"/></Relationships>`)), groundhand.CodeInvalid},
		{"a workbook that is none", repacked(t, honest, "xl/workbook.xml", []byte(`<workbook`)), groundhand.CodeInvalid},
		{"a file cut in half", honest[:len(honest)/2], groundhand.CodeInvalid},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			require.Less(t, int64(len(c.body)), Usual.Bytes)
			sheet, err := Read(bytes.NewReader(c.body), "f", People, Usual)
			assert.ErrorIs(t, err, c.code)
			assert.Empty(t, sheet.People)
		})
	}
	t.Run("too many rows", func(t *testing.T) {
		limit := Usual
		limit.Rows = 1
		_, err := Read(bytes.NewReader(workbook(t, "x", [][]any{peopleHeadingCells(), peopleRow, peopleRow})), "f", People, limit)
		assert.ErrorIs(t, err, groundhand.CodeTooLarge)
	})
	t.Run("very many empty texts, or styles", func(t *testing.T) {
		limit := Usual
		limit.Rows = 5_000
		for part, tag := range map[string]string{"xl/sharedStrings.xml": "<si/>", "xl/styles.xml": "<xf/>"} {
			_, err := Read(bytes.NewReader(repacked(t, honest, part, []byte(strings.Repeat(tag, 500_000)))), "f", People, limit)
			assert.ErrorIs(t, err, groundhand.CodeTooLarge, part)
		}
	})
	t.Run("one long text shown in very many cells", func(t *testing.T) {
		var rows strings.Builder
		for r := 1; r <= 200; r++ {
			fmt.Fprintf(&rows, `<row r="%d">%s</row>`, r, strings.Repeat(`<c t="s"><v>0</v></c>`, 10))
		}
		body := repacked(t, sheetXML(t, "<sheetData>"+rows.String()+"</sheetData>"), "xl/sharedStrings.xml",
			[]byte(`<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><si><t>`+strings.Repeat("a", 1<<20)+`</t></si></sst>`))
		limit := Usual
		limit.Unzipped = 16 << 20
		sheet, err := Read(bytes.NewReader(body), "f", People, limit)
		assert.True(t, err != nil || len(sheet.Refusals) > 0)
		assert.Empty(t, sheet.People)
	})
}
