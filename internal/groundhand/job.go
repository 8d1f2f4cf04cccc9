package groundhand

import "database/sql/driver"

// Job is booked work as far as rescue needs to know it.
type Job struct {
	ID JobID
	Recorded
	CrewID       CrewID
	YardID       YardID
	StartAt      Instant
	EndAt        Instant
	DeviceID     DeviceID
	KitID        KitID
	Aloft        int    // people aloft at a time, summed over the buckets
	Buckets      Counts // people in each bucket, when there is more than one; empty: one bucket
	Methods      List   // rescue methods that the site allows
	Near50V      Answer
	SiteKind     SiteKind
	RuleText     RuleText // empty: general
	HiresTrained Answer   // for tree trimmers: is everybody hired trained in first aid within three months
	CallPlan     Answer   // how help is called from there is written down
	Place        string
	RuleSetID    RuleSetID // a client's rules; empty: our own of that day
	PlannedAloft List      // workers whom the foreman means to send up; may be empty
	Duties       Duties    // exclusive duties, whose holders are not ground rescuers
}

// SiteKind is the kind of site, which decides how many first aiders are asked for.
type SiteKind string

// The kinds.
const (
	FieldSite    SiteKind = "FIELD"
	FixedSite    SiteKind = "FIXED"
	TrimmersSite SiteKind = "TRIMMERS" // line-clearance tree trimming by people who are not qualified employees
)

// RuleText is which published text on first aid the work falls under. The construction text knows no exception for tree trimmers.
type RuleText string

// The texts, as 29 CFR 1910.269(b)(1) and 1926.951(b) have them.
const (
	GeneralText      RuleText = "GENERAL"
	ConstructionText RuleText = "CONSTRUCTION"
)

// Counts are small numbers, stored as JSON text.
type Counts []int

// Value stores the numbers as JSON text.
func (c Counts) Value() (driver.Value, error) { return jsonText([]int(c), len(c) == 0) }

// Scan reads what Value stored.
func (c *Counts) Scan(src any) error { return scanJSON(src, (*[]int)(c)) }

// Briefing is what the foreman answers at the job briefing: yes or no, on the spot. It holds for the departure of the job. Nobody's
// weight is stored, only whether the kit suits everybody who goes up, with tools.
type Briefing struct {
	ID EntryID
	Recorded
	JobID       JobID
	KitOnDevice Answer // seen there, reachable
	KitSuits    Answer // everybody going aloft, with tools, within its rated load as labelled
	Aloft       List   // workers who go up first; may be empty
	Remarks     string
}

// Shift is when somebody is at work in a yard outside their crew: the hours in which an assessor can watch a drill.
type Shift struct {
	ID EntryID
	Recorded
	WorkerID WorkerID
	YardID   YardID
	FromAt   Instant
	ToAt     Instant // not included
}

// Reply is an answer about cover as it was given to somebody, with the whole question that it answers and what it rested on. Both are
// kept as the text of their file formats, so that they can be recomputed.
type Reply struct {
	ID ReplyID
	Recorded
	CrewID    CrewID // empty: people named one by one
	JobID     JobID  // empty: no booked job
	RuleSetID RuleSetID
	Verdict   string // READY, CONDITIONAL, NOT_READY or CANNOT_TELL
	Question  string // cover-question/1
	Answer    string // cover-answer/1
	Looks     List   // looks of the day that the verdict supposes will be made before departure
	RestsOn   List   // the entries that it rested on
}

// Decision is what was decided upon an answer.
type Decision struct {
	ID EntryID
	Recorded
	ReplyID ReplyID
	Decided DecisionKind
	Remarks string // which change, which conditions were accepted
}

// DecisionKind is what was decided.
type DecisionKind string

// The decisions.
const (
	Sent           DecisionKind = "SENT"
	SentChanged    DecisionKind = "SENT_CHANGED" // after one of the changes, which is named in the remarks
	SentConditions DecisionKind = "SENT_WITH_CONDITIONS"
	NotSent        DecisionKind = "NOT_SENT"
)

// Duty is an exclusive duty at the job and the worker who holds it.
type Duty struct {
	Duty     string   `json:"duty"`
	WorkerID WorkerID `json:"worker"`
}

// Duties are the exclusive duties of one job.
type Duties []Duty

// Value stores the duties as JSON text.
func (d Duties) Value() (driver.Value, error) { return jsonText([]Duty(d), len(d) == 0) }

// Scan reads what Value stored.
func (d *Duties) Scan(src any) error { return scanJSON(src, (*[]Duty)(d)) }
