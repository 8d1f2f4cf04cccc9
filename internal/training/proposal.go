package training

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// RuleProposalForm is a rule set that somebody proposes.
type RuleProposalForm struct {
	Entry
	RuleSetID        groundhand.RuleSetID // the id that it will have
	Title            string
	Owner            string
	IsDefault        bool // the employer's own, chosen by date
	EffectiveFrom    groundhand.Date
	EffectiveThrough groundhand.Date // last day; empty: until another takes over
	Body             string          // the rules as JSON
}

// ProposeRules enters a proposal. It judges nobody until another person has approved it.
func (d *Desk) ProposeRules(ctx context.Context, by groundhand.Account, key string, f RuleProposalForm) (groundhand.RuleProposal, error) {
	return once(ctx, d, by, key, act{name: "proposeRules", may: access.ProposeRules}, f, one[groundhand.RuleProposal])
}

// set is the rule set that it would become.
func (f RuleProposalForm) set(approvedBy string) RuleSetForm {
	return RuleSetForm{Entry: f.Entry, ID: f.RuleSetID, Title: f.Title, Owner: f.Owner, IsDefault: f.IsDefault, EffectiveFrom: f.EffectiveFrom,
		EffectiveThrough: f.EffectiveThrough, ApprovedBy: approvedBy, Body: f.Body}
}

func (f RuleProposalForm) check(c *fields) {
	f.Entry.notReplaced(c)
	var set fields
	set.now, set.zone = c.now, c.zone
	f.set("nobody yet").check(&set)
	for _, e := range groundhand.Refusals(set.Err()) {
		field := e.Field
		if field == "id" {
			field = "ruleSetId"
		}
		c.Add(e.Code, field, "%s", e.Message)
	}
}

func (f RuleProposalForm) enter(in *entering) groundhand.RuleProposal {
	in.adoptable(f.set(""), "ruleSetId", "effectiveFrom")
	p := groundhand.RuleProposal{ID: entryID(in), Recorded: in.told(f.Entry, When{At: in.now}), RuleSetID: string(f.RuleSetID), Title: f.Title, Owner: f.Owner,
		IsDefault: f.IsDefault, EffectiveFrom: f.EffectiveFrom, EffectiveThrough: f.EffectiveThrough, Body: f.Body}
	add(in, p)
	result(in, p.ID)
	return p
}

// adoptable refuses a rule set whose id is taken, that holds beside another one of our own, or that would judge days that are over: a past day
// is judged by the rules of that day. The first rule set of all may begin in the past, so that the old books can be judged at all.
func (in *entering) adoptable(f RuleSetForm, idField, fromField string) {
	if wellFormed(string(f.ID)) && in.taken(string(f.ID)) {
		in.Add(groundhand.CodeConflict, idField, "Something else has the name %s already; give this another one.", quoted(string(f.ID)))
	}
	sets, err := store.Standing[groundhand.RuleSet](in.ctx, in.tx)
	if in.failed(err) {
		return
	}
	if len(sets) > 0 && f.EffectiveFrom < in.today() {
		in.Add(groundhand.CodeConflict, fromField, "These rules would take effect on %s, which is over; a past day is judged by the rules of that day.", f.EffectiveFrom)
	}
	if other, is := sameDay(sets, f); is {
		in.Add(groundhand.CodeConflict, fromField, "The rule set %s takes effect on %s too; two of our own cannot hold at once.", other.ID, f.EffectiveFrom)
	}
}

// RuleApprovalForm is the decision on a proposal.
type RuleApprovalForm struct {
	Entry
	ProposalID groundhand.EntryID
	Decision   groundhand.ApprovalDecision
	Reason     string
}

// Ruled is a decision on a proposal, with the rule set that it became; zero when it was not approved.
type Ruled struct {
	Approval groundhand.RuleApproval
	RuleSet  groundhand.RuleSet
}

