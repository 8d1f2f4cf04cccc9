package training

import (
	"math"
	"strings"
	"testing"

	"groundhand/internal/groundhand"
)

// refusal is a bad form and everything that has to be said about it.
type refusal struct {
	name string
	do   func(sc *scene) error
	want []string
}

func walk(t *testing.T, cases []refusal) {
	t.Helper()
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			sc := newScene(t)
			sc.refused(func() error { return c.do(sc) }, c.want...)
		})
	}
}

func says(want ...string) []string { return want }

func TestWorkerFormsAreRefused(t *testing.T) {
	form := func(change func(*WorkerForm)) func(*scene) error {
		return func(sc *scene) error {
			f := workerForm("Priya Nandakumar-Vell", "2001", groundhand.Qualified)
			change(&f)
			return try(sc, sc.desk.AddWorker, f)
		}
	}
	walk(t, []refusal{
		{"no name", form(func(f *WorkerForm) { f.Name = "" }), says("INVALID name")},
		{"a name of control characters", form(func(f *WorkerForm) { f.Name = "Pri\x00ya" }), says("INVALID name")},
		{"a name that turns the direction of writing", form(func(f *WorkerForm) { f.Name = "Pri\u202eya" }), says("INVALID name")},
		{"a name that is no text", form(func(f *WorkerForm) { f.Name = "Pri\xffya" }), says("INVALID name")},
		{"a name of 201 characters", form(func(f *WorkerForm) { f.Name = strings.Repeat("é", 201) }), says("INVALID name")},
		{"a name that ends in a space", form(func(f *WorkerForm) { f.Name = "Priya " }), says("INVALID name")},
		{"a qualified worker with an apprentice's year", form(func(f *WorkerForm) { f.Year = 2 }), says("INVALID year")},
		{"an apprentice without a year", form(func(f *WorkerForm) { f.Grade = groundhand.Apprentice }), says("INVALID year")},
		{"a grade that does not exist", form(func(f *WorkerForm) { f.Grade = "MASTER" }), says("INVALID grade")},
		{"a day before 1950", form(func(f *WorkerForm) { f.FromOn = groundhand.MustDate("1949-12-31") }), says("INVALID fromOn")},
		{"a day more than five years ahead", form(func(f *WorkerForm) { f.FromOn = groundhand.MustDate("2030-06-12") }), says("INVALID fromOn")},
		{"an unknown yard", form(func(f *WorkerForm) { f.YardID = "NOWHERE" }), says("NOT_FOUND yardId")},
		{"a staff number that somebody has", form(func(f *WorkerForm) { f.Number = "1002" }), says("CONFLICT number")},
		{"a correction of a person", form(func(f *WorkerForm) { f.Replaces, f.Because = "id-000001", "typing" }), says("INVALID replaces")},
		{"several at once, recorded and not", form(func(f *WorkerForm) {
			f.Name, f.Relation, f.YardID, f.Number = "", "FRIEND", "NOWHERE", "1002"
		}), says("INVALID name", "INVALID relation", "NOT_FOUND yardId", "CONFLICT number")},
	})
}

