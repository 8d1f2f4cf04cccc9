package groundhand

// WorkerNumber is a number by which a worker is known over a time: a staff number, a number at another employer. Numbers are used again by others.
type WorkerNumber struct {
	ID EntryID
	Recorded
	WorkerID WorkerID
	Number   string
	FromOn   Date
	ToOn     Date // last day; zero: still
}

// Alias is another name by which a worker is known: before marriage, on another employer's list, as colleagues say it.
type Alias struct {
	ID EntryID
	Recorded
	WorkerID WorkerID
	Name     string
	FromOn   Date
	ToOn     Date // last day; zero: still
}

// Merge says that two workers are one person. Nothing is rewritten: whoever reads takes the entries of the one for those of the other,
// until the merge is withdrawn.
type Merge struct {
	ID EntryID
	Recorded
	KeptID WorkerID // under whom the person is found from now on
	GoneID WorkerID // whose entries count for the other
	Reason string
}

// Hold keeps records from being erased, whatever the retention rules say, until a Release names it. It names one worker, crew, device or kit.
type Hold struct {
	ID EntryID
	Recorded
	WorkerID WorkerID
	CrewID   CrewID
	DeviceID DeviceID
	KitID    KitID
	Reason   string
}

// Release ends a hold.
type Release struct {
	ID EntryID
	Recorded
	HoldID EntryID
	Reason string
}

// Retention is how long records of a class are kept, from a day on (HappenedOn). It is the employer's policy; no single legal period fits.
type Retention struct {
	ID EntryID
	Recorded
	Class  RetentionClass
	After  RetentionStart
	Months int
	Basis  string
}

// RetentionClass is a class of records.
type RetentionClass string

// The classes.
const (
	TrainingRecords   RetentionClass = "TRAINING"    // drills, assessments, evidence, extensions
	InspectionRecords RetentionClass = "INSPECTIONS" // of kits and devices
	AnswerRecords     RetentionClass = "ANSWERS"     // answers given about crews
	NoticeRecords     RetentionClass = "NOTICES"
)

// RetentionStart is from when the months count.
type RetentionStart string

// The starts.
const (
	EmploymentEnded RetentionStart = "EMPLOYMENT_ENDED"
	ItemRetired     RetentionStart = "ITEM_RETIRED"
	WhenRecorded    RetentionStart = "RECORDED"
)

// Erasure says that the names of a worker were replaced by a code. The facts stay.
type Erasure struct {
	ID EntryID
	Recorded
	WorkerID WorkerID
	Code     string
	Reason   string
}

// Viewing is one look at the records of people: who asked what about whom.
type Viewing struct {
	ID        EntryID
	AccountID AccountID
	ViewedAt  Instant
	Question  string // as "workerRecord"
	Workers   List   // whose records were shown
}

// RealEvent is a rescue that was not a drill, a near miss, or a drill that hurt somebody. What was seen of it stands here; never anything medical.
type RealEvent struct {
	ID EntryID
	Recorded
	Kind                RealEventKind
	CrewID              CrewID
	DeviceID            DeviceID
	KitID               KitID
	What                string
	CasualtyDownSeconds int // from the alarm; zero: not known
	FirstAidSeconds     int // from the alarm; zero: not known
}

// RealEventKind is what happened.
type RealEventKind string

// The kinds.
const (
	RealRescue  RealEventKind = "REAL_RESCUE"
	NearMiss    RealEventKind = "NEAR_MISS"
	HurtInDrill RealEventKind = "HURT_IN_DRILL"
)
