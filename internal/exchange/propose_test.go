package exchange

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"groundhand/internal/groundhand"
)

func opened(t *testing.T, kind Kind, lines ...string) *Table {
	t.Helper()
	table, err := Open(strings.NewReader(strings.Join(lines, "\n")), "file.csv", kind, Usual)
	require.NoError(t, err)
	return table
}

func TestPropose(t *testing.T) {
	p := opened(t, Assessments,
		"Date of Test,Staff #,Employee,Technique,What they did,Controls,Pass/Fail,Signed off by,Remarks,Date,Date",
		"03/04/24,1002,Maren Oduya,pair kit,lead,F1,pass,1005,ok,x,y",
		"2024-04-04,1003,Tomasz Wieland,Pair-Kit,second,F1,Fail,G. Prewitt,,x,y",
		"2024-04-05,1004,Keahi Barrow,lone kit,lone,F1,pass,1005,late,x,y").Propose()
	want := []Guess{
		{"A", "Date of Test", "date", Likely, "among the 3 looked at: 1. Such can be read in two ways"},
		{"B", "Staff #", "number", Certain, "values fit"},
		{"C", "Employee", "name", Certain, "values fit"},
		{"D", "Technique", "method", Certain, "values fit"},
		{"E", "What they did", "role", Likely, "heading is not known"},
		{"F", "Controls", "family", Likely, "could be anything"},
		{"G", "Pass/Fail", "result", Certain, "values fit"},
		{"H", "Signed off by", "assessor", Likely, `"G. Prewitt"`},
		{"I", "Remarks", "", CannotTell, "Neither"},
		{"J", "Date", "", CannotTell, "does not fit"},
		{"K", "Date", "", CannotTell, "does not fit"},
	}
	require.Len(t, p.Guesses, len(want))
	for i, g := range p.Guesses {
		assert.Equal(t, [4]string{want[i].Letter, want[i].Heading, want[i].Column, string(want[i].Sure)}, [4]string{g.Letter, g.Heading, g.Column, string(g.Sure)}, g.Why)
		assert.Contains(t, g.Why, want[i].Why)
	}
	assert.Empty(t, p.Missing)
}

func TestProposeLeavesOut(t *testing.T) {
	cases := []struct {
		name, head, row string
		column          int
		why             string
	}{
		{"two headings alike", "date,number,Machine,Machine,method,role,complete", "2024-04-03,1002,A04,A05,pair kit,lead,yes", 2, "The columns C and D could each be device."},
		{"a tick for yes", "date,number,method,role,Completed", "2024-04-03,1002,pair kit,lead,Y", 4, `does not fit, such as "Y"`},
		{"no heading", "date,number,,method,role,complete", "2024-04-03,1002,text,pair kit,lead,yes", 2, "no heading"},
		{"a name where a number belongs", "date,number,method,role,complete,Observer", "2024-04-03,1002,pair kit,lead,yes,Gideon", 5, "does not fit"},
		{"a heading that may mean two things", "date,number,Worker,method,role,complete", "2024-04-03,1002,,pair kit,lead,yes", 2, "may mean number or name"},
		{"a plainer heading beside it", "date,number,Staff No.,method,role,complete", "2024-04-03,1002,1002,pair kit,lead,yes", 2, "Column B is number more plainly."},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			g := opened(t, Drills, c.head, c.row, c.row, c.row).Propose().Guesses[c.column]
			assert.Empty(t, g.Column)
			assert.Equal(t, CannotTell, g.Sure)
			assert.Contains(t, g.Why, c.why)
		})
	}
	t.Run("what is needed and not found is said", func(t *testing.T) {
		assert.Equal(t, []string{"method", "role", "complete"}, opened(t, Drills, "Day,Staff No", "2024-04-03,1002").Propose().Missing)
	})
	t.Run("merged headings", func(t *testing.T) {
		body := workbook(t, "drills", [][]any{{"Date", "Staff No", nil}, {"2024-04-03", "1002", "x"}},
			func(f *excelize.File) { require.NoError(t, f.MergeCell("drills", "B1", "C1")) })
		table, err := Open(bytes.NewReader(body), "f", Drills, Usual)
		require.NoError(t, err)
		p := table.Propose()
		assert.Equal(t, []string{"date", "", ""}, p.Meanings())
		assert.Contains(t, p.Guesses[1].Why, "merged")
		assert.Contains(t, p.Guesses[2].Why, "merged")
	})
}

