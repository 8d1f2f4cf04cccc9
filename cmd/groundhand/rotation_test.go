package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/rotation"
)

const rotationExamples = "../../internal/rotation/testdata/"

func TestRotationWritesAPlanThatChecks(t *testing.T) {
	file := rotationExamples + "e1-alternating-crew.problem.json"
	out := filepath.Join(t.TempDir(), "plan.json")
	require.NoError(t, (&rotationCmd{Problem: file, Out: out, Seed: 1, For: time.Minute}).Run())
	first, err := os.ReadFile(out)
	require.NoError(t, err)
	plan, claimed, err := rotation.DecodePlan(first)
	require.NoError(t, err)
	assert.True(t, claimed)
	content, err := os.ReadFile(file)
	require.NoError(t, err)
	p, err := rotation.Decode(content)
	require.NoError(t, err)
	assert.Empty(t, rotation.Check(p, plan))

	require.NoError(t, (&rotationCmd{Problem: file, Out: out, Seed: 1, For: time.Minute}).Run())
	second, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.True(t, bytes.Equal(first, second), "the same problem and seed give the same plan")
}

// changedExample writes an example with one thing changed.
func changedExample(t *testing.T, name string, value any) string {
	t.Helper()
	content, err := os.ReadFile(rotationExamples + "e1-alternating-crew.problem.json")
	require.NoError(t, err)
	var tree map[string]any
	require.NoError(t, json.Unmarshal(content, &tree))
	tree[name] = value
	content, err = json.Marshal(tree)
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "problem.json")
	require.NoError(t, os.WriteFile(file, content, 0o600))
	return file
}

func TestRotationEndsWithAStatus(t *testing.T) {
	pin := func(slot string) map[string]any {
		return map[string]any{"slot": slot, "worker": "W1", "renews": []string{"bucket-two"}}
	}
	for name, c := range map[string]struct {
		problem string
		limit   time.Duration
		status  int
		says    []string
	}{
		"a faulty field": {changedExample(t, "visit_minutes", -1), time.Minute, 2, []string{"visit_minutes: -1 is not between"}},
		"no such file":   {filepath.Join(t.TempDir(), "none.json"), time.Minute, 2, []string{"none.json"}},
		"no time":        {rotationExamples + "e2-small.problem.json", 0, 2, []string{"--for"}},
		"pins that clash": {changedExample(t, "pinned", []any{pin("S2"), pin("S3")}), time.Minute, 3,
			[]string{"no feasible plan", "pinned[0] (W1 in S2)", "pinned[1] (W1 in S3)"}},
	} {
		out := filepath.Join(t.TempDir(), "plan.json")
		err := (&rotationCmd{Problem: c.problem, Out: out, Seed: 1, For: c.limit}).Run()
		var known *exitError
		require.True(t, errors.As(err, &known), name)
		assert.Equal(t, c.status, known.status, name)
		for _, text := range c.says {
			assert.ErrorContains(t, err, text, name)
		}
		assert.NoFileExists(t, out, name)
	}
}

func TestRotationStaysWithinItsTime(t *testing.T) {
	out := filepath.Join(t.TempDir(), "plan.json")
	require.NoError(t, (&rotationCmd{Problem: rotationExamples + "e3-middle.problem.json", Out: out, Seed: 1, For: time.Nanosecond}).Run())
	assert.FileExists(t, out, "a plan is written even when there was no time to make it better")
}
