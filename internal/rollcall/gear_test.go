package rollcall_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
)

// moment tells at a moment, recorded five minutes later.
func (w *town) moment(at string) groundhand.Recorded {
	told := w.told(at[:10])
	told.HappenedOn, told.HappenedAt, told.RecordedAt = 0, w.at(at), w.at(at)+5*60_000
	return told
}

// current makes people current as leads of the pair method, on a family.
func (w *town) current(family groundhand.FamilyID, names ...groundhand.WorkerID) {
	for _, n := range names {
		w.run(n, "2025-02-03", groundhand.PairKit, groundhand.Lead, family)
	}
}

func goodLine(t *testing.T) *town {
	w := lineCrew(t, "ann", "bob", "cal")
	w.current("F1", "ann", "bob", "cal")
	return w
}

// line is one line about device or kit.
func line(t *testing.T, a rollcall.CoverAnswer, of string, name rollcall.GearLineName) rollcall.GearLine {
	t.Helper()
	for _, l := range a.Gear {
		if l.Of == of && l.Line == name {
			return l
		}
	}
	require.Failf(t, "no such line", "%s %s in %v", of, name, a.Gear)
	return rollcall.GearLine{}
}

func codes(a rollcall.CoverAnswer) map[readiness.Code]readiness.Severity {
	out := map[readiness.Code]readiness.Severity{}
	for _, f := range a.Answer.Findings {
		out[f.Code] = f.Severity
	}
	return out
}

func TestTheDayOfDepartureAsksForItsLooks(t *testing.T) {
	w := goodLine(t)
	q := w.shift("V1", "2025-06-11 07:00", "2025-06-11 15:30")
	q.Looks = rollcall.LooksByDay
	a := w.cover(q)
	assert.Equal(t, readiness.CannotTell, a.Answer.Verdict, "nobody looked yet")
	assert.Equal(t, []string{"device.lower_controls_checked", "kit.on_device", "kit.suits_all"}, deciding(a))
	assert.Empty(t, a.Looks)

	q.FromAt, q.ToAt = w.at("2025-06-12 07:00"), w.at("2025-06-12 15:30")
	a = w.cover(q)
	assert.Equal(t, readiness.Ready, a.Answer.Verdict, "tomorrow's looks can be made tomorrow")
	assert.Equal(t, []rollcall.Look{rollcall.LookControls, rollcall.LookKit, rollcall.LookSuits}, a.Looks)
	q.Looks = rollcall.LooksRecorded
	assert.Equal(t, readiness.CannotTell, w.cover(q).Answer.Verdict)
}

func TestLooksBriefingAndTheForemansWord(t *testing.T) {
	w := goodLine(t)
	add(w, groundhand.Job{ID: "J-1", Recorded: w.told("2025-06-09"), CrewID: "V1", YardID: "Y1", StartAt: w.at("2025-06-11 07:00"), EndAt: w.at("2025-06-11 15:30"),
		DeviceID: "A05", Aloft: 1, Methods: groundhand.List{"PAIR_KIT"}, Near50V: groundhand.Yes, SiteKind: groundhand.FieldSite, CallPlan: groundhand.Yes})
	ask := func(wish rollcall.Wish) rollcall.CoverAnswer {
		a, err := w.roll.JobCover(w.ctx, "J-1", wish)
		require.NoError(t, err)
		return a
	}
	said := rollcall.Wish{ControlsChecked: groundhand.Yes, KitOnDevice: groundhand.Yes, KitSuits: groundhand.Yes}
	assert.Equal(t, readiness.Ready, ask(said).Answer.Verdict, "the foreman says so on the spot")
	said.KitSuits = groundhand.No
	assert.Equal(t, readiness.NotReady, ask(said).Answer.Verdict)
	assert.Contains(t, codes(ask(said)), readiness.Code("KIT_DOES_NOT_SUIT"))

	add(w, groundhand.Inspection{ID: "CHECK", Recorded: w.moment("2025-06-11 06:20"), DeviceID: "A05", Kind: groundhand.DailyLowerControls, Result: groundhand.InService})
	add(w, groundhand.Briefing{ID: "B1", Recorded: w.moment("2025-06-11 06:40"), JobID: "J-1", KitOnDevice: groundhand.Yes, KitSuits: groundhand.Unknown})
	assert.Equal(t, []string{"kit.suits_all"}, deciding(ask(rollcall.Wish{})))
	add(w, groundhand.Briefing{ID: "B2", Recorded: w.moment("2025-06-11 06:45"), JobID: "J-1", KitOnDevice: groundhand.Yes, KitSuits: groundhand.Yes})
	a := ask(rollcall.Wish{})
	assert.Equal(t, readiness.Ready, a.Answer.Verdict)
	rests, err := a.RestsOn()
	require.NoError(t, err)
	assert.Subset(t, rests, []string{"B2"})
	assert.NotContains(t, rests, "B1", "answered again since")
	assert.Equal(t, readiness.Yes, line(t, a, "DEVICE", rollcall.LineControls).Holds)

	night := w.shift("V1", "2025-06-12 00:30", "2025-06-12 04:00")
	night.Looks = rollcall.LooksRecorded
	assert.Contains(t, deciding(w.cover(night)), "device.lower_controls_checked", "yesterday's check stood for yesterday's departure")
}