func TestLeaveIsRefused(t *testing.T) {
	form := func(change func(*scene, *UnavailableForm)) func(*scene) error {
		return func(sc *scene) error {
			f := UnavailableForm{WorkerID: sc.maren, Kind: groundhand.Leave, FromAt: sc.moment("2025-07-01", 0, 0), ToAt: sc.moment("2025-07-15", 0, 0)}
			change(sc, &f)
			return try(sc, sc.desk.SetUnavailable, f)
		}
	}
	walk(t, []refusal{
		{"it ends before it starts", form(func(sc *scene, f *UnavailableForm) { f.ToAt = sc.moment("2025-06-30", 0, 0) }), says("INVALID toAt")},
		{"it has no start", form(func(sc *scene, f *UnavailableForm) { f.FromAt = 0 }), says("INVALID fromAt")},
		{"it lies more than five years ahead", form(func(sc *scene, f *UnavailableForm) { f.FromAt, f.ToAt = sc.moment("2030-06-12", 0, 0), 0 }), says("INVALID fromAt")},
		{"it lies at the end of time", form(func(sc *scene, f *UnavailableForm) { f.ToAt = math.MaxInt64 }), says("INVALID toAt")},
		{"it lies before 1950", form(func(sc *scene, f *UnavailableForm) { f.FromAt = sc.moment("1949-12-31", 23, 59) }), says("INVALID fromAt")},
		{"the reason is longer than 4000 characters", form(func(sc *scene, f *UnavailableForm) { f.Reason = strings.Repeat("a", 4001) }), says("INVALID reason")},
		{"the kind does not exist", form(func(sc *scene, f *UnavailableForm) { f.Kind = "TIRED" }), says("INVALID kind")},
		{"nobody is meant", form(func(sc *scene, f *UnavailableForm) { f.WorkerID = "" }), says("INVALID workerId")},
		{"an unknown worker", form(func(sc *scene, f *UnavailableForm) { f.WorkerID = "nobody" }), says("NOT_FOUND workerId")},
	})
}

