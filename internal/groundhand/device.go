package groundhand

// Family is a control family: the name an employer gives to devices that a rescuer would call the same at the lower controls and
// in loss of power.
type Family struct {
	ID FamilyID
	Recorded
	Name string
}

// Device is an aerial device by its unit name.
type Device struct {
	ID DeviceID
	Recorded
	FamilyID     FamilyID
	YardID       YardID
	Type         string // articulating, telescopic, … as people say it
	PlatformCM   int    // greatest platform height, centimetres
	AnchorCM     int    // height of the anchor for the head block, centimetres; 0: not known
	EmergencyLow Answer // emergency lowering means present
}

// Classing says from a moment on what was not known of a device when it was entered. What it leaves empty stays as it was known before.
type Classing struct {
	ID EntryID
	Recorded
	DeviceID     DeviceID
	FamilyID     FamilyID
	AnchorCM     int // centimetres; 0: as before
	EmergencyLow Answer
}

// Kit is a rescue kit: the bag of rope, blocks and slings.
type Kit struct {
	ID KitID
	Recorded
	Parts       int // parts of line
	RopeCM      int // rope length, centimetres
	TailCM      int // rope kept as tail, centimetres
	RatedLoadKG int // as labelled, kilograms; 0: not readable
	InServiceOn Date
	RetiresOn   Date // last day of use; zero: none set
}

// KitPlacing says where a kit is from a moment on: on a device or in a yard. Assigned is not seen: inspections say whether it was found there.
type KitPlacing struct {
	ID EntryID
	Recorded
	KitID    KitID
	DeviceID DeviceID // on this device, or
	YardID   YardID   // in this yard's store
}

// Inspection is a look at a device or a kit. An overdue inspection has the same force as a failed one.
type Inspection struct {
	ID EntryID
	Recorded
	DeviceID  DeviceID // of this device, or
	KitID     KitID    // of this kit
	Kind      InspectionKind
	Checklist string // version of the checklist used
	Lines     InspectionLines
	Result    InspectionResult
	Remarks   string
	// LoweringSeconds is how long the emergency lowering took from working height to ground, seconds; 0: not timed. It is the true figure
	// behind a plan that rests on manual lowering.
	LoweringSeconds int
}

// InspectionKind is which look it was.
type InspectionKind string

// The kinds.
const (
	DailyLowerControls InspectionKind = "DAILY_LOWER_CONTROLS" // device, full cycle from the lower controls before use
	WeeklyOutside      InspectionKind = "WEEKLY_OUTSIDE"       // kit
	MonthlyInside      InspectionKind = "MONTHLY_INSIDE"       // kit
	Yearly             InspectionKind = "YEARLY"
	DeviceWeekly       InspectionKind = "DEVICE_WEEKLY"
	DeviceMonthly      InspectionKind = "DEVICE_MONTHLY" // emergency lowering timed
)

// InspectionResult is what follows from the look.
type InspectionResult string

// The results.
const (
	InService    InspectionResult = "IN_SERVICE"
	OutOfService InspectionResult = "OUT_OF_SERVICE"
	Returned     InspectionResult = "RETURNED" // returned to service, by another person than the finder
)

// InspectionLine is one line of a checklist.
type InspectionLine struct {
	Line     string     `json:"line"`
	Critical bool       `json:"critical,omitempty"`
	Found    StepAnswer `json:"found"`
}

// Defect takes a device or a kit out of service from the moment at which it is entered, outside any inspection. Anybody may raise one.
// Only a return by somebody else than the finder puts the thing back.
type Defect struct {
	ID EntryID
	Recorded
	DeviceID  DeviceID // of this device, or
	KitID     KitID    // of this kit
	Cause     DefectCause
	Separated bool // tagged, taken off the truck and put in the marked place
	Remarks   string
}

// DefectCause is why a thing goes out of service.
type DefectCause string

// The causes. Common practice, no source: whatever has carried a real load, or may have been hurt unseen, waits for an inspection.
const (
	DefectFound    DefectCause = "DEFECT_FOUND"
	RealUse        DefectCause = "REAL_USE"
	ShockLoad      DefectCause = "SHOCK_LOAD"
	ArcOrFlame     DefectCause = "ARC_OR_FLAME"
	Chemicals      DefectCause = "CHEMICALS"
	Dropped        DefectCause = "DROPPED" // from the truck or from height
	Immersed       DefectCause = "IMMERSED"
	HistoryUnknown DefectCause = "HISTORY_UNKNOWN"
	Workshop       DefectCause = "WORKSHOP"
	Retired        DefectCause = "RETIRED" // never returns, and its number is never used again
)

// DefectCauses lists the causes in the order in which they are shown.
var DefectCauses = []DefectCause{DefectFound, RealUse, ShockLoad, ArcOrFlame, Chemicals, Dropped, Immersed, HistoryUnknown, Workshop, Retired}
