package training

import (
	"context"
	"strings"

	"groundhand/internal/access"
	"groundhand/internal/exchange"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Columns says what the headings of a file are taken for.
type Columns struct {
	Digest   string             // SHA-256 of the file, hexadecimal
	Meanings []string           // for each heading; nil: the headings are the kind's own
	Saved    groundhand.EntryID // the mapping that was saved for these headings, where that is used
	Title    string             // of the saved mapping
	Proposal exchange.Proposal  // what they may mean, whatever is used
}

// columns chooses the mapping of a file: the one given, else the one saved for its headings, else none.
func (d *Desk) columns(ctx context.Context, table *exchange.Table, given []string) (Columns, error) {
	c := Columns{Digest: table.Digest, Proposal: table.Propose()}
	if len(given) > 0 {
		c.Meanings = given
		return c, exchange.CheckMeanings(table.Kind, table.Headings, given)
	}
	saved, found, err := d.savedMapping(ctx, table.Kind, table.Headings)
	if found {
		c.Meanings, c.Saved, c.Title = saved.Columns, saved.ID, saved.Title
	}
	return c, err
}

// savedMapping gives the mapping saved last for these headings and this kind.
func (d *Desk) savedMapping(ctx context.Context, kind exchange.Kind, headings []string) (saved groundhand.ColumnMapping, found bool, err error) {
	all, err := store.Standing[groundhand.ColumnMapping](ctx, d.store)
	for _, m := range all {
		if exchange.SameHeadings(m.Headings, headings) && exchange.CheckMeanings(kind, headings, m.Columns) == nil {
			saved, found = m, true
		}
	}
	return saved, found, err
}

// ProposeMapping says what the columns of a file may mean, and what is saved for them. It reads no rows beyond the first and writes nothing.
func (d *Desk) ProposeMapping(ctx context.Context, by groundhand.Account, f ImportFile) (Columns, error) {
	if err := access.May(by, access.Import); err != nil {
		return Columns{}, err
	}
	table, err := exchange.Open(f.Body, f.Name, f.Kind, importLimit)
	if err != nil {
		return Columns{}, err
	}
	return d.columns(ctx, table, f.Mapping)
}

// MappingForm says which column of a spreadsheet means what. It holds for every later file with the same headings in the same order.
type MappingForm struct {
	Entry
	Title    string
	Headings []string // as they stand in the file, in order
	Columns  []string // for each heading its column, empty: left out; a column of days may state their order, as "date DD/MM/YYYY"
}

// mostHeadings is more than a table can have columns.
const mostHeadings = 100

// SaveMapping enters a mapping of columns. Of several for the same headings the last is used.
func (d *Desk) SaveMapping(ctx context.Context, by groundhand.Account, key string, f MappingForm) (groundhand.ColumnMapping, error) {
	return once(ctx, d, by, key, act{name: "saveMapping", may: access.SaveMapping}, f, one[groundhand.ColumnMapping])
}

func (f MappingForm) check(c *fields) {
	f.Entry.check(c)
	c.name("title", f.Title)
	if len(f.Headings) == 0 {
		c.wrong("headings", "Give the headings of the file.")
	}
	if !c.atMost("headings", len(f.Headings), mostHeadings) {
		return
	}
	for i, h := range f.Headings {
		c.words(index("headings", i), strings.TrimSpace(h))
	}
	f.checkColumns(c)
}

// checkColumns refuses what is a column of no kind of table, and columns of different kinds.
func (f MappingForm) checkColumns(c *fields) {
	if strings.Join(f.Columns, "") == "" && len(f.Columns) == len(f.Headings) {
		c.wrong("columns", "Say for at least one heading which column it is.")
		return
	}
	var least []*groundhand.Error
	for i, kind := range exchange.Kinds {
		wrong := groundhand.Refusals(exchange.CheckMeanings(kind, f.Headings, f.Columns))
		if i == 0 || len(wrong) < len(least) {
			least = wrong
		}
	}
	for _, e := range least {
		c.Add(e.Code, strings.Replace(e.Field, "mapping", "columns", 1), "%s", e.Message)
	}
}

func (f MappingForm) enter(in *entering) groundhand.ColumnMapping {
	correct[groundhand.ColumnMapping](in, "mapping", f.Entry)
	m := groundhand.ColumnMapping{ID: entryID(in), Recorded: in.told(f.Entry, When{At: in.now}), Title: f.Title, Headings: f.Headings, Columns: f.Columns}
	add(in, m)
	result(in, m.ID)
	return m
}
