package groundhand

// Yard is a place that crews start from.
type Yard struct {
	ID YardID
	Recorded
	Name string
}

// Road is the one-way travel time between two yards, the same both ways. Yards without a road cannot reach each other.
type Road struct {
	ID EntryID
	Recorded
	FromYardID YardID
	ToYardID   YardID
	Minutes    int
}

// Crew is a standing group of workers.
type Crew struct {
	ID CrewID
	Recorded
	Name       string
	YardID     YardID
	Kind       CrewKind
	NormalSize int  // people it goes out with
	Families   List // control families of the devices it works on, which its people must be practised on
}

// CrewKind is the kind of work.
type CrewKind string

// The kinds. People of the relief pool stand in for others; the pool itself is not sent out.
const (
	LineCrew       CrewKind = "LINE"
	FaultCrew      CrewKind = "FAULT"
	SubstationCrew CrewKind = "SUBSTATION"
	ReliefPool     CrewKind = "RELIEF"
)

// Membership puts a worker into a crew for a time. One place at a time: no two memberships of a worker may overlap, except that a
// loan or a split stands over the permanent one while it lasts.
type Membership struct {
	ID EntryID
	Recorded
	CrewID   CrewID
	WorkerID WorkerID
	Part     CrewPart
	Reason   MembershipReason
	FromOn   Date
	ToOn     Date    // last day; zero: until further notice
	FromAt   Instant // on FromOn, from this moment; zero: from the start of the day
	ToAt     Instant // on ToOn, until this moment, not included; zero: to the end of the day
}

// On says whether the membership holds on a day, or on a part of it.
func (m Membership) On(d Date) bool { return m.FromOn <= d && (m.ToOn == 0 || d <= m.ToOn) }

// CrewPart is the place in the crew.
type CrewPart string

// The parts.
const (
	Foreman CrewPart = "FOREMAN"
	Member  CrewPart = "MEMBER"
)

// MembershipReason is why a worker is in the crew.
type MembershipReason string

// The reasons.
const (
	Permanent MembershipReason = "PERMANENT"
	Loan      MembershipReason = "LOAN"
	Split     MembershipReason = "SPLIT"
	Storm     MembershipReason = "STORM"
)
