package certificate

import (
	"context"
	"crypto/ed25519"
	"fmt"
	"runtime"
	"sync"
	"time"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// pen is what certificates are signed with in one transaction.
type pen struct {
	*Issuer
	ctx      context.Context
	book     book
	keyID    string
	key      ed25519.PrivateKey
	issuerID string
	places   *places
}

// pen takes up the active key. Without it issuing is refused, in plain words.
func (c *Issuer) pen(ctx context.Context) (*pen, error) {
	if err := c.inSomebodysName(); err != nil {
		return nil, err
	}
	keyID, key, err := c.signingKey(ctx)
	if err != nil {
		return nil, err
	}
	p := &pen{Issuer: c, ctx: ctx, keyID: keyID, key: key}
	if p.issuerID, err = c.issuerID(keyID); err != nil {
		return nil, err
	}
	if p.book, err = c.book(ctx); err != nil {
		return nil, err
	}
	p.places, err = c.freePlaces(ctx)
	return p, err
}

// signOne numbers and signs a certificate, sees that paper can show it, and writes it.
func (c *Issuer) signOne(ctx context.Context, cert groundhand.Certificate) (groundhand.Certificate, error) {
	if err := c.issuable(cert); err != nil {
		return cert, err
	}
	p, err := c.pen(ctx)
	if err != nil {
		return cert, err
	}
	number, err := p.firstNumber()
	if err != nil {
		return cert, err
	}
	from := cert.RecordedAt.Time()
	if cert.ReplacesID != "" {
		if from, err = c.validSince(ctx, cert); err != nil {
			return cert, err
		}
	}
	if err := p.fill(&cert, number.next()); err != nil {
		return cert, err
	}
	if cert.Signed, err = p.sign(cert, from); err != nil {
		return cert, err
	}
	return cert, store.Add(ctx, c.store, cert)
}

// issuable refuses what is over: nothing may be valid from later than it is valid to (Verifiable Credentials Data Model 2.0, section 4.9), and an
// earlier day of issue would be a false one.
func (c *Issuer) issuable(cert groundhand.Certificate) error {
	if cert.LastGoodDay >= c.roll.Today() {
		return nil
	}
	return groundhand.Conflict("evidence", "This was good through %s, which is over; a certificate given out now would never have been valid.", cert.LastGoodDay.Words())
}

// validSince keeps, for what is issued anew upon the same evidence, the moment from which the first was valid: a certificate issued anew still
// answers about the days between.
func (c *Issuer) validSince(ctx context.Context, cert groundhand.Certificate) (time.Time, error) {
	old, err := store.Get[groundhand.Certificate](ctx, c.store, cert.ReplacesID)
	if err != nil || old.EvidenceID != cert.EvidenceID {
		return cert.RecordedAt.Time(), err
	}
	return firstValid(old), nil
}

// firstValid is from when on a certificate says it is valid; of one that was never signed, its moment of recording.
func firstValid(cert groundhand.Certificate) time.Time {
	if said, ok := saidIn(cert); ok && !said.ValidFrom.IsZero() {
		return said.ValidFrom
	}
	return cert.RecordedAt.Time()
}

// fill gives a certificate its number, id, key and place in a list.
func (p *pen) fill(cert *groundhand.Certificate, number groundhand.CertificateID) (err error) {
	cert.ID, cert.KeyID, cert.IssuerID, cert.Issuer = number, p.keyID, p.issuerID, p.options.Name
	if cert.CredentialID, err = freshID(p.options.Chance); err != nil {
		return err
	}
	cert.CheckAddress = p.checkAddress(cert.CredentialID)
	cert.StatusList, cert.StatusIndex = 0, 0
	if p.options.Address != "" {
		cert.StatusList, cert.StatusIndex, err = p.places.take()
	}
	return err
}

// sign gives the signed credential, or all that keeps it from being signed or shown on paper: issued all the same it would keep every
// export that picks it from being written.
func (p *pen) sign(cert groundhand.Certificate, from time.Time) (string, error) {
	words, err := p.book.credentialOf(cert, from, p.roll.Zone(), p.options.Address)
	if err != nil {
		return "", err
	}
	signed, err := credential.Sign(words, p.key, cert.RecordedAt.Time().Truncate(time.Second))
	if err != nil {
		return "", err
	}
	return string(signed), paper.Check(sheetOf(words, cert.KeyID, signed))
}

// signAll fills and signs many, on all processors. What cannot be signed or shown any more is left out and takes no number; the places of what
// was left out are given back.
func (p *pen) signAll(drafts []groundhand.Certificate, from []time.Time) (signed, left []groundhand.Certificate, err error) {
	first, err := p.firstNumber()
	if err != nil {
		return nil, nil, err
	}
	for {
		number := first
		for i := range drafts {
			if err := p.fill(&drafts[i], number.next()); err != nil {
				return nil, nil, err
			}
		}
		refused, err := p.signEach(drafts, from)
		if err != nil || len(refused) == 0 {
			return drafts, left, err
		}
		var good []groundhand.Certificate
		var since []time.Time
		for i, d := range drafts {
			if refused[i] {
				left = append(left, d)
				continue
			}
			good, since = append(good, d), append(since, from[i])
		}
		drafts, from = good, since
	}
}

// signEach signs in place and says which were refused.
func (p *pen) signEach(drafts []groundhand.Certificate, from []time.Time) (map[int]bool, error) {
	errs := make([]error, len(drafts))
	var group sync.WaitGroup
	workers := runtime.GOMAXPROCS(0)
	for w := range workers {
		group.Go(func() {
			for i := w; i < len(drafts); i += workers {
				drafts[i].Signed, errs[i] = p.sign(drafts[i], from[i])
			}
		})
	}
	group.Wait()
	refused := map[int]bool{}
	for i, err := range errs {
		switch {
		case len(groundhand.Refusals(err)) > 0:
			refused[i] = true
		case err != nil:
			return nil, err
		}
	}
	return refused, nil
}

// numbering counts on from a number.
type numbering struct{ year, last int }

// firstNumber stands before the next number of this year. It must be asked for in the transaction that writes.
func (p *pen) firstNumber() (numbering, error) {
	year, _, _ := p.roll.Today().Civil()
	id, err := p.store.NextCertificateNumber(p.ctx, year)
	if err != nil {
		return numbering{}, err
	}
	n := numbering{}
	if _, err := fmt.Sscanf(string(id), "%d-%d", &n.year, &n.last); err != nil {
		return n, fmt.Errorf("certificate number %s: %w", id, err)
	}
	n.last--
	return n, nil
}

func (n *numbering) next() groundhand.CertificateID {
	n.last++
	return groundhand.CertificateID(fmt.Sprintf("%04d-%04d", n.year, n.last))
}
