package web

import (
	"context"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/groundhand"
)

// Checker answers what the pages show.
type Checker interface {
	// Look tells how a certificate stands today, and its public facts. An id that is unknown or malformed is NotKnown, no error.
	Look(ctx context.Context, credentialID string) (Looked, error)
	// LookInside checks a file, PDF or JSON, and tells what was signed in it.
	LookInside(ctx context.Context, file []byte) (Inside, error)
	// StatusList is the n-th signed list of withdrawn certificates.
	StatusList(ctx context.Context, n int) ([]byte, error)
	// Document is the issuer's public keys as a DID document.
	Document(ctx context.Context) ([]byte, error)
}

// State is how a certificate stands today.
type State string

// The five states.
const (
	Valid           State = "VALID"
	NoLongerCurrent State = "NO_LONGER_CURRENT"
	Replaced        State = "REPLACED"
	Withdrawn       State = "WITHDRAWN"
	NotKnown        State = "NOT_KNOWN"
)

// Looked is what anybody may know of a certificate.
type Looked struct {
	State                                        State
	Number, Training, Issuer, Fingerprint, KeyID string
	IssuedOn, GoodThrough, Since                 groundhand.Date
}

// Inside is what a file holds.
type Inside struct {
	Looked
	Signed  credential.Found
	Problem string
}
