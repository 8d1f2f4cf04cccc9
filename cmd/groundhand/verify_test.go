package main

import (
	"bytes"
	"database/sql"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/ledger"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

// loggedRecords is a file of records with some yards.
func loggedRecords(t *testing.T, dir string, yards ...groundhand.YardID) string {
	t.Helper()
	path := filepath.Join(dir, "records.db")
	s, err := store.Open(path, storetest.Options())
	require.NoError(t, err)
	for _, id := range yards {
		require.NoError(t, store.Add(t.Context(), s, groundhand.Yard{ID: id, Recorded: storetest.Told(s, groundhand.MustDate("2025-06-02")), Name: string(id)}))
	}
	require.NoError(t, s.Close())
	return path
}

func verify(c verifyCmd) (status int, said string) {
	var out, errs bytes.Buffer
	status = exitStatus(&errs, c.run(&out))
	return status, out.String() + errs.String()
}

func checkpoint(c checkpointCmd) (status int, said string) {
	var out, errs bytes.Buffer
	status = exitStatus(&errs, c.run(&out))
	return status, out.String() + errs.String()
}

func copyFile(t *testing.T, from, to string) {
	t.Helper()
	content, err := os.ReadFile(from)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(to, content, 0o600))
}

// byHand does to a file what its guards forbid.
func byHand(t *testing.T, path string, queries ...string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	defer db.Close()
	for _, q := range queries {
		_, err := db.Exec(q)
		require.NoError(t, err, q)
	}
}

func TestACheckpointIsKeptAndVerifiedLater(t *testing.T) {
	dir, kept, elsewhere := t.TempDir(), t.TempDir(), t.TempDir()
	path := loggedRecords(t, dir, "Varrow", "Tolland")
	out := filepath.Join(kept, "june")
	status, said := checkpoint(checkpointCmd{DB: path, Out: out})
	require.Zero(t, status, said)
	info, err := os.Stat(path + ".logkey")
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	text, err := os.ReadFile(out + ".txt")
	require.NoError(t, err)
	assert.Contains(t, said, ledger.CheckingKey(string(text)))
	assert.Empty(t, ledger.SigningKey(string(text)), "the signing key stays with the records")

	loggedRecords(t, dir, "Ashby")
	status, said = verify(verifyCmd{DB: path, Checkpoint: out})
	assert.Zero(t, status, said)
	assert.Contains(t, said, "Entries: 3")
	assert.Contains(t, said, "The first 2 entries are those of the checkpoint.")

	copied := filepath.Join(elsewhere, "copy.db")
	copyFile(t, path, copied)
	status, said = verify(verifyCmd{DB: copied})
	assert.Zero(t, status, "a copy without the key: %s", said)
	status, said = verify(verifyCmd{DB: copied, Checkpoint: out, KeyOf: out + ".txt"})
	assert.Zero(t, status, said)

	require.NoError(t, os.Remove(out+".txt"))
	status, said = verify(verifyCmd{DB: path, Checkpoint: out})
	assert.Zero(t, status, "with the key beside the records: %s", said)
	status, said = verify(verifyCmd{DB: copied, Checkpoint: out})
	assert.Equal(t, exitFaulty, status)
	assert.Contains(t, said, "--key-of")
	again := filepath.Join(kept, "july")
	status, said = checkpoint(checkpointCmd{DB: path, Out: again})
	require.Zero(t, status, said)
	assert.Contains(t, said, ledger.CheckingKey(string(text)), "the key stays the same")
}

func TestVerifyNamesWhatWasChanged(t *testing.T) {
	dir := t.TempDir()
	path := loggedRecords(t, dir, "Varrow", "Tolland")
	out := filepath.Join(dir, "june")
	status, said := checkpoint(checkpointCmd{DB: path, Out: out})
	require.Zero(t, status, said)
	byHand(t, path, "DROP TRIGGER yards_keep", "UPDATE yards SET because = 'x' WHERE id = 'Tolland'")
	status, said = verify(verifyCmd{DB: path})
	assert.Equal(t, exitFailed, status)
	assert.Contains(t, said, `Entry 1 of the log, yards "Tolland", was changed after it was recorded, in the column because.`)
	assert.Contains(t, said, "work on a copy")
	status, said = checkpoint(checkpointCmd{DB: path, Out: out + "2"})
	assert.Equal(t, exitFailed, status)
	assert.Contains(t, said, "no checkpoint is written")
	assert.NoFileExists(t, out+"2")

	other := loggedRecords(t, t.TempDir(), "Varrow", "Tolland")
	status, said = verify(verifyCmd{DB: other, Checkpoint: out})
	assert.Equal(t, exitFailed, status)
	assert.Contains(t, said, "another log")
	require.Zero(t, first(checkpoint(checkpointCmd{DB: other, Out: filepath.Join(dir, "other")})))
	status, said = verify(verifyCmd{DB: path, Checkpoint: out, KeyOf: filepath.Join(dir, "other.txt")})
	assert.Equal(t, exitFailed, status)
	assert.Contains(t, said, "not signed by the key of this log")
}

func first(status int, _ string) int { return status }

func TestWhatCannotBeVerifiedEndsWithStatus2(t *testing.T) {
	dir := t.TempDir()
	path := loggedRecords(t, dir, "Varrow")
	letter := filepath.Join(dir, "letter")
	require.NoError(t, os.WriteFile(letter, []byte("Dear all"), 0o600))
	for name, c := range map[string]verifyCmd{
		"no records":          {DB: filepath.Join(dir, "none.db")},
		"no database":         {DB: letter},
		"no checkpoint there": {DB: path, Checkpoint: filepath.Join(dir, "none")},
		"no key anywhere":     {DB: path, Checkpoint: letter},
		"a key of nothing":    {DB: path, Checkpoint: letter, KeyOf: letter},
	} {
		status, said := verify(c)
		assert.Equal(t, exitFaulty, status, "%s: %s", name, said)
	}
	out := filepath.Join(dir, "june")
	require.Zero(t, first(checkpoint(checkpointCmd{DB: path, Out: out})))
	status, said := verify(verifyCmd{DB: path, Checkpoint: letter, KeyOf: out + ".txt"})
	assert.Equal(t, exitFaulty, status, said)

	require.NoError(t, os.Chmod(path+".logkey", 0o644))
	status, said = checkpoint(checkpointCmd{DB: path, Out: out})
	assert.Equal(t, exitFaulty, status)
	assert.Contains(t, said, "chmod 600")
	require.NoError(t, os.WriteFile(path+".logkey", []byte("nothing"), 0o600))
	require.NoError(t, os.Chmod(path+".logkey", 0o600))
	status, said = checkpoint(checkpointCmd{DB: path, Out: out})
	assert.Equal(t, exitFaulty, status, said)
}
