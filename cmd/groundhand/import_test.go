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
	"groundhand/internal/competence"
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

const foreignPeople = "Staff No.,Employee,Company,Employment,Trade,Depot,Joined,Signed\n" +
	"00123,Ifeoma Brandt,Halverra Lines,employee,qualified,VARROW,2023-01-02,Y\n" +
	"124,Linh Abara,Halverra Lines,employee,ground,VARROW,03/04/24,\x1b[2J\n"

// A file with other headings: the proposal is shown, nothing is read by it until it is taken, and once saved it is used by itself.
func TestImportForeignHeadings(t *testing.T) {
	cmd := importCmd{DB: recordsWithYard(t), As: "henrike", Kind: "people", Accept: "clean", Zone: "Europe/Dublin", File: filepath.Join(t.TempDir(), "people.csv")}
	require.NoError(t, os.WriteFile(cmd.File, []byte(foreignPeople), 0o600))
	say := func(change func(c *importCmd)) (string, int) {
		t.Helper()
		var out, errs bytes.Buffer
		c := cmd
		change(&c)
		status := exitStatus(&errs, c.run(t.Context(), &out, importClock))
		assert.NotContains(t, out.String(), "\x1b")
		return out.String() + errs.String(), status
	}
	text, status := say(func(c *importCmd) {})
	assert.Equal(t, exitFaulty, status)
	assert.Contains(t, text, "A  Staff No.   number      certain")
	assert.Contains(t, text, "H  Signed      (left out)  cannot tell")
	assert.Contains(t, text, "can be read in two ways")
	assert.Contains(t, text, "nothing was written")

	text, status = say(func(c *importCmd) { c.Preview, c.Mapping = true, []string{proposed} })
	assert.Equal(t, exitFaulty, status, "a row is refused")
	assert.Contains(t, text, "Rows: 2. New: 1.")
	assert.Contains(t, text, "B  Employee    name")

	text, status = say(func(c *importCmd) {
		c.Preview, c.Mapping = true, []string{proposed, "G=from DD/MM/YY", "signed="}
	})
	assert.Zero(t, status, text)
	assert.Contains(t, text, "Rows: 2. New: 2.")

	text, status = say(func(c *importCmd) { c.Mapping, c.SaveMapping = []string{proposed}, "Depot list" })
	assert.Zero(t, status, text)
	assert.Contains(t, text, `The mapping "Depot list" is saved`)
	assert.Contains(t, text, "Rows written: 1.")
	assert.Contains(t, text, "Refused, and kept")

	text, _ = say(func(c *importCmd) { c.DryRun = true })
	assert.Contains(t, text, `saved mapping "Depot list"`)
	assert.Contains(t, text, "This very file was imported before, on 11 June 2025 at 19:20 UTC.")
	assert.Contains(t, text, "Row 2 is in the records already.")

	list := filepath.Join(t.TempDir(), "mapping.txt")
	require.NoError(t, os.WriteFile(list, []byte("Staff No.=number\n\nEmployee = name\nC=employer\nD=relation\nE=grade\nF=yard\nG=from DD/MM/YY\n"), 0o600))
	text, status = say(func(c *importCmd) { c.Mapping = []string{list} })
	assert.Zero(t, status, text)
	assert.Contains(t, text, "Rows written: 1. Rows that were in the records already or stand twice: 1.", "a person stated the order of days")

	for name, change := range map[string]func(c *importCmd){
		"a column that the file has not":    func(c *importCmd) { c.Mapping = []string{"Shoe=number"} },
		"a meaning that there is not":       func(c *importCmd) { c.Mapping = []string{"A=shoe size"} },
		"one meaning twice":                 func(c *importCmd) { c.Mapping = []string{"A=number", "B=number"} },
		"a mapping saved that is not given": func(c *importCmd) { c.SaveMapping = "x" },
		"a mapping saved by a preview":      func(c *importCmd) { c.SaveMapping, c.Mapping, c.Preview = "x", []string{proposed}, true },
	} {
		t.Run(name, func(t *testing.T) {
			text, status := say(change)
			assert.Equal(t, exitFaulty, status, text)
		})
	}
}

// The standings of a preview stand in plain words, with the caution beside them.
func TestPrintStandings(t *testing.T) {
	last := groundhand.MustDate("2026-06-05")
	change := training.StandingChange{WorkerID: "w", Number: "1002", Name: "Maren \x1bOduya", Method: groundhand.PairKit, Role: groundhand.Lead, FamilyID: "F1",
		Before: training.Stand{Standing: competence.Never}, After: training.Stand{Standing: competence.Current, LastGoodDay: last}}
	stays := change
	stays.After = stays.Before
	var out bytes.Buffer
	printStandings(&out, training.ImportPreview{Judged: last, Standings: []training.StandingChange{change, stays}})
	text := strings.Join(strings.Fields(out.String()), " ")
	assert.Contains(t, text, "Maren \ufffdOduya (1002), kit, two on the ground as lead, F1: never practised; then last good day "+last.Words())
	assert.Contains(t, text, "Standings that stay as they are: 1.")
	assert.Contains(t, text, strings.Join(strings.Fields(caution), " "))
}
