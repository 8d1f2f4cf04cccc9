package paper_test

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/csv"
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

// bundle is an export of n certificates.
func bundle(n int) paper.Bundle {
	b := paper.Bundle{
		Day: groundhand.MustDate("2026-06-01"), Readme: "How to check\n", Document: []byte(`{"id":"did:web:records.halverra.example"}`),
		StatusLists: []paper.File{{Name: "status-10.json", Data: []byte("{}")}, {Name: "status-2.json", Data: []byte("[]")}},
		Extra:       []paper.File{{Name: "people/list.csv", Data: []byte("a\r\n")}, {Name: "notes.txt", Data: []byte("b")}},
	}
	for i := range n {
		b.Rows = append(b.Rows, paper.Row{Sheet: numbered(i + 1), Status: "valid"})
	}
	return b
}

func numbered(i int) paper.Sheet {
	return paper.Changed(func(s *paper.Sheet) {
		s.Number, s.CredentialID = fmt.Sprintf("GH-2024-%06d", i), fmt.Sprintf("7b0a5f3e-6c1d-4b86-9a2f-%012x", i)
		s.Person = fmt.Sprintf("Saoirse Kettlewick %d", i)
		s.CheckAddress = "https://records.halverra.example/verify/" + s.CredentialID
	})
}

func zipped(t testing.TB, b paper.Bundle) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, paper.Zip(&out, b, nil))
	return out.Bytes()
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
		assert.Equal(t, "2026-06-01T00:00:00", f.Modified.UTC().Format("2006-01-02T15:04:05"), f.Name)
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

func digest(b []byte) string { return fmt.Sprintf("%x", sha256.Sum256(b)) }

func TestZipHoldsEveryFileInItsOrder(t *testing.T) {
	b := bundle(2)
	slices.Reverse(b.Rows)
	names, contents := unzipped(t, zipped(t, b))
	assert.Equal(t, []string{
		"README.txt", "issuer/did.json", "status/status-2.json", "status/status-10.json", "notes.txt", "people/list.csv",
		"certificates/GH-2024-000001.pdf", "credentials/GH-2024-000001.json", "certificates/GH-2024-000002.pdf", "credentials/GH-2024-000002.json",
		"manifest.csv",
	}, names)
	first := b.Rows[1].Sheet
	assert.Equal(t, printed(t, first), contents["certificates/GH-2024-000001.pdf"], "a page among others is the page by itself")
	assert.Equal(t, first.Signed, contents["credentials/GH-2024-000001.json"])
	attached, err := paper.Attached(contents["certificates/GH-2024-000001.pdf"])
	require.NoError(t, err)
	assert.Equal(t, [][]byte{first.Signed}, attached)
	assert.Equal(t, "How to check\n", string(contents["README.txt"]))
	assert.Equal(t, b.Document, contents["issuer/did.json"])
}

func TestManifestHasOneRowForEachCertificate(t *testing.T) {
	b := bundle(3)
	b.Rows[1].Status = "no longer current"
	_, contents := unzipped(t, zipped(t, b))
	rows := manifest(t, contents)
	require.Len(t, rows, 4)
	assert.Equal(t, "certificate_no,credential_id,recipient,training,performed_on,valid_until,status,json_file,json_sha256,pdf_file,pdf_sha256,verify_url",
		strings.Join(rows[0], ","))
	pdf, json := contents["certificates/GH-2024-000002.pdf"], contents["credentials/GH-2024-000002.json"]
	assert.Equal(t, []string{
		"GH-2024-000002", "urn:uuid:7b0a5f3e-6c1d-4b86-9a2f-000000000002", "Saoirse Kettlewick 2",
		"Bucket rescue, two on the ground, block-and-tackle kit", "2024-06-06", "2025-06-05", "no longer current",
		"credentials/GH-2024-000002.json", digest(json), "certificates/GH-2024-000002.pdf", digest(pdf),
		"https://records.halverra.example/verify/7b0a5f3e-6c1d-4b86-9a2f-000000000002",
	}, rows[2])
}

func TestZipOfTheSameBundleIsTheSameBytesInAnyOrder(t *testing.T) {
	b := bundle(9)
	first := zipped(t, b)
	slices.Reverse(b.Rows)
	slices.Reverse(b.StatusLists)
	slices.Reverse(b.Extra)
	assert.True(t, bytes.Equal(first, zipped(t, b)))
	assert.Equal(t, "GH-2024-000009", b.Rows[0].Sheet.Number, "the caller's rows stay in their order")
}

