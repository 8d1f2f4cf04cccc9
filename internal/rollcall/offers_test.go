package rollcall_test

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
)

// tuesdays asks for slots at Stenholt on the Tuesdays of four weeks: 17 and 24 June, 1 and 8 July 2025.
func tuesdays() rollcall.RotationAsk {
	return rollcall.RotationAsk{Start: day("2025-06-16"), End: day("2025-07-13"), Methods: pairOnly, Offer: &rollcall.Offering{Weekdays: []string{"tue"}}}
}

func slotIDs(p rotation.Problem) []string {
	var out []string
	for _, s := range p.Slots {
		out = append(out, s.ID)
	}
	return out
}

func (w *town) offered(ask rollcall.RotationAsk) []string {
	w.t.Helper()
	return slotIDs(w.posed(ask).Problem)
}

// There are two devices with a kit each at Stenholt, none at Varrow, and one assessor: two slots on each Tuesday, of which the assessor can
// lead one.
func TestSlotsAreMadeOfWhatIsThere(t *testing.T) {
	w := planTown(t)
	p := w.posed(tuesdays()).Problem
	require.Equal(t, []string{
		"Y1/2025-06-17/am/gideon/A05", "Y1/2025-06-17/am/gideon/T18", "Y1/2025-06-24/am/gideon/A05", "Y1/2025-06-24/am/gideon/T18",
		"Y1/2025-07-01/am/gideon/A05", "Y1/2025-07-01/am/gideon/T18", "Y1/2025-07-08/am/gideon/A05", "Y1/2025-07-08/am/gideon/T18",
	}, slotIDs(p))
	assert.Equal(t, rotation.Slot{ID: "Y1/2025-06-17/am/gideon/A05", Name: "Stenholt, Tue 17 Jun 2025, am, A05", Date: day("2025-06-17"), Part: "am", Yard: "Y1", Device: "F1", Instructor: "gideon", Truck: "A05",
		Qualifications: []string{"PAIR_KIT"}, Seats: 6, MaxRuns: 6, Minutes: 240, Cost: 1}, p.Slots[0])
	plan, err := rotation.Suggest(w.ctx, p, rotation.Options{Seed: 1, Rounds: 300})
	require.NoError(t, err)
	assert.Empty(t, rotation.Check(p, plan))
	days := map[groundhand.Date]int{}
	for _, s := range plan.Sessions {
		days[p.Slots[slices.Index(slotIDs(p), s.Slot)].Date]++
	}
	for on, n := range days {
		assert.Equal(t, 1, n, "%s: one assessor leads one session", on)
	}
}

