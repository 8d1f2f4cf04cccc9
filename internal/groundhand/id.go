package groundhand

// Identifiers are opaque text; nothing is read out of them. Yards, crews, devices, kits and families carry the short names that
// people already paint on them.
type (
	EntryID       string // any recorded fact or act
	WorkerID      string
	YardID        string
	CrewID        string
	FamilyID      string // a control family: devices alike at the lower controls
	DeviceID      string
	KitID         string
	SessionID     string
	RunID         string
	JobID         string
	ReplyID       string // an answer that was given
	RuleSetID     string
	FlagID        string
	PlanID        string
	AccountID     string
	CertificateID string // the number printed on the certificate
)
