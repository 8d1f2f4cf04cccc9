package rollcall

import (
	"groundhand/internal/groundhand"
)

// RotationChange is one "what if" of a rotation. Exactly one part is given. It is applied while the problem is posed; what comes out is a
// plain problem that can be planned, checked and compared like any other.
type RotationChange struct {
	CloseYard   *YardClosed          // no session there on these days
	AddAssessor *AssessorAdded       // needs an Offering: more slots come of it
	AddKit      *KitAdded            // needs an Offering: more slots come of it
	RuleSetID   groundhand.RuleSetID // judged by another rule set
}

// YardClosed closes a yard for drills from one day to another, both included.
type YardClosed struct {
	YardID   groundhand.YardID
	From, To groundhand.Date
}

// AssessorAdded is one more assessor, who leads at one yard only and is never away.
type AssessorAdded struct {
	YardID   groundhand.YardID
	Methods  []groundhand.Method   // with authority for these; empty: for all that is planned
	Families []groundhand.FamilyID // on these; empty: on every family
}

// KitAdded is one more rescue kit in the store of a yard, in service all the time.
type KitAdded struct {
	YardID groundhand.YardID
}

// AddedAssessor is the id under which an added assessor leads slots. It is nobody's, so a plan with sessions of theirs cannot be adopted.
const AddedAssessor = "one-more-assessor"

// WorkerDays are days on which a worker is at work and is not to be sent to a drill, both ends included.
type WorkerDays struct {
	Worker   groundhand.WorkerID
	From, To groundhand.Date
}
