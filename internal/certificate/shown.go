package certificate

import (
	"context"
	"slices"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// shown is the evidence that a certificate rests on.
type shown struct {
	id       groundhand.EntryID
	kind     groundhand.EvidenceKind
	worker   groundhand.WorkerID
	method   groundhand.Method
	role     groundhand.Role // empty: the method has no roles
	family   groundhand.FamilyID
	on       groundhand.Date
	assessor groundhand.WorkerID
}

// find looks the evidence up among assessments and parts in runs that stand.
func (c *Issuer) find(ctx context.Context, id groundhand.EntryID) (shown, error) {
	passes, err := store.FindStanding[groundhand.Assessment](ctx, c.store, store.ByID, []groundhand.EntryID{id})
	if err != nil {
		return shown{}, err
	}
	if len(passes) == 0 {
		return c.findPart(ctx, id)
	}
	a := passes[0]
	if a.Result != groundhand.Pass {
		return shown{}, groundhand.Invalid("evidence", "This assessment was not passed; a certificate is for a pass.")
	}
	return shown{id, groundhand.PassedAssessment, a.WorkerID, a.Method, a.Role, a.FamilyID, c.dayOf(a.Recorded), a.AssessorID}, nil
}

func (c *Issuer) findPart(ctx context.Context, id groundhand.EntryID) (shown, error) {
	parts, err := store.FindStanding[groundhand.RunPart](ctx, c.store, store.ByID, []groundhand.EntryID{id})
	if err != nil {
		return shown{}, err
	}
	if len(parts) == 0 {
		return shown{}, groundhand.NotFound("evidence", "There is no assessment or part in a run %q that stands.", id)
	}
	p := parts[0]
	if p.Role != "" && !p.Role.Rescues() {
		return shown{}, groundhand.Invalid("evidence", "Whoever has this part in a run practises no rescue; a certificate is for a rescuer.")
	}
	run, err := store.Get[groundhand.Run](ctx, c.store, p.RunID)
	return shown{id, groundhand.PracticeRun, p.WorkerID, run.Method, p.Role, run.FamilyID, c.dayOf(p.Recorded), run.WatchedBy}, err
}

// dayOf is the local day on which something happened.
func (c *Issuer) dayOf(told groundhand.Recorded) groundhand.Date {
	if told.HappenedAt != 0 {
		return groundhand.DateOf(told.HappenedAt.In(c.roll.Zone()))
	}
	return told.HappenedOn
}

// askedRole is a role as a question names it. What has no roles is asked about in any, for instance the first.
func askedRole(r groundhand.Role) groundhand.Role {
	if r == "" {
		return groundhand.Lead
	}
	return r
}

// judged asks what the evidence was worth on the day it was shown. Evidence that does not count is refused with the reason, and so is any
// while the person is suspended: a certificate would say the opposite.
func (c *Issuer) judged(ctx context.Context, s shown, ruleSet groundhand.RuleSetID) (rollcall.WorkerStanding, error) {
	if err := c.knows(ctx, ruleSet); err != nil {
		return rollcall.WorkerStanding{}, err
	}
	then, err := c.standing(ctx, s, ruleSet, s.on)
	if err != nil {
		return then, err
	}
	if err := counts(then, s.id); err != nil {
		return then, err
	}
	now, err := c.standing(ctx, s, groundhand.RuleSetID(then.RuleSet), c.roll.Today())
	if err == nil && now.Standing == competence.Suspended {
		err = groundhand.Conflict("evidence", "This person is suspended in this method; lift the suspension first.")
	}
	return then, err
}

// knows refuses a rule set that does not stand; none named means our own.
func (c *Issuer) knows(ctx context.Context, set groundhand.RuleSetID) error {
	if set == "" {
		return nil
	}
	sets, err := store.FindStanding[groundhand.RuleSet](ctx, c.store, store.ByID, []groundhand.RuleSetID{set})
	if err == nil && len(sets) == 0 {
		return groundhand.NotFound("ruleSet", "There is no rule set %q that stands.", set)
	}
	return err
}

func (c *Issuer) standing(ctx context.Context, s shown, ruleSet groundhand.RuleSetID, on groundhand.Date) (rollcall.WorkerStanding, error) {
	answers, err := c.roll.Standings(ctx, rollcall.StandingQuestion{Workers: []groundhand.WorkerID{s.worker}, On: on, RuleSet: ruleSet,
		Lines: []rulebook.Asked{{Method: s.method, Role: askedRole(s.role), FamilyID: s.family}}})
	if err != nil {
		return rollcall.WorkerStanding{}, err
	}
	return answers[0], nil
}

// counts refuses evidence on which the answer does not rest.
func counts(a rollcall.WorkerStanding, evidence groundhand.EntryID) error {
	if a.Note != "" {
		return groundhand.Invalid("ruleSet", "Under these rules nothing can be certified here: %s.", reasonWords(a.Note))
	}
	if why := refusedFor(a, evidence); why != "" {
		return groundhand.Invalid("evidence", "This does not count under %s: %s.", a.RuleSet, reasonWords(why))
	}
	if a.Standing != competence.Current {
		return groundhand.Invalid("evidence", "Under %s the standing on %s was %s, so there is nothing to certify.", a.RuleSet, a.Day.Words(), reasonWords(a.Standing))
	}
	if !slices.Contains(a.RestsOn, string(evidence)) {
		return groundhand.Invalid("evidence", "The last good day under %s does not rest on this entry; issue the certificate for the entry it rests on.", a.RuleSet)
	}
	return nil
}

// refusedFor is the reason for which an answer refused an entry, or empty.
func refusedFor(a rollcall.WorkerStanding, evidence groundhand.EntryID) competence.Reason {
	for _, r := range a.Refused {
		if r.Entry == string(evidence) {
			return r.Code
		}
	}
	return ""
}
