package store_test

import (
	"database/sql"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

// oldRecords is a file as the fourth step of the migrations left it, with looks and jobs of which some were corrected or withdrawn.
func oldRecords(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "records.db")
	db := raw(t, path)
	for _, pragma := range []string{"PRAGMA journal_mode = WAL", "PRAGMA foreign_keys = 1"} {
		_, err := db.Exec(pragma)
		require.NoError(t, err)
	}
	provider, err := goose.NewProvider(goose.DialectSQLite3, db, os.DirFS("migrations/sqlite"))
	require.NoError(t, err)
	_, err = provider.UpTo(ctx, 4)
	require.NoError(t, err)
	fillOld(t, db)
	require.NoError(t, db.Close())
	return path
}

type cells map[string]any

// insert adds an entry of which only what is told apart is given.
func insert(t *testing.T, db *sql.DB, table, id string, row cells) {
	t.Helper()
	all := cells{"id": id, "happened_on": "2025-03-28", "recorded_at": 1743145200000, "author_id": nil, "capacity": "INSPECTOR", "came_by": "TYPED_LIVE",
		"replaces_id": nil, "because": ""}
	maps.Copy(all, row)
	names := slices.Sorted(maps.Keys(all))
	values := make([]any, len(names))
	for i, n := range names {
		values[i] = all[n]
	}
	_, err := db.Exec("INSERT INTO "+table+" ("+strings.Join(names, ", ")+") VALUES (?"+strings.Repeat(", ?", len(names)-1)+")", values...)
	require.NoError(t, err, "%s %s", table, id)
}

func fillOld(t *testing.T, db *sql.DB) {
	t.Helper()
	insert(t, db, "workers", "w1", cells{"number": "1001"})
	insert(t, db, "yards", "VARROW", cells{"name": "Varrow"})
	insert(t, db, "crews", "V1", cells{"name": "V1", "yard_id": "VARROW", "kind": "LINE", "normal_size": 4, "families": `["F1"]`})
	insert(t, db, "families", "F1", cells{"name": "articulating, lever"})
	insert(t, db, "devices", "A04", cells{"family_id": "F1", "yard_id": "VARROW", "type": "", "platform_cm": 1300, "anchor_cm": 0, "emergency_low": "YES"})
	insert(t, db, "kits", "K04", cells{"parts": 4, "rope_cm": 6000, "tail_cm": 400, "rated_load_kg": 140, "in_service_on": "2023-05-02", "retires_on": nil})
	insert(t, db, "memberships", "m1", cells{"crew_id": "V1", "worker_id": "w1", "part": "FOREMAN", "reason": "PERMANENT", "from_on": "2024-01-01", "to_on": nil})

	look := cells{"device_id": nil, "kit_id": "K04", "kind": "WEEKLY_OUTSIDE", "checklist": "kit, first version", "lines": `[{"line":"seal","found":"YES"}]`,
		"result": "IN_SERVICE", "remarks": "", "author_id": "w1"}
	with := func(more cells) cells { out := maps.Clone(look); maps.Copy(out, more); return out }
	insert(t, db, "inspections", "i2", with(cells{"result": "OUT_OF_SERVICE", "remarks": "strap worn – «Łódź»"})) // ids not in the order of recording
	insert(t, db, "inspections", "i1", with(cells{"replaces_id": "i2", "because": "typing", "happened_on": nil, "happened_at": 1743145200123}))
	insert(t, db, "inspections", "i3", with(cells{"kit_id": nil, "device_id": "A04", "kind": "DAILY_LOWER_CONTROLS"}))

	job := cells{"crew_id": "V1", "yard_id": "VARROW", "start_at": 1743148800000, "end_at": 1743177600000, "device_id": "A04", "kit_id": nil, "aloft": 2,
		"methods": `["PAIR_KIT"]`, "near50_v": "YES", "site_kind": "FIELD", "call_plan": "", "place": "Mill Lane", "rule_set_id": nil, "planned_aloft": "[]",
		"duties": `[{"duty":"traffic","worker":"w1"}]`, "capacity": "DISPATCHER"}
	insert(t, db, "jobs", "j1", job)
	moved := maps.Clone(job)
	moved["replaces_id"], moved["because"], moved["end_at"] = "j1", "an hour longer", 1743181200000
	insert(t, db, "jobs", "j2", moved)
	insert(t, db, "withdrawals", "x1", cells{"withdraws_id": "i3", "because": "another truck"})
}

