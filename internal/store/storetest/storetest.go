// Package storetest gives tests a fresh store with a clock and identifiers that they control. Only tests import it.
package storetest

import (
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Clock stands still until it is told otherwise.
type Clock struct {
	mu  sync.Mutex
	now time.Time
}

// NewClock gives a clock that shows a moment like 2025-06-12T06:00:00+01:00.
func NewClock(moment string) *Clock {
	c := &Clock{}
	c.Set(moment)
	return c
}

// Set turns the clock to a moment, forwards or back.
func (c *Clock) Set(moment string) {
	t, err := time.Parse(time.RFC3339, moment)
	if err != nil {
		panic(err)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = t
}

// Advance turns the clock on.
func (c *Clock) Advance(by time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(by)
}

// Now is what the clock shows.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

// Start is what the clock of a store shows when the test gave none.
const Start = "2025-06-02T06:00:00Z"

// New opens a fresh, migrated store in a directory of the test's own and closes it when the test ends. The steps are run once in a test
// program; each store begins as a copy of what they made.
func New(t testing.TB, clock ...*Clock) *store.Store {
	t.Helper()
	path := filepath.Join(t.TempDir(), "records.db")
	require.NoError(t, os.WriteFile(path, migrated(t), 0o600))
	return At(t, path, clock...)
}

var (
	template     []byte
	templateOnce sync.Once
)

// migrated is the file of a store in which nothing is recorded yet.
func migrated(t testing.TB) []byte {
	t.Helper()
	templateOnce.Do(func() {
		path := filepath.Join(t.TempDir(), "template.db")
		s, err := store.Open(path, Options())
		require.NoError(t, err)
		require.NoError(t, s.Close()) // writes everything back into the one file
		template, err = os.ReadFile(path)
		require.NoError(t, err)
	})
	return template
}

// At opens the store at a path, which may be there already, and closes it when the test ends.
func At(t testing.TB, path string, clock ...*Clock) *store.Store {
	t.Helper()
	s, err := store.Open(path, Options(clock...))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

// Options are those of New, for tests that open the store themselves.
func Options(clock ...*Clock) store.Options {
	if len(clock) == 0 {
		clock = []*Clock{NewClock(Start)}
	}
	return store.Options{Now: clock[0].Now, NewID: IDs()}
}

// IDs counts: id-000001, id-000002, …
func IDs() func() string {
	var n atomic.Int64
	return func() string { return fmt.Sprintf("id-%06d", n.Add(1)) }
}

// Told is what a record that the coordinator typed now about a day carries.
func Told(s *store.Store, day groundhand.Date) groundhand.Recorded {
	return groundhand.Recorded{HappenedOn: day, RecordedAt: s.Now(), Capacity: groundhand.Coordinator, CameBy: groundhand.TypedLive}
}
