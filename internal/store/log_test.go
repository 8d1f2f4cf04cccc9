package store_test

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/ledger"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

func intact(t testing.TB, s *store.Store) store.Verified {
	t.Helper()
	v, err := s.Verify(ctx, nil)
	require.NoError(t, err)
	require.Nil(t, v.Misfit, "%+v", v.Misfit)
	return v
}

func TestEveryRowHasItsLeafAndNothingElseHas(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	s := storetest.At(t, path)
	oneOfEach(t, s)
	db := raw(t, path)
	rows := 0
	for _, k := range kinds {
		if k.table != "tokens" {
			rows += len(column(t, db, "SELECT 1 FROM "+k.table))
		}
	}
	v := intact(t, s)
	assert.EqualValues(t, rows, v.Size)
	told, err := s.Checkpoint(ctx)
	require.NoError(t, err)
	assert.Equal(t, ledger.Checkpoint{Origin: v.Origin, Size: v.Size, Root: v.Root}, told)
	assert.Regexp(t, `^groundhand/[0-9a-f]{16}$`, v.Origin)
}

func TestALeafIsTakenBackWithItsRow(t *testing.T) {
	s := storetest.New(t)
	require.NoError(t, s.InTx(ctx, func(tx *store.Store) error {
		require.NoError(t, store.Add(ctx, tx, aYard(tx, "A")))
		assert.ErrorIs(t, tx.InTx(ctx, func(in *store.Store) error {
			require.NoError(t, store.Add(ctx, in, aYard(in, "B"), aYard(in, "C")))
			return errStop
		}), errStop)
		assert.Panics(t, func() {
			_ = tx.InTx(ctx, func(in *store.Store) error {
				require.NoError(t, store.Add(ctx, in, aYard(in, "D")))
				panic("stop")
			})
		})
		assert.Error(t, store.Add(ctx, tx, aYard(tx, "A")))
		return store.Add(ctx, tx, aYard(tx, "E"))
	}))
	assert.EqualValues(t, 2, intact(t, s).Size)
	assert.ErrorIs(t, s.InTx(ctx, func(tx *store.Store) error {
		require.NoError(t, store.Add(ctx, tx, aYard(tx, "F")))
		return errStop
	}), errStop)
	require.NoError(t, store.Add(ctx, s, aYard(s, "G")))
	assert.EqualValues(t, 3, intact(t, s).Size)
}

func TestManyRowsAndManyTransactionsMakeOneLog(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	stores := []*store.Store{storetest.At(t, path), storetest.At(t, path)} // two programs, of which neither knows what the other wrote
	for i := range 40 {
		var yards []gh.Yard
		for j := range 1 + i*7%23 {
			yards = append(yards, aYard(stores[i%2], gh.YardID(fmt.Sprintf("%d.%d", i, j))))
		}
		require.NoError(t, store.Add(ctx, stores[i%2], yards...))
	}
	v := intact(t, stores[0])
	require.NoError(t, stores[1].Close())
	again, err := store.Open(path, storetest.Options())
	require.NoError(t, err)
	defer again.Close()
	assert.Equal(t, v, intact(t, again), "opened again, nothing is logged again")
}

func TestAnEntryIsProvenToBeInTheLog(t *testing.T) {
	s := storetest.New(t)
	oneOfEach(t, s)
	told, err := s.Checkpoint(ctx)
	require.NoError(t, err)
	for _, k := range kinds {
		id := rowOf(k.table)
		switch k.table {
		case "tokens":
			continue
		case "acts":
			id = "accounts-1/" + id
		}
		proof, err := s.InclusionProof(ctx, k.table, id)
		require.NoError(t, err, k.table)
		require.NoError(t, proof.Check(), k.table)
		assert.Equal(t, told.Root, proof.Root)
		assert.Equal(t, told.Size, proof.Size)
	}
	_, err = s.InclusionProof(ctx, "yards", "none")
	assert.ErrorIs(t, err, gh.CodeNotFound)
}

