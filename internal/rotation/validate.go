package rotation

import "groundhand/internal/strictjson"

// Sizes above which a figure is a typing error. They also keep every sum within an int.
const (
	mostMinutes = 100_000
	mostPeople  = 100_000
	mostCost    = 1_000_000
	mostMonths  = 1_200
	mostDays    = 3_700 // days from the start to the end of the window
)

// Validate refuses a problem that contradicts itself: unknown ids, double entries, negative numbers, an end before the start, a window in
// which one renewal would not be enough. All faults come at once, each under the path of its field.
func (p Problem) Validate() error {
	f := newForm()
	p.validate(f)
	return f.Err()
}

// names are the ids that a problem declares.
type names struct {
	yards, qualifications, crews, workers, instructors, slots map[string]int
}

func (p Problem) validate(f *strictjson.Form) {
	n := p.declare(f)
	p.validateWindow(f)
	p.validateTravel(f, n)
	p.validateQualifications(f)
	p.validateCrews(f, n)
	p.validateWorkers(f, n)
	for i, in := range p.Instructors {
		f.KnownOrNone(strictjson.Item("instructors", i)+".worker", "worker", in.Worker, n.workers)
	}
	p.validateSlots(f, n)
	p.validatePins(f, n)
}

func (p Problem) declare(f *strictjson.Form) names {
	return names{
		yards:          strictjson.Declare(f, "yards", p.Yards, func(y Yard) string { return y.ID }),
		qualifications: strictjson.Declare(f, "qualifications", p.Qualifications, func(q Qualification) string { return q.ID }),
		crews:          strictjson.Declare(f, "crews", p.Crews, func(c Crew) string { return c.ID }),
		workers:        strictjson.Declare(f, "workers", p.Workers, func(w Worker) string { return w.ID }),
		instructors:    strictjson.Declare(f, "instructors", p.Instructors, func(i Instructor) string { return i.ID }),
		slots:          strictjson.Declare(f, "slots", p.Slots, func(s Slot) string { return s.ID }),
	}
}

func (p Problem) validateWindow(f *strictjson.Form) {
	if p.Start.IsZero() {
		f.Refuse("start", "The first day is missing.")
	}
	if p.End.IsZero() {
		f.Refuse("end", "The last day is missing.")
	}
	if !f.Refused("start") && !f.Refused("end") {
		p.validateLength(f)
	}
	seen := map[string]bool{}
	for i, d := range p.WorkDays {
		if _, ok := weekdays[d]; !ok || seen[d] {
			f.Refuse(strictjson.Item("work_days", i), "%q is not a day from mon to sun, each listed once.", d)
		}
		seen[d] = true
	}
	f.Between("visit_minutes", p.VisitMinutes, 0, mostMinutes)
}

// One renewal a ticket is enough only when no renewal of the window can lapse within it.
func (p Problem) validateLength(f *strictjson.Form) {
	if p.End < p.Start {
		f.Refuse("end", "The window ends on %s, before it starts on %s.", p.End, p.Start)
		return
	}
	if p.End > p.Start.AddDays(mostDays) {
		f.Refuse("end", "The window is longer than %d days.", mostDays)
		return
	}
	for i, q := range p.Qualifications {
		if q.ValidMonths >= 1 && q.ValidMonths <= mostMonths && p.End > p.Start.AddMonths(q.ValidMonths) {
			f.Refuse("end", "The window is longer than the %d months for which %s is valid; a second renewal would be needed. End it by %s.",
				q.ValidMonths, strictjson.Item("qualifications", i), p.Start.AddMonths(p.shortestValidity()))
			return
		}
	}
}

func (p Problem) shortestValidity() int {
	least := mostMonths
	for _, q := range p.Qualifications {
		if q.ValidMonths >= 1 {
			least = min(least, q.ValidMonths)
		}
	}
	return least
}

func (p Problem) validateTravel(f *strictjson.Form, n names) {
	type pair struct{ a, b string }
	seen := map[pair]int{}
	for i, t := range p.Travel {
		path := strictjson.Item("travel_minutes", i)
		f.Known(path+".from", "yard", t.From, n.yards)
		f.Known(path+".to", "yard", t.To, n.yards)
		f.Between(path+".minutes", t.Minutes, 0, mostMinutes)
		key := pair{min(t.From, t.To), max(t.From, t.To)}
		if j, twice := seen[key]; twice && p.Travel[j].Minutes != t.Minutes {
			f.Refuse(path+".minutes", "%s gives another time for the same two yards.", strictjson.Item("travel_minutes", j))
		}
		seen[key] = i
	}
}

