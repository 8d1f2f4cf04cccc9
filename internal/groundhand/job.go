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
	Aloft        int  // people in the bucket at a time
	Methods      List // rescue methods that the site allows
	Near50V      Answer
	SiteKind     SiteKind
	CallPlan     Answer // how help is called from there is written down
	Place        string
	RuleSetID    RuleSetID // a client's rules; empty: our own of that day
	PlannedAloft List      // workers whom the foreman means to send up; may be empty
	Duties       Duties    // exclusive duties, whose holders are not ground rescuers
}

// SiteKind is the kind of site, which decides how many first aiders are asked for.
type SiteKind string

// The kinds.
const (
	FieldSite SiteKind = "FIELD"
	FixedSite SiteKind = "FIXED"
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