// The bytes of leaves, written down, so that a change of the program that would break every log kept so far does not go by unseen.
func TestTheLeavesStayAsTheyWere(t *testing.T) {
	s := storetest.New(t)
	require.NoError(t, store.Add(ctx, s, gh.Yard{ID: "VARROW", Recorded: storetest.Told(s, day), Name: "Varrow"}))
	require.NoError(t, store.Add(ctx, s, gh.Worker{ID: "w1", Recorded: storetest.Told(s, day), Number: "1001"}))
	proof, err := s.InclusionProof(ctx, "yards", "VARROW")
	require.NoError(t, err)
	assert.Equal(t, `{"entry":{"came_by":"TYPED_LIVE","capacity":"COORDINATOR","happened_on":"2025-06-02","id":"VARROW","name":"Varrow","recorded_at":1748844000000},"kind":"yards"}`,
		string(proof.Record))
	proof, err = s.InclusionProof(ctx, "workers", "w1")
	require.NoError(t, err)
	assert.Regexp(t, `^{"entry":{"came_by":"TYPED_LIVE","capacity":"COORDINATOR","happened_on":"2025-06-02","id":"w1","number":"sealed:[0-9a-f]{64}","recorded_at":\d+},"kind":"workers"}$`,
		string(proof.Record))
}

func TestTheLogIsOnlyAddedToNotEvenByHand(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	s := storetest.At(t, path)
	oneOfEach(t, s)
	db := raw(t, path)
	for _, table := range []string{"leaves", "seals", "log_origin"} {
		require.NotEmpty(t, column(t, db, "SELECT 1 FROM "+table), table)
		for _, c := range columnsOf(t, db, table) {
			_, err := db.Exec("UPDATE " + table + " SET " + c + " = " + c)
			assert.ErrorContains(t, err, table+" are only", c)
		}
		_, err := db.Exec("DELETE FROM " + table)
		assert.ErrorContains(t, err, table+" are never removed")
	}
}

// An older program's records get their log when they are opened, once; opened for reading only they have none.
func TestALogThatHasNotBegun(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	o := storetest.Options()
	o.NoLog = true
	s, err := store.Open(path, o)
	require.NoError(t, err)
	oneOfEach(t, s)
	_, err = s.Checkpoint(ctx)
	assert.ErrorIs(t, err, store.ErrNoLog)
	_, err = s.Verify(ctx, nil)
	assert.ErrorIs(t, err, store.ErrNoLog)
	require.NoError(t, s.Close())
	v := intact(t, storetest.At(t, path))
	assert.NotZero(t, v.Size)

	older := filepath.Join(t.TempDir(), "older.db")
	require.NoError(t, os.Rename(oldRecords(t), older))
	s, err = store.Open(older, store.Options{Now: storetest.NewClock(storetest.Start).Now, ReadOnly: true})
	require.NoError(t, err)
	defer s.Close()
	_, err = s.Verify(ctx, nil)
	assert.ErrorIs(t, err, store.ErrNoLog)
	require.Error(t, s.InPast(ctx, 1, func(seen *store.Store) error {
		_, err := seen.Checkpoint(ctx)
		return err
	}), "nor is it asked for in the past")
}

// erasable gives a store with two people, everything of them that can be erased, and the erasure of one.
func erasable(t *testing.T, s *store.Store) {
	oneOfEach(t, s)
	told := storetest.Told(s, day)
	require.NoError(t, store.Add(ctx, s, gh.WorkerName{ID: "n2", Recorded: told, WorkerID: "workers-2", Name: "Ada Varrow"}))
	require.NoError(t, store.Add(ctx, s, gh.Alias{ID: "a2", Recorded: told, WorkerID: "workers-2", Name: "Ad"}))
	require.NoError(t, store.Add(ctx, s, gh.ImportRow{ID: "r", Recorded: told, Cells: gh.List{"1001", "Bo Varrow"}, Outcome: gh.RowTaken, WorkerID: "workers-1"}))
	require.NoError(t, s.InTx(ctx, func(tx *store.Store) error {
		require.NoError(t, store.Add(ctx, tx, gh.Erasure{ID: "gone", Recorded: storetest.Told(tx, day), WorkerID: "workers-2", Code: "P-7", Reason: "asked for"}))
		require.NoError(t, store.Add(ctx, tx, gh.Erasure{ID: "gone too", Recorded: storetest.Told(tx, day), WorkerID: "workers-1", Code: "P-8", Reason: "asked for"}))
		return tx.EraseNames(ctx, []gh.WorkerID{"workers-2"})
	}))
}

