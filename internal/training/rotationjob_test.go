package training

import (
	"bytes"
	"context"
	"log/slog"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
	"groundhand/internal/store"
)

// come looks at a rotation as whoever asked for it would.
func (sc *scene) come(r groundhand.RotationRequest) RotationJob {
	sc.t.Helper()
	job, err := sc.desk.RotationJob(sc.ctx, r.ID)
	require.NoError(sc.t, err)
	return job
}

func (sc *scene) workOff() {
	sc.t.Helper()
	require.NoError(sc.t, sc.desk.Planner().WorkOff(sc.ctx))
}

func TestAStartedRotationGivesThePlanOneCouldHaveWaitedFor(t *testing.T) {
	sc, f := rotating(t)
	waited := must(sc, sc.desk.SuggestRotation, f)
	started := must(sc, sc.desk.StartRotation, f)
	assert.Equal(t, waited.Problem, started.Problem)
	job := sc.come(started)
	assert.Nil(t, job.Plan)
	assert.Nil(t, job.Failure)
	assert.False(t, job.UnderWay, "it waits")

	sc.workOff()
	plan := sc.come(started).Plan
	require.NotNil(t, plan)
	assert.Equal(t, waited.Result, plan.Result)
	assert.Equal(t, started.ID, plan.RequestID)
	assert.Equal(t, []any{started.AuthorID, started.Capacity, started.Seed, started.Rounds, 0, ""},
		[]any{plan.AuthorID, plan.Capacity, plan.Seed, plan.Rounds, plan.StoppedAfter, plan.Change})
	before := sc.rows()
	sc.workOff()
	assert.Equal(t, before, sc.rows(), "nothing is worked out twice")
	require.NotEmpty(t, must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID}).Sessions)
}

func TestARotationIsStartedOnce(t *testing.T) {
	sc, f := rotating(t)
	first, err := sc.desk.StartRotation(sc.ctx, sc.coordinator, "one", f)
	require.NoError(t, err)
	again, err := sc.desk.StartRotation(sc.ctx, sc.coordinator, "one", f)
	require.NoError(t, err)
	assert.Equal(t, first, again)
	assert.Equal(t, 1, sc.rows()["requests"])
	_, err = sc.desk.StartRotation(sc.ctx, sc.assessor, "two", f)
	assert.ErrorIs(t, err, groundhand.CodeForbidden)
}

// What is under way when the program ends is worked out again, to the same plan.
func TestARotationOutlivesTheProgram(t *testing.T) {
	sc, f := rotating(t)
	waited := must(sc, sc.desk.SuggestRotation, f)
	begun := make(chan struct{})
	sc.desk.planner.plan = func(ctx context.Context, p rotation.Problem, o rotation.Options) (rotation.Plan, error) {
		close(begun)
		<-ctx.Done()
		return rotation.Suggest(ctx, p, o)
	}
	ctx, end := context.WithCancel(sc.ctx)
	over := make(chan struct{})
	var log bytes.Buffer
	go func() {
		defer close(over)
		sc.desk.Planner().Run(ctx, slog.New(slog.NewTextHandler(&log, nil)))
	}()
	started := must(sc, sc.desk.StartRotation, f) // wakes the planner
	<-begun
	assert.True(t, sc.come(started).UnderWay)
	end()
	<-over
	assert.Empty(t, log.String())
	job := sc.come(started)
	assert.Nil(t, job.Plan, "a plan that was cut off by the end of the program is not kept")
	assert.False(t, job.UnderWay)

	sc.desk = New(sc.store, rollcall.New(sc.store, sc.zone)) // the program starts again
	sc.workOff()
	require.NotNil(t, sc.come(started).Plan)
	assert.Equal(t, waited.Result, sc.come(started).Plan.Result)
}

