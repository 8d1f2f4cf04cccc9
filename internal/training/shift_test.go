package training

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

func (sc *scene) shift(change ...func(*ShiftForm)) ShiftForm {
	f := ShiftForm{WorkerID: sc.gideon, YardID: "VARROW", FromAt: sc.moment("2025-06-12", 6, 0), ToAt: sc.moment("2025-06-12", 14, 0)}
	for _, c := range change {
		c(&f)
	}
	return f
}

func TestShiftsTouchAndDoNotOverlap(t *testing.T) {
	sc := newScene(t)
	first := goesThrough(t, sc, sc.desk.PlanShift, sc.shift())
	assert.Equal(t, groundhand.MustDate("2025-06-12"), first.HappenedOn)
	goesThrough(t, sc, sc.desk.PlanShift, sc.shift(func(f *ShiftForm) { f.YardID, f.FromAt, f.ToAt = "STENHOLT", f.ToAt, sc.moment("2025-06-12", 22, 0) }))
	goesThrough(t, sc, sc.desk.PlanShift, sc.shift(func(f *ShiftForm) { f.WorkerID = sc.maren }))
	goesThrough(t, sc, sc.desk.PlanShift, sc.shift(func(f *ShiftForm) {
		f.Replaces, f.Because, f.FromAt = first.ID, "an hour later", sc.moment("2025-06-12", 7, 0)
	}))
	// the day on which the clock goes back has 25 hours, and a shift of it 24
	goesThrough(t, sc, sc.desk.PlanShift, sc.shift(func(f *ShiftForm) { f.FromAt, f.ToAt = sc.moment("2025-10-26", 0, 0), sc.moment("2025-10-26", 23, 0) }))
	_, err := sc.desk.PlanShift(sc.ctx, sc.dispatcher, sc.key(), sc.shift(func(f *ShiftForm) { f.WorkerID = sc.keahi }))
	require.NoError(t, err)
	for _, by := range []groundhand.Account{sc.hr, sc.assessor, sc.inspector} {
		sc.refused(func() error { _, err := sc.desk.PlanShift(sc.ctx, by, sc.key(), sc.shift()); return err }, "FORBIDDEN")
	}
}

func TestShiftsAreRefused(t *testing.T) {
	form := func(change func(*scene, *ShiftForm)) func(*scene) error {
		return func(sc *scene) error {
			must(sc, sc.desk.PlanShift, sc.shift())
			f := sc.shift(func(f *ShiftForm) { f.FromAt, f.ToAt = sc.moment("2025-06-13", 6, 0), sc.moment("2025-06-13", 14, 0) })
			change(sc, &f)
			return sc.after(func() error { return try(sc, sc.desk.PlanShift, f) })
		}
	}
	walk(t, []refusal{
		{"over another one by a minute", form(func(sc *scene, f *ShiftForm) {
			f.FromAt, f.ToAt = sc.moment("2025-06-12", 13, 59), sc.moment("2025-06-12", 18, 0)
		}), says("CONFLICT fromAt")},
		{"around another one", form(func(sc *scene, f *ShiftForm) {
			f.FromAt, f.ToAt = sc.moment("2025-06-12", 5, 0), sc.moment("2025-06-12", 15, 0)
		}), says("CONFLICT fromAt")},
		{"of more than a day", form(func(sc *scene, f *ShiftForm) { f.ToAt = sc.moment("2025-06-14", 6, 1) }), says("INVALID toAt")},
		{"of no length", form(func(_ *scene, f *ShiftForm) { f.ToAt = f.FromAt }), says("INVALID toAt")},
		{"backwards", form(func(sc *scene, f *ShiftForm) { f.ToAt = sc.moment("2025-06-13", 5, 0) }), says("INVALID toAt")},
		{"without an end", form(func(_ *scene, f *ShiftForm) { f.ToAt = 0 }), says("INVALID toAt")},
		{"at both ends of time", form(func(_ *scene, f *ShiftForm) { f.FromAt, f.ToAt = math.MinInt64, math.MaxInt64 }), says("INVALID fromAt", "INVALID toAt", "INVALID toAt", "CONFLICT fromAt")},
		{"of nobody, nowhere", form(func(_ *scene, f *ShiftForm) { f.WorkerID, f.YardID = "", "" }), says("INVALID workerId", "INVALID yardId")},
		{"of strangers", form(func(_ *scene, f *ShiftForm) { f.WorkerID, f.YardID = "nobody", "NOWHERE" }), says("NOT_FOUND workerId", "NOT_FOUND yardId")},
	})
}
