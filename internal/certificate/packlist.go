package certificate

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// PackQuestion names people and a rule set, most often a client's, and the day on which they are to be good.
type PackQuestion struct {
	People  []groundhand.WorkerID // 1 to 500, each person once
	RuleSet groundhand.RuleSetID  // one that stands and is in force on the day
	On      groundhand.Date
}

// Packed is one person of a pack.
type Packed struct {
	rollcall.PersonUnderRules
	Lines []PackedLine // those of the person, with what is in hand for each
}

// PackedLine is one line with the certificate that says so.
type PackedLine struct {
	rollcall.LineUnderRules
	CertificateID groundhand.CertificateID // of a certificate under this rule set with this last good day, neither withdrawn nor replaced; empty: none
	EvidenceID    groundhand.EntryID       // where there is none: what one can be issued for; empty: the line is not met, or rests on outside evidence alone
	Over          bool                     // the last good day is over today, so that nothing is issued for it any more
}

// Missing says that a certificate could be issued and was not.
func (l PackedLine) Missing() bool { return l.EvidenceID != "" && !l.Over }

// Listed answers about the people of a pack, in the order in which they are named, and says which certificates are in hand and which are
// missing. What is wrong with the question is refused at once.
func (c *Issuer) Listed(ctx context.Context, by groundhand.Account, q PackQuestion) (out []Packed, err error) {
	if err := access.May(by, access.ReadCertificates); err != nil {
		return nil, err
	}
	err = c.store.InSnapshot(ctx, func(s *store.Store) error {
		out, err = c.over(s).listed(ctx, q)
		return err
	})
	return out, err
}

func (c *Issuer) listed(ctx context.Context, q PackQuestion) ([]Packed, error) {
	people, err := c.roll.UnderRules(ctx, rollcall.UnderRulesQuestion{People: q.People, RuleSet: q.RuleSet, On: q.On})
	if err != nil {
		return nil, err
	}
	out := make([]Packed, len(people))
	var who []groundhand.WorkerID
	for i, p := range people {
		out[i].PersonUnderRules, who = p, append(who, p.WorkerID)
		for _, l := range p.Lines {
			out[i].Lines = append(out[i].Lines, PackedLine{LineUnderRules: l})
		}
	}
	certs, err := store.Find[groundhand.Certificate](ctx, c.store, store.ByWorker, who)
	if err != nil {
		return nil, err
	}
	ended, err := c.ended(ctx, certs)
	if err != nil {
		return nil, err
	}
	of := map[groundhand.WorkerID][]groundhand.Certificate{}
	for _, cert := range certs {
		if _, over := ended[cert.ID]; cert.RuleSetID == q.RuleSet && !over {
			of[cert.WorkerID] = append(of[cert.WorkerID], cert)
		}
	}
	for _, p := range out {
		for j := range p.Lines {
			p.Lines[j].CertificateID = certificateFor(p.Lines[j].LineUnderRules, of[p.WorkerID])
		}
	}
	return out, c.addEvidence(ctx, out)
}

// certificateFor picks the certificate that says what a line says: upon evidence that the line rests on, with the same last good day. Of
// several the one given out last.
func certificateFor(l rollcall.LineUnderRules, certs []groundhand.Certificate) (id groundhand.CertificateID) {
	for _, cert := range certs { // in recorded order
		if l.Good() && cert.LastGoodDay == l.LastGoodDay && slices.Contains(l.RestsOn, string(cert.EvidenceID)) {
			id = cert.ID
		}
	}
	return id
}

// addEvidence finds for each line without a certificate what one can be issued for.
func (c *Issuer) addEvidence(ctx context.Context, people []Packed) error {
	var ids []groundhand.EntryID
	for _, p := range people {
		for _, l := range p.Lines {
			if l.Good() && l.CertificateID == "" {
				ids = append(ids, entries(l)...)
			}
		}
	}
	own, err := c.ownEvidence(ctx, ids)
	if err != nil {
		return err
	}
	for _, p := range people {
		for j := range p.Lines {
			if l := &p.Lines[j]; l.Good() && l.CertificateID == "" {
				l.EvidenceID, l.Over = latestOf(own, entries(*l)).id, l.LastGoodDay < c.roll.Today()
			}
		}
	}
	return nil
}

func entries(l PackedLine) []groundhand.EntryID {
	out := make([]groundhand.EntryID, len(l.RestsOn))
	for i, id := range l.RestsOn {
		out[i] = groundhand.EntryID(id)
	}
	return out
}

// practised is evidence of our own: who showed it and when, and whether somebody judged it.
type practised struct {
	id       groundhand.EntryID
	worker   groundhand.WorkerID
	on       groundhand.Date
	assessed bool
}

// ownEvidence keeps the assessments and parts in runs: what others certify is not certified again.
func (c *Issuer) ownEvidence(ctx context.Context, ids []groundhand.EntryID) (map[groundhand.EntryID]practised, error) {
	passes, err := store.FindStanding[groundhand.Assessment](ctx, c.store, store.ByID, ids)
	if err != nil {
		return nil, err
	}
	parts, err := store.FindStanding[groundhand.RunPart](ctx, c.store, store.ByID, ids)
	out := map[groundhand.EntryID]practised{}
	for _, a := range passes {
		out[a.ID] = practised{a.ID, a.WorkerID, c.dayOf(a.Recorded), true}
	}
	for _, p := range parts {
		out[p.ID] = practised{p.ID, p.WorkerID, c.dayOf(p.Recorded), false}
	}
	return out, err
}

// latestOf is what was shown last; of the same day what somebody judged, then the greatest id.
func latestOf(own map[groundhand.EntryID]practised, ids []groundhand.EntryID) (best practised) {
	judged := func(p practised) int {
		if p.assessed {
			return 1
		}
		return 0
	}
	for _, id := range ids {
		if p, is := own[id]; is && cmp.Or(cmp.Compare(p.on, best.on), cmp.Compare(judged(p), judged(best)), cmp.Compare(p.id, best.id)) > 0 {
			best = p
		}
	}
	return best
}

// Misses says that some certificate of the person could be issued and was not.
func (p Packed) Misses() bool { return slices.ContainsFunc(p.Lines, PackedLine.Missing) }
