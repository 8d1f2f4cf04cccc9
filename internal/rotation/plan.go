package rotation

import (
	"encoding/json"
	"fmt"
	"strings"

	"groundhand/internal/groundhand"
)

// PlanFormat is the name of the JSON form of a Plan.
const PlanFormat = "drill-plan/1"

// Plan says which sessions are held and who goes. Bound holds, level by level, a figure below which no plan can come that is at least as
// good as this one at the levels before; it assumes nothing about those being best.
type Plan struct {
	Problem        string     `json:"problem"`
	Sessions       []Session  `json:"sessions"`
	Objective      Objective  `json:"objective"`
	Bound          Objective  `json:"bound"`
	ProvedLevels   int        `json:"proved_levels"` // leading levels where figure and bound are equal
	NotKeptCurrent []NotKept  `json:"not_kept_current"`
	SlotsSetAside  []SetAside `json:"slots_set_aside"`
}

// Session is a slot that is held.
type Session struct {
	Slot   string     `json:"slot"`
	Attend []Attendee `json:"attend"`
}

// Attendee is somebody in a session; without renewals he is a companion.
type Attendee struct {
	Worker string   `json:"worker"`
	Renews []string `json:"renews"`
}

// Objective is the six figures, smaller is better, compared in this order.
type Objective struct {
	CrewDaysShort     int `json:"crew_days_short"`    // (crew, day) pairs on which a crew that goes out lacks current people
	LapsedDays        int `json:"lapsed_days"`        // worked days on which a ticket is not current, over all tickets
	SessionCost       int `json:"session_cost"`       // cost of the sessions held
	MinutesAway       int `json:"minutes_away"`       // travel both ways and session time, and the visit minutes of each crew
	DaysOffAim        int `json:"days_off_aim"`       // days between the renewals and their aims
	BusiestInstructor int `json:"busiest_instructor"` // most sessions led by one instructor
}

// Levels lists the figures in the order in which they count.
func (o Objective) Levels() [6]int {
	return [6]int{o.CrewDaysShort, o.LapsedDays, o.SessionCost, o.MinutesAway, o.DaysOffAim, o.BusiestInstructor}
}

// LevelNames are the names of the figures in the order of Levels.
var LevelNames = [6]string{"crew_days_short", "lapsed_days", "session_cost", "minutes_away", "days_off_aim", "busiest_instructor"}

func objectiveOf(v [6]int) Objective { return Objective{v[0], v[1], v[2], v[3], v[4], v[5]} }

// Less says that o is better: smaller at the first level where they differ.
func (o Objective) Less(than Objective) bool {
	a, b := o.Levels(), than.Levels()
	for i := range a {
		if a[i] != b[i] {
			return a[i] < b[i]
		}
	}
	return false
}

// Reason says why a ticket lapses on worked days.
type Reason string

// The reasons. All but the last hold whatever the plan.
const (
	NoOffer            Reason = "no_offer"              // no usable slot offers the qualification on the device class
	OnlySelfAssessed   Reason = "only_self_assessed"    // only slots that he would lead himself
	NeverFree          Reason = "never_free"            // on leave or standby at all of them, or out of reach
	OnlyTooEarly       Reason = "only_too_early"        // all before the earliest useful day
	FirstChanceTooLate Reason = "first_chance_too_late" // the best slot still leaves worked days lapsed
	CrowdedOut         Reason = "crowded_out"           // he could have been renewed sooner; Chances say what stood in the way
)

// NotKept is a ticket that is not current on some worked day. UnavoidableDays is what remains in any plan.
type NotKept struct {
	Worker          string   `json:"worker"`
	Qualification   string   `json:"qualification"`
	Device          string   `json:"device,omitempty"`
	DaysLapsed      int      `json:"days_lapsed"`
	UnavoidableDays int      `json:"unavoidable_days"`
	Reason          Reason   `json:"reason"`
	Chances         []Chance `json:"chances,omitempty"`
}

// Chance is a slot that would have left fewer lapsed days, and the first rule that fails when the renewal is moved there: a hard rule
// F7 to F14, the StaggerRule, or the name of the figure that would get worse.
type Chance struct {
	Slot string `json:"slot"`
	Rule string `json:"rule"`
}

// SetAside is a slot that cannot be held.
type SetAside struct {
	Slot   string      `json:"slot"`
	Reason AsideReason `json:"reason"`
}

// AsideReason says why a slot cannot be held.
type AsideReason string

// The reasons, in the order in which they are looked for.
const (
	Past           AsideReason = "past"
	AfterWindow    AsideReason = "after_window"
	Weekend        AsideReason = "weekend" // not one of the work days
	Holiday        AsideReason = "holiday"
	InstructorAway AsideReason = "instructor_away"
)

// MarshalJSON writes the drill-plan/1 form.
func (p Plan) MarshalJSON() ([]byte, error) {
	type plain Plan
	return json.Marshal(struct {
		Format string `json:"format"`
		plain
	}{PlanFormat, plain(p)})
}

// PinClash says that no plan keeps all pins. Pins are the positions in Problem.Pinned of a set that cannot be kept together; leaving
// out any one of them would do. Proved is false when the search for a plan was given up before all ways were tried.
type PinClash struct {
	Pins   []int
	Named  []Pin
	Proved bool
}

func (e *PinClash) Error() string {
	names := make([]string, len(e.Named))
	for i, pin := range e.Named {
		names[i] = fmt.Sprintf("pinned[%d] (%s in %s)", e.Pins[i], pin.Worker, pin.Slot)
	}
	list := strings.Join(names, ", ")
	if !e.Proved {
		return "no plan was found that keeps these pins together: " + list
	}
	return "these pins cannot be kept together: " + list
}

// Unwrap makes errors.Is(err, groundhand.CodeConflict) true.
func (e *PinClash) Unwrap() error { return groundhand.CodeConflict }
