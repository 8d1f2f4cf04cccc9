package store

import (
	"strings"

	"gorm.io/gorm"
)

// PlanOf gives the lines of the database's plan for a query of a store, which a test cannot ask a snapshot for otherwise.
func PlanOf(s *Store, query string, args ...any) (lines []string, err error) {
	rows, err := s.read.Raw("EXPLAIN QUERY PLAN "+query, args...).Rows()
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var id, parent, unused int
		var line string
		if err := rows.Scan(&id, &parent, &unused, &line); err != nil {
			return nil, err
		}
		lines = append(lines, line)
	}
	return lines, rows.Err()
}

// UsedIndexesQuery is what UsedIndexes asks, with a list.
func UsedIndexesQuery() string { return strings.Replace(usedIndexes, "?", "1", 1) }

// RevokedAmongQuery is what RevokedAmong asks, with nothing.
func RevokedAmongQuery() string {
	const none = " IN (SELECT value FROM json_each('[]'))"
	return revocationsOf("WHERE w.withdraws_id"+none, "AND r.replaces_id"+none, "")
}

// Bound counts the statements of the readers that belong to a transaction, and Kept all of them.
func Bound(s *Store) (bound, kept int) {
	held := s.read.ConnPool.(*gorm.PreparedStmtDB)
	for _, query := range held.Stmts.Keys() {
		if found, is := held.Stmts.Get(query); is && found.Transaction {
			bound++
		}
	}
	return bound, len(held.Stmts.Keys())
}
