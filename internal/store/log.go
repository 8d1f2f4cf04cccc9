package store

import (
	"context"
	"crypto/rand"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"

	"groundhand/internal/groundhand"
	"groundhand/internal/ledger"
)

// sealed are the columns that a leaf seals, because they may be erased, and whose code may take their place: of the worker that a row
// (called t) is about, in SQL, or of anybody where that is not told.
var sealed = map[string]map[string]string{
	"workers":                {"number": "t.id"},
	"worker_names":           {"name": "t.worker_id"},
	"worker_numbers":         {"number": "t.worker_id"},
	"aliases":                {"name": "t.worker_id"},
	"certificates":           {"person_name": "t.worker_id", "assessor_name": "", "signed": ""},
	"unavailability_reasons": {"reason": "(SELECT u.worker_id FROM unavailabilities u WHERE u.id = t.unavailability_id)"},
	"import_rows":            {"cells": "t.worker_id"},
}

// unlogged is the one table without leaves: a token is revoked, and is no record.
const unlogged = "tokens"

// journal collects the leaves of a transaction until it commits.
type journal struct {
	leaves []pendingLeaf
	people *persons // who is one person, once the transaction has said something about it
	erased bool     // names, which the write-ahead log of the file still tells
}

type pendingLeaf struct {
	kind, id string
	record   []byte
	seals    []seal
}

type seal struct {
	field  string
	salt   []byte
	digest ledger.Sealed
}

// note makes the leaves of rows that were added.
func note[T any](tx *Store, t table, rows []T) error {
	if tx.noLog || t.name == unlogged {
		return nil
	}
	for i := range rows {
		cells, err := t.stored(reflect.ValueOf(&rows[i]).Elem())
		if err != nil {
			return err
		}
		leaf, err := tx.leafOf(t.name, cells)
		if err != nil {
			return err
		}
		tx.journal.leaves = append(tx.journal.leaves, leaf)
	}
	return nil
}

// stored gives a row's cells as the database keeps them.
func (t table) stored(row reflect.Value) ([]ledger.Cell, error) {
	cells := make([]ledger.Cell, len(t.byName))
	for i, at := range t.byName {
		value, err := driver.DefaultParameterConverter.ConvertValue(row.FieldByIndex(t.fields[at].StructField.Index).Interface())
		if err != nil {
			return nil, fmt.Errorf("%s.%s: %w", t.name, t.columns[at], err)
		}
		if yes, is := value.(bool); is {
			value = int64(0)
			if yes {
				value = int64(1)
			}
		}
		cells[i] = ledger.Cell{Column: t.columns[at], Value: value}
	}
	return cells, nil
}

func (s *Store) leafOf(kind string, cells []ledger.Cell) (pendingLeaf, error) {
	leaf := pendingLeaf{kind: kind, id: entryID(kind, cells)}
	for i, c := range cells {
		if _, hide := sealed[kind][c.Column]; !hide || ledger.SaysNothing(c.Value) {
			continue
		}
		salt := make([]byte, ledger.SaltSize)
		if _, err := io.ReadFull(s.random, salt); err != nil {
			return leaf, fmt.Errorf("make a salt: %w", err)
		}
		hidden := seal{field: c.Column, salt: salt, digest: ledger.Seal(salt, c.Value.(string))}
		leaf.seals = append(leaf.seals, hidden)
		cells[i].Value = hidden.digest
	}
	var err error
	leaf.record, err = ledger.Record(kind, cells)
	return leaf, err
}

// entryID is the id of a row in the log.
func entryID(kind string, cells []ledger.Cell) string {
	if kind == "acts" {
		return textOf(cells, "account_id") + "/" + textOf(cells, "key")
	}
	return textOf(cells, "id")
}

func textOf(cells []ledger.Cell, column string) string {
	for _, c := range cells {
		if c.Column == column {
			text, _ := c.Value.(string)
			return text
		}
	}
	return ""
}

// writeLeaves adds the leaves of a transaction to the log, at its end.
func (s *Store) writeLeaves(ctx context.Context, leaves []pendingLeaf) (ledger.Frontier, error) {
	if len(leaves) == 0 {
		return ledger.Frontier{}, nil
	}
	edge, err := s.edge(ctx)
	if err != nil {
		return edge, err
	}
	var rows, seals []any
	for _, leaf := range leaves {
		n := edge.Size()
		rows = append(rows, n, leaf.kind, leaf.id, joined(edge.Add(ledger.LeafHash(leaf.record))))
		for _, x := range leaf.seals {
			seals = append(seals, n, x.field, x.salt, x.digest[:])
		}
	}
	err = s.insertFours(ctx, "INSERT INTO leaves (n, kind, entry_id, hashes) VALUES ", rows)
	if err == nil {
		err = s.insertFours(ctx, "INSERT INTO seals (n, field, salt, digest) VALUES ", seals)
	}
	return edge, err
}

