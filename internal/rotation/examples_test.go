package rotation

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The four problems come with figures that exact solvers (CBC 2.10.8; HiGHS 1.15.3 and GLPK 5.0 beside it) proved to be the best, with a
// plan that has them, with quick bounds and with the reasons why somebody cannot be kept current, all from an independent program.
var examples = []string{"e1-alternating-crew", "e2-small", "e3-middle", "e4-reasons"}

type expected struct {
	Objective    Objective `json:"objective"`
	QuickBounds  Objective `json:"quick_bounds"`
	CannotKeep   []NotKept `json:"cannot_keep_current"`
	SpareAllowed int       `json:"spare_used"`
}

func readExample(t testing.TB, name string) Problem {
	t.Helper()
	content, err := os.ReadFile("testdata/" + name + ".problem.json")
	require.NoError(t, err)
	p, err := Decode(content)
	require.NoError(t, err)
	return p
}

func readExpected(t *testing.T, name string) expected {
	t.Helper()
	content, err := os.ReadFile("testdata/" + name + ".expected.json")
	require.NoError(t, err)
	var e expected
	require.NoError(t, json.Unmarshal(content, &e))
	return e
}

func suggest(t testing.TB, p Problem, rounds int) Plan {
	t.Helper()
	plan, err := Suggest(context.Background(), p, Options{Seed: 1, Rounds: rounds})
	require.NoError(t, err)
	return plan
}

func TestCheckAcceptsTheProvedPlans(t *testing.T) {
	for _, name := range examples {
		content, err := os.ReadFile("testdata/" + name + ".plan.json")
		require.NoError(t, err)
		plan, claimed, err := DecodePlan(content)
		require.NoError(t, err)
		require.True(t, claimed)
		assert.Equal(t, readExpected(t, name).Objective, plan.Objective)
		assert.Empty(t, Check(readExample(t, name), plan), name)
	}
}

func TestSuggestReachesTheProvedFigures(t *testing.T) {
	for name, levels := range map[string]int{"e1-alternating-crew": 6, "e2-small": 3, "e3-middle": 3, "e4-reasons": 6} {
		p, want := readExample(t, name), readExpected(t, name)
		plan := suggest(t, p, 12_000)
		got, best := plan.Objective.Levels(), want.Objective.Levels()
		assert.Equal(t, best[:levels], got[:levels], name)
		assert.False(t, plan.Objective.Less(want.Objective), "%s: better than what was proved best", name)
		assert.Empty(t, Check(p, plan), name)
	}
}

func TestBoundsOfTheExamplesAreTheQuickBounds(t *testing.T) {
	for _, name := range examples {
		want := readExpected(t, name)
		assert.Equal(t, want.QuickBounds, newGrid(readExample(t, name)).bound(want.Objective.LapsedDays), name)
	}
}

func TestReasonsOfTheExamples(t *testing.T) {
	for _, name := range examples {
		got := planFree(suggest(t, readExample(t, name), 1000))
		assert.ElementsMatch(t, readExpected(t, name).CannotKeep, got, name)
	}
}

// python runs one of the independent programs, which lie beside the project, not in it.
func python(t *testing.T, program string, args ...string) []byte {
	t.Helper()
	shared := os.Getenv("GROUNDHAND_SHARED")
	if shared == "" {
		t.Skip("GROUNDHAND_SHARED is not set")
	}
	out, err := exec.Command("python3", append([]string{filepath.Join(shared, "rotation", program)}, args...)...).CombinedOutput()
	require.NoError(t, err, "%s %v: %s", program, args, out)
	return out
}

func checkOutside(t *testing.T, problem string, plan Plan) {
	t.Helper()
	content, err := json.Marshal(plan)
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "plan.json")
	require.NoError(t, os.WriteFile(file, content, 0o600))
	python(t, "check_plan.py", problem, file)
}

func TestIndependentCheckerAcceptsThePlans(t *testing.T) {
	for _, name := range examples {
		checkOutside(t, "testdata/"+name+".problem.json", suggest(t, readExample(t, name), 1000))
	}
}

func TestIndependentBoundsAndReasonsOfGeneratedProblems(t *testing.T) {
	if underRace {
		t.Skip("minutes under the race detector, and run without it in .ci/run")
	}
	for i, args := range [][]string{{"small", "--workers", "5"}, {"small", "--workers", "9"}, {"small"}, {"small", "--twist", "tight"}, {"small", "--twist", "leap"}, {"middle"}} {
		file := filepath.Join(t.TempDir(), "problem.json")
		python(t, "generate.py", append([]string{"-o", file, "--seed", strconv.Itoa(100 + i), "--size"}, args...)...)
		content, err := os.ReadFile(file)
		require.NoError(t, err)
		p, err := Decode(content)
		require.NoError(t, err)
		plan := suggest(t, p, 500)
		assert.Empty(t, Check(p, plan))
		checkOutside(t, file, plan)
		var outside struct {
			Bounds     Objective `json:"bounds"`
			CannotKeep []NotKept `json:"cannot_keep_current"`
		}
		require.NoError(t, json.Unmarshal(python(t, "lower_bounds.py", file), &outside))
		for level, least := range []int{outside.Bounds.CrewDaysShort, outside.Bounds.LapsedDays} {
			assert.GreaterOrEqual(t, plan.Bound.Levels()[level], least, "as good as the independent quick bound")
			assert.LessOrEqual(t, plan.Bound.Levels()[level], plan.Objective.Levels()[level])
		}
		assert.ElementsMatch(t, outside.CannotKeep, planFree(plan))
	}
}

// planFree are the tickets that no plan keeps current, without what depends on the plan.
func planFree(plan Plan) []NotKept {
	var out []NotKept
	for _, one := range plan.NotKeptCurrent {
		if one.Reason != CrowdedOut {
			one.DaysLapsed, one.Chances = 0, nil
			out = append(out, one)
		}
	}
	return out
}

func BenchmarkSuggestMiddle(b *testing.B) {
	p := readExample(b, "e3-middle")
	for b.Loop() {
		suggest(b, p, 1000)
	}
}

func BenchmarkFirstPlanMiddle(b *testing.B) {
	g := newGrid(readExample(b, "e3-middle"))
	for b.Loop() {
		newRoster(g).firstPlan(func() bool { return false })
	}
}
