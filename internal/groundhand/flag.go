package groundhand

// Flag is a warning that the watch raised about a worker or a crew for a day. It stays open until a Clearing names it.
type Flag struct {
	ID       FlagID
	Kind     FlagKind
	WorkerID WorkerID // about this worker, or
	CrewID   CrewID   // about this crew
	RaisedOn Date     // the business day whose sweep raised it
	RaisedAt Instant
	Detail   string // reasons as JSON
}

// Clearing ends a flag.
type Clearing struct {
	ID        EntryID
	FlagID    FlagID
	ClearedOn Date
	ClearedAt Instant
}

// FlagKind is what the watch found.
type FlagKind string

// The kinds.
const (
	PracticeLapsed  FlagKind = "PRACTICE_LAPSED"    // a line of the aerial-rescue methods asked of this worker is not current
	LastGoodDayNear FlagKind = "LAST_GOOD_DAY_NEAR" // the last good day of such a line is within the lead time
	CrewBelowTwo    FlagKind = "CREW_BELOW_TWO"     // the crew has fewer than two trained rescuers
	NoGroundCover   FlagKind = "NO_GROUND_COVER"    // no permitted choice of who goes aloft leaves a rescuer on the ground
)

// FlagKinds lists them in the order in which they are shown.
var FlagKinds = []FlagKind{PracticeLapsed, LastGoodDayNear, CrewBelowTwo, NoGroundCover}

// Sweep is one finished run of the watch for a business day.
type Sweep struct {
	ID         EntryID
	Day        Date
	StartedAt  Instant
	FinishedAt Instant
	Raised     int
	Cleared    int
	ByHand     bool
}
