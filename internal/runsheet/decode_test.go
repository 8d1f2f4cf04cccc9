package runsheet

import (
	"encoding/json"
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

func write(t testing.TB, name string, v any) {
	t.Helper()
	content, err := json.Marshal(v)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(name, content, 0o600))
}

func fields(err error) []string {
	var out []string
	for _, e := range groundhand.Refusals(err) {
		out = append(out, e.Field)
	}
	return out
}

func object(tree any, path ...any) map[string]any {
	for _, step := range path {
		if i, ok := step.(int); ok {
			tree = tree.([]any)[i]
		} else {
			tree = tree.(map[string]any)[step.(string)]
		}
	}
	return tree.(map[string]any)
}

func TestDecodeNamesTheFieldOfEveryFault(t *testing.T) {
	for name, c := range map[string]struct {
		change func(p map[string]any)
		field  string
	}{
		"another format":     {func(p map[string]any) { p["format"] = "drill-sheet-problem/2" }, "format"},
		"no limit":           {func(p map[string]any) { delete(p, "max_runs") }, "max_runs"},
		"negative limit":     {func(p map[string]any) { p["max_runs"] = -1 }, "max_runs"},
		"half a run":         {func(p map[string]any) { p["max_runs"] = 2.5 }, "max_runs"},
		"limit out of range": {func(p map[string]any) { p["max_runs"] = 1e9 }, "max_runs"},
		"no people":          {func(p map[string]any) { delete(p, "people") }, "people"},
		"people as a text":   {func(p map[string]any) { p["people"] = "P1" }, "people"},
		"too many people": {func(p map[string]any) {
			for i := range 100 {
				p["people"] = append(p["people"].([]any), map[string]any{"id": fmt.Sprint("X", i)})
			}
		}, "people"},
		"nobody's id":      {func(p map[string]any) { object(p, "people", 0)["id"] = "" }, "people[0].id"},
		"double id":        {func(p map[string]any) { object(p, "people", 3)["id"] = "P1" }, "people[3].id"},
		"crew as a number": {func(p map[string]any) { object(p, "people", 2)["crew"] = 7 }, "people[2].crew"},
		"negative lead":    {func(p map[string]any) { object(p, "people", 1, "needs")["lead"] = -1 }, "people[1].needs.lead"},
		"too many seconds": {func(p map[string]any) { object(p, "people", 1, "needs")["second"] = 51 }, "people[1].needs.second"},
		"lone as a text":   {func(p map[string]any) { object(p, "people", 1, "needs")["lone"] = "1" }, "people[1].needs.lone"},
		"unknown role":     {func(p map[string]any) { object(p, "people", 1, "needs")["casualty"] = 1 }, "people[1].needs.casualty"},
		"needs as a list":  {func(p map[string]any) { object(p, "people", 1)["needs"] = []any{} }, "people[1].needs"},
		"unknown field":    {func(p map[string]any) { p["maxRuns"] = 5 }, "maxRuns"},
		"couple of nobody": {func(p map[string]any) { couples(p, "P1", "P9", 1) }, "paired_before[0].b"},
		"with himself":     {func(p map[string]any) { couples(p, "P1", "P1", 1) }, "paired_before[0].b"},
		"negative times":   {func(p map[string]any) { couples(p, "P1", "P2", -1) }, "paired_before[0].times"},
		"couple twice":     {func(p map[string]any) { couples(p, "P1", "P2", 1, "P2", "P1", 2) }, "paired_before[1]"},
		"couple without times": {func(p map[string]any) {
			p["paired_before"] = []any{map[string]any{"a": "P1", "b": "P2"}}
		}, "paired_before[0].times"},
	} {
		var tree map[string]any
		require.NoError(t, json.Unmarshal(read(t, "r1-four-alike.sheet-problem.json"), &tree))
		c.change(tree)
		content, err := json.Marshal(tree)
		require.NoError(t, err)
		_, err = Decode(content)
		assert.Equal(t, []string{c.field}, fields(err), name)
	}
}

