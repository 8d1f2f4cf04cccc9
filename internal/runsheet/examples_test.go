package runsheet

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// examples come with the figures that an independent exact solver proved to be the best.
var examples = map[string]Figures{
	"r1-four-alike":              {4, 0, 0, 0, 10, 0},
	"r2-mixed-five":              {5, 0, 8, 0, 39, 0},
	"r3-one-learner-two-helpers": {3, 0, 2, 0, 4, 0},
}

func read(t testing.TB, name string) []byte {
	t.Helper()
	content, err := os.ReadFile("testdata/" + name)
	require.NoError(t, err)
	return content
}

func problemOf(t testing.TB, name string) Problem {
	t.Helper()
	p, err := Decode(read(t, name+".sheet-problem.json"))
	require.NoError(t, err)
	return p
}

func plan(t require.TestingT, p Problem) Sheet {
	s, err := Plan(context.Background(), p, Options{Seed: 1})
	require.NoError(t, err)
	return s
}

func TestCheckAcceptsTheProvedSheets(t *testing.T) {
	for name, want := range examples {
		s, claimed, err := DecodeSheet(read(t, name+".sheet.json"))
		require.NoError(t, err)
		assert.True(t, claimed)
		assert.Equal(t, want, s.Objective)
		assert.Empty(t, Check(problemOf(t, name), s), name)
	}
}

func TestPlanProvesTheFiguresOfTheExamples(t *testing.T) {
	for name, want := range examples {
		p := problemOf(t, name)
		s := plan(t, p)
		assert.Equal(t, want, s.Objective, name)
		assert.Equal(t, want, s.Bound, name)
		assert.Equal(t, 6, s.ProvedLevels, name)
		assert.Empty(t, Check(p, s), name)
	}
}

// alike is people of one crew who need the same and were never paired.
func alike(people int, needs Needs) Problem {
	p := Problem{Name: fmt.Sprintf("%d alike", people), MaxRuns: mostRuns}
	for i := range people {
		p.People = append(p.People, Person{fmt.Sprintf("P%d", i+1), "C1", needs})
	}
	return p
}

// The best figures of people of one crew who were never paired before, found by an independent full search: two to six people with the
// two-person method, two to four with both methods. The larger ones have no other source than the proof itself.
func TestBestFiguresOfPeopleAlike(t *testing.T) {
	both := Needs{1, 1, 1}
	for _, c := range []struct {
		people int
		needs  Needs
		want   Figures
	}{
		{2, Needs{1, 1, 0}, Figures{2, 1, 0, 0, 0, 0}}, {3, Needs{1, 1, 0}, Figures{3, 0, 0, 0, 3, 0}}, {4, Needs{1, 1, 0}, Figures{4, 0, 0, 0, 10, 0}},
		{5, Needs{1, 1, 0}, Figures{5, 0, 0, 0, 23, 0}}, {6, Needs{1, 1, 0}, Figures{6, 0, 0, 0, 48, 0}},
		{2, both, Figures{4, 1, 0, 0, 2, 0}}, {3, both, Figures{6, 0, 0, 0, 11, 0}}, {4, both, Figures{8, 0, 0, 0, 32, 0}},
		{8, Needs{1, 1, 0}, Figures{8, 0, 0, 0, 132, 0}}, {8, both, Figures{16, 0, 0, 0, 392, 0}},
	} {
		p := alike(c.people, c.needs)
		s := plan(t, p)
		assert.Equal(t, c.want, s.Objective, "%d people, %v", c.people, c.needs)
		assert.Equal(t, 6, s.ProvedLevels, "%d people, %v", c.people, c.needs)
		assert.Empty(t, Check(p, s))
	}
}

// Fourteen people of two crews of seven: more than are searched through, and the bounds still meet the figures up to the fourth.
func TestManyPeopleComeWithBounds(t *testing.T) {
	p := alike(14, Needs{1, 1, 0})
	for i := range 7 {
		p.People[i].Crew = "C2"
	}
	s := plan(t, p)
	assert.Empty(t, Check(p, s))
	figures, bound := s.Objective.Levels(), s.Bound.Levels()
	assert.Equal(t, [4]int{14, 0, 0, 0}, [4]int(figures[:4]))
	assert.GreaterOrEqual(t, s.ProvedLevels, 4)
	assert.LessOrEqual(t, bound[4], figures[4])
	assert.LessOrEqual(t, figures[4]-bound[4], figures[4]/20, "the bound on waiting is within a twentieth")
}

func TestRepeatsThatCannotBeHelpedAreBounded(t *testing.T) {
	for people, repeats := range map[int]int{2: 5, 3: 6, 4: 6, 5: 5} { // each person is in six pair runs
		p := alike(people, Needs{3, 3, 0})
		s := plan(t, p)
		assert.Equal(t, repeats, s.Objective.RepeatPairs, "%d people", people)
		assert.GreaterOrEqual(t, s.ProvedLevels, 2, "%d people", people)
	}
}

// proposed is a sheet for a problem, to be judged.
type proposed struct {
	Problem Problem
	Sheet   Sheet
}

// runEach runs a program once for each case in one interpreter, and prints the exit statuses.
const runEach = `import contextlib, io, json, os, runpy, sys
program, statuses = sys.argv[1], []
for case in sys.argv[2:]:
    sys.argv = [program, os.path.join(case, "problem.json"), os.path.join(case, "sheet.json")]
    try:
        with contextlib.redirect_stdout(io.StringIO()):
            runpy.run_path(program, run_name="__main__")
        statuses.append(0)
    except SystemExit as end:
        statuses.append(end.code or 0)
print(json.dumps(statuses))`

// python has the independent checker, which lies beside the project, not in it, judge some sheets: 0 sound, 1 broken.
func python(t testing.TB, cases ...proposed) []int {
	t.Helper()
	shared := os.Getenv("GROUNDHAND_SHARED")
	if shared == "" {
		t.Skip("GROUNDHAND_SHARED is not set")
	}
	args := []string{"-c", runEach, filepath.Join(shared, "rotation", "check_sheet.py")}
	for _, c := range cases {
		dir := t.TempDir()
		write(t, filepath.Join(dir, "problem.json"), c.Problem)
		write(t, filepath.Join(dir, "sheet.json"), c.Sheet)
		args = append(args, dir)
	}
	out, err := exec.Command("python3", args...).Output()
	require.NoError(t, err)
	var statuses []int
	require.NoError(t, json.Unmarshal(out, &statuses))
	require.Len(t, statuses, len(cases))
	return statuses
}
