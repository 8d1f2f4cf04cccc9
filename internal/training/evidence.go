package training

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
)

var levels = []groundhand.EvidenceLevel{groundhand.Stated, groundhand.CopySeen, groundhand.OriginalSeen, groundhand.IssuerConfirmed, groundhand.DemonstratedHere}

// OutsideForm is what somebody else certifies: a first-aid card, another employer's drill. On is the day of the practice itself.
type OutsideForm struct {
	Entry
	When
	WorkerID  groundhand.WorkerID
	Method    groundhand.Method
	Role      groundhand.Role
	FamilyID  groundhand.FamilyID
	Issuer    string
	Level     groundhand.EvidenceLevel
	CheckerID groundhand.WorkerID // who here looked at it; empty only when it was merely stated
}

// RecordOutside enters outside evidence.
func (d *Desk) RecordOutside(ctx context.Context, by groundhand.Account, key string, f OutsideForm) (groundhand.OutsideEvidence, error) {
	return once(ctx, d, by, key, act{name: "recordOutside", may: access.RecordEvidence}, f, one[groundhand.OutsideEvidence])
}

func (f OutsideForm) check(c *fields) {
	f.Entry.check(c)
	f.happened(c)
	c.id("workerId", string(f.WorkerID))
	c.skill(f.Method, f.Role, f.FamilyID)
	c.name("issuer", f.Issuer)
	oneOf(c, "level", f.Level, levels...)
	c.maybeID("checkerId", string(f.CheckerID))
	switch {
	case f.CheckerID == "" && f.Level != groundhand.Stated:
		c.wrong("checkerId", "Say who looked at it; only what is merely stated has no checker.")
	case f.CheckerID == f.WorkerID && f.CheckerID != "":
		c.breaks(groundhand.OwnEvidence, f.WorkerID, groundhand.CodeInvalid, "checkerId", "Nobody checks the own evidence; somebody else has to look.")
	}
}

func (f OutsideForm) enter(in *entering) groundhand.OutsideEvidence {
	correct[groundhand.OutsideEvidence](in, "outside evidence", f.Entry)
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID), at("checkerId", f.CheckerID))
	known[groundhand.Family](in, "control family", at("familyId", f.FamilyID))
	e := groundhand.OutsideEvidence{
		ID: entryID(in), Recorded: in.told(f.Entry, f.When), WorkerID: f.WorkerID, Method: f.Method, Role: f.Role, FamilyID: f.FamilyID,
		Issuer: f.Issuer, Level: f.Level, CheckerID: f.CheckerID,
	}
	add(in, e)
	result(in, e.ID)
	return e
}

// SuspensionForm holds a person out of a method until it is lifted.
type SuspensionForm struct {
	Entry
	When
	WorkerID groundhand.WorkerID
	Method   groundhand.Method
	Role     groundhand.Role     // empty: every role
	FamilyID groundhand.FamilyID // empty: every family
	Cause    string
}

// Suspend enters a suspension.
func (d *Desk) Suspend(ctx context.Context, by groundhand.Account, key string, f SuspensionForm) (groundhand.Suspension, error) {
	return once(ctx, d, by, key, act{name: "suspend", may: access.Suspend}, f, one[groundhand.Suspension])
}

func (f SuspensionForm) check(c *fields) {
	f.Entry.check(c)
	f.happened(c)
	c.id("workerId", string(f.WorkerID))
	c.scope(f.Method, f.Role, f.FamilyID)
	c.needed("cause", f.Cause)
}

// scope asks for a method and allows a role that it has and a family; left out, all are meant.
func (c *fields) scope(m groundhand.Method, r groundhand.Role, family groundhand.FamilyID) {
	c.method("method", m)
	if r != "" {
		c.rescueRole("role", m, r)
	}
	c.maybeID("familyId", string(family))
}

// needed asks for a longer text.
func (c *fields) needed(field, text string) {
	if text == "" {
		c.wrong(field, "Give the reason.")
	}
	c.remark(field, text)
}

func (f SuspensionForm) enter(in *entering) groundhand.Suspension {
	correct[groundhand.Suspension](in, "suspension", f.Entry)
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID))
	known[groundhand.Family](in, "control family", at("familyId", f.FamilyID))
	s := groundhand.Suspension{
		ID: entryID(in), Recorded: in.told(f.Entry, f.When), WorkerID: f.WorkerID, Method: f.Method, Role: f.Role,
		FamilyID: f.FamilyID, Cause: f.Cause,
	}
	add(in, s)
	result(in, s.ID)
	return s
}

