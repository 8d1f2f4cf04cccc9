package store_test

import (
	"database/sql"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

// raw opens the file beside the store, as somebody with a database tool would.
func raw(t *testing.T, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	db.SetMaxOpenConns(1)
	_, err = db.Exec("PRAGMA busy_timeout = 5000")
	require.NoError(t, err)
	t.Cleanup(func() { db.Close() })
	return db
}

func column(t *testing.T, db *sql.DB, query string, args ...any) []string {
	t.Helper()
	rows, err := db.Query(query, args...)
	require.NoError(t, err)
	defer rows.Close()
	var out []string
	for rows.Next() {
		var s string
		require.NoError(t, rows.Scan(&s))
		out = append(out, s)
	}
	require.NoError(t, rows.Err())
	return out
}

func TestTheTablesAreThoseOfTheVocabularyAndStrict(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	storetest.At(t, path)
	db := raw(t, path)
	want := []string{"leaves", "seals", "log_origin"}
	for _, k := range kinds {
		want = append(want, k.table)
	}
	got := column(t, db, "SELECT name FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND strict AND NOT wr")
	assert.ElementsMatch(t, want, got)
	loose := column(t, db, "SELECT name FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND NOT strict AND name NOT LIKE 'sqlite_%'")
	assert.Equal(t, []string{"goose_db_version"}, loose)
	assert.Equal(t, []string{"wal"}, column(t, db, "PRAGMA journal_mode"))
}

// leadAnywhere are the references that lead to one of several tables, or to what is not there yet.
const leadAnywhere = " certificates.evidence_id withdrawals.withdraws_id corrections.replaced_id corrections.by_id disputes.entry_id rulings.put_right_by_id" +
	" reviews.entry_id reviews.cause_id review_closings.new_entry_id import_rows.entry_id rule_proposals.rule_set_id" +
	" certificates.credential_id certificates.issuer_id issuer_keys.issuer_id certificates.key_id "

func TestEveryReferenceIsHeldByTheDatabase(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	storetest.At(t, path)
	db := raw(t, path)
	for _, k := range kinds {
		held := column(t, db, `SELECT "from" FROM pragma_foreign_key_list(?)`, k.table)
		for _, c := range column(t, db, "SELECT name FROM pragma_table_info(?) WHERE name LIKE '%\\_id' ESCAPE '\\'", k.table) {
			if strings.Contains(leadAnywhere, " "+k.table+"."+c+" ") {
				assert.NotContains(t, held, c)
			} else {
				assert.Contains(t, held, c, k.table)
			}
		}
	}
}

func TestNothingIsOverwrittenOrRemovedNotEvenByHand(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	s := storetest.At(t, path)
	oneOfEach(t, s)
	db := raw(t, path)
	for _, k := range kinds {
		t.Run(k.table, func(t *testing.T) {
			require.NotEmpty(t, column(t, db, "SELECT 1 FROM "+k.table))
			for _, c := range column(t, db, "SELECT name FROM pragma_table_info(?)", k.table) {
				_, err := db.Exec("UPDATE " + k.table + " SET " + c + " = " + c)
				assert.ErrorContains(t, err, k.table+" are only", c)
			}
			_, err := db.Exec("DELETE FROM " + k.table)
			assert.ErrorContains(t, err, k.table+" are never removed")
			_, err = db.Exec("PRAGMA recursive_triggers = 1")
			require.NoError(t, err)
			_, err = db.Exec("INSERT OR REPLACE INTO " + k.table + " SELECT * FROM " + k.table)
			assert.ErrorContains(t, err, k.table+" are never removed")
		})
	}
}

func TestATokenIsRevokedOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	s := storetest.At(t, path)
	for _, k := range kinds {
		if k.table == "workers" || k.table == "accounts" {
			k.addOne(t, s, rowOf(k.table))
		}
	}
	db := raw(t, path)
	_, err := db.Exec("INSERT INTO tokens (id, account_id, digest, made_at) VALUES ('t', 'accounts-1', 'd', 1)")
	require.NoError(t, err)
	_, err = db.Exec("UPDATE tokens SET revoked_at = 2, digest = 'e'")
	assert.ErrorContains(t, err, "only revoked")
	_, err = db.Exec("UPDATE tokens SET revoked_at = 2")
	require.NoError(t, err)
	for _, again := range []string{"3", "NULL"} {
		_, err = db.Exec("UPDATE tokens SET revoked_at = " + again)
		assert.ErrorContains(t, err, "only revoked", again)
	}
}

