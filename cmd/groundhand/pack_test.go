package main

import (
	"archive/zip"
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// gate is a file of records with two people who stand at a client's gate. Names are invented.
func gate(t *testing.T) issuingFlags {
	t.Helper()
	flags := issuingFlags{recordsFlags: recordsFlags{DB: filepath.Join(t.TempDir(), "records.db"), Zone: "Europe/Dublin"}, Issuer: "Halverra Lines", Public: "https://training.halverra.example"}
	approveRules(t, flags.recordsFlags)
	printedToken(t, &accountAddCmd{recordsFlags: flags.recordsFlags, Name: "petra", Role: "COORDINATOR"})
	printedToken(t, &accountAddCmd{recordsFlags: flags.recordsFlags, Name: "idris", Role: "DISPATCHER"})
	h, err := flags.beginIssuing()
	require.NoError(t, err)
	require.NoError(t, h.certificates.Begin(t.Context()))
	told := func(on groundhand.Date) groundhand.Recorded {
		return groundhand.Recorded{HappenedOn: on, RecordedAt: h.records.Now(), Capacity: groundhand.Coordinator, CameBy: groundhand.TypedLive}
	}
	since := groundhand.MustDate("2023-01-01")
	require.NoError(t, store.Add(t.Context(), h.records, groundhand.Family{ID: "F3", Recorded: told(since), Name: "telescopic, lever"}))
	for who, on := range map[groundhand.WorkerID][2]any{"uche": {"Uche Ravenhall", groundhand.MustDate("2024-01-12")}, "katya": {"Katya Lormier", h.roll.Today() - 1}} {
		run := groundhand.Run{ID: groundhand.RunID("run " + who), Recorded: told(on[1].(groundhand.Date)), Method: groundhand.PairKit, Scenario: groundhand.Unconscious, FamilyID: "F3",
			KitState: groundhand.AsFound, LoweringMeans: groundhand.PoweredLower, CasualtyKind: groundhand.Mannequin, WorkClothes: groundhand.Yes, StartedBy: groundhand.AtAlarm, Complete: true}
		require.NoError(t, store.Add(t.Context(), h.records, groundhand.Worker{ID: who, Recorded: told(since), Number: "N-" + string(who)}))
		require.NoError(t, store.Add(t.Context(), h.records, groundhand.WorkerName{ID: groundhand.EntryID("name " + who), Recorded: told(since), WorkerID: who, Name: on[0].(string)}))
		require.NoError(t, store.Add(t.Context(), h.records, groundhand.Grading{ID: groundhand.EntryID("grade " + who), Recorded: told(since), WorkerID: who, Grade: groundhand.Qualified}))
		require.NoError(t, store.Add(t.Context(), h.records, run))
		require.NoError(t, store.Add(t.Context(), h.records, groundhand.RunPart{ID: groundhand.EntryID("part " + who), Recorded: run.Recorded, RunID: run.ID, WorkerID: who, Role: groundhand.Second}))
	}
	require.NoError(t, h.close())
	return flags
}

func packed(c packCmd) (status int, said string) {
	var out, errs bytes.Buffer
	status = exitStatus(&errs, c.run(&out))
	return status, out.String() + errs.String()
}

func TestOneRuleSetLetsThemInAndAnotherDoesNot(t *testing.T) {
	flags := gate(t)
	status, said := packed(packCmd{issuingFlags: flags, As: "petra", Rules: "R-C", On: "2025-01-14", Person: []string{"uche ravenhall"}})
	require.Zero(t, status, said)
	assert.Contains(t, said, "Under the rules R-C on Tue 14 Jan 2025:")
	assert.Regexp(t, `Uche Ravenhall +NOT GOOD +kit, two on the ground, second, F3 +last good day was Sat 11 Jan 2025`, said)
	assert.Contains(t, said, "For the house, not for a client")
	assert.Contains(t, said, "It does not say that a law is met.")
	status, said = packed(packCmd{issuingFlags: flags, As: "petra", Rules: "R-X", On: "2025-01-14", Person: []string{"N-uche"}})
	require.Zero(t, status, said)
	assert.Regexp(t, `Uche Ravenhall +good +kit, two on the ground, second, F3 +Fri 31 Jan 2025 +none: over today`, said)
}

// People out of a file, what is missing issued, the pack written, and the facts from which anybody recomputes the answers.
func TestAPackFromAFileOfPeople(t *testing.T) {
	flags, dir := gate(t), t.TempDir()
	list, out, facts := filepath.Join(dir, "people.txt"), filepath.Join(dir, "pack.zip"), filepath.Join(dir, "facts.json")
	require.NoError(t, os.WriteFile(list, []byte("\ufeffN-uche\r\n\r\n  Katya Lormier \r\n"), 0o600))
	h, err := flags.beginIssuing()
	require.NoError(t, err)
	today := h.roll.Today()
	require.NoError(t, h.close())
	ask := packCmd{issuingFlags: flags, As: "petra", Rules: "R-C", On: today.String(), People: list, Out: out}
	status, said := packed(ask)
	require.Zero(t, status, said)
	assert.Contains(t, said, "People: 2, good: 1. Certificates: 0.")
	assert.Contains(t, said, "People without a certificate that could be issued: 1.")

	ask.IssueMissing, ask.Facts = true, facts
	status, said = packed(ask)
	require.Zero(t, status, said)
	assert.Contains(t, said, "Katya Lormier, good through "+today.AddDays(-2).AddMonths(12).Words())
	assert.Contains(t, said, "People: 2, good: 1. Certificates: 1.")
	archive, err := zip.OpenReader(out)
	require.NoError(t, err)
	defer archive.Close()
	assert.Len(t, archive.File, 9, "the list twice and its note, and an export of one certificate")
	text, err := os.ReadFile(facts)
	require.NoError(t, err)
	answers, err := competence.AnswerFile(text)
	require.NoError(t, err)
	assert.Contains(t, string(answers), `"standing":"LAPSED"`)
	assert.Contains(t, string(answers), `"standing":"CURRENT"`)

	status, said = packed(ask)
	require.Zero(t, status, said)
	assert.Contains(t, said, "No certificate was missing.")
}

func TestWhatIsWrongWithAPackIsToldByItsPlace(t *testing.T) {
	flags, dir := gate(t), t.TempDir()
	list, out := filepath.Join(dir, "people.txt"), filepath.Join(dir, "pack.zip")
	require.NoError(t, os.WriteFile(list, []byte("Katya Lormier\nSomebody Else\n"), 0o600))
	refused := func(c packCmd) string {
		c.issuingFlags, c.Out = flags, out
		status, said := packed(c)
		assert.NotZero(t, status)
		assert.NoFileExists(t, out)
		return said
	}
	said := refused(packCmd{As: "petra", Rules: "R-C", On: "2025-01-14", Person: []string{"nobody"}, People: list})
	assert.Contains(t, said, "--person nobody: Nobody has the staff number")
	assert.Contains(t, said, "people.txt, line 2: Nobody has the staff number")
	said = refused(packCmd{As: "petra", Rules: "R-Q", On: "2025-01-14", Person: []string{"N-uche", "Uche Ravenhall"}})
	assert.Contains(t, said, `There is no rule set "R-Q"`)
	assert.Contains(t, said, "--person Uche Ravenhall: This person is named already")
	said = refused(packCmd{As: "petra", Rules: "R-C", On: "14/01/2025"})
	assert.Contains(t, said, "--on: ")
	assert.Contains(t, said, "--person: Name the people")
	assert.Contains(t, refused(packCmd{As: "idris", Rules: "R-C", On: "2025-01-14", Person: []string{"N-uche"}}), "may not")
	require.NoError(t, os.WriteFile(list, []byte(strings.Repeat("x\n", largestPeopleFile)), 0o600))
	assert.Contains(t, refused(packCmd{As: "petra", Rules: "R-C", On: "2025-01-14", People: list}), "larger than")
}