func TestAStoppedRotationGivesTheBestPlanSoFar(t *testing.T) {
	sc, f := rotating(t)
	f.Rounds = 1_000_000
	best := rotation.Objective{LapsedDays: 3}
	begun := make(chan struct{})
	sc.desk.planner.plan = func(ctx context.Context, p rotation.Problem, o rotation.Options) (rotation.Plan, error) {
		o.Report(rotation.Progress{Round: 640, Rounds: o.Rounds, Best: best})
		close(begun)
		<-ctx.Done()
		return rotation.Suggest(ctx, p, o)
	}
	started := must(sc, sc.desk.StartRotation, f)
	worked := make(chan error, 1)
	go func() { worked <- sc.desk.Planner().WorkOff(sc.ctx) }()
	<-begun
	job := sc.come(started)
	assert.True(t, job.UnderWay)
	assert.Equal(t, best, job.Progress.Best)
	assert.Equal(t, []int{640, 1_000_000}, []int{job.Progress.Round, job.Progress.Rounds})

	_, err := sc.desk.StopRotation(sc.ctx, sc.assessor, started.ID)
	require.ErrorIs(t, err, groundhand.CodeForbidden)
	job, err = sc.desk.StopRotation(sc.ctx, sc.coordinator, started.ID)
	require.NoError(t, err)
	require.NoError(t, <-worked)
	require.NotNil(t, job.Plan)
	assert.False(t, job.UnderWay)
	assert.Positive(t, job.Plan.StoppedAfter)
	problem, made, err := ReadPlan(*job.Plan)
	require.NoError(t, err)
	assert.Empty(t, rotation.Check(problem, made))

	again, err := sc.desk.StopRotation(sc.ctx, sc.coordinator, started.ID)
	require.NoError(t, err)
	assert.Equal(t, job, again, "what has ended stays as it is")
	_, err = sc.desk.StopRotation(sc.ctx, sc.coordinator, "r9")
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
}

func TestARotationThatIsStoppedBeforeItBeganHasNoPlan(t *testing.T) {
	sc, f := rotating(t)
	started := must(sc, sc.desk.StartRotation, f)
	job, err := sc.desk.StopRotation(sc.ctx, sc.coordinator, started.ID)
	require.NoError(t, err)
	require.NotNil(t, job.Failure)
	assert.Equal(t, groundhand.StoppedEarly, job.Failure.Cause)
	before := sc.rows()
	sc.workOff()
	assert.Equal(t, before, sc.rows())
}

// One seat, and a method that takes two: nobody can keep that promise.
func TestSeatsThatCannotBeKeptAreNamed(t *testing.T) {
	sc, f := rotating(t)
	booked := must(sc, sc.desk.BookSession, sc.session(func(s *SessionForm) { s.Seats, s.Bookings = 1, s.Bookings[:1] }))
	started := must(sc, sc.desk.StartRotation, f)
	sc.workOff()
	job := sc.come(started)
	assert.Nil(t, job.Plan)
	require.NotNil(t, job.Failure)
	assert.Equal(t, groundhand.PinsClash, job.Failure.Cause)
	assert.True(t, job.Failure.Proved)
	assert.JSONEq(t, `[{"slot": "`+string(booked.Session.ID)+`", "worker": "`+string(sc.maren)+`", "renews": ["PAIR_KIT"]}]`, job.Failure.Pins)
	err := try(sc, sc.desk.SuggestRotation, f)
	require.ErrorIs(t, err, groundhand.CodeConflict, "whoever waits is told at once")
	assert.Contains(t, err.Error(), "Maren Oduya")
}

func TestAPlannerThatBreaksDownTakesNothingAlong(t *testing.T) {
	sc, f := rotating(t)
	bad, good := must(sc, sc.desk.StartRotation, f), must(sc, sc.desk.StartRotation, f)
	times := 0
	sc.desk.planner.plan = func(ctx context.Context, p rotation.Problem, o rotation.Options) (rotation.Plan, error) {
		if times++; times == 1 {
			panic("a case nobody thought of")
		}
		return rotation.Suggest(ctx, p, o)
	}
	sc.workOff()
	require.NotNil(t, sc.come(bad).Failure)
	assert.Equal(t, groundhand.BrokeDown, sc.come(bad).Failure.Cause)
	assert.NotNil(t, sc.come(good).Plan)
}

