package graph

import (
	"context"
	"fmt"

	"groundhand/graph/generated"
	"groundhand/internal/certificate"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
)

// Named people under one rule set on a day: what a client asks at the gate, and the certificates that go with the answer.

func (q query) PeopleUnderRules(ctx context.Context, people []string, ruleSet string, on groundhand.Date, lines []generated.LineAsk, asKnownAt *groundhand.Instant) (*generated.PeopleUnderRules, error) {
	if asKnownAt != nil && *asKnownAt <= 0 {
		return nil, groundhand.Invalid("asKnownAt", "Say as known at which moment.")
	}
	ask := rollcall.UnderRulesQuestion{People: named[groundhand.WorkerID](people), RuleSet: groundhand.RuleSetID(ruleSet), On: on, AsKnownAt: or(asKnownAt)}
	if lines != nil {
		ask.Lines = each(lines, asked)
	}
	answers, err := q.Roll.UnderRules(ctx, ask)
	if err != nil {
		return nil, err
	}
	out := &generated.PeopleUnderRules{RuleSetID: ruleSet, On: on, AsKnownAt: asKnownAt, Named: ask.People, Caution: rollcall.UnderRulesCaution}
	for i, p := range answers {
		if err := mayReadStanding(ctx, p.WorkerID); err != nil {
			return nil, atField(fmt.Sprintf("people[%d]", i), err)
		}
		out.People = append(out.People, personUnderRules(p))
	}
	return out, nil
}

func asked(l generated.LineAsk) rollcall.Asked {
	return rulebook.Asked{Method: l.Method, Role: l.Role, FamilyID: groundhand.FamilyID(or(l.Family))}
}

func personUnderRules(p rollcall.PersonUnderRules) generated.PersonUnderRules {
	return generated.PersonUnderRules{WorkerID: p.WorkerID, Name: p.Name, Employer: p.Employer, CrewID: string(p.CrewID), Good: p.Good,
		GoodThrough: someOrNil(p.GoodThrough), Because: someOrNil(p.Because), Why: rollcall.WhyNotGood(p), Lines: each(p.Lines, lineUnderRules)}
}

func lineUnderRules(l rollcall.LineUnderRules) generated.LineUnderRules {
	said := standingOf(l.WorkerStanding)
	return generated.LineUnderRules{Good: l.Good(), Because: someOrNil(l.Because), Why: rollcall.WhyLineNotGood(l), Standing: &said}
}

type underRules struct{ *Root }

// PeopleUnderRules looks up whose certificates are missing.
func (r *Root) PeopleUnderRules() generated.PeopleUnderRulesResolver { return underRules{r} }

func (r underRules) WithoutCertificate(ctx context.Context, p *generated.PeopleUnderRules) ([]string, error) {
	people, err := r.Issuer.Listed(ctx, viewer(ctx), certificate.PackQuestion{People: p.Named, RuleSet: groundhand.RuleSetID(p.RuleSetID), On: p.On})
	if err != nil {
		return nil, err
	}
	out := []string{}
	for _, one := range people {
		if one.Misses() {
			out = append(out, string(one.WorkerID))
		}
	}
	return out, nil
}

type personUnder struct{ *Root }

// PersonUnderRules looks up whose answer it is.
func (r *Root) PersonUnderRules() generated.PersonUnderRulesResolver { return personUnder{r} }

func (personUnder) Worker(ctx context.Context, p *generated.PersonUnderRules) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, p.WorkerID)
}

func (m mutation) IssueMissingCertificates(ctx context.Context, key string, people []string, ruleSet string, on groundhand.Date) ([]certificate.Fate, error) {
	certs, err := m.Issuer.IssueMissing(ctx, viewer(ctx), key, certificate.PackQuestion{People: named[groundhand.WorkerID](people), RuleSet: groundhand.RuleSetID(ruleSet), On: on})
	if err != nil {
		return nil, err
	}
	return m.Issuer.Fates(ctx, viewer(ctx), certs...)
}
