package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
)

// Lists of an entry that are kept in one column, as plain lists.

type (
	columnMapping struct{}
	importRow     struct{}
	viewing       struct{}
)

// ColumnMapping gives its lists.
func (r *Root) ColumnMapping() generated.ColumnMappingResolver { return columnMapping{} }

// ImportRow gives its lists.
func (r *Root) ImportRow() generated.ImportRowResolver { return importRow{} }

// Viewing gives its list.
func (r *Root) Viewing() generated.ViewingResolver { return viewing{} }

func (columnMapping) Headings(_ context.Context, c *groundhand.ColumnMapping) ([]string, error) {
	return texts(c.Headings), nil
}

func (columnMapping) Columns(_ context.Context, c *groundhand.ColumnMapping) ([]string, error) {
	return texts(c.Columns), nil
}

func (importRow) Headings(_ context.Context, r *groundhand.ImportRow) ([]string, error) {
	return texts(r.Headings), nil
}

func (importRow) Cells(_ context.Context, r *groundhand.ImportRow) ([]string, error) {
	return texts(r.Cells), nil
}

func (viewing) Workers(_ context.Context, v *groundhand.Viewing) ([]string, error) {
	return texts(v.Workers), nil
}
