package rollcall_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
)

func (w *town) effect(e rollcall.Event) rollcall.Effect {
	w.t.Helper()
	got, err := w.roll.Effect(w.ctx, e)
	require.NoError(w.t, err)
	return got
}

// bookedTown has V1 (ann, bob, cal) and V2 (dee, eve, fay), all current on F1, booked for Thursday on A05 and A06. T18 stands idle with its kit.
// The yard Y2 is 70 minutes away.
func bookedTown(t *testing.T) *town {
	w := goodLine(t)
	w.device("A06", "F1")
	w.crew("V2", groundhand.LineCrew, groundhand.List{"F1"}, "dee", "eve", "fay")
	w.current("F1", "dee", "eve", "fay")
	for _, who := range []groundhand.WorkerID{"dee", "eve", "fay"} {
		w.firstAid(who, "2025-01-10")
	}
	add(w, groundhand.Road{ID: w.id(), Recorded: w.told("2024-01-01"), FromYardID: "Y2", ToYardID: "Y1", Minutes: 70})
	w.booked("J-1", "V1", "A05", "", "2025-06-12 07:00", "2025-06-12 15:30")
	w.booked("J-2", "V2", "A06", "", "2025-06-12 07:00", "2025-06-12 15:30")
	return w
}

// hits writes what changes: the job, the verdict before and after, and which of verdict, lists and N-1 differ.
func hits(e rollcall.Effect) []string {
	out := []string{}
	for _, j := range e.Jobs {
		if j.Hit() {
			out = append(out, fmt.Sprint(j.Job.ID, " ", j.Before.Answer.Verdict, " ", j.After.Answer.Verdict, " ", j.Verdict, " ", j.Lists, " ", j.NMinus1))
		}
	}
	return out
}

func backLines(j rollcall.JobEffect) []string {
	out := []string{}
	for _, f := range j.Back {
		line := fmt.Sprint(f.Rung, " ", f.TravelMinutes, " ", *f.Verdict)
		for _, c := range f.Changes {
			line += fmt.Sprint(" ", c.Do, " ", c.ID)
		}
		out = append(out, line)
	}
	return out
}

// 60 m of rope less 4 m of tail are 56 m; four parts to an anchor at 12 m need 48 m. K28 has 45 less 4: 41 m in four parts, too short.
func TestAKitGoesOutOfService(t *testing.T) {
	w := bookedTown(t)
	w.spare("K29", "A05", "Y2")
	w.spare("K30", "A05", "Y2")
	add(w, groundhand.Defect{ID: "D30", Recorded: w.moment("2025-06-11 10:00"), KitID: "K30", Cause: groundhand.Dropped})
	w.shortKit("K28")
	e := w.effect(rollcall.Event{At: w.at("2025-06-11 20:00"), KitID: "K-A05"})
	assert.Equal(t, []string{"J-1 READY NOT_READY true true true"}, hits(e))
	require.Len(t, e.Jobs, 2)
	assert.Equal(t, groundhand.JobID("J-1"), e.Jobs[0].Job.ID)
	assert.Equal(t, []string{"2 0 READY KIT K-T18", "5 70 READY KIT K29"}, backLines(e.Jobs[0]), "the idle truck's kit first; K30 was dropped, K28 is too short, A06's is at work")
	assert.Equal(t, []rollcall.NearKit{{KitID: "K-T18", YardID: "Y1", HaveCM: 5600, NeedCM: 4800, RatedLoadKG: 200},
		{KitID: "K29", YardID: "Y2", TravelMinutes: 70, ReadyAt: w.store.Now() + 70*60_000, HaveCM: 5600, NeedCM: 4800, RatedLoadKG: 200}}, e.Jobs[0].Kits)
	assert.Empty(t, e.Jobs[1].Back)
	assert.Zero(t, e.LeftOut)
}

// shortKit puts a kit with 45 m of rope into the store of Y1, looked at lately.
func (w *town) shortKit(kit groundhand.KitID) {
	w.t.Helper()
	told := w.told("2025-06-10")
	add(w, groundhand.Kit{ID: kit, Recorded: told, Parts: 4, RopeCM: 4500, TailCM: 400, RatedLoadKG: 200, InServiceOn: day("2024-01-01")})
	add(w, groundhand.KitPlacing{ID: w.id(), Recorded: told, KitID: kit, YardID: "Y1"})
	for _, kind := range []groundhand.InspectionKind{groundhand.WeeklyOutside, groundhand.MonthlyInside, groundhand.Yearly} {
		add(w, groundhand.Inspection{ID: w.id(), Recorded: told, KitID: kit, Kind: kind, Result: groundhand.InService})
	}
}