// DecideOnRules enters the decision on a proposal, by another person than the proposer. An approved proposal becomes a rule set in the same
// step.
func (d *Desk) DecideOnRules(ctx context.Context, by groundhand.Account, key string, f RuleApprovalForm) (Ruled, error) {
	return once(ctx, d, by, key, act{name: "decideOnRules", may: access.ApproveRules}, f, ruledAgain)
}

func ruledAgain(ctx context.Context, s *store.Store, ids []string) (out Ruled, err error) {
	out.Approval, err = one[groundhand.RuleApproval](ctx, s, ids)
	if err == nil && out.Approval.RuleSetID != "" {
		out.RuleSet, err = store.Get[groundhand.RuleSet](ctx, s, out.Approval.RuleSetID)
	}
	return out, err
}

func (f RuleApprovalForm) check(c *fields) {
	f.Entry.check(c)
	f.Entry.notReplaced(c)
	c.id("proposalId", string(f.ProposalID))
	oneOf(c, "decision", f.Decision, groundhand.Approved, groundhand.NotApproved)
	c.needed("reason", f.Reason)
}

func (f RuleApprovalForm) enter(in *entering) Ruled {
	out := Ruled{Approval: groundhand.RuleApproval{ID: entryID(in), Recorded: in.told(f.Entry, When{At: in.now}), ProposalID: f.ProposalID,
		Decision: f.Decision, Reason: f.Reason}}
	if p, ok := fetch[groundhand.RuleProposal](in, "proposal", at("proposalId", f.ProposalID)); ok {
		in.undecided(p)
		in.mayDecide(p)
		if f.Decision == groundhand.Approved {
			out.RuleSet = in.adopt(p)
			out.Approval.RuleSetID = out.RuleSet.ID
		}
	}
	add(in, out.Approval)
	result(in, out.Approval.ID)
	return out
}

func (in *entering) undecided(p groundhand.RuleProposal) {
	before, err := store.FindStanding[groundhand.RuleApproval](in.ctx, in.tx, store.ByProposal, []groundhand.EntryID{p.ID})
	if !in.failed(err) && len(before) > 0 {
		in.Add(groundhand.CodeConflict, "proposalId", "This proposal was decided on on %s.", before[0].HappenedOn)
	}
}

// mayDecide asks for two people who are known to be two: a proposal or a decision by an account that belongs to no worker could be anybody's.
func (in *entering) mayDecide(p groundhand.RuleProposal) {
	switch {
	case in.by.WorkerID == "" || p.AuthorID == "":
		in.Add(groundhand.CodeForbidden, "proposalId", "A proposal and the decision on it are two people's by name; one of the accounts belongs to no worker.")
	case in.by.WorkerID == p.AuthorID:
		in.breaks(groundhand.OwnProposal, p.AuthorID, groundhand.CodeForbidden, "proposalId", "Nobody decides on the own proposal; somebody else has to.")
	}
}

func (in *entering) adopt(p groundhand.RuleProposal) groundhand.RuleSet {
	set := groundhand.RuleSet{ID: groundhand.RuleSetID(p.RuleSetID), Recorded: in.told(Entry{}, When{On: p.EffectiveFrom}), Title: p.Title, Owner: p.Owner,
		IsDefault: p.IsDefault, EffectiveFrom: p.EffectiveFrom, EffectiveThrough: p.EffectiveThrough, ApprovedBy: in.ownNameToday(), Body: p.Body}
	in.adoptable(RuleSetForm{ID: set.ID, IsDefault: set.IsDefault, EffectiveFrom: set.EffectiveFrom}, "proposalId", "proposalId")
	add(in, set)
	return set
}

// ownNameToday is the name of the worker of the account.
func (in *entering) ownNameToday() string {
	names, err := in.tx.NamesOn(in.ctx, []groundhand.WorkerID{in.by.WorkerID}, in.today())
	if name := names[in.by.WorkerID]; !in.failed(err) && name != "" {
		return name
	}
	return in.by.Name
}
