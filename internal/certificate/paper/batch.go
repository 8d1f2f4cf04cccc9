package paper

import (
	"archive/zip"
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"fmt"
	"io"
	"slices"
	"strings"

	"groundhand/internal/groundhand"
)

// MaxBatch is the most certificates that one ZIP file takes.
const MaxBatch = 10_000

var manifestHead = []string{
	"number", "person", "employer", "method", "role", "control_family", "shown_on", "last_good_day", "rule_set", "issued_on", "standing",
	"check_address", "sha256",
}

// Zip streams the certificates as a ZIP file: certificates/NUMBER.pdf in the order of the numbers, then manifest.csv with one row for each and
// the SHA-256 of its file. No certificates give a manifest without rows. The same sheets, in whatever order, give the same bytes.
//
// It is all or nothing: every sheet is checked before the first byte, and all problems come at once under "sheets[2].person", counted
// in the order given. A number used twice is a CONFLICT, more than MaxBatch sheets are TOO_LARGE. Only w itself can fail later.
func Zip(w io.Writer, sheets []Sheet) error {
	if err := checkBatch(sheets); err != nil {
		return err
	}
	sorted := slices.SortedFunc(slices.Values(sheets), func(a, b Sheet) int { return cmp.Compare(a.Number, b.Number) })
	archive := zip.NewWriter(w)
	rows := make([][]string, 0, len(sorted))
	for _, s := range sorted {
		sum, err := addPage(archive, s)
		if err != nil {
			return err
		}
		rows = append(rows, manifestRow(s, sum))
	}
	if err := addManifest(archive, rows, lastIssue(sorted)); err != nil {
		return err
	}
	return archive.Close()
}

func checkBatch(sheets []Sheet) error {
	if len(sheets) > MaxBatch {
		return &groundhand.Error{Code: groundhand.CodeTooLarge, Field: "sheets",
			Message: fmt.Sprintf("These are %d certificates; one file takes %d. Ask for fewer at a time.", len(sheets), MaxBatch)}
	}
	var p groundhand.Problems
	seen := make(map[string]int, len(sheets))
	for i, s := range sheets {
		path := fmt.Sprintf("sheets[%d]", i)
		if err := p.Take(path, Check(s)); err != nil {
			return err
		}
		name := strings.ToLower(s.Number) // some systems keep no two files whose names differ in case alone
		if first, twice := seen[name]; twice && name != "" {
			p.Add(groundhand.CodeConflict, path+".number", "Number %q is already that of sheets[%d].", s.Number, first)
			continue
		}
		seen[name] = i
	}
	return p.Err()
}

// addPage stores one certificate as it is, for a PDF is already compressed, and gives back its SHA-256.
func addPage(archive *zip.Writer, s Sheet) (string, error) {
	var pdf bytes.Buffer
	if err := Write(&pdf, s); err != nil {
		return "", err
	}
	entry, err := archive.CreateHeader(header("certificates/"+s.Number+".pdf", zip.Store, s.IssuedOn))
	if err != nil {
		return "", fmt.Errorf("add certificate %s: %w", s.Number, err)
	}
	if _, err := entry.Write(pdf.Bytes()); err != nil {
		return "", fmt.Errorf("add certificate %s: %w", s.Number, err)
	}
	sum := sha256.Sum256(pdf.Bytes())
	return hex.EncodeToString(sum[:]), nil
}

// Days that the date of a ZIP entry can hold.
var firstZipDay, lastZipDay = groundhand.MustDate("1980-01-01"), groundhand.MustDate("2099-12-31")

func header(name string, method uint16, day groundhand.Date) *zip.FileHeader {
	day = min(max(day, firstZipDay), lastZipDay)
	return &zip.FileHeader{Name: name, Method: method, Modified: midnight(day)}
}

func lastIssue(sheets []Sheet) groundhand.Date {
	var last groundhand.Date
	for _, s := range sheets {
		last = max(last, s.IssuedOn)
	}
	return last
}

func manifestRow(s Sheet, sum string) []string {
	row := []string{
		s.Number, s.Person, s.Employer, s.Method, s.Role, s.ControlFamily, s.ShownOn.String(), s.LastGoodDay.String(), s.RuleSet,
		s.IssuedOn.String(), s.Standing, s.CheckAddress, sum,
	}
	for i, cell := range row {
		row[i] = guard(cell)
	}
	return row
}

// guard keeps a spreadsheet from running a cell as a formula.
func guard(cell string) string {
	if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
		return "'" + cell
	}
	return cell
}

// addManifest writes the list for spreadsheets: UTF-8 with its mark, RFC 4180 lines.
func addManifest(archive *zip.Writer, rows [][]string, day groundhand.Date) error {
	entry, err := archive.CreateHeader(header("manifest.csv", zip.Deflate, day))
	if err != nil {
		return fmt.Errorf("add manifest: %w", err)
	}
	if _, err := io.WriteString(entry, "\ufeff"); err != nil {
		return fmt.Errorf("add manifest: %w", err)
	}
	list := csv.NewWriter(entry)
	list.UseCRLF = true
	if err := list.WriteAll(append([][]string{manifestHead}, rows...)); err != nil {
		return fmt.Errorf("add manifest: %w", err)
	}
	return nil
}
