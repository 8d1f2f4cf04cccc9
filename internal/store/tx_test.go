package store_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sync/errgroup"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

var (
	ctx = context.Background()
	day = gh.MustDate("2025-06-02")
)

func aYard(s *store.Store, id gh.YardID) gh.Yard {
	return gh.Yard{ID: id, Recorded: storetest.Told(s, day), Name: "Varrow"}
}

func aWorker(s *store.Store, id gh.WorkerID) gh.Worker {
	return gh.Worker{ID: id, Recorded: storetest.Told(s, day)}
}

func count[T any](t testing.TB, s *store.Store) int {
	t.Helper()
	n, err := store.Count[T](ctx, s, "", nil)
	require.NoError(t, err)
	return n
}

var errStop = errors.New("stop")

func TestATransactionIsEverythingOrNothing(t *testing.T) {
	s := storetest.New(t)
	err := s.InTx(ctx, func(tx *store.Store) error {
		require.NoError(t, store.Add(ctx, tx, aYard(tx, "A"), aYard(tx, "B")))
		assert.Equal(t, 2, count[gh.Yard](t, tx), "seen inside")
		assert.Zero(t, count[gh.Yard](t, s), "not seen outside")
		return errStop
	})
	assert.ErrorIs(t, err, errStop)
	assert.Zero(t, count[gh.Yard](t, s))

	assert.Panics(t, func() {
		_ = s.InTx(ctx, func(tx *store.Store) error {
			require.NoError(t, store.Add(ctx, tx, aYard(tx, "A")))
			panic("stop")
		})
	})
	assert.Zero(t, count[gh.Yard](t, s))
	require.NoError(t, store.Add(ctx, s, aYard(s, "A")), "the writer is free again")
}

func TestOneBadRowAmongManyLeavesNone(t *testing.T) {
	s := storetest.New(t)
	var yards []gh.Yard
	for i := range 250 {
		yards = append(yards, aYard(s, gh.YardID(fmt.Sprintf("Y%03d", i))))
	}
	yards[249].ID = "Y000"
	err := store.Add(ctx, s, yards...)
	assert.ErrorIs(t, err, gh.CodeConflict)
	assert.Zero(t, count[gh.Yard](t, s))
}

func TestATransactionInsideAnotherFailsAlone(t *testing.T) {
	s := storetest.New(t)
	require.NoError(t, s.InTx(ctx, func(tx *store.Store) error {
		require.NoError(t, store.Add(ctx, tx, aYard(tx, "A")))
		inner := tx.InTx(ctx, func(in *store.Store) error {
			assert.Equal(t, tx.Now(), in.Now())
			require.NoError(t, store.Add(ctx, in, aYard(in, "B")))
			return errStop
		})
		assert.ErrorIs(t, inner, errStop)
		assert.ErrorIs(t, store.Add(ctx, tx, aYard(tx, "A")), gh.CodeConflict, "a refusal does not end the transaction")
		return tx.InTx(ctx, func(in *store.Store) error { return store.Add(ctx, in, aYard(in, "C")) })
	}))
	yards, err := store.All[gh.Yard](ctx, s)
	require.NoError(t, err)
	require.Len(t, yards, 2)
	assert.Equal(t, []gh.YardID{"A", "C"}, []gh.YardID{yards[0].ID, yards[1].ID})
}

func TestTimeStandsStillInsideATransaction(t *testing.T) {
	clock := storetest.NewClock("2025-06-02T06:00:00Z")
	s := storetest.New(t, clock)
	var first, second, third gh.Instant
	require.NoError(t, s.InTx(ctx, func(tx *store.Store) error {
		first = tx.Now()
		clock.Advance(time.Hour)
		assert.Equal(t, first, tx.Now())
		return nil
	}))
	assert.Equal(t, "2025-06-02T06:00:00Z", first.String())
	assert.Equal(t, "2025-06-02T07:00:00Z", s.Now().String())

	tx := func(at *gh.Instant) {
		require.NoError(t, s.InTx(ctx, func(tx *store.Store) error { *at = tx.Now(); return nil }))
	}
	tx(&second)
	tx(&third)
	assert.Equal(t, second+1, third, "two transactions never share a moment")
	clock.Advance(-500 * time.Millisecond)
	tx(&third)
	assert.Equal(t, second+2, third, "a small step back of the clock is bridged")
	clock.Set("2025-06-01T06:00:00Z")
	tx(&third)
	assert.Equal(t, "2025-06-01T06:00:00Z", third.String(), "a large one is believed")
}

