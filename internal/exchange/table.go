package exchange

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"slices"

	"groundhand/internal/groundhand"
)

// Table is a file of which the headings and the first rows are read: enough to say what its columns may mean. Its rows are read once.
type Table struct {
	Name     string // as the caller called the file
	Tab      string // name of the sheet within a workbook; empty: the file has no sheets
	Kind     Kind
	Digest   string   // SHA-256 of the file, hexadecimal
	Headings []string // as they stand, to the letter
	head     record
	first    []record // read already, to look at their values
	rest     source
	limit    Limit
}

// looked is how many rows are looked at to say what the columns may mean.
const looked = 50

// Open reads the headings and the first rows of a CSV or XLSX file, told apart by their content; name is only repeated. An error means
// that no table could be had from the file: INVALID with the reason, TOO_LARGE beyond a limit, or what r returned.
func Open(r io.Reader, name string, kind Kind, limit Limit) (*Table, error) {
	if columns[kind] == nil {
		return nil, groundhand.Invalid("kind", "A table is about people, crews, drills or assessments, not about %q.", kind)
	}
	body, err := io.ReadAll(io.LimitReader(r, limit.Bytes+1))
	if err != nil {
		return nil, err
	}
	if int64(len(body)) > limit.Bytes {
		return nil, tooLarge("The file is larger than %d bytes. Split it.", limit.Bytes)
	}
	src, tab, err := open(body, kind, limit)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(body)
	t := &Table{Name: name, Tab: tab, Kind: kind, Digest: hex.EncodeToString(sum[:]), rest: src, limit: limit}
	return t, t.lookAhead()
}

func (t *Table) lookAhead() error {
	head, err := nextFilled(t.rest)
	if ended(err) {
		return groundhand.Invalid("file", "The table is empty: it has not even headings.")
	}
	if err != nil {
		return err
	}
	t.head = head
	for _, c := range head.cells {
		t.Headings = append(t.Headings, cutTo(c.raw, shownText))
	}
	for len(t.first) < looked {
		rec, err := nextFilled(t.rest)
		if ended(err) {
			return nil
		}
		if err != nil {
			return err
		}
		t.first = append(t.first, rec)
	}
	return nil
}

// next gives the rows below the headings: those looked at before, then the others.
func (t *Table) next() (record, error) {
	if len(t.first) == 0 {
		return t.rest.next()
	}
	rec := t.first[0]
	t.first = t.first[1:]
	return rec, nil
}

// Ours says whether every heading is one of the kind's own, so that no mapping is needed.
func (t *Table) Ours() bool {
	known := columnsByName(t.Kind)
	return !slices.ContainsFunc(t.head.cells, func(c cell) bool { return c.text != "" && known[fold(c.text)] == "" })
}

// Read reads the rows. Meanings say for each heading which column it is; nil: the headings are the kind's own. Refused headings, rows and
// cells are no error; they are in the Sheet. It can be called once.
func (t *Table) Read(meanings []string) (Sheet, error) {
	sheet := Sheet{Name: t.Name, Tab: t.Tab, Kind: t.Kind, Headings: t.Headings}
	head, refused := readHeading(t.Kind, t.head)
	if meanings != nil {
		if err := CheckMeanings(t.Kind, t.Headings, meanings); err != nil {
			return sheet, err
		}
		head, refused = mapHeading(t.Kind, t.head, meanings)
	}
	if len(refused) > 0 {
		sheet.Refusals = refused
		return sheet, nil
	}
	return sheet, sheet.readRows(t, head, t.limit)
}

// Read reads a whole file whose headings are the kind's own; see Open and Table.Read.
func Read(r io.Reader, name string, kind Kind, limit Limit) (Sheet, error) {
	t, err := Open(r, name, kind, limit)
	if err != nil {
		return Sheet{Name: name, Kind: kind}, err
	}
	return t.Read(nil)
}

var _ source = (*Table)(nil)
