package rotation

import (
	"encoding/json"
	"time"

	"groundhand/internal/groundhand"
)

// ProblemFormat is the name of the JSON form of a Problem.
const ProblemFormat = "drill-plan-problem/1"

// Problem is everything a plan is made from. Days are whole calendar days of one place; the window runs from Start to End, both
// included. Build it directly or read it with Decode; Suggest refuses a Problem that Validate refuses.
type Problem struct {
	Name           string            `json:"name"`
	Start          groundhand.Date   `json:"start"`
	End            groundhand.Date   `json:"end"`
	WorkDays       []string          `json:"work_days,omitzero"` // "mon" to "sun"; nil: Monday to Friday
	Holidays       []groundhand.Date `json:"holidays,omitzero"`
	VisitMinutes   int               `json:"visit_minutes"` // charged once for each crew with somebody in a session
	Yards          []Yard            `json:"yards"`
	Travel         []Travel          `json:"travel_minutes"`
	Qualifications []Qualification   `json:"qualifications"`
	Crews          []Crew            `json:"crews"`
	Workers        []Worker          `json:"workers"`
	Instructors    []Instructor      `json:"instructors"`
	Slots          []Slot            `json:"slots"`
	Pinned         []Pin             `json:"pinned,omitzero"`
}

// Yard is a place where workers start their day or where a session is held.
type Yard struct {
	ID   string `json:"id"`
	Name string `json:"name,omitempty"`
}

// Travel is the one-way time between two yards, in minutes, in both directions. Yards without an entry do not reach each other.
type Travel struct {
	From    string `json:"from"`
	To      string `json:"to"`
	Minutes int    `json:"minutes"`
}

// Qualification is a method practised in a role. PeoplePerRun is 2 for the two-person method, 1 for the lone method and pole-top, 0 for
// the classroom. AimDaysBefore is how many days before the last valid day one aims to renew.
type Qualification struct {
	ID            string `json:"id"`
	Name          string `json:"name,omitempty"`
	PeoplePerRun  int    `json:"people_per_run"`
	ValidMonths   int    `json:"valid_months"`
	AimDaysBefore int    `json:"aim_days_before"`
}

// Crew works together on one device class. A crew with fewer members at work than its greatest AtLeast is not sent out.
type Crew struct {
	ID     string      `json:"id"`
	Name   string      `json:"name,omitempty"`
	Yard   string      `json:"yard"`
	Device string      `json:"device,omitempty"`
	Cover  []CoverRule `json:"cover"`
}

// CoverRule asks for at least so many members at work who hold a current ticket of any of the qualifications, for the device class of
// the crew or for none. With a people aloft at a time, max(2, a+1) keeps a current rescuer on the ground whoever goes up.
type CoverRule struct {
	AnyOf   []string `json:"any_of"`
	AtLeast int      `json:"at_least"`
}

// Worker may be in one crew or in none (empty Crew: no cover rule, no companions).
type Worker struct {
	ID      string    `json:"id"`
	Name    string    `json:"name,omitempty"`
	Crew    string    `json:"crew"`
	Yard    string    `json:"yard"`
	Trade   string    `json:"trade,omitempty"`
	Tickets []Ticket  `json:"tickets"`
	Leave   []Stretch `json:"leave,omitzero"`
	Standby []Stretch `json:"standby,omitzero"` // at work, but cannot be sent to a drill
}

// Ticket is a qualification of a worker for a device class, or for none (empty). A ticket never held has no ValidThrough and counts as
// lapsed from the first day. Earliest is the first day on which a renewal is useful; zero: any day.
type Ticket struct {
	Qualification string          `json:"qualification"`
	Device        string          `json:"device,omitempty"`
	ValidThrough  groundhand.Date `json:"valid_through"`
	Earliest      groundhand.Date `json:"earliest,omitzero"`
}

// Stretch is a run of days, both ends included.
type Stretch struct {
	From groundhand.Date `json:"from"`
	To   groundhand.Date `json:"to"`
}

// Instructor leads sessions. Worker names the worker that he is, if he is one of the workers.
type Instructor struct {
	ID     string `json:"id"`
	Name   string `json:"name,omitempty"`
	Worker string `json:"worker,omitempty"`
}

// Slot is an offered session. Part is "am", "pm" or "day" (both halves). Cost 1 each makes the cost the number of sessions.
type Slot struct {
	ID             string          `json:"id"`
	Name           string          `json:"name,omitempty"`
	Date           groundhand.Date `json:"date"`
	Part           string          `json:"part"`
	Yard           string          `json:"yard"`
	Device         string          `json:"device,omitempty"`
	Instructor     string          `json:"instructor"`
	Truck          string          `json:"truck,omitempty"`
	Qualifications []string        `json:"qualifications"`
	Seats          int             `json:"seats"`
	MaxRuns        int             `json:"max_runs"`
	Minutes        int             `json:"minutes"`
	Cost           int             `json:"cost"`
}

// Pin is an attendance already promised: the worker is in the session and renews at least these qualifications.
type Pin struct {
	Slot   string   `json:"slot"`
	Worker string   `json:"worker"`
	Renews []string `json:"renews"`
}

// MarshalJSON writes the drill-plan-problem/1 form.
func (p Problem) MarshalJSON() ([]byte, error) {
	type plain Problem
	return json.Marshal(struct {
		Format string `json:"format"`
		plain
	}{ProblemFormat, plain(p)})
}

// MarshalJSON writes a worker without a crew as null.
func (w Worker) MarshalJSON() ([]byte, error) {
	type plain Worker
	out := struct {
		plain
		Crew *string `json:"crew"`
	}{plain: plain(w)}
	if w.Crew != "" {
		out.Crew = &w.Crew
	}
	return json.Marshal(out)
}

// MarshalJSON writes a ticket never held as null.
func (t Ticket) MarshalJSON() ([]byte, error) {
	type plain Ticket
	out := struct {
		plain
		ValidThrough *groundhand.Date `json:"valid_through"`
	}{plain: plain(t)}
	if !t.ValidThrough.IsZero() {
		out.ValidThrough = &t.ValidThrough
	}
	return json.Marshal(out)
}

// The halves of a day that a part of it covers, as a bit set.
const (
	morning   = 1
	afternoon = 2
)

func halves(part string) uint8 {
	switch part {
	case "am":
		return morning
	case "pm":
		return afternoon
	}
	return morning | afternoon
}

var weekdays = map[string]time.Weekday{
	"sun": time.Sunday, "mon": time.Monday, "tue": time.Tuesday, "wed": time.Wednesday,
	"thu": time.Thursday, "fri": time.Friday, "sat": time.Saturday,
}

var defaultWorkDays = []string{"mon", "tue", "wed", "thu", "fri"}

// listsWeekday says that the weekday of a date is a work day; holidays are another matter.
func (p Problem) listsWeekday(d groundhand.Date) bool {
	names := p.WorkDays
	if names == nil {
		names = defaultWorkDays
	}
	for _, name := range names {
		if weekdays[name] == d.Weekday() {
			return true
		}
	}
	return false
}
