package store

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
