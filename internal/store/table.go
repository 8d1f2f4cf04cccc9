package store

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"sync"

	"gorm.io/gorm/schema"
)

// table is what is known about the table of a vocabulary type.
type table struct {
	name    string
	columns []string
	fields  []*schema.Field // in the order of columns
	byName  []int           // places of the columns, in the order of their names
	told    string          // the moment column that gives the recorded order
	entry   bool            // carries both clocks, may be corrected and withdrawn
	rowType reflect.Type
	people  []int // places of the columns that name workers
}

// toldBy are the moments that every row must have, by preference.
var toldBy = []string{"recorded_at", "made_at", "done_at", "raised_at", "cleared_at", "finished_at", "viewed_at"}

var (
	schemas sync.Map // of gorm's naming conventions: ID, snake case, plural
	tables  sync.Map // reflect.Type to table
)

func tableOf[T any]() (table, error) {
	if known, ok := tables.Load(reflect.TypeFor[T]()); ok {
		return known.(table), nil
	}
	t, err := describe[T]()
	if err == nil {
		tables.Store(reflect.TypeFor[T](), t)
	}
	return t, err
}

func describe[T any]() (table, error) {
	parsed, err := schema.Parse(new(T), &schemas, schema.NamingStrategy{})
	if err != nil {
		return table{}, fmt.Errorf("%T is no record: %w", *new(T), err)
	}
	t := table{name: parsed.Table, columns: parsed.DBNames, entry: parsed.LookUpField("replaces_id") != nil, rowType: reflect.TypeFor[T]()}
	for _, c := range t.columns {
		t.fields = append(t.fields, parsed.FieldsByDBName[c])
		t.byName = append(t.byName, len(t.byName))
	}
	t.people = t.personColumns()
	slices.SortFunc(t.byName, func(a, b int) int { return strings.Compare(t.columns[a], t.columns[b]) })
	for _, c := range toldBy {
		if parsed.LookUpField(c) != nil {
			t.told = c
			return t, nil
		}
	}
	return table{}, fmt.Errorf("%T is no record: it does not say when it was recorded", *new(T))
}

func (t table) has(column string) bool {
	for _, c := range t.columns {
		if c == column {
			return true
		}
	}
	return false
}

// order is the recorded order; rows told at the same moment follow their ids, which sort in the order they were made.
func (t table) order() string {
	if t.has("id") {
		return t.told + ", id"
	}
	return t.told
}

// value reads one column of a row.
func (t table) value(row reflect.Value, column string) reflect.Value {
	for i, c := range t.columns {
		if c == column {
			return row.FieldByIndex(t.fields[i].StructField.Index)
		}
	}
	return reflect.Value{}
}

// cells points into a row, column by column, so that rows can be scanned by hand without looking at types again.
func (t table) cells(row reflect.Value) []any {
	out := make([]any, len(t.fields))
	for i, f := range t.fields {
		out[i] = row.FieldByIndex(f.StructField.Index).Addr().Interface()
	}
	return out
}
