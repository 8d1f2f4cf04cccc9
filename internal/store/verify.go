package store

import (
	"bytes"
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/ledger"
)

// Verified is what a check of the whole log found.
type Verified struct {
	Origin string
	Size   int64       // leaves that were checked: all, or those before the misfit
	Root   ledger.Hash // over them, made anew from the records
	Misfit *Misfit     // the first thing that does not fit; nil: the records are what was logged
}

// Misfit is an entry that is not as it was logged, or a log that is not as it was.
type Misfit struct {
	What   MisfitKind
	N      int64 // number of the leaf; for an entry without one the size of the log
	Kind   string
	ID     string // of the entry, as the log names it; empty where it cannot be told
	Column string // that was changed, where it can be told
	Was    string // what stood there, where it can be told; empty also when nothing did
	Other  string // the entry that it was swapped with
}

// MisfitKind is what is wrong.
type MisfitKind string

// The kinds.
const (
	EntryChanged   MisfitKind = "ENTRY_CHANGED"
	EntryRemoved   MisfitKind = "ENTRY_REMOVED"
	EntryUnlogged  MisfitKind = "ENTRY_UNLOGGED"  // it was put in past the program
	EntriesSwapped MisfitKind = "ENTRIES_SWAPPED" // it says what another one said
	LeafRemoved    MisfitKind = "LEAF_REMOVED"    // a number is missing
	LeafOutOfOrder MisfitKind = "LEAF_OUT_OF_ORDER"
	HashWrong      MisfitKind = "HASH_WRONG"    // the leaves fit their entries and do not make the hashes kept with them
	LogShorter     MisfitKind = "LOG_SHORTER"   // than the checkpoint
	LogRewritten   MisfitKind = "LOG_REWRITTEN" // what the checkpoint was made of is not what is there now
	OtherLog       MisfitKind = "OTHER_LOG"     // the checkpoint is another log's
)

// Verify proves that every record is what its leaf says, that every record has its leaf and every leaf its record, and that the hashes are
// those of the leaves; with a checkpoint, that the log began as that says. It reads everything. ErrNoLog when no log has begun.
func (s *Store) Verify(ctx context.Context, against *ledger.Checkpoint) (v Verified, err error) {
	err = s.inLog(ctx, func(seen *Store, origin string) error {
		v.Origin = origin
		c := checking{ctx: ctx, s: seen, against: against}
		v.Misfit, err = c.all(origin)
		v.Size, v.Root = c.edge.Size(), c.edge.Root()
		return err
	})
	return v, err
}

// checking walks through the log and makes it anew.
type checking struct {
	ctx     context.Context
	s       *Store
	against *ledger.Checkpoint
	kinds   []kind
	edge    ledger.Frontier
	forged  map[int64]string // leaves whose sealed column was changed under cover of an erasure, with the column
}

// stride is how many leaves are read at a time.
const stride = 2000

func (c *checking) all(origin string) (m *Misfit, err error) {
	if c.against != nil && c.against.Origin != origin {
		return &Misfit{What: OtherLog, Other: c.against.Origin}, nil
	}
	if c.kinds, err = c.s.kinds(c.ctx); err != nil {
		return nil, err
	}
	if c.forged, err = c.s.forged(c.ctx); err != nil {
		return nil, err
	}
	last, err := c.s.logSize(c.ctx)
	if err != nil {
		return nil, err
	}
	for first := int64(0); first < last; first += stride {
		entries, err := c.s.entriesAt(c.ctx, first, first+stride-1)
		if err != nil {
			return nil, err
		}
		for _, e := range entries {
			if m, err := c.next(e); m != nil || err != nil {
				return m, err
			}
		}
	}
	if m, err := c.unlogged(); m != nil || err != nil {
		return m, err
	}
	return c.began(), nil
}

// next checks one leaf and adds it to the tree that is made anew.
func (c *checking) next(e logEntry) (*Misfit, error) {
	if m := c.began(); m != nil && m.What == LogRewritten {
		return m, nil
	}
	if e.n != c.edge.Size() {
		return c.gap()
	}
	wrong := Misfit{N: e.n, Kind: e.kind, ID: e.id}
	if e.cells == nil {
		wrong.What = EntryRemoved
		return &wrong, nil
	}
	hash, err := e.hash()
	if err != nil {
		return nil, err
	}
	if column := c.brokenSeal(e); column != "" || !bytes.HasPrefix(e.hashes, hash[:]) {
		return c.explain(e, column)
	}
	if !bytes.Equal(e.hashes, joined(c.edge.Add(hash))) {
		wrong.What = HashWrong
		return &wrong, nil
	}
	return nil, nil
}

