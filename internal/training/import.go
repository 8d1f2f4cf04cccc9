package training

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"

	"groundhand/internal/access"
	"groundhand/internal/exchange"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// ImportFile is a table that somebody kept elsewhere.
type ImportFile struct {
	Name string // as the sender calls it
	Kind exchange.Kind
	Body io.Reader // read to its end, or to the limit of an import
	// Mapping says for each heading which column it is, as exchange.CheckMeanings wants it; empty: what was saved for these headings, else
	// the headings are the kind's own.
	Mapping []string
}

// ImportPreview says of every row what an import would do with it. Each row of the file is in exactly one of the lists.
type ImportPreview struct {
	Name     string
	Kind     exchange.Kind
	Rows     int                // rows below the headings that hold anything
	New      []int              // rows that would be written
	Known    []KnownRow         // rows that change nothing
	Refusals []exchange.Refusal // in the order of the file; a row may have several
	Columns  Columns            // what the headings are taken for

	// Only a preview has these.
	Earlier   groundhand.Instant // when this very file was imported before; zero: never
	Judged    groundhand.Date    // the day of the standings
	Unjudged  string             // why there are no standings, or not all; a whole sentence
	Standings []StandingChange   // of the people in the file, were all rows written that are not refused
}

// KnownRow is a row that says what is there already.
type KnownRow struct {
	Row    int
	SameAs int // the earlier row of the file that says the same; 0: it is in the records
}

// Accept names the rows that are to be written: all of them, all that are not refused, or those listed.
type Accept struct {
	All   bool // and nothing when one of them is refused
	Clean bool // all that are not refused
	Rows  []int
}

// Imported is what an import did. When it was refused nothing was written and the preview says why.
type Imported struct {
	Written int // rows
	Known   int // rows that changed nothing
	Preview ImportPreview
}

// importLimit is what one import takes: it holds the only writer of the records while it runs.
var importLimit = func() exchange.Limit {
	l := exchange.Usual
	l.Rows = 5_000
	return l
}()

// mostShown is how many refused cells an error repeats; the preview has them all.
const mostShown = 50

// errDry ends the transaction of a preview, so that nothing it tried is kept.
var errDry = errors.New("a preview keeps nothing")

// Preview tries an import and keeps nothing of it. The rows go through the same forms, in the same order and over the same records as
// in the import itself, so that what it says is what an import of all rows would meet; and the standings are asked of the records as they
// would be.
func (d *Desk) Preview(ctx context.Context, by groundhand.Account, f ImportFile) (ImportPreview, error) {
	sheet, columns, err := d.readImport(ctx, by, f)
	if err != nil {
		return ImportPreview{}, err
	}
	var im *importing
	err = d.store.InTx(ctx, func(tx *store.Store) error {
		im = d.importing(ctx, tx, by, sheet, Accept{Clean: true})
		im.seen.Columns = columns
		im.seen.Earlier = im.earlier(columns.Digest)
		im.tryRows()
		return errors.Join(im.err, errDry)
	})
	if im == nil || im.err != nil {
		return ImportPreview{}, err
	}
	return im.seen, nil
}

// Import writes the accepted rows of a file in one transaction, or nothing: when all rows are accepted, or those listed, one that is
// refused refuses the whole. Rows that are in the records already change nothing, so that the same file may come twice. The rules are
// those of the forms; how an entry came in is noted as IMPORTED. Of every row of the file its original text is kept with what became of
// it, refused rows and copies too. The preview comes back with a refusal too.
func (d *Desk) Import(ctx context.Context, by groundhand.Account, key string, f ImportFile, accept Accept) (Imported, error) {
	sheet, columns, err := d.readImport(ctx, by, f)
	if err != nil {
		return Imported{}, err
	}
	if err := accept.check(key, sheet); err != nil {
		return Imported{}, err
	}
	act := groundhand.Act{Key: key, AccountID: by.ID, Name: "import", Digest: digestOf(importOf{columns.Digest, f.Kind, f.Mapping, accept})}
	var out Imported
	var im *importing
	err = d.store.InTx(ctx, func(tx *store.Store) error {
		done, found, err := tx.ActDone(ctx, by.ID, key)
		if err != nil {
			return err
		}
		if found {
			out, err = repeated(ctx, tx, act, done, importAgain)
			return err
		}
		im = d.importing(ctx, tx, by, sheet, accept)
		im.seen.Columns = columns
		im.enterRows()
		out = Imported{len(im.seen.New), len(im.seen.Known), im.seen}
		return im.finish(act)
	})
	if err != nil {
		return Imported{Preview: out.Preview}, im.noted(act, err)
	}
	return out, nil
}

