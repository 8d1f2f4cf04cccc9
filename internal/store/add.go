package store

import (
	"context"
	"errors"
	"fmt"
	"reflect"

	"gorm.io/gorm"

	"groundhand/internal/groundhand"
)

// batch is how many rows one statement inserts: enough to be quick, few enough to stay below SQLite's limit of variables.
const batch = 100

// Add appends records: all of them or none. Each must have its id and its moment of recording, which is an error of the caller's
// otherwise. Refused are an id that is taken (Conflict), a reference to nothing (Invalid), and a correction or withdrawal that
// names nothing, or something not recorded before it. Replaced rows must be of the same type.
func Add[T any](ctx context.Context, s *Store, rows ...T) error {
	if len(rows) == 0 {
		return nil
	}
	t, err := tableOf[T]()
	if err != nil {
		return err
	}
	if err := t.checkTold(rows); err != nil {
		return err
	}
	return s.InTx(ctx, func(tx *Store) error {
		marks := marksOf(t, rows)
		if err := tx.checkNew(ctx, t, marks); err != nil {
			return err
		}
		if withdrawals, ok := any(rows).([]groundhand.Withdrawal); ok {
			if err := tx.checkWithdrawn(ctx, withdrawals); err != nil {
				return err
			}
		}
		if err := insert(ctx, tx, t, rows); err != nil {
			return err
		}
		if err := tx.checkTargets(ctx, t, marks); err != nil {
			return err
		}
		if err := note(tx, t, rows); err != nil {
			return err
		}
		return tx.mayMerge(ctx, t)
	})
}

func insert[T any](ctx context.Context, tx *Store, t table, rows []T) error {
	for start := 0; start < len(rows); start += batch {
		part := rows[start:min(start+batch, len(rows))]
		err := tx.write.WithContext(ctx).Table(t.name).Create(&part).Error
		if errors.Is(err, gorm.ErrForeignKeyViolated) {
			return tx.danglingReference(ctx, t, rows, err)
		}
		if err != nil {
			return coded(err)
		}
	}
	return nil
}

func (t table) checkTold(rows any) error {
	list := reflect.ValueOf(rows)
	for i := range list.Len() {
		row := list.Index(i)
		if id := t.value(row, "id"); id.IsValid() && id.IsZero() {
			return fmt.Errorf("add to %s: row %d has no id", t.name, i)
		}
		if t.value(row, t.told).IsZero() {
			return fmt.Errorf("add to %s: row %d has no %s", t.name, i, t.told)
		}
	}
	return nil
}
