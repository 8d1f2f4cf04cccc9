package certificate

import (
	"context"
	"fmt"
	"io"

	"groundhand/internal/access"
	"groundhand/internal/certificate/paper"
	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// Filter says which certificates are wanted. Empty fields do not narrow.
type Filter struct {
	ShownFrom    groundhand.Date
	ShownThrough groundhand.Date
	Crew         groundhand.CrewID // members of the crew on the day it was shown
	Numbers      []groundhand.CertificateID
}

// Export writes the certificates that a filter picks as a ZIP: a PDF for each, and a list with the digest of each file. The whole is
// checked before the first byte is written. A certificate whose evidence has been withdrawn or replaced since says so on its page. The
// number of certificates is returned.
func (c *Issuer) Export(ctx context.Context, by groundhand.Account, f Filter, w io.Writer) (int, error) {
	if err := access.May(by, access.ExportCertificates); err != nil {
		return 0, err
	}
	certs, err := c.pick(ctx, f)
	if err != nil {
		return 0, err
	}
	sheets, err := c.sheets(ctx, certs)
	if err != nil {
		return 0, err
	}
	return len(sheets), paper.Zip(w, sheets)
}

// Paper writes one certificate as a PDF.
func (c *Issuer) Paper(ctx context.Context, by groundhand.Account, id groundhand.CertificateID, w io.Writer) error {
	if err := access.May(by, access.ReadCertificates); err != nil {
		return err
	}
	cert, err := store.Get[groundhand.Certificate](ctx, c.store, id)
	if err != nil {
		return err
	}
	sheets, err := c.sheets(ctx, []groundhand.Certificate{cert})
	if err != nil {
		return err
	}
	return paper.Write(w, sheets[0])
}

func (c *Issuer) pick(ctx context.Context, f Filter) ([]groundhand.Certificate, error) {
	all, err := c.candidates(ctx, f)
	if err != nil {
		return nil, err
	}
	var out []groundhand.Certificate
	for _, cert := range all {
		if f.ShownFrom != 0 && cert.ShownOn < f.ShownFrom || f.ShownThrough != 0 && cert.ShownOn > f.ShownThrough {
			continue
		}
		in, err := c.inCrew(ctx, cert, f.Crew)
		if err != nil {
			return nil, err
		}
		if in {
			out = append(out, cert)
		}
	}
	return out, nil
}

func (c *Issuer) candidates(ctx context.Context, f Filter) ([]groundhand.Certificate, error) {
	if len(f.Numbers) == 0 {
		return store.Standing[groundhand.Certificate](ctx, c.store)
	}
	found, err := store.FindStanding[groundhand.Certificate](ctx, c.store, store.ByID, f.Numbers)
	if err != nil {
		return nil, err
	}
	known, problems := map[groundhand.CertificateID]bool{}, groundhand.Problems{}
	for _, cert := range found {
		known[cert.ID] = true
	}
	for i, n := range f.Numbers {
		if !known[n] {
			problems.Add(groundhand.CodeNotFound, fmt.Sprintf("numbers[%d]", i), "There is no certificate %q.", n)
		}
	}
	return found, problems.Err()
}

func (c *Issuer) inCrew(ctx context.Context, cert groundhand.Certificate, crew groundhand.CrewID) (bool, error) {
	if crew == "" {
		return true, nil
	}
	places, err := c.roll.PlacesOn(ctx, cert.ShownOn)
	return places[cert.WorkerID].CrewID == crew, err
}

// sheets puts certificates into words for paper.
func (c *Issuer) sheets(ctx context.Context, certs []groundhand.Certificate) ([]paper.Sheet, error) {
	families, err := familyNames(ctx, c.store)
	if err != nil {
		return nil, err
	}
	sets, err := ruleSets(ctx, c.store)
	if err != nil {
		return nil, err
	}
	still, err := c.standing(ctx, certs)
	if err != nil {
		return nil, err
	}
	asKnown := c.store.Now().In(c.roll.Zone()).Format("15:04 on Mon 2 Jan 2006 (MST)")
	out := make([]paper.Sheet, len(certs))
	for i, cert := range certs {
		set := sets[cert.RuleSetID]
		rule, err := lastGoodDayRule(set, cert)
		if err != nil {
			return nil, err
		}
		out[i] = paper.Sheet{
			Number: string(cert.ID), Person: cert.PersonName, Employer: cert.Employer, Issuer: cert.Issuer,
			Method: methodWords[cert.Method], Role: roleWords[cert.Role], ControlFamily: familyWords(families, cert.FamilyID),
			ShownOn: cert.ShownOn, ShownHow: shownWords[cert.EvidenceKind], Assessor: assessorWords(cert.AssessorName),
			RuleSet: set.Title, LastGoodDay: cert.LastGoodDay, LastGoodDayRule: rule, CheckAddress: cert.CheckAddress,
			IssuedOn: cert.HappenedOn, Standing: still[cert.ID], AsKnownAt: asKnown,
		}
	}
	return out, nil
}

// standing says of each certificate whether what it rests on still stands.
func (c *Issuer) standing(ctx context.Context, certs []groundhand.Certificate) (map[groundhand.CertificateID]string, error) {
	ids := make([]groundhand.EntryID, len(certs))
	for i, cert := range certs {
		ids[i] = cert.EvidenceID
	}
	passes, err := store.FindStanding[groundhand.Assessment](ctx, c.store, store.ByID, ids)
	if err != nil {
		return nil, err
	}
	parts, err := store.FindStanding[groundhand.RunPart](ctx, c.store, store.ByID, ids)
	if err != nil {
		return nil, err
	}
	stands := map[groundhand.EntryID]bool{}
	for _, p := range passes {
		stands[p.ID] = true
	}
	for _, p := range parts {
		stands[p.ID] = true
	}
	out := map[groundhand.CertificateID]string{}
	for _, cert := range certs {
		out[cert.ID] = paper.Good
		if !stands[cert.EvidenceID] {
			out[cert.ID] = "what it rests on has been withdrawn or replaced"
		}
	}
	return out, nil
}

func familyNames(ctx context.Context, s *store.Store) (map[groundhand.FamilyID]string, error) {
	rows, err := store.Standing[groundhand.Family](ctx, s)
	names := map[groundhand.FamilyID]string{}
	for _, f := range rows {
		names[f.ID] = f.Name
	}
	return names, err
}

func ruleSets(ctx context.Context, s *store.Store) (map[groundhand.RuleSetID]groundhand.RuleSet, error) {
	rows, err := store.All[groundhand.RuleSet](ctx, s)
	sets := map[groundhand.RuleSetID]groundhand.RuleSet{}
	for _, r := range rows {
		sets[r.ID] = r
	}
	return sets, err
}

// lastGoodDayRule says in words how the last good day of a certificate was reckoned.
func lastGoodDayRule(set groundhand.RuleSet, cert groundhand.Certificate) (string, error) {
	rules, err := rulebook.Read(set.Body)
	if err != nil {
		return "", err
	}
	for _, exact := range []bool{true, false} {
		for _, line := range rules.Standing {
			if line.Method == string(cert.Method) && (line.Role == lower(cert.Role) || !exact && line.Role == competence.RoleAny) {
				return lineWords(line), nil
			}
		}
	}
	return "", groundhand.Conflict("ruleSet", "The rule set %s has no line for %s.", set.ID, cert.Method)
}