// LiftingForm ends a suspension on the ground of a pass made after it.
type LiftingForm struct {
	Entry
	When
	SuspensionID groundhand.EntryID
	PassID       groundhand.EntryID
}

// Lift enters the end of a suspension. Nobody lifts the own.
func (d *Desk) Lift(ctx context.Context, by groundhand.Account, key string, f LiftingForm) (groundhand.Lifting, error) {
	return once(ctx, d, by, key, act{name: "lift", may: access.Lift}, f, one[groundhand.Lifting])
}

func (f LiftingForm) check(c *fields) {
	f.Entry.check(c)
	f.happened(c)
	c.id("suspensionId", string(f.SuspensionID))
	c.id("passId", string(f.PassID))
}

func (f LiftingForm) enter(in *entering) groundhand.Lifting {
	correct[groundhand.Lifting](in, "lifting", f.Entry)
	s, known := fetch[groundhand.Suspension](in, "suspension", at("suspensionId", f.SuspensionID))
	pass, found := fetch[groundhand.Assessment](in, "assessment", at("passId", f.PassID))
	if known && found {
		in.lifts(s, pass)
	}
	l := groundhand.Lifting{
		ID: entryID(in), Recorded: in.told(f.Entry, f.When), WorkerID: s.WorkerID, SuspensionID: f.SuspensionID, PassID: f.PassID,
	}
	if known && l.HappenedOn < s.HappenedOn {
		in.Add(groundhand.CodeConflict, "on", "The suspension began on %s, after this.", s.HappenedOn)
	}
	in.notForSelf(groundhand.OwnSuspension, "suspensionId", s.WorkerID, "Nobody lifts the own suspension; somebody else has to.")
	add(in, l)
	result(in, l.ID)
	return l
}

// lifts refuses an assessment on which a suspension cannot be lifted: no pass, of somebody else, of another method, role or family, or
// older than the suspension.
func (in *entering) lifts(s groundhand.Suspension, pass groundhand.Assessment) {
	same := pass.WorkerID == s.WorkerID && pass.Method == s.Method && (s.Role == "" || s.Role == pass.Role) && (s.FamilyID == "" || s.FamilyID == pass.FamilyID)
	switch {
	case pass.Result != groundhand.Pass || pass.Theory:
		in.Add(groundhand.CodeConflict, "passId", "That assessment is no pass in practice; only a pass lifts a suspension.")
	case !same:
		in.Add(groundhand.CodeConflict, "passId", "That pass is of another worker, method, role or control family than the suspension.")
	case pass.HappenedOn < s.HappenedOn:
		in.Add(groundhand.CodeConflict, "passId", "That pass of %s is older than the suspension of %s.", pass.HappenedOn, s.HappenedOn)
	}
}

// ExtensionForm is a permission beyond the last good day, with an end. On is the day on which it was granted.
type ExtensionForm struct {
	Entry
	When
	WorkerID   groundhand.WorkerID
	Method     groundhand.Method
	Role       groundhand.Role     // empty: lead and second
	FamilyID   groundhand.FamilyID // empty: every family
	FromOn     groundhand.Date
	ToOn       groundhand.Date // last day; never open
	ApproverID groundhand.WorkerID
	Basis      string
	Conditions string // limits beside it; empty: none
}

// Extend enters an extension. Nobody approves the own, or enters it.
func (d *Desk) Extend(ctx context.Context, by groundhand.Account, key string, f ExtensionForm) (groundhand.Extension, error) {
	return once(ctx, d, by, key, act{name: "extend", may: access.Extend}, f, one[groundhand.Extension])
}

func (f ExtensionForm) check(c *fields) {
	f.Entry.check(c)
	f.happened(c)
	c.id("workerId", string(f.WorkerID))
	c.scope(f.Method, f.Role, f.FamilyID)
	c.closedStretch(f.FromOn, f.ToOn)
	c.id("approverId", string(f.ApproverID))
	if f.ApproverID == f.WorkerID && f.ApproverID != "" {
		c.breaks(groundhand.OwnExtension, f.WorkerID, groundhand.CodeInvalid, "approverId", "Nobody approves the own extension; somebody else has to.")
	}
	c.needed("basis", f.Basis)
	c.remark("conditions", f.Conditions)
}

