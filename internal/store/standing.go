package store

import (
	"context"
	"reflect"
	"slices"

	"gorm.io/gorm"

	"groundhand/internal/groundhand"
)

// Standing gives every row of a type that is neither replaced nor withdrawn, in recorded order.
func Standing[T any](ctx context.Context, s *Store) ([]T, error) {
	t, err := tableOf[T]()
	if err != nil {
		return nil, err
	}
	return standingRows[T](ctx, s, t, func(_ *Store, query *gorm.DB) *gorm.DB { return query })
}

// FindStanding is Find without rows that are replaced or withdrawn.
func FindStanding[T any, K ~string](ctx context.Context, s *Store, by Field, keys []K) ([]T, error) {
	if len(keys) == 0 {
		return nil, nil
	}
	t, err := tableOf[T]()
	if err != nil {
		return nil, err
	}
	if _, err := t.among(by); err != nil {
		return nil, err
	}
	return standingRows[T](ctx, s, t, func(seen *Store, query *gorm.DB) *gorm.DB {
		among, args, _ := amongKeys(seen, t, by, keys)
		return query.Where(among, args...)
	})
}

// standingRows gives the standing rows that a condition picks, in recorded order.
func standingRows[T any](ctx context.Context, s *Store, t table, pick func(*Store, *gorm.DB) *gorm.DB) (out []T, err error) {
	err = s.InSnapshot(ctx, func(seen *Store) error {
		rows, err := rowsOf[T](seen, t, pick(seen, seen.from(ctx, t)).Order(t.order()))
		if err == nil {
			out, err = standing(ctx, seen, t, rows)
		}
		return err
	})
	return out, err
}

func standing[T any](ctx context.Context, s *Store, t table, rows []T) ([]T, error) {
	if !t.entry || len(rows) == 0 {
		return rows, nil
	}
	marks := marksOf(t, rows)
	dead, err := s.dead(ctx, t, marks)
	if err != nil || len(dead) == 0 {
		return rows, err
	}
	var out []T
	for i, row := range rows {
		if !dead[marks[i].ID] {
			out = append(out, row)
		}
	}
	return out, nil
}

// mark is a row's Mark with the moment it was recorded.
type mark struct {
	groundhand.Mark
	recordedAt groundhand.Instant
}

func marksOf[T any](t table, rows []T) []mark {
	if !t.entry {
		return nil
	}
	out := make([]mark, len(rows))
	for i := range rows {
		told := any(&rows[i]).(recorded).Told()
		out[i].ID = groundhand.EntryID(t.value(reflect.ValueOf(&rows[i]).Elem(), "id").String())
		out[i].recordedAt, out[i].Replaces = told.RecordedAt, told.ReplacesID
	}
	return out
}

// recorded is what embeds groundhand.Recorded.
type recorded interface{ Told() *groundhand.Recorded }

func (s *Store) dead(ctx context.Context, t table, marks []mark) (map[groundhand.EntryID]bool, error) {
	ids := idsOf(marks)
	corrections, err := s.corrections(ctx, t, ids)
	if err != nil {
		return nil, err
	}
	for _, c := range corrections {
		ids = append(ids, c.ID)
	}
	withdrawals, err := s.withdrawals(ctx, ids)
	if err != nil {
		return nil, err
	}
	if t.name == finalTable {
		return named(corrections, withdrawals), nil
	}
	return groundhand.Dead(corrections, withdrawals), nil
}

// finalTable keeps what never stands again once it was withdrawn or replaced: the mark of a certificate in the published list cannot be taken back.
const finalTable = "certificates"

// named gives what was ever withdrawn or replaced.
func named(corrections []groundhand.Mark, withdrawals []groundhand.Withdrawal) map[groundhand.EntryID]bool {
	dead := map[groundhand.EntryID]bool{}
	for _, c := range corrections {
		dead[c.Replaces] = true
	}
	for _, w := range withdrawals {
		dead[w.WithdrawsID] = true
	}
	return dead
}

func idsOf(marks []mark) []groundhand.EntryID {
	ids := make([]groundhand.EntryID, len(marks))
	for i, m := range marks {
		ids[i] = m.ID
	}
	return ids
}

// manyIDs is from how many ids on all corrections are read instead of being looked up one by one: they are few beside the records.
const manyIDs = 2000

