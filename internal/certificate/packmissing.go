package certificate

import (
	"context"
	"fmt"
	"strings"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// IssueMissing issues, in one go, the certificates that people of a pack could have under its rule set and have not: for the evidence that
// their answer rests on. Who is not good, and what rests on outside evidence alone, gets none. Either all are issued or none, and then
// everything that stands in the way is told at once, each under the person's place. The same key with the same question gives what was
// issued the first time; with another it is a Conflict. Where nothing is missing nothing is issued.
func (c *Issuer) IssueMissing(ctx context.Context, by groundhand.Account, key string, q PackQuestion) ([]groundhand.Certificate, error) {
	if err := access.May(by, access.IssueCertificate); err != nil {
		return nil, err
	}
	act, err := missingAct(by, key, q)
	if err != nil {
		return nil, err
	}
	var out []groundhand.Certificate
	err = c.store.InTx(ctx, func(tx *store.Store) error {
		in := c.over(tx)
		done, found, err := tx.ActDone(ctx, act.AccountID, act.Key)
		switch {
		case err != nil:
			return err
		case found:
			if err := act.Repeats(done); err != nil {
				return err
			}
			out, err = in.numbered(ctx, strings.Fields(done.Result))
			return err
		}
		if out, err = in.issueMissing(ctx, by, q); err != nil {
			return err
		}
		act.Result, act.DoneAt = numbersOf(out), tx.Now()
		return store.Add(ctx, tx, act)
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

func (c *Issuer) issueMissing(ctx context.Context, by groundhand.Account, q PackQuestion) ([]groundhand.Certificate, error) {
	people, err := c.listed(ctx, q)
	if err != nil {
		return nil, err
	}
	var p groundhand.Problems
	var drafts []groundhand.Certificate
	var paths []string
	drawn := map[groundhand.EntryID]bool{} // a pass as lead may be behind the lines of lead and second
	for i, person := range people {
		path := fmt.Sprintf("people[%d]", i)
		for _, l := range person.Lines {
			if l.EvidenceID == "" || drawn[l.EvidenceID] {
				continue
			}
			drawn[l.EvidenceID] = true
			cert, err := c.draft(ctx, by, l.EvidenceID, q.RuleSet)
			if err == nil {
				err = c.isFirst(ctx, cert)
			}
			if err == nil {
				drafts, paths = append(drafts, cert), append(paths, path)
				continue
			}
			if err := p.Take(path, err); err != nil {
				return nil, err
			}
		}
	}
	return c.issueAll(ctx, &p, drafts, paths)
}

// numbered gives certificates in the order of their numbers named.
func (c *Issuer) numbered(ctx context.Context, numbers []string) ([]groundhand.Certificate, error) {
	found, err := store.Find[groundhand.Certificate](ctx, c.store, store.ByID, numbers)
	byID := map[string]groundhand.Certificate{}
	for _, cert := range found {
		byID[string(cert.ID)] = cert
	}
	out := make([]groundhand.Certificate, len(numbers))
	for i, n := range numbers {
		out[i] = byID[n]
	}
	return out, err
}

func numbersOf(certs []groundhand.Certificate) string {
	out := make([]string, len(certs))
	for i, cert := range certs {
		out[i] = string(cert.ID)
	}
	return strings.Join(out, " ")
}
