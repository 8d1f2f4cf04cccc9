package graph_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// identityTrips say who is who; they come last, since a merge changes whom a question is about.
func identityTrips(id map[string]string) []trip {
	return []trip{
		{"numberWorker", "workerId number fromOn toOn", form{"workerId": id["Linh"], "number": "H-77", "fromOn": "2023-01-01", "toOn": "2023-12-31"},
			fmt.Sprintf(`{"workerId":%q,"number":"H-77","fromOn":"2023-01-01","toOn":"2023-12-31"}`, id["Linh"]),
			fmt.Sprintf(`{ workerRecord(worker: %q) { numbers { number } } }`, id["Linh"]), `{"number":"H-77"}`},
		{"addAlias", "workerId name fromOn", form{"workerId": id["Linh"], "name": "Linh Marrowby", "fromOn": "2023-01-01"},
			fmt.Sprintf(`{"workerId":%q,"name":"Linh Marrowby","fromOn":"2023-01-01"}`, id["Linh"]),
			fmt.Sprintf(`{ workerRecord(worker: %q) { aliases { name } } }`, id["Linh"]), `{"name":"Linh Marrowby"}`},
		{"saveMapping", "title headings columns", form{"title": "the yard's sheet", "headings": []string{"No", "Who", "Firm", "What", "Where"}, "columns": []string{"number", "name", "employer", "grade", "yard"}},
			`{"title":"the yard's sheet","headings":["No","Who","Firm","What","Where"],"columns":["number","name","employer","grade","yard"]}`,
			`{ columnMappings { edges { node { id title } } } }`, `{"id":"ID","title":"the yard's sheet"}`},
		{"mergeWorkers", "keptId goneId reason", form{"keptId": id["Linh"], "goneId": "ID of addWorker", "reason": "one person under two numbers"},
			fmt.Sprintf(`{"keptId":%q,"goneId":"ID of addWorker","reason":"one person under two numbers"}`, id["Linh"]), "", ""},
	}
}

func TestWhoIsWhoIsForHRToSay(t *testing.T) {
	s := newScene(t)
	before := s.rows()
	for field, f := range map[string]form{
		"numberWorker": {"workerId": s.id["Linh"], "number": "9", "fromOn": "2023-01-01"},
		"addAlias":     {"workerId": s.id["Linh"], "name": "L", "fromOn": "2023-01-01"},
		"mergeWorkers": {"keptId": s.id["Linh"], "goneId": s.id["Dov"], "reason": "alike"},
	} {
		assert.Equal(t, []string{"FORBIDDEN"}, s.change(s.token[groundhand.Coordinator], field, s.key(), f, "id").codes(), field)
	}
	r := s.change(s.token[groundhand.HR], "mergeWorkers", s.key(), form{"keptId": s.id["Linh"], "goneId": s.id["Linh"], "reason": "alike"}, "id")
	assert.Equal(t, []string{"INVALID"}, r.codes(), r.body)
	assert.Equal(t, before, s.rows())
	require.Equal(t, []string{"FORBIDDEN"}, s.change(s.token[groundhand.Dispatcher], "saveMapping", s.key(),
		form{"title": "x", "headings": []string{"a"}, "columns": []string{""}}, "id").codes())
}