// P14: a worn strap on Wednesday strikes the kit from the truck that leaves on Thursday.
func TestAKitIsOutFromTheMomentEntered(t *testing.T) {
	w := goodLine(t)
	before, after := w.shift("V1", "2025-06-10 07:00", "2025-06-10 14:20"), w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30")
	add(w, groundhand.Defect{ID: "WORN", Recorded: w.moment("2025-06-10 14:20"), KitID: "K-A05", Cause: groundhand.DefectFound, Remarks: "strap worn"})
	assert.Equal(t, readiness.Ready, w.cover(before).Answer.Verdict)
	a := w.cover(after)
	assert.Equal(t, readiness.NotReady, a.Answer.Verdict)
	assert.Equal(t, "2025-06-10T14:20:00+01:00", localTime(t, a.Answer.HoldsUntil.Verdict))
	assert.Contains(t, codes(a), readiness.Code("KIT_OUT_OF_SERVICE"))

	add(w, groundhand.Inspection{ID: w.id(), Recorded: w.moment("2025-06-11 09:00"), KitID: "K-A05", Kind: groundhand.MonthlyInside, Result: groundhand.InService})
	assert.Equal(t, readiness.NotReady, w.cover(w.shift("V1", "2025-06-12 07:00", "2025-06-12 15:30")).Answer.Verdict, "only a return puts it back")
	add(w, groundhand.Inspection{ID: w.id(), Recorded: w.moment("2025-06-11 10:00"), KitID: "K-A05", Kind: groundhand.MonthlyInside, Result: groundhand.Returned})
	assert.Equal(t, readiness.Ready, w.cover(w.shift("V1", "2025-06-12 07:00", "2025-06-12 15:30")).Answer.Verdict)

	add(w, groundhand.Defect{ID: "GONE", Recorded: w.moment("2025-06-11 11:00"), KitID: "K-A05", Cause: groundhand.Retired})
	add(w, groundhand.Inspection{ID: w.id(), Recorded: w.moment("2025-06-11 12:00"), KitID: "K-A05", Kind: groundhand.Yearly, Result: groundhand.Returned})
	assert.Equal(t, readiness.NotReady, w.cover(w.shift("V1", "2025-06-12 07:00", "2025-06-12 15:30")).Answer.Verdict, "what was retired never returns")
}

func TestOverdueIsOutOfService(t *testing.T) {
	w := goodLine(t)
	w.device("A09", "F1")
	// 1 Jan 2024 plus 109 weeks is 2 Feb 2026, good through 9 Feb; the months end with 1 Feb 2026, good through 1 Mar; the year with 31 Dec 2025.
	q := w.shift("V1", "2025-12-31 22:00", "2026-01-02 02:00")
	q.DeviceID = "A09"
	a := w.cover(q)
	assert.Equal(t, day("2026-01-01"), line(t, a, "KIT", rollcall.LineYearly).GoodThrough, "made on 1 Jan 2025, good through the same day a year on")
	assert.Equal(t, "2026-01-02T00:00:00+00:00", localTime(t, a.Answer.HoldsUntil.Verdict))
	assert.Contains(t, codes(a), readiness.Code("KIT_YEARLY_OVERDUE"))
	assert.Contains(t, codes(a), readiness.Code("DEVICE_OUT_OF_SERVICE"), "so is the device's own yearly inspection")

	add(w, groundhand.Device{ID: "N01", Recorded: w.told("2025-01-01"), FamilyID: "F1", YardID: "Y1", AnchorCM: 1000, EmergencyLow: groundhand.Yes})
	q = w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30")
	q.DeviceID = "N01"
	a = w.cover(q)
	assert.Equal(t, readiness.NotReady, a.Answer.Verdict)
	assert.Contains(t, codes(a), readiness.Code("DEVICE_OUT_OF_SERVICE"), "nobody ever inspected it")
	assert.Contains(t, codes(a), readiness.Code("NO_KIT"))
}

// P15: 45 m of rope less 4 m of tail in four parts reach 10.25 m.
func TestReachIsArithmetic(t *testing.T) {
	for anchor, want := range map[int]readiness.Verdict{1025: readiness.Ready, 1026: readiness.NotReady} {
		w := goodLine(t)
		add(w, groundhand.Device{ID: "D1", Recorded: w.told("2025-01-01"), FamilyID: "F1", YardID: "Y1", AnchorCM: anchor, EmergencyLow: groundhand.Yes})
		w.equip("D1", "K-D1")
		add(w, groundhand.Kit{ID: "K13", Recorded: w.told("2024-01-01"), Parts: 4, RopeCM: 4500, TailCM: 400, RatedLoadKG: 200, InServiceOn: day("2024-01-01")})
		for _, l := range []groundhand.InspectionKind{groundhand.WeeklyOutside, groundhand.MonthlyInside, groundhand.Yearly} {
			add(w, groundhand.Inspection{ID: w.id(), Recorded: w.told("2025-06-09"), KitID: "K13", Kind: l, Result: groundhand.InService})
		}
		add(w, groundhand.KitPlacing{ID: w.id(), Recorded: w.moment("2025-06-09 18:00"), KitID: "K13", DeviceID: "D1"})
		q := w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30")
		q.DeviceID = "D1"
		a := w.cover(q)
		assert.Equal(t, want, a.Answer.Verdict, anchor)
		assert.Equal(t, "K13", a.Question.Kit.ID, "the kit put there last")
		assert.Equal(t, want == readiness.Ready, line(t, a, "KIT", rollcall.LineReach).Holds == readiness.Yes)
	}
}

