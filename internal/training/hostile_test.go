package training

import (
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"groundhand/internal/checklist"
	"groundhand/internal/groundhand"
)

// FuzzDrillForm throws anything at the check of a run: it must not fall over, must say something short, and must let nothing through
// that the records could not hold.
func FuzzDrillForm(f *testing.F) {
	f.Add("PAIR_KIT", "LEAD", "w1", "w2", "windy", int32(739413), int64(0), 900, 80, 5, 95)
	f.Add("LONE_KIT", "LONE", "", "w1", "\x00\u202e", int32(-1), int64(1<<62), -1, 1<<40, 11, -5)
	f.Add("", "CASUALTY", strings.Repeat("w", 70), "w w", strings.Repeat("é", 201), int32(0), int64(-1<<62), 0, 0, 0, 7201)
	zone := time.FixedZone("", 3600)
	now := groundhand.InstantOf(time.Date(2025, time.June, 11, 18, 20, 0, 0, time.UTC))
	f.Fuzz(func(t *testing.T, method, role, one, two, text string, on int32, at int64, height, mass, stage, seconds int) {
		c := &fields{now: now, zone: zone}
		form := DrillForm{Runs: []RunForm{{
			When: When{groundhand.Date(on), groundhand.Instant(at)}, Method: groundhand.Method(method), FamilyID: "F1", Weather: text, Remarks: text,
			HeightCM: height, CasualtyKind: groundhand.Mannequin, CasualtyKG: mass,
			Marks: groundhand.StageMarks{{Stage: groundhand.Stage(stage), Seconds: seconds}},
			Parts: []PartForm{{WorkerID: groundhand.WorkerID(one), Role: groundhand.Role(role)}, {WorkerID: groundhand.WorkerID(two), Role: groundhand.Observer}},
		}}}
		form.check(c)
		digestOf(form)
		if c.Any() {
			for _, e := range groundhand.Refusals(c.Err()) {
				if !strings.HasPrefix(e.Field, "runs[0].") || len(e.Message) > 600 || !utf8.ValidString(e.Message) {
					t.Fatalf("refusal %q: %q", e.Field, e.Message)
				}
			}
			return
		}
		day := form.Runs[0].day(c)
		switch {
		case day < earliestDay || day > c.today(), at > int64(now), at != 0 && on != 0 && day != groundhand.Date(on):
			t.Fatalf("a run on %s at %d was let through", day, at)
		case one == "" || two == "" || one == two, height < 0, mass > mostKG, stage > 10, seconds < 0, !utf8.ValidString(text):
			t.Fatalf("%+v was let through", form)
		}
	})
}

func FuzzWellFormed(f *testing.F) {
	for _, id := range []string{"V1", "018f3c7e-7a1a-7c3e-8d3a-0123456789ab", "2025-0001", "", "a b", "a\x00", strings.Repeat("x", 65)} {
		f.Add(id)
	}
	f.Fuzz(func(t *testing.T, id string) {
		if wellFormed(id) && (id == "" || len(id) > longestID || !utf8.ValidString(id) || strings.ContainsAny(id, " \t\n\"'`;%\x00")) {
			t.Fatalf("%q passes for an id", id)
		}
	})
}

// FuzzInspectionForm throws anything at the check of a look: what is let through answers every line of its list once.
func FuzzInspectionForm(f *testing.F) {
	f.Add("kit-inside-1", "MONTHLY_INSIDE", "K04", "whole-rope", "YES", "IN_SERVICE", int32(739413), int64(0), 0)
	f.Add("device-monthly-1", "DEVICE_MONTHLY", "", "lowering-timed", "NO", "RETURNED", int32(0), int64(1<<62), 3601)
	f.Add("\xff", "", strings.Repeat("k", 70), "\u202e", "", "", int32(-1), int64(-1<<62), -1)
	zone := time.FixedZone("", 3600)
	now := groundhand.InstantOf(time.Date(2025, time.June, 11, 18, 20, 0, 0, time.UTC))
	f.Fuzz(func(t *testing.T, id, kind, kit, line, found, result string, on int32, at int64, seconds int) {
		c := &fields{now: now, zone: zone}
		form := InspectionForm{When: When{groundhand.Date(on), groundhand.Instant(at)}, KitID: groundhand.KitID(kit), Kind: groundhand.InspectionKind(kind),
			Checklist: id, Lines: checklist.Answered(id, map[string]groundhand.StepAnswer{line: groundhand.StepAnswer(found)}),
			Result: groundhand.InspectionResult(result), LoweringSeconds: seconds}
		if kit == "" {
			form.DeviceID = "A04"
		}
		form.check(c)
		lines := form.lines(form.lookedOn(c))
		if c.Any() {
			for _, e := range groundhand.Refusals(c.Err()) {
				if len(e.Message) > 600 || !utf8.ValidString(e.Message) {
					t.Fatalf("refusal %q: %q", e.Field, e.Message)
				}
			}
			return
		}
		list, ok := checklist.ByID(id)
		if !ok || string(list.Kind) != kind || len(lines) != len(list.Lines) || seconds < 0 || seconds > longestLowering {
			t.Fatalf("%+v was let through", form)
		}
		for _, l := range lines {
			if l.Critical && l.Found == groundhand.StepNo && form.Result != groundhand.OutOfService {
				t.Fatalf("%+v was let through", form)
			}
		}
	})
}
