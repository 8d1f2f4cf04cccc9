package certificate

import (
	"context"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// missingAct is the act that a key stands for.
func missingAct(by groundhand.Account, key string, q PackQuestion) (groundhand.Act, error) {
	var p groundhand.Problems
	checkKey(&p, key)
	return actOf(by, key, "issueMissingCertificates", q.People, q.RuleSet, q.On.String()), p.Err()
}

// issueAll numbers and signs drafts in their order and writes them, or tells of all that cannot be issued beside the problems there are.
func (c *Issuer) issueAll(ctx context.Context, p *groundhand.Problems, drafts []groundhand.Certificate, paths []string) ([]groundhand.Certificate, error) {
	if len(drafts) == 0 {
		return nil, p.Err()
	}
	pen, err := c.pen(ctx)
	if err != nil {
		return nil, err
	}
	number, err := pen.firstNumber()
	if err != nil {
		return nil, err
	}
	for i := range drafts {
		err := pen.issuable(drafts[i])
		if err == nil {
			err = pen.fill(&drafts[i], number.next())
		}
		if err == nil {
			drafts[i].Signed, err = pen.sign(drafts[i], drafts[i].RecordedAt.Time())
		}
		if err := p.Take(paths[i], err); err != nil {
			return nil, err
		}
	}
	if err := p.Err(); err != nil {
		return nil, err
	}
	return drafts, store.Add(ctx, c.store, drafts...)
}
