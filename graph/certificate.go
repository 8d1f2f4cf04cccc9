package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

type issued struct{ *Root }

// Certificate looks up whose it is.
func (r *Root) Certificate() generated.CertificateResolver { return issued{r} }

func (issued) Worker(ctx context.Context, c *groundhand.Certificate) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, c.WorkerID)
}

func (q query) Certificate(ctx context.Context, id string, asKnownAt *groundhand.Instant) (out *groundhand.Certificate, err error) {
	err = q.seenBy(ctx, asKnownAt, func(s *store.Store) error {
		out, err = get[groundhand.Certificate](ctx, s, id)
		return err
	})
	return out, err
}

func (q query) Certificates(ctx context.Context, first *int, after *string, asKnownAt *groundhand.Instant) (*generated.CertificateConnection, error) {
	out := &generated.CertificateConnection{}
	err := q.seenBy(ctx, asKnownAt, func(s *store.Store) (err error) {
		out.Edges, out.PageInfo, err = page(ctx, s, first, after, func(c groundhand.Certificate) (generated.CertificateEdge, string) {
			return generated.CertificateEdge{Cursor: string(c.ID), Node: &c}, string(c.ID)
		})
		return err
	})
	return out, err
}

func (m mutation) IssueCertificate(ctx context.Context, key, evidence string, ruleSet *string) (*groundhand.Certificate, error) {
	return made(m.Issuer.Issue(ctx, viewer(ctx), key, groundhand.EntryID(evidence), groundhand.RuleSetID(or(ruleSet))))
}
