package graph

import (
	"context"
	"encoding/json"
	"maps"
	"slices"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
)

// coverOf puts an answer into the contract's words. It converts only.
func coverOf(a rollcall.CoverAnswer) *generated.Cover {
	return &generated.Cover{
		Verdict: verdict(a.Answer.Verdict), RuleSetID: string(a.RuleSetID),
		VerdictUntil: a.Answer.HoldsUntil.Verdict.At, Then: verdictOrNil(a.Answer.HoldsUntil.Then), ListsUntil: a.Answer.HoldsUntil.Lists.At,
		Changes: changes(a.Answer.HoldsUntil.Changes), MayGoAloft: mayGoAloft(a.Answer.MayGoAloft), MustStayDown: mustStayDown(a.Answer.MustStayDown), Choices: choices(a.Answer.Choices),
		Timeline: stretches(a.Answer.Timeline), Planned: planned(a.Answer.Planned), Findings: findings(a.Answer.Findings),
		Conditions: conditions(a.Answer.Conditions),
		NMinus1:    nMinus1(a.Answer.NMinus1), LooksToMake: looksToMake(a.Looks), Gear: gearLines(a.Gear), OnlySwaps: a.OnlySwaps(), Swaps: swaps(a.Swaps()),
		LeastChanges: offered(a, a.Answer.Fixes), RefusedCandidates: refusedCandidates(a.Answer.Refused), LeftOut: a.LeftOut, Given: a, Caution: rollcall.Caution,
	}
}

type cover struct{ *Root }

// Cover writes out what few ask to see: the whole question, and the entries behind the answer.
func (r *Root) Cover() generated.CoverResolver { return cover{r} }

func (cover) Question(_ context.Context, c *generated.Cover) (string, error) {
	text, err := json.MarshalIndent(c.Given.Question, "", " ")
	return string(text), err
}

func (cover) RestsOn(_ context.Context, c *generated.Cover) ([]string, error) {
	return c.Given.RestsOn()
}

func verdict(v readiness.Verdict) generated.Verdict { return generated.Verdict(v.String()) }

func verdictOrNil(v *readiness.Verdict) *generated.Verdict {
	if v == nil {
		return nil
	}
	return someOrNil(verdict(*v))
}

func mayGoAloft(list []readiness.Aloft) []generated.MayGoAloft {
	out := make([]generated.MayGoAloft, len(list))
	for i, a := range list {
		out[i] = generated.MayGoAloft{WorkerID: groundhand.WorkerID(a.Person), Verdict: verdict(a.Class), With: a.With}
	}
	return out
}

func mustStayDown(list []readiness.Down) []generated.MustStayDown {
	out := make([]generated.MustStayDown, len(list))
	for i, d := range list {
		out[i] = generated.MustStayDown{WorkerID: groundhand.WorkerID(d.Person), Because: string(d.Because), Words: rollcall.BecauseWords(d.Because)}
	}
	return out
}

type (
	aloft struct{ *Root }
	down  struct{ *Root }
)

// MayGoAloft looks up who it is.
func (r *Root) MayGoAloft() generated.MayGoAloftResolver { return aloft{r} }

// MustStayDown looks up who it is.
func (r *Root) MustStayDown() generated.MustStayDownResolver { return down{r} }

func (aloft) Worker(ctx context.Context, a *generated.MayGoAloft) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, a.WorkerID)
}

func (down) Worker(ctx context.Context, d *generated.MustStayDown) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, d.WorkerID)
}

func changes(list []readiness.Change) []generated.CoverChange {
	out := make([]generated.CoverChange, len(list))
	for i, c := range list {
		out[i] = generated.CoverChange{Edge: string(c.Edge), Of: string(c.Of), ID: c.ID, Change: c}
	}
	return out
}

func choices(list []readiness.Choice) []generated.AloftChoice {
	out := make([]generated.AloftChoice, len(list))
	for i, c := range list {
		roles := make([]generated.GroundRole, len(c.Roles))
		for k, r := range c.Roles {
			roles[k] = generated.GroundRole{Role: string(r.Role), Worker: r.Person}
		}
		out[i] = generated.AloftChoice{Aloft: c.Aloft, Verdict: verdict(c.Class), Method: or(c.Method), Roles: roles, Conditions: conditions(c.Conditions)}
	}
	return out
}

func stretches(list []readiness.Stretch) []generated.CoverStretch {
	out := make([]generated.CoverStretch, len(list))
	for i, s := range list {
		out[i] = generated.CoverStretch{From: s.From.At, To: s.To.At, Verdict: verdict(s.Verdict), MayGoAloft: s.MayGoAloft, MustStayDown: s.MustStayDown}
	}
	return out
}

func planned(p *readiness.Planned) string {
	switch {
	case p == nil:
		return ""
	case !p.Permitted:
		return "NOT_PERMITTED"
	}
	return p.Class.String()
}

func findings(list []readiness.Finding) []generated.Finding {
	out := make([]generated.Finding, len(list))
	for i, f := range list {
		values := []generated.FindingValue{}
		for _, name := range slices.Sorted(maps.Keys(f.Values)) {
			values = append(values, generated.FindingValue{Name: name, Value: f.Values[name]})
		}
		out[i] = generated.Finding{Code: string(f.Code), Severity: string(f.Severity), Things: append([]string{}, f.Things...), Values: values, Found: f}
	}
	return out
}

func conditions(list []readiness.Condition) []generated.Condition {
	out := make([]generated.Condition, len(list))
	for i, c := range list {
		out[i] = generated.Condition{Code: string(c.Code), Things: append([]string{}, c.Things...), Met: c}
	}
	return out
}
