// Package certificate issues certificates for passed assessments and practices, and exports them. A certificate says what was shown and
// until when it counts under one rule set; its number leads to what is true today. It is the employer's own record, not a licence.
package certificate

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
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

// shown is the evidence that a certificate rests on.
type shown struct {
	kind     groundhand.EvidenceKind
	worker   groundhand.WorkerID
	method   groundhand.Method
	role     groundhand.Role
	family   groundhand.FamilyID
	on       groundhand.Date
	assessor groundhand.WorkerID
}

// Issue writes a certificate for a passed assessment or a practice, under a rule set; empty means our own of the day it was shown. What
// does not count under that rule set gets none, and the refusal says why. One piece of evidence gets one certificate under a rule set.
func (c *Issuer) Issue(ctx context.Context, by groundhand.Account, key string, evidence groundhand.EntryID, ruleSet groundhand.RuleSetID) (groundhand.Certificate, error) {
	if err := access.May(by, access.IssueCertificate); err != nil {
		return groundhand.Certificate{}, err
	}
	if key == "" || len(key) > 200 {
		return groundhand.Certificate{}, groundhand.Invalid("key", "Send a key of 1 to 200 characters, made anew for every form.")
	}
	digest := sha256.Sum256(fmt.Appendf(nil, "%q %q", evidence, ruleSet))
	act := groundhand.Act{Key: key, AccountID: by.ID, Name: "issueCertificate", Digest: hex.EncodeToString(digest[:])}
	draft, err := c.draft(ctx, by, evidence, ruleSet)
	if err != nil {
		return groundhand.Certificate{}, err
	}
	var out groundhand.Certificate
	err = c.store.InTx(ctx, func(tx *store.Store) error {
		out, err = enter(ctx, tx, act, draft)
		return err
	})
	return out, err
}

// enter gives the certificate its number and writes it with its key, or gives what the key made before.
func enter(ctx context.Context, tx *store.Store, act groundhand.Act, cert groundhand.Certificate) (groundhand.Certificate, error) {
	done, found, err := tx.ActDone(ctx, act.AccountID, act.Key)
	switch {
	case err != nil:
		return cert, err
	case found && (done.Name != act.Name || done.Digest != act.Digest):
		return cert, groundhand.Conflict("key", "This key was used for another form before; make a new key for a new form.")
	case found:
		return store.Get[groundhand.Certificate](ctx, tx, done.Result)
	}
	others, err := store.FindStanding[groundhand.Certificate](ctx, tx, store.ByEvidence, []groundhand.EntryID{cert.EvidenceID})
	if err != nil {
		return cert, err
	}
	for _, other := range others {
		if other.RuleSetID == cert.RuleSetID {
			return cert, groundhand.Conflict("evidence", "Certificate %s has been issued for this under %s already.", other.ID, other.RuleSetID)
		}
	}
	now := tx.Now()
	year, _, _ := cert.HappenedOn.Civil()
	if cert.ID, err = tx.NextCertificateNumber(ctx, year); err != nil {
		return cert, err
	}
	cert.RecordedAt = now
	cert.CheckAddress += string(cert.ID)
	act.Result, act.DoneAt = string(cert.ID), now
	if err := store.Add(ctx, tx, cert); err != nil {
		return cert, err
	}
	return cert, store.Add(ctx, tx, act)
}

// draft is the certificate without its number.
func (c *Issuer) draft(ctx context.Context, by groundhand.Account, evidence groundhand.EntryID, ruleSet groundhand.RuleSetID) (groundhand.Certificate, error) {
	var cert groundhand.Certificate
	s, err := c.find(ctx, evidence)
	if err != nil {
		return cert, err
	}
	answer, err := c.judged(ctx, s, evidence, ruleSet)
	if err != nil {
		return cert, err
	}
	names, err := c.store.NamesOn(ctx, []groundhand.WorkerID{s.worker, s.assessor}, s.on)
	if err != nil {
		return cert, err
	}
	employer, err := c.employer(ctx, s.worker, s.on)
	if err != nil {
		return cert, err
	}
	return groundhand.Certificate{
		Recorded: groundhand.Recorded{HappenedOn: c.roll.Today(), AuthorID: by.WorkerID, Capacity: by.Capacity, CameBy: groundhand.TypedLive},
		WorkerID: s.worker, PersonName: names[s.worker], Employer: employer, Method: s.method, Role: s.role, FamilyID: s.family,
		EvidenceID: evidence, EvidenceKind: s.kind, ShownOn: s.on, AssessorName: names[s.assessor],
		LastGoodDay: answer.LastGoodDay, RuleSetID: groundhand.RuleSetID(answer.RuleSet), Issuer: c.name, CheckAddress: c.address,
	}, nil
}

// find looks the evidence up among assessments and parts in runs that stand.
func (c *Issuer) find(ctx context.Context, id groundhand.EntryID) (shown, error) {
	passes, err := store.FindStanding[groundhand.Assessment](ctx, c.store, store.ByID, []groundhand.EntryID{id})
	if err != nil {
		return shown{}, err
	}
	for _, a := range passes {
		if a.Result != groundhand.Pass {
			return shown{}, groundhand.Invalid("evidence", "This assessment was not passed; a certificate is for a pass.")
		}
		return shown{groundhand.PassedAssessment, a.WorkerID, a.Method, a.Role, a.FamilyID, a.HappenedOn, a.AssessorID}, nil
	}
	parts, err := store.FindStanding[groundhand.RunPart](ctx, c.store, store.ByID, []groundhand.EntryID{id})
	if err != nil || len(parts) == 0 {
		return shown{}, cmpErr(err, groundhand.NotFound("evidence", "There is no assessment or part in a run %q that stands.", id))
	}
	run, err := store.Get[groundhand.Run](ctx, c.store, parts[0].RunID)
	return shown{groundhand.PracticeRun, parts[0].WorkerID, run.Method, parts[0].Role, run.FamilyID, parts[0].HappenedOn, run.WatchedBy}, err
}

func cmpErr(err, otherwise error) error {
	if err != nil {
		return err
	}
	return otherwise
}

// judged asks what the evidence is worth on the day it was shown; evidence that does not count is refused with the reason.
func (c *Issuer) judged(ctx context.Context, s shown, evidence groundhand.EntryID, ruleSet groundhand.RuleSetID) (rollcall.WorkerStanding, error) {
	answers, err := c.roll.Standings(ctx, rollcall.StandingQuestion{Workers: []groundhand.WorkerID{s.worker}, On: s.on, RuleSet: ruleSet,
		Lines: []rulebook.Asked{{Method: s.method, Role: s.role, FamilyID: s.family}}})
	if err != nil {
		return rollcall.WorkerStanding{}, err
	}
	a := answers[0]
	if a.Note != "" {
		return a, groundhand.Invalid("ruleSet", "Under these rules nothing is asked of this method and role (%s), so there is nothing to certify.", a.Note)
	}
	for _, r := range a.Refused {
		if r.Entry == string(evidence) {
			return a, groundhand.Invalid("evidence", "This does not count under %s: %s.", a.RuleSet, r.Code)
		}
	}
	if !slices.Contains(a.RestsOn, string(evidence)) || a.LastGoodDay == 0 {
		return a, groundhand.Invalid("evidence", "The last good day under %s does not rest on this entry; issue the certificate for the entry it rests on.", a.RuleSet)
	}
	return a, nil
}

// employer is who employed the worker on a day.
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
