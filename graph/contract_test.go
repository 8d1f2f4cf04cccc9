package graph_test

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/vektah/gqlparser/v2/ast"

	"groundhand/internal/access"
)

// ours lists the types of the contract itself.
func ours() []*ast.Definition {
	var out []*ast.Definition
	for _, def := range schema().Types {
		if !def.BuiltIn {
			out = append(out, def)
		}
	}
	slices.SortFunc(out, func(a, b *ast.Definition) int { return strings.Compare(a.Name, b.Name) })
	return out
}

// eachName visits everything in the contract that has a name, with its description.
func eachName(visit func(path, name, description string)) {
	for _, def := range ours() {
		visit(def.Name, def.Name, def.Description)
		for _, f := range fieldsOf(def) {
			visit(def.Name+"."+f.Name, f.Name, f.Description)
			for _, a := range f.Arguments {
				visit(def.Name+"."+f.Name+"("+a.Name+")", a.Name, a.Description)
			}
		}
		for _, v := range def.EnumValues {
			visit(def.Name+"."+v.Name, v.Name, v.Description)
		}
	}
}

func TestEverythingInTheContractIsExplained(t *testing.T) {
	names := 0
	eachName(func(path, _, description string) {
		names++
		assert.NotEmpty(t, description, path)
	})
	assert.Greater(t, names, 500)
}

func TestEveryQuestionAndChangeNamesAnAct(t *testing.T) {
	table := access.Table()
	for _, root := range []*ast.Definition{schema().Query, schema().Mutation} {
		for _, f := range fieldsOf(root) {
			act := f.Directives.ForName("act")
			if assert.NotNil(t, act, "%s.%s is not guarded", root.Name, f.Name) {
				assert.Contains(t, table, access.Act(act.Arguments.ForName("needs").Value.Raw), f.Name)
			}
			assert.False(t, f.Type.NonNull, "%s.%s: a refusal must not take the answers beside it along", root.Name, f.Name)
		}
	}
}

// fieldsOf leaves out what the language itself adds.
func fieldsOf(root *ast.Definition) []*ast.FieldDefinition {
	return slices.DeleteFunc(slices.Clone(root.Fields), func(f *ast.FieldDefinition) bool { return strings.HasPrefix(f.Name, "__") })
}

// Guarded fields below the root are nullable too, and name an act that there is.
func TestGuardedFieldsMayBeRefusedAlone(t *testing.T) {
	for _, def := range ours() {
		for _, f := range def.Fields {
			if act := f.Directives.ForName("act"); act != nil {
				assert.Contains(t, access.Table(), access.Act(act.Arguments.ForName("needs").Value.Raw), f.Name)
				assert.False(t, f.Type.NonNull, def.Name+"."+f.Name)
			}
		}
	}
}

// short are the lists of a question that stay short by what they are, or that the question itself bounds by days.
var short = map[string]string{
	"yards": "a handful", "families": "a handful", "ruleSets": "a handful", "sessions": "92 days", "jobs": "62 days", "shifts": "62 days", "checklists": "a handful", "coverOn": "one day",
	"course": "spans between changes", "unavailabilityReasons": "of one worker", "marks": "of 200 entries", "extensions": "of one day", "provisionals": "of one day", "leaningCrews": "of one day",
	"auditScreens": "questions, few by what they are", "duplicates": "pairs, few by what they are", "signingKeys": "a handful in many years",
}

func TestLongListsComeByThePage(t *testing.T) {
	for _, f := range fieldsOf(schema().Query) {
		switch {
		case f.Type.Elem != nil:
			assert.Contains(t, short, f.Name, "is a list of no known length: make it a connection")
		case strings.HasSuffix(f.Type.Name(), "Connection"):
			assert.NotNil(t, f.Arguments.ForName("first"), f.Name)
			assert.NotNil(t, f.Arguments.ForName("after"), f.Name)
		}
	}
}

// banned are words of other trades and of sales, which say too little or promise too much; see the house words in DEVELOPERS.md.
var banned = []string{"learner", "curriculum", "catalog", "catalogue", "enrol", "enroll", "enrolment", "module", "matrix", "heatmap", "proficiency", "star", "stars",
	"rag", "red", "amber", "green", "compliance", "compliant", "score", "index", "percent", "percentage", "leaderboard", "badge", "streak", "points", "rank", "ranking", "dashboard",
	"widget", "tile", "alert", "insight", "insights", "expiring", "expiry", "certified", "guaranteed", "override", "hurtman", "linesman", "lineman", "victim", "user", "users", "resource",
	"asset", "archive", "archived", "delete", "deleted", "padlock"}

var words = regexp.MustCompile(`[A-Z]+(?:[a-z]+)?|[a-z]+`)

func TestNoNameIsABannedWord(t *testing.T) {
	eachName(func(path, name, description string) {
		for _, word := range words.FindAllString(name, -1) {
			assert.NotContains(t, banned, strings.ToLower(word), path)
		}
		for _, word := range words.FindAllString(description, -1) {
			if w := strings.ToLower(word); w != "points" { // points to coach are no score
				assert.NotContains(t, banned, w, path)
			}
		}
	})
}

func TestEveryChangeThatEntersSomethingTakesAKey(t *testing.T) {
	without := []string{"previewImport", "sweep", "addAccount", "stopRotation"} // writes nothing; is the same twice; shows a token once; ends what has not ended
	for _, f := range fieldsOf(schema().Mutation) {
		assert.Equal(t, !slices.Contains(without, f.Name), f.Arguments.ForName("key") != nil, f.Name)
	}
	require.NotNil(t, schema().Mutation.Fields.ForName("addAccount"))
}

func schemaFile(t *testing.T) string {
	text, err := os.ReadFile("../schema.graphql")
	require.NoError(t, err)
	return string(text)
}
