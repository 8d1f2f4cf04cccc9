package rotation

import (
	"maps"
	"slices"

	"groundhand/internal/strictjson"
)

// largest is how much JSON will be read in one go; 20,000 workers take about 20 MB.
const largest = 128 << 20

func newForm() *strictjson.Form { return strictjson.NewForm() }

// Decode reads a problem in the drill-plan-problem/1 form. The error is a groundhand.Errors with every fault under the path of its
// field, as "slots[3].seats".
func Decode(data []byte) (Problem, error) {
	f := newForm()
	r, ok := f.Open(data, ProblemFormat, largest)
	if !ok {
		return Problem{}, f.Err()
	}
	p := readProblem(r)
	r.Done()
	p.validate(f)
	return p, f.Err()
}

// DecodePlan reads a plan in the drill-plan/1 form. Only the sessions are needed; claimed is false when no objective is given. Fields that
// other planners add are passed over.
func DecodePlan(data []byte) (p Plan, claimed bool, err error) {
	f := newForm()
	r, ok := f.Open(data, PlanFormat, largest)
	if !ok {
		return Plan{}, false, f.Err()
	}
	p.Problem = r.Label("problem")
	p.Sessions = strictjson.List(r, "sessions", true, readSession)
	if v, path, given := r.Value("objective", false, true); given {
		p.Objective, claimed = readObjective(f.Object(path, v)), true
	}
	return p, claimed, f.Err()
}

func readProblem(r strictjson.Record) Problem {
	return Problem{
		Name: r.Label("name"), Start: r.Day("start"), End: r.Day("end"),
		WorkDays: strictjson.Texts(r, "work_days", false), Holidays: strictjson.Days(r, "holidays", false),
		VisitMinutes:   r.WholeOr("visit_minutes", 30),
		Yards:          strictjson.Records(r, "yards", true, readYard),
		Travel:         strictjson.Records(r, "travel_minutes", true, readTravel),
		Qualifications: strictjson.Records(r, "qualifications", true, readQualification),
		Crews:          strictjson.Records(r, "crews", true, readCrew),
		Workers:        strictjson.Records(r, "workers", true, readWorker),
		Instructors:    strictjson.Records(r, "instructors", true, readInstructor),
		Slots:          strictjson.Records(r, "slots", true, readSlot),
		Pinned:         strictjson.Records(r, "pinned", false, readPin),
	}
}

func readYard(r strictjson.Record) Yard { return Yard{ID: r.Text("id"), Name: r.Label("name")} }

func readTravel(r strictjson.Record) Travel {
	return Travel{From: r.Text("from"), To: r.Text("to"), Minutes: r.Whole("minutes")}
}

func readQualification(r strictjson.Record) Qualification {
	return Qualification{ID: r.Text("id"), Name: r.Label("name"), PeoplePerRun: r.Whole("people_per_run"),
		ValidMonths: r.Whole("valid_months"), AimDaysBefore: r.WholeOr("aim_days_before", 0)}
}

func readCrew(r strictjson.Record) Crew {
	return Crew{ID: r.Text("id"), Name: r.Label("name"), Yard: r.Text("yard"), Device: r.Label("device"),
		Cover: strictjson.Records(r, "cover", true, readRule)}
}

func readRule(r strictjson.Record) CoverRule {
	return CoverRule{AnyOf: strictjson.Texts(r, "any_of", true), AtLeast: r.Whole("at_least")}
}

func readWorker(r strictjson.Record) Worker {
	return Worker{ID: r.Text("id"), Name: r.Label("name"), Crew: r.Label("crew"), Yard: r.Text("yard"), Trade: r.Label("trade"),
		Tickets: strictjson.Records(r, "tickets", true, readTicket),
		Leave:   strictjson.Records(r, "leave", false, readStretch), Standby: strictjson.Records(r, "standby", false, readStretch)}
}

func readTicket(r strictjson.Record) Ticket {
	return Ticket{Qualification: r.Text("qualification"), Device: r.Label("device"),
		ValidThrough: r.DayOrNone("valid_through"), Earliest: r.DayOrNone("earliest")}
}

func readStretch(r strictjson.Record) Stretch { return Stretch{From: r.Day("from"), To: r.Day("to")} }

func readInstructor(r strictjson.Record) Instructor {
	return Instructor{ID: r.Text("id"), Name: r.Label("name"), Worker: r.Label("worker")}
}

func readSlot(r strictjson.Record) Slot {
	return Slot{ID: r.Text("id"), Name: r.Label("name"), Date: r.Day("date"), Part: r.Text("part"), Yard: r.Text("yard"),
		Device: r.Label("device"), Instructor: r.Text("instructor"), Truck: r.Label("truck"),
		Qualifications: strictjson.Texts(r, "qualifications", true), Seats: r.Whole("seats"), MaxRuns: r.Whole("max_runs"),
		Minutes: r.Whole("minutes"), Cost: r.WholeOr("cost", 1)}
}

func readPin(r strictjson.Record) Pin {
	return Pin{Slot: r.Text("slot"), Worker: r.Text("worker"), Renews: strictjson.Texts(r, "renews", true)}
}

func readSession(r strictjson.Record, path string, v any) Session {
	one := r.Object(path, v)
	return Session{Slot: one.Text("slot"), Attend: strictjson.List(one, "attend", true, readAttendee)}
}

func readAttendee(r strictjson.Record, path string, v any) Attendee {
	one := r.Object(path, v)
	return Attendee{Worker: one.Text("worker"), Renews: strictjson.Texts(one, "renews", true)}
}

func readObjective(r strictjson.Record) Objective {
	var v [6]int
	for i, name := range LevelNames {
		v[i] = r.Whole(name)
	}
	return objectiveOf(v)
}

func sortedKeys[K ~string, V any](m map[K]V) []K { return slices.Sorted(maps.Keys(m)) }
