package rotation

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// runEach runs one program again and again in one process, with each list of arguments given as JSON, and prints the exit statuses: to start
// Python anew for each of hundreds of problems would take longer than the work.
const runEach = `import contextlib, io, json, runpy, sys
out = []
for args in json.load(sys.stdin):
    sys.argv = [sys.argv[0], *args]
    try:
        with contextlib.redirect_stdout(io.StringIO()):
            runpy.run_path(sys.argv[0], run_name="__main__")
        out.append(0)
    except SystemExit as e:
        out.append(e.code or 0)
print(json.dumps(out))`

// pythonEach runs one of the independent programs for each list of arguments and gives the exit statuses.
func pythonEach(t testing.TB, program string, calls [][]string) []int {
	t.Helper()
	shared := os.Getenv("GROUNDHAND_SHARED")
	if shared == "" {
		t.Skip("GROUNDHAND_SHARED is not set")
	}
	file := filepath.Join(shared, "rotation", program)
	cmd := exec.Command("python3", "-c", `import sys; sys.argv[0] = sys.argv[1]`+"\n"+runEach, file)
	in, err := json.Marshal(calls)
	require.NoError(t, err)
	input := filepath.Join(t.TempDir(), "calls.json")
	require.NoError(t, os.WriteFile(input, in, 0o600))
	cmd.Stdin, err = os.Open(input)
	require.NoError(t, err)
	cmd.Stderr = os.Stderr
	cmd.Dir = t.TempDir()
	out, err := cmd.Output()
	require.NoError(t, err, "%s", program)
	var statuses []int
	require.NoError(t, json.Unmarshal(out, &statuses))
	require.Len(t, statuses, len(calls))
	return statuses
}

func readGenerated(t testing.TB, file string) Problem {
	t.Helper()
	content, err := os.ReadFile(file)
	require.NoError(t, err)
	p, err := Decode(content)
	require.NoError(t, err, file)
	return p
}

func writePlan(t testing.TB, file string, plan Plan) {
	t.Helper()
	content, err := json.Marshal(plan)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(file, content, 0o600))
}

// Every plan of 300 problems of the independent generator, in all its twists and sizes up to 90 workers, passes the independent checker,
// which also counts the six figures again.
func TestTheIndependentCheckerAcceptsThePlansOfManyProblems(t *testing.T) {
	if underRace {
		t.Skip("minutes under the race detector, and run without it in .ci/run")
	}
	const problems = 300
	twists := []string{"", "tight", "thin", "leap", "ties", "short-supply", "lone", "away"}
	dir := t.TempDir()
	file := func(i int, kind string) string { return filepath.Join(dir, fmt.Sprintf("%d.%s.json", i, kind)) }
	var make, judge [][]string
	for i := range problems {
		args := []string{"--seed", strconv.Itoa(40_000 + i), "-o", file(i, "problem"), "--size", "small", "--workers", strconv.Itoa(4 + i%17)}
		if i%50 == 49 {
			args = []string{"--seed", strconv.Itoa(40_000 + i), "-o", file(i, "problem"), "--size", "middle"}
		}
		if twist := twists[i%len(twists)]; twist != "" {
			args = append(args, "--twist", twist)
		}
		make = append(make, args)
		judge = append(judge, []string{file(i, "problem"), file(i, "plan")})
	}
	for i, status := range pythonEach(t, "generate.py", make) {
		require.Zero(t, status, make[i])
	}
	proved := 0
	for i := range problems {
		p := readGenerated(t, file(i, "problem"))
		plan, err := Suggest(context.Background(), p, Options{Seed: uint64(i), Rounds: 100}) // too few to ask for a proof of a middle one
		require.NoError(t, err, make[i])
		assert.Empty(t, Check(p, plan), make[i])
		writePlan(t, file(i, "plan"), plan)
		if plan.ProvedLevels == len(LevelNames) {
			proved++
		}
	}
	for i, status := range pythonEach(t, "check_plan.py", judge) {
		assert.Zero(t, status, make[i])
	}
	t.Logf("%d of %d proved best at all six levels after 100 rounds", proved, problems)
}

// BenchmarkBesideTheExactReference plans generated problems and prints size, seconds, figures, bound, gap and memory beside the seconds and
// figures of an exact solver for mixed-integer programs. It measures; tests decide.
func BenchmarkBesideTheExactReference(b *testing.B) {
	for _, size := range [][]string{{"micro", "small", "--workers", "8"}, {"small", "small"}, {"middle", "middle"}} {
		b.Run(size[0], func(b *testing.B) {
			dir := b.TempDir()
			file, record := filepath.Join(dir, "problem.json"), filepath.Join(dir, "best.json")
			pythonEach(b, "generate.py", [][]string{append([]string{"--seed", "1", "-o", file, "--size"}, size[1:]...)})
			began := time.Now()
			pythonEach(b, "solve_reference.py", [][]string{{file, "--solver", "cbc", "--limit", "20", "--record", record}})
			theirs := time.Since(began)
			var outside struct {
				Status    string
				Objective Objective
			}
			content, err := os.ReadFile(record)
			require.NoError(b, err)
			require.NoError(b, json.Unmarshal(content, &outside))
			p := readGenerated(b, file)
			for b.Loop() {
				began = time.Now()
				plan, err := Suggest(context.Background(), p, Options{Seed: 1})
				require.NoError(b, err)
				ours := time.Since(began)
				var m runtime.MemStats
				runtime.ReadMemStats(&m)
				b.Logf("%d workers: %.2f s %v, bound %v, %d levels proved, %d MB; exact reference %.2f s %v (%s); %.2f times its time", len(p.Workers),
					ours.Seconds(), plan.Objective.Levels(), plan.Bound.Levels(), plan.ProvedLevels, m.Sys>>20, theirs.Seconds(),
					outside.Objective.Levels(), outside.Status, ours.Seconds()/theirs.Seconds())
			}
		})
	}
}