// gap says which leaf is missing, and whose it was where exactly that entry has none.
func (c *checking) gap() (*Misfit, error) {
	m := &Misfit{What: LeafRemoved, N: c.edge.Size()}
	entry, err := c.unlogged()
	if entry != nil {
		m.Kind, m.ID = entry.Kind, entry.ID
	}
	return m, err
}

// began compares with the checkpoint as far as the log is made anew.
func (c *checking) began() *Misfit {
	switch {
	case c.against == nil, c.against.Size < c.edge.Size():
		return nil
	case c.against.Size > c.edge.Size():
		return &Misfit{What: LogShorter, N: c.edge.Size()}
	case c.against.Root != c.edge.Root():
		return &Misfit{What: LogRewritten, N: c.edge.Size()}
	}
	return nil
}

// unlogged finds an entry that has no leaf.
func (c *checking) unlogged() (*Misfit, error) {
	for _, k := range c.kinds {
		var ids []string
		err := c.s.read.WithContext(c.ctx).Raw("SELECT "+k.id()+" FROM "+k.table+" t WHERE NOT EXISTS (SELECT 1 FROM leaves l WHERE l.entry_id = "+k.id()+
			" AND l.kind = ?) ORDER BY t."+k.told+" LIMIT 1", k.table).Scan(&ids).Error
		if err != nil {
			return nil, coded(err)
		}
		if len(ids) > 0 {
			return &Misfit{What: EntryUnlogged, N: c.edge.Size(), Kind: k.table, ID: ids[0]}, nil
		}
	}
	return nil, nil
}

// brokenSeal names a sealed column that is not what was sealed.
func (c *checking) brokenSeal(e logEntry) string {
	if column := c.forged[e.n]; column != "" {
		return column
	}
	for _, x := range e.seals {
		if x.salt != nil && ledger.Seal(x.salt, textOf(e.cells, x.field)) != x.digest {
			return x.field
		}
	}
	return ""
}

// logEntry is a leaf with the row it belongs to.
type logEntry struct {
	n        int64
	kind, id string
	hashes   []byte
	cells    []ledger.Cell // nil: there is no such row
	seals    []seal
}

// sealedCells are the cells as a leaf has them.
func (e logEntry) sealedCells() []ledger.Cell {
	cells := slices.Clone(e.cells)
	for _, x := range e.seals {
		for i := range cells {
			if cells[i].Column == x.field {
				cells[i].Value = x.digest
			}
		}
	}
	return cells
}

func (e logEntry) hash() (ledger.Hash, error) {
	record, err := ledger.Record(e.kind, e.sealedCells())
	return ledger.LeafHash(record), err
}

// entriesAt reads the leaves from the first to the last number with their rows.
func (s *Store) entriesAt(ctx context.Context, first, last int64) ([]logEntry, error) {
	out, err := s.leavesBetween(ctx, first, last)
	if err != nil {
		return nil, err
	}
	seals, err := s.sealsBetween(ctx, first, last)
	if err != nil {
		return nil, err
	}
	kinds, err := s.kinds(ctx)
	if err != nil {
		return nil, err
	}
	present := map[string]bool{}
	for i := range out {
		present[out[i].kind] = true
		out[i].seals = seals[out[i].n]
	}
	for _, k := range kinds {
		if !present[k.table] {
			continue
		}
		rows, err := s.cellsBy(ctx, k, "l.n", "FROM leaves l CROSS JOIN "+k.table+" t ON "+k.isLeaf()+" WHERE l.kind = ? AND l.n BETWEEN ? AND ?", k.table, first, last)
		if err != nil {
			return nil, err
		}
		for i := range out {
			if out[i].kind == k.table {
				out[i].cells = rows[out[i].n]
			}
		}
	}
	return out, nil
}

func (s *Store) leavesBetween(ctx context.Context, first, last int64) ([]logEntry, error) {
	rows, err := s.read.WithContext(ctx).Raw("SELECT n, kind, entry_id, hashes FROM leaves WHERE n BETWEEN ? AND ? ORDER BY n", first, last).Rows()
	if err != nil {
		return nil, coded(err)
	}
	defer rows.Close()
	var out []logEntry
	for rows.Next() {
		var e logEntry
		if err := rows.Scan(&e.n, &e.kind, &e.id, &e.hashes); err != nil {
			return nil, err
		}
		out = append(out, e)
	}
	return out, coded(rows.Err())
}

func (s *Store) sealsBetween(ctx context.Context, first, last int64) (map[int64][]seal, error) {
	rows, err := s.read.WithContext(ctx).Raw("SELECT n, field, salt, digest FROM seals WHERE n BETWEEN ? AND ?", first, last).Rows()
	if err != nil {
		return nil, coded(err)
	}
	defer rows.Close()
	out := map[int64][]seal{}
	for rows.Next() {
		var n int64
		var x seal
		var digest []byte
		if err := rows.Scan(&n, &x.field, &x.salt, &digest); err != nil {
			return nil, err
		}
		copy(x.digest[:], digest)
		out[n] = append(out[n], x)
	}
	return out, coded(rows.Err())
}

