package certificate

import (
	"context"
	"regexp"

	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Looked is what anybody who has the address of a certificate is told. Nothing in it says whose it is.
type Looked struct {
	State       State
	Number      string
	Training    string
	Issuer      string
	Fingerprint string // of the signed file, in fours; empty where nothing was signed or names were erased
	KeyID       string
	IssuedOn    groundhand.Date // as on the page: of one issued anew upon the same evidence, that of the first
	GoodThrough groundhand.Date
	Since       groundhand.Date // day on which it was withdrawn or replaced
}

var credentialID = regexp.MustCompile(`^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$`)

// Look tells what has become of a certificate, by the last part of its check address. What is malformed, unknown or was never issued is
// NotKnown, and nothing else is told.
func (c *Issuer) Look(ctx context.Context, id string) (out Looked, err error) {
	if !credentialID.MatchString(id) {
		return Looked{State: NotKnown}, nil
	}
	err = c.store.InSnapshot(ctx, func(s *store.Store) error {
		out, _, err = c.over(s).look(ctx, id)
		return err
	})
	return out, err
}

func (c *Issuer) look(ctx context.Context, id string) (Looked, groundhand.Certificate, error) {
	found, err := store.Find[groundhand.Certificate](ctx, c.store, store.ByCredential, []string{id})
	if err != nil || len(found) == 0 {
		return Looked{State: NotKnown}, groundhand.Certificate{}, err
	}
	cert := found[0]
	states, err := c.states(ctx, found)
	if err != nil {
		return Looked{}, cert, err
	}
	out := Looked{State: states[cert.ID], Number: string(cert.ID), Training: trainingOf(cert), Issuer: cert.Issuer, KeyID: cert.KeyID,
		IssuedOn: cert.HappenedOn, GoodThrough: cert.LastGoodDay}
	if isSigned(cert) {
		out.Fingerprint = paper.Fingerprint([]byte(cert.Signed))
		out.IssuedOn = groundhand.DateOf(firstValid(cert)) // signed with the offset of its own day
	}
	if out.State == Withdrawn || out.State == Replaced {
		ended, err := c.ended(ctx, found)
		if err != nil {
			return Looked{}, cert, err
		}
		out.Since = c.dayAt(ended[cert.ID].At)
	}
	return out, cert, nil
}
