package certificate

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// missingAct is the act that a key stands for.
func missingAct(by groundhand.Account, key string, q PackQuestion) (groundhand.Act, error) {
	if key == "" || len(key) > longestKey {
		return groundhand.Act{}, groundhand.Invalid("key", "Send a key of 1 to %d characters, made anew for every form.", longestKey)
	}
	digest := sha256.Sum256(fmt.Appendf(nil, "%q %q %q", q.People, q.RuleSet, q.On))
	return groundhand.Act{Key: key, AccountID: by.ID, Name: "issueMissingCertificates", Digest: hex.EncodeToString(digest[:])}, nil
}

// issueAll numbers drafts in their order and writes them, or tells of all that cannot be shown on paper beside the problems there are.
func (c *Issuer) issueAll(ctx context.Context, p *groundhand.Problems, drafts []groundhand.Certificate, paths []string) ([]groundhand.Certificate, error) {
	for i := range drafts {
		cert := &drafts[i]
		year, _, _ := cert.HappenedOn.Civil()
		var err error
		if cert.ID, err = c.store.NextCertificateNumber(ctx, year); err != nil {
			return nil, err
		}
		cert.CheckAddress += string(cert.ID)
		if err := p.Take(paths[i], c.printable(ctx, *cert)); err != nil {
			return nil, err
		}
		if err := store.Add(ctx, c.store, *cert); err != nil {
			return nil, err
		}
	}
	return drafts, p.Err()
}
