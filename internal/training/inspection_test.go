package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/checklist"
	"groundhand/internal/groundhand"
)

// looked is a look on a day at which everything was in order, but for some lines.
func looked(day groundhand.Date, list string, except ...string) InspectionForm {
	l, _ := checklist.ByID(list)
	found := map[string]groundhand.StepAnswer{}
	for _, key := range except {
		found[key] = groundhand.StepNo
	}
	f := InspectionForm{When: When{On: day}, Kind: l.Kind, Checklist: list, Lines: checklist.Answered(list, found), Result: groundhand.InService}
	if f.DeviceID = "A04"; l.Of == checklist.Kit {
		f.DeviceID, f.KitID = "", "K04"
	}
	if l.Kind == groundhand.DeviceMonthly {
		f.LoweringSeconds = 240
	}
	return f
}

func out(f InspectionForm) InspectionForm { f.Result = groundhand.OutOfService; return f }

func returned(f InspectionForm) InspectionForm {
	f.Result, f.Remarks = groundhand.Returned, "strap replaced, run through"
	return f
}

func TestEveryListGoesThrough(t *testing.T) {
	sc := newScene(t)
	for _, l := range checklist.All() {
		i := goesThrough(t, sc, sc.desk.Inspect, looked(today, l.ID))
		assert.Len(t, i.Lines, len(l.Lines), l.ID)
		assert.Equal(t, l.Kind == groundhand.DeviceMonthly, i.LoweringSeconds == 240, l.ID)
	}
}

func TestWhatIsCriticalIsTakenFromTheList(t *testing.T) {
	sc := newScene(t)
	f := looked(today, "kit-outside-1", "bag")
	for i := range f.Lines {
		f.Lines[i].Critical = !f.Lines[i].Critical
	}
	made := must(sc, sc.desk.Inspect, f)
	list, _ := checklist.ByID("kit-outside-1")
	for i, line := range made.Lines {
		assert.Equal(t, list.Lines[i].Critical, line.Critical, line.Line)
	}
	assert.False(t, f.Lines[0].Critical, "the form of the caller stays as it was sent")
}

func TestLooksAreRefused(t *testing.T) {
	form := func(list string, change func(*InspectionForm)) func(*scene) error {
		return func(sc *scene) error {
			f := looked(today, list)
			change(&f)
			return try(sc, sc.desk.Inspect, f)
		}
	}
	walk(t, []refusal{
		{"tomorrow", form("kit-inside-1", func(f *InspectionForm) { f.On = today + 1 }), says("INVALID on")},
		{"at nothing", form("kit-inside-1", func(f *InspectionForm) { f.KitID = "" }), says("INVALID deviceId", "INVALID kind")},
		{"at a device and a kit", form("kit-inside-1", func(f *InspectionForm) { f.DeviceID = "A04" }), says("INVALID deviceId")},
		{"at a kit nobody knows", form("kit-inside-1", func(f *InspectionForm) { f.KitID = "K99" }), says("NOT_FOUND kitId")},
		{"from a kit's lower controls", form("kit-inside-1", func(f *InspectionForm) { f.Kind = groundhand.DailyLowerControls }), says("INVALID kind")},
		{"inside a device", form("device-daily-1", func(f *InspectionForm) { f.Kind = groundhand.MonthlyInside }), says("INVALID kind")},
		{"by no list", form("kit-inside-1", func(f *InspectionForm) { f.Checklist = "" }), says("INVALID checklist")},
		{"by a list nobody knows", form("kit-inside-1", func(f *InspectionForm) { f.Checklist = "kit, \x00first version" }), says("INVALID checklist")},
		{"by the list of another look", form("kit-inside-1", func(f *InspectionForm) { f.Checklist = "kit-yearly-1" }), says("INVALID checklist")},
		{"by the list of another thing", form("kit-yearly-1", func(f *InspectionForm) { f.KitID, f.DeviceID = "", "A04" }), says("INVALID checklist")},
		{"before any list held", form("kit-inside-1", func(f *InspectionForm) { f.On = groundhand.MustDate("2022-12-31") }), says("INVALID checklist")},
		{"with a line missing", form("kit-inside-1", func(f *InspectionForm) { f.Lines = f.Lines[1:] }), says("INVALID lines")},
		{"with nothing answered", form("kit-outside-1", func(f *InspectionForm) { f.Lines = nil }),
			says("INVALID lines", "INVALID lines", "INVALID lines", "INVALID lines", "INVALID lines", "INVALID lines", "INVALID lines")},
		{"with a line twice", form("kit-inside-1", func(f *InspectionForm) { f.Lines = append(f.Lines, f.Lines[0]) }), says("INVALID lines[12].line")},
		{"with a line of another list", form("kit-inside-1", func(f *InspectionForm) { f.Lines[2].Line = "boom-clean" }), says("INVALID lines", "INVALID lines[2].line")},
		{"with an answer that is none", form("kit-inside-1", func(f *InspectionForm) { f.Lines[1].Found = "MAYBE" }), says("INVALID lines[1].found")},
		{"with a critical line that does not apply", form("kit-inside-1", func(f *InspectionForm) { f.Lines[0].Found = groundhand.StepNotApplicable }), says("INVALID lines[0].found")},
		{"with sixty-one lines", form("kit-inside-1", func(f *InspectionForm) { f.Lines = make(groundhand.InspectionLines, 61) }), says("TOO_LARGE lines")},
		{"in service with a critical line not in order", func(sc *scene) error {
			return try(sc, sc.desk.Inspect, looked(today, "kit-inside-1", "slings", "hold"))
		}, says("INVALID result")},
		{"and that line called uncritical", form("kit-inside-1", func(f *InspectionForm) { f.Lines[3].Critical, f.Lines[3].Found = false, groundhand.StepNo }), says("INVALID result")},
		{"a result that is none", form("kit-inside-1", func(f *InspectionForm) { f.Result = "FINE" }), says("INVALID result")},
		{"seconds of a kit", form("kit-inside-1", func(f *InspectionForm) { f.LoweringSeconds = 200 }), says("INVALID loweringSeconds")},
		{"seconds of a daily look", form("device-daily-1", func(f *InspectionForm) { f.LoweringSeconds = 200 }), says("INVALID loweringSeconds")},
		{"more than an hour of lowering", form("device-monthly-1", func(f *InspectionForm) { f.LoweringSeconds = 3601 }), says("INVALID loweringSeconds")},
		{"seconds below nothing", form("device-monthly-1", func(f *InspectionForm) { f.LoweringSeconds = -1 }), says("INVALID loweringSeconds")},
		{"timed without seconds", form("device-monthly-1", func(f *InspectionForm) { f.LoweringSeconds = 0 }), says("INVALID loweringSeconds")},
		{"everything at once", form("kit-inside-1", func(f *InspectionForm) {
			f.On, f.Lines[0].Found, f.Lines[1].Line, f.Result, f.LoweringSeconds, f.KitID = 0, "", "", groundhand.Returned, 5, "K99"
		}), says("INVALID on", "INVALID lines[0].found", "INVALID lines[1].line", "INVALID lines", "INVALID remarks", "INVALID loweringSeconds", "NOT_FOUND kitId", "CONFLICT result")},
	})
}

