package groundhand

// Certificate is what was handed out for a passed assessment or a practice. The standing it shows is that of its day; the check address tells today's.
type Certificate struct {
	ID CertificateID
	Recorded
	WorkerID     WorkerID
	PersonName   string // as printed
	Employer     string // as printed
	Method       Method
	Role         Role
	FamilyID     FamilyID
	EvidenceID   EntryID // the assessment or run part it rests on
	EvidenceKind EvidenceKind
	ShownOn      Date
	AssessorName string
	LastGoodDay  Date
	RuleSetID    RuleSetID
	Issuer       string
	CheckAddress string
}

// EvidenceKind is what a certificate rests on.
type EvidenceKind string

// The kinds.
const (
	PassedAssessment EvidenceKind = "PASSED_ASSESSMENT"
	PracticeRun      EvidenceKind = "PRACTICE_RUN"
)

// Plan is a rotation plan that was suggested; adopting it books its sessions.
type Plan struct {
	ID PlanID
	Recorded
	Problem string // drill-plan-problem/1
	Seed    int64
	Rounds  int
	Result  string // drill-plan/1
	StartOn Date
	EndOn   Date
}

// Adoption says that a coordinator adopted a plan.
type Adoption struct {
	ID EntryID
	Recorded
	PlanID PlanID
}
