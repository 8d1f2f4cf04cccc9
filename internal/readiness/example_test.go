package readiness_test

import (
	"bytes"
	"cmp"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/readiness"
)

// TestJudgeGivesTheAnswersOfTheExamples compares with answers made by an independent program that tries every reading, team and choice
// by brute force.
func TestJudgeGivesTheAnswersOfTheExamples(t *testing.T) {
	files, err := filepath.Glob("testdata/*.question.json")
	require.NoError(t, err)
	require.Len(t, files, 8)
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			q, err := readiness.Decode(read(t, file))
			require.NoError(t, err)
			got, err := readiness.Judge(q)
			require.NoError(t, err)
			want := tree(t, read(t, strings.Replace(file, ".question.", ".expected.", 1)))
			assert.Equal(t, want, tree(t, encoded(t, got)))
		})
	}
}

func TestAnAnswerComesBackFromItsFile(t *testing.T) {
	for _, name := range []string{"e1-P1-three-lapsed-one-ill", "e4-P7-card-dies-at-midnight", "e8-send-the-other-one-up"} {
		file := encoded(t, judged(t, name))
		var back readiness.Answer
		require.NoError(t, json.Unmarshal(file, &back))
		assert.JSONEq(t, string(file), string(encoded(t, back)))
	}
}

func TestAQuestionComesBackFromItsFile(t *testing.T) {
	files, err := filepath.Glob("testdata/*.question.json")
	require.NoError(t, err)
	for _, file := range files {
		q, err := readiness.Decode(read(t, file))
		require.NoError(t, err)
		back, err := readiness.Decode(encoded(t, q))
		require.NoError(t, err)
		assert.Equal(t, q, back, file)
	}
}

func question(t testing.TB, name string) readiness.Question {
	q, err := readiness.Decode(read(t, "testdata/"+name+".question.json"))
	require.NoError(t, err)
	return q
}

func judged(t testing.TB, name string) readiness.Answer { return judge(t, question(t, name)) }

func judge(t testing.TB, q readiness.Question) readiness.Answer {
	a, err := readiness.Judge(q)
	require.NoError(t, err)
	return a
}

func read(t testing.TB, file string) []byte {
	b, err := os.ReadFile(file)
	require.NoError(t, err)
	return b
}

func encoded(t testing.TB, v any) []byte {
	b, err := json.Marshal(v)
	require.NoError(t, err)
	return b
}

// tree is an answer's file, its lists sorted where their order says nothing.
func tree(t testing.TB, file []byte) map[string]any {
	var answer map[string]any
	require.NoError(t, json.Unmarshal(file, &answer))
	return unordered("", answer).(map[string]any)
}

func unordered(name string, v any) any {
	switch v := v.(type) {
	case map[string]any:
		for k := range v {
			v[k] = unordered(k, v[k])
		}
	case []any:
		for i := range v {
			v[i] = unordered("", v[i])
		}
		if name != "timeline" && name != "roles" && name != "fixes" {
			slices.SortFunc(v, func(a, b any) int { return cmp.Compare(text(a), text(b)) })
		}
	}
	return v
}

func text(v any) string {
	var b bytes.Buffer
	_ = json.NewEncoder(&b).Encode(v)
	return b.String()
}