// corrections lists the corrections that name one of ids, or one another, whoever they are about: a record may have been corrected
// into one of another worker.
func (s *Store) corrections(ctx context.Context, t table, ids []groundhand.EntryID) ([]groundhand.Mark, error) {
	if len(ids) > manyIDs {
		all, err := s.marks(ctx, "SELECT id, replaces_id FROM "+t.name+" WHERE replaces_id IS NOT NULL")
		return reaching(ids, all), err
	}
	return s.marks(ctx, `WITH RECURSIVE reached (id, replaces) AS (
  SELECT c.id, c.replaces_id FROM json_each(?) asked CROSS JOIN `+t.name+` c ON c.replaces_id = asked.value
  UNION SELECT c.id, c.replaces_id FROM reached CROSS JOIN `+t.name+` c ON c.replaces_id = reached.id)
SELECT id, replaces FROM reached`, jsonKeys(ids))
}

// withdrawals lists those that name one of ids, or one another.
func (s *Store) withdrawals(ctx context.Context, ids []groundhand.EntryID) ([]groundhand.Withdrawal, error) {
	t, err := tableOf[groundhand.Withdrawal]()
	if err != nil {
		return nil, err
	}
	if len(ids) > manyIDs {
		all, err := All[groundhand.Withdrawal](ctx, s)
		return withdrawing(ids, all), err
	}
	return rowsOf[groundhand.Withdrawal](s, t, s.read.WithContext(ctx).Raw(`WITH RECURSIVE reached (id) AS (
  SELECT w.id FROM json_each(?) asked CROSS JOIN withdrawals w ON w.withdraws_id = asked.value
  UNION SELECT w.id FROM reached CROSS JOIN withdrawals w ON w.withdraws_id = reached.id)
SELECT `+t.ordered("w")+` FROM reached CROSS JOIN withdrawals w ON w.id = reached.id ORDER BY w.recorded_at, w.id`, jsonKeys(ids)))
}

func (s *Store) marks(ctx context.Context, query string, args ...any) ([]groundhand.Mark, error) {
	rows, err := s.read.WithContext(ctx).Raw(query, args...).Rows()
	if err != nil {
		return nil, coded(err)
	}
	defer rows.Close()
	var out []groundhand.Mark
	for rows.Next() {
		var m groundhand.Mark
		if err := rows.Scan(&m.ID, &m.Replaces); err != nil {
			return nil, err
		}
		out = append(out, m)
	}
	return out, coded(rows.Err())
}

// reaching keeps the corrections that name one of ids or a correction kept.
func reaching(ids []groundhand.EntryID, all []groundhand.Mark) []groundhand.Mark {
	next := map[groundhand.EntryID][]groundhand.Mark{}
	for _, m := range all {
		next[m.Replaces] = append(next[m.Replaces], m)
	}
	var out []groundhand.Mark
	for _, id := range reach(ids, func(id groundhand.EntryID) (to []groundhand.EntryID) {
		for _, m := range next[id] {
			to = append(to, m.ID)
		}
		return to
	}) {
		out = append(out, next[id]...)
	}
	return out
}

// withdrawing keeps the withdrawals that name one of ids or a withdrawal kept, in the order given.
func withdrawing(ids []groundhand.EntryID, all []groundhand.Withdrawal) []groundhand.Withdrawal {
	next := map[groundhand.EntryID][]groundhand.EntryID{}
	for _, w := range all {
		next[w.WithdrawsID] = append(next[w.WithdrawsID], w.ID)
	}
	reached := map[groundhand.EntryID]bool{}
	for _, id := range reach(ids, func(id groundhand.EntryID) []groundhand.EntryID { return next[id] }) {
		reached[id] = true
	}
	var out []groundhand.Withdrawal
	for _, w := range all {
		if reached[w.WithdrawsID] {
			out = append(out, w)
		}
	}
	return out
}

// reach lists ids and everything that follows from them, each once.
func reach(ids []groundhand.EntryID, next func(groundhand.EntryID) []groundhand.EntryID) []groundhand.EntryID {
	seen := map[groundhand.EntryID]bool{}
	var out []groundhand.EntryID
	queue := slices.Clone(ids)
	for i := 0; i < len(queue); i++ {
		id := queue[i]
		if seen[id] {
			continue
		}
		seen[id] = true
		out = append(out, id)
		queue = append(queue, next(id)...)
	}
	return out
}
