package groundhand

import "database/sql/driver"

// Method is a way of getting a casualty down, or another thing that is practised.
type Method string

// The methods of the trade. Each has its own currency.
const (
	PairKit         Method = "PAIR_KIT"          // two ground rescuers, block-and-tackle kit
	LoneKit         Method = "LONE_KIT"          // one rescuer on the ground, kit
	ManualLowering  Method = "MANUAL_LOWERING"   // lower controls or emergency lowering, extraction by hand
	PoleTop         Method = "POLE_TOP"          // from a pole or structure
	SubstationCase  Method = "SUBSTATION"        // bucket rescue inside a substation
	LowVoltagePanel Method = "LOW_VOLTAGE_PANEL" // ground-level rescue from low-voltage gear
	FirstAid        Method = "FIRST_AID"         // first aid and CPR
	Familiarisation Method = "FAMILIARISATION"   // being shown the lower controls of a family, and doing it
)

// Methods lists them in the order in which they are shown.
var Methods = []Method{PairKit, LoneKit, ManualLowering, PoleTop, SubstationCase, LowVoltagePanel, FirstAid, Familiarisation}

// Aerial says whether the method brings somebody down from a bucket: the methods that the yearly aerial-rescue practice is about.
func (m Method) Aerial() bool { return m == PairKit || m == LoneKit || m == ManualLowering }

// Role is the part a person plays in a run. Only lead, second and lone give credit for practice.
type Role string

// The roles.
const (
	Lead       Role = "LEAD"
	Second     Role = "SECOND"
	Lone       Role = "LONE"
	Caller     Role = "CALLER"
	Casualty   Role = "CASUALTY"
	Observer   Role = "OBSERVER"
	Timekeeper Role = "TIMEKEEPER"
)

// Roles lists them in the order in which they are shown.
var Roles = []Role{Lead, Second, Lone, Caller, Casualty, Observer, Timekeeper}

// Rescues says whether the role is one of the rescuers.
func (r Role) Rescues() bool { return r == Lead || r == Second || r == Lone }

// Session is a booked time at a yard for drills. That it was held shows in its runs; a session that falls through is withdrawn.
type Session struct {
	ID SessionID
	Recorded
	YardID     YardID
	StartAt    Instant
	EndAt      Instant
	Methods    List // methods planned
	FamilyID   FamilyID
	DeviceID   DeviceID
	KitID      KitID
	AssessorID WorkerID
	Announced  bool
	Seats      int
	MaxRuns    int
	Controls   string // planned safety controls
	PlanID     PlanID // the adopted rotation plan that booked it; empty: booked by hand
	Slot       string // the slot of that plan; empty: booked by hand, or before slots were kept
}

// Booking is a place in a session promised to a worker.
type Booking struct {
	ID EntryID
	Recorded
	SessionID SessionID
	WorkerID  WorkerID
	Renews    List // methods to renew; empty: a companion who goes along with a crew mate
}

// Run is one timed run of a drill, with the facts without which a time means nothing.
type Run struct {
	ID RunID
	Recorded
	SessionID     SessionID // empty: outside a booked session
	Method        Method
	Scenario      Scenario
	FamilyID      FamilyID
	DeviceID      DeviceID
	KitID         KitID
	Announced     bool
	KitState      KitState
	LoweringMeans LoweringMeans
	HeightCM      int // bucket height at the start, centimetres
	OutreachCM    int // outreach at the start, centimetres
	CasualtyKind  CasualtyKind
	CasualtyKG    int // mass of the mannequin, kilograms; a person's weight is never stored
	WorkClothes   Answer
	Dark          bool
	Weather       string
	GroundCount   int // rescuers on the ground
	StartedBy     StartConvention
	Marks         StageMarks
	Complete      bool // carried through to the end of the method
	Stopped       bool // stopped for safety: neither complete nor a fail
	Theory        bool // talked through only
	WatchedBy     WorkerID
	Remarks       string
	Steps         CriticalSteps
}

// RunPart is one person's part in a run. Each is an entry of its own, because a correction may concern one person only.
type RunPart struct {
	ID EntryID
	Recorded
	RunID        RunID
	WorkerID     WorkerID
	Role         Role
	CriticalFail bool // a critical step was failed by this person
}

// Scenario is what the drill plays.
type Scenario string

