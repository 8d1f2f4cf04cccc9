package groundhand

// Correction says what kind a correction is, who asked for it and who agreed. It stands beside the entry that replaces another one, or beside
// the withdrawal; why is its Because.
type Correction struct {
	ID EntryID
	Recorded
	ReplacedID EntryID // the entry that no longer holds
	ByID       EntryID // the entry, or the withdrawal, in its place
	Kind       CorrectionKind
	AskedByID  WorkerID // who asked; the author when nobody else did
	AgreedByID WorkerID // who agreed besides the author; empty: nobody was asked
}

// CorrectionKind is what was wrong.
type CorrectionKind string

// The kinds.
const (
	Clerical         CorrectionKind = "CLERICAL"   // a typing error
	IdentityMistaken CorrectionKind = "IDENTITY"   // the wrong person
	Factual          CorrectionKind = "FACTUAL"    // the wrong time, device or the like
	ValidityMistaken CorrectionKind = "VALIDITY"   // the one who signed could not sign
	TakenBack        CorrectionKind = "WITHDRAWAL" // it never was
)

// Dispute is somebody's word that an entry about them is wrong. It is open until a Ruling names it.
type Dispute struct {
	ID EntryID
	Recorded
	WorkerID WorkerID // who disputes, whom the entry is about
	EntryID  EntryID
	Claim    string
}

// Ruling ends a dispute.
type Ruling struct {
	ID EntryID
	Recorded
	DisputeID    EntryID
	Outcome      RulingOutcome
	Reason       string
	PutRightByID EntryID // the correction or withdrawal that put it right; empty: none
}

// RulingOutcome is how a dispute ended.
type RulingOutcome string

// The outcomes.
const (
	Upheld    RulingOutcome = "UPHELD"
	NotUpheld RulingOutcome = "NOT_UPHELD"
)

// RefusedAttempt is a signature that was refused because the one who signed may not sign that.
type RefusedAttempt struct {
	ID EntryID
	Recorded
	Act      string // the act that was tried, as "assess"
	Rule     SigningRule
	WorkerID WorkerID // whom it was about; empty: nobody known
	Message  string   // what was answered
}

// SigningRule is a rule about who may not sign what.
type SigningRule string

// The rules.
const (
	SelfAssessment SigningRule = "SELF_ASSESSMENT" // nobody assesses self
	OwnExtension   SigningRule = "OWN_EXTENSION"   // nobody approves the own extension or acceptance
	OwnAuthority   SigningRule = "OWN_AUTHORITY"   // nobody grants authority to self
	OwnSuspension  SigningRule = "OWN_SUSPENSION"  // nobody lifts the own suspension
	OwnEvidence    SigningRule = "OWN_EVIDENCE"    // nobody checks the own outside evidence
	OwnDispute     SigningRule = "OWN_DISPUTE"     // nobody rules on the own dispute or entry
	OwnProposal    SigningRule = "OWN_PROPOSAL"    // nobody approves the own proposal of rules
	OwnFinding     SigningRule = "OWN_FINDING"     // nobody closes a review of the own signature
	OwnReturn      SigningRule = "OWN_RETURN"      // who found a defect does not alone return the item to service
	OtherName      SigningRule = "OTHER_NAME"      // nobody signs for another
	NoAuthority    SigningRule = "NO_AUTHORITY"    // no authority for this method and family on that day
	NotCurrent     SigningRule = "NOT_CURRENT"     // an assessor whose own practice is not good on that day
	NotAssessor    SigningRule = "NOT_ASSESSOR"    // a foreman enters drills, not assessments
	Reciprocal     SigningRule = "RECIPROCAL"      // two people who assess each other on one day
)

// AssessorFinding says that an assessor could not sign over a time. Every standing pass of those days goes to review with it.
type AssessorFinding struct {
	ID EntryID
	Recorded
	AssessorID WorkerID
	FromOn     Date
	ToOn       Date // last day
	Reason     string
}

// Review says that an entry or a certificate has to be looked at again. It is open until a ReviewClosing names it.
type Review struct {
	ID EntryID
	Recorded
	EntryID  EntryID // an entry, an answer given, or a certificate by its number
	Cause    ReviewCause
	CauseID  EntryID  // the finding, correction, withdrawal or dispute that led to it
	WorkerID WorkerID // whom the entry is about; empty: no one person
}

// ReviewCause is why something is looked at again.
type ReviewCause string

// The causes.
const (
	AssessorFoundInvalid    ReviewCause = "ASSESSOR_FOUND_INVALID"
	RestedOnCorrected       ReviewCause = "RESTED_ON_CORRECTED"        // a certificate or pass rests on an entry that was corrected
	AnswerRestedOnCorrected ReviewCause = "ANSWER_RESTED_ON_CORRECTED" // so does an answer given about a crew
	Disputed                ReviewCause = "DISPUTED"
	Implausible             ReviewCause = "IMPLAUSIBLE" // could not have happened as written; a question, never a verdict
)

// ReviewClosing is the decision that ends a review.
type ReviewClosing struct {
	ID EntryID
	Recorded
	ReviewID   EntryID
	Outcome    ReviewOutcome
	Reason     string
	NewEntryID EntryID // the pass that was run again, or the certificate in its place; empty: none
}

// ReviewOutcome is how a review ended.
type ReviewOutcome string

// The outcomes.
const (
	ReviewStands    ReviewOutcome = "STANDS"
	ReviewRunAgain  ReviewOutcome = "RUN_AGAIN"
	ReviewWithdrawn ReviewOutcome = "WITHDRAWN"
	ReviewReplaced  ReviewOutcome = "REPLACED"
)
