package competence

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// An independent program that answers the standing-facts/1 format from its definitions, day by day, checks generated files where
// its folder is named by GROUNDHAND_SHARED and there is a python3 to run it.
func TestGeneratedFactsAgreeWithTheIndependentProgram(t *testing.T) {
	folder := os.Getenv("GROUNDHAND_SHARED")
	python, err := exec.LookPath("python3")
	if folder == "" || err != nil {
		t.Skip("GROUNDHAND_SHARED names no folder, or there is no python3")
	}
	folder = filepath.Join(folder, "standing")
	for size, seeds := range map[string]int{"tiny": 6, "middle": 2} {
		for seed := range seeds {
			facts, answers := filepath.Join(t.TempDir(), "facts.json"), filepath.Join(t.TempDir(), "answers.json")
			script(t, python, filepath.Join(folder, "generate.py"), size, strconv.Itoa(70_000+seed), facts)
			in, err := os.ReadFile(facts)
			require.NoError(t, err)
			out, err := AnswerFile(in)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(answers, out, 0o600))
			script(t, python, filepath.Join(folder, "compare.py"), facts, answers)
		}
	}
}

func script(t *testing.T, name string, args ...string) {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	assert.NoError(t, err, "%v: %s", args, out)
}