// P30: a hired device is known from the day its family is set.
func TestAFamilyIsKnownFromTheMomentItIsSet(t *testing.T) {
	w := goodLine(t)
	w.device("H31", "")
	add(w, groundhand.Classing{ID: "C1", Recorded: w.moment("2025-06-10 09:00"), DeviceID: "H31", FamilyID: "F1"})
	q := w.shift("V1", "2025-06-09 07:00", "2025-06-09 15:30")
	q.DeviceID = "H31"
	assert.Equal(t, readiness.CannotTell, w.cover(q).Answer.Verdict)
	q.FromAt, q.ToAt = w.at("2025-06-10 09:00"), w.at("2025-06-10 15:30")
	assert.Equal(t, readiness.Ready, w.cover(q).Answer.Verdict)
}

// Story 54: a kit that was left on yesterday's truck is not on today's.
func TestAssignedIsNotSeen(t *testing.T) {
	w := goodLine(t)
	add(w, groundhand.KitPlacing{ID: w.id(), Recorded: w.moment("2025-06-10 18:00"), KitID: "K-A05", YardID: "Y1"})
	q := w.shift("V1", "2025-06-11 07:00", "2025-06-11 15:30")
	assert.Contains(t, codes(w.cover(q)), readiness.Code("NO_KIT"))
	q.KitID, q.Looks = "K-A05", rollcall.LooksRecorded
	assert.Contains(t, codes(w.cover(q)), readiness.Code("KIT_NOT_ON_DEVICE"))
	q.KitOnDevice = groundhand.Yes
	q.ControlsChecked, q.KitSuits = groundhand.Yes, groundhand.Yes
	assert.Equal(t, readiness.Ready, w.cover(q).Answer.Verdict)
}

// Story 7: a crew splits at noon, and each part of the day is judged with whoever is in it.
func TestACrewSplitsAtNoon(t *testing.T) {
	w := goodLine(t)
	w.crew("V2", groundhand.LineCrew, groundhand.List{"F1"}, "eve")
	w.firstAid("eve", "2025-01-10")
	add(w, groundhand.Membership{ID: w.id(), Recorded: w.told("2025-06-10"), CrewID: "V2", WorkerID: "cal", Part: groundhand.Member, Reason: groundhand.Loan,
		FromOn: day("2025-06-10"), ToOn: day("2025-06-10"), FromAt: w.at("2025-06-10 12:00")})
	a := w.cover(w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30"))
	assert.Equal(t, readiness.NotReady, a.Answer.Verdict, "two are left, one of them aloft")
	assert.Equal(t, "2025-06-10T12:00:00+01:00", localTime(t, a.Answer.HoldsUntil.Verdict))
	assert.Equal(t, readiness.Ready, w.cover(w.shift("V1", "2025-06-10 07:00", "2025-06-10 12:00")).Answer.Verdict)
	a = w.cover(w.shift("V2", "2025-06-10 07:00", "2025-06-10 15:30"))
	require.Len(t, a.Question.People, 2)
	assert.Equal(t, []readiness.Absence{{Interval: readiness.Interval{From: readiness.Edge{At: w.at("2025-06-10 07:00")}, To: w.at("2025-06-10 12:00")}, Why: readiness.WhyPlaced}},
		a.Question.People[0].Unavailable)
}

func TestAChangeOfWhoIsAloftIsSomethingToDo(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	w.current("F1", "ann", "bob")
	w.run("cal", "2024-06-11", groundhand.PairKit, groundhand.Lead, "F1") // good through 10 June
	w.run("bob", "2024-06-01", groundhand.PairKit, groundhand.Lead, "F1")
	w.away("ann", groundhand.NotForRescue, "2025-06-09 00:00", "2025-06-11 00:00")
	a := w.cover(w.shift("V1", "2025-06-10 20:00", "2025-06-11 04:00"))
	// Until midnight bob and cal stand below, so ann goes up; after it ann and bob do, so cal goes up.
	assert.Equal(t, readiness.Conditional, a.Answer.Verdict)
	assert.True(t, a.OnlySwaps())
	assert.Equal(t, []rollcall.Swap{{At: w.at("2025-06-11 00:00"), ComeDown: []string{"ann"}, MayGoUp: []string{"cal"}}}, a.Swaps())
}
