package readiness_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"groundhand/internal/readiness"
)

// TestTheReferenceAgreesOnFreshQuestions asks the independent reference, where it is at hand: generate.py makes questions with pools,
// compare.py names the first difference. It is slow, so only a few are asked here.
func TestTheReferenceAgreesOnFreshQuestions(t *testing.T) {
	shared := os.Getenv("GROUNDHAND_SHARED")
	if shared == "" {
		t.Skip("GROUNDHAND_SHARED names no folder with the reference")
	}
	script := func(name string) string { return filepath.Join(shared, "cover", name) }
	dir := t.TempDir()
	for seed := range 20 {
		for _, size := range []string{"tiny", "middle"} {
			file, err := exec.Command("python3", script("generate.py"), strconv.Itoa(seed), size).Output()
			require.NoError(t, err)
			q, err := readiness.Decode(file)
			require.NoError(t, err)
			asked, answered := filepath.Join(dir, "question.json"), filepath.Join(dir, "answer.json")
			require.NoError(t, os.WriteFile(asked, file, 0o600))
			require.NoError(t, os.WriteFile(answered, encoded(t, judge(t, q)), 0o600))
			out, err := exec.Command("python3", script("compare.py"), asked, answered).CombinedOutput()
			require.NoError(t, err, "%s %d: %s", size, seed, out)
		}
	}
}
