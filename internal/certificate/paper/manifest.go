package paper

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"fmt"
	"strings"
)

var manifestHead = []string{
	"certificate_no", "credential_id", "recipient", "training", "performed_on", "valid_until", "status", "json_file", "json_sha256", "pdf_file",
	"pdf_sha256", "verify_url",
}

func manifestRow(r Row, pdf []byte) []string {
	s := r.Sheet
	row := []string{
		s.Number, "urn:uuid:" + s.CredentialID, s.Person, s.Title, s.ShownOn.String(), s.LastGoodDay.String(), r.Status,
		signedFolder + signedName(s), digest(s.Signed), pagesFolder + s.Number + pageEnding, digest(pdf), s.CheckAddress,
	}
	for i, cell := range row {
		row[i] = guard(cell)
	}
	return row
}

func digest(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// guard keeps a spreadsheet from running a cell as a formula.
func guard(cell string) string {
	if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
		return "'" + cell
	}
	return cell
}

// manifest writes the list for spreadsheets: UTF-8 with its mark, RFC 4180 lines.
func manifest(rows [][]string) ([]byte, error) {
	var b bytes.Buffer
	b.WriteString("\ufeff")
	list := csv.NewWriter(&b)
	list.UseCRLF = true
	if err := list.WriteAll(append([][]string{manifestHead}, rows...)); err != nil {
		return nil, fmt.Errorf("write %s: %w", manifestName, err)
	}
	return b.Bytes(), nil
}
