package store_test

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

const (
	killedWriting = "GROUNDHAND_TEST_KILLED_WRITING"
	kills         = 200
	killsPerFile  = 25 // so that a file stays small enough to be read whole each time
)

// writeUntilKilled is the program that is killed: it writes forms of three records, one of them in a transaction within, and says of each
// when it is written.
func writeUntilKilled(path string) {
	s, err := store.Open(path, store.Options{Now: time.Now})
	if err != nil {
		panic(err)
	}
	fmt.Println("ready")
	for {
		id := s.NewID()
		err := s.InTx(ctx, func(tx *store.Store) error {
			if err := store.Add(ctx, tx, aWorker(tx, gh.WorkerID(id))); err != nil {
				return err
			}
			_ = tx.InTx(ctx, func(in *store.Store) error { // and one that comes to nothing
				_ = store.Add(ctx, in, aYard(in, gh.YardID(id)))
				return errStop
			})
			name := gh.WorkerName{ID: gh.EntryID("n" + id), Recorded: storetest.Told(tx, day), WorkerID: gh.WorkerID(id), Name: "Ada"}
			if err := store.Add(ctx, tx, name); err != nil {
				return err
			}
			return tx.InTx(ctx, func(in *store.Store) error { return store.Add(ctx, in, aYard(in, gh.YardID(id))) })
		})
		if err != nil {
			panic(err)
		}
		fmt.Println(id)
	}
}

// killedSoon starts the program, kills it some time after it wrote some forms and gives the ids that it said were written.
func killedSoon(t *testing.T, path string, forms int, after time.Duration) (written []string) {
	t.Helper()
	program := exec.Command(os.Args[0])
	program.Env = append(os.Environ(), killedWriting+"="+path)
	out, err := program.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, program.Start())
	lines := bufio.NewReader(out)
	ready, err := lines.ReadString('\n')
	for err == nil {
		if len(written) == forms {
			time.Sleep(after) // where it is by then is left to chance
			require.NoError(t, program.Process.Kill())
		}
		var line string
		if line, err = lines.ReadString('\n'); err == nil {
			written = append(written, strings.TrimSpace(line))
		}
	}
	_ = program.Wait() // says that it was killed
	require.Equal(t, "ready\n", ready)
	require.GreaterOrEqual(t, len(written), forms, "it ended by itself")
	return written
}

func TestKilledAnywhereAnEntryIsThereWholeWithItsLeafOrNotAtAll(t *testing.T) {
	if underRace {
		t.Skip("too slow with the race detector; it is run without it besides")
	}
	chance := rand.New(rand.NewPCG(7, 0))
	var path string
	var known []string
	for kill := range kills {
		if kill%killsPerFile == 0 {
			path, known = filepath.Join(t.TempDir(), "records.db"), nil
		}
		known = append(known, killedSoon(t, path, chance.IntN(3), time.Duration(chance.IntN(8_000))*time.Microsecond)...)
		checkWhole(t, path, known)
	}
}

// checkWhole opens what a killed program left and checks that all is there that it said was written, nothing by halves, and the log fits.
func checkWhole(t *testing.T, path string, written []string) {
	t.Helper()
	s, err := store.Open(path, store.Options{Now: time.Now})
	require.NoError(t, err)
	defer s.Close()
	v := intact(t, s)
	workers, err := store.All[gh.Worker](ctx, s)
	require.NoError(t, err)
	there := map[string]bool{}
	for _, w := range workers {
		there[string(w.ID)] = true
	}
	require.Equal(t, len(workers), count[gh.WorkerName](t, s))
	require.Equal(t, len(workers), count[gh.Yard](t, s))
	require.EqualValues(t, 3*len(workers), v.Size)
	for _, id := range written {
		require.True(t, there[id], "%s was said to be written", id)
	}
}
