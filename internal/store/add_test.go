package store_test

import (
	"context"
	"errors"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gorm.io/gorm"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

func TestWhatAddRefuses(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	s := storetest.At(t, path)
	oneOfEach(t, s)
	told := storetest.Told(s, day)
	later := told
	later.RecordedAt += 10
	replacing := func(r gh.Recorded, id gh.EntryID) gh.Recorded { r.ReplacesID = id; return r }
	with := func(change func(*gh.Recorded)) gh.Recorded { r := told; change(&r); return r }
	cases := []struct {
		name  string
		add   error
		code  gh.Code
		field string
	}{
		{"an id that is taken", store.Add(ctx, s, gh.Yard{ID: "yards-1", Recorded: told}), gh.CodeConflict, "id"},
		{"a staff number that is taken", store.Add(ctx, s, gh.Worker{ID: "n", Recorded: told, Number: "workers-1"}), gh.CodeConflict, "number"},
		{"a reference to nothing", store.Add(ctx, s, gh.WorkerName{ID: "n", Recorded: told, WorkerID: "nobody"}), gh.CodeInvalid, "workerId"},
		{"a needed reference left out", store.Add(ctx, s, gh.WorkerName{ID: "n", Recorded: told}), gh.CodeInvalid, "workerId"},
		{"an author who is nobody", store.Add(ctx, s, gh.Yard{ID: "n", Recorded: with(func(r *gh.Recorded) { r.AuthorID = "nobody" })}), gh.CodeInvalid, "authorId"},
		{"the second of two rows refers to nothing", store.Add(ctx, s,
			gh.WorkerName{ID: "n", Recorded: told, WorkerID: "workers-1"}, gh.WorkerName{ID: "m", Recorded: told, WorkerID: "nobody"}), gh.CodeInvalid, "[1].workerId"},
		{"no clock at all", store.Add(ctx, s, gh.Yard{ID: "n", Recorded: with(func(r *gh.Recorded) { r.HappenedOn = 0 })}), gh.CodeInvalid, "happenedOn"},
		{"no capacity", store.Add(ctx, s, gh.Yard{ID: "n", Recorded: with(func(r *gh.Recorded) { r.Capacity = "" })}), gh.CodeInvalid, "capacity"},
		{"an unknown grade", store.Add(ctx, s, gh.Grading{ID: "n", Recorded: told, WorkerID: "workers-1", Grade: "MASTER"}), gh.CodeInvalid, "grade"},
		{"a grade without its first day", store.Add(ctx, s, gh.Grading{ID: "n", Recorded: with(func(r *gh.Recorded) { r.HappenedOn, r.HappenedAt = 0, 1 }),
			WorkerID: "workers-1", Grade: gh.Ground}), gh.CodeInvalid, "happenedOn"},
		{"an end before the start", store.Add(ctx, s, gh.Job{ID: "n", Recorded: told, CrewID: "crews-1", StartAt: 2, EndAt: 2, SiteKind: gh.FieldSite}), gh.CodeInvalid, "startAt"},
		{"a negative height", store.Add(ctx, s, gh.Device{ID: "n", Recorded: told, PlatformCM: -1}), gh.CodeInvalid, "platformCm"},
		{"an inspection of nothing", store.Add(ctx, s, gh.Inspection{ID: "n", Recorded: told, Kind: gh.Yearly, Result: gh.InService}), gh.CodeInvalid, "deviceId"},
		{"a flag cleared twice", store.Add(ctx, s, gh.Clearing{ID: "n", FlagID: "flags-1", ClearedOn: day, ClearedAt: 1}), gh.CodeConflict, "flagId"},
		{"a correction of nothing", store.Add(ctx, s, gh.Yard{ID: "n", Recorded: replacing(later, "nothing")}), gh.CodeInvalid, "replacesId"},
		{"a correction of another kind", store.Add(ctx, s, gh.Yard{ID: "n", Recorded: replacing(later, "crews-1")}), gh.CodeInvalid, "replacesId"},
		{"a correction of itself", store.Add(ctx, s, gh.Yard{ID: "n", Recorded: replacing(later, "n")}), gh.CodeInvalid, "replacesId"},
		{"a correction not recorded after", store.Add(ctx, s, gh.Yard{ID: "n", Recorded: replacing(with(func(r *gh.Recorded) { r.RecordedAt = 3 }), "yards-1")}), gh.CodeInvalid, "replacesId"},
		{"a withdrawal of nothing", store.Add(ctx, s, gh.Withdrawal{ID: "n", Recorded: later, WithdrawsID: "nothing"}), gh.CodeNotFound, "withdrawsId"},
		{"a withdrawal not recorded after", store.Add(ctx, s, gh.Withdrawal{ID: "n", Recorded: with(func(r *gh.Recorded) { r.RecordedAt = 3 }), WithdrawsID: "runs-1"}), gh.CodeInvalid, "withdrawsId"},
		{"a withdrawal that corrects", store.Add(ctx, s, gh.Withdrawal{ID: "n", Recorded: replacing(later, "withdrawals-1"), WithdrawsID: "runs-1"}), gh.CodeInvalid, "replacesId"},
		{"an id that was withdrawn", store.Add(ctx, s, gh.Yard{ID: "runs-1", Recorded: later}), gh.CodeConflict, "id"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			refusals := gh.Refusals(c.add)
			require.Len(t, refusals, 1, "%v", c.add)
			assert.Equal(t, c.code, refusals[0].Code)
			assert.Equal(t, c.field, refusals[0].Field)
			assert.Regexp(t, `^[A-Z].*\.$`, refusals[0].Message)
			for _, hidden := range []error{gorm.ErrDuplicatedKey, gorm.ErrForeignKeyViolated, gorm.ErrCheckConstraintViolated, gorm.ErrRecordNotFound} {
				assert.False(t, errors.Is(c.add, hidden))
			}
		})
	}
	for _, k := range kinds { // nothing came in
		if k.table != "yards" && k.table != "workers" {
			assert.Len(t, column(t, raw(t, path), "SELECT 1 FROM "+k.table), 1, k.table)
		}
	}
}

