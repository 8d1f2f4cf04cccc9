package rotation

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// needOutsideSolver finds an independent solver of mixed-integer programs, or skips the test.
func needOutsideSolver(t testing.TB) string {
	t.Helper()
	cbc, err := exec.LookPath("cbc")
	if err != nil {
		t.Skip("cbc is not installed")
	}
	return cbc
}

// outsideSolver solves a draft with the independent solver.
func outsideSolver(t testing.TB, d *draft) (value float64, x []float64, feasible bool) {
	t.Helper()
	cbc := needOutsideSolver(t)
	dir := t.TempDir()
	file, answer := filepath.Join(dir, "p.lp"), filepath.Join(dir, "p.txt")
	require.NoError(t, os.WriteFile(file, []byte(lpFile(d)), 0o600))
	out, err := exec.Command(cbc, file, "-seconds", "60", "-ratioGap", "0", "-allowableGap", "0", "-solve", "-solution", answer).CombinedOutput()
	require.NoError(t, err, "%s", out)
	return readAnswer(t, answer, d)
}

// lpFile writes a draft in the LP format.
func lpFile(d *draft) string {
	var b strings.Builder
	terms := func(s sum) {
		for _, t := range s {
			fmt.Fprintf(&b, " %+g x%d\n", t.Coefficient, t.Variable)
		}
	}
	b.WriteString("Minimize\n obj:\n")
	for v, c := range d.cost {
		fmt.Fprintf(&b, " %+g x%d\n", c, v)
	}
	b.WriteString("Subject To\n")
	for i, r := range d.rows {
		if !math.IsInf(r.lower, 0) {
			fmt.Fprintf(&b, " a%d:\n", i)
			terms(r.terms)
			fmt.Fprintf(&b, " >= %g\n", r.lower)
		}
		if !math.IsInf(r.upper, 0) {
			fmt.Fprintf(&b, " b%d:\n", i)
			terms(r.terms)
			fmt.Fprintf(&b, " <= %g\n", r.upper)
		}
	}
	b.WriteString("Bounds\n")
	for v := range d.lower {
		if math.IsInf(d.upper[v], 1) {
			fmt.Fprintf(&b, " x%d >= %g\n", v, d.lower[v])
		} else {
			fmt.Fprintf(&b, " %g <= x%d <= %g\n", d.lower[v], v, d.upper[v])
		}
	}
	b.WriteString("Generals\n")
	for v, n := range d.nature {
		if n == chosen {
			fmt.Fprintf(&b, " x%d\n", v)
		}
	}
	b.WriteString("End\n")
	return b.String()
}

func readAnswer(t testing.TB, file string, d *draft) (value float64, x []float64, feasible bool) {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	defer f.Close()
	lines := bufio.NewScanner(f)
	require.True(t, lines.Scan())
	if head := lines.Text(); !strings.HasPrefix(head, "Optimal") {
		require.Contains(t, strings.ToLower(head), "infeasible")
		return 0, nil, false
	}
	x = make([]float64, len(d.lower))
	for lines.Scan() {
		fields := strings.Fields(strings.TrimPrefix(strings.TrimSpace(lines.Text()), "**"))
		v, err := strconv.Atoi(strings.TrimPrefix(fields[1], "x"))
		require.NoError(t, err)
		x[v], err = strconv.ParseFloat(fields[2], 64)
		require.NoError(t, err)
		value += x[v] * d.cost[v]
	}
	return value, x, true
}

// bestOutside solves the stages one after the other with an independent solver, from a plan that need not be good.
func bestOutside(t testing.TB, g *grid, best Objective) Objective {
	t.Helper()
	k := g.newKnown(best)
	for level := 1; level <= 6; level++ {
		s := g.newStage(level, best, k)
		if level == 1 && s.fixed {
			continue
		}
		value, x, feasible := outsideSolver(t, s.draft)
		require.True(t, feasible, "level %d of %v", level, best)
		found, ok := s.snapshotOf(x)
		require.True(t, ok, "level %d: the solution is no plan", level)
		levels := found.figures.Levels()
		require.InDelta(t, value+s.base[level-1], levels[level-1], 1e-6, "level %d", level)
		require.False(t, best.Less(found.figures) && level == 6)
		if found.figures.Less(best) {
			best = found.figures
		}
		most := best.Levels()
		require.Equal(t, most[:level], levels[:level])
	}
	return best
}