// importOf is what makes one import the same as another.
type importOf struct {
	file    string // SHA-256 of the file
	kind    exchange.Kind
	mapping []string
	accept  Accept
}

func importAgain(_ context.Context, _ *store.Store, result []string) (Imported, error) {
	var out Imported
	_, err := fmt.Sscan(fmt.Sprint(result[0], " ", result[1]), &out.Written, &out.Known)
	return out, err
}

func (d *Desk) readImport(ctx context.Context, by groundhand.Account, f ImportFile) (exchange.Sheet, Columns, error) {
	if err := access.May(by, access.Import); err != nil {
		return exchange.Sheet{}, Columns{}, err
	}
	table, err := exchange.Open(f.Body, f.Name, f.Kind, importLimit)
	if err != nil {
		return exchange.Sheet{}, Columns{}, err
	}
	columns, err := d.columns(ctx, table, f.Mapping)
	if err != nil {
		return exchange.Sheet{}, Columns{}, err
	}
	sheet, err := table.Read(columns.Meanings)
	return sheet, columns, err
}

// check refuses a key that is none and rows that the file does not have.
func (a Accept) check(key string, sheet exchange.Sheet) error {
	var c fields
	c.checkKey(key)
	switch {
	case a.ways() != 1:
		c.wrong("accept", "Accept all rows, or all that are not refused, or list those to be written.")
	case len(a.Rows) > 0 && len(headingsRefused(sheet)) == 0:
		there := rowsOf(sheet)
		for i, row := range a.Rows {
			if !there[row] {
				c.wrong(index("accept", i), "The file has no row %d with anything in it below the headings.", row)
			}
		}
	}
	return c.Err()
}

func (a Accept) ways() int {
	n := 0
	for _, said := range []bool{a.All, a.Clean, len(a.Rows) > 0} {
		if said {
			n++
		}
	}
	return n
}

func rowsOf(sheet exchange.Sheet) map[int]bool {
	out := map[int]bool{}
	for _, r := range sheet.Refusals {
		out[r.Row] = true
	}
	for _, l := range sheet.Lines() {
		out[l.Row] = true
	}
	return out
}

// headingsRefused are the refusals for which no row was read at all.
func headingsRefused(sheet exchange.Sheet) []exchange.Refusal {
	if sheet.Rows > 0 {
		return nil
	}
	return sheet.Refusals
}

// importing is one file on its way into the records. It lives for one call, which is why it may carry the context.
type importing struct {
	desk    *Desk
	ctx     context.Context
	tx      *store.Store
	by      groundhand.Account
	sheet   exchange.Sheet
	accept  Accept
	rows    map[int]bool // accepted, where they are listed
	people  directory
	known   map[string][]groundhand.EntryID // digest of a form -> the records from before this import that say the same
	entries map[int]groundhand.EntryID      // row -> the first record that it made, or that says the same
	seen    ImportPreview
	broken  []breach // signatures that were refused because of who would have signed
	err     error    // the first failure that is no refusal
}

func (d *Desk) importing(ctx context.Context, tx *store.Store, by groundhand.Account, sheet exchange.Sheet, accept Accept) *importing {
	im := &importing{desk: d, ctx: ctx, tx: tx, by: by, sheet: sheet, accept: accept,
		rows: map[int]bool{}, known: map[string][]groundhand.EntryID{}, entries: map[int]groundhand.EntryID{}}
	for _, row := range accept.Rows {
		im.rows[row] = true
	}
	im.seen = ImportPreview{Name: sheet.Name, Kind: sheet.Kind, Rows: sheet.Rows, Refusals: headingsRefused(sheet)}
	return im
}

func (im *importing) accepts(row int) bool { return len(im.accept.Rows) == 0 || im.rows[row] }

func (im *importing) enterRows() {
	if len(im.seen.Refusals) > 0 {
		return
	}
	for _, r := range im.sheet.Refusals {
		if im.accepts(r.Row) {
			im.seen.Refusals = append(im.seen.Refusals, r)
		}
	}
	switch im.sheet.Kind {
	case exchange.People:
		im.enterPeople()
	case exchange.Crews:
		im.enterPlaces()
	case exchange.Drills:
		im.enterDrills()
	case exchange.Assessments:
		im.enterAssessments()
	}
	slices.SortStableFunc(im.seen.Refusals, func(a, b exchange.Refusal) int { return a.Row - b.Row })
	slices.Sort(im.seen.New)
	slices.SortFunc(im.seen.Known, func(a, b KnownRow) int { return a.Row - b.Row })
}

