package rotation

import (
	"maps"
	"slices"

	"groundhand/internal/groundhand"
)

// largest is how much JSON will be read in one go; 20,000 workers take about 20 MB.
const largest = 128 << 20

// Decode reads a problem in the drill-plan-problem/1 form. The error is a groundhand.Errors with every fault under the path of its
// field, as "slots[3].seats".
func Decode(data []byte) (Problem, error) {
	f := newForm()
	r, ok := f.open(data, ProblemFormat)
	if !ok {
		return Problem{}, f.Err()
	}
	p := readProblem(r)
	r.done()
	p.validate(f)
	return p, f.Err()
}

// DecodePlan reads a plan in the drill-plan/1 form. Only the sessions are needed; claimed is false when no objective is given. Fields that
// other planners add are passed over.
func DecodePlan(data []byte) (p Plan, claimed bool, err error) {
	f := newForm()
	r, ok := f.open(data, PlanFormat)
	if !ok {
		return Plan{}, false, f.Err()
	}
	p.Problem = r.label("problem")
	p.Sessions = list(r, "sessions", true, readSession)
	if v, path, given := r.take("objective", false, true); given {
		p.Objective, claimed = readObjective(f.record(path, v)), true
	}
	return p, claimed, f.Err()
}

func (f *form) open(data []byte, format string) (record, bool) {
	if len(data) > largest {
		f.Add(groundhand.CodeTooLarge, "", "The file is larger than %d MB.", largest>>20)
		return record{}, false
	}
	tree, err := parseTree(data)
	if f.Take("", err) != nil || f.Any() {
		return record{}, false
	}
	r := f.record("", tree)
	if got := r.text("format"); got != format {
		f.refuse("format", "The format is %q, not %q.", got, format)
	}
	return r, r.left != nil
}

func readProblem(r record) Problem {
	return Problem{
		Name: r.label("name"), Start: r.day("start"), End: r.day("end"),
		WorkDays: texts(r, "work_days", false), Holidays: days(r, "holidays", false),
		VisitMinutes:   r.wholeOr("visit_minutes", 30),
		Yards:          records(r, "yards", true, readYard),
		Travel:         records(r, "travel_minutes", true, readTravel),
		Qualifications: records(r, "qualifications", true, readQualification),
		Crews:          records(r, "crews", true, readCrew),
		Workers:        records(r, "workers", true, readWorker),
		Instructors:    records(r, "instructors", true, readInstructor),
		Slots:          records(r, "slots", true, readSlot),
		Pinned:         records(r, "pinned", false, readPin),
	}
}

func readYard(r record) Yard { return Yard{ID: r.text("id"), Name: r.label("name")} }

func readTravel(r record) Travel {
	return Travel{From: r.text("from"), To: r.text("to"), Minutes: r.whole("minutes")}
}

func readQualification(r record) Qualification {
	return Qualification{ID: r.text("id"), Name: r.label("name"), PeoplePerRun: r.whole("people_per_run"),
		ValidMonths: r.whole("valid_months"), AimDaysBefore: r.wholeOr("aim_days_before", 0)}
}

func readCrew(r record) Crew {
	return Crew{ID: r.text("id"), Name: r.label("name"), Yard: r.text("yard"), Device: r.label("device"),
		Cover: records(r, "cover", true, readRule)}
}

func readRule(r record) CoverRule {
	return CoverRule{AnyOf: texts(r, "any_of", true), AtLeast: r.whole("at_least")}
}

func readWorker(r record) Worker {
	return Worker{ID: r.text("id"), Name: r.label("name"), Crew: r.label("crew"), Yard: r.text("yard"), Trade: r.label("trade"),
		Tickets: records(r, "tickets", true, readTicket),
		Leave:   records(r, "leave", false, readStretch), Standby: records(r, "standby", false, readStretch)}
}

func readTicket(r record) Ticket {
	return Ticket{Qualification: r.text("qualification"), Device: r.label("device"),
		ValidThrough: r.dayOrNone("valid_through"), Earliest: r.dayOrNone("earliest")}
}

func readStretch(r record) Stretch { return Stretch{From: r.day("from"), To: r.day("to")} }

func readInstructor(r record) Instructor {
	return Instructor{ID: r.text("id"), Name: r.label("name"), Worker: r.label("worker")}
}

func readSlot(r record) Slot {
	return Slot{ID: r.text("id"), Name: r.label("name"), Date: r.day("date"), Part: r.text("part"), Yard: r.text("yard"),
		Device: r.label("device"), Instructor: r.text("instructor"), Truck: r.label("truck"),
		Qualifications: texts(r, "qualifications", true), Seats: r.whole("seats"), MaxRuns: r.whole("max_runs"),
		Minutes: r.whole("minutes"), Cost: r.wholeOr("cost", 1)}
}

func readPin(r record) Pin {
	return Pin{Slot: r.text("slot"), Worker: r.text("worker"), Renews: texts(r, "renews", true)}
}

func readSession(r record, path string, v any) Session {
	one := r.form.record(path, v)
	return Session{Slot: one.text("slot"), Attend: list(one, "attend", true, readAttendee)}
}

func readAttendee(r record, path string, v any) Attendee {
	one := r.form.record(path, v)
	return Attendee{Worker: one.text("worker"), Renews: texts(one, "renews", true)}
}

func readObjective(r record) Objective {
	var v [6]int
	for i, name := range LevelNames {
		v[i] = r.whole(name)
	}
	return objectiveOf(v)
}

func sortedKeys[K ~string, V any](m map[K]V) []K { return slices.Sorted(maps.Keys(m)) }
