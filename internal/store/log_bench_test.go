package store_test

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

// BenchmarkWhatTheLogCosts times the transaction of a drill as a form makes it (a run, four parts, an act), with the log and without, in
// turns, each on a file of its own. The ratio of the two is what the log costs.
func BenchmarkWhatTheLogCosts(b *testing.B) {
	var took [2]time.Duration
	var stores [2]*store.Store
	for i := range stores {
		o := storetest.Options()
		o.NoLog = i == 0
		s, err := store.Open(filepath.Join(b.TempDir(), "records.db"), o)
		require.NoError(b, err)
		b.Cleanup(func() { require.NoError(b, s.Close()) })
		oneOfEach(b, s)
		stores[i] = s
	}
	n := 0
	for b.Loop() {
		n++
		for i, s := range stores {
			start := time.Now()
			recordDrill(b, s, n)
			took[i] += time.Since(start)
		}
	}
	b.ReportMetric(float64(took[0].Microseconds())/float64(n), "µs/without")
	b.ReportMetric(float64(took[1].Microseconds())/float64(n), "µs/with")
	b.ReportMetric(float64(took[1])/float64(took[0]), "ratio")
}

// recordDrill does what a form of a drill does: it looks whether the act was done, and adds the run, its parts and the act.
func recordDrill(b *testing.B, s *store.Store, n int) {
	require.NoError(b, s.InTx(ctx, func(tx *store.Store) error {
		key := fmt.Sprintf("key-%d", n)
		if _, done, err := tx.ActDone(ctx, "accounts-1", key); err != nil || done {
			return err
		}
		run := filled[gh.Run](fixed{}, tx.NewID())
		run.Recorded = storetest.Told(tx, day)
		if err := store.Add(ctx, tx, run); err != nil {
			return err
		}
		var parts []gh.RunPart
		for range 4 {
			part := filled[gh.RunPart](fixed{}, tx.NewID())
			part.Recorded, part.RunID = run.Recorded, run.ID
			parts = append(parts, part)
		}
		if err := store.Add(ctx, tx, parts...); err != nil {
			return err
		}
		return store.Add(ctx, tx, gh.Act{Key: key, AccountID: "accounts-1", Name: "recordRun", Digest: "d", Result: string(run.ID), DoneAt: tx.Now()})
	}))
}
