package store_test

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

// later adds a row in a transaction, so a moment, of its own.
func later[T any](t require.TestingT, s *store.Store, row func(tx *store.Store) T) {
	require.NoError(t, s.InTx(ctx, func(tx *store.Store) error { return store.Add(ctx, tx, row(tx)) }))
}

func aCorrection(t require.TestingT, s *store.Store, id gh.YardID, of gh.EntryID) {
	later(t, s, func(tx *store.Store) gh.Yard {
		y := aYard(tx, id)
		y.ReplacesID = of
		return y
	})
}

func aWithdrawal(t require.TestingT, s *store.Store, id, of gh.EntryID) {
	later(t, s, func(tx *store.Store) gh.Withdrawal {
		return gh.Withdrawal{ID: id, Recorded: storetest.Told(tx, day), WithdrawsID: of}
	})
}

func yardIDs(yards []gh.Yard) (ids []gh.YardID) {
	for _, y := range yards {
		ids = append(ids, y.ID)
	}
	return ids
}

func standingYards(t require.TestingT, s *store.Store) []gh.YardID {
	yards, err := store.Standing[gh.Yard](ctx, s)
	require.NoError(t, err)
	return yardIDs(yards)
}

func TestStandingFollowsCorrectionsAndWithdrawals(t *testing.T) {
	s := storetest.New(t)
	step := func(what string, want ...gh.YardID) {
		t.Helper()
		assert.Equal(t, want, standingYards(t, s), what)
	}
	later(t, s, func(tx *store.Store) gh.Yard { return aYard(tx, "A") })
	step("A", "A")
	aCorrection(t, s, "B", "A")
	aCorrection(t, s, "C", "B")
	step("A <- B <- C", "C")
	aWithdrawal(t, s, "w1", "C")
	step("C withdrawn", "B")
	aWithdrawal(t, s, "w2", "w1")
	step("and the withdrawal withdrawn", "C")
	aWithdrawal(t, s, "w3", "B")
	step("only B withdrawn", "C")
	aWithdrawal(t, s, "w4", "C")
	step("B and C withdrawn", "A")

	found, err := store.FindStanding[gh.Yard](ctx, s, store.ByID, []string{"B"})
	require.NoError(t, err)
	assert.Empty(t, found)
	found, err = store.FindStanding[gh.Yard](ctx, s, store.ByID, []string{"A"})
	require.NoError(t, err)
	assert.Len(t, found, 1, "what bears on it is found though it was not asked for")
	withdrawals, err := store.Standing[gh.Withdrawal](ctx, s)
	require.NoError(t, err)
	assert.Len(t, withdrawals, 3, "w1 was withdrawn")
}

// Above a number of ids all corrections and withdrawals are read, below they are looked up: both must say the same, and the same
// as the rule applied to everything.
func TestFewAndManyIDsStandAlike(t *testing.T) {
	s := storetest.New(t)
	const many = 2500
	require.NoError(t, s.InTx(ctx, func(tx *store.Store) error {
		var yards []gh.Yard
		for i := range many {
			yards = append(yards, aYard(tx, gh.YardID(fmt.Sprintf("Y%04d", i))))
		}
		return store.Add(ctx, tx, yards...)
	}))
	known := []gh.EntryID{"Y0000", "Y0001", "Y0002"}
	chance := rand.New(rand.NewPCG(1, 2))
	for n := range 80 {
		target, id := known[chance.IntN(len(known))], gh.EntryID(fmt.Sprintf("Z%04d", n))
		if chance.IntN(2) == 0 && target[0] != 'W' {
			aCorrection(t, s, gh.YardID(id), target)
		} else {
			id = "W" + id
			aWithdrawal(t, s, id, target)
		}
		known = append(known, id)
	}
	all, err := store.All[gh.Yard](ctx, s)
	require.NoError(t, err)
	withdrawals, err := store.All[gh.Withdrawal](ctx, s)
	require.NoError(t, err)
	var marks []gh.Mark
	for _, y := range all {
		marks = append(marks, gh.Mark{ID: gh.EntryID(y.ID), Replaces: y.ReplacesID})
	}
	dead := gh.Dead(marks, withdrawals)
	require.NotEmpty(t, dead)
	var want, few, paged []gh.YardID
	for _, y := range all {
		if dead[gh.EntryID(y.ID)] {
			continue
		}
		want = append(want, y.ID)
	}
	for _, y := range all { // one by one
		got, err := store.FindStanding[gh.Yard](ctx, s, store.ByID, []gh.YardID{y.ID})
		require.NoError(t, err)
		few = append(few, yardIDs(got)...)
	}
	for after, more := "", true; more; {
		var page []gh.Yard
		page, more, err = store.Page[gh.Yard](ctx, s, store.PageOf{First: 7, After: after, Standing: true})
		require.NoError(t, err)
		require.Len(t, page, min(7, len(want)-len(paged)))
		paged = append(paged, yardIDs(page)...)
		after = string(page[len(page)-1].ID)
	}
	assert.Equal(t, want, standingYards(t, s))
	assert.Equal(t, want, few)
	assert.ElementsMatch(t, want, paged)
	assert.IsIncreasing(t, paged)
}