func TestAKitOnADeviceThatIsNotBookedChangesNothing(t *testing.T) {
	w := bookedTown(t)
	for _, e := range []rollcall.Event{{KitID: "K-T18"}, {DeviceID: "T18"}, {WorkerID: "gideon"}} {
		e.At = w.at("2025-06-11 20:00")
		got := w.effect(e)
		assert.Empty(t, hits(got))
		assert.Len(t, got.Jobs, 2)
		assert.Empty(t, got.Jobs[0].Back)
	}
	assert.Empty(t, w.effect(rollcall.Event{At: w.at("2025-06-12 15:30"), KitID: "K-A05"}).Jobs, "the work is over by then")
	assert.Len(t, w.effect(rollcall.Event{At: w.at("2025-06-11 07:01"), KitID: "K-A05"}).Jobs, 2, "it begins within 24 hours")
	assert.Empty(t, w.effect(rollcall.Event{At: w.at("2025-06-11 07:00"), KitID: "K-A05"}).Jobs, "and here exactly 24 hours on")
}

// Until noon three are there; after it two, of whom one goes up.
func TestSomebodyLeavesAtNoon(t *testing.T) {
	w := bookedTown(t)
	w.crew("RELIEF", groundhand.ReliefPool, groundhand.List{"F1"}, "leilani", "hamid")
	w.run("leilani", "2025-02-03", groundhand.PairKit, groundhand.Second, "F1")
	w.run("hamid", "2025-02-03", groundhand.PairKit, groundhand.Second, "F1")
	w.away("hamid", groundhand.Leave, "2025-06-12 00:00", "2025-06-13 00:00")
	e := w.effect(rollcall.Event{At: w.at("2025-06-12 12:00"), WorkerID: "ann"})
	assert.Equal(t, []string{"J-1 READY NOT_READY true true true"}, hits(e))
	after := e.Jobs[0].After.Answer
	assert.Equal(t, "2025-06-12T12:00:00+01:00", localTime(t, after.HoldsUntil.Verdict))
	assert.Equal(t, []string{"4 0 READY PERSON leilani"}, backLines(e.Jobs[0]), "hamid is on leave, and V2 needs its own")
	assert.Empty(t, e.Jobs[0].Kits)
	text, err := json.Marshal(e.Jobs[0].After.Question)
	require.NoError(t, err)
	assert.Contains(t, string(text), `"why":"OTHER"`)
}

// dee was passed by Gideon, whose own practice is of September. Without it he was not current, so dee is not, and eve and fay are left: dee
// up leaves two, so the verdict stands and the lists change. On whom it hangs stays: on all three.
func TestAnEntryIsWithdrawn(t *testing.T) {
	w := bookedTown(t)
	his := w.run("gideon", "2024-09-12", groundhand.PairKit, groundhand.Lead, "F1")
	w.crew("V3", groundhand.LineCrew, groundhand.List{"F1"}, "gil", "hal", "ida")
	w.current("F1", "hal", "ida")
	for _, who := range []groundhand.WorkerID{"gil", "hal", "ida"} {
		w.firstAid(who, "2025-01-10")
	}
	pass := w.assess("gil", "2025-03-03", groundhand.PairKit, groundhand.Lead, "F1")
	w.device("A07", "F1")
	w.booked("J-3", "V3", "A07", "", "2025-06-12 07:00", "2025-06-12 15:30")
	at := w.at("2025-06-11 20:00")
	want := []string{"J-3 READY READY false true false"}
	for _, id := range []groundhand.EntryID{pass.ID, his.ID, groundhand.EntryID(his.RunID)} {
		assert.Equal(t, want, hits(w.effect(rollcall.Event{At: at, EntryID: id})), id)
	}
	assert.Equal(t, groundhand.JobID("J-3"), w.effect(rollcall.Event{At: at, EntryID: pass.ID}).Jobs[0].Job.ID)
	w.away("ida", groundhand.Leave, "2025-06-12 00:00", "2025-06-13 00:00")
	assert.Equal(t, []string{}, hits(w.effect(rollcall.Event{At: at, EntryID: pass.ID})), "without ida it was not ready before")

	nobodys := w.run("gideon", "2025-01-12", groundhand.LoneKit, groundhand.Lone, "F3")
	assert.Empty(t, hits(w.effect(rollcall.Event{At: at, EntryID: nobodys.ID})))
}

