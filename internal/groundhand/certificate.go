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