// A correction may move an entry to another person: the evidence of the first must show that the entry is replaced.
func TestEvidenceShowsWhatMovedToAnotherWorker(t *testing.T) {
	for _, others := range []int{0, 2500} { // looked up, and read whole
		t.Run(fmt.Sprint(others), func(t *testing.T) {
			s := storetest.New(t)
			require.NoError(t, store.Add(ctx, s, aWorker(s, "ann"), aWorker(s, "ben"), aWorker(s, "cas")))
			grade := func(id, replaces gh.EntryID, w gh.WorkerID) {
				later(t, s, func(tx *store.Store) gh.Grading {
					g := gh.Grading{ID: id, Recorded: storetest.Told(tx, day), WorkerID: w, Grade: gh.Qualified}
					g.ReplacesID = replaces
					return g
				})
			}
			var more []gh.Grading
			for i := range others {
				more = append(more, gh.Grading{ID: gh.EntryID(fmt.Sprint(i)), Recorded: storetest.Told(s, day), WorkerID: "ann", Grade: gh.Ground})
			}
			require.NoError(t, store.Add(ctx, s, more...))
			grade("a", "", "ann")
			grade("b", "a", "ben")
			grade("c", "b", "cas")
			grade("d", "", "cas")
			grade("e", "d", "cas")
			aWithdrawal(t, s, "w", "c")
			aWithdrawal(t, s, "v", "w")
			aWithdrawal(t, s, "u", "d")

			e, err := s.Evidence(ctx, []gh.WorkerID{"ann"})
			require.NoError(t, err)
			var ids []gh.EntryID
			for _, g := range e.Gradings[others:] {
				ids = append(ids, g.ID)
			}
			assert.Equal(t, []gh.EntryID{"a", "b", "c"}, ids)
			require.Len(t, e.Withdrawals, 2)
			assert.Equal(t, []gh.EntryID{"w", "v"}, []gh.EntryID{e.Withdrawals[0].ID, e.Withdrawals[1].ID})

			all, err := s.Evidence(ctx, nil)
			require.NoError(t, err)
			assert.Len(t, all.Gradings, others+5)
			assert.Len(t, all.Withdrawals, 3)
			none, err := s.Evidence(ctx, []gh.WorkerID{})
			require.NoError(t, err)
			assert.Zero(t, none)
		})
	}
}

func TestEvidenceHoldsEveryKindAndTheFactsOfTheRun(t *testing.T) {
	s := storetest.New(t)
	oneOfEach(t, s)
	e, err := s.Evidence(ctx, []gh.WorkerID{"workers-1", "nobody"})
	require.NoError(t, err)
	for kind, n := range map[string]int{
		"practices": len(e.Practices), "assessments": len(e.Assessments), "outside": len(e.Outside), "suspensions": len(e.Suspensions),
		"liftings": len(e.Liftings), "extensions": len(e.Extensions), "provisionals": len(e.Provisionals),
		"unavailabilities": len(e.Unavailabilities), "gradings": len(e.Gradings), "authorities": len(e.Authorities), "withdrawals": len(e.Withdrawals),
	} {
		assert.Equal(t, 1, n, kind)
	}
	assert.Equal(t, gh.EntryID("runs-1"), e.Withdrawals[0].WithdrawsID, "a run withdrawn as a whole")
	run, err := store.Get[gh.Run](ctx, s, gh.RunID("runs-1"))
	require.NoError(t, err)
	part, err := store.Get[gh.RunPart](ctx, s, gh.EntryID("run_parts-1"))
	require.NoError(t, err)
	assert.Equal(t, gh.Practice{RunPart: part, Method: run.Method, FamilyID: run.FamilyID, Complete: run.Complete, Theory: run.Theory, WatchedBy: run.WatchedBy}, e.Practices[0])
	everybody, err := s.Evidence(ctx, nil)
	require.NoError(t, err)
	assert.Equal(t, e, everybody)
}

func TestEvidenceOfManyTakesAsManyStatementsAsOfOne(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	s := storetest.At(t, path)
	oneOfEach(t, s)
	workers := []gh.WorkerID{"workers-1"}
	statements := func() uint64 {
		before := s.Statements()
		_, err := s.Evidence(ctx, workers)
		require.NoError(t, err)
		return s.Statements() - before
	}
	one := statements()
	require.NoError(t, s.InTx(ctx, func(tx *store.Store) error {
		for i := range 300 {
			id := gh.WorkerID(fmt.Sprintf("w%03d", i))
			require.NoError(t, store.Add(ctx, tx, aWorker(tx, id)))
			require.NoError(t, store.Add(ctx, tx, gh.Grading{ID: gh.EntryID("g" + id), Recorded: storetest.Told(tx, day), WorkerID: id, Grade: gh.Ground}))
			workers = append(workers, id)
		}
		return nil
	}))
	assert.Equal(t, one, statements())
	assert.LessOrEqual(t, one, uint64(22))
}
