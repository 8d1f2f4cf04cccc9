package main

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
)

// evenings plays into a folder and gives what was printed.
func evenings(t *testing.T, dir string) string {
	t.Helper()
	stage, h, err := openStage(dir)
	require.NoError(t, err)
	var out bytes.Buffer
	require.NoError(t, (&demoCmd{}).tell(t.Context(), &out, stage, h, dir))
	require.NoError(t, h.close())
	return out.String()
}

var tokens = regexp.MustCompile(`gh_[A-Za-z0-9_-]{43}`)

// update writes the evening anew, after a change that means to change it: go test ./cmd/groundhand -run Demo -update
var update = flag.Bool("update", false, "write testdata/evening.txt anew")

func TestDemoTellsTheSameEveningEverywhere(t *testing.T) {
	if underRace {
		t.Skip("one long play without a second goroutine; .ci/run tests it without the detector, and internal/demo plays with it")
	}
	const kept = "testdata/evening.txt"
	dir := t.TempDir()
	first := evenings(t, dir)
	assert.Len(t, tokens.FindAllString(first, -1), 8, "one token for each capacity")
	plain := tokens.ReplaceAllString(strings.ReplaceAll(first, dir, "DIR"), "TOKEN")
	if *update {
		require.NoError(t, os.WriteFile(kept, []byte(plain), 0o644))
	}
	want, err := os.ReadFile(kept)
	require.NoError(t, err)
	assert.Equal(t, strings.Fields(string(want)), strings.Fields(plain), "line breaks aside: a folder's name may be longer or shorter")

	for _, line := range strings.Split(first, "\n") {
		if !strings.Contains(line, dir) {
			assert.LessOrEqual(t, utf8.RuneCountInString(line), columns, line)
		}
	}
	for _, part := range []string{
		"Dario Pellgrove         kit, two on the ground, F1: last good day was Thu 5 Jun 2025; a",
		"Thu 12 Jun 2025  V2 on F1: fewer than two trained rescuers, one of 2",
		"may go aloft:    Dilnoza Rahmonova-Pike\n    must stay down:  James Tallis",
		"NOT READY", "READY WITH CONDITIONS", "CANNOT TELL", "Certificates written: 14",
		"If nobody drills, up to 5 of one crew lapse on one day; after the plan no more than 2 in any six", "Not placed: three.",
		"Crews below cover because their own people are at a drill: none.", "all of them are current again on", "One more kit at Dray Hollow",
	} {
		assert.Contains(t, strings.ToLower(first), strings.ToLower(part))
	}
	verdicts := regexp.MustCompile(`(?m)^    \[.\] (READY|NOT READY|CANNOT TELL).*\n(.*)`).FindAllStringSubmatch(first, -1)
	assert.Len(t, verdicts, 16)
	for _, v := range verdicts {
		assert.Contains(t, v[2], "local rules", "the caution stands beside each verdict")
	}
	files(t, dir)
	wall(t, dir)
	handedOut(t, dir)
}

// wall prints the sheet of a yard, as its foremen would pin it up that evening.
func wall(t *testing.T, dir string) {
	t.Helper()
	_, h, err := openStage(dir)
	require.NoError(t, err)
	yard, err := yardNamed(t.Context(), h.records, "varrow")
	require.NoError(t, err)
	sheet, err := h.yardSheet(t.Context(), yard, groundhand.MustDate("2025-06-12"), rollcall.LooksByDay)
	require.NoError(t, err)
	assert.Equal(t, 6, strings.Count(sheet, "foreman: ___"), "six crews of this yard, and nobody else's")
	assert.Less(t, strings.Index(sheet, "J-0612-04"), strings.Index(sheet, "J-0612-01"), "not ready comes first")
	plain := strings.Join(strings.Fields(sheet), " ")
	for _, part := range []string{
		"Rescue cover at Varrow, Thu 12 Jun 2025, as recorded Wed 11 Jun 2025 19:20", "[X] NOT READY, holds until Thu 12 Jun 14:00",
		"watched drill at 05:00 (kit, two on the ground, F1), 45 minutes with Tomasz Wieland for Dario Pellgrove and Yusuf Demirkol-Ash: then READY", "or: do not send",
		"the lending crew would be worse off (V1 ready, after it not ready): Tomasz Wieland, Keahi Barrow", "on leave: Maren Oduya",
		"first look: [ ] lower controls worked [ ] kit seen on it [ ] kit suits everybody aloft",
	} {
		assert.Contains(t, plain, part)
	}
	assert.Equal(t, 2, strings.Count(plain, "Local rules, the makers' instructions and licensed practice come first."), "at the top and the end")
	_, err = yardNamed(t.Context(), h.records, "Atlantis")
	assert.ErrorContains(t, err, "the yards are Varrow, Stenholt")
	require.NoError(t, h.close())
}

// files looks at what was written beside the records.
func files(t *testing.T, dir string) {
	t.Helper()
	for i := range problemNames {
		problem, err := os.ReadFile(filepath.Join(dir, problemNames[i]))
		require.NoError(t, err)
		plan, err := os.ReadFile(filepath.Join(dir, planNames[i]))
		require.NoError(t, err)
		posed, err := rotation.Decode(problem)
		require.NoError(t, err)
		planned, _, err := rotation.DecodePlan(plan)
		require.NoError(t, err)
		assert.Empty(t, rotation.Check(posed, planned))
	}
}

func TestDemoLeavesRecordsThatStandThereAlone(t *testing.T) {
	for name, what := range map[string]string{recordsName: "records", keysName: "signing keys"} {
		dir := t.TempDir()
		file := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(file, []byte("somebody's"), 0o600))
		err := (&demoCmd{Once: true, Into: dir}).Run()
		var known *exitError
		require.ErrorAs(t, err, &known)
		assert.Equal(t, exitFaulty, known.status)
		assert.Contains(t, err.Error(), "there are "+what+" in "+dir+" already")
		kept, err := os.ReadFile(file)
		require.NoError(t, err)
		assert.Equal(t, "somebody's", string(kept))
	}
}