func TestWhatIsAwayIsNotOffered(t *testing.T) {
	for name, c := range map[string]struct {
		happens func(*town)
		want    []string
	}{
		"the kit of one is out of service, and there is no spare": {func(w *town) {
			add(w, groundhand.Defect{ID: w.id(), Recorded: w.told("2025-06-20"), KitID: "K-T18", Cause: groundhand.DefectFound})
		}, []string{"Y1/2025-06-17/am/gideon/A05", "Y1/2025-06-17/am/gideon/T18", "Y1/2025-06-24/am/gideon/A05", "Y1/2025-07-01/am/gideon/A05", "Y1/2025-07-08/am/gideon/A05"}},
		"the kit is past its last day of use": {func(w *town) {
			add(w, groundhand.Kit{ID: "K-OLD", Recorded: w.told("2024-01-01"), Parts: 4, RopeCM: 6000, RatedLoadKG: 200, InServiceOn: day("2024-01-01"), RetiresOn: day("2025-06-24")})
			add(w, groundhand.KitPlacing{ID: w.id(), Recorded: w.told("2024-01-01"), KitID: "K-OLD", YardID: "Y1"})
			add(w, groundhand.Defect{ID: w.id(), Recorded: w.told("2025-06-12"), KitID: "K-T18", Cause: groundhand.DefectFound})
		}, []string{"Y1/2025-06-17/am/gideon/A05", "Y1/2025-06-17/am/gideon/T18", "Y1/2025-06-24/am/gideon/A05", "Y1/2025-06-24/am/gideon/T18",
			"Y1/2025-07-01/am/gideon/A05", "Y1/2025-07-08/am/gideon/A05"}},
		"one device is in the workshop and the other on a job": {func(w *town) {
			add(w, groundhand.Defect{ID: w.id(), Recorded: w.told("2025-06-20"), DeviceID: "T18", Cause: groundhand.Workshop})
			add(w, groundhand.Job{ID: "J", Recorded: w.told("2025-06-09"), CrewID: "V1", DeviceID: "A05", StartAt: w.at("2025-06-24 11:00"), EndAt: w.at("2025-06-24 15:00"),
				Aloft: 1, SiteKind: groundhand.FieldSite})
		}, []string{"Y1/2025-06-17/am/gideon/A05", "Y1/2025-06-17/am/gideon/T18", "Y1/2025-07-01/am/gideon/A05", "Y1/2025-07-08/am/gideon/A05"}},
		"a whole day is asked for, and one device is on a job in the afternoon": {func(w *town) {
			add(w, groundhand.Job{ID: "J", Recorded: w.told("2025-06-09"), CrewID: "V1", DeviceID: "A05", StartAt: w.at("2025-06-24 15:00"), EndAt: w.at("2025-06-24 17:00"),
				Aloft: 1, SiteKind: groundhand.FieldSite})
		}, []string{"Y1/2025-06-17/day/gideon/A05", "Y1/2025-06-17/day/gideon/T18", "Y1/2025-06-24/day/gideon/T18", "Y1/2025-07-01/day/gideon/A05",
			"Y1/2025-07-01/day/gideon/T18", "Y1/2025-07-08/day/gideon/A05", "Y1/2025-07-08/day/gideon/T18"}},
		"the assessor is away for half a day": {func(w *town) {
			w.away("gideon", groundhand.Course, "2025-06-24 12:00", "2025-06-24 17:00")
		}, []string{"Y1/2025-06-17/am/gideon/A05", "Y1/2025-06-17/am/gideon/T18", "Y1/2025-07-01/am/gideon/A05", "Y1/2025-07-01/am/gideon/T18",
			"Y1/2025-07-08/am/gideon/A05", "Y1/2025-07-08/am/gideon/T18"}},
		"the assessor leads a booked session elsewhere": {func(w *town) {
			w.session("S", "2025-06-24 13:00", "2025-06-24 15:00", "gideon", "PAIR_KIT")
		}, []string{"S", "Y1/2025-06-17/am/gideon/A05", "Y1/2025-06-17/am/gideon/T18", "Y1/2025-07-01/am/gideon/A05", "Y1/2025-07-01/am/gideon/T18",
			"Y1/2025-07-08/am/gideon/A05", "Y1/2025-07-08/am/gideon/T18"}},
	} {
		t.Run(name, func(t *testing.T) {
			w := planTown(t)
			c.happens(w)
			ask := tuesdays()
			if strings.HasPrefix(name, "a whole day") {
				ask.Offer.Parts = []string{"day"}
			}
			assert.Equal(t, c.want, w.offered(ask))
		})
	}
}

func TestOneMoreOfAnyMakesMoreSlots(t *testing.T) {
	w := planTown(t)
	add(w, groundhand.Defect{ID: w.id(), Recorded: w.told("2025-06-12"), KitID: "K-T18", Cause: groundhand.DefectFound})
	ask := tuesdays()
	before := w.offered(ask)
	require.Len(t, before, 4, "one kit")
	ask.Change = &rollcall.RotationChange{AddKit: &rollcall.KitAdded{YardID: "Y1"}}
	assert.Len(t, w.offered(ask), 8, "a kit for the other device")
	assert.Subset(t, w.offered(ask), before)
	ask.Change = &rollcall.RotationChange{AddKit: &rollcall.KitAdded{YardID: "Y2"}}
	assert.Equal(t, before, w.offered(ask), "no device at Varrow to put it on")
	ask.Change = &rollcall.RotationChange{AddAssessor: &rollcall.AssessorAdded{YardID: "Y1", Methods: pairOnly}}
	assert.Len(t, w.offered(ask), 8, "each Tuesday either of two can lead on the one device")
	assert.Subset(t, w.offered(ask), before)
	ask.Change.AddAssessor.Methods = []groundhand.Method{groundhand.LoneKit}
	assert.Equal(t, before, w.offered(ask), "no authority for what is planned")
	ask.Change = nil
	w.device("A06", "F1")
	assert.Len(t, w.offered(ask), 8, "a device comes with its kit")
}

// A single spare kit serves the devices without one in turn.
func TestASpareKitGoesRound(t *testing.T) {
	w := planTown(t)
	for _, kit := range []groundhand.KitID{"K-A05", "K-T18"} {
		add(w, groundhand.Defect{ID: w.id(), Recorded: w.told("2025-06-12"), KitID: kit, Cause: groundhand.DefectFound})
	}
	ask := tuesdays()
	require.Empty(t, w.offered(ask))
	ask.Change = &rollcall.RotationChange{AddKit: &rollcall.KitAdded{YardID: "Y1"}}
	assert.Equal(t, []string{"Y1/2025-06-17/am/gideon/A05", "Y1/2025-06-24/am/gideon/T18", "Y1/2025-07-01/am/gideon/A05", "Y1/2025-07-08/am/gideon/T18"}, w.offered(ask))
}

