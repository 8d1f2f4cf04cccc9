package main

import (
	"bytes"
	"crypto/rand"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
	"groundhand/internal/training"
)

func importClock() time.Time { return time.Date(2025, time.June, 11, 19, 20, 0, 0, time.UTC) }

// recordsWithYard makes a file of records with one coordinator and one yard.
func recordsWithYard(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "records.db")
	s, err := store.Open(path, store.Options{Now: importClock})
	require.NoError(t, err)
	by, _, err := access.NewDoor(s, rand.Reader).AddAccount(t.Context(), "henrike", groundhand.Coordinator, "")
	require.NoError(t, err)
	_, _, err = access.NewDoor(s, rand.Reader).AddAccount(t.Context(), "petra", groundhand.Dispatcher, "")
	require.NoError(t, err)
	_, err = training.New(s, rollcall.New(s, time.UTC)).AddYard(t.Context(), by, "k",
		training.YardForm{When: training.When{On: groundhand.MustDate("2024-01-01")}, ID: "VARROW", Name: "Varrow"})
	require.NoError(t, err)
	require.NoError(t, s.Close())
	return path
}

const importedPeople = `number,name,employer,relation,grade,year,yard,from
00123,Ifeoma Brandt,Halverra Lines,employee,qualified,,VARROW,2023-01-02
124,Linh Abara,Halverra Lines,employee,apprentice,3,VARROW,03/04/24
125,Maren ` + "\x1b[2J" + `Oduya,Halverra Lines,employee,ground,,VARROW,2023-01-02
126,Keahi Barrow,Halverra Lines,employee,ground,,VARROW,2023-01-02
`

func TestImport(t *testing.T) {
	cmd := importCmd{DB: recordsWithYard(t), As: "henrike", Kind: "people", Accept: "all", Zone: "Europe/Dublin", File: filepath.Join(t.TempDir(), "people.csv")}
	require.NoError(t, os.WriteFile(cmd.File, []byte(importedPeople), 0o600))
	say := func(change func(c *importCmd)) (string, int) {
		t.Helper()
		var out, errs bytes.Buffer
		c := cmd
		change(&c)
		status := exitStatus(&errs, c.run(t.Context(), &out, importClock))
		return out.String() + errs.String(), status
	}
	workers := func() int {
		s, err := store.Open(cmd.DB, store.Options{Now: importClock, ReadOnly: true})
		require.NoError(t, err)
		defer s.Close()
		all, err := store.All[groundhand.Worker](t.Context(), s)
		require.NoError(t, err)
		return len(all)
	}

	text, status := say(func(c *importCmd) { c.DryRun = true })
	assert.Equal(t, exitFaulty, status)
	assert.Contains(t, text, "Rows: 4. New: 2.")
	assert.Contains(t, text, "3    H from  03/04/24")
	assert.NotContains(t, text, "\x1b", "nothing that a terminal obeys")
	assert.Zero(t, workers())

	text, status = say(func(c *importCmd) {})
	assert.Equal(t, exitFaulty, status)
	assert.Contains(t, text, "03/04/24")
	assert.Contains(t, text, "nothing was written")
	assert.Zero(t, workers())

	text, status = say(func(c *importCmd) { c.Accept = "2" })
	assert.Zero(t, status, text)
	assert.Contains(t, text, "Rows written: 1.")
	assert.Equal(t, 1, workers())

	text, status = say(func(c *importCmd) { c.Accept = "clean" })
	assert.Zero(t, status, text)
	assert.Contains(t, text, "Rows written: 1. Rows that were in the records already or stand twice: 1.")
	assert.Equal(t, 2, workers())

	for name, change := range map[string]func(c *importCmd){
		"an account nobody has":      func(c *importCmd) { c.As = "nobody" },
		"an account that may not":    func(c *importCmd) { c.As = "petra" },
		"rows that the file has not": func(c *importCmd) { c.Accept = "1,99" },
		"a list that is none":        func(c *importCmd) { c.Accept = "2-1" },
		"a list without end":         func(c *importCmd) { c.Accept = "1-999999999999" },
		"a zone nobody has":          func(c *importCmd) { c.Zone = "Nowhere/Here" },
		"a table of another kind":    func(c *importCmd) { c.Kind = "drills" },
		"an empty file":              func(c *importCmd) { c.File = os.DevNull },
	} {
		t.Run(name, func(t *testing.T) {
			text, status := say(change)
			assert.Equal(t, exitFaulty, status, text)
			assert.Equal(t, 2, workers())
		})
	}
}

func TestRowNumbers(t *testing.T) {
	rows, err := rowNumbers("2, 5-7,9")
	require.NoError(t, err)
	assert.Equal(t, []int{2, 5, 6, 7, 9}, rows)
	for _, list := range []string{"", "a", "0", "3-", "-3", "2,,3", strings.Repeat("9", 30)} {
		_, err := rowNumbers(list)
		assert.True(t, errors.Is(err, groundhand.CodeInvalid), list)
	}
}