func TestASnapshotDoesNotSeeWhatComesMeanwhile(t *testing.T) {
	s := storetest.New(t)
	require.NoError(t, s.InSnapshot(ctx, func(seen *store.Store) error {
		assert.Zero(t, count[gh.Yard](t, seen))
		require.NoError(t, store.Add(ctx, s, aYard(s, "A")))
		assert.Zero(t, count[gh.Yard](t, seen))
		assert.ErrorIs(t, store.Add(ctx, seen, aYard(s, "B")), gh.CodeForbidden)
		return nil
	}))
	assert.Equal(t, 1, count[gh.Yard](t, s))
}

// Each transaction reads a number and writes the next: without an immediate transaction most would fail as busy, without a
// transaction some would write the same number.
func TestWritersAtTheSameTimeWait(t *testing.T) {
	s := storetest.New(t)
	const writers, each = 8, 25
	var group errgroup.Group
	for range writers {
		group.Go(func() error {
			for range each {
				if err := s.InTx(ctx, func(tx *store.Store) error {
					n, err := store.Count[gh.Yard](ctx, tx, "", nil)
					if err != nil {
						return err
					}
					return store.Add(ctx, tx, aYard(tx, gh.YardID(fmt.Sprintf("Y%03d", n))))
				}); err != nil {
					return err
				}
			}
			return nil
		})
	}
	require.NoError(t, group.Wait())
	assert.Equal(t, writers*each, count[gh.Yard](t, s))
}

// Two stores on one file stand for two programs: the busy handler and the immediate transaction have to sort them out.
func TestTwoProgramsWriteToOneFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	stores := []*store.Store{storetest.At(t, path), storetest.At(t, path)}
	var group errgroup.Group
	for _, s := range stores {
		group.Go(func() error {
			for range 40 {
				if err := s.InTx(ctx, func(tx *store.Store) error {
					n, err := store.Count[gh.Yard](ctx, tx, "", nil)
					if err != nil {
						return err
					}
					return store.Add(ctx, tx, aYard(tx, gh.YardID(fmt.Sprintf("Y%03d", n))))
				}); err != nil {
					return err
				}
			}
			return nil
		})
	}
	require.NoError(t, group.Wait())
	assert.Equal(t, 80, count[gh.Yard](t, stores[0]))
}

const killedAt = "GROUNDHAND_TEST_KILLED_AT"

// TestMain lets the test program play one that is killed in the middle of a transaction.
func TestMain(m *testing.M) {
	if path := os.Getenv(killedAt); path != "" {
		writeAndWait(path)
	}
	if path := os.Getenv(killedWriting); path != "" {
		writeUntilKilled(path)
	}
	os.Exit(m.Run())
}

func writeAndWait(path string) {
	s, err := store.Open(path, storetest.Options())
	if err != nil {
		panic(err)
	}
	if err := store.Add(ctx, s, aYard(s, "committed")); err != nil {
		panic(err)
	}
	_ = s.InTx(ctx, func(tx *store.Store) error {
		for i := range 1000 {
			if err := store.Add(ctx, tx, aYard(tx, gh.YardID(fmt.Sprint(i)))); err != nil {
				panic(err)
			}
		}
		fmt.Println("ready")
		select {}
	})
}

func TestAKillInTheMiddleLeavesNothingHalf(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	program := exec.Command(os.Args[0])
	program.Env = append(os.Environ(), killedAt+"="+path)
	out, err := program.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, program.Start())
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, program.Process.Kill())
	_ = program.Wait() // says that it was killed
	require.NoError(t, err)
	require.Equal(t, "ready\n", line)

	s := storetest.At(t, path)
	yards, err := store.All[gh.Yard](ctx, s)
	require.NoError(t, err)
	require.Len(t, yards, 1)
	assert.Equal(t, gh.YardID("committed"), yards[0].ID)
	require.NoError(t, store.Add(ctx, s, aYard(s, "1")))
}
