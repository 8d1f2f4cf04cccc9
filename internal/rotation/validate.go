package rotation

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

func (p Problem) validate(f *form) {
	n := p.declare(f)
	p.validateWindow(f)
	p.validateTravel(f, n)
	p.validateQualifications(f)
	p.validateCrews(f, n)
	p.validateWorkers(f, n)
	for i, in := range p.Instructors {
		f.knownOrNone(item("instructors", i)+".worker", "worker", in.Worker, n.workers)
	}
	p.validateSlots(f, n)
	p.validatePins(f, n)
}

func (p Problem) declare(f *form) names {
	return names{
		yards:          declare(f, "yards", p.Yards, func(y Yard) string { return y.ID }),
		qualifications: declare(f, "qualifications", p.Qualifications, func(q Qualification) string { return q.ID }),
		crews:          declare(f, "crews", p.Crews, func(c Crew) string { return c.ID }),
		workers:        declare(f, "workers", p.Workers, func(w Worker) string { return w.ID }),
		instructors:    declare(f, "instructors", p.Instructors, func(i Instructor) string { return i.ID }),
		slots:          declare(f, "slots", p.Slots, func(s Slot) string { return s.ID }),
	}
}

func declare[T any](f *form, name string, items []T, id func(T) string) map[string]int {
	seen := make(map[string]int, len(items))
	for i, it := range items {
		path := item(name, i) + ".id"
		if id(it) == "" {
			f.refuse(path, "The id is empty.")
		} else if j, twice := seen[id(it)]; twice {
			f.refuse(path, "The id %q is already used by %s.", id(it), item(name, j))
		} else {
			seen[id(it)] = i
		}
	}
	return seen
}

func (f *form) known(path, what, id string, in map[string]int) {
	if _, ok := in[id]; !ok {
		f.refuse(path, "There is no %s %q.", what, id)
	}
}

func (f *form) knownOrNone(path, what, id string, in map[string]int) {
	if id != "" {
		f.known(path, what, id, in)
	}
}

// knownOnce refuses unknown ids and ids listed twice.
func (f *form) knownOnce(path, what string, ids []string, in map[string]int) {
	seen := map[string]bool{}
	for i, id := range ids {
		f.known(item(path, i), what, id, in)
		if seen[id] {
			f.refuse(item(path, i), "The %s %q is listed twice.", what, id)
		}
		seen[id] = true
	}
}

func (f *form) between(path string, v, least, most int) {
	if v < least || v > most {
		f.refuse(path, "%d is not between %d and %d.", v, least, most)
	}
}

func (p Problem) validateWindow(f *form) {
	if p.Start.IsZero() {
		f.refuse("start", "The first day is missing.")
	}
	if p.End.IsZero() {
		f.refuse("end", "The last day is missing.")
	}
	if !f.faulty["start"] && !f.faulty["end"] {
		p.validateLength(f)
	}
	seen := map[string]bool{}
	for i, d := range p.WorkDays {
		if _, ok := weekdays[d]; !ok || seen[d] {
			f.refuse(item("work_days", i), "%q is not a day from mon to sun, each listed once.", d)
		}
		seen[d] = true
	}
	f.between("visit_minutes", p.VisitMinutes, 0, mostMinutes)
}

