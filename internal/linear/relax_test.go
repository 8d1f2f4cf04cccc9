package linear

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

var inf = math.Inf(1)

// verdict is what the other solver says.
type verdict struct {
	status string // optimal, infeasible, unbounded or another word
	value  float64
}

// carefully are the ways to ask for a whole optimum. The preprocessing of cbc 2.10.8 loses solutions: of a row
// -10 <= 4 x4 - 8 x7 - 8 x11 <= -7 over zeros and ones it finds no x7 = 1. Without it, it crashes now and then, with or without its cuts.
var carefully = [][]string{{"preprocess", "off"}, {"preprocess", "off", "cuts", "off", "heuristics", "off"}, {"presolve", "off"}}

// judge asks the general-purpose solver cbc, when it is installed, for the whole optimum or that of the relaxation.
func judge(t testing.TB, p *Program, relaxed bool) verdict {
	t.Helper()
	if relaxed {
		return ask(t, p, [][]string{{"initialSolve"}})
	}
	return ask(t, p, carefully)
}

// ask asks in one way after the other until there is an answer.
func ask(t testing.TB, p *Program, ways [][]string) verdict {
	t.Helper()
	path, err := exec.LookPath("cbc")
	if err != nil {
		t.Skip("cbc is not installed")
	}
	dir := t.TempDir()
	file, solution := filepath.Join(dir, "program.lp"), filepath.Join(dir, "solution.txt")
	w, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := p.WriteLP(w); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	var out []byte
	for _, way := range ways {
		how := slices.Concat([]string{file}, way, []string{"ratio", "0", "allow", "0", "branch", "solution", solution, "quit"})
		if way[0] == "initialSolve" {
			how = []string{file, "initialSolve", "solution", solution, "quit"}
		}
		if out, err = exec.Command(path, how...).CombinedOutput(); err == nil {
			break
		}
	}
	if err != nil {
		return verdict{status: "crashed"}
	}
	text, err := os.ReadFile(solution)
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	line, _, _ := strings.Cut(string(text), "\n")
	v := verdict{status: strings.ToLower(strings.Fields(line + " none")[0])}
	if strings.Contains(strings.ToLower(line), "infeasible") {
		v.status = "infeasible"
	}
	if _, after, ok := strings.Cut(line, "objective value"); ok {
		v.value, err = strconv.ParseFloat(strings.TrimSpace(after), 64)
		if err != nil {
			t.Fatal(err)
		}
	}
	return v
}

// mixed makes a program by lot: whole and continuous variables, small coefficients, rows of every kind.
func mixed(r *rand.Rand, variables, rows int, free bool) *Program {
	p := &Program{}
	for range variables {
		lower, upper := 0.0, float64(1+r.IntN(3))
		switch r.IntN(8) {
		case 0:
			lower = -float64(r.IntN(4))
		case 1:
			upper = lower
		case 2:
			if free {
				upper = inf
			}
		case 3:
			if free && r.IntN(3) == 0 {
				lower, upper = -inf, inf
			}
		}
		cost := float64(r.IntN(21) - 6)
		if math.IsInf(lower, -1) {
			cost = 0
		}
		p.Variable(lower, upper, cost, r.IntN(4) > 0)
	}
	for range rows {
		n := 1 + r.IntN(min(variables, 6))
		terms := make([]Term, n)
		for k := range terms {
			terms[k] = Term{r.IntN(variables), float64(r.IntN(13) - 4)}
		}
		lower, upper := -inf, inf
		switch r.IntN(5) {
		case 0:
			lower = float64(r.IntN(5) - 1)
			upper = lower
			if r.IntN(2) == 0 {
				upper += float64(r.IntN(4))
			}
		case 1, 2:
			lower = float64(r.IntN(7) - 3)
		default:
			upper = float64(r.IntN(12))
		}
		p.Row(lower, upper, terms...)
	}
	return p
}

// boundless says whether the other solver finds solutions, and very cheap ones where infinite bounds are put far out.
func boundless(t *testing.T, p *Program) bool {
	const far = 1e5
	free, boxed := *p, *p
	free.cost = make([]float64, len(p.cost))
	boxed.lower, boxed.upper = nil, nil
	for j := range p.lower {
		boxed.lower, boxed.upper = append(boxed.lower, max(p.lower[j], -far)), append(boxed.upper, min(p.upper[j], far))
	}
	v := judge(t, &boxed, true)
	return judge(t, &free, true).status == "optimal" && v.status == "optimal" && v.value < -far/100
}

func TestRelaxAgreesWithCBC(t *testing.T) {
	counts := map[string]int{}
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(seed, 7))
		p := mixed(r, 1+r.IntN(30), r.IntN(25), seed%3 == 0)
		switch {
		case seed%10 == 9:
			p = mixed(r, 150, 60, false)
		case seed%20 == 8:
			p = opening(r, 150, 40, 9, seed%40 == 8)
		case seed%2 == 0:
			p = fitting(r, 5+r.IntN(60), 3+r.IntN(50), seed%4 == 0, true)
		}
		got, want := p.Relax(context.Background()), judge(t, p, true)
		counts[want.status]++
		if got.Status == Unbounded {
			if !boundless(t, p) {
				t.Errorf("seed %d: unbounded, want %v %g", seed, want.status, want.value)
			}
			continue
		}
		if want.status != got.Status.String() {
			t.Errorf("seed %d: %v, want %v %g (bound %g)", seed, got.Status, want.status, want.value, got.Bound)
			continue
		}
		if got.Status == Optimal && math.Abs(got.Value-want.value) > 1e-6*(1+math.Abs(want.value)) {
			t.Errorf("seed %d: %g, want %g", seed, got.Value, want.value)
		}
	}
	t.Log(counts)
	if counts["optimal"] < 100 || counts["infeasible"] < 20 {
		t.Error("too few programs were compared", counts)
	}
}