// closedStretch asks for a first and a last day.
func (c *fields) closedStretch(from, to groundhand.Date) {
	c.stretch("fromOn", "toOn", from, to)
	if to == 0 {
		c.wrong("toOn", "Give the last day; this never stays open.")
	}
}

func (f ExtensionForm) enter(in *entering) groundhand.Extension {
	correct[groundhand.Extension](in, "extension", f.Entry)
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID), at("approverId", f.ApproverID))
	known[groundhand.Family](in, "control family", at("familyId", f.FamilyID))
	in.notForSelf(groundhand.OwnExtension, "workerId", f.WorkerID, "Nobody enters the own extension; somebody else has to.")
	e := groundhand.Extension{
		ID: entryID(in), Recorded: in.told(f.Entry, f.When), WorkerID: f.WorkerID, Method: f.Method, Role: f.Role, FamilyID: f.FamilyID,
		FromOn: f.FromOn, ToOn: f.ToOn, ApproverID: f.ApproverID, Basis: f.Basis, Conditions: f.Conditions,
	}
	add(in, e)
	result(in, e.ID)
	return e
}

// ProvisionalForm accepts a person on paper until somebody has watched a run here. On is the day of the decision.
type ProvisionalForm struct {
	Entry
	When
	WorkerID groundhand.WorkerID
	Method   groundhand.Method
	Role     groundhand.Role
	FamilyID groundhand.FamilyID
	FromOn   groundhand.Date
	ToOn     groundhand.Date // last day; never open
	Basis    string
	// ApproverID is who accepted the person; never the person.
	ApproverID groundhand.WorkerID
	EvidenceID groundhand.EntryID // the person's outside evidence that it rests on; empty: none
	Conditions string             // limits beside it; empty: none
}

// AcceptProvisionally enters an acceptance on paper. Nobody approves the own, or enters it.
func (d *Desk) AcceptProvisionally(ctx context.Context, by groundhand.Account, key string, f ProvisionalForm) (groundhand.Provisional, error) {
	return once(ctx, d, by, key, act{name: "acceptProvisionally", may: access.AcceptProvisionally}, f, one[groundhand.Provisional])
}

func (f ProvisionalForm) check(c *fields) {
	f.Entry.check(c)
	f.happened(c)
	c.id("workerId", string(f.WorkerID))
	c.skill(f.Method, f.Role, f.FamilyID)
	c.closedStretch(f.FromOn, f.ToOn)
	c.needed("basis", f.Basis)
	c.id("approverId", string(f.ApproverID))
	if f.ApproverID == f.WorkerID && f.ApproverID != "" {
		c.breaks(groundhand.OwnExtension, f.WorkerID, groundhand.CodeInvalid, "approverId", "Nobody approves the own acceptance; somebody else has to.")
	}
	c.maybeID("evidenceId", string(f.EvidenceID))
	c.remark("conditions", f.Conditions)
}

func (f ProvisionalForm) enter(in *entering) groundhand.Provisional {
	correct[groundhand.Provisional](in, "acceptance", f.Entry)
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID), at("approverId", f.ApproverID))
	known[groundhand.Family](in, "control family", at("familyId", f.FamilyID))
	if e, ok := fetch[groundhand.OutsideEvidence](in, "outside evidence", at("evidenceId", f.EvidenceID)); ok && e.WorkerID != f.WorkerID {
		in.Add(groundhand.CodeConflict, "evidenceId", "That evidence is somebody else's.")
	}
	in.notForSelf(groundhand.OwnExtension, "workerId", f.WorkerID, "Nobody accepts self; somebody else has to decide.")
	p := groundhand.Provisional{
		ID: entryID(in), Recorded: in.told(f.Entry, f.When), WorkerID: f.WorkerID, Method: f.Method, Role: f.Role, FamilyID: f.FamilyID,
		FromOn: f.FromOn, ToOn: f.ToOn, Basis: f.Basis, ApproverID: f.ApproverID, EvidenceID: f.EvidenceID, Conditions: f.Conditions,
	}
	add(in, p)
	result(in, p.ID)
	return p
}