func TestOffersAreBoundedAndSpread(t *testing.T) {
	w := planTown(t)
	ask := rollcall.RotationAsk{Start: day("2025-06-16"), End: day("2026-06-14"), Methods: pairOnly, Offer: &rollcall.Offering{Parts: []string{"am", "pm"}}, ForbidSlots: []string{"S-AM", "S-PM"}}
	all := w.posed(ask).Problem.Slots
	require.True(t, len(all) == 400, "2 devices on 2 halves of 260 work days would be 1040: %d", len(all))
	assert.True(t, slices.EqualFunc(all, w.posed(ask).Problem.Slots, func(a, b rotation.Slot) bool { return a.ID == b.ID }), "the same each time")
	months := map[int]int{}
	for _, s := range all {
		months[s.Date.Month()]++
	}
	for month, n := range months {
		if month != day("2025-06-16").Month() && month != day("2026-06-14").Month() {
			assert.InDelta(t, 400.0/12, n, 8, "month %d", month)
		}
	}
	ask.Offer.Most = 8
	families := map[string]int{}
	quarters := map[int]int{}
	for _, s := range w.posed(ask).Problem.Slots {
		families[s.Device]++
		quarters[int(s.Date-ask.Start)/91]++
	}
	assert.Equal(t, map[string]int{"F1": 4, "F3": 4}, families)
	assert.Equal(t, map[int]int{0: 4, 2: 4}, quarters, "four on the first day, four on one in the middle")
	ask.Pins = []rotation.Pin{{Slot: "Y1/2025-06-25/pm/gideon/T18", Worker: "owen", Renews: []string{"PAIR_KIT"}}}
	promised := w.offered(ask)
	assert.Len(t, promised, 8)
	assert.Contains(t, promised, ask.Pins[0].Slot, "what is promised is offered first")
	ask.Pins = nil
	ask.Offer = &rollcall.Offering{Weekdays: []string{"mon"}, EveryWeeks: 13}
	var days []string
	for _, s := range w.posed(ask).Problem.Slots {
		days = append(days, s.Date.String())
	}
	assert.Equal(t, []string{"2025-06-16", "2025-09-15", "2025-12-15", "2026-03-16"}, slices.Compact(days))
}

// Laws over made-up towns: a forbidden slot never appears, one more kit or assessor never takes a slot away, a closed yard has none.
func TestLawsOfOffers(t *testing.T) {
	w := planTown(t)
	w.device("A06", "F1")
	rng := rand.New(rand.NewPCG(7, 11))
	for i := range 12 {
		kit := []groundhand.KitID{"K-A05", "K-T18", "K-A06"}[rng.IntN(3)]
		on := day("2025-06-12").AddDays(rng.IntN(40))
		add(w, groundhand.Defect{ID: w.id(), Recorded: w.told(on.String()), KitID: kit, Cause: groundhand.DefectFound})
		if rng.IntN(2) == 0 {
			add(w, groundhand.Inspection{ID: w.id(), Recorded: w.told(on.AddDays(1 + rng.IntN(20)).String()), KitID: kit, Kind: groundhand.MonthlyInside, Result: groundhand.Returned})
		}
		ask := rollcall.RotationAsk{Start: day("2025-06-16"), End: day("2025-08-17"), Methods: pairOnly,
			Offer: &rollcall.Offering{Most: []int{0, 5, 30}[i%3], Parts: []string{"am", "pm"}}}
		before := w.offered(ask)
		assert.LessOrEqual(t, len(before), 400)
		for _, change := range []*rollcall.RotationChange{{AddKit: &rollcall.KitAdded{YardID: "Y1"}}, {AddAssessor: &rollcall.AssessorAdded{YardID: "Y1"}}} {
			ask.Change = change
			assert.Subset(t, w.offered(ask), before)
		}
		ask.Change = nil
		if len(before) > 0 {
			ask.ForbidSlots = []string{before[rng.IntN(len(before))]}
			assert.NotContains(t, w.offered(ask), ask.ForbidSlots[0])
		}
		from := day("2025-06-16").AddDays(rng.IntN(30))
		ask.Change = &rollcall.RotationChange{CloseYard: &rollcall.YardClosed{YardID: "Y1", From: from, To: from + 13}}
		for _, s := range w.posed(ask).Problem.Slots {
			assert.False(t, s.Yard == "Y1" && from <= s.Date && s.Date <= from+13, s.ID)
		}
	}
}
