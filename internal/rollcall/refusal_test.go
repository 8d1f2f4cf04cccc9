package rollcall_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
)

func TestACoverQuestionIsRefusedByItsFields(t *testing.T) {
	w := goodLine(t)
	for name, c := range map[string]struct {
		change func(*rollcall.CoverQuestion)
		want   []string
	}{
		"an unknown crew hides no unknown device or kit": {func(q *rollcall.CoverQuestion) { q.CrewID, q.DeviceID, q.KitID = "V9", "A99", "K99" }, []string{"crew", "device", "kit"}},
		"a duty of a stranger": {func(q *rollcall.CoverQuestion) {
			q.Duties = groundhand.Duties{{Duty: "TRAFFIC", WorkerID: "ann"}, {Duty: "SAFETY_OBSERVER", WorkerID: "gideon"}}
		}, []string{"duties[1].workerId"}},
		"a thousand buckets": {func(q *rollcall.CoverQuestion) { q.Buckets, q.Aloft = make([]int, 1000), 0 }, []string{"buckets"}},
		"a search too wide": {func(q *rollcall.CoverQuestion) {
			q.Changes = &rollcall.Changes{Most: 4, Show: -1, Within: 601, Later: make([]groundhand.Instant, 6)}
		}, []string{"changes.most", "changes.show", "changes.within", "changes.later"}},
		"a later start that is earlier, one that is the same, and one that is far away": {func(q *rollcall.CoverQuestion) {
			q.Changes = &rollcall.Changes{Later: []groundhand.Instant{w.at("2025-06-01 07:00"), w.at("2025-06-12 08:00"), q.FromAt, w.at("2095-01-01 07:00")}}
		}, []string{"changes.later[0]", "changes.later[2]", "changes.later[3]"}},
	} {
		t.Run(name, func(t *testing.T) {
			q := w.shift("V1", "2025-06-12 07:00", "2025-06-12 15:30")
			c.change(&q)
			_, err := w.roll.Cover(w.ctx, q)
			var fields []string
			for _, e := range groundhand.Refusals(err) {
				fields = append(fields, e.Field)
			}
			assert.ElementsMatch(t, c.want, fields)
		})
	}
}

// A crew whose own booking cannot be judged could not be shown to be unharmed, so it lends nobody; the search goes on without it.
func TestACrewWithABrokenBookingLendsNobody(t *testing.T) {
	w, q := twoAloft(t)
	add(w, groundhand.Withdrawal{ID: w.id(), Recorded: w.told("2025-06-10"), WithdrawsID: groundhand.EntryID("J-V2")})
	add(w, groundhand.Job{ID: "J-V2b", Recorded: w.told("2025-06-09"), CrewID: "V2", YardID: "Y1", StartAt: w.at("2025-06-12 07:00"), EndAt: w.at("2025-06-12 15:30"),
		DeviceID: "A06", Aloft: 2, Methods: groundhand.List{"PAIR_KIT"}, SiteKind: groundhand.FieldSite, Duties: groundhand.Duties{{Duty: "TRAFFIC", WorkerID: "gideon"}}})
	a := w.cover(q)
	assert.Contains(t, told(a.Answer.Fixes), "4 PERSON leilani[]")
	refused := refusals(a)
	for _, who := range []string{"keahi", "lewis", "priya", "tomasz"} {
		require.Equal(t, readiness.PlacedElsewhere, refused[who], who)
	}
}

// What became known of a device later is known now, and what was entered with it stays where nothing else was said.
func TestADeviceAsKnownNow(t *testing.T) {
	w := newTown(t)
	d := groundhand.Device{ID: "H1", AnchorCM: 900, EmergencyLow: groundhand.Unknown}
	classed := []groundhand.Classing{
		{Recorded: w.moment("2025-06-12 07:00"), FamilyID: "F3"}, // not yet
		{Recorded: w.moment("2025-06-11 14:00"), FamilyID: "F1"},
		{Recorded: w.moment("2025-06-11 09:00"), FamilyID: "F3", EmergencyLow: groundhand.Yes},
	}
	known := w.roll.KnownNow(d, classed)
	assert.Equal(t, groundhand.Device{ID: "H1", FamilyID: "F1", AnchorCM: 900, EmergencyLow: groundhand.Yes}, known)
}