func TestNamesAreErasedAndTheLogStillProves(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	s := storetest.At(t, path)
	erasable(t, s)
	db := raw(t, path)
	assert.Equal(t, []string{"P-7"}, column(t, db, "SELECT name FROM worker_names WHERE worker_id = 'workers-2'"))
	assert.Equal(t, []string{"P-7"}, column(t, db, "SELECT name FROM aliases WHERE worker_id = 'workers-2'"))
	assert.Equal(t, []string{"P-7"}, column(t, db, "SELECT number FROM workers WHERE id = 'workers-2'"))
	assert.Equal(t, []string{"3"}, column(t, db, "SELECT count(*) FROM seals WHERE salt IS NULL"))
	assert.NotContains(t, column(t, db, "SELECT name FROM worker_names"), "Ada Varrow")
	before := intact(t, s)

	require.NoError(t, s.EraseNames(ctx, []gh.WorkerID{"workers-1"}))
	for _, at := range []string{"workers.number", "worker_names.name", "worker_numbers.number", "aliases.name", "certificates.person_name",
		"certificates.assessor_name", "certificates.signed", "unavailability_reasons.reason"} {
		table, field, _ := cut(at)
		assert.Equal(t, []string{"P-8"}, column(t, db, "SELECT "+field+" FROM "+table+" WHERE id = ?", rowOf(table)), at)
	}
	assert.Equal(t, []string{`["P-8"]`}, column(t, db, "SELECT cells FROM import_rows WHERE id = 'r'"))
	assert.Empty(t, column(t, db, "SELECT n FROM seals WHERE salt IS NOT NULL"))
	assert.Equal(t, before, intact(t, s), "the log is what it was")
	require.NoError(t, s.EraseNames(ctx, []gh.WorkerID{"workers-1"}), "again changes nothing")
	assert.ErrorIs(t, s.EraseNames(ctx, []gh.WorkerID{"nobody"}), gh.CodeInvalid)
}

// What was erased is not legible in the free space of the file either, nor in the log that SQLite writes ahead of it.
func TestAnErasedNameIsNotLegibleInTheFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	s := storetest.At(t, path)
	told := storetest.Told(s, day)
	require.NoError(t, store.Add(ctx, s, gh.Worker{ID: "W1", Recorded: told}))
	require.NoError(t, store.Add(ctx, s, gh.WorkerName{ID: "n1", Recorded: told, WorkerID: "W1", Name: "Ada Varrow" + strings.Repeat(" Legible", 20)}))
	onDisk := func() (text string) {
		for _, end := range []string{"", "-wal"} {
			data, err := os.ReadFile(path + end)
			require.NoError(t, err)
			text += string(data)
		}
		return text
	}
	assert.Contains(t, onDisk(), "Legible")
	require.NoError(t, s.InTx(ctx, func(tx *store.Store) error {
		require.NoError(t, store.Add(ctx, tx, gh.Erasure{ID: "gone", Recorded: storetest.Told(tx, day), WorkerID: "W1", Code: "P-7", Reason: "asked for"}))
		return tx.EraseNames(ctx, []gh.WorkerID{"W1"})
	}))
	assert.NotContains(t, onDisk(), "Legible")
}

func TestNothingButAnErasureMayPutACodeInAName(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	erasable(t, storetest.At(t, path))
	db := raw(t, path)
	for what, query := range map[string]string{
		"another name":              "UPDATE worker_names SET name = 'X' WHERE id = 'n2'",
		"another's code":            "UPDATE worker_names SET name = 'P-8' WHERE id = 'n2'",
		"a code and something else": "UPDATE worker_names SET name = 'P-7', because = 'x' WHERE id = 'n2'",
		"a withdrawn code":          "UPDATE aliases SET name = 'erasures-1' WHERE id = 'a2'",
		"a salt that is given":      "UPDATE seals SET salt = zeroblob(16)",
		"a digest":                  "UPDATE seals SET salt = NULL, digest = zeroblob(32) WHERE salt IS NOT NULL",
	} {
		_, err := db.Exec(query)
		assert.ErrorContains(t, err, "are only added to", what)
	}
}

func cut(at string) (table, field string, found bool) {
	for i := range at {
		if at[i] == '.' {
			return at[:i], at[i+1:], true
		}
	}
	return at, "", false
}

// tamper takes the guards off a file and does something to it, as somebody who owns the machine can.
func tamper(t *testing.T, path string, queries ...string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	defer db.Close()
	db.SetMaxOpenConns(1)
	for _, name := range column(t, db, "SELECT name FROM sqlite_master WHERE type = 'trigger'") {
		_, err := db.Exec("DROP TRIGGER " + name)
		require.NoError(t, err)
	}
	for _, q := range queries {
		done, err := db.Exec(q)
		require.NoError(t, err, q)
		n, err := done.RowsAffected()
		require.NoError(t, err)
		require.NotZero(t, n, "%s changes nothing", q)
	}
}

