package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
	"groundhand/internal/training"
)

type (
	ruleProposal  struct{ *Root }
	personPreview struct{ *Root }
)

// RuleProposal looks up what was decided on it.
func (r *Root) RuleProposal() generated.RuleProposalResolver { return ruleProposal{r} }

// PersonPreview looks up who it is.
func (r *Root) PersonPreview() generated.PersonPreviewResolver { return personPreview{r} }

func (ruleProposal) Approval(ctx context.Context, p *groundhand.RuleProposal) (*groundhand.RuleApproval, error) {
	return firstOf(load(ctx).approvals.Load(ctx, p.ID))
}

func (personPreview) Worker(ctx context.Context, p *generated.PersonPreview) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, p.WorkerID)
}

func (m mutation) ProposeRules(ctx context.Context, key string, form training.RuleProposalForm) (*groundhand.RuleProposal, error) {
	return made(m.Desk.ProposeRules(ctx, viewer(ctx), key, form))
}

func (m mutation) DecideOnRules(ctx context.Context, key string, form training.RuleApprovalForm) (*generated.RuledOn, error) {
	ruled, err := m.Desk.DecideOnRules(ctx, viewer(ctx), key, form)
	if err != nil {
		return nil, err
	}
	out := &generated.RuledOn{Approval: &ruled.Approval}
	if ruled.RuleSet.ID != "" {
		out.RuleSet = &ruled.RuleSet
	}
	return out, nil
}

func (q query) RuleProposals(ctx context.Context, first *int, after *string) (*generated.RuleProposalConnection, error) {
	edges, info, err := page(ctx, q.Store, first, after, func(p groundhand.RuleProposal) (generated.RuleProposalEdge, string) {
		return generated.RuleProposalEdge{Cursor: string(p.ID), Node: &p}, string(p.ID)
	})
	return &generated.RuleProposalConnection{Edges: edges, PageInfo: info}, err
}

func (q query) RulePreview(ctx context.Context, ask generated.RulePreviewAsk) (*generated.RulePreview, error) {
	question, err := q.previewQuestion(ctx, ask)
	if err != nil {
		return nil, err
	}
	seen, err := q.Roll.PreviewRules(ctx, question)
	if err != nil {
		return nil, atField("ask", err)
	}
	return rulePreviewOf(seen), nil
}

// previewQuestion takes what is supposed from a proposal where one is named.
func (q query) previewQuestion(ctx context.Context, ask generated.RulePreviewAsk) (rollcall.RuleProposalAsk, error) {
	if ask.Proposal == nil {
		return rollcall.RuleProposalAsk{Body: or(ask.Body), RuleSetID: groundhand.RuleSetID(or(ask.RuleSet)), EffectiveFrom: or(ask.EffectiveFrom),
			IsDefault: ask.IsDefault == nil || *ask.IsDefault, On: or(ask.On)}, nil
	}
	p, err := store.Get[groundhand.RuleProposal](ctx, q.Store, *ask.Proposal)
	return rollcall.RuleProposalAsk{Body: p.Body, RuleSetID: groundhand.RuleSetID(p.RuleSetID), EffectiveFrom: p.EffectiveFrom, IsDefault: p.IsDefault, On: or(ask.On)},
		atField("ask.proposal", err)
}

func rulePreviewOf(p rollcall.RulePreview) *generated.RulePreview {
	return &generated.RulePreview{On: p.On, Before: string(p.Before), Proposed: string(p.Proposed), Crews: each(p.Crews, crewPreview), People: p.People,
		Out: p.Out, Back: p.Back, StillOut: p.StillOut, DrillsBooked: p.DrillsBooked, DrillsToBook: p.DrillsToBook, Caution: rollcall.Caution}
}

func crewPreview(c rollcall.CrewPreview) generated.CrewPreview {
	return generated.CrewPreview{Crew: &c.Crew, People: c.People, Out: each(c.Out, personPreviewOf), Back: each(c.Back, personPreviewOf),
		StillOut: each(c.StillOut, personPreviewOf)}
}

func personPreviewOf(p rollcall.PersonPreview) generated.PersonPreview {
	return generated.PersonPreview{WorkerID: p.WorkerID, Lines: each(p.Lines, linePreview), Drills: each(p.Drills, previewDrill)}
}

func linePreview(l rollcall.LinePreview) generated.LinePreview {
	return generated.LinePreview{Method: l.Method, Role: someOrNil(l.Role), FamilyID: string(l.FamilyID), Before: lineWord(l.Before), After: lineWord(l.After)}
}

// lineWord is the standing on a line, nil where the rules do not ask for it.
func lineWord(l *rollcall.LineDay) *generated.StandingWord {
	if l == nil {
		return nil
	}
	said := word(l.Standing)
	return &said
}

func previewDrill(d rollcall.PreviewDrill) generated.PreviewDrill {
	return generated.PreviewDrill{Method: d.Method, Role: someOrNil(d.Role), FamilyID: string(d.FamilyID), By: d.By, SessionID: string(d.SessionID), BookedOn: someOrNil(d.BookedOn)}
}
