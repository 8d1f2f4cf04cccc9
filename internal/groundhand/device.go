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
}

// InspectionKind is which look it was.
type InspectionKind string

// The kinds.
const (
	DailyLowerControls InspectionKind = "DAILY_LOWER_CONTROLS" // device, full cycle from the lower controls before use
	WeeklyOutside      InspectionKind = "WEEKLY_OUTSIDE"
	MonthlyInside      InspectionKind = "MONTHLY_INSIDE"
	Yearly             InspectionKind = "YEARLY"
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
