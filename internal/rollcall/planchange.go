package rollcall

import (
	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
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

// changed takes the rule set of a change over; what else a change says is looked up while slots are made.
func (a RotationAsk) changed() RotationAsk {
	if a.Change != nil && a.Change.RuleSetID != "" {
		a.RuleSetID = a.Change.RuleSetID
	}
	return a
}

func (c *RotationChange) check(p *groundhand.Problems, offers bool) {
	given := 0
	for _, is := range []bool{c.CloseYard != nil, c.AddAssessor != nil, c.AddKit != nil, c.RuleSetID != ""} {
		if is {
			given++
		}
	}
	if given != 1 {
		p.Add(groundhand.CodeInvalid, "change", "Change one thing at a time: close a yard, add an assessor, add a kit or name a rule set.")
	}
	if c.CloseYard != nil && (c.CloseYard.From == 0 || c.CloseYard.To < c.CloseYard.From) {
		p.Add(groundhand.CodeInvalid, "change.closeYard.to", "The yard opens again before it closes.")
	}
	if (c.AddAssessor != nil || c.AddKit != nil) && !offers {
		p.Add(groundhand.CodeInvalid, "change", "One more assessor or kit makes a difference only where slots are offered from what is there; ask for an offer, in the plan to compare with too.")
	}
	if field, yard := c.yard(); field != "" && yard == "" {
		p.Add(groundhand.CodeInvalid, field, "Name the yard.")
	}
}

// yard is the yard that a change is about, with its field; both empty when it is about none.
func (c *RotationChange) yard() (string, groundhand.YardID) {
	switch {
	case c == nil:
	case c.CloseYard != nil:
		return "change.closeYard.yardId", c.CloseYard.YardID
	case c.AddAssessor != nil:
		return "change.addAssessor.yardId", c.AddAssessor.YardID
	case c.AddKit != nil:
		return "change.addKit.yardId", c.AddKit.YardID
	}
	return "", ""
}

// closes says that a slot is in a yard on a day on which the change closes it.
func (c *RotationChange) closes(s rotation.Slot) bool {
	return c != nil && c.CloseYard != nil && s.Yard == string(c.CloseYard.YardID) && c.CloseYard.From <= s.Date && s.Date <= c.CloseYard.To
}
