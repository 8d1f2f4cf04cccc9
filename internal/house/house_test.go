package house

import (
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const module = "groundhand/"

// pkg is what `go list` says of one of our packages.
type pkg struct {
	ImportPath string
	Dir        string
	Name       string
	Doc        string
	GoFiles    []string
	Imports    []string
}

func (p pkg) room() string { return strings.TrimPrefix(p.ImportPath, module) }

func packages(t *testing.T) []pkg {
	t.Helper()
	cmd := exec.Command("go", "list", "-json=ImportPath,Dir,Name,Doc,GoFiles,Imports", "./...")
	cmd.Dir = root(t)
	out, err := cmd.Output()
	require.NoError(t, err)
	var all []pkg
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p pkg
		err := dec.Decode(&p)
		if err == io.EOF {
			require.NotEmpty(t, all)
			return all
		}
		require.NoError(t, err)
		all = append(all, p)
	}
}

func root(t *testing.T) string {
	t.Helper()
	dir, err := filepath.Abs("../..")
	require.NoError(t, err)
	return dir
}

func TestImportsGoDownwardsOnly(t *testing.T) {
	for _, p := range packages(t) {
		room, known := plan[p.room()]
		if !assert.True(t, known, "package %s is not in the plan of the house: add it there with what it may import, or move it", p.room()) {
			continue
		}
		for _, path := range p.Imports {
			assert.Empty(t, refuse(room, path), p.room())
		}
	}
}

// refuse says what is wrong with an import, or nothing.
func refuse(r room, path string) string {
	switch ours, isOurs := strings.CutPrefix(path, module); {
	case isOurs && !slices.Contains(r.ours, ours) && !slices.Contains(r.ours, "*"):
		return "may not import our package " + ours
	case isOurs:
		return ""
	case standard(path):
		if r.pure && slices.Contains(impure, path) {
			return "is pure and may not import " + path
		}
		return ""
	case !slices.ContainsFunc(r.outside, func(m string) bool { return within(path, m) }):
		return "may not import the library " + path
	}
	return ""
}

func standard(path string) bool    { return !strings.Contains(strings.Split(path, "/")[0], ".") }
func within(path, mod string) bool { return path == mod || strings.HasPrefix(path, mod+"/") }

func TestRefuseCatchesWhatItShould(t *testing.T) {
	engine := plan["internal/competence"]
	assert.NotEmpty(t, refuse(engine, "groundhand/internal/store"))
	assert.NotEmpty(t, refuse(engine, "gorm.io/gorm"))
	assert.NotEmpty(t, refuse(engine, "os"))
	assert.Empty(t, refuse(engine, "groundhand/internal/groundhand"))
	assert.Empty(t, refuse(engine, "slices"))
	assert.NotEmpty(t, refuse(plan["internal/demo"], "groundhand/internal/store"), "demo data must pass the same rules as real data")
}

func TestEachLibraryHasOneImporter(t *testing.T) {
	for lib, owner := range oneImporter {
		for _, p := range packages(t) {
			uses := slices.ContainsFunc(p.Imports, func(path string) bool { return within(path, lib) })
			if p.room() == owner {
				assert.True(t, uses, "%s is said to be the importer of %s", owner, lib)
			} else {
				assert.False(t, uses, "%s imports %s, which belongs to %s alone", p.room(), lib, owner)
			}
		}
	}
}

func TestEnginesNeverAskTheClockOrChance(t *testing.T) {
	for _, p := range packages(t) {
		if plan[p.room()].pure {
			assert.Empty(t, clockCalls(t, p), p.room())
		}
	}
}

