package store

import (
	"context"
	"database/sql"

	"gorm.io/gorm"
)

// keepStatements prepares once for all connections what was prepared inside a snapshot. A statement prepared there belongs to that transaction:
// it would be parsed again in every later one, which took most of the time of a short read.
//
// Nothing is held while it waits for a connection: whoever has one may be waiting for the same statement. One caller at a time does it, the
// others need not wait.
func (s *Store) keepStatements(ctx context.Context) {
	held, is := s.read.ConnPool.(*gorm.PreparedStmtDB)
	if !is || !s.settling.TryLock() {
		return
	}
	defer s.settling.Unlock()
	for _, query := range held.Stmts.Keys() {
		found, is := held.Stmts.Get(query)
		if !is || !found.Transaction {
			continue
		}
		statement, err := held.ConnPool.PrepareContext(ctx, query)
		if err != nil {
			return // who asked has left; the next one does it
		}
		held.Mux.Lock() // New lets it go
		_, _ = held.Stmts.New(ctx, query, false, ready{statement}, held.Mux)
	}
}

// ready gives a statement that is prepared already.
type ready struct{ statement *sql.Stmt }

func (r ready) PrepareContext(context.Context, string) (*sql.Stmt, error) { return r.statement, nil }