// insertFours inserts rows of four values, some at a time.
func (s *Store) insertFours(ctx context.Context, into string, values []any) error {
	for part := range slices.Chunk(values, 4*batch) {
		query := into + "(?, ?, ?, ?)" + strings.Repeat(", (?, ?, ?, ?)", len(part)/4-1)
		if err := s.write.WithContext(ctx).Exec(query, part...).Error; err != nil {
			return err
		}
	}
	return nil
}

func joined(hashes []ledger.Hash) []byte {
	out := make([]byte, 0, len(hashes)*len(ledger.Hash{}))
	for _, h := range hashes {
		out = append(out, h[:]...)
	}
	return out
}

// edge is the right edge of the log: the one kept from the last transaction, unless another program wrote meanwhile.
func (s *Store) edge(ctx context.Context) (ledger.Frontier, error) {
	size, err := s.logSize(ctx)
	if err != nil {
		return ledger.Frontier{}, err
	}
	s.mu.Lock()
	kept := s.frontier
	s.mu.Unlock()
	if kept.Size() == size {
		return kept, nil
	}
	return ledger.Edge(size, s.hashes(ctx))
}

func (s *Store) keepEdge(edge ledger.Frontier) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.frontier = edge
}

func (s *Store) logSize(ctx context.Context) (size int64, err error) {
	err = s.read.WithContext(ctx).Raw("SELECT coalesce(max(n) + 1, 0) FROM leaves").Scan(&size).Error
	return size, err
}

// storedHashes reads hashes of the log from where they are stored.
type storedHashes func(indexes []int64) ([]ledger.Hash, error)

// ReadHashes gives the hashes with these indexes.
func (read storedHashes) ReadHashes(indexes []int64) ([]ledger.Hash, error) { return read(indexes) }

func (s *Store) hashes(ctx context.Context) storedHashes {
	return func(indexes []int64) ([]ledger.Hash, error) {
		out := make([]ledger.Hash, len(indexes))
		for i, index := range indexes {
			var hash []byte
			at := ledger.PlaceOf(index)
			err := s.read.WithContext(ctx).Raw("SELECT substr(hashes, ?, 32) FROM leaves WHERE n = ?", 32*at.Level+1, at.Leaf).Row().Scan(&hash)
			if err != nil || len(hash) != len(out[i]) {
				return nil, errors.Join(fmt.Errorf("the log has no hash of level %d at leaf %d", at.Level, at.Leaf), err)
			}
			out[i] = ledger.Hash(hash)
		}
		return out, nil
	}
}

// randomness is where salts and the log's name come from.
func randomness(given io.Reader) io.Reader {
	if given != nil {
		return given
	}
	return rand.Reader
}

// Checkpoint says how far the log has come. It is read from what is stored; Verify proves that this fits the records.
func (s *Store) Checkpoint(ctx context.Context) (c ledger.Checkpoint, err error) {
	err = s.inLog(ctx, func(seen *Store, origin string) error {
		edge, err := seen.edge(ctx)
		c = ledger.Checkpoint{Origin: origin, Size: edge.Size(), Root: edge.Root()}
		return err
	})
	return c, err
}

// InclusionProof proves that the entry of a kind, which is the name of its table, is in the log; NotFound when it has no leaf. The bytes
// of the leaf are made from the entry as it is now; Check tells whether they fit.
func (s *Store) InclusionProof(ctx context.Context, kind, id string) (proof ledger.Inclusion, err error) {
	err = s.inLog(ctx, func(seen *Store, _ string) error {
		var at []int64
		if err := seen.read.WithContext(ctx).Raw("SELECT n FROM leaves WHERE entry_id = ? AND kind = ?", id, kind).Scan(&at).Error; err != nil {
			return err
		}
		if len(at) == 0 {
			return groundhand.NotFound("", "There is no entry with the id %q of this kind in the log.", id)
		}
		entries, err := seen.entriesAt(ctx, at[0], at[0])
		if err != nil {
			return err
		}
		size, err := seen.logSize(ctx)
		if err != nil {
			return err
		}
		record, err := ledger.Record(kind, entries[0].sealedCells())
		if err == nil {
			proof, err = ledger.Include(at[0], record, size, seen.hashes(ctx))
		}
		return err
	})
	return proof, err
}

// inLog does something in a snapshot of records whose log has begun.
func (s *Store) inLog(ctx context.Context, do func(seen *Store, origin string) error) error {
	if s.looksBack {
		return errors.New("the log is not asked for in the past")
	}
	return s.InSnapshot(ctx, func(seen *Store) error {
		var tables int
		err := seen.read.WithContext(ctx).Raw("SELECT count(*) FROM sqlite_schema WHERE name = 'log_origin'").Scan(&tables).Error
		if err != nil {
			return err
		}
		origin := ""
		if tables == 1 {
			if origin, err = seen.origin(ctx); err != nil {
				return err
			}
		}
		if origin == "" {
			return ErrNoLog
		}
		return do(seen, origin)
	})
}

// ErrNoLog says that the records are those of an older program and their log has not begun.
var ErrNoLog = errors.New("the records have no log yet; it begins when this program opens them for writing")
