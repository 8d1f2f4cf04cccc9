package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/certificate"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

type issued struct{ *Root }

// Certificate looks up whose it is.
func (r *Root) Certificate() generated.CertificateResolver { return issued{r} }

func (issued) Worker(ctx context.Context, c *certificate.Fate) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, c.WorkerID)
}

func (q query) Certificate(ctx context.Context, id string, asKnownAt *groundhand.Instant) (out *certificate.Fate, err error) {
	err = q.seenBy(ctx, asKnownAt, func(s *store.Store) error {
		found, err := get[groundhand.Certificate](ctx, s, id)
		if err != nil || found == nil {
			return err
		}
		out, err = fate(ctx, q.Issuer.AsSeen(s), *found)
		return err
	})
	return out, err
}

func (q query) Certificates(ctx context.Context, filter *certificate.Filter, states []certificate.State, first *int, after *string, asKnownAt *groundhand.Instant) (*generated.CertificateConnection, error) {
	n, err := pageSize(first)
	if err != nil {
		return nil, err
	}
	asked := certificate.Leaf{Filter: or(filter), States: states, After: groundhand.CertificateID(or(after)), First: n}
	out := &generated.CertificateConnection{}
	err = q.seenBy(ctx, asKnownAt, func(s *store.Store) error {
		rows, more, err := q.Issuer.AsSeen(s).Leafed(ctx, viewer(ctx), asked)
		if err != nil {
			return atField("filter", err)
		}
		out.Edges, out.PageInfo = edgesOf(rows, more, func(f certificate.Fate) (generated.CertificateEdge, string) {
			return generated.CertificateEdge{Cursor: string(f.ID), Node: &f}, string(f.ID)
		})
		return nil
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

func (q query) SigningKeys(ctx context.Context) ([]certificate.Key, error) {
	return listed(q.Issuer.Keys(ctx))
}

func (m mutation) IssueCertificate(ctx context.Context, key, evidence string, ruleSet *string) (*certificate.Fate, error) {
	cert, err := m.Issuer.Issue(ctx, viewer(ctx), key, groundhand.EntryID(evidence), groundhand.RuleSetID(or(ruleSet)))
	if err != nil {
		return nil, err
	}
	return fate(ctx, m.Issuer, cert)
}

func (m mutation) ReplaceCertificate(ctx context.Context, key, number, because string) (*certificate.Fate, error) {
	cert, err := m.Issuer.Replace(ctx, viewer(ctx), key, groundhand.CertificateID(number), because)
	if err != nil {
		return nil, err
	}
	return fate(ctx, m.Issuer, cert)
}

// fate is one certificate with what has become of it: one that was issued under a key sent again may have been withdrawn since.
func fate(ctx context.Context, issuer *certificate.Issuer, cert groundhand.Certificate) (*certificate.Fate, error) {
	all, err := issuer.Fates(ctx, viewer(ctx), cert)
	if err != nil {
		return nil, err
	}
	return &all[0], nil
}
