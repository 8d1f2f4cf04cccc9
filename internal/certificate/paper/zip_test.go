package paper_test

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
)

func samples(n int) []paper.Sheet {
	sheets := make([]paper.Sheet, n)
	for i := range sheets {
		sheets[i] = sample()
		sheets[i].Number = fmt.Sprintf("GH-2024-%06d", i+1)
		sheets[i].IssuedOn = sheets[i].IssuedOn.AddDays(i)
	}
	return sheets
}

func zipped(t testing.TB, sheets []paper.Sheet) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, paper.Zip(&b, sheets))
	return b.Bytes()
}

// unzipped gives names in their order and contents by name.
func unzipped(t testing.TB, archive []byte) ([]string, map[string][]byte) {
	t.Helper()
	r, err := zip.NewReader(bytes.NewReader(archive), int64(len(archive)))
	require.NoError(t, err)
	var names []string
	contents := map[string][]byte{}
	for _, f := range r.File {
		rc, err := f.Open()
		require.NoError(t, err)
		names = append(names, f.Name)
		contents[f.Name], err = io.ReadAll(rc)
		require.NoError(t, err)
	}
	return names, contents
}

func manifest(t testing.TB, contents map[string][]byte) [][]string {
	t.Helper()
	text, marked := strings.CutPrefix(string(contents["manifest.csv"]), "\ufeff")
	require.True(t, marked, "spreadsheets read UTF-8 only with its mark")
	assert.Equal(t, strings.Count(text, "\n"), strings.Count(text, "\r\n"), "RFC 4180 ends a line with CRLF")
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	require.NoError(t, err)
	return rows
}

func TestZipHoldsEveryPageAndItsRowByNumber(t *testing.T) {
	sheets := samples(3)
	slices.Reverse(sheets)
	names, contents := unzipped(t, zipped(t, sheets))
	assert.Equal(t, []string{
		"certificates/GH-2024-000001.pdf", "certificates/GH-2024-000002.pdf", "certificates/GH-2024-000003.pdf", "manifest.csv",
	}, names)
	assert.Equal(t, printed(t, sheets[0]), contents["certificates/GH-2024-000003.pdf"], "the page is the one that Write draws")
	rows := manifest(t, contents)
	require.Len(t, rows, 4)
	assert.Equal(t, []string{
		"number", "person", "employer", "method", "role", "control_family", "shown_on", "last_good_day", "rule_set", "issued_on", "standing",
		"check_address", "sha256",
	}, rows[0])
	for _, row := range rows[1:] {
		sum := sha256.Sum256(contents["certificates/"+row[0]+".pdf"])
		assert.Equal(t, hex.EncodeToString(sum[:]), row[12])
	}
	s := sample()
	assert.Equal(t, []string{
		"GH-2024-000001", s.Person, s.Employer, s.Method, s.Role, s.ControlFamily, "2024-06-06", "2025-06-05", s.RuleSet, "2024-06-10", "good",
		s.CheckAddress,
	}, rows[1][:12])
}

func TestZipOfTheSameSheetsIsTheSameBytesInAnyOrder(t *testing.T) {
	sheets := samples(4)
	first := zipped(t, sheets)
	slices.Reverse(sheets)
	assert.True(t, bytes.Equal(first, zipped(t, sheets)))
}

func TestZipDatesComeFromTheSheets(t *testing.T) {
	archive := zipped(t, samples(2))
	r, err := zip.NewReader(bytes.NewReader(archive), int64(len(archive)))
	require.NoError(t, err)
	var days []string
	for _, f := range r.File {
		days = append(days, f.Modified.UTC().Format("2006-01-02T15:04:05"))
	}
	assert.Equal(t, []string{"2024-06-10T00:00:00", "2024-06-11T00:00:00", "2024-06-11T00:00:00"}, days)
}

func TestZipOfNothingIsAnEmptyList(t *testing.T) {
	names, contents := unzipped(t, zipped(t, nil))
	assert.Equal(t, []string{"manifest.csv"}, names)
	assert.Len(t, manifest(t, contents), 1)
}

func TestZipRefusesEverythingBeforeTheFirstByte(t *testing.T) {
	sheets := samples(4)
	sheets[1].Person = "李小龍"
	sheets[2].Role, sheets[2].Number = "", "../../etc/passwd"
	sheets[3].Number = strings.ToLower(sheets[0].Number)
	var b bytes.Buffer
	err := paper.Zip(&b, sheets)
	assert.Zero(t, b.Len(), "nothing half written")
	var got []string
	for _, e := range groundhand.Refusals(err) {
		got = append(got, string(e.Code)+" "+e.Field)
	}
	assert.ElementsMatch(t, []string{
		"INVALID sheets[1].person", "INVALID sheets[2].role", "INVALID sheets[2].number", "CONFLICT sheets[3].number",
	}, got)
}

func TestZipHasALimit(t *testing.T) {
	var b bytes.Buffer
	assert.ErrorIs(t, paper.Zip(&b, make([]paper.Sheet, paper.MaxBatch+1)), groundhand.CodeTooLarge)
	assert.Zero(t, b.Len())
}

func TestManifestCellsAreNeverFormulas(t *testing.T) {
	for _, start := range []string{"=", "+", "-", "@"} {
		sheets := samples(1)
		sheets[0].Person = start + `cmd|' /C calc'!A0`
		_, contents := unzipped(t, zipped(t, sheets))
		assert.Equal(t, "'"+sheets[0].Person, manifest(t, contents)[1][1])
	}
}

var errFull = errors.New("disk full")

// full takes a number of bytes and then no more.
type full struct{ room int }

func (f *full) Write(b []byte) (int, error) {
	if len(b) > f.room {
		return 0, errFull
	}
	f.room -= len(b)
	return len(b), nil
}

func TestZipAndWritePassOnTheWritersError(t *testing.T) {
	for _, room := range []int{0, 100, 60_000} {
		assert.ErrorIs(t, paper.Zip(&full{room}, samples(3)), errFull)
	}
	assert.ErrorIs(t, paper.Write(&full{}, sample()), errFull)
}

func BenchmarkZipOfAHundred(b *testing.B) {
	sheets := samples(100)
	for b.Loop() {
		require.NoError(b, paper.Zip(io.Discard, sheets))
	}
}
