package main

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/rotation"
)

const (
	rotationExamples = "../../internal/rotation/testdata/"
	sheetExamples    = "../../internal/runsheet/testdata/"
)

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
	return changedFile(t, rotationExamples+"e1-alternating-crew.problem.json", map[string]any{name: value})
}

func changedSheet(t *testing.T, changes map[string]any) string {
	t.Helper()
	return changedFile(t, sheetExamples+"r1-four-alike.sheet-problem.json", changes)
}

func changedFile(t *testing.T, from string, changes map[string]any) string {
	t.Helper()
	content, err := os.ReadFile(from)
	require.NoError(t, err)
	var tree map[string]any
	require.NoError(t, json.Unmarshal(content, &tree))
	maps.Copy(tree, changes)
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
	const good, goodSheet = rotationExamples + "e2-small.problem.json", sheetExamples + "r1-four-alike.sheet-problem.json"
	for name, c := range map[string]struct {
		cmd    rotationCmd
		status int
		says   []string
	}{
		"a faulty field": {rotationCmd{Problem: changedExample(t, "visit_minutes", -1)}, 2, []string{"visit_minutes: -1 is not between"}},
		"no such file":   {rotationCmd{Problem: filepath.Join(t.TempDir(), "none.json")}, 2, []string{"none.json"}},
		"no time":        {rotationCmd{Problem: good, For: -time.Second}, 2, []string{"--for"}},
		"nothing named":  {rotationCmd{}, 2, []string{"--problem", "--sheet"}},
		"both named":     {rotationCmd{Problem: good, Sheet: goodSheet}, 2, []string{"not both"}},
		"pins that clash": {rotationCmd{Problem: changedExample(t, "pinned", []any{pin("S2"), pin("S3")})}, 3,
			[]string{"no feasible plan", "pinned[0] (W1 in S2)", "pinned[1] (W1 in S3)"}},
		"faulty fields of a sheet": {rotationCmd{Sheet: changedSheet(t, map[string]any{"max_runs": -1, "paired_before": []any{map[string]any{"a": "P1", "b": "P9", "times": 1}}})}, 2,
			[]string{"max_runs: -1 is not between", "paired_before[0].b: There is no person"}},
		"a plan for a sheet":      {rotationCmd{Sheet: good}, 2, []string{"format: The format is"}},
		"no such sheet":           {rotationCmd{Sheet: filepath.Join(t.TempDir(), "none.json")}, 2, []string{"none.json"}},
		"no time for a sheet":     {rotationCmd{Sheet: goodSheet, For: -1}, 2, []string{"--for"}},
		"too few runs":            {rotationCmd{Sheet: changedSheet(t, map[string]any{"max_runs": 3})}, 3, []string{"no feasible sheet", "max_runs: 4 pair runs"}},
		"a lead without a second": {rotationCmd{Sheet: changedSheet(t, map[string]any{"people": []any{map[string]any{"id": "P1", "needs": map[string]any{"lead": 1}}}})}, 3, []string{"nobody else is present"}},
	} {
		c.cmd.Out, c.cmd.Seed, c.cmd.For = filepath.Join(t.TempDir(), "out.json"), 1, cmp.Or(c.cmd.For, time.Minute)
		err := c.cmd.Run()
		var known *exitError
		require.True(t, errors.As(err, &known), name)
		assert.Equal(t, c.status, known.status, name)
		for _, text := range c.says {
			assert.ErrorContains(t, err, text, name)
		}
		assert.NoFileExists(t, c.cmd.Out, name)
	}
}

func TestRotationStaysWithinItsTime(t *testing.T) {
	out := filepath.Join(t.TempDir(), "plan.json")
	require.NoError(t, (&rotationCmd{Problem: rotationExamples + "e3-middle.problem.json", Out: out, Seed: 1, For: time.Nanosecond}).Run())
	assert.FileExists(t, out, "a plan is written even when there was no time to make it better")
}
