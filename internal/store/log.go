package store

import (
	"context"
	"crypto/rand"
	"database/sql/driver"
	"encoding/hex"
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
	"certificates":           {"person_name": "t.worker_id", "assessor_name": ""},
	"unavailability_reasons": {"reason": "(SELECT u.worker_id FROM unavailabilities u WHERE u.id = t.unavailability_id)"},
	"import_rows":            {"cells": "t.worker_id"},
}

// unlogged is the one table without leaves: a token is revoked, and is no record.
const unlogged = "tokens"

// journal collects the leaves of a transaction until it commits.
type journal struct {
	leaves []pendingLeaf
	people *persons // who is one person, once the transaction has said something about it
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

// beginLog names the log of records that have none yet, and gives the rows that are there their leaves in the order they were recorded.
func (s *Store) beginLog(ctx context.Context) error {
	if origin, err := s.origin(ctx); err != nil || origin != "" {
		return err
	}
	return s.InTx(ctx, func(tx *Store) error {
		if origin, err := tx.origin(ctx); err != nil || origin != "" {
			return err // another program was quicker
		}
		name := make([]byte, 8)
		if _, err := io.ReadFull(s.random, name); err != nil {
			return fmt.Errorf("name the log: %w", err)
		}
		if err := tx.write.WithContext(ctx).Exec("INSERT INTO log_origin (origin, one) VALUES (?, 1)", "groundhand/"+hex.EncodeToString(name)).Error; err != nil {
			return err
		}
		return tx.logWhatIsThere(ctx)
	})
}

// origin is the name of the log; empty when it has not begun.
func (s *Store) origin(ctx context.Context) (origin string, err error) {
	err = s.read.WithContext(ctx).Raw("SELECT coalesce(max(origin), '') FROM log_origin").Scan(&origin).Error
	return origin, err
}

// place is where a row lies that has no leaf yet.
type place struct {
	kind  int
	rowID int64
}

func (s *Store) logWhatIsThere(ctx context.Context) error {
	kinds, err := s.kinds(ctx)
	if err != nil {
		return err
	}
	places, err := s.placesInOrder(ctx, kinds)
	if err != nil {
		return err
	}
	for part := range slices.Chunk(places, 10*batch) {
		leaves, err := s.leavesAt(ctx, kinds, part)
		if err != nil {
			return err
		}
		s.journal.leaves = append(s.journal.leaves, leaves...)
	}
	return nil
}

func (s *Store) placesInOrder(ctx context.Context, kinds []kind) ([]place, error) {
	var parts []string
	for i, k := range kinds {
		parts = append(parts, fmt.Sprintf("SELECT %s AS told, %d AS kind, %s AS id, t.rowid AS at FROM %s t", k.told, i, k.id(), k.table))
	}
	rows, err := s.read.WithContext(ctx).Raw(strings.Join(parts, " UNION ALL ") + " ORDER BY told, kind, id").Rows()
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []place
	for rows.Next() {
		var told int64
		var id string
		var p place
		if err := rows.Scan(&told, &p.kind, &id, &p.rowID); err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, rows.Err()
}

func (s *Store) leavesAt(ctx context.Context, kinds []kind, places []place) ([]pendingLeaf, error) {
	rowIDs := make(map[int][]string)
	for _, p := range places {
		rowIDs[p.kind] = append(rowIDs[p.kind], fmt.Sprint(p.rowID))
	}
	found := map[place][]ledger.Cell{}
	for i, at := range rowIDs {
		rows, err := s.cellsBy(ctx, kinds[i], "t.rowid", "FROM "+kinds[i].table+" t WHERE t.rowid IN ("+strings.Join(at, ",")+")")
		if err != nil {
			return nil, err
		}
		for rowID, cells := range rows {
			found[place{i, rowID}] = cells
		}
	}
	out := make([]pendingLeaf, 0, len(places))
	for _, p := range places {
		leaf, err := s.leafOf(kinds[p.kind].table, found[p])
		if err != nil {
			return nil, err
		}
		out = append(out, leaf)
	}
	return out, nil
}

// kind is a table whose rows have leaves, as the file describes it and not as the program does.
type kind struct {
	table, told string
	columns     []string // by name
}

// id is the id of a row t in the log, in SQL.
func (k kind) id() string {
	if k.table == "acts" {
		return "t.account_id || '/' || t.key"
	}
	return "t.id"
}

// isLeaf says in SQL that a row t is the entry of a leaf l, so that an index finds it.
func (k kind) isLeaf() string {
	if k.table == "acts" {
		return "t.account_id = substr(l.entry_id, 1, instr(l.entry_id, '/') - 1) AND t.key = substr(l.entry_id, instr(l.entry_id, '/') + 1)"
	}
	return "t.id = l.entry_id"
}

func (s *Store) kinds(ctx context.Context) ([]kind, error) {
	rows, err := s.read.WithContext(ctx).Raw(`SELECT m.name, c.name FROM main.sqlite_schema m, pragma_table_info(m.name) c
WHERE m.type = 'table' AND m.name <> ? ORDER BY m.name, c.name`, unlogged).Rows()
	if err != nil {
		return nil, coded(err)
	}
	defer rows.Close()
	var out []kind
	for rows.Next() {
		var table, column string
		if err := rows.Scan(&table, &column); err != nil {
			return nil, err
		}
		if len(out) == 0 || out[len(out)-1].table != table {
			out = append(out, kind{table: table})
		}
		last := &out[len(out)-1]
		last.columns = append(last.columns, column)
	}
	for i := range out {
		out[i].told = toldIn(out[i].columns)
	}
	return slices.DeleteFunc(out, func(k kind) bool { return k.told == "" }), rows.Err()
}

// toldIn is the column that says when a row was told; empty for tables that hold no records.
func toldIn(columns []string) string {
	for _, told := range toldBy {
		if slices.Contains(columns, told) {
			return told
		}
	}
	return ""
}

// cellsBy reads rows t of a kind by a number that tells them apart.
func (s *Store) cellsBy(ctx context.Context, k kind, number, from string, args ...any) (map[int64][]ledger.Cell, error) {
	rows, err := s.read.WithContext(ctx).Raw("SELECT "+number+", t."+strings.Join(k.columns, ", t.")+" "+from, args...).Rows()
	if err != nil {
		return nil, coded(err)
	}
	defer rows.Close()
	out := map[int64][]ledger.Cell{}
	for rows.Next() {
		var n int64
		cells := make([]ledger.Cell, len(k.columns))
		into := []any{&n}
		for i, c := range k.columns {
			cells[i].Column = c
			into = append(into, &cells[i].Value)
		}
		if err := rows.Scan(into...); err != nil {
			return nil, fmt.Errorf("read %s: %w", k.table, err)
		}
		out[n] = cells
	}
	return out, coded(rows.Err())
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
