package store_test

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

// read is everything that is asked about the two workers and the runs of the histories below.
type read struct {
	Now       gh.Instant
	All       []gh.Yard
	Standing  []gh.Grading
	Found     []gh.Grading
	OfAnn     []gh.Grading
	Evidence  gh.Evidence
	Everybody gh.Evidence
	Kinds     int
	Page      []gh.Grading
	Count     int
}

func readAll(t require.TestingT, s *store.Store, at gh.Instant) (r read) {
	var err error
	check := func(err error) { require.NoError(t, err) }
	r.Now = at
	r.All, err = store.All[gh.Yard](ctx, s)
	check(err)
	r.Standing, err = store.Standing[gh.Grading](ctx, s)
	check(err)
	r.Found, err = store.Find[gh.Grading](ctx, s, store.ByWorker, []string{"ann"})
	check(err)
	r.OfAnn, err = store.FindStanding[gh.Grading](ctx, s, store.ByWorker, []string{"ann"})
	check(err)
	r.Evidence, err = s.Evidence(ctx, []gh.WorkerID{"ann"})
	check(err)
	r.Everybody, err = s.Evidence(ctx, nil)
	check(err)
	r.Page, _, err = store.Page[gh.Grading](ctx, s, store.PageOf{First: 5, Standing: true})
	check(err)
	r.Count, err = store.Count[gh.Withdrawal](ctx, s, "", nil)
	check(err)
	for _, g := range r.Found {
		if _, err := s.KindOf(ctx, g.ID); err == nil {
			r.Kinds++
		}
	}
	return r
}

func gradingIDs(t require.TestingT, s *store.Store) []gh.EntryID {
	rows, err := store.All[gh.Grading](ctx, s)
	require.NoError(t, err)
	withdrawals, err := store.All[gh.Withdrawal](ctx, s)
	require.NoError(t, err)
	var out []gh.EntryID
	for _, r := range rows {
		out = append(out, r.ID)
	}
	for _, w := range withdrawals {
		out = append(out, w.ID)
	}
	return out
}

// oneMore adds an entry, a correction or a withdrawal drawn by chance.
func oneMore(t require.TestingT, s *store.Store, n int, chance *rand.Rand) {
	id := gh.EntryID(fmt.Sprintf("e%03d", n))
	known := gradingIDs(t, s)
	require.NoError(t, s.InTx(ctx, func(tx *store.Store) error {
		grading := gh.Grading{ID: id, Recorded: storetest.Told(tx, day), WorkerID: []gh.WorkerID{"ann", "ben"}[chance.IntN(2)], Grade: gh.Qualified, Year: n}
		what := chance.IntN(5)
		if what == 0 || len(known) == 0 {
			return store.Add(ctx, tx, grading)
		}
		of := known[chance.IntN(len(known))]
		if kind, err := tx.KindOf(ctx, of); err != nil || kind == "withdrawals" || what < 3 {
			return store.Add(ctx, tx, gh.Withdrawal{ID: id, Recorded: grading.Recorded, WithdrawsID: of})
		}
		grading.ReplacesID = of
		return store.Add(ctx, tx, grading)
	}))
}

func TestThePastIsWhatWasReadThen(t *testing.T) {
	for seed := range uint64(15) {
		chance := rand.New(rand.NewPCG(seed, 0))
		clock := storetest.NewClock(storetest.Start)
		s := storetest.New(t, clock)
		require.NoError(t, store.Add(ctx, s, aWorker(s, "ann"), aWorker(s, "ben")))
		require.NoError(t, store.Add(ctx, s, aYard(s, "Y")))
		var then []read
		for n := range 1 + chance.IntN(25) {
			oneMore(t, s, n, chance)
			then = append(then, readAll(t, s, s.Now()))
			clock.Advance(time.Duration(chance.IntN(5)) * time.Millisecond)
		}
		for _, want := range then {
			require.NoError(t, s.InPast(ctx, want.Now, func(seen *store.Store) error {
				require.Equal(t, want.Now, seen.Now())
				require.Equal(t, want, readAll(t, seen, seen.Now()), "history %d", seed)
				return nil
			}))
		}
	}
}

