package demo_test

import (
	"context"
	"crypto/rand"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"groundhand/internal/access"
	"groundhand/internal/demo"
	g "groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
	"groundhand/internal/training"
)

// company is the company as it stands on the evening of the demonstration, open for reading.
type company struct {
	*testing.T
	ctx   context.Context
	store *store.Store
	roll  *rollcall.Roll
	zone  *time.Location
	cast  demo.Cast
}

const seed = 612

var (
	once   sync.Once
	script struct {
		path string
		cast demo.Cast
		err  error
		took time.Duration
	}
)

// TestMain removes the company that the tests share.
func TestMain(m *testing.M) {
	status := m.Run()
	if script.path != "" {
		os.RemoveAll(filepath.Dir(script.path))
	}
	os.Exit(status)
}

// played plays the company once for all tests; they only read.
func played(t *testing.T) company {
	t.Helper()
	zone, err := time.LoadLocation(demo.Zone)
	require.NoError(t, err)
	once.Do(func() {
		dir, err := os.MkdirTemp("", "groundhand-play-")
		require.NoError(t, err)
		script.path = filepath.Join(dir, "groundhand.db")
		script.cast, script.err = play(script.path, zone)
	})
	require.NoError(t, script.err)
	s, err := store.Open(script.path, store.Options{Now: func() time.Time { return demo.Evening(zone) }, ReadOnly: true})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return company{t, t.Context(), s, rollcall.New(s, zone), zone, script.cast}
}

func play(path string, zone *time.Location) (demo.Cast, error) {
	clock, ids := demo.NewClock(demo.Evening(zone)), &demo.IDs{}
	s, err := store.Open(path, store.Options{Now: clock.Now, NewID: ids.New})
	if err != nil {
		return demo.Cast{}, err
	}
	defer s.Close()
	return demo.Play(context.Background(), demo.Stage{Desk: training.New(s, rollcall.New(s, zone)), Door: access.NewDoor(s, rand.Reader),
		Clock: clock, IDs: ids, Zone: zone, Seed: seed})
}

func (c company) who(names ...string) []g.WorkerID {
	c.Helper()
	out := make([]g.WorkerID, len(names))
	for i, name := range names {
		require.Contains(c, c.cast.Workers, name)
		out[i] = c.cast.Workers[name]
	}
	return out
}
