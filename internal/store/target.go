package store

import (
	"context"
	"fmt"
	"reflect"
	"slices"

	"groundhand/internal/groundhand"
)

// checkNew refuses ids that were withdrawn before they were used. Names painted on things are ids too, and a name that once stood
// for something else would be withdrawn at birth.
func (s *Store) checkNew(ctx context.Context, t table, marks []mark) error {
	if !t.entry {
		return nil
	}
	var used []groundhand.EntryID
	err := s.read.WithContext(ctx).Raw("SELECT withdraws_id FROM withdrawals WHERE withdraws_id IN (SELECT value FROM json_each(?)) LIMIT 1",
		jsonKeys(idsOf(marks))).Scan(&used).Error
	if err != nil || len(used) == 0 {
		return coded(err)
	}
	return groundhand.Conflict("id", "The id %q was withdrawn; take another.", string(used[0]))
}

// checkTargets refuses corrections and withdrawals that are not recorded after what they name.
func (s *Store) checkTargets(ctx context.Context, t table, marks []mark) error {
	corrects := slices.ContainsFunc(marks, func(m mark) bool { return m.Replaces != "" })
	if !corrects {
		return nil
	}
	told, err := s.toldAt(ctx, t.name, replacedIn(marks))
	if err != nil {
		return err
	}
	var p groundhand.Problems
	for i, m := range marks {
		if m.Replaces != "" && !slices.ContainsFunc(told[m.Replaces], before(m.recordedAt)) {
			p.Add(groundhand.CodeInvalid, fieldAt(i, len(marks), "replacesId"), "A correction is recorded after what it corrects.")
		}
	}
	return p.Err()
}

// checkWithdrawn refuses withdrawals that name nothing, name more than one thing, or come before what they name.
func (s *Store) checkWithdrawn(ctx context.Context, withdrawals []groundhand.Withdrawal) error {
	ids := make([]groundhand.EntryID, len(withdrawals))
	for i, w := range withdrawals {
		ids[i] = w.WithdrawsID
	}
	told, err := s.toldAt(ctx, "entries", ids)
	if err != nil {
		return err
	}
	var p groundhand.Problems
	for i, w := range withdrawals {
		field, at := fieldAt(i, len(ids), "withdrawsId"), told[w.WithdrawsID]
		switch {
		case w.ReplacesID != "":
			p.Add(groundhand.CodeInvalid, fieldAt(i, len(ids), "replacesId"), "A withdrawal is not corrected; withdraw it.")
		case len(at) == 0:
			p.Add(groundhand.CodeNotFound, field, "There is no record with the id %q.", string(w.WithdrawsID))
		case len(at) > 1:
			p.Add(groundhand.CodeConflict, field, "More than one record has the id %q.", string(w.WithdrawsID))
		case !before(w.RecordedAt)(at[0]):
			p.Add(groundhand.CodeInvalid, field, "A withdrawal is recorded after what it withdraws.")
		}
	}
	return p.Err()
}

func before(at groundhand.Instant) func(groundhand.Instant) bool {
	return func(told groundhand.Instant) bool { return told < at }
}

// toldAt tells when the records with these ids were recorded.
func (s *Store) toldAt(ctx context.Context, from string, ids []groundhand.EntryID) (map[groundhand.EntryID][]groundhand.Instant, error) {
	rows, err := s.read.WithContext(ctx).Raw("SELECT id, recorded_at FROM "+from+" WHERE id IN (SELECT value FROM json_each(?))", jsonKeys(ids)).Rows()
	if err != nil {
		return nil, coded(err)
	}
	defer rows.Close()
	told := map[groundhand.EntryID][]groundhand.Instant{}
	for rows.Next() {
		var id groundhand.EntryID
		var at groundhand.Instant
		if err := rows.Scan(&id, &at); err != nil {
			return nil, err
		}
		told[id] = append(told[id], at)
	}
	return told, coded(rows.Err())
}

// KindOf names the table of the entry with an id, as "assessments"; an id that no entry has is NotFound.
func (s *Store) KindOf(ctx context.Context, id groundhand.EntryID) (string, error) {
	var kinds []string
	err := s.read.WithContext(ctx).Raw("SELECT kind FROM entries WHERE id = ?", string(id)).Scan(&kinds).Error
	switch {
	case err != nil:
		return "", coded(err)
	case len(kinds) == 0:
		return "", groundhand.NotFound("", "There is no record with the id %q.", string(id))
	case len(kinds) > 1:
		return "", groundhand.Conflict("", "More than one record has the id %q.", string(id))
	}
	return kinds[0], nil
}

// danglingReference says which references of the rows lead nowhere: the database itself says only that one does.
func (s *Store) danglingReference(ctx context.Context, t table, rows any, cause error) error {
	references, err := s.references(ctx, t)
	if err != nil {
		return err
	}
	var p groundhand.Problems
	list := reflect.ValueOf(rows)
	for _, column := range t.columns {
		to, refers := references[column]
		if !refers {
			continue
		}
		lost, err := s.lost(ctx, t, list, column, to)
		if err != nil {
			return err
		}
		for _, i := range lost {
			p.Add(groundhand.CodeInvalid, fieldAt(i, list.Len(), fieldName(column)), "There is no %q among the %s.", t.value(list.Index(i), column).String(), to)
		}
	}
	if !p.Any() {
		return coded(cause)
	}
	return p.Err()
}

// references gives the columns of t that refer to another table, with its name.
func (s *Store) references(ctx context.Context, t table) (map[string]string, error) {
	rows, err := s.read.WithContext(ctx).Raw(`SELECT "from", "table" FROM pragma_foreign_key_list(?)`, t.name).Rows()
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	out := map[string]string{}
	for rows.Next() {
		var from, to string
		if err := rows.Scan(&from, &to); err != nil {
			return nil, err
		}
		out[from] = to
	}
	return out, rows.Err()
}

// lost gives the places of the rows whose reference is in neither the table it refers to nor among the rows themselves.
func (s *Store) lost(ctx context.Context, t table, list reflect.Value, column, to string) ([]int, error) {
	keys, known := make([]string, list.Len()), map[string]bool{"": true}
	for i := range list.Len() {
		keys[i] = t.value(list.Index(i), column).String()
		if to == t.name {
			known[t.value(list.Index(i), "id").String()] = true
		}
	}
	var found []string
	err := s.read.WithContext(ctx).Raw("SELECT id FROM "+to+" WHERE id IN (SELECT value FROM json_each(?))", jsonKeys(keys)).Scan(&found).Error
	if err != nil {
		return nil, err
	}
	for _, id := range found {
		known[id] = true
	}
	var out []int
	for i, k := range keys {
		if !known[k] {
			out = append(out, i)
		}
	}
	return out, nil
}

func replacedIn(marks []mark) (ids []groundhand.EntryID) {
	for _, m := range marks {
		if m.Replaces != "" {
			ids = append(ids, m.Replaces)
		}
	}
	return ids
}

// fieldAt is the path of a field: with a place in front when several rows were given.
func fieldAt(i, of int, field string) string {
	if of == 1 {
		return field
	}
	return fmt.Sprintf("[%d].%s", i, field)
}
