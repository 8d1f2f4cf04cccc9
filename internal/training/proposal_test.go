package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// proposal is the sixth-month rule, to take effect in three weeks.
func proposal() RuleProposalForm {
	r := rulebook.Shipped()[2]
	return RuleProposalForm{RuleSetID: "R3", Title: r.Title, Owner: r.Owner, IsDefault: true, EffectiveFrom: today + 21, Body: r.Body}
}

// approver is another coordinator than the one who proposes.
func (sc *scene) approver() groundhand.Account {
	return sc.account("alasdair", groundhand.Coordinator, sc.tomasz)
}

func TestRulesHoldOnceAnotherPersonHasApprovedThem(t *testing.T) {
	sc := newScene(t)
	sc.shippedRules()
	p := goesThrough(t, sc, sc.desk.ProposeRules, proposal())
	sets, err := store.Find[groundhand.RuleSet](sc.ctx, sc.store, store.ByID, []string{"R3"})
	require.NoError(t, err)
	assert.Empty(t, sets, "a proposal judges nobody")

	f := RuleApprovalForm{ProposalID: p.ID, Decision: groundhand.Approved, Reason: "the drills are booked"}
	sc.refused(func() error { return try(sc, sc.desk.DecideOnRules, f) }, "FORBIDDEN proposalId")
	noted := sc.attempts()
	require.Len(t, noted, 1)
	assert.Equal(t, []any{groundhand.OwnProposal, sc.henrike}, []any{noted[0].Rule, noted[0].WorkerID})
	second := sc.account("henrike again", groundhand.Coordinator, sc.henrike)
	sc.refused(func() error { _, err := sc.desk.DecideOnRules(sc.ctx, second, "own", f); return err }, "FORBIDDEN proposalId")
	sc.refused(func() error {
		_, err := sc.desk.DecideOnRules(sc.ctx, sc.account("no worker", groundhand.Coordinator, ""), "n", f)
		return err
	}, "FORBIDDEN proposalId")

	by := sc.approver()
	ruled, err := sc.desk.DecideOnRules(sc.ctx, by, "yes", f)
	require.NoError(t, err)
	again, err := sc.desk.DecideOnRules(sc.ctx, by, "yes", f)
	require.NoError(t, err)
	assert.Equal(t, ruled, again, "sent twice is done once")
	assert.Equal(t, []any{groundhand.RuleSetID("R3"), "Tomasz Wieland", today + 21, p.Body}, []any{ruled.RuleSet.ID, ruled.RuleSet.ApprovedBy, ruled.RuleSet.EffectiveFrom, ruled.RuleSet.Body})
	assert.Equal(t, ruled.RuleSet.ID, ruled.Approval.RuleSetID)
	f.Decision = groundhand.NotApproved
	sc.refused(func() error { _, err := sc.desk.DecideOnRules(sc.ctx, by, "no", f); return err }, "CONFLICT proposalId")

	w := WithdrawalForm{EntryID: "R3", Because: "three of the crews are out"}
	sc.refused(func() error { return try(sc, sc.desk.Withdraw, w) }, "INVALID agreedBy")
	w.AgreedBy = sc.tomasz
	must(sc, sc.desk.Withdraw, w)
}

func TestRulesThatAreNotApprovedJudgeNobody(t *testing.T) {
	sc := newScene(t)
	p := must(sc, sc.desk.ProposeRules, proposal())
	ruled, err := sc.desk.DecideOnRules(sc.ctx, sc.approver(), "no", RuleApprovalForm{ProposalID: p.ID, Decision: groundhand.NotApproved, Reason: "too soon"})
	require.NoError(t, err)
	assert.Zero(t, ruled.RuleSet)
	assert.Empty(t, ruled.Approval.RuleSetID)
	assert.Zero(t, sc.rows()["rules"])
}

func TestProposalsAreRefused(t *testing.T) {
	form := func(change func(*RuleProposalForm)) func(*scene) error {
		return func(sc *scene) error {
			sc.shippedRules()
			f := proposal()
			change(&f)
			return sc.after(func() error { return try(sc, sc.desk.ProposeRules, f) })
		}
	}
	walk(t, []refusal{
		{"they would judge yesterday", form(func(f *RuleProposalForm) { f.EffectiveFrom = today - 1 }), says("CONFLICT effectiveFrom")},
		{"a name that is taken", form(func(f *RuleProposalForm) { f.RuleSetID = "R1" }), says("CONFLICT ruleSetId")},
		{"a name that is none", form(func(f *RuleProposalForm) { f.RuleSetID = "R 3" }), says("INVALID ruleSetId")},
		{"rules that nobody can read", form(func(f *RuleProposalForm) { f.Body = "{" }), says("INVALID body")},
		{"they end before they begin", form(func(f *RuleProposalForm) { f.EffectiveThrough = f.EffectiveFrom - 1 }), says("INVALID effectiveThrough")},
		{"no title", form(func(f *RuleProposalForm) { f.Title = "" }), says("INVALID title")},
		{"in the place of another proposal", form(func(f *RuleProposalForm) { f.Replaces, f.Because = "p1", "typing" }), says("INVALID replaces")},
		{"two of our own on one day", func(sc *scene) error {
			sc.shippedRules()
			p := must(sc, sc.desk.ProposeRules, proposal())
			f := proposal()
			f.RuleSetID = "R4"
			q := must(sc, sc.desk.ProposeRules, f)
			by := sc.approver()
			_, err := sc.desk.DecideOnRules(sc.ctx, by, "one", RuleApprovalForm{ProposalID: p.ID, Decision: groundhand.Approved, Reason: "yes"})
			require.NoError(sc.t, err)
			return sc.after(func() error {
				_, err := sc.desk.DecideOnRules(sc.ctx, by, "two", RuleApprovalForm{ProposalID: q.ID, Decision: groundhand.Approved, Reason: "yes"})
				return err
			})
		}, says("CONFLICT proposalId")},
		{"a decision on nothing", func(sc *scene) error {
			return try(sc, sc.desk.DecideOnRules, RuleApprovalForm{ProposalID: "p9", Decision: groundhand.Approved, Reason: "yes"})
		}, says("NOT_FOUND proposalId")},
		{"a decision without a reason that is none", func(sc *scene) error {
			p := must(sc, sc.desk.ProposeRules, proposal())
			return sc.after(func() error {
				_, err := sc.desk.DecideOnRules(sc.ctx, sc.hr, "k", RuleApprovalForm{ProposalID: p.ID, Decision: "LATER"})
				return err
			})
		}, says("FORBIDDEN")},
		{"a coordinator adopts rules at once", func(sc *scene) error {
			_, err := sc.desk.AddRuleSet(sc.ctx, sc.coordinator, "k", ShippedRules(rulebook.Shipped()[0], "myself"))
			return err
		}, says("FORBIDDEN")},
	})
}

func TestTheFirstRulesOfAllMayBeginInThePast(t *testing.T) {
	sc := newScene(t)
	f := proposal()
	f.EffectiveFrom = today - 500
	p := must(sc, sc.desk.ProposeRules, f)
	_, err := sc.desk.DecideOnRules(sc.ctx, sc.approver(), "yes", RuleApprovalForm{ProposalID: p.ID, Decision: groundhand.Approved, Reason: "the old books are judged by them"})
	require.NoError(t, err)
	f.RuleSetID, f.EffectiveFrom = "R4", today-400
	sc.refused(func() error { return try(sc, sc.desk.ProposeRules, f) }, "CONFLICT effectiveFrom")
}