func TestMembershipsAreRefused(t *testing.T) {
	loan := func(f MembershipForm) MembershipForm { f.Reason = groundhand.Loan; return f }
	walk(t, []refusal{
		{"it ends before it starts", func(sc *scene) error {
			return try(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2025-06-10", "2025-06-09"))
		}, says("INVALID toOn")},
		{"two permanent places on the same days", func(sc *scene) error {
			must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2024-01-01", ""))
			return sc.after(func() error { return try(sc, sc.desk.JoinCrew, member("V2", sc.maren, "2025-06-10", "")) })
		}, says("CONFLICT fromOn")},
		{"the last day of one is the first of the other", func(sc *scene) error {
			must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2024-01-01", "2025-06-10"))
			return sc.after(func() error { return try(sc, sc.desk.JoinCrew, member("V2", sc.maren, "2025-06-10", "")) })
		}, says("CONFLICT fromOn")},
		{"two loans on the same day", func(sc *scene) error {
			must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2024-01-01", ""))
			must(sc, sc.desk.JoinCrew, loan(member("V2", sc.maren, "2025-06-12", "2025-06-13")))
			return sc.after(func() error {
				return try(sc, sc.desk.JoinCrew, loan(member("V1", sc.maren, "2025-06-13", "2025-06-14")))
			})
		}, says("CONFLICT fromOn")},
		{"a loan without an end", func(sc *scene) error {
			return try(sc, sc.desk.JoinCrew, loan(member("V2", sc.maren, "2025-06-12", "")))
		}, says("INVALID toOn")},
		{"a moment that is not on its day", func(sc *scene) error {
			f := member("V1", sc.maren, "2025-06-12", "2025-06-13")
			f.FromAt, f.ToAt = sc.moment("2025-06-11", 23, 59), sc.moment("2025-06-14", 0, 0)
			return try(sc, sc.desk.JoinCrew, f)
		}, says("INVALID fromAt", "INVALID toAt")},
		{"a moment without its day", func(sc *scene) error {
			f := member("V1", sc.maren, "2025-06-12", "")
			f.ToAt = sc.moment("2025-06-12", 12, 0)
			return try(sc, sc.desk.JoinCrew, f)
		}, says("INVALID toAt")},
		{"an afternoon that ends at noon", func(sc *scene) error {
			f := loan(member("V1", sc.maren, "2025-06-12", "2025-06-12"))
			f.FromAt, f.ToAt = sc.moment("2025-06-12", 13, 0), sc.moment("2025-06-12", 12, 0)
			return try(sc, sc.desk.JoinCrew, f)
		}, says("INVALID toAt")},
		{"moments at the end of time", func(sc *scene) error {
			f := loan(member("V1", sc.maren, "2025-06-12", "2025-06-12"))
			f.FromAt, f.ToAt = math.MinInt64, math.MaxInt64
			return try(sc, sc.desk.JoinCrew, f)
		}, says("INVALID fromAt", "INVALID fromAt", "INVALID toAt", "INVALID toAt")},
		{"two halves of a day that overlap by a minute", func(sc *scene) error {
			morning := loan(member("V1", sc.maren, "2025-06-12", "2025-06-12"))
			morning.ToAt = sc.moment("2025-06-12", 12, 1)
			must(sc, sc.desk.JoinCrew, morning)
			noon := loan(member("V2", sc.maren, "2025-06-12", "2025-06-12"))
			noon.FromAt = sc.moment("2025-06-12", 12, 0)
			return sc.after(func() error { return try(sc, sc.desk.JoinCrew, noon) })
		}, says("CONFLICT fromOn")},
		{"an unknown crew and an unknown worker", func(sc *scene) error {
			return try(sc, sc.desk.JoinCrew, member("V9", "nobody", "2025-06-12", ""))
		}, says("NOT_FOUND crewId", "NOT_FOUND workerId")},
		{"a part and a reason that do not exist", func(sc *scene) error {
			f := member("V1", sc.maren, "2025-06-12", "2025-06-13")
			f.Part, f.Reason = "COOK", "FUN"
			return try(sc, sc.desk.JoinCrew, f)
		}, says("INVALID part", "INVALID reason")},
	})
}

func TestThingsAreRefused(t *testing.T) {
	dev := func(change func(*DeviceForm)) func(*scene) error {
		return func(sc *scene) error { f := device("A05"); change(&f); return try(sc, sc.desk.AddDevice, f) }
	}
	bag := func(change func(*KitForm)) func(*scene) error {
		return func(sc *scene) error { f := kit("K05"); change(&f); return try(sc, sc.desk.AddKit, f) }
	}
	walk(t, []refusal{
		{"a device of no yard", dev(func(f *DeviceForm) { f.YardID = "" }), says("INVALID yardId")},
		{"a device of an unknown family in an unknown yard", dev(func(f *DeviceForm) { f.FamilyID, f.YardID = "F9", "NOWHERE" }), says("NOT_FOUND familyId", "NOT_FOUND yardId")},
		{"a device with a name that a crew has", dev(func(f *DeviceForm) { f.ID = "V1" }), says("CONFLICT id")},
		{"a device with a name that is no name", dev(func(f *DeviceForm) { f.ID = "A 05; DROP" }), says("INVALID id")},
		{"a device that reaches nowhere", dev(func(f *DeviceForm) { f.PlatformCM = 0 }), says("INVALID platformCm")},
		{"a kit of no parts of line", bag(func(f *KitForm) { f.Parts = 0 }), says("INVALID parts")},
		{"a kit of nine parts of line", bag(func(f *KitForm) { f.Parts = 9 }), says("INVALID parts")},
		{"a kit without rope", bag(func(f *KitForm) { f.RopeCM, f.TailCM = 0, 0 }), says("INVALID ropeCm")},
		{"a kit of more than 500 m of rope", bag(func(f *KitForm) { f.RopeCM = 50001 }), says("INVALID ropeCm")},
		{"a tail longer than the rope", bag(func(f *KitForm) { f.TailCM = 6001 }), says("INVALID tailCm")},
		{"a rated load below nothing", bag(func(f *KitForm) { f.RatedLoadKG = -1 }), says("INVALID ratedLoadKg")},
		{"a rated load over a ton", bag(func(f *KitForm) { f.RatedLoadKG = 1001 }), says("INVALID ratedLoadKg")},
		{"a kit that retires before it is used", bag(func(f *KitForm) { f.RetiresOn = groundhand.MustDate("2023-05-01") }), says("INVALID retiresOn")},
		{"a kit placed nowhere", func(sc *scene) error {
			return try(sc, sc.desk.PlaceKit, PlaceForm{When: When{On: today}, KitID: "K04"})
		}, says("INVALID deviceId")},
		{"a kit placed on a device and in a yard", func(sc *scene) error {
			return try(sc, sc.desk.PlaceKit, PlaceForm{When: When{On: today}, KitID: "K04", DeviceID: "A04", YardID: "VARROW"})
		}, says("INVALID deviceId")},
		{"a road from a yard to itself", func(sc *scene) error {
			return try(sc, sc.desk.AddRoad, RoadForm{When: When{On: today}, FromYardID: "VARROW", ToYardID: "VARROW", Minutes: 10})
		}, says("INVALID toYardId")},
		{"a second road between the same yards", func(sc *scene) error {
			must(sc, sc.desk.AddRoad, RoadForm{When: When{On: today}, FromYardID: "VARROW", ToYardID: "STENHOLT", Minutes: 40})
			return sc.after(func() error {
				return try(sc, sc.desk.AddRoad, RoadForm{When: When{On: today}, FromYardID: "STENHOLT", ToYardID: "VARROW", Minutes: 50})
			})
		}, says("CONFLICT toYardId")},
		{"a crew of nobody with unknown families", func(sc *scene) error {
			f := crew("V3")
			f.NormalSize, f.Families = 0, groundhand.List{"F1", "F8", "F9"}
			return try(sc, sc.desk.AddCrew, f)
		}, says("INVALID normalSize", "NOT_FOUND families[1]", "NOT_FOUND families[2]")},
	})
}

func TestDrillsAreRefused(t *testing.T) {
	form := func(change func(*scene, *RunForm)) func(*scene) error {
		return func(sc *scene) error {
			return try(sc, sc.desk.RecordDrill, sc.drill(func(r *RunForm) { change(sc, r) }))
		}
	}
	walk(t, []refusal{
		{"no run at all", func(sc *scene) error { return try(sc, sc.desk.RecordDrill, DrillForm{}) }, says("INVALID runs")},
		{"more than a hundred runs", func(sc *scene) error {
			return try(sc, sc.desk.RecordDrill, DrillForm{Runs: make([]RunForm, 101)})
		}, says("TOO_LARGE runs")},
		{"a run tomorrow", form(func(sc *scene, r *RunForm) { r.When = When{On: today + 1} }), says("INVALID runs[0].on")},
		{"a run a minute ahead", form(func(sc *scene, r *RunForm) { r.When = When{At: sc.moment("2025-06-11", 19, 21)} }), says("INVALID runs[0].at")},
		{"a run before 1950", form(func(sc *scene, r *RunForm) { r.When = When{On: groundhand.MustDate("1949-12-31")} }), says("INVALID runs[0].on")},
		{"a run on no day", form(func(sc *scene, r *RunForm) { r.When = When{} }), says("INVALID runs[0].on")},
		{"a moment that is not on the day", form(func(sc *scene, r *RunForm) { r.On = groundhand.MustDate("2025-06-09") }), says("INVALID runs[0].at")},
		{"stage marks that decrease", form(func(sc *scene, r *RunForm) {
			r.Marks = groundhand.StageMarks{{Stage: groundhand.S0}, {Stage: groundhand.S5, Seconds: 80}, {Stage: groundhand.S6, Seconds: 79}}
		}), says("INVALID runs[0].marks[2].seconds")},
		{"a stage mark that does not exist", form(func(sc *scene, r *RunForm) { r.Marks = groundhand.StageMarks{{Stage: 11, Seconds: 5}} }), says("INVALID runs[0].marks[0].stage")},
		{"a lone rescuer with the two-person method", form(func(sc *scene, r *RunForm) {
			r.Parts = []PartForm{{WorkerID: sc.maren, Role: groundhand.Lone}}
		}), says("INVALID runs[0].parts[0].role")},
		{"a lead with the lone method", form(func(sc *scene, r *RunForm) {
			r.Method, r.Parts = groundhand.LoneKit, []PartForm{{WorkerID: sc.maren, Role: groundhand.Lead}}
		}), says("INVALID runs[0].parts[0].role")},
		{"a lone rescuer with manual lowering", form(func(sc *scene, r *RunForm) {
			r.Method, r.Parts = groundhand.ManualLowering, []PartForm{{WorkerID: sc.maren, Role: groundhand.Lone}}
		}), says("INVALID runs[0].parts[0].role")},
		{"two leads in a pair run", form(func(sc *scene, r *RunForm) { r.Parts[1].Role = groundhand.Lead }), says("INVALID runs[0].parts[1].role")},
		{"two seconds in a pair run", form(func(sc *scene, r *RunForm) { r.Parts[0].Role = groundhand.Second }), says("INVALID runs[0].parts[1].role")},
		{"a lone rescuer with another beside", form(func(sc *scene, r *RunForm) { r.Method, r.Parts[1].Role = groundhand.PoleTop, groundhand.Lone }), says("INVALID runs[0].parts[1].role")},
		{"the same worker twice", form(func(sc *scene, r *RunForm) { r.Parts[2].WorkerID = sc.maren }), says("INVALID runs[0].parts[2].workerId")},
		{"nobody took part", form(func(sc *scene, r *RunForm) { r.Parts = nil }), says("INVALID runs[0].parts")},
		{"more than thirty people", form(func(sc *scene, r *RunForm) { r.Parts = make([]PartForm, 31) }), says("TOO_LARGE runs[0].parts")},
		{"the rescuer watched the run", form(func(sc *scene, r *RunForm) { r.WatchedBy = sc.maren }), says("INVALID runs[0].parts[0].workerId")},
		{"an observer who failed a critical step", form(func(sc *scene, r *RunForm) { r.Parts[2].CriticalFail = true }), says("INVALID runs[0].parts[2].criticalFail")},
		{"stopped and complete", form(func(sc *scene, r *RunForm) { r.Stopped = true }), says("INVALID runs[0].complete")},
		{"the weight of a person", form(func(sc *scene, r *RunForm) { r.CasualtyKind = groundhand.PersonDown }), says("INVALID runs[0].casualtyKg")},
		{"a method that does not exist", form(func(sc *scene, r *RunForm) { r.Method = "JUMP" }), says("INVALID runs[0].method")},
		{"no control family and no device", form(func(sc *scene, r *RunForm) { r.DeviceID = "" }), says("INVALID runs[0].familyId")},
		{"a family that is not the device's", form(func(sc *scene, r *RunForm) { r.FamilyID = "F3" }), says("CONFLICT runs[0].familyId")},
		{"steps without a name or an answer", form(func(sc *scene, r *RunForm) { r.Steps = groundhand.CriticalSteps{{Step: ""}} }), says("INVALID runs[0].steps[0].step", "INVALID runs[0].steps[0].done")},
		{"remarks over 4000 characters", form(func(sc *scene, r *RunForm) { r.Remarks = strings.Repeat("a", 4001) }), says("INVALID runs[0].remarks")},
		{"unknown people, kit and device, all at once", form(func(sc *scene, r *RunForm) {
			r.KitID, r.DeviceID, r.WatchedBy, r.Parts[0].WorkerID, r.Parts[2].WorkerID = "K99", "A99", "w8", "w9", "w10"
			r.FamilyID = "F1"
		}), says("NOT_FOUND runs[0].kitId", "NOT_FOUND runs[0].deviceId", "NOT_FOUND runs[0].watchedBy", "NOT_FOUND runs[0].parts[0].workerId", "NOT_FOUND runs[0].parts[2].workerId")},
		{"a session that nobody knows", func(sc *scene) error {
			f := sc.drill()
			f.SessionID = "S9"
			return try(sc, sc.desk.RecordDrill, f)
		}, says("NOT_FOUND sessionId")},
		{"a day on which the session was not held", func(sc *scene) error {
			booked := must(sc, sc.desk.BookSession, sc.session())
			f := sc.drill()
			f.SessionID = booked.Session.ID
			return sc.after(func() error { return try(sc, sc.desk.RecordDrill, f) })
		}, says("CONFLICT runs[0].on")},
		{"a second run is wrong too", func(sc *scene) error {
			f := sc.drill()
			second := sc.run()
			second.Method, second.Remarks = "JUMP", "\x07"
			f.Runs[0].WorkClothes = "PERHAPS"
			f.Runs = append(f.Runs, second)
			return try(sc, sc.desk.RecordDrill, f)
		}, says("INVALID runs[0].workClothes", "INVALID runs[1].method", "INVALID runs[1].remarks")},
	})
}