func couples(p map[string]any, all ...any) {
	var out []any
	for i := 0; i < len(all); i += 3 {
		out = append(out, map[string]any{"a": all[i], "b": all[i+1], "times": all[i+2]})
	}
	p["paired_before"] = out
}

func TestDecodeNamesAllFaultsAtOnce(t *testing.T) {
	_, err := Decode([]byte(`{"format": "drill-sheet-problem/1", "max_runs": -1, "people": [{"id": "A", "needs": {"lead": -1}}, {"id": "A"}],
		"paired_before": [{"a": "A", "b": "B", "times": 1}]}`))
	assert.ElementsMatch(t, []string{"max_runs", "people[0].needs.lead", "people[1].id", "paired_before[0].b"}, fields(err))
}

func TestDecodeSheetNamesFaults(t *testing.T) {
	for text, field := range map[string]string{
		`{"format": "drill-sheet/2", "runs": []}`:                           "format",
		`{"format": "drill-sheet/1"}`:                                       "runs",
		`{"format": "drill-sheet/1", "runs": [{"lead": 1, "second": "B"}]}`: "runs[0].lead",
		`{"format": "drill-sheet/1", "runs": ["A"]}`:                        "runs[0]",
		`{"format": "drill-sheet/1", "runs": [], "objective": 1}`:           "objective",
		`{"format": "drill-sheet/1", "runs": [], "runs": []}`:               "runs",
	} {
		_, _, err := DecodeSheet([]byte(text))
		assert.Equal(t, []string{field}, fields(err), text)
	}
	_, _, err := DecodeSheet([]byte(`{"format": "drill-sheet/1", "runs": [], "objective": {"runs": 0}}`))
	assert.Len(t, fields(err), 5, "a claim has all six figures")
	_, claimed, err := DecodeSheet([]byte(`{"format": "drill-sheet/1", "runs": [], "note": "other planners add more"}`))
	assert.NoError(t, err)
	assert.False(t, claimed)
}

func TestAFileReadAndWrittenIsTheSame(t *testing.T) {
	p := problemOf(t, "r2-mixed-five")
	content, err := json.Marshal(p)
	require.NoError(t, err)
	again, err := Decode(content)
	require.NoError(t, err)
	assert.Equal(t, p, again)
	assert.Contains(t, string(content), `"crew":null`)

	s := plan(t, p)
	content, err = json.Marshal(s)
	require.NoError(t, err)
	back, claimed, err := DecodeSheet(content)
	require.NoError(t, err)
	assert.True(t, claimed)
	assert.Equal(t, s.Runs, back.Runs)
	assert.Equal(t, s.Objective, back.Objective)
}

// Whatever comes in: a refusal with a code, or a problem that can be planned.
func FuzzDecode(f *testing.F) {
	for name := range examples {
		f.Add(read(f, name+".sheet-problem.json"))
	}
	f.Add([]byte(`{"format": "drill-sheet-problem/1", "max_runs": 3, "people": [{"id": "A", "crew": null, "needs": {"lead": 2, "lone": 1}}, {"id": "B"}]}`))
	f.Add([]byte(`{"format": "drill-sheet-problem/1", "max_runs": 0, "people": []}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Decode(data)
		if err != nil {
			if len(groundhand.Refusals(err)) == 0 {
				t.Fatalf("not a refusal: %v", err)
			}
			return
		}
		if len(p.People) > 6 || p.Fewest() > 8 {
			return
		}
		s, err := Plan(t.Context(), p, Options{})
		if no := (*NoSheet)(nil); err != nil {
			require.ErrorAs(t, err, &no)
			return
		}
		assert.Empty(t, Check(p, s))
	})
}

func FuzzDecodeSheet(f *testing.F) {
	for name := range examples {
		f.Add(read(f, name+".sheet.json"))
	}
	p := problemOf(f, "r1-four-alike")
	f.Fuzz(func(t *testing.T, data []byte) {
		s, _, err := DecodeSheet(data)
		if err != nil && len(groundhand.Refusals(err)) == 0 {
			t.Fatalf("not a refusal: %v", err)
		}
		Check(p, s) // must not fail on any sheet
	})
}
