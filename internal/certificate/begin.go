package certificate

import (
	"context"
	"crypto/ed25519"
	"errors"
	"strings"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// program is who makes the first key.
var program = groundhand.Account{Capacity: groundhand.Program}

// Begin sees that the issuer can sign: it makes and activates the first key of new records, and finishes what a crash left undone, such as
// the file of a key that was retired. It is refused when the public address is none. A key whose file is lost is no refusal: everything but
// signing goes on, see Trouble.
func (c *Issuer) Begin(ctx context.Context) error {
	if c.options.Address != "" {
		if _, err := credential.WebIssuer(c.options.Address); err != nil {
			return err
		}
	}
	keys, err := c.Keys(ctx)
	if err != nil || c.options.Keys == nil {
		return err
	}
	if len(keys) == 0 {
		return c.firstKey(ctx)
	}
	var over []string
	for _, k := range keys {
		if k.Held && (k.State == groundhand.KeyRetired || k.State == groundhand.KeyCompromised) {
			over = append(over, k.ID)
		}
	}
	return c.destroy(over)
}

var errBegun = errors.New("another key was made meanwhile")

// firstKey makes the first key. Of two programs that begin at once one does.
func (c *Issuer) firstKey(ctx context.Context) error {
	_, err := c.newKey(ctx, program, groundhand.KeyActive, func(in *Issuer, _ string) error {
		all, _, err := in.keyStates(ctx)
		if err == nil && len(all) > 1 {
			err = errBegun
		}
		return err
	})
	if errors.Is(err, errBegun) {
		return nil
	}
	return err
}

// Trouble says in plain words why nothing can be signed now; nil when all is well.
func (c *Issuer) Trouble(ctx context.Context) error {
	_, _, err := c.signingKey(ctx)
	return errors.Join(err, c.inSomebodysName())
}

// inSomebodysName refuses to give anything out in nobody's name. What was signed is final, so no name is made up.
func (c *Issuer) inSomebodysName() error {
	if strings.TrimSpace(c.options.Name) == "" {
		return groundhand.Conflict("", "Nobody is named who gives out certificates. Start the program with --issuer and the employer's name, or set GROUNDHAND_ISSUER.")
	}
	return nil
}

// signingKey gives the active key of the issuer. What is missing is refused, in words that say what to do.
func (c *Issuer) signingKey(ctx context.Context) (string, ed25519.PrivateKey, error) {
	if c.options.Keys == nil {
		return "", nil, groundhand.Conflict("", "No folder of signing keys is given, so nothing can be signed.")
	}
	id, issuer, err := c.activeKey(ctx)
	if err != nil {
		return "", nil, err
	}
	ours, err := c.issuerID(id)
	if err != nil {
		return "", nil, err
	}
	if ours != issuer {
		return "", nil, groundhand.Conflict("", "The signing key was made for %s, and certificates are now given out as %s. Go back to the former public address, or "+
			"make a key for this one: groundhand key announce, then groundhand key change.", issuer, ours)
	}
	key, err := c.options.Keys.Private(id)
	if err != nil {
		return "", nil, groundhand.Conflict("", "The file of the signing key %s cannot be used (%s). Put it back into the folder of keys from its backup or, if it is lost, "+
			"make another: groundhand key announce, then groundhand key change.", id, err)
	}
	return id, key, nil
}

// activeKey is the key that signs, with the issuer it was made for.
func (c *Issuer) activeKey(ctx context.Context) (id, issuerID string, err error) {
	all, states, err := c.keyStates(ctx)
	if err != nil {
		return "", "", err
	}
	for _, k := range all {
		if states[k.ID] == groundhand.KeyActive {
			return k.ID, k.IssuerID, nil
		}
	}
	return "", "", groundhand.Conflict("", "There is no signing key yet. Start the service once, or make one: groundhand key announce, then groundhand key change.")
}

func (c *Issuer) keyStates(ctx context.Context) ([]groundhand.IssuerKey, map[string]groundhand.KeyState, error) {
	all, err := store.All[groundhand.IssuerKey](ctx, c.store)
	if err != nil {
		return nil, nil, err
	}
	changes, err := store.All[groundhand.KeyChange](ctx, c.store)
	return all, groundhand.KeyStates(all, changes), err
}
