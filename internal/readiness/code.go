package readiness

// Code names a reason. Codes are for programs; mouths turn them into sentences and put the caution beside them.
type Code string

// Findings about the crew, the place and the plan of calling help.
const (
	CrewBelowTwo     Code = "CREW_BELOW_TWO" // fewer than two trained rescuers: the card's number is not met
	NoCover          Code = "NO_COVER"
	UnknownDecides   Code = "UNKNOWN_DECIDES" // go and look at these
	FirstAidSite     Code = "FIRST_AID_SITE"
	FirstAidGround   Code = "FIRST_AID_GROUND"
	TooFewAbleAloft  Code = "TOO_FEW_ABLE_ALOFT"
	LoneWorker       Code = "LONE_WORKER"
	NotForRescueDuty Code = "NOT_FOR_RESCUE_DUTY"
	FourMinutes      Code = "FOUR_MINUTES" // of a fixed site: information only, not a time limit (OSHA letter 4 Jun 1996)
	CallPlanMissing  Code = "CALL_PLAN_MISSING"
	DutyUnheld       Code = "DUTY_UNHELD"
	SwapAloft        Code = "SWAP_ALOFT" // the timeline says who must come down when
)

// Findings of the device and kit table.
const (
	NoDevice                 Code = "NO_DEVICE"
	DeviceOutOfService       Code = "DEVICE_OUT_OF_SERVICE"
	LowerControlsNotChecked  Code = "LOWER_CONTROLS_NOT_CHECKED"
	EmergencyLoweringMissing Code = "EMERGENCY_LOWERING_MISSING"
	NoKit                    Code = "NO_KIT"
	KitNotOnDevice           Code = "KIT_NOT_ON_DEVICE"
	KitDoesNotSuit           Code = "KIT_DOES_NOT_SUIT"
	KitRatedLoad             Code = "KIT_RATED_LOAD"
	KitReach                 Code = "KIT_REACH"
	KitWeeklyOverdue         Code = "KIT_WEEKLY_OVERDUE"
	KitMonthlyOverdue        Code = "KIT_MONTHLY_OVERDUE"
	KitYearlyOverdue         Code = "KIT_YEARLY_OVERDUE"
	KitRetired               Code = "KIT_RETIRED"
	KitOutOfService          Code = "KIT_OUT_OF_SERVICE"
)

// Conditions of a conditional choice, beside CallPlanMissing, DutyUnheld, SwapAloft and the codes that the rules give to states.
const (
	MethodMissesAim        Code = "METHOD_MISSES_AIM"
	CrewCountConditional   Code = "CREW_COUNT_CONDITIONAL"
	GroundCountConditional Code = "GROUND_COUNT_CONDITIONAL"
	MethodDepends          Code = "METHOD_DEPENDS" // covered at every moment, but by different people or methods
)

// Severity says what a finding does.
type Severity string

// The severities: it blocks at some moment whatever is unknown; under some reading only; it strikes methods; it conditions; it is a note.
const (
	SeverityBlock     Severity = "BLOCK"
	SeverityUnknown   Severity = "UNKNOWN"
	SeverityLine      Severity = "LINE"
	SeverityCondition Severity = "CONDITION"
	SeverityNote      Severity = "NOTE"
)

// Because says why somebody must stay down; the first that fits is given.
type Because string

// The reasons to stay down, in their order.
const (
	BecauseAbsent        Because = "ABSENT"
	BecauseNotAble       Because = "NOT_ABLE"
	BecauseExclusiveDuty Because = "EXCLUSIVE_DUTY"
	BecauseNotKnown      Because = "NOT_KNOWN"
	BecauseNoCover       Because = "NO_COVER"
)

// EdgeName says which end of a span a change is.
type EdgeName string

// The two ends.
const (
	EdgeStart EdgeName = "START"
	EdgeEnd   EdgeName = "END"
)

// Of says what begins or ends.
type Of string

// What has a beginning or an end.
const (
	OfCapability         Of = "CAPABILITY"
	OfFirstAid           Of = "FIRST_AID"
	OfNotForRescue       Of = "NOT_FOR_RESCUE"
	OfUnavailable        Of = "UNAVAILABLE"
	OfDeviceOutOfService Of = "DEVICE_OUT_OF_SERVICE"
	OfKitOutOfService    Of = "KIT_OUT_OF_SERVICE"
	OfKitWeekly          Of = "KIT_WEEKLY"
	OfKitMonthly         Of = "KIT_MONTHLY"
	OfKitYearly          Of = "KIT_YEARLY"
	OfKitUseThrough      Of = "KIT_USE_THROUGH"
)
