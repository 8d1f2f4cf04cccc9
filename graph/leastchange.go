package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
)

// What an answer offers to change, whom it hangs on, and what is to be looked at. Who the people are is looked up when asked for.

func nMinus1(n *readiness.NMinus1) *generated.NMinus1 {
	out := &generated.NMinus1{HangsOn: []generated.HangsOn{}}
	if n == nil {
		return out
	}
	out.Secure = n.Secure
	for _, a := range n.HangsOn {
		out.HangsOn = append(out.HangsOn, generated.HangsOn{WorkerID: groundhand.WorkerID(a.Person), Without: verdict(a.Without)})
	}
	return out
}

func looksToMake(looks []rollcall.Look) []generated.LookToMake {
	out := make([]generated.LookToMake, len(looks))
	for i, l := range looks {
		out[i] = generated.LookToMake{Look: l, Words: rollcall.LookWords(l)}
	}
	return out
}

func swaps(list []rollcall.Swap) []generated.AloftSwap {
	out := make([]generated.AloftSwap, len(list))
	for i, s := range list {
		out[i] = generated.AloftSwap{At: s.At, Swap: s}
	}
	return out
}

// offered are the changes that an answer offers.
func offered(a rollcall.CoverAnswer, fixes []readiness.Fix) []generated.LeastChange {
	out := make([]generated.LeastChange, len(fixes))
	for i, f := range fixes {
		out[i] = generated.LeastChange{Rung: f.Rung, RungWords: rollcall.RungWords(f.Rung), Steps: steps(a, f), TravelMinutes: f.TravelMinutes,
			Verdict: verdictOrNil(f.Verdict), Lenders: lenders(f.Lenders), LooksAgain: looksToMake(a.LooksAgain(f)), Fix: f, Caution: rollcall.Caution}
	}
	return out
}

func steps(a rollcall.CoverAnswer, f readiness.Fix) []generated.ChangeStep {
	var out []generated.ChangeStep
	for _, c := range rollcall.Steps(f) {
		out = append(out, generated.ChangeStep{Do: c.Do, ID: c.ID, Step: c, Of: f, Given: a})
	}
	return out
}

func lenders(list []readiness.Lender) []generated.Lender {
	out := make([]generated.Lender, len(list))
	for i, l := range list {
		out[i] = generated.Lender{Before: verdictOrNil(l.Before), After: verdictOrNil(l.After), Lent: l}
	}
	return out
}

func refusedCandidates(list []readiness.Refused) []generated.RefusedCandidate {
	out := make([]generated.RefusedCandidate, len(list))
	for i, r := range list {
		out[i] = generated.RefusedCandidate{Kind: r.Kind, ID: r.ID, Reason: r.Reason, Words: rollcall.RefusedWords(r.Reason), LenderID: groundhand.CrewID(r.Lender),
			Before: verdictOrNil(r.Before), After: verdictOrNil(r.After)}
	}
	return out
}

type (
	hangsOn          struct{ *Root }
	aloftSwap        struct{ *Root }
	leastChange      struct{ *Root }
	changeStep       struct{ *Root }
	lender           struct{ *Root }
	refusedCandidate struct{ *Root }
)

// HangsOn looks up who it is.
func (r *Root) HangsOn() generated.HangsOnResolver { return hangsOn{r} }

// AloftSwap looks up who comes down and who goes up.
func (r *Root) AloftSwap() generated.AloftSwapResolver { return aloftSwap{r} }

// LeastChange looks up who goes aloft.
func (r *Root) LeastChange() generated.LeastChangeResolver { return leastChange{r} }

// ChangeStep looks up its people.
func (r *Root) ChangeStep() generated.ChangeStepResolver { return changeStep{r} }

// Lender looks up the crew and whom it lends.
func (r *Root) Lender() generated.LenderResolver { return lender{r} }

// RefusedCandidate looks up who it is and who would have lent.
func (r *Root) RefusedCandidate() generated.RefusedCandidateResolver { return refusedCandidate{r} }

func (hangsOn) Worker(ctx context.Context, h *generated.HangsOn) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, h.WorkerID)
}

func (aloftSwap) ComeDown(ctx context.Context, s *generated.AloftSwap) ([]groundhand.Worker, error) {
	return workersBy(ctx, s.Swap.ComeDown)
}

func (aloftSwap) MayGoUp(ctx context.Context, s *generated.AloftSwap) ([]groundhand.Worker, error) {
	return workersBy(ctx, s.Swap.MayGoUp)
}

func (leastChange) Aloft(ctx context.Context, c *generated.LeastChange) ([]groundhand.Worker, error) {
	return workersBy(ctx, c.Fix.Aloft)
}

func (changeStep) People(ctx context.Context, s *generated.ChangeStep) ([]groundhand.Worker, error) {
	return workersBy(ctx, s.Step.People)
}

func (c changeStep) Words(ctx context.Context, s *generated.ChangeStep) (string, error) {
	return c.said(ctx, func(name rollcall.NameOf) string { return s.Given.StepWords(s.Of, s.Step, name) })
}

func (lender) Crew(ctx context.Context, l *generated.Lender) (*groundhand.Crew, error) {
	return one(ctx, load(ctx).crew, groundhand.CrewID(l.Lent.Crew))
}

func (lender) People(ctx context.Context, l *generated.Lender) ([]groundhand.Worker, error) {
	return workersBy(ctx, l.Lent.People)
}

func (refusedCandidate) Worker(ctx context.Context, r *generated.RefusedCandidate) (*groundhand.Worker, error) {
	if r.Kind != readiness.DoPerson {
		return nil, nil
	}
	return one(ctx, load(ctx).worker, groundhand.WorkerID(r.ID))
}

func (refusedCandidate) Lender(ctx context.Context, r *generated.RefusedCandidate) (*groundhand.Crew, error) {
	return oneOrNone(ctx, load(ctx).crew, r.LenderID)
}

// workersBy looks up some people by their ids.
func workersBy[K ~string](ctx context.Context, ids []K) ([]groundhand.Worker, error) {
	if len(ids) == 0 {
		return []groundhand.Worker{}, nil
	}
	return load(ctx).worker.LoadAll(ctx, named[groundhand.WorkerID](ids))
}
