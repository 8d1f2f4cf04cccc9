package rollcall_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

// On Tuesday 15 July 2025 at Stenholt: A05 with its kit is in two booked sessions at Varrow, T18 with its kit is free, and Gideon leads the
// two booked sessions, so only a second assessor could lead one there.
func TestWhatCanBeDrilledAtAYardOnADay(t *testing.T) {
	w := planTown(t)
	at := func(yard groundhand.YardID, on string) []rollcall.DrillThere {
		out, err := w.roll.DrillsAt(w.ctx, yard, day(on))
		require.NoError(t, err)
		return out
	}
	assert.Empty(t, at("Y1", "2025-07-15"))
	varrow := at("Y2", "2025-07-15")
	require.Len(t, varrow, 2, "the booked sessions")
	assert.Equal(t, rollcall.DrillThere{SessionID: "S-AM", Part: "am", Methods: pairOnly, FamilyID: "F1", DeviceID: "A05", AssessorID: "gideon",
		// ann is good through 5 August, within the 60 days that the rules look ahead; bob is suspended, so as good as lapsed; cal was never current
		People: []rollcall.DrillFor{{WorkerID: "bob", Method: groundhand.PairKit}, {WorkerID: "cal", Method: groundhand.PairKit},
			{WorkerID: "ann", Method: groundhand.PairKit, LastGoodDay: day("2025-08-05")}}}, varrow[0])

	w.worker("sanna", groundhand.Qualified)
	add(w, groundhand.Authority{ID: w.id(), Recorded: w.told("2024-01-02"), AssessorID: "sanna", Methods: groundhand.List{"PAIR_KIT"}, Families: groundhand.List{"F3"}, FromOn: day("2024-01-02")})
	stenholt := at("Y1", "2025-07-15")
	require.Len(t, stenholt, 2, "morning and afternoon on T18")
	people := []rollcall.DrillFor{{WorkerID: "chidi", Method: groundhand.PairKit}, {WorkerID: "owen", Method: groundhand.PairKit}, {WorkerID: "viggo", Method: groundhand.PairKit}}
	assert.Equal(t, rollcall.DrillThere{Part: "am", Methods: pairOnly, FamilyID: "F3", DeviceID: "T18", KitID: "K-T18", AssessorID: "sanna", People: people}, stenholt[0])
	w.away("owen", groundhand.Standby, "2025-07-15 00:00", "2025-07-16 00:00")
	assert.Equal(t, []rollcall.DrillFor{people[0], people[2]}, at("Y1", "2025-07-15")[0].People)
	add(w, groundhand.Defect{ID: w.id(), Recorded: w.told("2025-07-14"), KitID: "K-T18", Cause: groundhand.DefectFound})
	assert.Empty(t, at("Y1", "2025-07-15"))

	wednesday := at("Y1", "2025-07-09")
	var led []string
	for _, d := range wednesday {
		led = append(led, d.Part+" "+string(d.DeviceID)+" "+string(d.AssessorID))
	}
	assert.Equal(t, []string{"am A05 gideon", "am T18 sanna", "am T18 gideon", "pm A05 gideon", "pm T18 sanna", "pm T18 gideon"}, led, "Sanna has no authority on F1")
	for _, d := range wednesday {
		for _, p := range d.People {
			assert.NotEqual(t, groundhand.WorkerID("ann"), p.WorkerID, "away that day")
		}
	}
	assert.Empty(t, at("Y1", "2025-07-12"), "a Saturday")
	_, err := w.roll.DrillsAt(w.ctx, "NO-YARD", day("2025-07-15"))
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
}