func (p Problem) validateQualifications(f *strictjson.Form) {
	for i, q := range p.Qualifications {
		path := strictjson.Item("qualifications", i)
		f.Between(path+".people_per_run", q.PeoplePerRun, 0, mostPeople)
		f.Between(path+".valid_months", q.ValidMonths, 1, mostMonths)
		f.Between(path+".aim_days_before", q.AimDaysBefore, 0, mostDays)
	}
}

func (p Problem) validateCrews(f *strictjson.Form, n names) {
	for i, c := range p.Crews {
		path := strictjson.Item("crews", i)
		f.Known(path+".yard", "yard", c.Yard, n.yards)
		for j, r := range c.Cover {
			at := strictjson.Item(path+".cover", j)
			f.KnownOnce(at+".any_of", "qualification", r.AnyOf, n.qualifications)
			f.Between(at+".at_least", r.AtLeast, 0, mostPeople)
		}
	}
}

func (p Problem) validateWorkers(f *strictjson.Form, n names) {
	for i, w := range p.Workers {
		path := strictjson.Item("workers", i)
		f.KnownOrNone(path+".crew", "crew", w.Crew, n.crews)
		f.Known(path+".yard", "yard", w.Yard, n.yards)
		stretches(f, path+".leave", w.Leave)
		stretches(f, path+".standby", w.Standby)
		validateTickets(f, path+".tickets", w.Tickets, n)
	}
}

func stretches(f *strictjson.Form, path string, all []Stretch) {
	for i, s := range all {
		at := strictjson.Item(path, i)
		switch {
		case s.From.IsZero():
			f.Refuse(at+".from", "The first day is missing.")
		case s.To.IsZero():
			f.Refuse(at+".to", "The last day is missing.")
		case s.To < s.From && !f.Refused(at+".from"):
			f.Refuse(at+".to", "The stretch ends on %s, before it starts on %s.", s.To, s.From)
		}
	}
}

// A ticket without a device class counts on every device, so a second one of its qualification would be the same ticket twice.
func validateTickets(f *strictjson.Form, path string, tickets []Ticket, n names) {
	for i, t := range tickets {
		at := strictjson.Item(path, i)
		f.Known(at+".qualification", "qualification", t.Qualification, n.qualifications)
		for j, u := range tickets[:i] {
			if u.Qualification == t.Qualification && (u.Device == t.Device || u.Device == "" || t.Device == "") {
				f.Refuse(at, "The ticket overlaps with %s.", strictjson.Item(path, j))
				break
			}
		}
	}
}

func (p Problem) validateSlots(f *strictjson.Form, n names) {
	for i, s := range p.Slots {
		path := strictjson.Item("slots", i)
		if s.Date.IsZero() {
			f.Refuse(path+".date", "The day is missing.")
		}
		if s.Part != "am" && s.Part != "pm" && s.Part != "day" {
			f.Refuse(path+".part", "%q is not am, pm or day.", s.Part)
		}
		f.Known(path+".yard", "yard", s.Yard, n.yards)
		f.Known(path+".instructor", "instructor", s.Instructor, n.instructors)
		f.KnownOnce(path+".qualifications", "qualification", s.Qualifications, n.qualifications)
		f.Between(path+".seats", s.Seats, 0, mostPeople)
		f.Between(path+".max_runs", s.MaxRuns, 0, mostPeople)
		f.Between(path+".minutes", s.Minutes, 0, mostMinutes)
		f.Between(path+".cost", s.Cost, 0, mostCost)
	}
}

func (p Problem) validatePins(f *strictjson.Form, n names) {
	for i, pin := range p.Pinned {
		path := strictjson.Item("pinned", i)
		f.Known(path+".slot", "slot", pin.Slot, n.slots)
		f.Known(path+".worker", "worker", pin.Worker, n.workers)
		f.KnownOnce(path+".renews", "qualification", pin.Renews, n.qualifications)
	}
}
