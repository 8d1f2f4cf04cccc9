// Package certificate issues certificates for passed assessments and practices, and exports them. A certificate says what was shown and
// until when it counts under one rule set; its number leads to what is true today. It is the employer's own record, not a licence.
package certificate

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"

	"groundhand/internal/access"
	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// Issuer issues and exports.
type Issuer struct {
	store   *store.Store
	roll    *rollcall.Roll
	name    string // of the employer who issues
	address string // certificates are checked at this address followed by their number
}

// New makes an issuer. Name is printed as who issued; checkAddress is an absolute http or https address to which the number is added.
func New(s *store.Store, r *rollcall.Roll, name, checkAddress string) *Issuer {
	return &Issuer{s, r, name, strings.TrimSuffix(checkAddress, "/") + "/"}
}

// over is the issuer over what a transaction or a snapshot sees.
func (c *Issuer) over(s *store.Store) *Issuer {
	return &Issuer{s, rollcall.New(s, c.roll.Zone()), c.name, c.address}
}

// longestKey is the most characters of a key that a client makes.
const longestKey = 200

// Issue writes a certificate for a passed assessment or a practice, under a rule set; empty means our own of the day it was shown. What
// does not count under that rule set gets none, and the refusal says why. One piece of evidence gets one certificate under a rule set.
// The same key with the same form gives what was made the first time; with another form it is a Conflict.
func (c *Issuer) Issue(ctx context.Context, by groundhand.Account, key string, evidence groundhand.EntryID, ruleSet groundhand.RuleSetID) (groundhand.Certificate, error) {
	if err := access.May(by, access.IssueCertificate); err != nil {
		return groundhand.Certificate{}, err
	}
	if key == "" || len(key) > longestKey {
		return groundhand.Certificate{}, groundhand.Invalid("key", "Send a key of 1 to %d characters, made anew for every form.", longestKey)
	}
	digest := sha256.Sum256(fmt.Appendf(nil, "%q %q", evidence, ruleSet))
	act := groundhand.Act{Key: key, AccountID: by.ID, Name: "issueCertificate", Digest: hex.EncodeToString(digest[:])}
	var out groundhand.Certificate
	err := c.store.InTx(ctx, func(tx *store.Store) (err error) {
		out, err = c.over(tx).once(ctx, by, act, evidence, ruleSet)
		return err
	})
	if err != nil {
		return groundhand.Certificate{}, err
	}
	return out, nil
}

// once gives what the key made before, or issues. It runs inside the transaction.
func (c *Issuer) once(ctx context.Context, by groundhand.Account, act groundhand.Act, evidence groundhand.EntryID, ruleSet groundhand.RuleSetID) (groundhand.Certificate, error) {
	done, found, err := c.store.ActDone(ctx, act.AccountID, act.Key)
	if err != nil {
		return groundhand.Certificate{}, err
	}
	if found {
		if err := act.Repeats(done); err != nil {
			return groundhand.Certificate{}, err
		}
		return store.Get[groundhand.Certificate](ctx, c.store, done.Result)
	}
	cert, err := c.draft(ctx, by, evidence, ruleSet)
	if err != nil {
		return cert, err
	}
	err = c.enter(ctx, &cert, act)
	return cert, err
}

// enter numbers the certificate, sees that it can be printed and writes it with its key.
func (c *Issuer) enter(ctx context.Context, cert *groundhand.Certificate, act groundhand.Act) error {
	if err := c.isFirst(ctx, *cert); err != nil {
		return err
	}
	year, _, _ := cert.HappenedOn.Civil()
	var err error
	if cert.ID, err = c.store.NextCertificateNumber(ctx, year); err != nil {
		return err
	}
	cert.CheckAddress += string(cert.ID)
	if err := c.printable(ctx, *cert); err != nil {
		return err
	}
	act.Result, act.DoneAt = string(cert.ID), cert.RecordedAt
	if err := store.Add(ctx, c.store, *cert); err != nil {
		return err
	}
	return store.Add(ctx, c.store, act)
}

// isFirst refuses a second certificate for the same under the same rule set, unless the first was withdrawn.
func (c *Issuer) isFirst(ctx context.Context, cert groundhand.Certificate) error {
	others, err := store.FindStanding[groundhand.Certificate](ctx, c.store, store.ByEvidence, []groundhand.EntryID{cert.EvidenceID})
	for _, other := range others {
		if other.RuleSetID == cert.RuleSetID {
			return groundhand.Conflict("evidence", "Certificate %s has been issued for this under %s already.", other.ID, other.RuleSetID)
		}
	}
	return err
}

// printable refuses a certificate that no page can show, such as one for a name in letters that the printer does not have: issued all the
// same it would keep every export that picks it from being written.
func (c *Issuer) printable(ctx context.Context, cert groundhand.Certificate) error {
	b, err := c.book(ctx)
	if err != nil {
		return err
	}
	sheet, err := b.sheet(cert)
	if err != nil {
		return err
	}
	return paper.Check(sheet)
}

// draft is the certificate without its number. The names are those of the day of issue, by which people are known now.
func (c *Issuer) draft(ctx context.Context, by groundhand.Account, evidence groundhand.EntryID, ruleSet groundhand.RuleSetID) (groundhand.Certificate, error) {
	var cert groundhand.Certificate
	s, err := c.find(ctx, evidence)
	if err != nil {
		return cert, err
	}
	answer, err := c.judged(ctx, s, ruleSet)
	if err != nil {
		return cert, err
	}
	today := c.roll.Today()
	names, err := c.store.NamesOn(ctx, []groundhand.WorkerID{s.worker, s.assessor}, today)
	if err != nil {
		return cert, err
	}
	employer, err := c.employer(ctx, s.worker, s.on)
	if err != nil {
		return cert, err
	}
	return groundhand.Certificate{
		Recorded: groundhand.Recorded{HappenedOn: today, RecordedAt: c.store.Now(), AuthorID: by.WorkerID, Capacity: by.Capacity, CameBy: groundhand.TypedLive},
		WorkerID: s.worker, PersonName: names[s.worker], Employer: employer, Method: s.method, Role: s.role, FamilyID: s.family,
		EvidenceID: evidence, EvidenceKind: s.kind, ShownOn: s.on, AssessorName: names[s.assessor],
		LastGoodDay: answer.LastGoodDay, RuleSetID: groundhand.RuleSetID(answer.RuleSet), Issuer: c.name, CheckAddress: c.address,
	}, nil
}

// employer is who employed the worker on a day; the issuer where that is not recorded.
func (c *Issuer) employer(ctx context.Context, worker groundhand.WorkerID, on groundhand.Date) (string, error) {
	all, err := store.FindStanding[groundhand.Employment](ctx, c.store, store.ByWorker, []groundhand.WorkerID{worker})
	employer := c.name
	for _, e := range all {
		if e.FromOn <= on && (e.ToOn == 0 || on <= e.ToOn) {
			employer = e.Employer
		}
	}
	return employer, err
}
