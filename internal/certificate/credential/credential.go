package credential

import "time"

// The kinds of achievement that are issued, in the words of Open Badges.
const (
	TypePassed    = "Certification"           // a practical assessment passed, good for a time
	TypePractised = "CertificateOfCompletion" // a practice run taken part in
	TypeCourse    = "Course"                  // parts held in a classroom
)

// Completed is the one outcome that leaves the house: no time, and never an assessment that was failed.
const Completed = "Completed"

// Largest is the size in bytes from which on no signed file is made or read. A certificate takes about 3 kB, a full status list 23 kB.
const Largest = 64 << 10

// Credential is what a certificate says. Every text is free of control characters; line feeds stand in two fields alone.
type Credential struct {
	ID         string // "urn:uuid:" and a lower-case random UUID (version 4), which is the last part of the check address too
	Name       string // of the training
	IssuerID   string // did:web, did:key or https
	IssuerName string
	IssuerURL  string    // https, or empty
	ValidFrom  time.Time // the moment of issue. As all moments here: whole seconds, and the offset is kept
	ValidUntil time.Time // the last moment at which the training counts as current; zero when it does not run out. Never before ValidFrom
	Status     *Status   // nil when it cannot be taken back electronically

	Person       string    // as printed; there is no other id of a person
	Number       string    // running number for people, not a secret
	ShownFrom    time.Time // when it was shown or practised
	ShownThrough time.Time
	Role         string // empty when not divided into roles
	Assessor     string // empty when not recorded

	Achievement Achievement
	OutcomeID   string // "urn:uuid:" and a UUID: what the outcome is an outcome of
	Outcome     string // Completed
}

// Status is the place of a credential in a status list.
type Status struct {
	List  string // https address of the list
	Index int    // 0 to ListLength-1, drawn at random so that it tells nothing
}

// Achievement is what was trained.
type Achievement struct {
	ID          string // "urn:uuid:" and a UUID, the same for the same training
	Type        string // TypePassed, TypePractised or TypeCourse
	Name        string
	Description string      // may have lines
	Code        string      // optional
	Version     string      // optional
	Criteria    string      // what had to be shown; may have lines
	Alignment   []Alignment // a set: their order is not signed
}

// Alignment is a rule that the training is meant for, set by the customer and never by us: it is a statement about law.
type Alignment struct {
	Name      string
	Framework string // optional
	Code      string // optional
	URL       string // https
}

// CurrentAt says whether a moment lies within the period of the credential, both ends included. It says nothing of what was taken back.
func (c Credential) CurrentAt(at time.Time) bool {
	return !at.Before(c.ValidFrom) && (c.ValidUntil.IsZero() || !at.After(c.ValidUntil))
}