// atMoments gives a store with a yard told at each of three moments.
func atMoments(t *testing.T) (s *store.Store, at [3]gh.Instant) {
	clock := storetest.NewClock(storetest.Start)
	s = storetest.New(t, clock)
	for i := range at {
		clock.Advance(time.Hour)
		at[i] = s.Now()
		require.NoError(t, store.Add(ctx, s, aYard(s, gh.YardID(fmt.Sprint(i)))))
	}
	return s, at
}

func TestAlsoAMillisecondEarlierIsAnotherPast(t *testing.T) {
	s, at := atMoments(t)
	for want, moment := range []gh.Instant{at[0] - 1, at[0], at[1], at[2]} {
		require.NoError(t, s.InPast(ctx, moment, func(seen *store.Store) error {
			assert.Equal(t, want, count[gh.Yard](t, seen))
			return nil
		}))
	}
	assert.Equal(t, 3, count[gh.Yard](t, s), "the present is as it was")
}

func TestWithinThePastTheEarlierMomentHolds(t *testing.T) {
	s, at := atMoments(t)
	look := func(from *store.Store, moment gh.Instant, want int) {
		t.Helper()
		require.NoError(t, from.InPast(ctx, moment, func(seen *store.Store) error {
			assert.Equal(t, want, count[gh.Yard](t, seen))
			return nil
		}))
	}
	require.NoError(t, s.InPast(ctx, at[1], func(seen *store.Store) error {
		look(seen, at[0], 1)
		assert.Equal(t, 2, count[gh.Yard](t, seen), "back again")
		look(seen, at[2], 2)
		return seen.InSnapshot(ctx, func(within *store.Store) error {
			assert.Equal(t, at[1], within.Now())
			assert.Equal(t, 2, count[gh.Yard](t, within), "a snapshot within is the past")
			return nil
		})
	}))
	require.NoError(t, s.InSnapshot(ctx, func(seen *store.Store) error {
		look(seen, at[0], 1)
		return nil
	}))
}

func TestWhatThePastRefuses(t *testing.T) {
	s, at := atMoments(t)
	nothing := func(*store.Store) error { return nil }
	require.NoError(t, s.InPast(ctx, at[0], func(seen *store.Store) error {
		assert.ErrorIs(t, store.Add(ctx, seen, aYard(seen, "Z")), gh.CodeForbidden)
		return nil
	}))
	assert.ErrorContains(t, s.InPast(ctx, 0, nothing), "without a moment")
	err := s.InTx(ctx, func(tx *store.Store) error { return tx.InPast(ctx, at[0], nothing) })
	assert.ErrorContains(t, err, "inside a transaction that writes")
	assert.ErrorIs(t, s.InPast(ctx, at[0], func(*store.Store) error { return errStop }), errStop)
	require.NoError(t, s.InPast(ctx, at[0], nothing), "and the connection is good again")
}

func TestATokenWasGoodUntilItWasRevoked(t *testing.T) {
	clock := storetest.NewClock(storetest.Start)
	s := storetest.New(t, clock)
	require.NoError(t, store.Add(ctx, s, gh.Account{ID: "a", RecordedAt: s.Now(), Name: "desk", Capacity: gh.Coordinator}))
	require.NoError(t, store.Add(ctx, s, gh.Token{ID: "t", AccountID: "a", Digest: "d", MadeAt: s.Now()}))
	before := s.Now()
	clock.Advance(time.Hour)
	_, err := s.RevokeTokens(ctx, "a")
	require.NoError(t, err)
	require.NoError(t, s.InPast(ctx, before, func(seen *store.Store) error {
		token, err := store.Get[gh.Token](ctx, seen, gh.EntryID("t"))
		assert.Zero(t, token.RevokedAt)
		return err
	}))
}

func TestThePastCanBeReadFromAFileOpenForReadingOnly(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	first := storetest.At(t, path)
	require.NoError(t, store.Add(ctx, first, aYard(first, "A")))
	o := storetest.Options()
	o.ReadOnly = true
	s, err := store.Open(path, o)
	require.NoError(t, err)
	defer s.Close()
	require.NoError(t, s.InPast(ctx, first.Now(), func(seen *store.Store) error {
		assert.Equal(t, 1, count[gh.Yard](t, seen))
		return nil
	}))
}
