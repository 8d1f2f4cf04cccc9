package certificate

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Replace issues a certificate anew, with today's names and words, and ends the one it takes the place of: for a typing error, a certificate
// from before they were signed, or one under an address that is given up. It rests on the same evidence; what does not count any more is
// refused, and is to be withdrawn. That the old one is replaced is final.
func (c *Issuer) Replace(ctx context.Context, by groundhand.Account, key string, number groundhand.CertificateID, because string) (groundhand.Certificate, error) {
	if err := access.May(by, access.IssueCertificate); err != nil {
		return groundhand.Certificate{}, err
	}
	var p groundhand.Problems
	checkKey(&p, key)
	checkReason(&p, because)
	if err := p.Err(); err != nil {
		return groundhand.Certificate{}, err
	}
	return c.once(ctx, actOf(by, key, "replaceCertificate", number, because), func(in *Issuer) (groundhand.Certificate, error) {
		old, err := in.good(ctx, number)
		if err != nil {
			return old, err
		}
		return in.anew(ctx, by, old, old.EvidenceID, because)
	})
}

// good gives a certificate that is neither withdrawn nor replaced.
func (c *Issuer) good(ctx context.Context, number groundhand.CertificateID) (groundhand.Certificate, error) {
	found, err := store.Find[groundhand.Certificate](ctx, c.store, store.ByID, []groundhand.CertificateID{number})
	if err != nil {
		return groundhand.Certificate{}, err
	}
	if len(found) == 0 {
		return groundhand.Certificate{}, groundhand.NotFound("number", "There is no certificate %q.", string(number))
	}
	ended, err := c.ended(ctx, found)
	if err != nil {
		return groundhand.Certificate{}, err
	}
	if e, is := ended[number]; is {
		return groundhand.Certificate{}, groundhand.Conflict("number", "Certificate %s was %s on %s; that is final.", number, e.words(), c.dayAt(e.At).Words())
	}
	return found[0], nil
}

// anew issues in the place of a certificate, upon evidence of the same or another person.
func (c *Issuer) anew(ctx context.Context, by groundhand.Account, old groundhand.Certificate, evidence groundhand.EntryID, because string) (groundhand.Certificate, error) {
	cert, err := c.draft(ctx, by, evidence, old.RuleSetID)
	if err != nil {
		return cert, err
	}
	cert.ReplacesID, cert.Because = groundhand.EntryID(old.ID), because
	if err := c.isFirst(ctx, cert); err != nil {
		return cert, err
	}
	return c.signOne(ctx, cert)
}

// Follow moves the certificates of a piece of evidence that was withdrawn (now is empty) or corrected, inside the transaction that does so.
// What still counts is replaced by a certificate for what holds now, of the right person where it was credited to the wrong one; everything
// else is withdrawn. A part in a run goes with its run. Evidence that stands as it was (now is was) is another person's since people were taken apart;
// certificates that name that person stay. A correction never fails for want of a signing key: the records come first, and the withdrawal says so.
func (c *Issuer) Follow(ctx context.Context, tx *store.Store, by groundhand.Account, was, now groundhand.EntryID, because string) error {
	in := c.over(tx)
	certs, err := store.FindStanding[groundhand.Certificate](ctx, tx, store.ByEvidence, []groundhand.EntryID{was})
	if err != nil {
		return err
	}
	own, err := in.ownEvidence(ctx, []groundhand.EntryID{was})
	if err != nil {
		return err
	}
	for _, cert := range certs {
		if was == now && own[was].worker == cert.WorkerID {
			continue
		}
		if err := in.follow(ctx, by, cert, now, because); err != nil {
			return err
		}
	}
	return nil
}

func (c *Issuer) follow(ctx context.Context, by groundhand.Account, cert groundhand.Certificate, now groundhand.EntryID, because string) error {
	if now != "" {
		err := c.store.InTx(ctx, func(tx *store.Store) error {
			_, err := c.over(tx).anew(ctx, by, cert, now, because)
			return err
		})
		if err == nil || len(groundhand.Refusals(err)) == 0 {
			return err
		}
		if c.Trouble(ctx) != nil {
			because += unsigned
		}
	}
	return c.withdraw(ctx, by, because, cert)
}

// unsigned is said of a certificate that would have been replaced. What is wrong with the key is not told with it: it names files.
const unsigned = " (No certificate could be signed in its place at that time; see groundhand key list, then issue one for what holds now.)"

// withdraw ends certificates without another in their place.
func (c *Issuer) withdraw(ctx context.Context, by groundhand.Account, because string, certs ...groundhand.Certificate) error {
	rows := make([]groundhand.Withdrawal, len(certs))
	for i, cert := range certs {
		rows[i] = groundhand.Withdrawal{ID: groundhand.EntryID(c.store.NewID()), Recorded: c.told(by, because), WithdrawsID: groundhand.EntryID(cert.ID)}
	}
	return store.Add(ctx, c.store, rows...)
}
