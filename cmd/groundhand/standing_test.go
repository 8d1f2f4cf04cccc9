package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/competence"
)

// The files are published with the format.
const publishedFacts = "../../internal/competence/testdata/"

func TestStandingWritesThePublishedAnswers(t *testing.T) {
	out := filepath.Join(t.TempDir(), "answers.json")
	require.NoError(t, os.WriteFile(out, []byte("an older answer"), 0o600))
	c := standingCmd{Facts: publishedFacts + "e3-midnight.facts.json", Out: out}
	require.NoError(t, c.Run())
	var got, want competence.Answers
	readJSON(t, out, &got)
	readJSON(t, publishedFacts+"e3-midnight.answers.json", &want)
	assert.Equal(t, want, got)
	assertAlone(t, out)
}

func readJSON(t *testing.T, name string, v any) {
	t.Helper()
	content, err := os.ReadFile(name)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(content, v))
}

// assertAlone says that nothing half written lies beside a file.
func assertAlone(t *testing.T, name string) {
	t.Helper()
	beside, err := os.ReadDir(filepath.Dir(name))
	require.NoError(t, err)
	require.Len(t, beside, 1)
	assert.Equal(t, filepath.Base(name), beside[0].Name())
}

func TestStandingOfFaultyFactsEndsWithStatus2AndLeavesTheOldAnswer(t *testing.T) {
	out := filepath.Join(t.TempDir(), "answers.json")
	require.NoError(t, os.WriteFile(out, []byte("an older answer"), 0o600))
	c := standingCmd{Facts: publishedFacts + "faulty/level.facts.json", Out: out}
	err := c.Run()
	var stderr bytes.Buffer
	assert.Equal(t, exitFaulty, exitStatus(&stderr, err))
	assert.Contains(t, stderr.String(), "entry E5")
	content, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.Equal(t, "an older answer", string(content))
	assertAlone(t, out)
}

func TestStandingThatCannotWriteIsNoFaultOfTheFacts(t *testing.T) {
	c := standingCmd{Facts: publishedFacts + "e3-midnight.facts.json", Out: filepath.Join(t.TempDir(), "nowhere", "answers.json")}
	var stderr bytes.Buffer
	assert.Equal(t, exitFailed, exitStatus(&stderr, c.Run()))
}

func TestReadUpToRefusesWhatIsTooLarge(t *testing.T) {
	name := filepath.Join(t.TempDir(), "facts.json")
	require.NoError(t, os.WriteFile(name, []byte("12345"), 0o600))
	content, err := readUpTo(name, 5)
	require.NoError(t, err)
	assert.Equal(t, "12345", string(content))
	_, err = readUpTo(name, 4)
	var known *exitError
	require.True(t, errors.As(err, &known))
	assert.Equal(t, exitFaulty, known.status)
}
