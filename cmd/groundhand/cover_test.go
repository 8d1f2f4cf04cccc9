package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/readiness"
)

// The files are published with the format.
const publishedCover = "../../internal/readiness/testdata/"

func TestCoverWritesThePublishedAnswers(t *testing.T) {
	for _, name := range []string{"e1-P1-three-lapsed-one-ill", "e8-send-the-other-one-up"} {
		out := filepath.Join(t.TempDir(), "answer.json")
		c := coverCmd{Question: publishedCover + name + ".question.json", Out: out}
		require.NoError(t, c.Run())
		var got, want readiness.Answer
		readJSON(t, out, &got)
		readJSON(t, publishedCover+name+".expected.json", &want)
		assert.Equal(t, want.Verdict, got.Verdict)
		assert.Equal(t, want.Fixes, got.Fixes)
		assert.ElementsMatch(t, want.Refused, got.Refused)
		assertAlone(t, out)
	}
}

func TestCoverOfAFaultyQuestionNamesEveryFieldAndEndsWithStatus2(t *testing.T) {
	file, err := os.ReadFile(publishedCover + "e1-P1-three-lapsed-one-ill.question.json")
	require.NoError(t, err)
	var question map[string]any
	require.NoError(t, json.Unmarshal(file, &question))
	question["name"], question["format"] = "broken", "cover-question/9"
	question["pool"].(map[string]any)["max_changes"] = -1
	broken, err := json.Marshal(question)
	require.NoError(t, err)
	dir := t.TempDir()
	asked, out := filepath.Join(dir, "question.json"), filepath.Join(dir, "answer.json")
	require.NoError(t, os.WriteFile(asked, broken, 0o600))
	status, stderr := ended((&coverCmd{Question: asked, Out: out}).Run())
	assert.Equal(t, exitFaulty, status)
	assert.Contains(t, stderr, "format: ")
	assert.Contains(t, stderr, "pool.max_changes: ")
	content, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.JSONEq(t, `{"format":"cover-answer/1","question":"broken","refused_fields":["format","pool.max_changes"]}`, string(content))
}

func ended(err error) (status int, stderr string) {
	var b bytes.Buffer
	status = exitStatus(&b, err)
	return status, b.String()
}

func TestCoverThatCannotReadEndsWithStatus2(t *testing.T) {
	dir := t.TempDir()
	for name, c := range map[string]coverCmd{
		"no question":     {Out: filepath.Join(dir, "answer.json")},
		"no place to put": {Question: publishedCover + "e8-send-the-other-one-up.question.json"},
		"no such file":    {Question: filepath.Join(dir, "nowhere.json"), Out: filepath.Join(dir, "answer.json")},
	} {
		t.Run(name, func(t *testing.T) {
			status, stderr := ended(c.Run())
			assert.Equal(t, exitFaulty, status)
			assert.Equal(t, 1, strings.Count(stderr, "\n"), "one line says what is wrong")
		})
	}
	assertEmpty(t, dir)
}

func assertEmpty(t *testing.T, dir string) {
	t.Helper()
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, left)
}