// clockCalls finds calls that make a pure package depend on the moment or on global chance.
func clockCalls(t *testing.T, p pkg) []string {
	t.Helper()
	banned := map[string][]string{"time": {"Now", "Since", "Until", "Sleep", "After", "Tick", "NewTimer", "NewTicker", "LoadLocation"},
		"rand": {"Int", "IntN", "Intn", "Float64", "Perm", "Shuffle", "Uint64", "Int64", "N"}}
	if p.room() == "internal/competence" || p.room() == "internal/readiness" {
		banned["time"] = slices.DeleteFunc(banned["time"], func(s string) bool { return s == "LoadLocation" }) // the file names its zone
	}
	var found []string
	for _, file := range p.GoFiles {
		fset := token.NewFileSet()
		tree, err := parser.ParseFile(fset, filepath.Join(p.Dir, file), nil, 0)
		require.NoError(t, err)
		ast.Inspect(tree, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok {
				if x, ok := sel.X.(*ast.Ident); ok && x.Obj == nil && slices.Contains(banned[x.Name], sel.Sel.Name) {
					found = append(found, fmt.Sprintf("%s: %s.%s", fset.Position(sel.Pos()), x.Name, sel.Sel.Name))
				}
			}
			return true
		})
	}
	return found
}

func TestTheClockIsAskedInCmdOnly(t *testing.T) {
	now := regexp.MustCompile(`\btime\.Now\(`)
	for _, p := range packages(t) {
		if p.room() == "cmd/groundhand" {
			continue
		}
		for _, file := range p.GoFiles {
			b, err := os.ReadFile(filepath.Join(p.Dir, file))
			require.NoError(t, err)
			if p.room() != "graph/generated" {
				assert.False(t, now.Match(b), "%s/%s asks the clock; take it as a parameter", p.room(), file)
			}
		}
	}
}

func TestGeneratedCodeLivesAlone(t *testing.T) {
	mark := regexp.MustCompile(`(?m)^// Code generated .* DO NOT EDIT\.$`)
	for _, p := range packages(t) {
		for _, file := range p.GoFiles {
			b, err := os.ReadFile(filepath.Join(p.Dir, file))
			require.NoError(t, err)
			assert.Equal(t, p.room() == "graph/generated", mark.Match(b), "%s/%s: generated code lives in graph/generated, and nothing else does", p.room(), file)
		}
	}
}

func TestPackagesAreNamedAfterNounsAndExplained(t *testing.T) {
	for _, p := range packages(t) {
		assert.NotContains(t, bannedNames, p.Name, p.room())
		assert.Regexp(t, `^[a-z]+$`, p.Name, p.room())
		if p.room() != "graph/generated" {
			assert.NotEmpty(t, p.Doc, "package %s has no comment", p.room())
		}
	}
}

func TestTopLevelHoldsOnlyWhatItShould(t *testing.T) {
	entries, err := os.ReadDir(root(t))
	require.NoError(t, err)
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") {
			assert.Contains(t, topLevel, e.Name())
		}
	}
}

func TestNoFileGrowsWithoutReason(t *testing.T) {
	for _, p := range packages(t) {
		if p.room() == "graph/generated" {
			continue
		}
		for _, file := range p.GoFiles {
			b, err := os.ReadFile(filepath.Join(p.Dir, file))
			require.NoError(t, err)
			assert.LessOrEqual(t, strings.Count(string(b), "\n"), 700, "%s/%s", p.room(), file)
		}
	}
}

// The driver's generated code fits one version of its C library; a newer one, pulled in by an innocent update, may not.
func TestSQLiteRunsOnTheLibraryItWasMadeFor(t *testing.T) {
	version := func(file string) string {
		b, err := os.ReadFile(file)
		require.NoError(t, err)
		found := regexp.MustCompile(`(?m)^\s*modernc\.org/libc (v\S+)`).FindSubmatch(b)
		require.NotNil(t, found, file)
		return string(found[1])
	}
	cmd := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "modernc.org/sqlite")
	cmd.Dir = root(t)
	dir, err := cmd.Output()
	require.NoError(t, err)
	assert.Equal(t, version(filepath.Join(strings.TrimSpace(string(dir)), "go.mod")), version(filepath.Join(root(t), "go.mod")))
}
