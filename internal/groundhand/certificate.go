package groundhand

// Certificate is what was handed out for a passed assessment or a practice. The standing it shows is that of its day; the check address tells today's.
// One that was withdrawn or replaced never stands again, whatever becomes of the withdrawal or of what replaced it: its mark in the published list is
// final (W3C Bitstring Status List, purpose "revocation").
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
	CredentialID string // lower-case UUID of version 4, the last part of the check address; empty: issued before certificates were signed
	KeyID        string // Multikey of the key that signed it; empty: not signed
	IssuerID     string // DID of the issuer; empty: not signed
	StatusList   int    // number of the published list that says whether it is withdrawn, from 1; 0: none
	StatusIndex  int    // its place in that list, 0 to 131,071
	Signed       string // the signed credential byte for byte; empty: not signed
}

// EvidenceKind is what a certificate rests on.
type EvidenceKind string

// The kinds.
const (
	PassedAssessment EvidenceKind = "PASSED_ASSESSMENT"
	PracticeRun      EvidenceKind = "PRACTICE_RUN"
)

// IssuerKey is a public key by which certificates are signed, announced to those who check them. Without a KeyChange it does not sign yet.
type IssuerKey struct {
	ID string // Multikey of an Ed25519 public key, z6Mk…
	Recorded
	IssuerID string // DID of the issuer it was made for
}

// KeyChange says what became of a key; Because says why. It is neither corrected nor withdrawn.
type KeyChange struct {
	ID EntryID
	Recorded
	KeyID string // the IssuerKey
	State KeyState
}

// KeyState is what a key is good for.
type KeyState string

// The states. A key goes through them downwards only, and may leave out some.
const (
	KeyAnnounced   KeyState = "ANNOUNCED"   // made known, not signing yet; it has no change
	KeyActive      KeyState = "ACTIVE"      // signs
	KeyRetired     KeyState = "RETIRED"     // signs no more; what it signed is good
	KeyCompromised KeyState = "COMPROMISED" // somebody else may have it: nothing that it signed is good
)

// KeyStates gives the state of every key: that of its last change, which come in recorded order.
func KeyStates(keys []IssuerKey, changes []KeyChange) map[string]KeyState {
	out := map[string]KeyState{}
	for _, k := range keys {
		out[k.ID] = KeyAnnounced
	}
	for _, c := range changes {
		out[c.KeyID] = c.State
	}
	return out
}
