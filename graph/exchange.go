package graph

import (
	"context"
	"errors"
	"strings"

	"github.com/99designs/gqlgen/graphql"

	"groundhand/graph/generated"
	"groundhand/internal/exchange"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/training"
)

func (m mutation) PreviewImport(ctx context.Context, file graphql.Upload, kind generated.ImportKind, mapping []string) (*generated.ImportLook, error) {
	seen, err := m.Desk.Preview(ctx, viewer(ctx), importFile(file, kind, mapping))
	if err != nil {
		return nil, err
	}
	return lookOf(seen), nil
}

// ImportFile answers with the preview when the file was refused: its refusals say why, row by row, and nothing was written.
func (m mutation) ImportFile(ctx context.Context, key string, file graphql.Upload, kind generated.ImportKind, rows []int, mapping []string, accept *generated.ImportAccept) (*generated.ImportResult, error) {
	clean := or(accept) == generated.ImportAcceptClean
	if clean && rows != nil {
		return nil, groundhand.Invalid("rows", "Give row numbers or accept CLEAN, not both.")
	}
	take := training.Accept{All: rows == nil && !clean, Clean: clean, Rows: rows}
	done, err := m.Desk.Import(ctx, viewer(ctx), key, importFile(file, kind, mapping), take)
	if err != nil && len(done.Preview.Refusals) > 0 && errors.Is(err, groundhand.CodeInvalid) {
		return &generated.ImportResult{Preview: lookOf(done.Preview)}, nil
	}
	if err != nil {
		return nil, err
	}
	return &generated.ImportResult{Written: done.Written, Known: done.Known, Preview: lookOf(done.Preview)}, nil
}

func importFile(file graphql.Upload, kind generated.ImportKind, mapping []string) training.ImportFile {
	return training.ImportFile{Name: file.Filename, Kind: exchange.Kind(strings.ToLower(string(kind))), Body: file.File, Mapping: mapping}
}

func lookOf(p training.ImportPreview) *generated.ImportLook {
	out := &generated.ImportLook{Rows: p.Rows, New: append([]int{}, p.New...), Known: []int{}, Refusals: []generated.ImportRefusal{}, Columns: columnsOf(p.Columns),
		Earlier: someOrNil(p.Earlier), Judged: someOrNil(p.Judged), Unjudged: p.Unjudged, Standings: each(p.Standings, importedStanding)}
	for _, k := range p.Known {
		out.Known = append(out.Known, k.Row)
	}
	for _, r := range p.Refusals {
		out.Refusals = append(out.Refusals, generated.ImportRefusal{Row: r.Row, Column: r.Column, Cell: r.Cell, Message: r.Message})
	}
	return out
}

func columnsOf(c training.Columns) *generated.ImportColumns {
	return &generated.ImportColumns{Digest: c.Digest, Meanings: append([]string{}, c.Meanings...), Saved: string(c.Saved), Title: c.Title,
		Guesses: each(c.Proposal.Guesses, columnGuess), Missing: append([]string{}, c.Proposal.Missing...)}
}

func columnGuess(g exchange.Guess) generated.ColumnGuess {
	return generated.ColumnGuess{Letter: g.Letter, Heading: g.Heading, Column: g.Column, Sure: string(g.Sure), Why: g.Why}
}

func importedStanding(c training.StandingChange) generated.ImportedStanding {
	return generated.ImportedStanding{WorkerID: string(c.WorkerID), Number: c.Number, Name: c.Name, Method: c.Method, Role: someOrNil(c.Role), FamilyID: string(c.FamilyID),
		Before: someOrNil(word(c.Before.Standing)), GoodBefore: someOrNil(c.Before.LastGoodDay), After: someOrNil(word(c.After.Standing)), GoodAfter: someOrNil(c.After.LastGoodDay),
		Changed: c.Changed()}
}

func (m mutation) SaveMapping(ctx context.Context, key string, form training.MappingForm) (*groundhand.ColumnMapping, error) {
	return made(m.Desk.SaveMapping(ctx, viewer(ctx), key, form))
}

func (q query) ColumnMappings(ctx context.Context, first *int, after *string) (*generated.ColumnMappingConnection, error) {
	edges, info, err := page(ctx, q.Store, first, after, func(c groundhand.ColumnMapping) (generated.ColumnMappingEdge, string) {
		return generated.ColumnMappingEdge{Cursor: string(c.ID), Node: &c}, string(c.ID)
	})
	return &generated.ColumnMappingConnection{Edges: edges, PageInfo: info}, err
}

func (q query) ImportRows(ctx context.Context, digest string, first *int, after *string) (*generated.ImportRowConnection, error) {
	rows, err := store.Find[groundhand.ImportRow](ctx, q.Store, store.ByDigest, []string{digest})
	if err != nil {
		return nil, err
	}
	rows = byIDs(rows, func(r groundhand.ImportRow) groundhand.EntryID { return r.ID }, func(groundhand.ImportRow) bool { return true })
	edges, info, err := cut(rows, first, after, func(r groundhand.ImportRow) (generated.ImportRowEdge, string) {
		return generated.ImportRowEdge{Cursor: string(r.ID), Node: &r}, string(r.ID)
	})
	return &generated.ImportRowConnection{Edges: edges, PageInfo: info}, err
}