func TestZipTellsHowFarItIs(t *testing.T) {
	var told []string
	require.NoError(t, paper.Zip(io.Discard, bundle(3), func(done, all int) { told = append(told, fmt.Sprint(done, "/", all)) }))
	assert.Equal(t, []string{"1/3", "2/3", "3/3"}, told)
}

func TestZipOfNothingIsAnEmptyList(t *testing.T) {
	names, contents := unzipped(t, zipped(t, paper.Bundle{Day: groundhand.MustDate("2026-06-01"), Readme: "How", Document: []byte("{}")}))
	assert.Equal(t, []string{"README.txt", "issuer/did.json", "manifest.csv"}, names)
	assert.Len(t, manifest(t, contents), 1)
}

// problems of a bundle that must not write anything.
func problems(t testing.TB, b paper.Bundle) []string {
	t.Helper()
	var out bytes.Buffer
	err := paper.Zip(&out, b, func(int, int) { t.Error("nothing is done yet") })
	assert.Zero(t, out.Len(), "nothing half written")
	var got []string
	for _, e := range groundhand.Refusals(err) {
		got = append(got, string(e.Code)+" "+e.Field)
	}
	return got
}

func TestZipRefusesEverythingBeforeTheFirstByte(t *testing.T) {
	b := bundle(5)
	b.Rows[1].Sheet = named("李小龍")
	b.Rows[2].Sheet.Signed = nil
	b.Rows[3].Status = ""
	b.Rows[4].Sheet = paper.Changed(func(s *paper.Sheet) {
		s.Number, s.CredentialID = "gh-2024-000001", b.Rows[0].Sheet.CredentialID
		s.CheckAddress = "https://records.halverra.example/verify/" + s.CredentialID
	})
	assert.ElementsMatch(t, []string{
		"INVALID rows[1].sheet.person", "INVALID rows[2].sheet.signed", "INVALID rows[3].status", "CONFLICT rows[4].sheet.number",
		"CONFLICT rows[4].sheet.credentialId",
	}, problems(t, b))
	assert.ElementsMatch(t, []string{"INVALID day", "INVALID readme", "INVALID document"}, problems(t, paper.Bundle{}))
}

func TestZipRefusesFilesThatDoNotBelong(t *testing.T) {
	b := bundle(1)
	b.StatusLists = []paper.File{{Name: "../status-1.json", Data: []byte("{}")}, {Name: "status-1.json", Data: []byte("{")}, {Name: "status-1.json"}}
	b.Extra = nil
	for _, name := range []string{
		"", "/etc/passwd", "../x", "a/../b", "a//b", `a\b`, "nul", "a/con.txt", ".x", "ä", "readme.TXT", "manifest.csv", "Certificates/x.pdf", "status",
		"issuer/key.pem", "a.txt", "A.txt", strings.Repeat("a", 201),
	} {
		b.Extra = append(b.Extra, paper.File{Name: name})
	}
	got := problems(t, b)
	assert.Len(t, got, 3+17, "all but one a.txt: %v", got)
	assert.Contains(t, got, "CONFLICT statusLists[2].name")
	assert.Contains(t, got, "CONFLICT extra[16].name")
	assert.NotContains(t, strings.Join(got, " "), "extra[15]")
}

func TestZipWantsTheListOfThoseWithdrawn(t *testing.T) {
	b := bundle(1)
	b.StatusLists = nil
	assert.Equal(t, []string{"INVALID statusLists"}, problems(t, b))
	b.Rows[0].Sheet.CheckAddress = ""
	zipped(t, b)
}

func TestZipHasALimit(t *testing.T) {
	assert.Equal(t, []string{"TOO_LARGE rows"}, problems(t, paper.Bundle{Rows: make([]paper.Row, paper.MaxBatch+1)}))
}

func TestManifestCellsAreNeverFormulas(t *testing.T) {
	for _, start := range []string{"=", "+", "-", "@"} {
		b := bundle(1)
		person := start + `cmd|' /C calc'!A0`
		b.Rows[0].Sheet = named(person)
		_, contents := unzipped(t, zipped(t, b))
		assert.Equal(t, "'"+person, manifest(t, contents)[1][2])
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
	for _, room := range []int{0, 100, 60_000, 200_000} {
		assert.ErrorIs(t, paper.Zip(&full{room}, bundle(8), nil), errFull)
	}
	assert.ErrorIs(t, paper.Write(&full{}, paper.Sample()), errFull)
}
