package store_test

import (
	"fmt"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

func aGrade(s *store.Store, id gh.EntryID, who gh.WorkerID) gh.Grading {
	return gh.Grading{ID: id, Recorded: storetest.Told(s, day), WorkerID: who, Grade: gh.Qualified}
}

func merge(t require.TestingT, s *store.Store, id gh.EntryID, kept, gone gh.WorkerID) {
	in(t, s, func(tx *store.Store) error {
		return store.Add(ctx, tx, gh.Merge{ID: id, Recorded: storetest.Told(tx, day), KeptID: kept, GoneID: gone, Reason: "one person"})
	})
}

func withdraw(t require.TestingT, s *store.Store, id, what gh.EntryID) {
	in(t, s, func(tx *store.Store) error {
		return store.Add(ctx, tx, gh.Withdrawal{ID: id, Recorded: storetest.Told(tx, day), WithdrawsID: what})
	})
}

func in(t require.TestingT, s *store.Store, do func(tx *store.Store) error) {
	require.NoError(t, s.InTx(ctx, do))
}

// threeWorkers are ann, ben and cas with the grades g-ann, g-ben and g-cas.
func threeWorkers(t require.TestingT, s *store.Store) {
	in(t, s, func(tx *store.Store) error {
		for i, who := range []gh.WorkerID{"ann", "ben", "cas"} {
			w := gh.Worker{ID: who, Recorded: storetest.Told(tx, day), Number: fmt.Sprint(100 + i)}
			require.NoError(t, store.Add(ctx, tx, w))
			require.NoError(t, store.Add(ctx, tx, aGrade(tx, gh.EntryID("g-"+who), who)))
		}
		return nil
	})
}

func gradesOf(t require.TestingT, s *store.Store, who gh.WorkerID) (out []string) {
	rows, err := store.FindStanding[gh.Grading](ctx, s, store.ByWorker, []gh.WorkerID{who})
	require.NoError(t, err)
	for _, r := range rows {
		out = append(out, string(r.ID)+" of "+string(r.WorkerID))
	}
	return out
}

func workers(t require.TestingT, s *store.Store) (out []string) {
	rows, err := store.Standing[gh.Worker](ctx, s)
	require.NoError(t, err)
	for _, w := range rows {
		out = append(out, string(w.ID))
	}
	return out
}

func TestAMergedWorkerIsFoundUnderTheKeptID(t *testing.T) {
	s := storetest.New(t)
	threeWorkers(t, s)
	merge(t, s, "m1", "ben", "ann")
	merge(t, s, "m2", "cas", "ben")
	all := []string{"g-ann of cas", "g-ben of cas", "g-cas of cas"}
	for _, who := range []gh.WorkerID{"ann", "ben", "cas"} {
		assert.Equal(t, all, gradesOf(t, s, who), who)
		w, err := store.Get[gh.Worker](ctx, s, who)
		require.NoError(t, err)
		assert.EqualValues(t, "cas", w.ID)
		assert.EqualValues(t, "cas", s.Kept(who))
		e, err := s.Evidence(ctx, []gh.WorkerID{who})
		require.NoError(t, err)
		assert.Len(t, e.Gradings, 3)
	}
	assert.Equal(t, []string{"cas"}, workers(t, s))
	n, err := store.Count[gh.Worker](ctx, s, "", nil)
	require.NoError(t, err)
	assert.Equal(t, 1, n)
	numbered, err := store.FindStanding[gh.Worker](ctx, s, store.ByNumber, []string{"100"})
	require.NoError(t, err)
	require.Len(t, numbered, 1)
	assert.EqualValues(t, "cas", numbered[0].ID, "the number of one who went up in another finds the person")
	page, more, err := store.Page[gh.Worker](ctx, s, store.PageOf{First: 1})
	require.NoError(t, err)
	assert.False(t, more)
	assert.Len(t, page, 1)

	merges, err := store.All[gh.Merge](ctx, s)
	require.NoError(t, err)
	assert.EqualValues(t, "ben", merges[0].KeptID, "merges are read as they were made")
	assert.Equal(t, []string{"g-ann of ann"}, gradesOf(t, s.Apart(), "ann"))
	intact(t, s)

	withdraw(t, s, "w1", "m1")
	assert.Equal(t, all[:1], []string{strings.Replace(gradesOf(t, s, "ann")[0], "of ann", "of cas", 1)})
	assert.Equal(t, []string{"g-ben of cas", "g-cas of cas"}, gradesOf(t, s, "ben"))
	withdraw(t, s, "w2", "w1")
	assert.Equal(t, all, gradesOf(t, s, "ann"), "the withdrawal was withdrawn")
}

func TestAMergeHoldsInItsTransactionAndGoesWithIt(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	s := storetest.At(t, path)
	threeWorkers(t, s)
	assert.ErrorIs(t, s.InTx(ctx, func(tx *store.Store) error {
		merge(t, tx, "m0", "ann", "ben")
		assert.Equal(t, []string{"ann", "cas"}, workers(t, tx))
		assert.Len(t, workers(t, s), 3, "not outside before it is committed")
		assert.ErrorIs(t, tx.InTx(ctx, func(in *store.Store) error {
			merge(t, in, "m00", "ann", "cas")
			assert.Equal(t, []string{"ann"}, workers(t, in))
			return errStop
		}), errStop)
		assert.Equal(t, []string{"ann", "cas"}, workers(t, tx), "the inner one was taken back")
		return errStop
	}), errStop)
	assert.Len(t, workers(t, s), 3)
	before := s.Now()
	merge(t, s, "m1", "ann", "ben")
	require.NoError(t, s.InPast(ctx, before, func(then *store.Store) error {
		assert.Len(t, workers(t, then), 3, "it was not known then")
		return nil
	}))
	require.NoError(t, s.InPast(ctx, s.Now(), func(then *store.Store) error {
		assert.Equal(t, []string{"ann", "cas"}, workers(t, then))
		return then.InPast(ctx, before, func(earlier *store.Store) error {
			assert.Len(t, workers(t, earlier), 3)
			return nil
		})
	}))
	again, err := store.Open(path, func() store.Options { o := storetest.Options(); o.ReadOnly = true; return o }())
	require.NoError(t, err)
	defer again.Close()
	assert.Equal(t, []string{"ann", "cas"}, workers(t, again), "read when the file is opened")
}

func TestMergesCostNoStatements(t *testing.T) {
	s := storetest.New(t)
	threeWorkers(t, s)
	count := func() uint64 {
		before := s.Statements()
		_ = gradesOf(t, s, "ann")
		_, err := s.Evidence(ctx, []gh.WorkerID{"ann"})
		require.NoError(t, err)
		return s.Statements() - before
	}
	before := count()
	merge(t, s, "m1", "ann", "ben")
	assert.Equal(t, before, count())
}

func TestARingOfMergesIsOnePerson(t *testing.T) {
	s := storetest.New(t)
	threeWorkers(t, s)
	merge(t, s, "m1", "ann", "ben")
	merge(t, s, "m2", "ben", "cas")
	merge(t, s, "m3", "cas", "ann")
	assert.Equal(t, []string{"ann"}, workers(t, s))
	assert.ElementsMatch(t, []gh.WorkerID{"ann", "ben", "cas"}, s.SamePerson("cas"))
}

// Every column that refers to a worker is of the type that merges bear on.
func TestEveryReferenceToAWorkerIsAWorkerID(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	s := storetest.At(t, path)
	oneOfEach(t, s)
	db := raw(t, path)
	for _, k := range kinds {
		names := column(t, db, `SELECT "from" FROM pragma_foreign_key_list('`+k.table+`') WHERE "table" = 'workers' AND "from" <> 'replaces_id'`)
		ids := 0
		for _, f := range reflect.VisibleFields(reflect.TypeOf(k.zero)) {
			if f.Type == reflect.TypeFor[gh.WorkerID]() && (k.table != "workers" || f.Name != "ID") {
				ids++
			}
		}
		assert.Equal(t, len(names), ids, "%s: %v", k.table, names)
	}
}

func everything(t require.TestingT, s *store.Store) (out []gh.Evidence) {
	for _, who := range []gh.WorkerID{"ann", "ben", "cas"} {
		e, err := s.Evidence(ctx, []gh.WorkerID{who})
		require.NoError(t, err)
		out = append(out, e)
	}
	all, err := s.Evidence(ctx, nil)
	require.NoError(t, err)
	return append(out, all)
}

func entryIDs(e gh.Evidence) (out []string) {
	for _, g := range e.Gradings {
		out = append(out, string(g.ID))
	}
	for _, a := range e.Assessments {
		out = append(out, string(a.ID))
	}
	for _, u := range e.Unavailabilities {
		out = append(out, string(u.ID))
	}
	slices.Sort(out)
	return out
}

// oneFact adds an entry of one of three workers, perhaps in place of another.
func oneFact(rt *rapid.T, s *store.Store, n int, before []gh.EntryID) gh.EntryID {
	who := rapid.SampledFrom([]gh.WorkerID{"ann", "ben", "cas"})
	id := gh.EntryID(fmt.Sprintf("f%02d", n))
	in(rt, s, func(tx *store.Store) error {
		told := storetest.Told(tx, day)
		told.AuthorID = who.Draw(rt, "author")
		switch rapid.IntRange(0, 3).Draw(rt, "kind") {
		case 0:
			g := aGrade(tx, id, who.Draw(rt, "worker"))
			g.Recorded, g.ReplacesID = told, rapid.SampledFrom(append([]gh.EntryID{""}, before...)).Draw(rt, "replaces")
			if !strings.HasPrefix(string(g.ReplacesID), "g-") {
				g.ReplacesID = ""
			}
			return store.Add(ctx, tx, g)
		case 1:
			return store.Add(ctx, tx, gh.Assessment{ID: id, Recorded: told, WorkerID: who.Draw(rt, "worker"), AssessorID: who.Draw(rt, "assessor"),
				Method: gh.PairKit, Role: gh.Lead, Result: gh.Pass})
		case 2:
			return store.Add(ctx, tx, gh.Unavailability{ID: id, Recorded: told, WorkerID: who.Draw(rt, "worker"), Kind: gh.Leave, FromAt: 1})
		}
		return store.Add(ctx, tx, gh.Withdrawal{ID: id, Recorded: told, WithdrawsID: rapid.SampledFrom(before).Draw(rt, "withdraws")})
	})
	return id
}

func TestWithdrawingAMergeGivesBackExactlyWhatWas(t *testing.T) {
	files := 0
	if underRace {
		t.Skip("a hundred small histories; .ci/run tries them without the detector")
	}
	rapid.Check(t, func(rt *rapid.T) {
		files++
		s := storetest.New(t)
		threeWorkers(rt, s)
		known := []gh.EntryID{"g-ann", "g-ben", "g-cas"}
		for n := range rapid.IntRange(0, 8).Draw(rt, "facts") {
			known = append(known, oneFact(rt, s, n, known))
		}
		before := everything(rt, s)
		merge(rt, s, "m1", "ann", "ben")
		merged := everything(rt, s)
		require.Equal(rt, merged[0], merged[1], "asked by either id")
		require.Equal(rt, entryIDs(before[3]), entryIDs(merged[3]), "of everybody none is lost and none doubled")
		both := append(entryIDs(before[0]), entryIDs(before[1])...)
		slices.Sort(both)
		require.Equal(rt, slices.Compact(both), entryIDs(merged[0]), "the entries of both, each once")
		for _, g := range merged[3].Gradings {
			require.NotEqualValues(rt, "ben", g.WorkerID)
			require.NotEqualValues(rt, "ben", g.AuthorID)
		}
		withdraw(rt, s, "w1", "m1")
		after := everything(rt, s)
		after[3].Withdrawals = slices.DeleteFunc(after[3].Withdrawals, func(w gh.Withdrawal) bool { return w.ID == "w1" })
		require.Equal(rt, len(before[3].Withdrawals), len(after[3].Withdrawals))
		after[3].Withdrawals = before[3].Withdrawals
		require.Equal(rt, before, after)
	})
	assert.Positive(t, files)
}