func TestALineMayNotApplyWhereTheListSaysSo(t *testing.T) {
	sc := newScene(t)
	f := looked(today, "kit-yearly-1")
	for i, line := range f.Lines {
		if line.Line == "function-test" || line.Line == "reach" || !line.Critical {
			f.Lines[i].Found = groundhand.StepNotApplicable
		}
	}
	must(sc, sc.desk.Inspect, f)
	monthly := looked(today, "device-monthly-1", checklist.LoweringTimed)
	monthly.LoweringSeconds = 0
	must(sc, sc.desk.Inspect, monthly)
}

// Whoever found it does not alone return it, and nothing that is retired comes back. Common practice, no source.
func TestReturnsAreRefused(t *testing.T) {
	day := groundhand.MustDate("2025-06-09")
	inside := looked(day, "kit-inside-1")
	back := returned(looked(today, "kit-inside-1"))
	asOther := func(sc *scene, f InspectionForm) error {
		_, err := sc.desk.Inspect(sc.ctx, sc.account("abena", groundhand.Inspector, sc.keahi), sc.key(), f)
		return err
	}
	walk(t, []refusal{
		{"of what is in service", func(sc *scene) error { return try(sc, sc.desk.Inspect, back) }, says("CONFLICT result")},
		{"by the finder", func(sc *scene) error {
			must(sc, sc.desk.Inspect, out(inside))
			return sc.after(func() error { return try(sc, sc.desk.Inspect, back) })
		}, says("CONFLICT result")},
		{"by the one who raised the defect", func(sc *scene) error {
			_, err := sc.desk.RaiseDefect(sc.ctx, sc.inspector, sc.key(), sc.defect())
			require.NoError(sc.t, err)
			return sc.after(func() error { return try(sc, sc.desk.Inspect, back) })
		}, says("CONFLICT result")},
		{"by one of two finders", func(sc *scene) error {
			must(sc, sc.desk.Inspect, out(inside))
			require.NoError(sc.t, asOtherRaises(sc, sc.defect()))
			return sc.after(func() error { return asOther(sc, back) })
		}, says("CONFLICT result")},
		{"without saying what was done", func(sc *scene) error {
			must(sc, sc.desk.RaiseDefect, sc.defect())
			f := back
			f.Remarks = ""
			return sc.after(func() error { return try(sc, sc.desk.Inspect, f) })
		}, says("INVALID remarks")},
		{"of what is retired", func(sc *scene) error {
			must(sc, sc.desk.RaiseDefect, sc.defect(func(f *DefectForm) { f.Cause = groundhand.Retired }))
			return sc.after(func() error { return try(sc, sc.desk.Inspect, back) })
		}, says("CONFLICT kitId")},
		{"before it was found", func(sc *scene) error {
			must(sc, sc.desk.RaiseDefect, sc.defect())
			f := back
			f.On = groundhand.MustDate("2025-06-10")
			return sc.after(func() error { return try(sc, sc.desk.Inspect, f) })
		}, says("CONFLICT result")},
		{"with a critical line not in order", func(sc *scene) error {
			must(sc, sc.desk.RaiseDefect, sc.defect())
			return sc.after(func() error { return try(sc, sc.desk.Inspect, returned(looked(today, "kit-inside-1", "slings"))) })
		}, says("INVALID result")},
		{"by an account of nobody", func(sc *scene) error {
			must(sc, sc.desk.RaiseDefect, sc.defect())
			nobody := sc.account("desk", groundhand.Inspector, "")
			return sc.after(func() error { _, err := sc.desk.Inspect(sc.ctx, nobody, sc.key(), back); return err })
		}, says("FORBIDDEN result")},
	})
}

