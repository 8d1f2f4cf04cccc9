package store_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sync/errgroup"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

// A statement that was first asked inside a snapshot is parsed once and not in every snapshot that follows.
func TestASnapshotLeavesItsStatementsPrepared(t *testing.T) {
	s := storetest.New(t)
	require.NoError(t, store.Add(ctx, s, aYard(s, "Y1")))
	look := func(asked context.Context) error {
		return s.InSnapshot(asked, func(seen *store.Store) error {
			_, err := store.Find[gh.Yard](asked, seen, store.ByID, []gh.YardID{"Y1"})
			return err
		})
	}
	require.NoError(t, look(ctx))
	bound, kept := store.Bound(s)
	assert.Zero(t, bound)
	assert.Positive(t, kept)
	require.NoError(t, look(ctx))
	_, again := store.Bound(s)
	assert.Equal(t, kept, again)

	gone, leave := context.WithCancel(ctx)
	_ = s.InSnapshot(gone, func(seen *store.Store) error { // who leaves meanwhile gets no answer and breaks nothing
		defer leave()
		_, err := store.All[gh.Crew](gone, seen)
		return err
	})
	require.NoError(t, look(ctx), "and the next one keeps what was left")
	bound, _ = store.Bound(s)
	assert.Zero(t, bound)
}

// More readers than connections, all asking the same new questions at once: nobody waits for ever, and everybody sees the same.
func TestSnapshotsAtOnceShareStatements(t *testing.T) {
	s := storetest.New(t)
	require.NoError(t, store.Add(ctx, s, aYard(s, "Y1")))
	require.NoError(t, store.Add(ctx, s, aWorker(s, "W1")))
	var all errgroup.Group
	for range 24 {
		all.Go(func() error {
			for range 10 {
				err := s.InSnapshot(ctx, func(seen *store.Store) error {
					yards, err := store.Find[gh.Yard](ctx, seen, store.ByID, []gh.YardID{"Y1"})
					if err != nil {
						return err
					}
					people, err := store.All[gh.Worker](ctx, seen)
					assert.Len(t, yards, 1)
					assert.Len(t, people, 1)
					return err
				})
				if err != nil {
					return err
				}
			}
			return nil
		})
	}
	require.NoError(t, all.Wait())
	require.NoError(t, s.InSnapshot(ctx, func(*store.Store) error { return nil }))
	bound, _ := store.Bound(s)
	assert.Zero(t, bound)
}