func TestEnumerationsAndDaysAreChecked(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	storetest.At(t, path)
	db := raw(t, path)
	insert := func(values string) error {
		_, err := db.Exec("INSERT INTO yards (id, happened_on, happened_at, recorded_at, capacity, came_by, because, name) VALUES (" + values + ")")
		return err
	}
	require.NoError(t, insert("'Y', '2024-02-29', NULL, 1, 'HR', 'OFFLINE', '', 'Varrow'"))
	for values, part := range map[string]string{
		"'A', '2025-02-29', NULL, 1, 'HR', 'OFFLINE', '', ''": "date(happened_on)",
		"'A', '2025-2-1', NULL, 1, 'HR', 'OFFLINE', '', ''":   "date(happened_on)",
		"'A', NULL, NULL, 1, 'HR', 'OFFLINE', '', ''":         "coalesce(happened_on",
		"'A', NULL, 5, 1, 'BOSS', 'OFFLINE', '', ''":          "capacity IN",
		"'A', NULL, 5, 1, 'HR', 'HEARSAY', '', ''":            "came_by IN",
		"'', NULL, 5, 1, 'HR', 'OFFLINE', '', ''":             "id <>",
		"'A', NULL, 'soon', 1, 'HR', 'OFFLINE', '', ''":       "cannot store TEXT value in INTEGER column",
	} {
		assert.ErrorContains(t, insert(values), part, strings.TrimSpace(values))
	}
}

// lookups lists table and column of everything that is looked up. Accounts are few; acts are found by their keys.
func lookups(t *testing.T, db *sql.DB) (out [][2]string) {
	for _, k := range kinds {
		for _, by := range []store.Field{store.ByID, store.ByWorker, store.ByAssessor, store.ByYard, store.ByCrew, store.ByFamily, store.ByDevice,
			store.ByKit, store.BySession, store.ByRun, store.ByRunPart, store.ByPlan, store.ByRequest, store.ByFollowed, store.ByEvidence, store.ByFlag, store.ByAccount, store.ByDigest,
			store.ByReplaced, store.ByWithdrawn, store.BySuspension, store.ByUnavailability, store.ByEntry, store.ByCause, store.ByReview,
			store.ByDispute, store.ByProposal, store.ByHold, store.ByCorrected, store.ByCorrection, store.ByKept, store.ByGone, store.ByCredential, store.ByKey} {
			c := string(by)
			if len(column(t, db, "SELECT name FROM pragma_table_info(?) WHERE name = ?", k.table, c)) == 0 || k.table+"."+c == "accounts.worker_id" || k.table+"."+c == "acts.digest" {
				continue
			}
			out = append(out, [2]string{k.table, c})
		}
	}
	return out
}

// What is looked up is found by an index, however the database was filled, and as well when one asks about the past.
func TestNothingIsLookedUpByReadingAWholeTable(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	s := storetest.At(t, path)
	wanted := lookups(t, raw(t, path))
	require.Greater(t, len(wanted), 100)
	look := func(seen *store.Store) error {
		plan := func(query string) string {
			lines, err := store.PlanOf(seen, query)
			require.NoError(t, err)
			return strings.ReplaceAll(strings.Join(lines, "\n"), "main.", "") // as the tables are called behind the views of the past
		}
		for _, w := range wanted {
			assert.Contains(t, plan("SELECT * FROM "+w[0]+" WHERE "+w[1]+" IN (SELECT value FROM json_each('[]'))"), "SEARCH "+w[0]+" USING", w[1])
		}
		entries := plan("SELECT id, recorded_at FROM entries WHERE id IN (SELECT value FROM json_each('[]'))")
		assert.Equal(t, 62, strings.Count(entries, "SEARCH "))
		for _, k := range kinds {
			assert.NotContains(t, entries, "SCAN "+k.table)
		}
		reached := plan(`WITH RECURSIVE reached (id) AS (SELECT w.id FROM json_each('[]') asked CROSS JOIN withdrawals w ON w.withdraws_id = asked.value
  UNION SELECT w.id FROM reached CROSS JOIN withdrawals w ON w.withdraws_id = reached.id) SELECT w.because FROM reached CROSS JOIN withdrawals w ON w.id = reached.id`)
		assert.Equal(t, 3, strings.Count(reached, "USING "), reached)
		return nil
	}
	require.NoError(t, s.InSnapshot(ctx, look))
	require.NoError(t, s.InPast(ctx, s.Now(), look))
}
