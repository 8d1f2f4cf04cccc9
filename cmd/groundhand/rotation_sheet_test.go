package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/rotation"
	"groundhand/internal/runsheet"
)

func sheetProblem(t *testing.T, file string) runsheet.Problem {
	t.Helper()
	content, err := os.ReadFile(file)
	require.NoError(t, err)
	p, err := runsheet.Decode(content)
	require.NoError(t, err)
	return p
}

func TestRotationWritesASheetThatChecks(t *testing.T) {
	for _, name := range []string{"r1-four-alike", "r2-mixed-five", "r3-one-learner-two-helpers"} {
		file, out := sheetExamples+name+".sheet-problem.json", filepath.Join(t.TempDir(), "sheet.json")
		require.NoError(t, (&rotationCmd{Sheet: file, Out: out, Seed: 1, For: time.Minute}).Run())
		content, err := os.ReadFile(out)
		require.NoError(t, err)
		s, claimed, err := runsheet.DecodeSheet(content)
		require.NoError(t, err)
		assert.True(t, claimed)
		p := sheetProblem(t, file)
		assert.Empty(t, runsheet.Check(p, s), name)
		assert.Contains(t, string(content), `"proved_levels": 6`, name)
	}
}

func TestASheetThatRunsOutOfTimeIsWritten(t *testing.T) {
	file, out := sheetExamples+"r2-mixed-five.sheet-problem.json", filepath.Join(t.TempDir(), "sheet.json")
	require.NoError(t, (&rotationCmd{Sheet: file, Out: out, Seed: 1, For: time.Nanosecond}).Run())
	content, err := os.ReadFile(out)
	require.NoError(t, err)
	s, _, err := runsheet.DecodeSheet(content)
	require.NoError(t, err)
	p := sheetProblem(t, file)
	assert.Empty(t, runsheet.Check(p, s))
}

// during runs something with one of the standard files replaced by a pipe and gives what was written to it.
func during(t *testing.T, file **os.File, do func()) string {
	t.Helper()
	reader, writer, err := os.Pipe()
	require.NoError(t, err)
	was := *file
	*file = writer
	defer func() { *file = was }()
	read := make(chan string)
	go func() {
		content, _ := io.ReadAll(reader)
		read <- string(content)
	}()
	do()
	require.NoError(t, writer.Close())
	return <-read
}

func TestADashIsStandardOutputAndAPipeStaysQuiet(t *testing.T) {
	for name, c := range map[string]rotationCmd{
		`"format": "drill-sheet/1"`: {Sheet: sheetExamples + "r1-four-alike.sheet-problem.json"},
		`"format": "drill-plan/1"`:  {Problem: rotationExamples + "e1-alternating-crew.problem.json"},
	} {
		c.Out, c.Seed, c.For = "-", 1, time.Minute
		var out string
		quiet := during(t, &os.Stderr, func() {
			out = during(t, &os.Stdout, func() { require.NoError(t, c.Run()) })
		})
		assert.Contains(t, out, name)
		assert.True(t, strings.HasPrefix(out, "{") && strings.HasSuffix(out, "}\n"), "nothing but the answer")
		assert.Empty(t, quiet)
	}
}

func TestNothingIsWrittenWhereNothingCanBe(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "none")
	err := (&rotationCmd{Sheet: sheetExamples + "r1-four-alike.sheet-problem.json", Out: filepath.Join(dir, "sheet.json"), Seed: 1, For: time.Minute}).Run()
	require.Error(t, err)
	assert.NoDirExists(t, dir)
}

func TestATerminalSeesFiguresBoundsAndTheCaution(t *testing.T) {
	var terminal bytes.Buffer
	p := &progress{to: &terminal, started: time.Now().Add(-time.Minute)}
	best, bound := runsheet.Figures{Runs: 8, WaitSquares: 40}, runsheet.Figures{Runs: 8, WaitSquares: 32}
	p.show(standing(figuresOfSheet(best, bound)))
	p.show("too soon after the line before")
	assert.Equal(t, "\r\033[Kruns 8 (best possible), repeat pairs 0 (best possible), pair cost 0 (best possible), back to back 0 (best possible), "+
		"wait squares 40 (at least 32, a gap of 8), timekeeper spread 0 (best possible)", terminal.String())
	p.end(figuresOfSheet(best, bound), sheetCaution)
	assert.Contains(t, terminal.String(), "\nwait squares 40 (at least 32, a gap of 8)\n")
	assert.True(t, strings.HasSuffix(terminal.String(), "licensed practice come first.\n"))

	terminal.Reset()
	(&progress{to: &terminal, width: 12, started: time.Now().Add(-time.Minute)}).show("wider than the terminal")
	assert.Equal(t, "\r\033[Kwider than…", terminal.String())

	terminal.Reset()
	(&progress{to: &terminal, started: time.Now().Add(time.Hour)}).show("a quick search shows nothing")
	assert.Empty(t, terminal.String())
	assert.Contains(t, standing(figuresOfPlan(rotation.Objective{LapsedDays: 90}, nil)), "lapsed days 90, ")
}

func TestAWallSheetReadsInOrder(t *testing.T) {
	file, out := sheetExamples+"r2-mixed-five.sheet-problem.json", filepath.Join(t.TempDir(), "wall.txt")
	require.NoError(t, (&rotationCmd{Sheet: file, Out: out, Seed: 1, For: time.Minute}).Run())
	content, err := os.ReadFile(out)
	require.NoError(t, err)
	lines := strings.Split(string(content), "\n")
	assert.Equal(t, "RUN SHEET  r2-mixed-five", lines[0])
	assert.Contains(t, string(content), "licensed practice come first")
	assert.Equal(t, 5, strings.Count(string(content), "[ ]"))
	assert.Equal(t, 2, strings.Count(string(content), "(rescues alone)"))
	for _, who := range []string{"P1", "P2", "P3", "P4", "P5"} {
		assert.Contains(t, string(content), "\n  "+who+": ")
	}
	for _, line := range lines {
		assert.LessOrEqual(t, len(line), columns)
		assert.Equal(t, strings.TrimRight(line, " "), line)
	}
}

func TestAWallSheetOfOneAloneNamesTheInstructor(t *testing.T) {
	p := runsheet.Problem{Name: "S1", MaxRuns: 1, People: []runsheet.Person{{ID: "Jo", Needs: runsheet.Needs{Lone: 1}}}}
	s, err := runsheet.Plan(t.Context(), p, runsheet.Options{})
	require.NoError(t, err)
	assert.Contains(t, wallSheet(p, s), "[ ]  1    Jo    (rescues alone)  the instructor\n")
	p.People[0].Needs.Lone = 0
	s, err = runsheet.Plan(t.Context(), p, runsheet.Options{})
	require.NoError(t, err)
	assert.Contains(t, wallSheet(p, s), "Nobody needs a timed run.")
}
