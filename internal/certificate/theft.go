package certificate

import (
	"context"
	"slices"
	"strings"
	"time"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Theft is what was done about a stolen key.
type Theft struct {
	NewKey    string // Multikey of the key that signs now
	Reissued  int    // certificates issued anew, with new ids and numbers
	Withdrawn int    // those that could not be: names erased since, or no page can show them
}

// KeyStolen ends a key that somebody else may have. The date inside a signature proves nothing then, so every certificate under it that was good
// is replaced by one that says the same under another key, with a new id and number; the key leaves the published document at once, and the
// status lists are signed anew when they are next asked for. Keys that were announced and lie in the same folder are given up with it. All
// is one transaction; the file of the key is destroyed after it.
func (c *Issuer) KeyStolen(ctx context.Context, by groundhand.Account, key, because string) (Theft, error) {
	if err := access.May(by, access.KeepKeys); err != nil {
		return Theft{}, err
	}
	var p groundhand.Problems
	checkReason(&p, because)
	if err := p.Err(); err != nil {
		return Theft{}, err
	}
	stolen, err := c.Keys(ctx)
	if err != nil {
		return Theft{}, err
	}
	i := slices.IndexFunc(stolen, func(k Key) bool { return k.ID == key })
	switch {
	case i < 0:
		return Theft{}, noKey(key)
	case stolen[i].State == groundhand.KeyCompromised:
		return Theft{}, groundhand.Conflict("key", "This key was told stolen before, and everything under it was issued anew.")
	}
	if stolen[i].State == groundhand.KeyActive {
		return c.signingKeyStolen(ctx, by, key, because)
	}
	return c.otherKeyStolen(ctx, by, key, because)
}

// signingKeyStolen has a key made at once, because nothing can be signed with the stolen one.
func (c *Issuer) signingKeyStolen(ctx context.Context, by groundhand.Account, key, because string) (out Theft, err error) {
	var gone []string
	fresh, err := c.newKey(ctx, by, groundhand.KeyAnnounced, func(in *Issuer, next string) (err error) {
		if gone, err = in.giveUp(ctx, by, key, next, because); err != nil {
			return err
		}
		if err = in.changeKey(ctx, by, next, groundhand.KeyActive, because); err == nil {
			out, err = in.reissue(ctx, by, key, because)
		}
		return err
	})
	if err != nil {
		return Theft{}, err
	}
	out.NewKey = fresh.ID
	return out, c.destroy(gone)
}

// otherKeyStolen is for a key that does not sign: one that was retired, and stolen from a backup, or one only announced.
func (c *Issuer) otherKeyStolen(ctx context.Context, by groundhand.Account, key, because string) (out Theft, err error) {
	err = c.store.InTx(ctx, func(tx *store.Store) error {
		in := c.over(tx)
		if _, states, err := in.keyStates(ctx); err != nil || states[key] == groundhand.KeyActive {
			return firstOf(err, changedMeanwhile())
		}
		if err := in.changeKey(ctx, by, key, groundhand.KeyCompromised, because); err != nil {
			return err
		}
		out, err = in.reissue(ctx, by, key, because)
		return err
	})
	if err != nil {
		return Theft{}, err
	}
	return out, c.destroy([]string{key})
}

// giveUp ends a stolen key and those that were announced, which lay in the same folder. It says whose files are to be destroyed once that stands.
func (c *Issuer) giveUp(ctx context.Context, by groundhand.Account, key, next, because string) ([]string, error) {
	all, states, err := c.keyStates(ctx)
	if err != nil {
		return nil, err
	}
	if states[key] != groundhand.KeyActive {
		return nil, changedMeanwhile()
	}
	var gone []string
	for _, k := range all {
		if k.ID != key && (k.ID == next || states[k.ID] != groundhand.KeyAnnounced) {
			continue
		}
		if err := c.changeKey(ctx, by, k.ID, groundhand.KeyCompromised, because); err != nil {
			return nil, err
		}
		gone = append(gone, k.ID)
	}
	return gone, nil
}

func changedMeanwhile() error {
	return groundhand.Conflict("key", "This key was changed by somebody else just now; look again: groundhand key list.")
}

// reissue issues anew what was good under a key, saying what it said. What was over already is issued anew too: it still answers about its time.
func (c *Issuer) reissue(ctx context.Context, by groundhand.Account, key, because string) (Theft, error) {
	var out Theft
	under, err := store.FindStanding[groundhand.Certificate](ctx, c.store, store.ByKey, []string{key})
	if err != nil || len(under) == 0 {
		return out, err
	}
	slices.SortFunc(under, func(a, b groundhand.Certificate) int { return strings.Compare(string(a.ID), string(b.ID)) })
	var drafts, left []groundhand.Certificate
	var from []time.Time
	for _, old := range under {
		if !isSigned(old) {
			left = append(left, old)
			continue
		}
		cert := old
		cert.Recorded = c.told(by, because)
		cert.ReplacesID = groundhand.EntryID(old.ID)
		drafts, from = append(drafts, cert), append(from, firstValid(old))
	}
	p, err := c.pen(ctx)
	if err != nil {
		return out, err
	}
	made, refused, err := p.signAll(drafts, from)
	if err != nil {
		return out, err
	}
	for _, d := range refused {
		left = append(left, groundhand.Certificate{ID: groundhand.CertificateID(d.ReplacesID)})
	}
	if err := store.Add(ctx, c.store, made...); err != nil {
		return out, err
	}
	out.Reissued, out.Withdrawn = len(made), len(left)
	return out, c.withdraw(ctx, by, because, left...)
}