// forged finds leaves whose salt is gone though no erasure put its code in the column's place.
func (s *Store) forged(ctx context.Context) (map[int64]string, error) {
	out := map[int64]string{}
	for table, columns := range sealed {
		for column, owner := range columns {
			condition := codeIn(table, column)
			if owner != "" {
				condition += " AND e.worker_id = " + owner
			}
			var at []int64
			err := s.read.WithContext(ctx).Raw("SELECT l.n FROM seals x JOIN leaves l ON l.n = x.n JOIN "+table+" t ON t.id = l.entry_id WHERE x.salt IS NULL AND l.kind = ? AND x.field = ?"+
				" AND NOT EXISTS (SELECT 1 FROM erasures e WHERE "+condition+")", table, column).Scan(&at).Error
			if err != nil {
				return nil, coded(err)
			}
			for _, n := range at {
				out[n] = column
			}
		}
	}
	return out, nil
}

// codeIn says in SQL that a column of a row t holds the code of an erasure e.
func codeIn(table, column string) string { return "t." + column + " = " + codeFor(table) }

// codeFor is the code of an erasure e as a column of a table holds it.
func codeFor(table string) string {
	if table == "import_rows" {
		return "json_array(e.code)"
	}
	return "e.code"
}

// EraseNames puts the code of each worker's erasure in the place of names, numbers, reasons, imported cells and signed certificates, and
// forgets the salts of their seals. It is called in the transaction that added the Erasure of each worker, which must stand; a code belongs to one worker. The
// log still proves everything else of these entries.
func (s *Store) EraseNames(ctx context.Context, workers []groundhand.WorkerID) error {
	return s.InTx(ctx, func(tx *Store) error {
		codes, err := FindStanding[groundhand.Erasure](ctx, tx.Apart(), ByWorker, workers)
		if err != nil {
			return err
		}
		of := map[groundhand.WorkerID]string{}
		for _, e := range codes {
			of[e.WorkerID] = e.Code
		}
		for _, w := range workers {
			if of[w] == "" {
				return groundhand.Invalid("workerId", "There is no erasure of the worker %q.", string(w))
			}
			if err := tx.eraseNamesOf(ctx, w, of[w]); err != nil {
				return err
			}
		}
		tx.journal.erased = true
		return nil
	})
}

// foldBack empties the write-ahead log into the file, because older pages in it tell what was erased. Where a reader keeps it from doing so, it is
// done by the end of the program.
func (s *Store) foldBack(ctx context.Context) {
	_ = s.write.WithContext(ctx).Exec("PRAGMA wal_checkpoint(TRUNCATE)").Error
}

// certificatesBy finds the certificates t on which somebody is named who assessed, or watched a drill.
const certificatesBy = `(t.evidence_id IN (SELECT a.id FROM assessments a WHERE a.assessor_id = ?)
OR t.evidence_id IN (SELECT p.id FROM runs r JOIN run_parts p ON p.run_id = r.id WHERE r.watched_by = ?))`

func (s *Store) eraseNamesOf(ctx context.Context, worker groundhand.WorkerID, code string) error {
	for table, columns := range sealed {
		for column, owner := range columns {
			condition, args := owner+" = ?", []any{string(worker)}
			switch {
			case table == "certificates" && column == "signed": // holds both names
				condition, args = "(t.worker_id = ? OR "+certificatesBy+")", append(args, args[0], args[0])
			case owner == "":
				condition, args = certificatesBy, append(args, args...)
			}
			if err := s.eraseIn(ctx, table, column, code, condition, args); err != nil {
				return err
			}
		}
	}
	return nil
}

func (s *Store) eraseIn(ctx context.Context, table, column, code, condition string, args []any) error {
	rows := " FROM " + table + " t WHERE " + condition
	forget := "UPDATE seals SET salt = NULL WHERE salt IS NOT NULL AND field = ? AND n IN (SELECT l.n FROM leaves l WHERE l.kind = ? AND l.entry_id IN (SELECT t.id" + rows + "))"
	if err := s.write.WithContext(ctx).Exec(forget, append([]any{column, table}, args...)...).Error; err != nil {
		return coded(err)
	}
	put := "UPDATE " + table + " SET " + column + " = e.code FROM (SELECT " + codeFor(table) + " AS code FROM (SELECT ? AS code) e) e WHERE " +
		column + " NOT IN ('', '[]', e.code) AND id IN (SELECT t.id" + rows + ")"
	return coded(s.write.WithContext(ctx).Exec(put, append([]any{code}, args...)...).Error)
}
