package groundhand

// RuleProposal is a rule set that somebody proposes. It judges nobody until another person has approved it.
type RuleProposal struct {
	ID EntryID
	Recorded
	RuleSetID        string // the id that the rule set will have
	Title            string
	Owner            string
	IsDefault        bool
	EffectiveFrom    Date
	EffectiveThrough Date // last day; zero: until another takes over
	Body             string
}

// RuleApproval is the decision on a proposal, by another person than the proposer.
type RuleApproval struct {
	ID EntryID
	Recorded
	ProposalID EntryID
	RuleSetID  RuleSetID // the rule set that it became; empty when not approved
	Decision   ApprovalDecision
	Reason     string
}

// ApprovalDecision is yes or no to a proposal.
type ApprovalDecision string

// The decisions.
const (
	Approved    ApprovalDecision = "APPROVED"
	NotApproved ApprovalDecision = "NOT_APPROVED"
)

// ColumnMapping says which column of a spreadsheet means what, for every later file with the same headings.
type ColumnMapping struct {
	ID EntryID
	Recorded
	Title    string
	Headings List // as they stand in the file, in order
	Columns  List // for each heading the meaning, empty: left out
}

// ImportRow is one row of a file as it was read: the original text of its cells, and what became of it.
type ImportRow struct {
	ID EntryID
	Recorded
	Digest    string // SHA-256 of the file, hexadecimal
	FileName  string
	Sheet     string
	RowNumber int // as the spreadsheet counts
	Headings  List
	Cells     List // as they stood in the file
	Outcome   ImportOutcome
	Problem   string   // why it was not taken
	EntryID   EntryID  // the first entry made of it
	WorkerID  WorkerID // whom it is about, where that is known
}

// ImportOutcome is what became of a row.
type ImportOutcome string

// The outcomes.
const (
	RowTaken     ImportOutcome = "TAKEN"
	RowRefused   ImportOutcome = "REFUSED"
	RowDuplicate ImportOutcome = "DUPLICATE"
	RowLeftOut   ImportOutcome = "LEFT_OUT"
)
