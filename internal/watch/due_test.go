package watch_test

import (
	"bytes"
	"context"
	"log/slog"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

func (w *yard) catchUp() []groundhand.Date {
	w.Helper()
	days, err := w.watch.CatchUp(w.ctx)
	require.NoError(w, err)
	return days
}

func TestMissedDaysAreCaughtUpInOrder(t *testing.T) {
	w := crewOfThree(t)
	w.clock.Set("2025-06-05T08:00:00+01:00")
	assert.Equal(t, from("2025-06-05", "2025-06-05"), w.catchUp(), "the first start has nothing to catch up with")
	assert.Empty(t, w.catchUp(), "nothing is due twice")

	w.practise("2025-06-07", "bob")
	w.clock.Set("2025-06-11T19:00:00+01:00")
	assert.Equal(t, from("2025-06-06", "2025-06-11"), w.catchUp())
	assert.Equal(t, from("2025-06-05", "2025-06-11"), w.swept())
	flags, err := store.Find[groundhand.Clearing](w.ctx, w.store, store.ByFlag, flagsAbout(w, "bob"))
	require.NoError(t, err)
	require.Len(t, flags, 1)
	assert.Equal(t, "2025-06-07", flags[0].ClearedOn.String(), "each missed day is looked at as its own day")
}

func flagsAbout(w *yard, who groundhand.WorkerID) []groundhand.FlagID {
	w.Helper()
	all, err := store.Find[groundhand.Flag](w.ctx, w.store, store.ByWorker, []groundhand.WorkerID{who})
	require.NoError(w, err)
	var ids []groundhand.FlagID
	for _, f := range all {
		ids = append(ids, f.ID)
	}
	return ids
}

func TestTheFirstStartBeforeTheHourLooksAtTheDayBefore(t *testing.T) {
	w := newYard(t, "Europe/Dublin", "2025-06-05T03:09:59+01:00")
	assert.Equal(t, from("2025-06-04", "2025-06-04"), w.catchUp())
	w.clock.Advance(time.Second)
	assert.Equal(t, from("2025-06-05", "2025-06-05"), w.catchUp())
}

func TestASweepByHandIsNotDoneAgain(t *testing.T) {
	w := newYard(t, "Europe/Dublin", "2025-06-05T01:00:00+01:00")
	w.sweep("2025-06-05")
	w.clock.Set("2025-06-05T12:00:00+01:00")
	assert.Empty(t, w.catchUp())
	w.clock.Set("2025-06-06T12:00:00+01:00")
	assert.Equal(t, from("2025-06-06", "2025-06-06"), w.catchUp())
}

func TestAFailingDayIsTriedAgainAndHoldsBackTheNext(t *testing.T) {
	w := emptyYard(t, "Europe/Dublin", "2025-06-05T12:00:00+01:00")
	for range 2 {
		days, err := w.watch.CatchUp(w.ctx)
		assert.ErrorIs(t, err, groundhand.CodeNotFound)
		assert.Empty(t, days)
	}
	assert.Empty(t, w.swept())
	w.rules()
	assert.Equal(t, from("2025-06-05", "2025-06-05"), w.catchUp())
}

func TestCatchUpEndsWithItsContext(t *testing.T) {
	w := newYard(t, "Europe/Dublin", "2025-06-05T12:00:00+01:00")
	w.catchUp()
	w.clock.Set("2025-06-15T12:00:00+01:00")
	ctx, stop := context.WithCancel(w.ctx)
	stop()
	days, err := w.watch.CatchUp(ctx)
	assert.ErrorIs(t, err, context.Canceled)
	assert.Empty(t, days)
}

func TestAClockThatWasWrongIsToldAloud(t *testing.T) {
	w := newYard(t, "Europe/Dublin", "2035-06-05T12:00:00+01:00")
	w.catchUp()
	w.clock.Set("2025-06-05T12:00:00+01:00")
	_, err := w.watch.CatchUp(w.ctx)
	assert.ErrorIs(t, err, groundhand.CodeConflict)
}

// The clock changes are those of the IANA zone data. A plain daily cron job runs on such days never or twice.
func TestEachBusinessDayIsSweptOnceWhateverTheClockDoes(t *testing.T) {
	for _, c := range []struct{ zone, change string }{
		{"Europe/Dublin", "2025-03-30"},    // 01:00 to 02:00
		{"Europe/Dublin", "2025-10-26"},    // 02:00 back to 01:00
		{"America/New_York", "2027-03-14"}, // 02:00 to 03:00
		{"America/New_York", "2026-11-01"}, // 02:00 back to 01:00
		{"America/Santiago", "2026-09-06"}, // midnight to 01:00
		{"America/Santiago", "2026-04-05"}, // midnight back to 23:00 of the day before
		{"Africa/Cairo", "2026-04-24"},     // midnight to 01:00
		{"Asia/Beirut", "2026-03-29"},      // midnight to 01:00
		{"Europe/Helsinki", "2026-03-29"},  // 03:00 to 04:00, so that there is no ten past three
	} {
		t.Run(c.zone+" "+c.change, func(t *testing.T) {
			w := newYard(t, c.zone, "2025-01-01T00:00:00Z")
			noon := (day(c.change) - 1).Start(w.zone).Add(12 * time.Hour)
			w.clock.Set(noon.Format(time.RFC3339))
			var days []groundhand.Date
			for end := noon.Add(52 * time.Hour); w.clock.Now().Before(end); w.clock.Advance(5 * time.Minute) {
				for _, d := range w.catchUp() {
					local := w.clock.Now().In(w.zone)
					assert.Equal(t, groundhand.DateOf(local), d, "in the course of its own day")
					if len(days) > 0 {
						assert.Contains(t, []int{2, 3, 4}, local.Hour(), "in its morning: %s", local)
					}
					days = append(days, d)
				}
			}
			assert.Equal(t, []groundhand.Date{day(c.change) - 1, day(c.change), day(c.change) + 1}, days)
			assert.Equal(t, days, w.swept())
		})
	}
}

// bubble is a clock that stands still until it is let go inside a test's bubble, where time passes without waiting. The records are
// opened outside, because gorm's cache of statements keeps a goroutine for ever.
type bubble struct {
	start  time.Time
	since  time.Time // when it was let go, in the bubble's time
	broken atomic.Bool
}

func newBubble(moment string) *bubble {
	start, err := time.Parse(time.RFC3339, moment)
	if err != nil {
		panic(err)
	}
	return &bubble{start: start}
}

func (b *bubble) now() time.Time {
	switch {
	case b.broken.Load():
		panic("the clock fell off the wall")
	case b.since.IsZero():
		return b.start
	}
	return b.start.Add(time.Since(b.since))
}

// watching runs the watch in a bubble until do returns, and gives what it logged. It fails when a goroutine is left.
func (w *yard) watching(b *bubble, do func(log *bytes.Buffer)) {
	synctest.Test(w.T, func(t *testing.T) {
		b.since = time.Now()
		ctx, stop := context.WithCancel(t.Context())
		ended := make(chan struct{})
		var log bytes.Buffer
		go func() { w.watch.Run(ctx, slog.New(slog.NewTextHandler(&log, nil))); close(ended) }()
		do(&log)
		stop()
		<-ended
	})
}

// pass lets time pass in a bubble and everything that is due then come to rest.
func pass(d time.Duration) {
	time.Sleep(d)
	synctest.Wait()
}

func TestTheWatchRunsForThirtyNightsAndLeavesNothingBehind(t *testing.T) {
	b := newBubble("2025-10-10T23:00:00+01:00")
	w := openYard(t, "Europe/Dublin", store.Options{Now: b.now}, nil)
	w.rules()
	w.crew("V1", "ann", "bob", "cal")
	w.practise("2024-10-21", "ann", "bob", "cal")
	w.watching(b, func(log *bytes.Buffer) {
		pass(30 * 24 * time.Hour)
		assert.Equal(t, from("2025-10-10", "2025-11-09"), w.swept(), "the day of the start and thirty nights")
		assert.Equal(t, []string{"CREW_BELOW_TWO V1", "NO_GROUND_COVER V1", "PRACTICE_LAPSED ann", "PRACTICE_LAPSED bob", "PRACTICE_LAPSED cal"}, w.openFlags())
		assert.NotContains(t, log.String(), "level=ERROR")
	})
}

func TestTheWatchTriesAgainAfterFailureAndPanic(t *testing.T) {
	b := newBubble("2025-06-05T12:00:00+01:00")
	w := openYard(t, "Europe/Dublin", store.Options{Now: b.now}, nil)
	b.broken.Store(true)
	w.watching(b, func(log *bytes.Buffer) {
		pass(time.Minute)
		assert.Contains(t, log.String(), "the clock fell off the wall")
		b.broken.Store(false)
		pass(10 * time.Minute)
		assert.Contains(t, log.String(), "the sweep failed and is tried again", "there are no rules yet")
		assert.Empty(t, w.swept())
		w.rules()
		pass(10 * time.Minute)
		assert.Equal(t, from("2025-06-05", "2025-06-05"), w.swept())
	})
}