// Four current people, three with first aid: without cal's card two are left, enough on site whoever goes up, and on them it now hangs.
func TestOnlyTheLossOfOneBecomesWorse(t *testing.T) {
	w := lineCrew(t, "ann", "bob")
	w.worker("cal", groundhand.Qualified)
	w.worker("gil", groundhand.Qualified)
	w.join("cal", "V1", groundhand.Permanent, "2024-01-01", "")
	w.join("gil", "V1", groundhand.Permanent, "2024-01-01", "")
	w.current("F1", "ann", "bob", "cal", "gil")
	add(w, groundhand.OutsideEvidence{ID: "CARD", Recorded: w.told("2025-01-10"), WorkerID: "cal", Method: groundhand.FirstAid, Issuer: "a first-aid school (invented)",
		Level: groundhand.OriginalSeen, CheckerID: "henrike"})
	w.booked("J-1", "V1", "A05", "", "2025-06-12 07:00", "2025-06-12 15:30")
	e := w.effect(rollcall.Event{At: w.at("2025-06-11 20:00"), EntryID: "CARD"})
	assert.Equal(t, []string{"J-1 READY READY false false true"}, hits(e))
	assert.Equal(t, []readiness.Absent{{Person: "ann", Without: readiness.NotReady}, {Person: "bob", Without: readiness.NotReady}}, e.Jobs[0].After.Answer.NMinus1.HangsOn)
}

func TestAnEventIsRefused(t *testing.T) {
	w := bookedTown(t)
	at := w.at("2025-06-11 20:00")
	for _, e := range []rollcall.Event{{At: at}, {KitID: "K-A05"}, {At: at, KitID: "K-A05", WorkerID: "ann"}} {
		_, err := w.roll.Effect(w.ctx, e)
		assert.ErrorIs(t, err, groundhand.CodeInvalid)
	}
	for _, e := range []rollcall.Event{{At: at, KitID: "ZZ"}, {At: at, DeviceID: "ZZ"}, {At: at, WorkerID: "ZZ"}, {At: at, EntryID: "ZZ"}} {
		_, err := w.roll.Effect(w.ctx, e)
		assert.ErrorIs(t, err, groundhand.CodeNotFound)
	}
	grading := groundhand.Grading{ID: w.id(), Recorded: w.told("2025-01-02"), WorkerID: "ann", Grade: groundhand.Qualified}
	add(w, grading)
	_, err := w.roll.Effect(w.ctx, rollcall.Event{At: at, EntryID: grading.ID})
	assert.ErrorIs(t, err, groundhand.CodeInvalid, "it decides more than who is current")
}

// A job without a device cannot be told before and after; one that asks what cannot be judged says so and hides nobody.
func TestJobsThatCannotBeToldAreThere(t *testing.T) {
	w := bookedTown(t)
	w.booked("J-3", "V1", "", "", "2025-06-12 17:00", "2025-06-12 19:00")
	add(w, groundhand.Job{ID: "J-4", Recorded: w.told("2025-06-09"), CrewID: "V2", YardID: "Y1", StartAt: w.at("2025-06-12 17:00"), EndAt: w.at("2025-07-30 19:00"), DeviceID: "A06", Aloft: 1,
		Near50V: groundhand.Yes, SiteKind: groundhand.FieldSite, CallPlan: groundhand.Yes})
	e := w.effect(rollcall.Event{At: w.at("2025-06-11 20:00"), DeviceID: "A05"})
	assert.Equal(t, []string{"J-1 READY NOT_READY true true true"}, hits(e))
	require.Len(t, e.Jobs, 4)
	assert.Equal(t, readiness.CannotTell, e.Jobs[2].After.Answer.Verdict)
	assert.ErrorIs(t, e.Jobs[3].Refused, groundhand.CodeTooLarge)
}

// The clocks of Dublin go forward at one on 30 March. The device fails at half past two summer time, half past one UTC.
func TestAnEventInTheNightTheClocksChange(t *testing.T) {
	w := goodLine(t)
	w.booked("J-1", "V1", "A05", "", "2025-03-29 22:00", "2025-03-30 06:00")
	e := w.effect(rollcall.Event{At: w.at("2025-03-30 02:30"), DeviceID: "A05"})
	require.Len(t, e.Jobs, 1)
	assert.Equal(t, readiness.NotReady, e.Jobs[0].After.Answer.Verdict)
	assert.Equal(t, "2025-03-30T02:30:00+01:00", localTime(t, e.Jobs[0].After.Answer.HoldsUntil.Verdict))
	assert.Equal(t, "2025-03-30T01:30:00Z", e.At.String())
}

func answersOf(t *testing.T, list []rollcall.CoverAnswer) []string {
	t.Helper()
	var out []string
	for _, a := range list {
		text, err := json.Marshal(a.Answer)
		require.NoError(t, err)
		out = append(out, string(text))
	}
	return out
}