func TestAWhatIfIsMarkedAndNeverAdopted(t *testing.T) {
	sc, f := rotating(t)
	real := must(sc, sc.desk.SuggestRotation, f)
	f.ReplanOf, f.Slots = real.ID, nil
	f.Change.CloseYard = ClosureForm{YardID: "STENHOLT", FromOn: f.StartOn, ToOn: f.EndOn}
	started := must(sc, sc.desk.StartRotation, f)
	sc.workOff()
	plan := sc.come(started).Plan
	require.NotNil(t, plan)
	assert.Equal(t, real.ID, plan.BasePlanID)
	assert.True(t, plan.WhatIf())
	assert.Contains(t, plan.Change, "STENHOLT")
	problem, _, err := ReadPlan(*plan)
	require.NoError(t, err)
	require.Len(t, problem.Slots, 1, "the slots of the older plan are offered again")
	before := sc.rows()
	err = try(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
	require.ErrorIs(t, err, groundhand.CodeConflict)
	assert.Contains(t, err.Error(), "what-if")
	assert.Equal(t, before, sc.rows())
}

// Without any session left there is a plan still: it says who lapses.
func TestAWhatIfThatLeavesNoSessionIsPlanned(t *testing.T) {
	sc, f := rotating(t)
	real := must(sc, sc.desk.SuggestRotation, f)
	f.ReplanOf, f.Slots = real.ID, nil
	f.Change.CloseYard = ClosureForm{YardID: "VARROW", FromOn: f.StartOn, ToOn: f.EndOn}
	started := must(sc, sc.desk.StartRotation, f)
	sc.workOff()
	require.NotNil(t, sc.come(started).Plan, "%+v", sc.come(started).Failure)
	_, made, err := ReadPlan(*sc.come(started).Plan)
	require.NoError(t, err)
	assert.Empty(t, made.Sessions)
	assert.Len(t, made.NotKeptCurrent, 3)
}

// Eighteen months hold two renewals of what is good for twelve: they are planned one after the other, also when the program ends between.
func TestALongWindowIsPlannedInStages(t *testing.T) {
	sc, f := rotating(t)
	f.EndOn = f.StartOn.AddMonths(18)
	f.Name = "a year and a half"
	later := f.Slots[0]
	later.ID, later.On = "next-year", groundhand.MustDate("2026-06-09")
	f.Slots = append(f.Slots, later)
	err := try(sc, sc.desk.SuggestRotation, f)
	require.ErrorIs(t, err, groundhand.CodeInvalid, "nobody waits for stages")

	stage := must(sc, sc.desk.StartRotation, f)
	number, next := 0, stage
	var held []string
	for {
		number++
		sc.desk = New(sc.store, rollcall.New(sc.store, sc.zone)) // the program starts again
		id, left, err := sc.desk.planner.next(sc.ctx)
		require.NoError(t, err)
		if !left {
			break
		}
		require.Equal(t, next.ID, id)
		require.NoError(t, sc.desk.planner.workOut(sc.ctx, id))
		plan := sc.come(next).Plan
		require.NotNil(t, plan, "%+v", sc.come(next).Failure)
		problem, made, err := ReadPlan(*plan)
		require.NoError(t, err)
		assert.Empty(t, rotation.Check(problem, made))
		for _, s := range made.Sessions {
			held = append(held, s.Slot)
		}
		after, err := store.Find[groundhand.RotationRequest](sc.ctx, sc.store, store.ByFollowed, []groundhand.EntryID{next.ID})
		require.NoError(t, err)
		if len(after) == 0 {
			assert.Equal(t, f.EndOn, plan.EndOn)
			break
		}
		assert.Equal(t, plan.EndOn+1, after[0].StartOn)
		next = after[0]
	}
	assert.Greater(t, number, 1)
	assert.Equal(t, []string{"tue-am", "next-year"}, held)
}

// What steers the planner stands in the request: it is the same after a restart.
func TestThePlannerIsToldWhatWasAskedFor(t *testing.T) {
	sc, f := rotating(t)
	old := must(sc, sc.desk.SuggestRotation, f)
	f.ReplanOf, f.Stagger, f.Seed, f.Rounds = old.ID, StaggerForm{Most: 2, Days: 30}, 11, 77
	f.ForbidSlots = groundhand.List{"wed-am"}
	f.Slots = append(f.Slots, f.Slots[0])
	f.Slots[1].ID, f.Slots[1].On = "wed-am", groundhand.MustDate("2025-06-18")
	started := must(sc, sc.desk.StartRotation, f)
	sc.desk = New(sc.store, rollcall.New(sc.store, sc.zone)) // the program starts again
	var told rotation.Options
	sc.desk.planner.plan = func(ctx context.Context, p rotation.Problem, o rotation.Options) (rotation.Plan, error) {
		told = o
		return rotation.Suggest(ctx, p, o)
	}
	sc.workOff()
	job := sc.come(started)
	require.NotNil(t, job.Plan, "%+v", job.Failure)
	assert.Equal(t, []any{uint64(11), 77, rotation.Stagger{Most: 2, Days: 30}}, []any{told.Seed, told.Rounds, *told.Stagger})
	require.NotNil(t, told.Keep)
	require.Len(t, told.Keep.Sessions, 1)
	assert.Equal(t, "tue-am", told.Keep.Sessions[0].Slot)
	problem, made, err := ReadPlan(*job.Plan)
	require.NoError(t, err)
	assert.Len(t, problem.Slots, 1, "a forbidden slot is none")
	renewals := 0
	for _, s := range made.Sessions {
		for _, who := range s.Attend {
			renewals += len(who.Renews)
		}
	}
	assert.LessOrEqual(t, renewals, 2, "of three, two may lapse together next year")
}

func TestWishesAreRefused(t *testing.T) {
	form := func(change func(*RotationForm)) func(*scene) error {
		return func(sc *scene) error {
			other, f := rotating(sc.t)
			*sc = *other
			change(&f)
			return sc.after(func() error { return try(sc, sc.desk.StartRotation, f) })
		}
	}
	walk(t, []refusal{
		{"pins of nobody in nothing", form(func(f *RotationForm) {
			f.Pins = []PinForm{{Methods: groundhand.List{"JUGGLING"}}, {SlotID: "tue-am", WorkerID: "w9"}}
		}),
			says("INVALID pins[0].slotId", "INVALID pins[0].workerId", "INVALID pins[0].methods[0]", "NOT_FOUND pins[1].workerId")},
		{"days that end before they begin", form(func(f *RotationForm) {
			f.ForbidDays = []ForbidForm{{WorkerID: "w9", FromOn: f.EndOn, ToOn: f.StartOn}}
		}), says("INVALID forbidDays[0].toOn", "NOT_FOUND forbidDays[0].workerId")},
		{"two changes at once, and no kit for slots that are not offered", form(func(f *RotationForm) {
			f.Change = WhatIfForm{AddKit: "VARROW", RuleSetID: "r9"}
		}), says("INVALID change", "INVALID offer.everyWeeks", "NOT_FOUND change.ruleSetId")},
		{"half a stagger", form(func(f *RotationForm) { f.Stagger.Most = 2 }), says("INVALID stagger.days")},
		{"a plan that nobody made", form(func(f *RotationForm) { f.ReplanOf = "p9" }), says("NOT_FOUND replanOf")},
		{"slots of a day that is none", form(func(f *RotationForm) {
			f.Offer = OfferForm{EveryWeeks: 60, Weekdays: groundhand.List{"someday"}, Yards: groundhand.List{"Y9"}}
		}),
			says("INVALID offer.everyWeeks", "INVALID offer.weekdays[0]", "NOT_FOUND offer.yards[0]")},
		{"a crew that nobody knows", form(func(f *RotationForm) { f.Aloft = []AloftForm{{CrewID: "C9", Aloft: 0}} }), says("INVALID aloft[0].aloft", "NOT_FOUND aloft[0].crewId")},
	})
}

// The slot of an older plan that became a session goes by the id of the session.
func TestAnOlderPlanIsKeptInTheNamesOfTheNewProblem(t *testing.T) {
	sc, f := rotating(t)
	old := must(sc, sc.desk.SuggestRotation, f)
	adopted := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: old.ID})
	f.ReplanOf, f.Slots = old.ID, nil
	started := must(sc, sc.desk.StartRotation, f)
	posed, err := posedAgain(sc.ctx, sc.store, started)
	require.NoError(t, err)
	require.Len(t, posed.stage.Problem.Slots, 1, "the slot is not offered beside the session it became")
	require.NotNil(t, posed.keep)
	require.Len(t, posed.keep.Sessions, 1)
	assert.Equal(t, string(adopted.Sessions[0].ID), posed.keep.Sessions[0].Slot)
	assert.Len(t, posed.keep.Sessions[0].Attend, 3)

	must(sc, sc.desk.BookSession, sc.session(func(s *SessionForm) {
		s.Replaces, s.Because = groundhand.EntryID(adopted.Sessions[0].ID), "the truck is late"
		s.StartAt, s.EndAt, s.Seats, s.Bookings = sc.moment("2025-06-17", 9, 0), sc.moment("2025-06-17", 12, 0), 4, nil
	}))
	again, err := posedAgain(sc.ctx, sc.store, started)
	require.NoError(t, err)
	assert.Equal(t, posed.keep, again.keep, "what is moved after it was asked for changes nothing")
	sc.workOff()
	require.NotNil(t, sc.come(started).Plan)
}
