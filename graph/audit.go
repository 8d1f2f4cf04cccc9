package graph

import (
	"context"
	"encoding/base64"

	"groundhand/graph/generated"
	"groundhand/internal/audit"
	"groundhand/internal/groundhand"
	"groundhand/internal/ledger"
)

func (r *Root) auditor() *audit.Auditor { return audit.New(r.Store, r.Roll) }

func (q query) AuditSample(ctx context.Context, seed, n int, from, through groundhand.Date) (*generated.AuditSample, error) {
	drawn, err := q.auditor().Sample(ctx, viewer(ctx), audit.SampleAsk{Seed: int64(seed), N: n, From: from, Through: through})
	if err != nil {
		return nil, err
	}
	who := make([]groundhand.WorkerID, len(drawn.Passes))
	for i, p := range drawn.Passes {
		who[i] = p.WorkerID
	}
	return &generated.AuditSample{Seed: seed, From: from, Through: through, Of: drawn.Of, Passes: each(drawn.Passes, sampledPass)}, q.saw(ctx, "auditSample", who...)
}

func sampledPass(p audit.SampledPass) generated.SampledPass {
	return generated.SampledPass{Pass: &p.Assessment, Draw: p.Draw, Part: p.Part, Run: p.Run, Marks: markList(p.Marks), Corrections: each(p.Corrections, same),
		Reviews: each(p.Reviews, same), Authorities: each(p.Authorities, same), Leaf: int(p.Leaf), LeafFits: p.LeafFits, Words: p.Words()}
}

func (q query) AuditScreens(ctx context.Context, from, through groundhand.Date) ([]generated.AuditQuestion, error) {
	found, err := q.auditor().Screens(ctx, viewer(ctx), from, through)
	if err != nil {
		return nil, err
	}
	return each(found, func(f audit.Finding) generated.AuditQuestion {
		return generated.AuditQuestion{Kind: f.Kind, Question: f.Question, On: f.On, Workers: texts(f.Workers), Entries: texts(f.Entries)}
	}), nil
}

func (q query) AuditTrail(ctx context.Context, since groundhand.Instant) (*generated.AuditTrail, error) {
	t, err := q.auditor().Trail(ctx, viewer(ctx), since)
	if err != nil {
		return nil, err
	}
	return &generated.AuditTrail{Since: t.Since, Corrections: each(t.Corrections, same), Late: each(t.Late, lateEntry), Refused: each(t.Refused, same),
		Extensions: each(t.Extensions, same), Authors: each(t.Authors, authorTrail)}, nil
}

func lateEntry(e audit.LateEntry) generated.LateEntry {
	return generated.LateEntry{EntryID: string(e.ID), Kind: e.Kind, WorkerID: string(e.WorkerID), Recorded: &e.Recorded}
}

func authorTrail(a audit.AuthorTrail) generated.AuthorTrail {
	return generated.AuthorTrail{AuthorID: string(a.AuthorID), Corrections: a.Corrections, Withdrawals: a.Withdrawals, LateEntries: a.LateEntries,
		Refused: a.Refused, Extensions: a.Extensions}
}

func (q query) Viewings(ctx context.Context, worker *string, since groundhand.Instant, first *int, after *string) (*generated.ViewingConnection, error) {
	looks, err := q.auditor().Viewings(ctx, viewer(ctx), groundhand.WorkerID(or(worker)), since)
	if err != nil {
		return nil, err
	}
	looks = byIDs(looks, func(v groundhand.Viewing) groundhand.EntryID { return v.ID }, func(groundhand.Viewing) bool { return true })
	edges, info, err := cut(looks, first, after, func(v groundhand.Viewing) (generated.ViewingEdge, string) {
		return generated.ViewingEdge{Cursor: string(v.ID), Node: &v}, string(v.ID)
	})
	return &generated.ViewingConnection{Edges: edges, PageInfo: info}, err
}

func (q query) Checkpoint(ctx context.Context) (*generated.Checkpoint, error) {
	c, err := q.Store.Checkpoint(ctx)
	if err != nil {
		return nil, err
	}
	return &generated.Checkpoint{Origin: c.Origin, Size: int(c.Size), Root: hashText(c.Root), Text: c.String()}, nil
}

// InclusionProof gives the hash of the leaf, never its bytes: they hold the entry itself, which not everybody may read.
func (q query) InclusionProof(ctx context.Context, entry string) (*generated.InclusionProof, error) {
	kind, err := q.Store.KindOf(ctx, groundhand.EntryID(entry))
	if err != nil {
		return nil, atField("entry", err)
	}
	p, err := q.Store.InclusionProof(ctx, kind, entry)
	if err != nil {
		return nil, atField("entry", err)
	}
	return &generated.InclusionProof{Leaf: int(p.N), LeafHash: hashText(ledger.LeafHash(p.Record)), Proof: each(p.Proof, hashText), Size: int(p.Size),
		Root: hashText(p.Root), Fits: p.Check() == nil}, nil
}

func hashText(h ledger.Hash) string { return base64.StdEncoding.EncodeToString(h[:]) }