func TestAReturnSettlesEverythingBeforeIt(t *testing.T) {
	sc := newScene(t)
	must(sc, sc.desk.Inspect, looked(groundhand.MustDate("2025-06-08"), "kit-outside-1"))
	_, err := sc.desk.Inspect(sc.ctx, sc.account("abena", groundhand.Inspector, sc.keahi), sc.key(), out(looked(groundhand.MustDate("2025-06-09"), "kit-inside-1")))
	require.NoError(t, err)
	must(sc, sc.desk.RaiseDefect, sc.defect(func(f *DefectForm) { f.At = sc.moment("2025-06-10", 7, 0) }))
	must(sc, sc.desk.Inspect, looked(groundhand.MustDate("2025-06-10"), "kit-outside-1")) // finds nothing, and returns nothing
	back := returned(looked(today, "kit-inside-1"))
	must(sc, sc.desk.Inspect, back)
	sc.refused(func() error { return try(sc, sc.desk.Inspect, back) }, "CONFLICT result")
	sc.refused(func() error {
		return try(sc, sc.desk.RaiseDefect, sc.defect(func(f *DefectForm) { f.At = sc.moment("2025-06-10", 8, 0) }))
	}, "CONFLICT at")
	sc.refused(func() error {
		return try(sc, sc.desk.Inspect, out(looked(groundhand.MustDate("2025-06-10"), "kit-inside-1")))
	}, "CONFLICT result")
}

func TestAForemanMakesTheLooksOfACrew(t *testing.T) {
	sc := newScene(t)
	foreman := sc.account("maren", groundhand.CrewForeman, sc.maren)
	as := func(f InspectionForm) func() error {
		return func() error { _, err := sc.desk.Inspect(sc.ctx, foreman, sc.key(), f); return err }
	}
	for _, list := range []string{"kit-outside-1", "device-daily-1", "device-weekly-1"} {
		require.NoError(t, as(looked(today, list))(), list)
	}
	for _, list := range []string{"kit-inside-1", "kit-yearly-1", "device-monthly-1", "device-yearly-1"} {
		sc.refused(as(looked(today, list)), "FORBIDDEN kind")
	}
	require.NoError(t, as(out(looked(today, "kit-outside-1", "seal")))())
	sc.refused(as(returned(looked(today, "kit-outside-1"))), "FORBIDDEN result", "CONFLICT result")

	monthly := must(sc, sc.desk.Inspect, looked(today, "device-monthly-1"))
	sc.refused(func() error {
		_, err := sc.desk.Withdraw(sc.ctx, foreman, sc.key(), WithdrawalForm{EntryID: monthly.ID, Because: "typing"})
		return err
	}, "FORBIDDEN entryId")
	weekly := looked(today, "device-weekly-1")
	weekly.Replaces, weekly.Because = monthly.ID, "typing"
	sc.refused(as(weekly), "FORBIDDEN replaces")
}

// A withdrawal or a correction is no way around a return.
func TestWhatWasFoundIsTakenBackByAnother(t *testing.T) {
	sc := newScene(t)
	found := must(sc, sc.desk.Inspect, out(looked(today, "kit-inside-1", "hooks")))
	sc.refused(func() error {
		_, err := sc.desk.Withdraw(sc.ctx, sc.inspector, sc.key(), WithdrawalForm{EntryID: found.ID, Because: "typing"})
		return err
	}, "CONFLICT entryId")
	fine := looked(today, "kit-inside-1")
	fine.Replaces, fine.Because = found.ID, "typing"
	sc.refused(func() error { return try(sc, sc.desk.Inspect, fine) }, "CONFLICT replaces")

	more := out(looked(today, "kit-inside-1", "hooks", "slings"))
	more.Replaces, more.Because = found.ID, "the slings too"
	again := must(sc, sc.desk.Inspect, more)
	other := sc.account("abena", groundhand.Inspector, sc.keahi)
	_, err := sc.desk.Withdraw(sc.ctx, other, sc.key(), WithdrawalForm{EntryID: again.ID, Because: "it was another kit"})
	require.NoError(t, err)
}
