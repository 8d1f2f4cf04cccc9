package groundhand

// RotationRequest is a rotation that was asked for: the problem as it stood in the records then, with all that makes the plan come out
// the same whenever it is worked out again.
type RotationRequest struct {
	ID EntryID
	Recorded
	Name        string
	Problem     string // drill-plan-problem/1
	Seed        int64
	Rounds      int     // of improvement, at least 1
	LeftOut     string  // booked sessions that could not be used and why, as JSON; "[]": none
	Asked       string  // the form that asked for it, as JSON
	FollowsID   EntryID // the request for the days before, of a rotation that is planned in stages; empty: it begins here
	BasePlanID  PlanID  // the plan of which as little as possible is to change; empty: none
	Change      string  // what there would have to be besides what is recorded, as JSON; empty: it is no what-if
	StaggerMost int     // most renewals of one crew and method in any StaggerDays days; 0: no such limit
	StaggerDays int
	StartOn     Date
	EndOn       Date
}

// RotationFailure says that no plan came of a request, and why. It ends the request.
type RotationFailure struct {
	ID EntryID
	Recorded
	RequestID EntryID
	Cause     FailureCause
	Pins      string // the seats that cannot be kept together, as a JSON list of pins of the problem; "[]": it is something else
	Proved    bool   // that those seats cannot be kept together was proved, not only tried
	Detail    string // what is wrong, without names
}

// FailureCause is why no plan came of a request.
type FailureCause string

// The causes.
const (
	PinsClash      FailureCause = "PINS_CLASH"      // seats that were promised or pinned cannot be kept together
	StoppedEarly   FailureCause = "STOPPED"         // it was stopped before it had begun
	ProblemRefused FailureCause = "PROBLEM_REFUSED" // the problem is not one that can be planned
	BrokeDown      FailureCause = "BROKE_DOWN"      // the planner itself failed
)

// Plan is a rotation plan that was suggested; adopting it books its sessions.
type Plan struct {
	ID PlanID
	Recorded
	Problem      string // drill-plan-problem/1
	Seed         int64
	Rounds       int
	Result       string // drill-plan/1
	StartOn      Date
	EndOn        Date
	RequestID    EntryID // what it was asked for; empty: made before requests were kept
	BasePlanID   PlanID  // the plan of which as little as possible was to change; empty: none
	Change       string  // what there would have to be besides what is recorded, as JSON; empty: it is no what-if
	StoppedAfter int     // rounds after which somebody stopped it; 0: it ran to its end
}

// WhatIf says that the plan counts on something that is not there, so that nobody can hold it.
func (p Plan) WhatIf() bool { return p.Change != "" }

// Adoption says that a coordinator adopted a plan, or some of its slots.
type Adoption struct {
	ID EntryID
	Recorded
	PlanID PlanID
	Slots  List // the slots adopted; empty: all
}
