package rotation

import (
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// sample is a whole problem in which tests change one thing.
func sample(t *testing.T) map[string]any {
	t.Helper()
	content, err := os.ReadFile("testdata/e1-alternating-crew.problem.json")
	require.NoError(t, err)
	var tree map[string]any
	require.NoError(t, json.Unmarshal(content, &tree))
	return tree
}

func at(tree any, path ...any) map[string]any {
	for _, step := range path {
		if i, ok := step.(int); ok {
			tree = tree.([]any)[i]
		} else {
			tree = tree.(map[string]any)[step.(string)]
		}
	}
	return tree.(map[string]any)
}

func fields(err error) []string {
	var out []string
	for _, e := range groundhand.Refusals(err) {
		out = append(out, e.Field)
	}
	return out
}

func TestDecodeNamesTheFieldOfEveryFault(t *testing.T) {
	for name, c := range map[string]struct {
		change func(p map[string]any)
		field  string
	}{
		"another format":           {func(p map[string]any) { p["format"] = "drill-plan-problem/2" }, "format"},
		"no format":                {func(p map[string]any) { delete(p, "format") }, "format"},
		"end before start":         {func(p map[string]any) { p["end"] = "2027-02-28" }, "end"},
		"no such day":              {func(p map[string]any) { p["start"] = "2027-02-29" }, "start"},
		"longer than the validity": {func(p map[string]any) { p["end"] = "2028-03-02" }, "end"},
		"unknown weekday":          {func(p map[string]any) { p["work_days"] = []any{"mon", "lun"} }, "work_days[1]"},
		"negative visit":           {func(p map[string]any) { p["visit_minutes"] = -1 }, "visit_minutes"},
		"holiday as a number":      {func(p map[string]any) { p["holidays"] = []any{20270301} }, "holidays[0]"},
		"double slot":              {func(p map[string]any) { at(p, "slots", 1)["id"] = "S1" }, "slots[1].id"},
		"unknown yard in travel":   {func(p map[string]any) { at(p, "travel_minutes", 0)["to"] = "Y9" }, "travel_minutes[0].to"},
		"negative travel":          {func(p map[string]any) { at(p, "travel_minutes", 0)["minutes"] = -40 }, "travel_minutes[0].minutes"},
		"negative people per run":  {func(p map[string]any) { at(p, "qualifications", 0)["people_per_run"] = -2 }, "qualifications[0].people_per_run"},
		"validity of no months":    {func(p map[string]any) { at(p, "qualifications", 0)["valid_months"] = 0 }, "qualifications[0].valid_months"},
		"unknown qualification":    {func(p map[string]any) { at(p, "crews", 0, "cover", 0)["any_of"] = []any{"bucket-two", "x"} }, "crews[0].cover[0].any_of[1]"},
		"negative cover":           {func(p map[string]any) { at(p, "crews", 0, "cover", 0)["at_least"] = -1 }, "crews[0].cover[0].at_least"},
		"unknown crew":             {func(p map[string]any) { at(p, "workers", 2)["crew"] = "C9" }, "workers[2].crew"},
		"leave ends before it starts": {func(p map[string]any) {
			at(p, "workers", 0)["leave"] = []any{map[string]any{"from": "2027-03-09", "to": "2027-03-08"}}
		}, "workers[0].leave[0].to"},
		"double ticket":                {func(p map[string]any) { doubleTicket(p, "articulated-boom") }, "workers[0].tickets[1]"},
		"second ticket without device": {func(p map[string]any) { doubleTicket(p, "") }, "workers[0].tickets[1]"},
		"unknown worker who leads":     {func(p map[string]any) { at(p, "instructors", 0)["worker"] = "W9" }, "instructors[0].worker"},
		"unknown instructor":           {func(p map[string]any) { at(p, "slots", 3)["instructor"] = "I9" }, "slots[3].instructor"},
		"part of no day":               {func(p map[string]any) { at(p, "slots", 0)["part"] = "night" }, "slots[0].part"},
		"negative seats":               {func(p map[string]any) { at(p, "slots", 0)["seats"] = -1 }, "slots[0].seats"},
		"half a seat":                  {func(p map[string]any) { at(p, "slots", 0)["seats"] = 1.5 }, "slots[0].seats"},
		"seats as a text":              {func(p map[string]any) { at(p, "slots", 0)["seats"] = "6" }, "slots[0].seats"},
		"no seats":                     {func(p map[string]any) { delete(at(p, "slots", 0), "seats") }, "slots[0].seats"},
		"negative cost":                {func(p map[string]any) { at(p, "slots", 1)["cost"] = -1 }, "slots[1].cost"},
		"cost out of range":            {func(p map[string]any) { at(p, "slots", 1)["cost"] = 1e15 }, "slots[1].cost"},
		"qualification offered twice":  {func(p map[string]any) { at(p, "slots", 1)["qualifications"] = []any{"pole-top", "pole-top"} }, "slots[1].qualifications[1]"},
		"pin of an unknown slot": {func(p map[string]any) {
			p["pinned"] = []any{map[string]any{"slot": "S9", "worker": "W1", "renews": []any{}}}
		}, "pinned[0].slot"},
		"unknown field":                {func(p map[string]any) { at(p, "slots", 0)["seat"] = 3 }, "slots[0].seat"},
		"null where a day is needed":   {func(p map[string]any) { at(p, "slots", 0)["date"] = nil }, "slots[0].date"},
		"a list where a worker is due": {func(p map[string]any) { p["workers"].([]any)[1] = []any{} }, "workers[1]"},
		"no list of slots":             {func(p map[string]any) { delete(p, "slots") }, "slots"},
	} {
		t.Run(name, func(t *testing.T) {
			tree := sample(t)
			c.change(tree)
			content, err := json.Marshal(tree)
			require.NoError(t, err)
			_, err = Decode(content)
			assert.Equal(t, []string{c.field}, fields(err))
			assert.ErrorIs(t, err, groundhand.CodeInvalid)
		})
	}
}

func doubleTicket(p map[string]any, device string) {
	w := at(p, "workers", 0)
	second := map[string]any{"qualification": "bucket-two", "valid_through": nil}
	if device != "" {
		second["device"] = device
	}
	w["tickets"] = append(w["tickets"].([]any), second)
}

func TestDecodeNamesAllFaultsAtOnce(t *testing.T) {
	tree := sample(t)
	tree["visit_minutes"] = -3
	at(tree, "workers", 3)["yard"] = "Y7"
	at(tree, "slots", 2)["seats"] = nil
	content, err := json.Marshal(tree)
	require.NoError(t, err)
	_, err = Decode(content)
	assert.ElementsMatch(t, []string{"visit_minutes", "workers[3].yard", "slots[2].seats"}, fields(err))
}

func TestDecodeRefusesWhatIsNotOneJSONObject(t *testing.T) {
	for name, text := range map[string]string{
		"nothing":        "",
		"a list":         "[]",
		"cut off":        `{"format":`,
		"two values":     `{"format":"drill-plan-problem/1"} {}`,
		"a name twice":   `{"format":"drill-plan-problem/1","format":"drill-plan-problem/1"}`,
		"endless depth":  strings.Repeat("[", 100_000),
		"a bare literal": "null",
	} {
		_, err := Decode([]byte(text))
		assert.NotEmpty(t, groundhand.Refusals(err), name)
	}
}

func TestDecodeFillsInWhatIsLeftOut(t *testing.T) {
	tree := sample(t)
	for _, name := range []string{"work_days", "holidays", "visit_minutes", "pinned", "name"} {
		delete(tree, name)
	}
	delete(at(tree, "slots", 0), "cost")
	delete(at(tree, "qualifications", 0), "aim_days_before")
	at(tree, "workers", 0)["crew"] = nil
	at(tree, "workers", 0, "tickets", 0)["valid_through"] = nil
	content, err := json.Marshal(tree)
	require.NoError(t, err)
	p, err := Decode(content)
	require.NoError(t, err)
	assert.Equal(t, 30, p.VisitMinutes)
	assert.Equal(t, 1, p.Slots[0].Cost)
	assert.Zero(t, p.Qualifications[0].AimDaysBefore)
	assert.Empty(t, p.Workers[0].Crew)
	assert.True(t, p.Workers[0].Tickets[0].ValidThrough.IsZero())
	assert.True(t, p.listsWeekday(groundhand.MustDate("2027-03-05")))
	assert.False(t, p.listsWeekday(groundhand.MustDate("2027-03-06")))
}

func TestProblemGoesThroughJSONUnchanged(t *testing.T) {
	for _, name := range examples {
		p := readExample(t, name)
		content, err := json.Marshal(p)
		require.NoError(t, err)
		again, err := Decode(content)
		require.NoError(t, err, name)
		assert.Equal(t, p, again, name)
	}
}

func TestPlanGoesThroughJSONUnchanged(t *testing.T) {
	p := readExample(t, "e4-reasons")
	plan := suggest(t, p, 200)
	content, err := json.Marshal(plan)
	require.NoError(t, err)
	again, claimed, err := DecodePlan(content)
	require.NoError(t, err)
	assert.True(t, claimed)
	assert.Equal(t, plan.Sessions, again.Sessions)
	assert.Equal(t, plan.Objective, again.Objective)
	_, _, err = DecodePlan([]byte(`{"format":"drill-plan/1","sessions":[{"slot":3,"attend":[{"worker":"W1"}]}]}`))
	assert.Equal(t, []string{"sessions[0].slot", "sessions[0].attend[0].renews"}, fields(err))
}

func FuzzDecode(f *testing.F) {
	content, err := os.ReadFile("testdata/e4-reasons.problem.json")
	require.NoError(f, err)
	f.Add(content)
	f.Add([]byte(`{"format":"drill-plan-problem/1","start":"2027-03-01","end":"2027-03-01"}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Decode(data)
		if err == nil && len(p.Workers) < 50 && len(p.Slots) < 50 {
			assert.NoError(t, p.Validate())
			newGrid(p)
		}
	})
}
