package web

import (
	"context"

	"groundhand/internal/certificate"
)

// Checker answers what the pages show; certificate.Issuer is one. It is all that the public check can reach of the house.
type Checker interface {
	// Look tells how a certificate stands today, and its public facts. An id that is unknown or malformed is NotKnown, no error.
	Look(ctx context.Context, credentialID string) (certificate.Looked, error)
	// LookInside checks a file, PDF or JSON, and tells what was signed in it.
	LookInside(ctx context.Context, file []byte) (certificate.Inside, error)
	// StatusList is the n-th signed list of withdrawn certificates; NotFound when there is none.
	StatusList(ctx context.Context, n int) ([]byte, error)
	// Document is the issuer's public keys as a DID document; NotFound when nothing is published.
	Document(ctx context.Context) ([]byte, error)
}
