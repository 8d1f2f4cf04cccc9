package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

func (q query) Outlook(ctx context.Context, on groundhand.Date, days *int, asKnownAt *groundhand.Instant) (*generated.Outlook, error) {
	seen, err := crewsSeen(ctx, access.ReadCover)
	if err != nil {
		return nil, err
	}
	var crews []rollcall.CrewOutlook
	err = q.knownBy(ctx, asKnownAt, func(r *rollcall.Roll) error {
		crews, err = r.Outlook(ctx, on, or(days))
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &generated.Outlook{On: on, Through: on.AddDays(or(days)), Crews: []generated.CrewOutlook{}, Caution: rollcall.Caution}
	for _, c := range crews {
		if seen(c.Crew.ID) {
			out.Crews = append(out.Crews, crewOutlook(c))
		}
	}
	return out, nil
}

func crewOutlook(c rollcall.CrewOutlook) generated.CrewOutlook {
	out := generated.CrewOutlook{Crew: &c.Crew, Relation: someOrNil(c.Relation), Members: len(c.Members), Verdict: verdict(c.Verdict()), Why: whyNot(c.Refused),
		FirstBad: badMoment(c.FirstBad()), Families: make([]generated.FamilyOutlook, len(c.Families)), Caution: rollcall.Caution}
	for i, f := range c.Families {
		out.Families[i] = familyOutlook(f)
	}
	return out
}

func familyOutlook(f rollcall.FamilyOutlook) generated.FamilyOutlook {
	out := generated.FamilyOutlook{FamilyID: string(f.FamilyID), Verdict: verdict(f.Verdict), Rescuers: f.Rescuers, Least: f.Least, BelowTwo: f.BelowTwo(), GroundCover: f.GroundCover,
		AloftIDs: f.MayGoAloft, MustStayDown: mustStayDown(f.MustStayDown), NMinus1: nMinus1(&f.NMinus1), Findings: findings(f.Findings), Conditions: conditions(f.Conditions),
		Swap: f.Swap, LeansOn: make([]generated.LeansOn, len(f.Leans)), FirstBad: badMoment(f.FirstBad)}
	for i, l := range f.Leans {
		out.LeansOn[i] = generated.LeansOn{WorkerID: l.WorkerID, State: string(l.State), Without: verdict(l.Without)}
	}
	return out
}

func badMoment(b *rollcall.BadMoment) *generated.BadMoment {
	if b == nil {
		return nil
	}
	return &generated.BadMoment{At: b.At, Day: b.Day, Verdict: verdict(b.Verdict), Changes: changes(b.Changes)}
}

// whyNot is the text of a refusal, empty for none.
func whyNot(refused error) string {
	if refused == nil {
		return ""
	}
	return refused.Error()
}

type (
	outlookFamily struct{ *Root }
	leansOn       struct{ *Root }
)

// FamilyOutlook looks up who may go aloft.
func (r *Root) FamilyOutlook() generated.FamilyOutlookResolver { return outlookFamily{r} }

// LeansOn looks up who it is.
func (r *Root) LeansOn() generated.LeansOnResolver { return leansOn{r} }

func (outlookFamily) MayGoAloft(ctx context.Context, f *generated.FamilyOutlook) ([]groundhand.Worker, error) {
	return workersBy(ctx, f.AloftIDs)
}

func (leansOn) Worker(ctx context.Context, l *generated.LeansOn) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, l.WorkerID)
}
