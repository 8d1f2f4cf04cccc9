package readiness

// Role is a place in a team.
type Role string

// The roles. A Lead may stand in for a Second; a Lone rescuer is nobody's stand-in.
const (
	Lead   Role = "LEAD"
	Second Role = "SECOND"
	Lone   Role = "LONE"
)

// State is the standing of a capability in its span. Current counts fully; the rules say how the others count.
type State string

// The states.
const (
	Current     State = "CURRENT"
	InGrace     State = "IN_GRACE"
	OnExtension State = "ON_EXTENSION"
	Provisional State = "PROVISIONAL"
)

// Counts says how a state counts.
type Counts string

// Fully, with a condition, or not at all.
const (
	CountsFull        Counts = "FULL"
	CountsConditional Counts = "CONDITIONAL"
	CountsNo          Counts = "NO"
)

// Why says why somebody is away. Sickness is WhyOther: a health reason is never carried.
type Why string

// The reasons that may be given.
const (
	WhyLeave  Why = "LEAVE"
	WhyRest   Why = "REST"
	WhyPlaced Why = "PLACED"
	WhyOther  Why = "OTHER"
)

// Need is something a method needs of device and kit.
type Need string

// The needs.
const (
	NeedDevice            Need = "DEVICE"
	NeedLowerControls     Need = "LOWER_CONTROLS"
	NeedEmergencyLowering Need = "EMERGENCY_LOWERING"
	NeedKit               Need = "KIT"
)

// Rules is the employer's rule set as far as cover needs it.
type Rules struct {
	ID               string              `json:"id"`
	Families         []string            `json:"families"`
	Methods          []Method            `json:"methods"`             // the order is the order of preference
	CrewRescuers     int                 `json:"crew_rescuers"`       // the card's number, at least 2
	CallPlanMissing  Verdict             `json:"call_plan_missing"`   // Conditional or NotReady
	LeastRatedLoadKG int                 `json:"least_rated_load_kg"` // of a kit's label
	States           map[State]StateRule `json:"states"`              // for every state but Current
	GradeLimits      map[string][]Role   `json:"grade_limits"`        // roles a grade may not fill
	FirstAid         FirstAidNumbers     `json:"first_aid"`
}

// Method is a way of rescue.
type Method struct {
	ID          string `json:"id"`
	Roles       []Role `json:"roles"`
	Rescuers    int    `json:"rescuers"` // people on the ground who must count for some role, at least one a role
	Needs       []Need `json:"needs"`
	PerFamily   bool   `json:"per_family"`
	Conditional bool   `json:"conditional"`         // conditional at best
	AimMissed   string `json:"aim_missed,omitzero"` // which aim, for a conditional method
}

// StateRule says how a state counts, with the code of its condition, and in which roles it never does.
type StateRule struct {
	Counts    Counts `json:"counts"`
	Condition string `json:"condition,omitzero"`
	NotRoles  []Role `json:"not_roles"`
}

// FirstAidNumbers are people in date that must be on site, by kind of site, and on the ground. The kinds follow 29 CFR 1910.269(b)(1)
// and 1926.951; the numbers are the employer's.
type FirstAidNumbers struct {
	Field    int `json:"field"`     // at least 2
	Trimmers int `json:"trimmers"`  // at least 1, not above Field
	Fixed    int `json:"fixed"`     // at least 1
	Below50V int `json:"below_50v"` // not below 0
	Ground   int `json:"ground"`    // at least 1
}
