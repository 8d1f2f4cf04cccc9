package certificate

import (
	"encoding/json"
	"strings"
	"time"

	"groundhand/internal/groundhand"
)

// idIn is the credential id that a file claims; empty for none.
func idIn(signed []byte) string {
	var s struct {
		ID string `json:"id"`
	}
	if json.Unmarshal(signed, &s) != nil {
		return ""
	}
	return strings.TrimPrefix(s.ID, urn)
}

// proofIn is the signature that a file carries; empty for none.
func proofIn(signed []byte) string {
	var s struct {
		Proof struct {
			Value string `json:"proofValue"`
		} `json:"proof"`
	}
	if json.Unmarshal(signed, &s) != nil {
		return ""
	}
	return s.Proof.Value
}

// said is the little that is read from a signed credential of our own without looking at its signature again.
type said struct {
	Name      string    `json:"name"`
	ValidFrom time.Time `json:"validFrom"`
}

// saidIn reads what was signed. Of a certificate that was never signed, or whose names were erased, there is nothing.
func saidIn(cert groundhand.Certificate) (said, bool) {
	var s said
	if !isSigned(cert) {
		return s, false
	}
	return s, json.Unmarshal([]byte(cert.Signed), &s) == nil
}

// isSigned says whether what was signed is there: after an erasure a code stands in its place.
func isSigned(cert groundhand.Certificate) bool { return strings.HasPrefix(cert.Signed, "{") }

// trainingOf is the name of the training, as it was signed.
func trainingOf(cert groundhand.Certificate) string {
	if s, ok := saidIn(cert); ok {
		return s.Name
	}
	return methodWords[cert.Method]
}
