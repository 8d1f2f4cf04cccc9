package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
)

type issued struct{ *Root }

// Certificate looks up whose it is.
func (r *Root) Certificate() generated.CertificateResolver { return issued{r} }

func (issued) Worker(ctx context.Context, c *groundhand.Certificate) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, c.WorkerID)
}

func (q query) Certificate(ctx context.Context, id string) (*groundhand.Certificate, error) {
	return get[groundhand.Certificate](ctx, q.Store, id)
}

func (q query) Certificates(ctx context.Context, first *int, after *string) (*generated.CertificateConnection, error) {
	edges, info, err := page(ctx, q.Store, first, after, func(c groundhand.Certificate) (generated.CertificateEdge, string) {
		return generated.CertificateEdge{Cursor: string(c.ID), Node: &c}, string(c.ID)
	})
	return &generated.CertificateConnection{Edges: edges, PageInfo: info}, err
}

func (m mutation) IssueCertificate(ctx context.Context, key, evidence string, ruleSet *string) (*groundhand.Certificate, error) {
	return made(m.Issuer.Issue(ctx, viewer(ctx), key, groundhand.EntryID(evidence), groundhand.RuleSetID(or(ruleSet))))
}
