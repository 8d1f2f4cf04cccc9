package graph

import (
	"context"
	"errors"
	"strings"

	"github.com/99designs/gqlgen/graphql"

	"groundhand/graph/generated"
	"groundhand/internal/exchange"
	"groundhand/internal/groundhand"
	"groundhand/internal/training"
)

func (m mutation) PreviewImport(ctx context.Context, file graphql.Upload, kind generated.ImportKind) (*generated.ImportLook, error) {
	seen, err := m.Desk.Preview(ctx, viewer(ctx), importFile(file, kind))
	if err != nil {
		return nil, err
	}
	return lookOf(seen), nil
}

// ImportFile answers with the preview when the file was refused: its refusals say why, row by row, and nothing was written.
func (m mutation) ImportFile(ctx context.Context, key string, file graphql.Upload, kind generated.ImportKind, rows []int) (*generated.ImportResult, error) {
	done, err := m.Desk.Import(ctx, viewer(ctx), key, importFile(file, kind), training.Accept{All: rows == nil, Rows: rows})
	if err != nil && len(done.Preview.Refusals) > 0 && errors.Is(err, groundhand.CodeInvalid) {
		return &generated.ImportResult{Preview: lookOf(done.Preview)}, nil
	}
	if err != nil {
		return nil, err
	}
	return &generated.ImportResult{Written: done.Written, Known: done.Known, Preview: lookOf(done.Preview)}, nil
}

func importFile(file graphql.Upload, kind generated.ImportKind) training.ImportFile {
	return training.ImportFile{Name: file.Filename, Kind: exchange.Kind(strings.ToLower(string(kind))), Body: file.File}
}

func lookOf(p training.ImportPreview) *generated.ImportLook {
	out := &generated.ImportLook{Rows: p.Rows, New: append([]int{}, p.New...), Known: []int{}, Refusals: []generated.ImportRefusal{}}
	for _, k := range p.Known {
		out.Known = append(out.Known, k.Row)
	}
	for _, r := range p.Refusals {
		out.Refusals = append(out.Refusals, generated.ImportRefusal{Row: r.Row, Column: r.Column, Cell: r.Cell, Message: r.Message})
	}
	return out
}
