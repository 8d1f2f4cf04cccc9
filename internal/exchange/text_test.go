package exchange

import (
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

func TestReadPeople(t *testing.T) {
	sheet := readCSV(t, People, "\uFEFF"+peopleHeadings,
		"00123,Ifeoma Brandt,Halverra Lines,Resident contractor,apprentice,3,Varrow,2023-01-02")
	require.Empty(t, sheet.Refusals)
	require.Len(t, sheet.People, 1)
	p := sheet.People[0]
	assert.Equal(t, "00123", p.Number)
	assert.Equal(t, "Ifeoma Brandt", p.Name)
	assert.Equal(t, groundhand.ResidentContractor, p.Relation)
	assert.Equal(t, groundhand.Apprentice, p.Grade)
	assert.Equal(t, 3, p.Year)
	assert.Equal(t, groundhand.YardID("Varrow"), p.Yard)
	assert.Equal(t, groundhand.MustDate("2023-01-02"), p.FromOn)
	assert.Equal(t, 2, p.Row)
}

func TestReadCrews(t *testing.T) {
	sheet := readCSV(t, Crews, "crew;yard;kind;Normal_Size;number;part;reason;from;to",
		"V1;Varrow;line;5;101;foreman;permanent;2023-01-02;", "V1;;;;102;member;loan;2023-01-02;2023-02-01")
	require.Empty(t, sheet.Refusals)
	require.Len(t, sheet.Crews, 2)
	assert.Equal(t, groundhand.LineCrew, sheet.Crews[0].Kind)
	assert.Equal(t, 5, sheet.Crews[0].NormalSize)
	assert.True(t, sheet.Crews[0].ToOn.IsZero())
	assert.Equal(t, groundhand.Loan, sheet.Crews[1].Reason)
	assert.Equal(t, groundhand.MustDate("2023-02-01"), sheet.Crews[1].ToOn)
}

func TestReadDrills(t *testing.T) {
	sheet := readCSV(t, Drills, "date,number,method,role,family,device,run,complete,watched by,s0,s1,s5,s10",
		"2023-06-01,101,pair-kit,Lead,F1,A04,r1,yes,200,0,12,95,400")
	require.Empty(t, sheet.Refusals)
	require.Len(t, sheet.Drills, 1)
	d := sheet.Drills[0]
	assert.Equal(t, groundhand.PairKit, d.Method)
	assert.True(t, d.Complete)
	assert.Equal(t, "200", d.WatchedBy)
	assert.Equal(t, groundhand.StageMarks{{Stage: 0, Seconds: 0}, {Stage: 1, Seconds: 12}, {Stage: 5, Seconds: 95}, {Stage: 10, Seconds: 400}}, d.Marks)
}

func TestReadAssessments(t *testing.T) {
	sheet := readCSV(t, Assessments, "date,number,method,role,family,result,assessor,failed step",
		"2023-06-01,101,LONE KIT,lone,F1,fail,200,hazard check")
	require.Empty(t, sheet.Refusals)
	require.Len(t, sheet.Assessments, 1)
	assert.Equal(t, groundhand.Fail, sheet.Assessments[0].Result)
	assert.Equal(t, "hazard check", sheet.Assessments[0].FailedStep)
}

func TestDays(t *testing.T) {
	for _, text := range []string{"03/04/24", "3.4.2024", "Apr 3", "Y", "25/12/2024", "2024-4-3", "20240403", "45385", "2024-02-30", "0024-04-03", "yesterday"} {
		t.Run("refuse "+text, func(t *testing.T) {
			sheet := readCSV(t, People, peopleHeadings, "1,A B,C,employee,ground,,Varrow,"+text)
			require.Len(t, sheet.Refusals, 1)
			r := sheet.Refusals[0]
			assert.Equal(t, Refusal{2, "from", "H", text, groundhand.CodeInvalid, r.Message}, r)
			assert.Contains(t, r.Message, "2024-04-03", "it says how to write a day")
			assert.Empty(t, sheet.People)
		})
	}
}

func TestCells(t *testing.T) {
	cases := []struct{ name, kind, row, column string }{
		{"an empty cell that is needed", "people", "1,,C,employee,ground,,Varrow,2023-01-02", "name"},
		{"a word that is not of the trade", "people", "1,A,C,friend,ground,,Varrow,2023-01-02", "relation"},
		{"a year beyond the sixth", "people", "1,A,C,employee,apprentice,7,Varrow,2023-01-02", "year"},
		{"a formula", "people", `1,=1+1,C,employee,ground,,Varrow,2023-01-02`, "name"},
		{"a text that turns the direction of writing", "people", "1,A\u202eB,C,employee,ground,,Varrow,2023-01-02", "name"},
		{"a line break", "people", "1,\"A\nB\",C,employee,ground,,Varrow,2023-01-02", "name"},
		{"a cell too long", "people", "1," + strings.Repeat("a", Usual.Cell+1) + ",C,employee,ground,,Varrow,2023-01-02", "name"},
		{"a row that ends early", "people", "1,A,C,employee,ground,,Varrow", "yard"},
		{"a row that runs on", "people", "1,A,C,employee,ground,,Varrow,2023-01-02,x", ""},
		{"Y for yes", "drills", "2023-01-02,1,pair kit,lead,Y,,", "complete"},
		{"a mark that is earlier than the one before", "drills", "2023-01-02,1,pair kit,lead,yes,30,20", "s1"},
		{"a mark that is no number", "drills", "2023-01-02,1,pair kit,lead,yes,1:30,", "s0"},
		{"a last day before the first", "crews", "V1,1,member,loan,2023-01-02,2023-01-01", "to"},
	}
	headings := map[string]string{"people": peopleHeadings, "drills": "date,number,method,role,complete,s0,s1", "crews": "crew,number,part,reason,from,to"}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			sheet := readCSV(t, Kind(c.kind), headings[c.kind], c.row)
			require.NotEmpty(t, sheet.Refusals)
			r := sheet.Refusals[0]
			assert.Equal(t, c.column, r.Column)
			assert.Equal(t, 2, r.Row)
			assert.NotEmpty(t, r.Letter)
			assert.LessOrEqual(t, len(r.Cell), shownText+len("…"))
			assert.Zero(t, len(sheet.People)+len(sheet.Drills)+len(sheet.Crews), "the row is not taken")
		})
	}
}