// Every word leads somewhere, and a kind's own word is never another word of it.
func TestEverydayWords(t *testing.T) {
	for column, list := range everyday {
		for _, word := range list {
			assert.Equal(t, word, foldEveryday(word), column)
		}
	}
	for _, kind := range Kinds {
		for _, c := range Columns(kind) {
			m := (&Table{Kind: kind}).headingColumns(c.Name)
			assert.Equal(t, headingMatch{[]string{c.Name}, byOwnWord}, m)
		}
	}
}

func TestReadByMapping(t *testing.T) {
	lines := []string{"When, Staff No ,Technique,Part,Finished,Signed", "03/04/24,1002,pair kit,lead,yes,Y", "2024-04-05,1003,pair kit,lead,Y, n "}
	ours := []string{"date", "number", "method", "role", "complete", ""}
	t.Run("a day that can be read in two ways is refused", func(t *testing.T) {
		sheet, err := opened(t, Drills, lines...).Read(ours)
		require.NoError(t, err)
		assert.Empty(t, sheet.Drills)
		require.Len(t, sheet.Refusals, 2)
		assert.Equal(t, []string{"A", "date", "03/04/24"}, []string{sheet.Refusals[0].Letter, sheet.Refusals[0].Column, sheet.Refusals[0].Cell})
		assert.Equal(t, []string{"E", "complete", "Y"}, []string{sheet.Refusals[1].Letter, sheet.Refusals[1].Column, sheet.Refusals[1].Cell})
	})
	t.Run("rows are kept to the letter, left-out columns too", func(t *testing.T) {
		sheet, err := opened(t, Drills, lines...).Read(ours)
		require.NoError(t, err)
		assert.Equal(t, []string{"When", " Staff No ", "Technique", "Part", "Finished", "Signed"}, sheet.Headings)
		assert.Equal(t, []Original{{2, "1002", []string{"03/04/24", "1002", "pair kit", "lead", "yes", "Y"}}, {3, "1003", []string{"2024-04-05", "1003", "pair kit", "lead", "Y", " n "}}}, sheet.Originals)
	})
	days := map[string]string{"date DD/MM/YY": "2024-04-03", "Date mm/dd/yy": "2024-03-04", "date DD.MM.YY": "", "date DD/MM/YYYY": ""}
	for stated, want := range days {
		t.Run("an order that somebody stated: "+stated, func(t *testing.T) {
			sheet, err := opened(t, Drills, lines...).Read(append([]string{stated}, ours[1:]...))
			require.NoError(t, err)
			if want == "" {
				assert.Contains(t, sheet.Refusals[0].Message, "written as")
				return
			}
			require.Len(t, sheet.Drills, 1)
			assert.Equal(t, groundhand.MustDate(want), sheet.Drills[0].On)
		})
	}
	t.Run("the row is the same whatever its headings", func(t *testing.T) {
		mapped, err := opened(t, Drills, lines[0], "2024-04-03,1002,pair kit,lead,yes,Y").Read(ours)
		require.NoError(t, err)
		plain := readCSV(t, Drills, "date,number,method,role,complete", "2024-04-03,1002,pair kit,lead,yes")
		assert.Equal(t, plain.Drills[0].Digest, mapped.Drills[0].Digest)
	})
	t.Run("a mapping that does not fit is refused whole", func(t *testing.T) {
		_, err := opened(t, Drills, lines...).Read([]string{"date", "date", "shoe", "role DD/MM/YY", "", ""})
		var fields []string
		for _, e := range groundhand.Refusals(err) {
			fields = append(fields, e.Field)
		}
		assert.Equal(t, []string{"mapping[1]", "mapping[2]", "mapping[3]"}, fields)
		_, err = opened(t, Drills, lines...).Read([]string{"date"})
		assert.ErrorIs(t, err, groundhand.CodeInvalid)
	})
	t.Run("a needed column that is left out", func(t *testing.T) {
		sheet, err := opened(t, Drills, lines...).Read([]string{"date", "number", "", "", "", ""})
		require.NoError(t, err)
		assert.Len(t, sheet.Refusals, 3)
		assert.Zero(t, sheet.Rows)
	})
	t.Run("a row that ends before a left-out column has slipped", func(t *testing.T) {
		sheet, err := opened(t, Drills, lines[0]+",Unit", "2024-04-03,1002,pair kit,lead,yes,Y").Read(append(slices.Clone(ours), "device"))
		require.NoError(t, err)
		assert.Contains(t, sheet.Refusals[0].Message, "The row ends here")
	})
}

