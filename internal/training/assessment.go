package training

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// AssessmentForm is a run judged by an assessor.
type AssessmentForm struct {
	Entry
	When
	WorkerID   groundhand.WorkerID
	Method     groundhand.Method
	Role       groundhand.Role
	FamilyID   groundhand.FamilyID
	Result     groundhand.AssessmentResult
	AssessorID groundhand.WorkerID
	RunPartID  groundhand.EntryID // the part in a run that was judged; empty: not linked
	Theory     bool
	Steps      groundhand.CriticalSteps
	Coaching   string
	NextStep   string
}

// Assess enters an assessment. Nobody assesses self, and an assessor needs authority for the method and the control family on that day;
// nobody passes others whose own practice is known not to have been good that day. What is learned later is derived with the standing.
// HR may correct whom an assessment is about, and nothing else of it.
func (d *Desk) Assess(ctx context.Context, by groundhand.Account, key string, f AssessmentForm) (groundhand.Assessment, error) {
	a := act{name: "assess", may: access.Assess}
	if f.identifies(by) {
		a.may = access.Correct
	}
	return once(ctx, d, by, key, a, f, one[groundhand.Assessment])
}

func (f AssessmentForm) check(c *fields) {
	f.Entry.check(c)
	f.happened(c)
	c.id("workerId", string(f.WorkerID))
	c.skill(f.Method, f.Role, f.FamilyID)
	c.familyNeeded("familyId", f.Method, f.FamilyID, f.origin())
	oneOf(c, "result", f.Result, groundhand.Pass, groundhand.Fail, groundhand.NotCompleted)
	c.id("assessorId", string(f.AssessorID))
	if f.AssessorID == f.WorkerID && f.AssessorID != "" {
		c.breaks(groundhand.SelfAssessment, f.WorkerID, groundhand.CodeInvalid, "assessorId", "Nobody assesses self; another assessor has to sign.")
	}
	c.maybeID("runPartId", string(f.RunPartID))
	c.steps("steps", f.Steps)
	if step := f.Steps.Failed(); step != "" && f.Result == groundhand.Pass {
		c.wrong("result", "The critical step %s was not done; that is no pass.", quoted(step))
	}
	c.remark("coaching", f.Coaching)
	c.remark("nextStep", f.NextStep)
}

// skill asks for a method with a role that it has, and allows a control family.
func (c *fields) skill(m groundhand.Method, r groundhand.Role, family groundhand.FamilyID) {
	c.method("method", m)
	c.rescueRole("role", m, r)
	c.maybeID("familyId", string(family))
}

func (f AssessmentForm) enter(in *entering) groundhand.Assessment {
	old, corrects := correct[groundhand.Assessment](in, "assessment", f.Entry)
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID), at("assessorId", f.AssessorID))
	known[groundhand.Family](in, "control family", at("familyId", f.FamilyID))
	a := groundhand.Assessment{
		ID: entryID(in), Recorded: in.told(f.Entry, f.When), WorkerID: f.WorkerID, Method: f.Method, Role: f.Role, FamilyID: f.FamilyID,
		Result: f.Result, AssessorID: f.AssessorID, RunPartID: f.RunPartID, Theory: f.Theory, Steps: f.Steps,
		Coaching: f.Coaching, NextStep: f.NextStep,
	}
	if f.identifies(in.by) {
		in.onlyWho(!corrects || sameButWho(old, a))
	} else {
		if corrects {
			in.ownSignature("replaces", old)
		}
		in.ownName(a)
		in.authorised(a)
		in.practised(a)
	}
	in.ofRun(a)
	add(in, a)
	result(in, a.ID)
	return a
}

// ownName keeps an assessor from signing for another one: a signature is a person's own act.
func (in *entering) ownName(a groundhand.Assessment) {
	if in.by.Capacity == groundhand.Assessor && a.AssessorID != in.by.WorkerID && a.AssessorID != "" {
		in.breaks(groundhand.OtherName, a.WorkerID, groundhand.CodeForbidden, "assessorId", "An assessor signs in the own name only; ask that assessor to sign.")
	}
}

// ownSignature keeps an assessor from undoing what another one signed; the coordinator may have it looked at again and withdrawn.
func (in *entering) ownSignature(field string, old groundhand.Assessment) {
	if in.by.Capacity == groundhand.Assessor && old.AssessorID != in.by.WorkerID {
		in.breaks(groundhand.OtherName, old.WorkerID, groundhand.CodeForbidden, field, "Another assessor signed that; an assessor corrects or withdraws the own only.")
	}
}

