package rollcall_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

func TestPeopleAreFoundByNumberAndByName(t *testing.T) {
	w := newTown(t)
	for _, who := range []groundhand.WorkerID{"ana", "james", "jamie", "uche"} {
		w.worker(who, groundhand.Qualified)
	}
	w.name("ana", "Ana-Lúcia Ferreira-Moor", "2024-01-01")
	w.name("ana", "Ana-Lúcia Okonjo-Moor", "2025-03-01")
	w.name("james", "James Tallis", "2024-01-01")
	w.name("jamie", "James Tallis", "2024-01-01")
	w.name("uche", "Uche Ravenhall", "2024-01-01")
	add(w, groundhand.Alias{ID: w.id(), Recorded: w.told("2024-01-01"), WorkerID: "jamie", Name: "Jamie Tallis", FromOn: day("2024-01-01")})
	add(w, groundhand.WorkerNumber{ID: w.id(), Recorded: w.told("2025-01-01"), WorkerID: "uche", Number: "C-77", FromOn: day("2025-01-01"), ToOn: day("2025-12-31")})
	got, err := w.roll.WhoIs(w.ctx, []string{"uche", " C-77 ", "uche  RAVENHALL", "Jamie Tallis", "ana-lúcia okonjo-moor", "james"}, day("2025-06-11"))
	require.NoError(t, err)
	assert.Equal(t, []groundhand.WorkerID{"uche", "uche", "uche", "jamie", "ana", "james"}, got, "a number stands before a name")
	_, err = w.roll.WhoIs(w.ctx, []string{"James Tallis", "Ana-Lúcia Ferreira-Moor", "uche", "", "C-77"}, day("2026-06-11"))
	fields := []string{}
	for _, e := range groundhand.Refusals(err) {
		fields = append(fields, string(e.Code)+" "+e.Field)
	}
	assert.Equal(t, []string{"INVALID people[0]", "NOT_FOUND people[1]", "NOT_FOUND people[3]", "NOT_FOUND people[4]"}, fields)
	before, err := w.roll.WhoIs(w.ctx, []string{"Ana-Lúcia Ferreira-Moor"}, day("2025-02-28"))
	require.NoError(t, err)
	assert.Equal(t, []groundhand.WorkerID{"ana"}, before, "under the name of that day")
	add(w, groundhand.Merge{ID: w.id(), Recorded: w.told("2025-06-01"), KeptID: "james", GoneID: "jamie", Reason: "entered twice"})
	got, err = w.roll.WhoIs(w.ctx, []string{"James Tallis", "jamie"}, day("2025-06-11"))
	require.NoError(t, err)
	assert.Equal(t, []groundhand.WorkerID{"james", "james"}, got, "merged, they are one")
}