func TestAllLostReferencesAreNamed(t *testing.T) {
	s := storetest.New(t)
	err := store.Add(ctx, s, gh.Job{ID: "j", Recorded: storetest.Told(s, day), CrewID: "x", YardID: "y", DeviceID: "z", StartAt: 1, EndAt: 2, SiteKind: gh.FieldSite})
	var fields []string
	for _, r := range gh.Refusals(err) {
		fields = append(fields, r.Field)
	}
	assert.Equal(t, []string{"crewId", "yardId", "deviceId"}, fields)
}

func TestRowsMayReferToOneAnother(t *testing.T) {
	s := storetest.New(t)
	a, b := aWorker(s, "a"), aWorker(s, "b")
	a.AuthorID, b.AuthorID = "b", "a"
	require.NoError(t, store.Add(ctx, s, a, b))
}

func TestAddIsToldWhatTheCallerForgot(t *testing.T) {
	s := storetest.New(t)
	err := store.Add(ctx, s, gh.Yard{Recorded: storetest.Told(s, day)})
	require.ErrorContains(t, err, "no id")
	assert.Empty(t, gh.Refusals(err), "that is no refusal of a form")
	assert.ErrorContains(t, store.Add(ctx, s, gh.Yard{ID: "a"}), "no recorded_at")
	assert.ErrorContains(t, store.Add(ctx, s, gh.Sweep{ID: "a"}), "no finished_at")
	assert.ErrorContains(t, store.Add(ctx, s, gh.Duty{}), "no record")
	require.NoError(t, store.Add[gh.Yard](ctx, s))
}

func TestAnAbandonedRequestStops(t *testing.T) {
	s := storetest.New(t)
	gone, cancel := context.WithCancel(ctx)
	cancel()
	assert.ErrorIs(t, store.Add(gone, s, aYard(s, "A")), context.Canceled)
	_, err := store.All[gh.Yard](gone, s)
	assert.ErrorIs(t, err, context.Canceled)
	assert.Zero(t, count[gh.Yard](t, s))
}