// rowsNow reads everything of a table as text, with the columns it had before.
func rowsNow(t *testing.T, db *sql.DB, table string, columns []string) []string {
	t.Helper()
	quoted := make([]string, len(columns))
	for i, c := range columns {
		quoted[i] = "quote(" + c + ")"
	}
	return column(t, db, "SELECT "+strings.Join(quoted, " || '|' || ")+" FROM "+table+" ORDER BY id")
}

func columnsOf(t *testing.T, db *sql.DB, table string) []string {
	return column(t, db, "SELECT name FROM pragma_table_info(?) ORDER BY cid", table)
}

func TestOlderRecordsKeepEverythingWhenTablesAreWrittenAnew(t *testing.T) {
	path := oldRecords(t)
	before, columns := map[string][]string{}, map[string][]string{}
	db := raw(t, path)
	for _, table := range []string{"inspections", "jobs", "memberships", "withdrawals", "kits", "devices"} {
		columns[table] = columnsOf(t, db, table)
		before[table] = rowsNow(t, db, table, columns[table])
		require.NotEmpty(t, before[table], table)
	}
	objects := "SELECT type || ' ' || name FROM sqlite_master WHERE tbl_name IN ('inspections', 'jobs', 'memberships') ORDER BY 1"
	had := column(t, db, objects)
	require.NoError(t, db.Close())

	s := storetest.At(t, path)
	db = raw(t, path)
	assert.Equal(t, []string{strconv.Itoa(steps(t))}, column(t, db, "SELECT max(version_id) FROM goose_db_version"))
	for table, rows := range before {
		assert.Equal(t, rows, rowsNow(t, db, table, columns[table]), table)
	}
	assert.Subset(t, column(t, db, objects), had, "indexes and triggers are there again")
	assert.Empty(t, column(t, db, "PRAGMA foreign_key_check"))
	assert.Equal(t, []string{"ok"}, column(t, db, "PRAGMA integrity_check"))
	assert.Empty(t, column(t, db, "SELECT name FROM sqlite_master WHERE name LIKE 'old_%'"))

	assert.EqualValues(t, 13, intact(t, s).Size, "what was there has its leaves")
	looks, err := store.Standing[gh.Inspection](ctx, s)
	require.NoError(t, err)
	require.Len(t, looks, 1, "what was corrected or withdrawn still does not stand")
	assert.Equal(t, gh.EntryID("i1"), looks[0].ID)
	assert.Zero(t, looks[0].LoweringSeconds)
	jobs, err := store.Standing[gh.Job](ctx, s)
	require.NoError(t, err)
	require.Len(t, jobs, 1)
	assert.Equal(t, gh.JobID("j2"), jobs[0].ID)
	assert.Empty(t, jobs[0].Buckets)
	for id, kind := range map[gh.EntryID]string{"i2": "inspections", "j1": "jobs", "m1": "memberships", "x1": "withdrawals"} {
		found, err := s.KindOf(ctx, id)
		require.NoError(t, err)
		assert.Equal(t, kind, found)
	}
}

func TestOlderRecordsAreStillOnlyAddedTo(t *testing.T) {
	path := oldRecords(t)
	s := storetest.At(t, path)
	db := raw(t, path)
	_, err := db.Exec("PRAGMA recursive_triggers = 1")
	require.NoError(t, err)
	for _, table := range []string{"inspections", "jobs", "memberships"} {
		for _, c := range columnsOf(t, db, table) {
			_, err := db.Exec("UPDATE " + table + " SET " + c + " = " + c)
			assert.ErrorContains(t, err, table+" are only", c)
		}
		_, err := db.Exec("DELETE FROM " + table)
		assert.ErrorContains(t, err, table+" are never removed")
		_, err = db.Exec("INSERT OR REPLACE INTO " + table + " SELECT * FROM " + table)
		assert.ErrorContains(t, err, table+" are never removed")
	}
	// the new words are taken, others are not
	told := gh.Recorded{HappenedOn: gh.MustDate("2025-06-02"), RecordedAt: s.Now(), Capacity: gh.Inspector, CameBy: gh.TypedLive}
	monthly := gh.Inspection{ID: "i9", Recorded: told, DeviceID: "A04", Kind: gh.DeviceMonthly, Checklist: "device-monthly-1", Result: gh.InService, LoweringSeconds: 240}
	require.NoError(t, store.Add(ctx, s, monthly))
	monthly.ID, monthly.Kind = "i10", "HOURLY"
	assert.Error(t, store.Add(ctx, s, monthly))
}
