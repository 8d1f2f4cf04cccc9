package certificate

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
	"unicode/utf8"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Longest texts that a client sends, in bytes and in characters.
const (
	longestKey    = 200
	longestReason = 2000
)

// Issue writes and signs a certificate for a passed assessment or a practice, under a rule set; empty means our own of the day it was shown.
// What does not count under that rule set gets none, and the refusal says why. One piece of evidence gets one certificate under a rule set.
// The same key with the same form gives what was made the first time; with another form it is a Conflict.
func (c *Issuer) Issue(ctx context.Context, by groundhand.Account, key string, evidence groundhand.EntryID, ruleSet groundhand.RuleSetID) (groundhand.Certificate, error) {
	if err := access.May(by, access.IssueCertificate); err != nil {
		return groundhand.Certificate{}, err
	}
	var p groundhand.Problems
	checkKey(&p, key)
	if err := p.Err(); err != nil {
		return groundhand.Certificate{}, err
	}
	act := actOf(by, key, "issueCertificate", evidence, ruleSet)
	return c.once(ctx, act, func(in *Issuer) (groundhand.Certificate, error) {
		cert, err := in.draft(ctx, by, evidence, ruleSet)
		if err != nil {
			return cert, err
		}
		if err := in.isFirst(ctx, cert); err != nil {
			return cert, err
		}
		return in.signOne(ctx, cert)
	})
}

func checkKey(p *groundhand.Problems, key string) {
	if key == "" || len(key) > longestKey || !utf8.ValidString(key) || strings.ContainsFunc(key, groundhand.Hidden) {
		p.Add(groundhand.CodeInvalid, "key", "Send a key of 1 to %d characters, made anew for every form.", longestKey)
	}
}

func checkReason(p *groundhand.Problems, because string) {
	switch {
	case strings.TrimSpace(because) == "":
		p.Add(groundhand.CodeInvalid, "because", "Say why; it is kept with the entry.")
	case utf8.RuneCountInString(because) > longestReason:
		p.Add(groundhand.CodeInvalid, "because", "This is longer than %d characters; shorten it.", longestReason)
	case !utf8.ValidString(because) || strings.ContainsFunc(because, func(r rune) bool { return groundhand.Hidden(r) && r != '\n' }):
		p.Add(groundhand.CodeInvalid, "because", "This holds control characters; type it again without them.")
	}
}

// actOf is the act that a key stands for. The form is digested as it was sent.
func actOf(by groundhand.Account, key, name string, form ...any) groundhand.Act {
	digest := sha256.Sum256(fmt.Appendf(nil, "%q", form))
	return groundhand.Act{Key: key, AccountID: by.ID, Name: name, Digest: hex.EncodeToString(digest[:])}
}

// once gives what the key made before, or does it and writes it down with its key, all in one transaction.
func (c *Issuer) once(ctx context.Context, act groundhand.Act, make func(in *Issuer) (groundhand.Certificate, error)) (groundhand.Certificate, error) {
	var out groundhand.Certificate
	err := c.store.InTx(ctx, func(tx *store.Store) error {
		done, found, err := tx.ActDone(ctx, act.AccountID, act.Key)
		if err != nil {
			return err
		}
		if found {
			if err := act.Repeats(done); err != nil {
				return err
			}
			out, err = store.Get[groundhand.Certificate](ctx, tx, done.Result)
			return err
		}
		if out, err = make(c.over(tx)); err != nil {
			return err
		}
		act.Result, act.DoneAt = string(out.ID), out.RecordedAt
		return store.Add(ctx, tx, act)
	})
	if err != nil {
		return groundhand.Certificate{}, err
	}
	return out, nil
}

// isFirst refuses a second certificate for the same under the same rule set, unless the first was withdrawn or replaced.
func (c *Issuer) isFirst(ctx context.Context, cert groundhand.Certificate) error {
	others, err := store.FindStanding[groundhand.Certificate](ctx, c.store, store.ByEvidence, []groundhand.EntryID{cert.EvidenceID})
	for _, other := range others {
		if other.RuleSetID == cert.RuleSetID && other.ID != groundhand.CertificateID(cert.ReplacesID) {
			return groundhand.Conflict("evidence", "Certificate %s has been issued for this under %s already.", other.ID, other.RuleSetID)
		}
	}
	return err
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
	names, err := c.store.NamesOn(ctx, []groundhand.WorkerID{s.worker, s.assessor}, c.roll.Today())
	if err != nil {
		return cert, err
	}
	if err := c.named(ctx, s.worker, names[s.worker]); err != nil {
		return cert, err
	}
	employer, err := c.employer(ctx, s.worker, s.on)
	if err != nil {
		return cert, err
	}
	return groundhand.Certificate{
		Recorded: c.told(by, ""),
		WorkerID: s.worker, PersonName: names[s.worker], Employer: employer, Method: s.method, Role: s.role, FamilyID: s.family,
		EvidenceID: evidence, EvidenceKind: s.kind, ShownOn: s.on, AssessorName: names[s.assessor],
		LastGoodDay: answer.LastGoodDay, RuleSetID: groundhand.RuleSetID(answer.RuleSet), Issuer: c.options.Name,
	}, nil
}

// named refuses whom nobody can name: a certificate must say whose it is, and the code that stands in the place of an erased name says nothing.
func (c *Issuer) named(ctx context.Context, worker groundhand.WorkerID, name string) error {
	if name == "" {
		return groundhand.Invalid("person", "The records have no name for this person; it must be filled in before a certificate can be given out.")
	}
	erasures, err := store.FindStanding[groundhand.Erasure](ctx, c.store, store.ByWorker, []groundhand.WorkerID{worker})
	for _, e := range erasures {
		if e.Code == name {
			return groundhand.Conflict("person", "The name of this person was erased, so no certificate can be given out in it.")
		}
	}
	return err
}

// employer is who employed the worker on a day; the issuer where that is not recorded.
func (c *Issuer) employer(ctx context.Context, worker groundhand.WorkerID, on groundhand.Date) (string, error) {
	all, err := store.FindStanding[groundhand.Employment](ctx, c.store, store.ByWorker, []groundhand.WorkerID{worker})
	employer := c.options.Name
	for _, e := range all {
		if e.FromOn <= on && (e.ToOn == 0 || on <= e.ToOn) {
			employer = e.Employer
		}
	}
	return employer, err
}
