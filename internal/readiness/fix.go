package readiness

// Do names a kind of change.
type Do string

// The kinds of change. DoNotSend is no change but what is left: it ends every list of fixes of a verdict below the target.
const (
	DoAloft     Do = "ALOFT"
	DoKit       Do = "KIT"
	DoDevice    Do = "DEVICE"
	DoDrill     Do = "DRILL"
	DoPerson    Do = "PERSON"
	DoLater     Do = "LATER"
	DoOtherWay  Do = "OTHER_WAY"
	DoDoNotSend Do = "DO_NOT_SEND"
)

// The rungs of the ladder: what disturbs less comes first.
const (
	RungAloft     = 1
	RungEquipment = 2 // of the same yard
	RungDrill     = 3
	RungPerson    = 4 // of the same yard
	RungNeighbour = 5
	RungLater     = 6
	RungOtherWay  = 7
	RungDoNotSend = 8
)

// Fix is a smallest set of changes with which the verdict reaches the target. A caution belongs beside it wherever a person reads it.
type Fix struct {
	Rung          int         `json:"rung"` // the highest of its changes
	Changes       []FixChange `json:"changes"`
	TravelMinutes int         `json:"travel_minutes"` // sum
	Verdict       *Verdict    `json:"verdict"`        // nil when nobody is sent
	Aloft         []string    `json:"aloft"`          // the first choice; nil when somebody must come down on the way, or nobody is sent
	Lenders       []Lender    `json:"lenders"`
}

// FixChange is one change of a fix.
type FixChange struct {
	Do     Do       `json:"do"`
	ID     string   `json:"id"`
	People []string `json:"people"` // who goes aloft, or who is assessed; else empty
}

// Lender is a crew that lends people, with its own verdict before and after. Both are nil for a crew without a job.
type Lender struct {
	Crew   string   `json:"crew"`
	People []string `json:"people"`
	Before *Verdict `json:"before"`
	After  *Verdict `json:"after"`
}

// RefusedReason says why a candidate of the pool is in no fix. It never tells about health.
type RefusedReason string

// The reasons, in their order for people, for equipment and for drills; NoHelp is last for all.
const (
	TooFar             RefusedReason = "TOO_FAR"
	OnLeave            RefusedReason = "ON_LEAVE"
	AtRest             RefusedReason = "AT_REST"
	PlacedElsewhere    RefusedReason = "PLACED"
	Unavailable        RefusedReason = "UNAVAILABLE"
	HeldBack           RefusedReason = "NOT_FOR_RESCUE_DUTY"
	TooLate            RefusedReason = "TOO_LATE"
	LenderWorse        RefusedReason = "LENDER_WORSE"
	LenderNotKnown     RefusedReason = "LENDER_NOT_KNOWN"
	NotAuthorised      RefusedReason = "NOT_AUTHORISED"
	AssessorNotFree    RefusedReason = "ASSESSOR_NOT_FREE"
	EndsAfterDeparture RefusedReason = "ENDS_AFTER_DEPARTURE"
	TooFewPeople       RefusedReason = "TOO_FEW_PEOPLE"
	NoHelp             RefusedReason = "NO_HELP"
)

// Refused is a candidate of the pool that is in no fix, and why. Lender, Before and After are told where the lending crew is the reason.
type Refused struct {
	Kind   Do            `json:"kind"`
	ID     string        `json:"id"`
	Reason RefusedReason `json:"reason"`
	Lender string        `json:"lender,omitzero"`
	Before *Verdict      `json:"before,omitzero"`
	After  *Verdict      `json:"after,omitzero"`
}