// One renewal a ticket is enough only when no renewal of the window can lapse within it.
func (p Problem) validateLength(f *form) {
	if p.End < p.Start {
		f.refuse("end", "The window ends on %s, before it starts on %s.", p.End, p.Start)
		return
	}
	if p.End > p.Start.AddDays(mostDays) {
		f.refuse("end", "The window is longer than %d days.", mostDays)
		return
	}
	for i, q := range p.Qualifications {
		if q.ValidMonths >= 1 && q.ValidMonths <= mostMonths && p.End > p.Start.AddMonths(q.ValidMonths) {
			f.refuse("end", "The window is longer than the %d months for which %s is valid; a second renewal would be needed. End it by %s.",
				q.ValidMonths, item("qualifications", i), p.Start.AddMonths(p.shortestValidity()))
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

func (p Problem) validateTravel(f *form, n names) {
	type pair struct{ a, b string }
	seen := map[pair]int{}
	for i, t := range p.Travel {
		path := item("travel_minutes", i)
		f.known(path+".from", "yard", t.From, n.yards)
		f.known(path+".to", "yard", t.To, n.yards)
		f.between(path+".minutes", t.Minutes, 0, mostMinutes)
		key := pair{min(t.From, t.To), max(t.From, t.To)}
		if j, twice := seen[key]; twice && p.Travel[j].Minutes != t.Minutes {
			f.refuse(path+".minutes", "%s gives another time for the same two yards.", item("travel_minutes", j))
		}
		seen[key] = i
	}
}

func (p Problem) validateQualifications(f *form) {
	for i, q := range p.Qualifications {
		path := item("qualifications", i)
		f.between(path+".people_per_run", q.PeoplePerRun, 0, mostPeople)
		f.between(path+".valid_months", q.ValidMonths, 1, mostMonths)
		f.between(path+".aim_days_before", q.AimDaysBefore, 0, mostDays)
	}
}

func (p Problem) validateCrews(f *form, n names) {
	for i, c := range p.Crews {
		path := item("crews", i)
		f.known(path+".yard", "yard", c.Yard, n.yards)
		for j, r := range c.Cover {
			at := item(path+".cover", j)
			f.knownOnce(at+".any_of", "qualification", r.AnyOf, n.qualifications)
			f.between(at+".at_least", r.AtLeast, 0, mostPeople)
		}
	}
}

func (p Problem) validateWorkers(f *form, n names) {
	for i, w := range p.Workers {
		path := item("workers", i)
		f.knownOrNone(path+".crew", "crew", w.Crew, n.crews)
		f.known(path+".yard", "yard", w.Yard, n.yards)
		f.stretches(path+".leave", w.Leave)
		f.stretches(path+".standby", w.Standby)
		validateTickets(f, path+".tickets", w.Tickets, n)
	}
}

func (f *form) stretches(path string, all []Stretch) {
	for i, s := range all {
		at := item(path, i)
		switch {
		case s.From.IsZero():
			f.refuse(at+".from", "The first day is missing.")
		case s.To.IsZero():
			f.refuse(at+".to", "The last day is missing.")
		case s.To < s.From && !f.faulty[at+".from"]:
			f.refuse(at+".to", "The stretch ends on %s, before it starts on %s.", s.To, s.From)
		}
	}
}

// A ticket without a device class counts on every device, so a second one of its qualification would be the same ticket twice.
func validateTickets(f *form, path string, tickets []Ticket, n names) {
	for i, t := range tickets {
		at := item(path, i)
		f.known(at+".qualification", "qualification", t.Qualification, n.qualifications)
		for j, u := range tickets[:i] {
			if u.Qualification == t.Qualification && (u.Device == t.Device || u.Device == "" || t.Device == "") {
				f.refuse(at, "The ticket overlaps with %s.", item(path, j))
				break
			}
		}
	}
}

func (p Problem) validateSlots(f *form, n names) {
	for i, s := range p.Slots {
		path := item("slots", i)
		if s.Date.IsZero() {
			f.refuse(path+".date", "The day is missing.")
		}
		if s.Part != "am" && s.Part != "pm" && s.Part != "day" {
			f.refuse(path+".part", "%q is not am, pm or day.", s.Part)
		}
		f.known(path+".yard", "yard", s.Yard, n.yards)
		f.known(path+".instructor", "instructor", s.Instructor, n.instructors)
		f.knownOnce(path+".qualifications", "qualification", s.Qualifications, n.qualifications)
		f.between(path+".seats", s.Seats, 0, mostPeople)
		f.between(path+".max_runs", s.MaxRuns, 0, mostPeople)
		f.between(path+".minutes", s.Minutes, 0, mostMinutes)
		f.between(path+".cost", s.Cost, 0, mostCost)
	}
}

func (p Problem) validatePins(f *form, n names) {
	for i, pin := range p.Pinned {
		path := item("pinned", i)
		f.known(path+".slot", "slot", pin.Slot, n.slots)
		f.known(path+".worker", "worker", pin.Worker, n.workers)
		f.knownOnce(path+".renews", "qualification", pin.Renews, n.qualifications)
	}
}
