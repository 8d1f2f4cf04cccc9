package certificate

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Filter says which certificates are wanted. Empty fields do not narrow.
type Filter struct {
	ShownFrom    groundhand.Date
	ShownThrough groundhand.Date
	Crew         groundhand.CrewID // members of the crew on the day it was shown
	Employer     string            // employed by this employer on the day it was shown
	Client       string            // under a rule set of this owner, or under the rule set of this id
	RuleSet      groundhand.RuleSetID
	Numbers      []groundhand.CertificateID
	People       []groundhand.WorkerID
}

func (f Filter) check() error {
	var p groundhand.Problems
	if f.ShownThrough != 0 && f.ShownFrom > f.ShownThrough {
		p.Add(groundhand.CodeInvalid, "shownThrough", "The days end on %s, before they begin on %s.", f.ShownThrough.Words(), f.ShownFrom.Words())
	}
	if len(f.Numbers) > paper.MaxBatch {
		p.Add(groundhand.CodeTooLarge, "numbers", "Ask for at most %d certificates at a time.", paper.MaxBatch)
	}
	if len(f.People) > paper.MaxBatch {
		p.Add(groundhand.CodeTooLarge, "people", "Ask for at most %d people at a time.", paper.MaxBatch)
	}
	return p.Err()
}

// pick gives the certificates that a filter meets, ended ones too.
func (c *Issuer) pick(ctx context.Context, f Filter) ([]groundhand.Certificate, error) {
	certs, err := c.candidates(ctx, f)
	if err != nil {
		return nil, err
	}
	var p groundhand.Problems
	client, err := c.clientSets(ctx, &p, f.Client)
	if err != nil {
		return nil, err
	}
	people, err := c.peopleNamed(ctx, &p, f.People)
	if err != nil {
		return nil, err
	}
	if err := firstOf(there[groundhand.Crew](ctx, c, &p, "crew", "crew", f.Crew), there[groundhand.RuleSet](ctx, c, &p, "ruleSet", "rule set", f.RuleSet)); err != nil {
		return nil, err
	}
	if f.Employer != "" && !slices.ContainsFunc(certs, func(cert groundhand.Certificate) bool { return cert.Employer == f.Employer }) {
		err = c.knowsEmployer(ctx, &p, f.Employer)
	}
	if err != nil || p.Any() {
		return nil, firstOf(err, p.Err())
	}
	certs = slices.DeleteFunc(certs, func(cert groundhand.Certificate) bool {
		return f.ShownFrom != 0 && cert.ShownOn < f.ShownFrom || f.ShownThrough != 0 && cert.ShownOn > f.ShownThrough ||
			f.Employer != "" && cert.Employer != f.Employer || f.RuleSet != "" && cert.RuleSetID != f.RuleSet || client != nil && !client[cert.RuleSetID] || people != nil && !people[cert.WorkerID]
	})
	if f.Crew == "" {
		return certs, nil
	}
	return c.ofCrew(ctx, certs, f.Crew)
}

// there refuses an id that nothing has; none is asked for by the empty one.
func there[T any, K ~string](ctx context.Context, c *Issuer, p *groundhand.Problems, field, what string, id K) error {
	if id == "" {
		return nil
	}
	found, err := store.Find[T](ctx, c.store, store.ByID, []K{id})
	if err == nil && len(found) == 0 {
		p.Add(groundhand.CodeNotFound, field, "There is no %s %q.", what, string(id))
	}
	return err
}

func firstOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// candidates are the certificates named, every unknown number refused at once, or those of the people named, or all.
func (c *Issuer) candidates(ctx context.Context, f Filter) ([]groundhand.Certificate, error) {
	switch {
	case len(f.Numbers) == 0 && len(f.People) == 0:
		return store.All[groundhand.Certificate](ctx, c.store)
	case len(f.Numbers) == 0:
		return store.Find[groundhand.Certificate](ctx, c.store, store.ByWorker, f.People)
	}
	found, err := store.Find[groundhand.Certificate](ctx, c.store, store.ByID, f.Numbers)
	if err != nil {
		return nil, err
	}
	known, problems := map[groundhand.CertificateID]bool{}, groundhand.Problems{}
	for _, cert := range found {
		known[cert.ID] = true
	}
	for i, n := range f.Numbers {
		if !known[n] {
			problems.Add(groundhand.CodeNotFound, fmt.Sprintf("numbers[%d]", i), "There is no certificate %q.", string(n))
		}
	}
	return found, problems.Err()
}

// clientSets are the rule sets of an owner, or the one of an id; nil for no client.
func (c *Issuer) clientSets(ctx context.Context, p *groundhand.Problems, client string) (map[groundhand.RuleSetID]bool, error) {
	if client == "" {
		return nil, nil
	}
	sets, err := store.All[groundhand.RuleSet](ctx, c.store)
	out := map[groundhand.RuleSetID]bool{}
	for _, set := range sets {
		if set.Owner == client || string(set.ID) == client {
			out[set.ID] = true
		}
	}
	if len(out) == 0 {
		p.Add(groundhand.CodeNotFound, "client", "Nobody called %q has a rule set here, and no rule set has this id. There are: %s.", client, owners(sets))
	}
	return out, err
}

// owners lists rule sets with whose they are, as a client is to be named; the first dozen.
func owners(sets []groundhand.RuleSet) string {
	const most = 12
	var out []string
	for _, set := range sets {
		out = append(out, fmt.Sprintf("%q (%s)", set.Owner, set.ID))
	}
	slices.Sort(out)
	if len(out) > most {
		out = append(out[:most], "and more")
	}
	if len(out) == 0 {
		return "none"
	}
	return strings.Join(out, ", ")
}

// peopleNamed are the people named, merged ones as one; nil for nobody named.
func (c *Issuer) peopleNamed(ctx context.Context, p *groundhand.Problems, people []groundhand.WorkerID) (map[groundhand.WorkerID]bool, error) {
	if len(people) == 0 {
		return nil, nil
	}
	found, err := store.Find[groundhand.Worker](ctx, c.store, store.ByID, people)
	out := map[groundhand.WorkerID]bool{}
	for _, w := range found {
		out[w.ID] = true
	}
	for i, id := range people {
		if !out[c.store.Kept(id)] {
			p.Add(groundhand.CodeNotFound, fmt.Sprintf("people[%d]", i), "There is no worker %q.", string(id))
		}
	}
	return out, err
}

// knowsEmployer tells an employer without certificates from a name that was mistyped.
func (c *Issuer) knowsEmployer(ctx context.Context, p *groundhand.Problems, name string) error {
	all, err := store.All[groundhand.Employment](ctx, c.store)
	if !slices.ContainsFunc(all, func(e groundhand.Employment) bool { return e.Employer == name }) {
		p.Add(groundhand.CodeNotFound, "employer", "Nobody was ever employed by %q; write the name as it stands in the records.", name)
	}
	return err
}

// ofCrew keeps the certificates of those who were in a crew on the day of showing, loans and splits included.
func (c *Issuer) ofCrew(ctx context.Context, certs []groundhand.Certificate, crew groundhand.CrewID) ([]groundhand.Certificate, error) {
	places := map[groundhand.Date]map[groundhand.WorkerID]groundhand.Membership{}
	var out []groundhand.Certificate
	for _, cert := range certs {
		day, known := places[cert.ShownOn]
		if !known {
			var err error
			if day, err = c.roll.PlacesOn(ctx, cert.ShownOn); err != nil {
				return nil, err
			}
			places[cert.ShownOn] = day
		}
		if day[cert.WorkerID].CrewID == crew {
			out = append(out, cert)
		}
	}
	return out, nil
}
