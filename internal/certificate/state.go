package certificate

import (
	"context"
	"strings"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// State is what has become of a certificate, as anybody may know it.
type State string

// The states. Withdrawn and replaced are final. Why something is no longer current is not told: it may be a suspension or a long absence.
const (
	Valid           State = "VALID"
	NoLongerCurrent State = "NO_LONGER_CURRENT" // over, or the person or the evidence does not count today
	Replaced        State = "REPLACED"
	Withdrawn       State = "WITHDRAWN"
	NotKnown        State = "NOT_KNOWN"
)

// Words is the state in plain words.
func (s State) Words() string { return strings.ToLower(strings.ReplaceAll(string(s), "_", " ")) }

// States gives the state of each certificate today, by what is recorded now.
func (c *Issuer) States(ctx context.Context, certs []groundhand.Certificate) (out map[groundhand.CertificateID]State, err error) {
	err = c.store.InSnapshot(ctx, func(s *store.Store) error {
		out, err = c.over(s).states(ctx, certs)
		return err
	})
	return out, err
}

func (c *Issuer) states(ctx context.Context, certs []groundhand.Certificate) (map[groundhand.CertificateID]State, error) {
	ended, err := c.ended(ctx, certs)
	if err != nil {
		return nil, err
	}
	out := make(map[groundhand.CertificateID]State, len(certs))
	var rest []groundhand.Certificate
	for _, cert := range certs {
		if e, is := ended[cert.ID]; is {
			out[cert.ID] = e.state()
			continue
		}
		rest = append(rest, cert)
	}
	answers, err := c.answers(ctx, rest)
	if err != nil {
		return nil, err
	}
	own, err := c.ownEvidence(ctx, evidenceOf(rest))
	if err != nil {
		return nil, err
	}
	for _, cert := range rest {
		out[cert.ID] = NoLongerCurrent
		if own[cert.EvidenceID].worker == cert.WorkerID && c.counts(cert, answers[questionOf(cert)][cert.WorkerID]) {
			out[cert.ID] = Valid
		}
	}
	return out, nil
}

// evidenceOf is what certificates rest on. It must stand and be of the person whom the certificate names: two people who were taken for one may have been
// taken apart again.
func evidenceOf(certs []groundhand.Certificate) []groundhand.EntryID {
	out := make([]groundhand.EntryID, len(certs))
	for i, cert := range certs {
		out[i] = cert.EvidenceID
	}
	return out
}

// ending is a certificate's final end.
type ending store.Revocation

func (e ending) state() State {
	if e.Replaced {
		return Replaced
	}
	return Withdrawn
}

func (e ending) words() string { return e.state().Words() }

func (c *Issuer) ended(ctx context.Context, certs []groundhand.Certificate) (map[groundhand.CertificateID]ending, error) {
	ids := make([]groundhand.CertificateID, len(certs))
	for i, cert := range certs {
		ids[i] = cert.ID
	}
	found, err := store.RevokedAmong(ctx, c.store, ids)
	out := make(map[groundhand.CertificateID]ending, len(found))
	for _, r := range found {
		out[r.CertificateID] = ending(r)
	}
	return out, err
}

func (c *Issuer) dayAt(at groundhand.Instant) groundhand.Date {
	return groundhand.DateOf(at.In(c.roll.Zone()))
}

// counts says whether evidence, person and last good day hold today. Without an answer the rule set was withdrawn.
func (c *Issuer) counts(cert groundhand.Certificate, a *rollcall.WorkerStanding) bool {
	return a != nil && c.roll.Today() <= cert.LastGoodDay && refusedFor(*a, cert.EvidenceID) == "" && a.Standing == competence.Current
}

// asked is what a certificate is asked about; the certificates of many people are asked with one question.
type asked struct {
	ruleSet groundhand.RuleSetID
	line    rulebook.Asked
}

func questionOf(cert groundhand.Certificate) asked {
	return asked{cert.RuleSetID, rulebook.Asked{Method: cert.Method, Role: askedRole(cert.Role), FamilyID: cert.FamilyID}}
}

// answers asks for the standings behind certificates; of a rule set that does not stand there is no answer.
func (c *Issuer) answers(ctx context.Context, certs []groundhand.Certificate) (map[asked]map[groundhand.WorkerID]*rollcall.WorkerStanding, error) {
	out := map[asked]map[groundhand.WorkerID]*rollcall.WorkerStanding{}
	workers := map[asked][]groundhand.WorkerID{}
	var sets []groundhand.RuleSetID
	for _, cert := range certs {
		if len(workers[questionOf(cert)]) == 0 {
			sets = append(sets, cert.RuleSetID)
		}
		workers[questionOf(cert)] = append(workers[questionOf(cert)], cert.WorkerID)
	}
	stand, err := store.FindStanding[groundhand.RuleSet](ctx, c.store, store.ByID, sets)
	if err != nil {
		return nil, err
	}
	known := map[groundhand.RuleSetID]bool{}
	for _, set := range stand {
		known[set.ID] = true
	}
	for q, who := range workers {
		if !known[q.ruleSet] {
			continue
		}
		answers, err := c.roll.Standings(ctx, rollcall.StandingQuestion{Workers: who, RuleSet: q.ruleSet, Lines: []rulebook.Asked{q.line}})
		if err != nil {
			return nil, err
		}
		out[q] = make(map[groundhand.WorkerID]*rollcall.WorkerStanding, len(answers))
		for i := range answers {
			out[q][answers[i].WorkerID] = &answers[i]
		}
	}
	return out, nil
}