// The scenarios.
const (
	Unconscious    Scenario = "UNCONSCIOUS_IN_BUCKET"
	HangingOutside Scenario = "HANGING_OUTSIDE"
	Pinned         Scenario = "PINNED"
	HeatIllness    Scenario = "HEAT_ILLNESS"
	BucketFire     Scenario = "BUCKET_FIRE"
	OtherScenario  Scenario = "OTHER"
)

// KitState is the state of the kit at the start. Times from a kit laid out are never mixed with times as found.
type KitState string

// The states.
const (
	AsFound KitState = "AS_FOUND"
	LaidOut KitState = "LAID_OUT"
	NoKit   KitState = "NO_KIT"
)

// LoweringMeans is what brought the bucket down.
type LoweringMeans string

// The means.
const (
	PoweredLower   LoweringMeans = "POWERED_LOWER_CONTROLS"
	AuxiliaryPower LoweringMeans = "AUXILIARY_POWER"
	HandPump       LoweringMeans = "HAND_PUMP"
	BleedDown      LoweringMeans = "GRAVITY_BLEED_DOWN"
	SecondDevice   LoweringMeans = "SECOND_DEVICE"
	NotRecorded    LoweringMeans = "NOT_RECORDED"
)

// CasualtyKind is who or what was brought down.
type CasualtyKind string

// The kinds.
const (
	Mannequin  CasualtyKind = "MANNEQUIN"
	PersonDown CasualtyKind = "PERSON"
	NoCasualty CasualtyKind = "NONE"
)

// StartConvention is the moment at which the clock was started. Splits are counted from the alarm.
type StartConvention string

// The conventions.
const (
	AtAlarm      StartConvention = "ALARM"
	AtFirstMove  StartConvention = "FIRST_MOVE"
	StartUnknown StartConvention = "UNKNOWN"
)

// Stage is one of the eleven stage marks, 0 to 10.
type Stage int

// The stage marks: seconds after the alarm at which the observer saw it.
const (
	S0  Stage = iota // alarm
	S1               // help called
	S2               // safe to approach
	S3               // at the controls
	S4               // at extraction position
	S5               // attached and checked
	S6               // clear of bucket or structure
	S7               // on the ground
	S8               // first aid begun
	S9               // AED on
	S10              // handed over
)

// StageMark is one stage and its time.
type StageMark struct {
	Stage   Stage `json:"stage"`
	Seconds int   `json:"seconds"` // whole seconds after the alarm
}

// StageMarks are the marks of a run; a stage may be missing.
type StageMarks []StageMark

// longestRun is more than any drill lasts: two hours, in seconds. A greater mark is a typing error.
const longestRun = 2 * 60 * 60

// Check refuses unknown or repeated stages, negative or absurd times, and marks that decrease.
func (m StageMarks) Check(field string) error {
	var p Problems
	last, lastStage := 0, Stage(-1)
	for i, mark := range m {
		at := indexField(field, i)
		switch {
		case mark.Stage < S0 || mark.Stage > S10:
			p.Add(CodeInvalid, at+".stage", "Stage marks run from S0 to S10.")
		case mark.Stage <= lastStage:
			p.Add(CodeInvalid, at+".stage", "Give each stage mark once, in order; S%d comes after S%d here.", mark.Stage, lastStage)
		case mark.Seconds < 0 || mark.Seconds > longestRun:
			p.Add(CodeInvalid, at+".seconds", "A stage mark lies between 0 and %d seconds after the alarm.", longestRun)
		case mark.Seconds < last:
			p.Add(CodeInvalid, at+".seconds", "S%d at %d s is earlier than the mark before it at %d s; stage marks never decrease.", mark.Stage, mark.Seconds, last)
		default:
			last, lastStage = mark.Seconds, mark.Stage
		}
	}
	return p.Err()
}

// At is the time of a stage, and whether it was marked.
func (m StageMarks) At(s Stage) (seconds int, marked bool) {
	for _, mark := range m {
		if mark.Stage == s {
			return mark.Seconds, true
		}
	}
	return 0, false
}

// Value stores the marks as JSON text.
func (m StageMarks) Value() (driver.Value, error) { return jsonText([]StageMark(m), len(m) == 0) }

// Scan reads what Value stored.
func (m *StageMarks) Scan(src any) error { return scanJSON(src, (*[]StageMark)(m)) }
