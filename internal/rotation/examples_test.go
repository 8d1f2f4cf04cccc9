package rotation

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
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
		var got []NotKept
		for _, one := range suggest(t, readExample(t, name), 3000).NotKeptCurrent {
			if one.Reason != CrowdedOut {
				one.DaysLapsed, one.Chances = 0, nil
				got = append(got, one)
			}
		}
		assert.ElementsMatch(t, readExpected(t, name).CannotKeep, got, name)
	}
}

// The independent checker lies beside the project, not in it.
func TestIndependentCheckerAcceptsThePlans(t *testing.T) {
	shared := os.Getenv("GROUNDHAND_SHARED")
	if shared == "" {
		t.Skip("GROUNDHAND_SHARED is not set")
	}
	for _, name := range examples {
		content, err := json.Marshal(suggest(t, readExample(t, name), 1000))
		require.NoError(t, err)
		file := filepath.Join(t.TempDir(), "plan.json")
		require.NoError(t, os.WriteFile(file, content, 0o600))
		out, err := exec.Command("python3", filepath.Join(shared, "rotation", "check_plan.py"), "testdata/"+name+".problem.json", file).CombinedOutput()
		assert.NoError(t, err, "%s: %s", name, out)
	}
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