// finish keeps the rows as they stood and writes the act, or refuses the whole for its refused rows.
func (im *importing) finish(act groundhand.Act) error {
	if im.err != nil {
		return im.err
	}
	if err := im.refusal(); err != nil {
		return err
	}
	if im.keepRows(); im.err != nil {
		return im.err
	}
	for _, b := range im.broken {
		if err := noteOne(im.ctx, im.tx, im.desk, im.by, act.Key, act.Name, b); err != nil {
			return err
		}
	}
	act.Result, act.DoneAt = strconv.Itoa(len(im.seen.New))+" "+strconv.Itoa(len(im.seen.Known)), im.tx.Now()
	return store.Add(im.ctx, im.tx, act)
}

// refusal is why nothing is written: refused headings or rows, unless only the rows that are not refused are wanted and there are some.
func (im *importing) refusal() error {
	if im.accept.Clean && len(im.seen.New)+len(im.seen.Known) > 0 {
		return nil
	}
	var p groundhand.Problems
	for _, r := range im.seen.Refusals[:min(mostShown, len(im.seen.Refusals))] {
		field := index("rows", r.Row)
		if r.Column != "" {
			field += "." + r.Column
		}
		p.Add(r.Code, field, "%s", r.Message)
	}
	return p.Err()
}

func (im *importing) failed(err error) bool {
	if err != nil && im.err == nil {
		im.err = err
	}
	return im.err != nil
}

// skips notes rows that are not to be written: those not accepted, and those that repeat an accepted row.
func (im *importing) skips(l exchange.Line) bool {
	if im.failed(nil) || !im.accepts(l.Row) {
		return true
	}
	if l.SameAs > 0 && im.accepts(l.SameAs) {
		im.seen.Known = append(im.seen.Known, KnownRow{l.Row, l.SameAs})
		return true
	}
	return false
}

// isKnown says whether a record from before this import says what a form says, and notes the row as known. Each record stands for one
// row only.
func (im *importing) isKnown(l exchange.Line, f any) bool {
	d := digestOf(f)
	ids := im.known[d]
	if len(ids) == 0 {
		return false
	}
	im.known[d], im.entries[l.Row] = ids[1:], ids[0]
	im.seen.Known = append(im.seen.Known, KnownRow{Row: l.Row})
	return true
}

// isNew notes a row that was written, with the record it made.
func (im *importing) isNew(l exchange.Line, made string) {
	im.seen.New = append(im.seen.New, l.Row)
	im.entries[l.Row] = groundhand.EntryID(made)
}

// remember notes what a record says, as the form that would make it.
func (im *importing) remember(id groundhand.EntryID, f any) {
	d := digestOf(f)
	im.known[d] = append(im.known[d], id)
}

// attempt does something to the records for one row, or for the rows of one run. What it did is undone when it refuses.
type attempt struct {
	im      *importing
	refused []exchange.Refusal
	made    []string // ids of what the last form made
}

// errRefused undoes an attempt.
var errRefused = errors.New("a row is refused")

func (im *importing) attempt(do func(a *attempt)) (*attempt, bool) {
	outer, a := im.tx, &attempt{im: im}
	err := outer.InTx(im.ctx, func(tx *store.Store) error {
		im.tx = tx
		do(a)
		if len(a.refused) > 0 {
			return errRefused
		}
		return im.err
	})
	im.tx = outer
	if err != nil && len(a.refused) == 0 {
		im.failed(err)
	}
	im.seen.Refusals = append(im.seen.Refusals, a.refused...)
	return a, err == nil
}

// refuse notes why a row is not taken, once for each cell: what follows from a wrong cell is not said again.
func (a *attempt) refuse(l exchange.Line, code groundhand.Code, column, format string, args ...any) {
	said := func(r exchange.Refusal) bool { return r.Row == l.Row && r.Column == column && column != "" }
	if !slices.ContainsFunc(a.refused, said) {
		a.refused = append(a.refused, l.Refuse(code, column, fmt.Sprintf(format, args...)))
	}
}

// submit puts a form through its own checks and writes its rows when nothing is refused. where tells row and column of a field.
func submit[T any](a *attempt, f form[T], where func(field string) (exchange.Line, string)) {
	im := a.im
	in := &entering{fields: fields{now: im.tx.Now(), zone: im.desk.roll.Zone()}, ctx: im.ctx, tx: im.tx, by: im.by}
	f.check(&in.fields)
	if !in.tooMany {
		f.enter(in)
	}
	if im.failed(in.err) {
		return
	}
	im.breaks(in.broken, where)
	for _, e := range groundhand.Refusals(in.Err()) {
		line, column := where(e.Field)
		a.refuse(line, e.Code, column, "%s", e.Message)
	}
	if len(a.refused) > 0 {
		return
	}
	for _, row := range in.rows {
		if im.failed(row()) {
			return
		}
	}
	a.made = in.made
}
