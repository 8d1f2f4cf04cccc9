package certificate

import (
	"context"
	"errors"
	"slices"

	"groundhand/internal/access"
	"groundhand/internal/certificate/credential"
	"groundhand/internal/certificate/keyring"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Key is a signing key as its keeper sees it. The private part is never shown.
type Key struct {
	ID           string // Multikey of the public part
	IssuerID     string // DID it signs for
	State        groundhand.KeyState
	MadeAt       groundhand.Instant
	ChangedAt    groundhand.Instant // when it came into its state
	Because      string
	Certificates int  // signed with it, ended ones too
	Held         bool // the file of the private part is there
}

// Keys lists every key that was ever announced, the oldest first.
func (c *Issuer) Keys(ctx context.Context) (out []Key, err error) {
	err = c.store.InSnapshot(ctx, func(s *store.Store) error {
		out, err = c.over(s).keys(ctx)
		return err
	})
	return out, err
}

func (c *Issuer) keys(ctx context.Context) ([]Key, error) {
	all, err := store.All[groundhand.IssuerKey](ctx, c.store)
	if err != nil {
		return nil, err
	}
	changes, err := store.All[groundhand.KeyChange](ctx, c.store)
	if err != nil {
		return nil, err
	}
	held, err := c.held()
	if err != nil {
		return nil, err
	}
	out := make([]Key, len(all))
	for i, k := range all {
		out[i] = Key{ID: k.ID, IssuerID: k.IssuerID, State: groundhand.KeyAnnounced, MadeAt: k.RecordedAt, ChangedAt: k.RecordedAt, Because: k.Because}
		for _, change := range changes {
			if change.KeyID == k.ID {
				out[i].State, out[i].ChangedAt, out[i].Because = change.State, change.RecordedAt, change.Because
			}
		}
		if out[i].Certificates, err = store.Count[groundhand.Certificate](ctx, c.store, store.ByKey, []string{k.ID}); err != nil {
			return nil, err
		}
		out[i].Held = slices.Contains(held, k.ID)
	}
	return out, nil
}

// held lists the private keys that are there.
func (c *Issuer) held() ([]string, error) {
	if c.options.Keys == nil {
		return nil, nil
	}
	return c.options.Keys.Held()
}

// AnnounceKey makes a key and publishes it beside the one that signs, so that whoever checks certificates knows it before it is used.
func (c *Issuer) AnnounceKey(ctx context.Context, by groundhand.Account) (Key, error) {
	if err := access.May(by, access.KeepKeys); err != nil {
		return Key{}, err
	}
	return c.newKey(ctx, by, groundhand.KeyAnnounced, nil)
}

// newKey makes the file first and the entry then: a file that no entry names signs nothing, an entry without a file would have to be given up. More
// is done in the same transaction, over an issuer that sees it.
func (c *Issuer) newKey(ctx context.Context, by groundhand.Account, state groundhand.KeyState, more func(in *Issuer, key string) error) (Key, error) {
	if c.options.Keys == nil || c.options.Chance == nil {
		return Key{}, groundhand.Conflict("", "No folder of signing keys is given, so no key can be made.")
	}
	id, err := c.options.Keys.Make(c.options.Chance)
	if err != nil {
		return Key{}, err
	}
	var out Key
	err = c.store.InTx(ctx, func(tx *store.Store) error {
		in := c.over(tx)
		if err := in.enterKey(ctx, by, id); err != nil {
			return err
		}
		if err := in.changeKey(ctx, by, id, state, ""); err != nil {
			return err
		}
		if more != nil {
			if err := more(in, id); err != nil {
				return err
			}
		}
		if err := in.fitsDocument(ctx, id); err != nil {
			return err
		}
		out, err = in.keyOf(ctx, id)
		return err
	})
	if err != nil {
		return Key{}, errors.Join(err, c.options.Keys.Destroy(id))
	}
	return out, nil
}

func (c *Issuer) enterKey(ctx context.Context, by groundhand.Account, id string) error {
	issuer, err := c.issuerID(id)
	if err != nil {
		return err
	}
	return store.Add(ctx, c.store, groundhand.IssuerKey{ID: id, Recorded: c.told(by, ""), IssuerID: issuer})
}

// fitsDocument refuses a key with which the document would be too large for those who read it. What goes out of it in the same step has made room: a
// document that is full must not keep a theft from being answered.
func (c *Issuer) fitsDocument(ctx context.Context, id string) error {
	issuer, err := c.issuerID(id)
	if err != nil {
		return err
	}
	all, err := c.issuers(ctx)
	if err != nil {
		return err
	}
	_, err = credential.WriteDocument(all.documents[issuer])
	return err
}

// changeKey enters what becomes of a key. That it is announced needs no entry of its own.
func (c *Issuer) changeKey(ctx context.Context, by groundhand.Account, id string, state groundhand.KeyState, because string) error {
	if state == groundhand.KeyAnnounced {
		return nil
	}
	return store.Add(ctx, c.store, groundhand.KeyChange{ID: groundhand.EntryID(c.store.NewID()), Recorded: c.told(by, because), KeyID: id, State: state})
}

func (c *Issuer) keyOf(ctx context.Context, id string) (Key, error) {
	all, err := c.keys(ctx)
	if err != nil {
		return Key{}, err
	}
	i := slices.IndexFunc(all, func(k Key) bool { return k.ID == id })
	if i < 0 {
		return Key{}, noKey(id)
	}
	return all[i], nil
}

func noKey(id string) error {
	return groundhand.NotFound("key", "There is no key %q; groundhand key list names them.", id)
}

// ChangeKey has the announced key sign from now on and retires the one that signed, whose private part is destroyed. What that one signed stays
// good. Of several announced keys the last is taken. Wait a day between announcing and changing, for the sake of those who keep the published
// document for a while.
func (c *Issuer) ChangeKey(ctx context.Context, by groundhand.Account) (Key, error) {
	if err := access.May(by, access.KeepKeys); err != nil {
		return Key{}, err
	}
	var out Key
	var retired []string
	err := c.store.InTx(ctx, func(tx *store.Store) error {
		in := c.over(tx)
		next, err := in.announced(ctx)
		if err != nil {
			return err
		}
		if retired, err = in.retire(ctx, by); err != nil {
			return err
		}
		if err := in.changeKey(ctx, by, next, groundhand.KeyActive, ""); err != nil {
			return err
		}
		out, err = in.keyOf(ctx, next)
		return err
	})
	if err != nil {
		return Key{}, err
	}
	return out, c.destroy(retired)
}

// announced is the key announced last for this issuer whose file is there.
func (c *Issuer) announced(ctx context.Context) (string, error) {
	all, err := c.keys(ctx)
	if err != nil {
		return "", err
	}
	for _, k := range slices.Backward(all) {
		ours, err := c.issuerID(k.ID)
		if err != nil {
			return "", err
		}
		if k.State == groundhand.KeyAnnounced && k.Held && k.IssuerID == ours {
			return k.ID, nil
		}
	}
	return "", groundhand.Conflict("", "No key is announced whose file is in the folder of keys; announce one first: groundhand key announce.")
}

// retire ends the keys that sign, as an entry; their files are destroyed once that stands.
func (c *Issuer) retire(ctx context.Context, by groundhand.Account) (retired []string, err error) {
	all, states, err := c.keyStates(ctx)
	if err != nil {
		return nil, err
	}
	for _, k := range all {
		if states[k.ID] != groundhand.KeyActive {
			continue
		}
		if err := c.changeKey(ctx, by, k.ID, groundhand.KeyRetired, ""); err != nil {
			return nil, err
		}
		retired = append(retired, k.ID)
	}
	return retired, nil
}

// destroy takes private parts away. What fails is done by the next Begin.
func (c *Issuer) destroy(ids []string) (err error) {
	if c.options.Keys == nil {
		return nil
	}
	for _, id := range ids {
		if gone := c.options.Keys.Destroy(id); !errors.Is(gone, keyring.ErrMissing) {
			err = errors.Join(err, gone)
		}
	}
	return err
}
