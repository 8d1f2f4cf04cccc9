package store

import (
	"context"
	"encoding/hex"
	"fmt"
	"io"
	"slices"
	"strings"

	"groundhand/internal/ledger"
)

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
