package store_test

import (
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

func TestAnyPathWillDo(t *testing.T) {
	for _, name := range []string{"plain.db", "with space.db", "a#b.db", "100%.db", "a%20b.db", "a?mode=memory.db", "a&b=c.db", "Łódź–記録.db", "semi;colon.db", "quote'\".db"} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), name)
			s, err := store.Open(path, storetest.Options())
			require.NoError(t, err)
			require.NoError(t, store.Add(ctx, s, aYard(s, "A")))
			require.NoError(t, s.Close())
			assert.FileExists(t, path)
			entries, err := os.ReadDir(filepath.Dir(path))
			require.NoError(t, err)
			assert.Len(t, entries, 1, "the file and nothing else is left after closing")
			assert.Equal(t, 1, count[gh.Yard](t, storetest.At(t, path)))
		})
	}
}

func TestARelativePathIsTakenFromHere(t *testing.T) {
	t.Chdir(t.TempDir())
	storetest.At(t, "year 1.db")
	assert.FileExists(t, "year 1.db")
}

func TestOpeningAgainMigratesNothingAndLosesNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	for range 3 {
		s, err := store.Open(path, storetest.Options())
		require.NoError(t, err)
		if count[gh.Yard](t, s) == 0 {
			oneOfEach(t, s)
		}
		require.NoError(t, s.Close())
	}
	s := storetest.At(t, path)
	assert.Equal(t, 2, count[gh.Yard](t, s))
	assert.Equal(t, []string{strconv.Itoa(steps(t))}, column(t, raw(t, path), "SELECT max(version_id) FROM goose_db_version"))
	assert.Equal(t, []string{strconv.Itoa(steps(t) + 1)}, column(t, raw(t, path), "SELECT count(*) FROM goose_db_version"), "each step once, and none")
}

// steps counts the steps of the migrations.
func steps(t *testing.T) int {
	t.Helper()
	files, err := filepath.Glob("migrations/sqlite/*.sql")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	return len(files)
}

func TestOpenForReadingOnly(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	o := storetest.Options()
	o.ReadOnly = true
	_, err := store.Open(path, o)
	require.Error(t, err, "nothing is created")
	assert.NoFileExists(t, path)

	first := storetest.At(t, path)
	require.NoError(t, store.Add(ctx, first, aYard(first, "A")))
	s, err := store.Open(path, o)
	require.NoError(t, err)
	defer s.Close()
	assert.Equal(t, 1, count[gh.Yard](t, s))
	assert.ErrorIs(t, store.Add(ctx, s, aYard(s, "B")), gh.CodeForbidden)
}

func TestWhatIsNoDatabaseIsNotOpened(t *testing.T) {
	path := filepath.Join(t.TempDir(), "letter.txt")
	require.NoError(t, os.WriteFile(path, []byte("Dear all, this is a letter and not a database, long enough to be read as one."), 0o600))
	_, err := store.Open(path, storetest.Options())
	assert.ErrorContains(t, err, "letter.txt")
	_, err = store.Open(filepath.Join(t.TempDir(), "none", "records.db"), storetest.Options())
	assert.Error(t, err)
	_, err = store.Open(path, store.Options{})
	assert.ErrorContains(t, err, "clock")
}

func TestIdentifiersSortInTheOrderTheyWereMade(t *testing.T) {
	s, err := store.Open(filepath.Join(t.TempDir(), "records.db"), store.Options{Now: storetest.NewClock(storetest.Start).Now})
	require.NoError(t, err)
	defer s.Close()
	last := ""
	for range 5000 {
		id := s.NewID()
		require.Greater(t, id, last)
		last = id
	}
}
