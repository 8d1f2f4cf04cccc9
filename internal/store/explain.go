package store

import (
	"bytes"
	"fmt"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/ledger"
)

// explain finds out what was done to an entry that is not what its leaf says. A leaf tells only whether a guess at it is right; so what the
// entry may have been before is guessed.
func (c *checking) explain(e logEntry, column string) (*Misfit, error) {
	m := &Misfit{What: EntryChanged, N: e.n, Kind: e.kind, ID: e.id}
	hash, err := e.hash()
	if err != nil {
		return nil, err
	}
	if m.Other, err = c.leafOf(hash, e.n); m.Other != "" || err != nil {
		m.What = LeafOutOfOrder
		return m, err
	}
	if m.Other, err = c.swappedWith(e); m.Other != "" || err != nil {
		m.What = EntriesSwapped
		return m, err
	}
	if column != "" {
		m.Column = column
		return m, nil
	}
	m.Column, m.Was, err = c.guess(e)
	return m, err
}

// leafOf names the entry under whose number, which is another, the hash of a leaf stands.
func (c *checking) leafOf(hash ledger.Hash, n int64) (string, error) {
	var ids []string
	err := c.s.read.WithContext(c.ctx).Raw("SELECT entry_id FROM leaves WHERE substr(hashes, 1, 32) = ? AND n <> ? LIMIT 1", hash[:], n).Scan(&ids).Error
	if err != nil || len(ids) == 0 {
		return "", coded(err)
	}
	return ids[0], nil
}

// swappedWith names the entry of the same kind that said what this one says now.
func (c *checking) swappedWith(e logEntry) (string, error) {
	last, err := c.s.logSize(c.ctx)
	if err != nil {
		return "", err
	}
	for first := int64(0); first < last; first += stride {
		others, err := c.s.entriesAt(c.ctx, first, first+stride-1)
		if err != nil {
			return "", err
		}
		for _, other := range others {
			if other.kind == e.kind && other.n != e.n && other.cells != nil && c.saidThat(other, e) {
				return other.id, nil
			}
		}
	}
	return "", nil
}

// saidThat says whether an entry, when it was logged, said what another one says now.
func (c *checking) saidThat(entry, other logEntry) bool {
	own := entry.cells
	entry.cells = slices.Clone(other.cells)
	for i, cell := range own {
		if cell.Column == "id" || entry.kind == "acts" && (cell.Column == "account_id" || cell.Column == "key") {
			entry.cells[i] = cell
		}
	}
	hash, err := entry.hash()
	return err == nil && bytes.HasPrefix(entry.hashes, hash[:]) && c.brokenSeal(entry) == ""
}

// guess tries for each column what may have stood there: nothing, what stands in other rows, and days and numbers near by.
func (c *checking) guess(e logEntry) (column, was string, err error) {
	cells := e.sealedCells()
	for i, cell := range cells {
		if _, is := cell.Value.(ledger.Sealed); is {
			continue
		}
		values, err := c.elsewhere(e.kind, cell.Column)
		if err != nil {
			return "", "", err
		}
		for _, v := range append(append(values, nil), near(cell.Value)...) {
			cells[i].Value = v
			record, err := ledger.Record(e.kind, cells)
			if err != nil {
				return "", "", err
			}
			if hash := ledger.LeafHash(record); bytes.HasPrefix(e.hashes, hash[:]) {
				return cell.Column, spoken(v), nil
			}
		}
		cells[i] = cell
	}
	return "", "", nil
}

func spoken(value any) string {
	if ledger.SaysNothing(value) {
		return ""
	}
	return fmt.Sprint(value)
}

// elsewhere lists what stands in a column, up to a number of values.
func (c *checking) elsewhere(table, column string) ([]any, error) {
	rows, err := c.s.read.WithContext(c.ctx).Raw("SELECT DISTINCT " + column + " FROM " + table + " LIMIT 2000").Rows()
	if err != nil {
		return nil, coded(err)
	}
	defer rows.Close()
	var out []any
	for rows.Next() {
		var v any
		if err := rows.Scan(&v); err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, coded(rows.Err())
}

const (
	nearDays    = 3660
	nearNumbers = 2000
)

// near lists days and small numbers about a value.
func near(value any) (out []any) {
	switch v := value.(type) {
	case int64:
		for n := max(1, v-nearNumbers); n <= v+nearNumbers && v < 1_000_000; n++ {
			out = append(out, n)
		}
	case string:
		day, err := groundhand.ParseDate(v)
		for i := -nearDays; err == nil && i <= nearDays; i++ {
			out = append(out, day.AddDays(i).String())
		}
	}
	return out
}