// Merged cells refuse the rows whose columns are read, and do no harm in a column that is left out.
func TestMergedRows(t *testing.T) {
	body := workbook(t, "drills", [][]any{
		{"date", "number", "method", "role", "complete", "remarks", "device"},
		{"2024-04-03", "1002", "pair kit", "lead", "yes", "x", nil},
		{"2024-04-04", "1002", "pair kit", "lead", "yes", "x", nil},
		{"2024-04-05", "1002", "pair kit", "lead", "yes", "x", nil},
	}, func(f *excelize.File) {
		require.NoError(t, f.MergeCell("drills", "F2", "F3"))
		require.NoError(t, f.MergeCell("drills", "F4", "G4"))
	})
	table, err := Open(bytes.NewReader(body), "f", Drills, Usual)
	require.NoError(t, err)
	sheet, err := table.Read([]string{"date", "number", "method", "role", "complete", "", "device"})
	require.NoError(t, err)
	assert.Len(t, sheet.Drills, 2)
	require.Len(t, sheet.Refusals, 1)
	assert.Equal(t, "G", sheet.Refusals[0].Letter, "the second half of a merged range is not simply empty")
}

func TestHostileTables(t *testing.T) {
	t.Run("thousands of columns", func(t *testing.T) {
		_, err := Open(strings.NewReader(strings.Repeat("a,", 3000)+"b"), "f", Drills, Usual)
		assert.ErrorIs(t, err, groundhand.CodeTooLarge)
	})
	t.Run("a huge cell is kept up to the limit", func(t *testing.T) {
		sheet, err := opened(t, Drills, "date,number,method,role,complete,x", "2024-04-03,1002,pair kit,lead,yes,"+strings.Repeat("é", 5000)).
			Read([]string{"date", "number", "method", "role", "complete", ""})
		require.NoError(t, err)
		assert.Len(t, sheet.Drills, 1)
		assert.Equal(t, strings.Repeat("é", 1000)+"…", sheet.Originals[0].Cells[5])
	})
	t.Run("a small workbook of much text", func(t *testing.T) {
		rows := [][]any{{"date", "x"}}
		for range 60 {
			rows = append(rows, []any{"2024-04-03", strings.Repeat("a", 1900)})
		}
		limit := Usual
		limit.Bytes = 20_000
		table, err := Open(bytes.NewReader(workbook(t, "drills", rows)), "f", Drills, limit)
		require.NoError(t, err)
		sheet := Sheet{Kind: Drills}
		h := newHeading()
		h.out[0], h.out[1] = true, true
		assert.ErrorIs(t, sheet.readRows(table, h, limit), groundhand.CodeTooLarge)
	})
	t.Run("formulas in a left-out column", func(t *testing.T) {
		sheet, err := opened(t, Drills, "date,number,method,role,complete,x", "2024-04-03,1002,pair kit,lead,yes,=1+1").
			Read([]string{"date", "number", "method", "role", "complete", ""})
		require.NoError(t, err)
		assert.Len(t, sheet.Drills, 1)
		assert.Equal(t, "=1+1", sheet.Originals[0].Cells[5])
	})
}
