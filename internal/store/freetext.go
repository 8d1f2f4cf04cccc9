package store

import (
	"context"
	"slices"
	"strings"

	"groundhand/internal/groundhand"
)

// freeTexts are the columns in which people write in their own words. What is sealed is not among them; it is erased without being read.
var freeTexts = []string{"because", "coaching", "basis", "remarks", "claim", "reason", "cause", "what", "conditions", "problem", "finding"}

// FreeTexts shows everything that people wrote in their own words, entry by entry, kind after kind.
func (s *Store) FreeTexts(ctx context.Context, show func(id groundhand.EntryID, text string)) error {
	return s.InSnapshot(ctx, func(seen *Store) error {
		kinds, err := seen.kinds(ctx)
		for _, k := range kinds {
			if err == nil {
				err = seen.textsOf(ctx, k, show)
			}
		}
		return err
	})
}

func (s *Store) textsOf(ctx context.Context, k kind, show func(groundhand.EntryID, string)) error {
	var columns []string
	for _, c := range k.columns {
		if _, hidden := sealed[k.table][c]; slices.Contains(freeTexts, c) && !hidden {
			columns = append(columns, c)
		}
	}
	if len(columns) == 0 || !slices.Contains(k.columns, "id") {
		return nil
	}
	all := strings.Join(columns, " || char(10) || ")
	rows, err := s.read.WithContext(ctx).Raw("SELECT id, " + all + " FROM " + k.table + " WHERE " + strings.Join(columns, " || ") + " <> '' ORDER BY id").Rows()
	if err != nil {
		return coded(err)
	}
	defer rows.Close()
	for rows.Next() {
		var id groundhand.EntryID
		var text string
		if err := rows.Scan(&id, &text); err != nil {
			return err
		}
		show(id, text)
	}
	return coded(rows.Err())
}