func TestAllRefusalsAtOnce(t *testing.T) {
	sheet := readCSV(t, People, peopleHeadings, "1,A,C,friend,none,,,03/04/24", "", "2,B,C,employee,ground,,Varrow,2023-01-02", "3,,C,employee,ground,,Varrow,2023-01-02")
	var at []string
	for _, r := range sheet.Refusals {
		at = append(at, fmt.Sprintf("%s%d", r.Letter, r.Row))
	}
	assert.Equal(t, []string{"D2", "E2", "G2", "H2", "B5"}, at, "rows are counted as the file shows them, empty lines too")
	require.Len(t, sheet.People, 1)
	assert.Equal(t, 3, sheet.Rows)
}

func TestHeadings(t *testing.T) {
	t.Run("their order and writing is free", func(t *testing.T) {
		sheet := readCSV(t, People, " FROM ,Yard,grade,RELATION,Employer,Name,number", "2023-01-02,Varrow,ground,visitor,E,N,7")
		require.Empty(t, sheet.Refusals)
		assert.Equal(t, "7", sheet.People[0].Number)
	})
	t.Run("unknown, doubled and missing ones are named together and no row is read", func(t *testing.T) {
		sheet := readCSV(t, People, "number,name,employer,relation,grade,shoe size,Name,yard", "1,A,C,employee,ground,44,A,Varrow")
		require.Len(t, sheet.Refusals, 3)
		assert.Equal(t, []string{"shoe size", "Name", "from"}, []string{sheet.Refusals[0].Column, sheet.Refusals[1].Column, sheet.Refusals[2].Column})
		assert.Equal(t, []string{"F", "G", ""}, []string{sheet.Refusals[0].Letter, sheet.Refusals[1].Letter, sheet.Refusals[2].Letter})
		assert.Empty(t, sheet.People)
	})
	t.Run("every column of the table is read", func(t *testing.T) {
		for _, kind := range Kinds {
			sheet := readCSV(t, kind, strings.Join(names(kind), ","))
			assert.Empty(t, sheet.Refusals, kind)
		}
	})
}

func TestDigest(t *testing.T) {
	one := readCSV(t, People, peopleHeadings, "1,Ana  Lúcia,C,employee,ground,,Varrow,2023-01-02", "1,Ana Lu\u0301cia,C,EMPLOYEE,ground,,Varrow,2023-01-02", "2,B,C,employee,ground,,Varrow,2023-01-02")
	other := readCSV(t, People, "from;yard;grade;relation;employer;name;number", "2023-01-02;Varrow;ground;employee;C;Ana Lúcia;1")
	require.Len(t, one.People, 3)
	assert.Equal(t, one.People[0].Digest, other.People[0].Digest, "neither order of columns nor separator matters")
	assert.Equal(t, 2, one.People[1].SameAs, "spaces, capitals and the two writings of an accent make no difference")
	assert.Zero(t, one.People[0].SameAs)
	assert.Zero(t, one.People[2].SameAs)
	assert.NotEqual(t, one.People[0].Digest, one.People[2].Digest)
}

