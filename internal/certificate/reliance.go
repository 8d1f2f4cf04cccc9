package certificate

import (
	"context"

	"groundhand/internal/certificate/paper"
	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// Reliance says of each certificate whether it could be relied on at a moment, by what was recorded by then: paper.Good, or in words why not.
// A zero moment means today. A number that was not given out by then is not in the answer.
func (c *Issuer) Reliance(ctx context.Context, numbers []groundhand.CertificateID, at groundhand.Instant) (out map[groundhand.CertificateID]string, err error) {
	look := func(s *store.Store) error {
		certs, err := store.Find[groundhand.Certificate](ctx, s, store.ByID, numbers)
		if err == nil {
			out, err = c.over(s).reliance(ctx, certs)
		}
		return err
	}
	if at != 0 {
		err = c.store.InPast(ctx, at, look)
	} else {
		err = c.store.InSnapshot(ctx, look)
	}
	return out, err
}

// reliance says of each certificate whether it may still be relied on today, as paper.Good, or in words why not.
func (c *Issuer) reliance(ctx context.Context, certs []groundhand.Certificate) (map[groundhand.CertificateID]string, error) {
	stands, err := standing(ctx, c.store, certs)
	if err != nil {
		return nil, err
	}
	answers, err := c.today(ctx, certs)
	if err != nil {
		return nil, err
	}
	out := make(map[groundhand.CertificateID]string, len(certs))
	for _, cert := range certs {
		out[cert.ID] = stillGood(cert, stands[cert.ID], answers[questionOf(cert)][cert.WorkerID], c.roll.Today())
	}
	return out, nil
}

// stillGood looks at the certificate itself, at what it rests on, at its own end and at the person, in this order. Why somebody is not
// current is not for paper: it may be a suspension or a long absence.
func stillGood(cert groundhand.Certificate, stands bool, a *rollcall.WorkerStanding, today groundhand.Date) string {
	switch {
	case !stands:
		return "this certificate has been withdrawn"
	case a == nil:
		return "its rule set has been withdrawn"
	}
	why := refusedFor(*a, cert.EvidenceID)
	switch {
	case why == competence.Withdrawn || why == competence.Replaced:
		return "what it rests on has been withdrawn or replaced"
	case why != "":
		return "what it rests on does not count any more"
	case today > cert.LastGoodDay:
		return "its last good day is over"
	case a.Standing != competence.Current:
		return "the person is not current at present"
	}
	return paper.Good
}

// asked is what a certificate is asked about; the certificates of many people are asked with one question.
type asked struct {
	ruleSet groundhand.RuleSetID
	line    rulebook.Asked
}

func questionOf(cert groundhand.Certificate) asked {
	return asked{cert.RuleSetID, rulebook.Asked{Method: cert.Method, Role: askedRole(cert.Role), FamilyID: cert.FamilyID}}
}

// today asks for the standings behind certificates; of a rule set that does not stand there is no answer.
func (c *Issuer) today(ctx context.Context, certs []groundhand.Certificate) (map[asked]map[groundhand.WorkerID]*rollcall.WorkerStanding, error) {
	sets, err := store.Standing[groundhand.RuleSet](ctx, c.store)
	if err != nil {
		return nil, err
	}
	out := map[asked]map[groundhand.WorkerID]*rollcall.WorkerStanding{}
	for _, set := range sets {
		for q, workers := range grouped(certs, set.ID) {
			answers, err := c.roll.Standings(ctx, rollcall.StandingQuestion{Workers: workers, RuleSet: q.ruleSet, Lines: []rulebook.Asked{q.line}})
			if err != nil {
				return nil, err
			}
			out[q] = make(map[groundhand.WorkerID]*rollcall.WorkerStanding, len(answers))
			for i := range answers {
				out[q][answers[i].WorkerID] = &answers[i]
			}
		}
	}
	return out, nil
}

func grouped(certs []groundhand.Certificate, set groundhand.RuleSetID) map[asked][]groundhand.WorkerID {
	out := map[asked][]groundhand.WorkerID{}
	for _, cert := range certs {
		if cert.RuleSetID == set {
			out[questionOf(cert)] = append(out[questionOf(cert)], cert.WorkerID)
		}
	}
	return out
}

// standing says which certificates are neither withdrawn nor replaced themselves.
func standing(ctx context.Context, s *store.Store, certs []groundhand.Certificate) (map[groundhand.CertificateID]bool, error) {
	ids := make([]groundhand.CertificateID, len(certs))
	for i, cert := range certs {
		ids[i] = cert.ID
	}
	rows, err := store.FindStanding[groundhand.Certificate](ctx, s, store.ByID, ids)
	out := make(map[groundhand.CertificateID]bool, len(rows))
	for _, cert := range rows {
		out[cert.ID] = true
	}
	return out, err
}
