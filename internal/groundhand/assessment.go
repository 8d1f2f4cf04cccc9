package groundhand

import (
	"database/sql/driver"
	"strconv"
)

// Assessment is a run judged by an assessor: pass or fail. Nobody assesses self.
type Assessment struct {
	ID EntryID
	Recorded
	WorkerID   WorkerID
	Method     Method
	Role       Role // lead, second or lone
	FamilyID   FamilyID
	Result     AssessmentResult
	AssessorID WorkerID
	RunPartID  EntryID // the run assessed; empty: not linked
	Theory     bool
	Steps      CriticalSteps
	Coaching   string // points to coach
	NextStep   string
}

// Critical says whether a fail was on a critical step, which suspends the method at once.
func (a Assessment) Critical() bool { return a.Result == Fail && a.Steps.Failed() != "" }

// AssessmentResult is the assessor's word.
type AssessmentResult string

// The results.
const (
	Pass         AssessmentResult = "PASS"
	Fail         AssessmentResult = "FAIL"
	NotCompleted AssessmentResult = "NOT_COMPLETED"
)

// CriticalStep is a step whose failing fails the run however fast it was.
type CriticalStep struct {
	Step string     `json:"step"`
	Done StepAnswer `json:"done"`
}

// StepAnswer is what was seen of a step or a checklist line.
type StepAnswer string

// The answers.
const (
	StepYes           StepAnswer = "YES"
	StepNo            StepAnswer = "NO"
	StepNotApplicable StepAnswer = "NOT_APPLICABLE"
)

// CriticalSteps are the steps of one sheet.
type CriticalSteps []CriticalStep

// Failed names the first critical step that was not done, or is empty.
func (s CriticalSteps) Failed() string {
	for _, step := range s {
		if step.Done == StepNo {
			return step.Step
		}
	}
	return ""
}

// Value stores the steps as JSON text.
func (s CriticalSteps) Value() (driver.Value, error) { return jsonText([]CriticalStep(s), len(s) == 0) }

// Scan reads what Value stored.
func (s *CriticalSteps) Scan(src any) error { return scanJSON(src, (*[]CriticalStep)(s)) }

// InspectionLines are the lines of one look.
type InspectionLines []InspectionLine

// Value stores the lines as JSON text.
func (l InspectionLines) Value() (driver.Value, error) {
	return jsonText([]InspectionLine(l), len(l) == 0)
}

// Scan reads what Value stored.
func (l *InspectionLines) Scan(src any) error { return scanJSON(src, (*[]InspectionLine)(l)) }

// Authority lets a worker pass or fail others, for methods and families, over a time. HappenedOn is the day it was granted, the
// author who granted it.
type Authority struct {
	ID EntryID
	Recorded
	AssessorID WorkerID
	Methods    List
	Families   List // empty: every family
	FromOn     Date
	ToOn       Date // last day; zero: until further notice
	Basis      string
}

// OutsideEvidence is what somebody else certifies: a first-aid card, another employer's drill.
type OutsideEvidence struct {
	ID EntryID
	Recorded
	WorkerID  WorkerID
	Method    Method
	Role      Role
	FamilyID  FamilyID
	Issuer    string
	Level     EvidenceLevel
	CheckerID WorkerID // who here looked at it
}

// EvidenceLevel is how far outside evidence was checked.
type EvidenceLevel string

// The levels, weakest first.
const (
	Stated           EvidenceLevel = "STATED"
	CopySeen         EvidenceLevel = "COPY_SEEN"
	OriginalSeen     EvidenceLevel = "ORIGINAL_SEEN"
	IssuerConfirmed  EvidenceLevel = "ISSUER_CONFIRMED"
	DemonstratedHere EvidenceLevel = "DEMONSTRATED_HERE"
)

// Suspension holds a person out of a method until it is lifted.
type Suspension struct {
	ID EntryID
	Recorded
	WorkerID WorkerID
	Method   Method
	Role     Role     // empty: every role
	FamilyID FamilyID // empty: every family
	Cause    string
}

// Lifting ends a suspension, resting on a pass made after it.
type Lifting struct {
	ID EntryID
	Recorded
	WorkerID     WorkerID
	SuspensionID EntryID
	PassID       EntryID
}

// Extension is a time-limited, approved permission beyond the last good day. It is never practice and never covers lone rescue unless it says so.
type Extension struct {
	ID EntryID
	Recorded
	WorkerID   WorkerID
	Method     Method
	Role       Role     // empty: lead and second
	FamilyID   FamilyID // empty: every family
	FromOn     Date
	ToOn       Date
	ApproverID WorkerID
	Basis      string
	Conditions string // limits beside it, as "not above the second span"
}

// Provisional is acceptance on paper until somebody has been watched here: a distinct, weaker state with an end.
type Provisional struct {
	ID EntryID
	Recorded
	WorkerID   WorkerID
	Method     Method
	Role       Role
	FamilyID   FamilyID
	FromOn     Date
	ToOn       Date
	Basis      string
	ApproverID WorkerID // who accepted it; never the worker
	EvidenceID EntryID  // the outside evidence that it rests on; empty: none
	Conditions string
}

func indexField(field string, i int) string { return field + "[" + strconv.Itoa(i) + "]" }
