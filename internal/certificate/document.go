package certificate

import (
	"context"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Document gives the published document of the issuer (did.json): the keys announced, signing and retired, never one that was stolen. A retired
// key stays in it, or nothing that it signed would verify. Without a public address nothing is published: NotFound.
func (c *Issuer) Document(ctx context.Context) (out []byte, err error) {
	err = c.store.InSnapshot(ctx, func(s *store.Store) error {
		out, err = c.over(s).document(ctx)
		return err
	})
	return out, err
}

func (c *Issuer) document(ctx context.Context) ([]byte, error) {
	if c.options.Address == "" {
		return nil, groundhand.NotFound("", "There is no public address, so nothing is published.")
	}
	id, err := credential.WebIssuer(c.options.Address)
	if err != nil {
		return nil, err
	}
	all, err := c.issuers(ctx)
	if err != nil {
		return nil, err
	}
	d, is := all.documents[id]
	if !is {
		return nil, groundhand.NotFound("", "No key was made for this public address yet.")
	}
	return credential.WriteDocument(d)
}

// issuers are the names under which this house signs and ever signed, with the keys that are good.
type issuers struct {
	documents map[string]credential.Document // by DID
	good      map[string]bool                // Multikeys
}

func (c *Issuer) issuers(ctx context.Context) (issuers, error) {
	out := issuers{map[string]credential.Document{}, map[string]bool{}}
	all, states, err := c.keyStates(ctx)
	for _, k := range all {
		d := out.documents[k.IssuerID]
		d.ID = k.IssuerID
		if states[k.ID] != groundhand.KeyCompromised {
			d.Keys = append(d.Keys, k.ID)
			out.good[k.ID] = true
		}
		out.documents[k.IssuerID] = d
	}
	return out, err
}

func (i issuers) known(issuerID string) bool { return i.documents[issuerID].ID != "" }

// document answers whoever reads a credential. One that is not ours is NotFound.
func (i issuers) document(issuerID string) (credential.Document, error) {
	if !i.known(issuerID) {
		return credential.Document{}, groundhand.NotFound("", "%s is another issuer.", issuerID)
	}
	return i.documents[issuerID], nil
}