func TestEveryTamperingIsFoundAndNamed(t *testing.T) {
	if underRace {
		t.Skip("one goroutine and many files; .ci/run tries it without the detector")
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "good.db")
	s, err := store.Open(path, storetest.Options())
	require.NoError(t, err)
	erasable(t, s)
	for _, id := range []gh.YardID{"A", "B", "C"} {
		y := aYard(s, id)
		y.Name = "yard " + string(id)
		require.NoError(t, store.Add(ctx, s, y))
	}
	old, err := s.Checkpoint(ctx)
	require.NoError(t, err)
	require.NoError(t, store.Add(ctx, s, aYard(s, "D"), aYard(s, "E")))
	require.NoError(t, s.Close())
	good, err := os.ReadFile(path)
	require.NoError(t, err)
	last := old.Size - 1 // the leaf of C
	other := old
	other.Origin = "groundhand/other"
	wrong := old
	wrong.Root[0] ^= 1
	later := old
	later.Size += 3

	for name, c := range map[string]struct {
		against *ledger.Checkpoint
		queries []string
		want    *store.Misfit
	}{
		"nothing": {&old, nil, nil},
		"a column changed": {nil, []string{"UPDATE yards SET name = 'yard B' WHERE id = 'C'"},
			&store.Misfit{What: store.EntryChanged, N: last, Kind: "yards", ID: "C"}},
		"a word changed for another": {nil, []string{"UPDATE assessments SET result = 'PASS' WHERE id = 'assessments-1'", "UPDATE runs SET happened_on = '1900-01-20' WHERE id = 'runs-1'"},
			&store.Misfit{What: store.EntryChanged, Kind: "runs", ID: "runs-1", Column: "happened_on", Was: "1900-01-04"}},
		"something written where nothing was": {nil, []string{"UPDATE yards SET because = 'typing' WHERE id = 'B'"},
			&store.Misfit{What: store.EntryChanged, N: last - 1, Kind: "yards", ID: "B", Column: "because"}},
		"two columns changed": {nil, []string{"UPDATE yards SET name = 'x', because = 'y' WHERE id = 'B'"},
			&store.Misfit{What: store.EntryChanged, N: last - 1, Kind: "yards", ID: "B"}},
		"a row removed": {nil, []string{"DELETE FROM yards WHERE id = 'B'"},
			&store.Misfit{What: store.EntryRemoved, N: last - 1, Kind: "yards", ID: "B"}},
		"a row put in": {nil, []string{"INSERT INTO yards SELECT 'F', happened_on, happened_at, recorded_at, author_id, capacity, came_by, replaces_id, because, name FROM yards WHERE id = 'B'"},
			&store.Misfit{What: store.EntryUnlogged, N: old.Size + 2, Kind: "yards", ID: "F"}},
		"the contents of two rows swapped": {nil, []string{"UPDATE yards SET name = CASE id WHEN 'A' THEN 'yard C' ELSE 'yard A' END, recorded_at = (SELECT o.recorded_at FROM yards o WHERE o.id = CASE yards.id WHEN 'A' THEN 'C' ELSE 'A' END) WHERE id IN ('A', 'C')"},
			&store.Misfit{What: store.EntriesSwapped, N: last - 2, Kind: "yards", ID: "A", Other: "C"}},
		"the ids of two rows swapped": {nil, []string{"UPDATE yards SET id = 'x' WHERE id = 'A'", "UPDATE yards SET id = 'A' WHERE id = 'B'", "UPDATE yards SET id = 'B' WHERE id = 'x'"},
			&store.Misfit{What: store.EntriesSwapped, N: last - 2, Kind: "yards", ID: "A", Other: "B"}},
		"an id changed": {nil, []string{"UPDATE yards SET id = 'x' WHERE id = 'A'"},
			&store.Misfit{What: store.EntryRemoved, N: last - 2, Kind: "yards", ID: "A"}},
		"a leaf removed": {nil, []string{"DELETE FROM leaves WHERE entry_id = 'B'"},
			&store.Misfit{What: store.LeafRemoved, N: last - 1, Kind: "yards", ID: "B"}},
		"a leaf and its row removed": {nil, []string{"DELETE FROM leaves WHERE entry_id = 'B'", "DELETE FROM yards WHERE id = 'B'"},
			&store.Misfit{What: store.LeafRemoved, N: last - 1}},
		"and the rest moved up": {nil, []string{"DELETE FROM leaves WHERE entry_id = 'B'", "DELETE FROM yards WHERE id = 'B'", "UPDATE leaves SET n = n - 1 WHERE n >= " + fmt.Sprint(last)},
			&store.Misfit{What: store.HashWrong, N: last - 1, Kind: "yards", ID: "C"}},
		"two leaves in each other's place": {nil, []string{"UPDATE leaves SET n = 9999 WHERE entry_id = 'A'", fmt.Sprintf("UPDATE leaves SET n = %d WHERE entry_id = 'B'", last-2), fmt.Sprintf("UPDATE leaves SET n = %d WHERE n = 9999", last-1)},
			&store.Misfit{What: store.HashWrong, N: last - 2, Kind: "yards", ID: "B"}},
		"the hashes of two leaves in each other's place": {nil, []string{fmt.Sprintf("UPDATE leaves SET hashes = o.hashes FROM (SELECT n, hashes FROM leaves) o WHERE leaves.n IN (%d, %d) AND o.n = %d - leaves.n", last-2, last, 2*last-2)},
			&store.Misfit{What: store.LeafOutOfOrder, N: last - 2, Kind: "yards", ID: "A", Other: "C"}},
		"the log cut off": {nil, []string{"DELETE FROM leaves WHERE n >= " + fmt.Sprint(last)},
			&store.Misfit{What: store.EntryUnlogged, N: last, Kind: "yards", ID: "C"}},
		"the log cut off with its rows": {&old, []string{"DELETE FROM leaves WHERE n >= " + fmt.Sprint(last), "DELETE FROM yards WHERE id IN ('C', 'D', 'E')"},
			&store.Misfit{What: store.LogShorter, N: last}},
		"a checkpoint of what never was": {&later, nil, &store.Misfit{What: store.LogShorter, N: old.Size + 2}},
		"a history written anew":         {&wrong, nil, &store.Misfit{What: store.LogRewritten, N: old.Size}},
		"a checkpoint of another log":    {&other, nil, &store.Misfit{What: store.OtherLog, Other: "groundhand/other"}},
		"a name changed": {nil, []string{"UPDATE worker_names SET name = 'Bo' WHERE worker_id = 'workers-1'"},
			&store.Misfit{What: store.EntryChanged, Kind: "worker_names", ID: "worker_names-1", Column: "name"}},
		"a name changed after its erasure": {nil, []string{"UPDATE worker_names SET name = 'Bo' WHERE id = 'n2'"},
			&store.Misfit{What: store.EntryChanged, Kind: "worker_names", ID: "n2", Column: "name"}},
		"a name changed under cover of an erasure": {nil, []string{"UPDATE worker_names SET name = 'P-7' WHERE id = 'worker_names-1'",
			"UPDATE seals SET salt = NULL WHERE n = (SELECT n FROM leaves WHERE entry_id = 'worker_names-1')"},
			&store.Misfit{What: store.EntryChanged, Kind: "worker_names", ID: "worker_names-1", Column: "name"}},
		"a seal made anew": {nil, []string{"UPDATE worker_names SET name = 'Bo' WHERE worker_id = 'workers-1'",
			"UPDATE seals SET digest = zeroblob(32) WHERE n = (SELECT n FROM leaves WHERE entry_id = 'worker_names-1')"},
			&store.Misfit{What: store.EntryChanged, Kind: "worker_names", ID: "worker_names-1", Column: "name"}},
		"an account moved": {nil, []string{"UPDATE acts SET result = 'x'"},
			&store.Misfit{What: store.EntryChanged, Kind: "acts", ID: "accounts-1/acts-1"}},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "records.db")
			require.NoError(t, os.WriteFile(path, good, 0o600))
			tamper(t, path, c.queries...)
			s, err := store.Open(path, store.Options{Now: storetest.NewClock(storetest.Start).Now, ReadOnly: true})
			require.NoError(t, err)
			defer s.Close()
			v, err := s.Verify(ctx, c.against)
			require.NoError(t, err)
			if c.want != nil && v.Misfit != nil && c.want.N == 0 {
				c.want.N = v.Misfit.N // of those that lie among many
			}
			assert.Equal(t, c.want, v.Misfit)
		})
	}
}
