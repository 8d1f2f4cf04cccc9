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
		{"placeHold", "crewId reason", form{"on": "2025-06-11", "crewId": "V1", "reason": "a near miss is being looked into"}, `{"crewId":"V1","reason":"a near miss is being looked into"}`,
			`{ holds { edges { node { id crewId } } } }`, `{"id":"ID","crewId":"V1"}`},
		{"releaseHold", "holdId reason", form{"holdId": "ID of placeHold", "reason": "looked into"}, `{"holdId":"ID of placeHold","reason":"looked into"}`,
			`{ holds { edges { node { crewId } } } }`, `"edges":[]`},
		{"setRetention", "class after months basis", form{"class": "TRAINING", "after": "EMPLOYMENT_ENDED", "months": 36, "basis": "our policy", "from": "2025-06-11"},
			`{"class":"TRAINING","after":"EMPLOYMENT_ENDED","months":36,"basis":"our policy"}`, `{ retained(on: "2025-06-11", first: 1) { edges { node { mayErase why } } } }`, `"mayErase":false`},
		{"mergeWorkers", "keptId goneId reason", form{"keptId": id["Linh"], "goneId": "ID of addWorker", "reason": "one person under two numbers"},
			fmt.Sprintf(`{"keptId":%q,"goneId":"ID of addWorker","reason":"one person under two numbers"}`, id["Linh"]), "", ""},
	}
}

func TestWhoIsWhoIsForHRToSay(t *testing.T) {
	s := newScene(t)
	before := s.rows()
	r0 := s.change(s.token[groundhand.HR], "eraseNames", s.key(), form{"workerId": s.id["Linh"], "reason": "asked for"}, "mentions erasure { code }")
	assert.Equal(t, []string{"CONFLICT"}, r0.codes(), "who is employed is not erased: "+r0.body)
	pairs := s.ask(s.token[groundhand.HR], `{ duplicates { a { id } b { id } why } }`, nil)
	assert.Empty(t, pairs.Errors, pairs.body)
	for field, f := range map[string]form{
		"setRetention": {"class": "TRAINING", "after": "EMPLOYMENT_ENDED", "months": 36, "basis": "our policy", "from": "2025-06-11"},
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

// Somebody who left in 2018 is erased by code once the time of keeping is over; a hold on the person stops it.
func TestNamesAreErasedWhenNothingHoldsThem(t *testing.T) {
	s := newScene(t)
	who := s.make("addWorker", with(workerForm("Ada", "3001"), form{"fromOn": "2010-01-01"}))
	s.endEmploymentOn(t, who, "2018-12-31")
	s.make("setRetention", form{"class": "TRAINING", "after": "EMPLOYMENT_ENDED", "months": 60, "basis": "our policy", "from": "2020-01-01"})
	hold := s.make("placeHold", form{"on": "2025-06-11", "workerId": who, "reason": "a claim is open"})
	ask := form{"workerId": who, "reason": "asked for"}
	assert.Equal(t, []string{"CONFLICT workerId"}, s.change(s.token[groundhand.HR], "eraseNames", s.key(), ask, "mentions").problems())
	assert.Equal(t, []string{"FORBIDDEN"}, s.change(s.token[groundhand.Auditor], "releaseHold", s.key(), form{"holdId": hold, "reason": "x"}, "id").codes())
	s.make("releaseHold", form{"holdId": hold, "reason": "settled"})
	r := s.change(s.token[groundhand.HR], "eraseNames", s.key(), ask, "mentions erasure { workerId code reason }")
	require.Empty(t, r.Errors, r.body)
	assert.Contains(t, r.body, `"mentions":[]`)
	name := s.ask(s.token[groundhand.HR], fmt.Sprintf(`{ worker(id: %q) { name } }`, who), nil)
	assert.NotContains(t, name.body, "Ada")
}
