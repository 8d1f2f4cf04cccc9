package groundhand

// Worker is one person for ever: somebody who goes aloft, stands below, assesses, inspects or works at a desk. Names, numbers,
// employers, grades and yards change and are separate records with dates.
type Worker struct {
	ID WorkerID
	Recorded
	Number string // staff number at the time of entry; unique among those who hold one
}

// WorkerName is the name from a day on.
type WorkerName struct {
	ID       EntryID
	Recorded // HappenedOn: from this day on
	WorkerID WorkerID
	Name     string
}

// Employment is the relation to an employer over a time.
type Employment struct {
	ID EntryID
	Recorded
	WorkerID WorkerID
	Employer string
	Relation Relation
	FromOn   Date
	ToOn     Date // last day; zero: still
}

// Relation of a worker to the company that keeps the records.
type Relation string

// The relations.
const (
	Employee           Relation = "EMPLOYEE"
	ResidentContractor Relation = "RESIDENT_CONTRACTOR"
	Visitor            Relation = "VISITOR" // mutual aid, storm work
)

// Grading is the grade from a day on.
type Grading struct {
	ID       EntryID
	Recorded // HappenedOn: from this day on
	WorkerID WorkerID
	Grade    Grade
	Year     int // year of an apprentice, 1 to 6; else 0
}

// Grade says what work a person may be given; a rule set may bar apprentice years from leading.
type Grade string

// The grades.
const (
	Qualified  Grade = "QUALIFIED"  // works aloft on own account
	Apprentice Grade = "APPRENTICE" // works aloft under supervision; has a year
	Ground     Grade = "GROUND"     // works below only
	Office     Grade = "OFFICE"     // does not work in the field
)

// Aloft says whether the grade goes aloft at all. No grade known: no.
func (g Grade) Aloft() bool { return g == Qualified || g == Apprentice }

// Posting is the home yard from a day on.
type Posting struct {
	ID       EntryID
	Recorded // HappenedOn: from this day on
	WorkerID WorkerID
	YardID   YardID
}

// Unavailability is a time in which a person cannot be sent, or may not be counted as a rescuer. The reason is not here: see UnavailabilityReason.
type Unavailability struct {
	ID EntryID
	Recorded
	WorkerID WorkerID
	Kind     UnavailabilityKind
	FromAt   Instant
	ToAt     Instant // not included; zero: open end
}

// UnavailabilityKind is what a dispatcher may see.
type UnavailabilityKind string

// The kinds. Sick is shown to a dispatcher as absent, nothing more.
const (
	Leave        UnavailabilityKind = "LEAVE"
	Sick         UnavailabilityKind = "SICK"
	Course       UnavailabilityKind = "COURSE"
	Rest         UnavailabilityKind = "REST"
	Standby      UnavailabilityKind = "STANDBY"        // works, but cannot be sent to a drill
	NotForRescue UnavailabilityKind = "NOT_FOR_RESCUE" // works, but does not count as a rescuer
)

// Absent says whether the person is not at work at all.
func (k UnavailabilityKind) Absent() bool { return k != Standby && k != NotForRescue }

// UnavailabilityReason is kept apart, for HR alone. It never reaches an answer, a flag or a plan.
type UnavailabilityReason struct {
	ID EntryID
	Recorded
	UnavailabilityID EntryID
	Reason           string
}