func TestHostileText(t *testing.T) {
	cases := []struct{ name, body, says string }{
		{"an empty file", " \n\n", "empty"},
		{"only the mark of UTF-8", "\uFEFF", "empty"},
		{"a zero byte", "number\n\x00", "Line 2"},
		{"UTF-16, little end first", "\xff\xfen\x00u\x00", "UTF-16"},
		{"UTF-16, big end first", "\xfe\xff\x00n", "UTF-16"},
		{"UTF-16 without its mark", "n\x00u\x00", "UTF-16"},
		{"another encoding", "number,name\n1,L\xfacia\n", "Line 2 is not UTF-8: its byte 4 is 0xFA"},
		{"a quotation mark left open", peopleHeadings + "\n1,\"A\n2,B\n", "line 2"},
		{"an old workbook", "\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", "XLSX"},
		{"a zip that is none", "PK\x03\x04rubbish", "cannot be read"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			e := refusedCSV(t, c.body)
			assert.Equal(t, groundhand.CodeInvalid, e.Code)
			assert.Contains(t, e.Message, c.says)
		})
	}
}

// endless gives zeros for ever and counts them.
type endless struct{ given int64 }

func (e *endless) Read(p []byte) (int, error) {
	e.given += int64(len(p))
	return len(p), nil
}

func TestLimits(t *testing.T) {
	t.Run("a file without end is cut off", func(t *testing.T) {
		r := &endless{}
		_, err := Read(r, "big.csv", People, Usual)
		assert.ErrorIs(t, err, groundhand.CodeTooLarge)
		assert.LessOrEqual(t, r.given, 2*Usual.Bytes)
	})
	t.Run("too many rows", func(t *testing.T) {
		limit := Usual
		limit.Rows = 2
		body := peopleHeadings + strings.Repeat("\n1,A,C,employee,ground,,Varrow,2023-01-02", 3)
		_, err := Read(strings.NewReader(body), "f", People, limit)
		assert.ErrorIs(t, err, groundhand.CodeTooLarge)
	})
	t.Run("a hundred thousand rows are read, one more is not", func(t *testing.T) {
		body := "crew,number,part,reason,from" + strings.Repeat("\nV1,1,member,loan,2023-01-02", 100_000)
		sheet, err := Read(strings.NewReader(body), "f", Crews, Usual)
		require.NoError(t, err)
		assert.Len(t, sheet.Crews, 100_000)
		_, err = Read(strings.NewReader(body+"\nV1,1,member,loan,2023-01-02"), "f", Crews, Usual)
		assert.ErrorIs(t, err, groundhand.CodeTooLarge)
	})
	t.Run("too many refusals", func(t *testing.T) {
		limit := Usual
		limit.Refusals = 5
		body := peopleHeadings + strings.Repeat("\n,,,,,,,", 3) + strings.Repeat("\nx,,,,,,,", 3)
		_, err := Read(strings.NewReader(body), "f", People, limit)
		assert.ErrorIs(t, err, groundhand.CodeTooLarge)
	})
	t.Run("a reader that fails is an error without a code", func(t *testing.T) {
		_, err := Read(io.MultiReader(strings.NewReader("number"), failing{}), "f", People, Usual)
		require.Error(t, err)
		assert.Empty(t, groundhand.Refusals(err))
	})
	t.Run("a kind that is none", func(t *testing.T) {
		_, err := Read(strings.NewReader("x"), "f", "shoes", Usual)
		assert.ErrorIs(t, err, groundhand.CodeInvalid)
	})
}

type failing struct{}

func (failing) Read([]byte) (int, error) { return 0, io.ErrClosedPipe }

func TestRefuse(t *testing.T) {
	sheet := readCSV(t, People, peopleHeadings, "1,A,C,employee,ground,,Varrow,2023-01-02")
	r := sheet.People[0].Refuse(groundhand.CodeNotFound, "yard", "No such yard.")
	assert.Equal(t, Refusal{2, "yard", "G", "Varrow", groundhand.CodeNotFound, "No such yard."}, r)
	assert.Equal(t, Refusal{Row: 2, Code: groundhand.CodeConflict, Message: "No."}, sheet.People[0].Refuse(groundhand.CodeConflict, "", "No."))
}