// authorised refuses an assessment by somebody who may not pass or fail others in this method on this control family on this day.
func (in *entering) authorised(a groundhand.Assessment) {
	given, err := store.FindStanding[groundhand.Authority](in.ctx, in.tx, store.ByAssessor, []groundhand.WorkerID{a.AssessorID})
	if in.failed(err) || !wellFormed(string(a.AssessorID)) {
		return
	}
	for _, authority := range given {
		if covers(authority, a) {
			return
		}
	}
	in.breaks(groundhand.NoAuthority, a.WorkerID, groundhand.CodeConflict, "assessorId", "No authority of this assessor covers %s on family %s on %s.", a.Method, orAny(a.FamilyID), a.HappenedOn)
}

// covers says whether an authority lets its holder judge: given by another, not after the day, for the method and the family. An
// assessment without a family needs an authority for all.
func covers(g groundhand.Authority, a groundhand.Assessment) bool {
	return g.AuthorID != g.AssessorID && g.HappenedOn <= a.HappenedOn &&
		g.FromOn <= a.HappenedOn && (g.ToOn == 0 || a.HappenedOn <= g.ToOn) &&
		g.Methods.Has(string(a.Method)) && (len(g.Families) == 0 || g.Families.Has(string(a.FamilyID)))
}

func orAny(f groundhand.FamilyID) string {
	if f == "" {
		return "(any)"
	}
	return quoted(string(f))
}

// ofRun refuses a link to a part in a run that somebody else had, or of another method or role, or that came later.
func (in *entering) ofRun(a groundhand.Assessment) {
	part, ok := fetch[groundhand.RunPart](in, "part in a run", at("runPartId", a.RunPartID))
	if !ok {
		return
	}
	run, err := store.Get[groundhand.Run](in.ctx, in.tx, part.RunID)
	if in.failed(err) {
		return
	}
	if part.WorkerID != a.WorkerID || part.Role != a.Role || run.Method != a.Method || run.FamilyID != a.FamilyID {
		in.Add(groundhand.CodeConflict, "runPartId", "That was %s as %s of %s on family %s; the assessment says otherwise.", part.WorkerID, part.Role, run.Method, orAny(run.FamilyID))
	}
	if run.HappenedOn > a.HappenedOn {
		in.Add(groundhand.CodeConflict, "runPartId", "That run was on %s, after this assessment.", run.HappenedOn)
	}
}

// AuthorityForm lets a worker pass or fail others. On is the day on which it was granted; the author grants it.
type AuthorityForm struct {
	Entry
	When
	AssessorID groundhand.WorkerID
	Methods    groundhand.List // at least one
	Families   groundhand.List // empty: every family
	FromOn     groundhand.Date
	ToOn       groundhand.Date // last day; empty: until further notice
	Basis      string
}

// GrantAuthority enters an authority. Nobody grants it to self.
func (d *Desk) GrantAuthority(ctx context.Context, by groundhand.Account, key string, f AuthorityForm) (groundhand.Authority, error) {
	return once(ctx, d, by, key, act{name: "grantAuthority", may: access.GrantAuthority}, f, one[groundhand.Authority])
}

func (f AuthorityForm) check(c *fields) {
	f.Entry.check(c)
	f.happened(c)
	c.id("assessorId", string(f.AssessorID))
	c.methods("methods", f.Methods)
	if len(f.Methods) == 0 {
		c.wrong("methods", "Say for which methods.")
	}
	c.ids("families", f.Families)
	c.stretch("fromOn", "toOn", f.FromOn, f.ToOn)
	c.remark("basis", f.Basis)
}

func (f AuthorityForm) enter(in *entering) groundhand.Authority {
	correct[groundhand.Authority](in, "authority", f.Entry)
	known[groundhand.Worker](in, "worker", at("assessorId", f.AssessorID))
	known[groundhand.Family](in, "control family", refs("families", f.Families)...)
	in.notForSelf(groundhand.OwnAuthority, "assessorId", f.AssessorID, "Nobody grants authority to self; somebody else has to.")
	a := groundhand.Authority{
		ID: entryID(in), Recorded: in.told(f.Entry, f.When), AssessorID: f.AssessorID, Methods: f.Methods, Families: f.Families,
		FromOn: f.FromOn, ToOn: f.ToOn, Basis: f.Basis,
	}
	add(in, a)
	result(in, a.ID)
	return a
}