// Before an event the answers are those of the jobs, and after it those that the jobs have when it is really recorded.
func TestAnEventSupposedIsAnEventRecorded(t *testing.T) {
	at := "2025-06-12 10:00"
	for name, act := range map[string]func(w *town) (rollcall.Event, func()){
		"kit": func(w *town) (rollcall.Event, func()) {
			return rollcall.Event{KitID: "K-A05"}, func() {
				add(w, groundhand.Defect{ID: w.id(), Recorded: w.moment(at), KitID: "K-A05", Cause: groundhand.RealUse})
			}
		},
		"device": func(w *town) (rollcall.Event, func()) {
			return rollcall.Event{DeviceID: "A06"}, func() {
				add(w, groundhand.Defect{ID: w.id(), Recorded: w.moment(at), DeviceID: "A06", Cause: groundhand.Workshop})
			}
		},
		"worker": func(w *town) (rollcall.Event, func()) {
			return rollcall.Event{WorkerID: "eve"}, func() { w.away("eve", groundhand.Sick, at, "") }
		},
		"entry": func(w *town) (rollcall.Event, func()) {
			part := w.run("dee", "2025-06-10", groundhand.ManualLowering, groundhand.Lead, "F1")
			w.run("eve", "2025-05-10", groundhand.ManualLowering, groundhand.Lead, "F1")
			w.run("fay", "2025-05-10", groundhand.ManualLowering, groundhand.Second, "F1")
			return rollcall.Event{EntryID: groundhand.EntryID(part.RunID)}, func() {
				add(w, groundhand.Withdrawal{ID: w.id(), Recorded: w.told("2025-06-11"), WithdrawsID: groundhand.EntryID(part.RunID)})
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			w := bookedTown(t)
			add(w, groundhand.Job{ID: "J-3", Recorded: w.told("2025-06-09"), CrewID: "V2", YardID: "Y1", StartAt: w.at("2025-06-12 16:00"), EndAt: w.at("2025-06-13 02:00"), DeviceID: "A06", Aloft: 1,
				Methods: groundhand.List{"MANUAL_LOWERING"}, Near50V: groundhand.Yes, SiteKind: groundhand.FieldSite, CallPlan: groundhand.Yes})
			event, record := act(w)
			event.At = w.at(at)
			e := w.effect(event)
			assert.NotEmpty(t, hits(e))
			split := func(now func() []rollcall.JobAnswer, pick func(rollcall.JobEffect) rollcall.CoverAnswer) {
				t.Helper()
				got := map[groundhand.JobID]rollcall.CoverAnswer{}
				for _, j := range e.Jobs {
					require.NoError(t, j.Refused)
					got[j.Job.ID] = pick(j)
				}
				jobs := now()
				require.Len(t, got, len(jobs))
				for _, j := range jobs {
					assert.Equal(t, answersOf(t, []rollcall.CoverAnswer{j.CoverAnswer}), answersOf(t, []rollcall.CoverAnswer{got[j.Job.ID]}), j.Job.ID)
				}
			}
			ask := func() []rollcall.JobAnswer {
				jobs, err := w.roll.JobsCover(w.ctx, event.At, event.At+24*60*60_000)
				require.NoError(t, err)
				return jobs
			}
			split(ask, func(j rollcall.JobEffect) rollcall.CoverAnswer { return j.Before })
			record()
			split(ask, func(j rollcall.JobEffect) rollcall.CoverAnswer { return j.After })
		})
	}
}

func TestStatementsOfAnEffectDoNotGrowWithTheJobs(t *testing.T) {
	w := newTown(t)
	w.run("gideon", "2024-09-12", groundhand.PairKit, groundhand.Lead, "F1")
	w.manyCrews(0, 3)
	book := func(from, to int) {
		for i := from; i < to; i++ {
			w.booked(groundhand.JobID(fmt.Sprintf("J%03d", i)), groundhand.CrewID(fmt.Sprintf("L%03d", i)), "A05", "", "2025-06-12 07:00", "2025-06-12 15:00")
		}
	}
	book(0, 3)
	event := rollcall.Event{At: w.at("2025-06-12 06:00"), KitID: "K-A05"}
	few := w.statements(func() { assert.Len(t, hits(w.effect(event)), 3) })
	w.manyCrews(3, 24)
	book(3, 24)
	var e rollcall.Effect
	assert.Equal(t, few, w.statements(func() { e = w.effect(event) }))
	assert.Len(t, hits(e), 24)
	assert.Equal(t, 4, e.LeftOut, "of 24 jobs the first twenty are searched")
	assert.NotEmpty(t, e.Jobs[19].Back)
	assert.Empty(t, e.Jobs[20].Back)
	t.Logf("effect %d statements", few)
}
