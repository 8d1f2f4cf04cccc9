package exchange

import (
	"archive/zip"
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"groundhand/internal/groundhand"
)

// readCSV reads lines as a CSV file.
func readCSV(t *testing.T, kind Kind, lines ...string) Sheet {
	t.Helper()
	sheet, err := Read(strings.NewReader(strings.Join(lines, "\n")), "file.csv", kind, Usual)
	require.NoError(t, err)
	return sheet
}

// refusedCSV is the refusal of a whole file.
func refusedCSV(t *testing.T, body string) *groundhand.Error {
	t.Helper()
	_, err := Read(strings.NewReader(body), "file.csv", People, Usual)
	require.Error(t, err)
	require.Len(t, groundhand.Refusals(err), 1)
	return groundhand.Refusals(err)[0]
}

// workbook makes an XLSX file; values as excelize takes them, nil leaving the cell out.
func workbook(t testing.TB, sheet string, rows [][]any, more ...func(f *excelize.File)) []byte {
	t.Helper()
	f := excelize.NewFile()
	require.NoError(t, f.SetSheetName("Sheet1", sheet))
	for r, row := range rows {
		for c, v := range row {
			if v == nil {
				continue
			}
			at, err := excelize.CoordinatesToCellName(c+1, r+1)
			require.NoError(t, err)
			require.NoError(t, f.SetCellValue(sheet, at, v))
		}
	}
	for _, change := range more {
		change(f)
	}
	var out bytes.Buffer
	require.NoError(t, f.Write(&out))
	return out.Bytes()
}

func readWorkbook(t *testing.T, kind Kind, body []byte) Sheet {
	t.Helper()
	sheet, err := Read(bytes.NewReader(body), "file.xlsx", kind, Usual)
	require.NoError(t, err)
	return sheet
}

// repacked copies a zip file with one part replaced, or added when it is new.
func repacked(t testing.TB, body []byte, name string, content []byte) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(body), int64(len(body)))
	require.NoError(t, err)
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, part := range z.File {
		if part.Name != name {
			require.NoError(t, w.Copy(part))
		}
	}
	p, err := w.Create(name)
	require.NoError(t, err)
	_, err = p.Write(content)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	return out.Bytes()
}

const peopleHeadings = "number,name,employer,relation,grade,year,yard,from"

var peopleRow = []any{"00123", "Ifeoma Brandt", "Halverra Lines", "employee", "qualified", nil, "Varrow", "2023-01-02"}

func peopleHeadingCells() []any {
	var out []any
	for _, h := range strings.Split(peopleHeadings, ",") {
		out = append(out, h)
	}
	return out
}
