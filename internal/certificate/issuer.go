// Package certificate issues signed certificates for passed assessments and practices, keeps their life, and exports them. A certificate says
// what was shown and until when it counts under one rule set. What counts is the signed credential (W3C Verifiable Credentials Data Model 2.0 in
// the terms of Open Badges 3.0); the page is a rendering of it and of nothing else, and the check address tells what is true today. It is the
// employer's own record, not a licence.
package certificate

import (
	"io"
	"strings"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/certificate/keyring"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// Options are what an issuer is given from outside.
type Options struct {
	Name    string        // of the employer who issues, as it is signed
	Address string        // public https address below which certificates are checked, as https://training.example; empty: none
	Keys    *keyring.Ring // nil: nothing can be signed
	Chance  io.Reader     // for keys, credential ids and places in the status lists; must not be guessable
}

// Issuer issues, keeps and exports.
type Issuer struct {
	store   *store.Store
	roll    *rollcall.Roll
	options Options
	lists   *listsKept
}

// New makes an issuer. Begin sees that it can sign.
func New(s *store.Store, r *rollcall.Roll, o Options) *Issuer {
	o.Address = strings.TrimRight(o.Address, "/")
	return &Issuer{s, r, o, &listsKept{}}
}

// over is the issuer over what a transaction or a snapshot sees.
func (c *Issuer) over(s *store.Store) *Issuer {
	return &Issuer{s, rollcall.New(s, c.roll.Zone()), c.options, c.lists}
}

// issuerID is the DID under which a key signs: that of the public address or, without one, the key itself.
func (c *Issuer) issuerID(key string) (string, error) {
	if c.options.Address != "" {
		return credential.WebIssuer(c.options.Address)
	}
	public, err := credential.ParseMultikey(key)
	if err != nil {
		return "", err
	}
	return credential.KeyIssuer(public), nil
}

// checkAddress is where anybody sees what has become of a credential; empty without a public address.
func (c *Issuer) checkAddress(credentialID string) string {
	if c.options.Address == "" {
		return ""
	}
	return c.options.Address + "/verify/" + credentialID
}

func (c *Issuer) told(by groundhand.Account, because string) groundhand.Recorded {
	return groundhand.Recorded{HappenedOn: c.roll.Today(), RecordedAt: c.store.Now(), AuthorID: by.WorkerID, Capacity: by.Capacity,
		CameBy: groundhand.TypedLive, Because: because}
}
