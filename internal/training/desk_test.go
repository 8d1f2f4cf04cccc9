package training

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/checklist"
	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
)

// goesThrough hands in a form that is in order, twice with the same key, and gives what was made.
func goesThrough[F, T any](t *testing.T, sc *scene, do method[F, T], f F) T {
	t.Helper()
	key := sc.key()
	first, err := do(context.WithoutCancel(sc.ctx), sc.who(f), key, f)
	require.NoError(t, err)
	before := sc.rows()
	again, err := do(sc.ctx, sc.who(f), key, f)
	require.NoError(t, err)
	assert.Equal(t, first, again, "sent twice is done once")
	assert.Equal(t, before, sc.rows())
	return first
}

// A year and a half at one crew, each act once, in the order in which it happens.
func TestADesksWork(t *testing.T) {
	sc := newScene(t)
	day := groundhand.MustDate("2025-06-09")
	w := goesThrough(t, sc, sc.desk.AddWorker, workerForm("Priya Nandakumar-Vell", "2001", groundhand.Qualified))
	goesThrough(t, sc, sc.desk.RenameWorker, NameForm{FromOn: today, WorkerID: w.ID, Name: "Priya Vell"})
	goesThrough(t, sc, sc.desk.GradeWorker, GradeForm{FromOn: today, WorkerID: w.ID, Grade: groundhand.Apprentice, Year: 3})
	goesThrough(t, sc, sc.desk.PostWorker, PostForm{FromOn: today, WorkerID: w.ID, YardID: "STENHOLT"})
	goesThrough(t, sc, sc.desk.EmployWorker, EmployForm{FromOn: today, ToOn: today + 90, WorkerID: w.ID, Employer: "Aldersett Contractors", Relation: groundhand.Visitor})
	goesThrough(t, sc, sc.desk.SetUnavailable, UnavailableForm{WorkerID: w.ID, Kind: groundhand.Course, FromAt: sc.moment("2025-07-01", 7, 0)})

	goesThrough(t, sc, sc.desk.AddYard, YardForm{When: When{On: today}, ID: "QUILLMERE", Name: "Quillmere"})
	goesThrough(t, sc, sc.desk.AddRoad, RoadForm{When: When{On: today}, FromYardID: "VARROW", ToYardID: "QUILLMERE", Minutes: 75})
	goesThrough(t, sc, sc.desk.AddFamily, FamilyForm{When: When{On: today}, ID: "F4", Name: "electric panel"})
	goesThrough(t, sc, sc.desk.AddDevice, device("A05"))
	goesThrough(t, sc, sc.desk.AddKit, kit("K05"))
	goesThrough(t, sc, sc.desk.PlaceKit, PlaceForm{When: When{At: sc.moment("2025-06-11", 6, 30)}, KitID: "K05", DeviceID: "A05"})
	goesThrough(t, sc, sc.desk.AddCrew, crew("V3"))
	goesThrough(t, sc, sc.desk.JoinCrew, member("V3", w.ID, "2025-06-01", ""))

	look := InspectionForm{When: When{On: day}, DeviceID: "A05", Kind: groundhand.DailyLowerControls, Checklist: "device-daily-1", Result: groundhand.InService,
		Lines: checklist.Answered("device-daily-1", nil)}
	goesThrough(t, sc, sc.desk.Inspect, look)
	look.Result, look.Lines = groundhand.OutOfService, checklist.Answered("device-daily-1", map[string]groundhand.StepAnswer{"cabinet": groundhand.StepNo})
	out := goesThrough(t, sc, sc.desk.Inspect, look)
	other := sc.account("abena", groundhand.Inspector, sc.keahi)
	look.Result, look.On, look.Remarks = groundhand.Returned, today, "lock changed"
	look.Lines = checklist.Answered("device-daily-1", nil)
	back, err := sc.desk.Inspect(sc.ctx, other, "back", look)
	require.NoError(t, err, "another person returns it")
	assert.NotEqual(t, out.AuthorID, back.AuthorID)

	for _, r := range rulebook.Shipped() {
		must(sc, sc.desk.AddRuleSet, ShippedRules(r, "Alasdair Nwosu-Kerr"))
	}
	goesThrough(t, sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
	booked := goesThrough(t, sc, sc.desk.BookSession, sc.session())
	goesThrough(t, sc, sc.desk.BookSeat, BookingForm{SessionID: booked.Session.ID, WorkerID: w.ID, Renews: groundhand.List{"PAIR_KIT"}})
	assert.Equal(t, groundhand.FamilyID("F1"), booked.Session.FamilyID)

	sc.practise(sc.gideon, "2025-03-11")
	drill := goesThrough(t, sc, sc.desk.RecordDrill, sc.drill())
	f := sc.pass(sc.maren)
	f.RunPartID = drill.Parts[0].ID
	f.Steps = groundhand.CriticalSteps{{Step: "hazard check", Done: groundhand.StepYes}}
	pass := goesThrough(t, sc, sc.desk.Assess, f)
	shown := goesThrough(t, sc, sc.desk.RecordOutside, OutsideForm{
		Entry: Entry{CameBy: groundhand.Elsewhere}, When: When{On: day}, WorkerID: sc.maren, Method: groundhand.FirstAid, Role: groundhand.Lead,
		Issuer: "first-aid school", Level: groundhand.CopySeen, CheckerID: sc.henrike,
	})
	held := goesThrough(t, sc, sc.desk.Suspend, SuspensionForm{When: When{On: day}, WorkerID: sc.maren, Method: groundhand.PairKit, Cause: "hazard check missed"})
	lifted := goesThrough(t, sc, sc.desk.Lift, LiftingForm{When: When{On: today}, SuspensionID: held.ID, PassID: pass.ID})
	assert.Equal(t, sc.maren, lifted.WorkerID)
	goesThrough(t, sc, sc.desk.Extend, ExtensionForm{
		When: When{On: today}, WorkerID: sc.tomasz, Method: groundhand.PairKit, FromOn: today, ToOn: today + 21, ApproverID: sc.henrike, Basis: "snow",
	})
	goesThrough(t, sc, sc.desk.AcceptProvisionally, ProvisionalForm{
		When: When{On: today}, WorkerID: sc.maren, Method: groundhand.PairKit, Role: groundhand.Second, FamilyID: "F1", FromOn: today, ToOn: today + 5, Basis: "storm",
		ApproverID: sc.henrike, EvidenceID: shown.ID, Conditions: "beside a lead of ours",
	})
	job := goesThrough(t, sc, sc.desk.BookJob, sc.job(func(f *JobForm) { f.RuleSetID, f.CallPlan = "R-C", "" }))
	assert.Equal(t, groundhand.YardID("VARROW"), job.YardID, "the yard is the crew's")
	assert.Equal(t, groundhand.Unknown, job.CallPlan, "not said is not known")
	gone := goesThrough(t, sc, sc.desk.Withdraw, WithdrawalForm{EntryID: pass.ID, Because: "another sheet"})
	goesThrough(t, sc, sc.desk.Withdraw, WithdrawalForm{EntryID: gone.ID, Because: "it was the right one"})
}

func TestACorrectedSessionStatesItsBookingsAgain(t *testing.T) {
	sc := newScene(t)
	old := must(sc, sc.desk.BookSession, sc.session())
	moved := must(sc, sc.desk.BookSession, sc.session(func(f *SessionForm) {
		f.Replaces, f.Because = groundhand.EntryID(old.Session.ID), "the yard is taken before ten"
		f.StartAt, f.EndAt = sc.moment("2025-06-24", 10, 0), sc.moment("2025-06-24", 14, 0)
	}))
	assert.Len(t, moved.Bookings, 2)
	sc.refused(func() error {
		return try(sc, sc.desk.BookSession, sc.session(func(f *SessionForm) {
			f.StartAt, f.EndAt = sc.moment("2025-06-24", 13, 0), sc.moment("2025-06-24", 15, 0)
			f.Bookings = f.Bookings[:1]
		}))
	}, "CONFLICT bookings[0].workerId")
	must(sc, sc.desk.BookSession, sc.session(func(f *SessionForm) { // where the old one was, the seats are free
		f.EndAt = sc.moment("2025-06-24", 9, 0)
	}))
}

func TestTheDayIsTheLocalDay(t *testing.T) {
	sc := newScene(t)
	drill := must(sc, sc.desk.RecordDrill, sc.drill(func(r *RunForm) { r.When = When{At: sc.moment("2025-06-10", 0, 30)} }))
	assert.Equal(t, groundhand.MustDate("2025-06-10"), drill.Runs[0].HappenedOn, "it is still the 9th in UTC")
}
