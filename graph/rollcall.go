package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

func (q query) RollCall(ctx context.Context, on groundhand.Date) (*generated.RollCall, error) {
	seen, err := q.crewsSeen(ctx, access.ReadStanding, on)
	if err != nil {
		return nil, err
	}
	c, err := q.Roll.Company(ctx, on)
	if err != nil {
		return nil, err
	}
	out := &generated.RollCall{On: on, NotCurrent: []generated.Standing{}, Near: []generated.Standing{}, Crews: []generated.CrewDay{}}
	for _, w := range c.Workers {
		if !seen(w.CrewID) {
			continue
		}
		near := w.Near(c.On, c.LeadDays)
		if err := addLines(ctx, &out.NotCurrent, c, w.WorkerID, w.NotCurrent()); err != nil {
			return nil, err
		}
		if err := addLines(ctx, &out.Near, c, w.WorkerID, near); err != nil {
			return nil, err
		}
	}
	for _, crew := range c.Crews {
		if seen(crew.Crew.ID) {
			out.Crews = append(out.Crews, crewDays(crew)...)
		}
	}
	return out, nil
}

func addLines(ctx context.Context, to *[]generated.Standing, c rollcall.Company, id groundhand.WorkerID, lines []rollcall.LineDay) error {
	for _, line := range lines {
		w, err := one(ctx, load(ctx).worker, id)
		if err != nil {
			return err
		}
		*to = append(*to, lineOf(c.On, c.RuleSetID, w, line))
	}
	return nil
}

// lineOf is a standing of the roll call; what it rests on is asked with the question standing.
func lineOf(on groundhand.Date, set groundhand.RuleSetID, w *groundhand.Worker, l rollcall.LineDay) generated.Standing {
	return generated.Standing{
		Worker: w, Method: l.Method, Role: someOrNil(l.Role), FamilyID: string(l.FamilyID), Day: on, Standing: word(l.Standing), Note: string(l.Note),
		RuleSetID: string(set), Line: l.Line, LastGoodDay: someOrNil(l.LastGoodDay), RestsOn: []string{}, Refused: []generated.RefusedEntry{}, ChangesOn: someOrNil(l.ChangesOn),
	}
}

func crewDays(c rollcall.CrewDay) []generated.CrewDay {
	out := make([]generated.CrewDay, len(c.Families))
	for i, f := range c.Families {
		out[i] = generated.CrewDay{
			Crew: &c.Crew, FamilyID: string(f.FamilyID), Members: len(c.Members), Rescuers: f.Rescuers, Least: f.Least, BelowTwo: f.BelowTwo(),
			GroundCover: f.GroundCover, Verdict: verdict(f.Verdict), MayGoAloft: texts(f.MayGoAloft), Findings: findings(f.Findings), Caution: caution,
		}
	}
	return out
}

func (q query) LookAhead(ctx context.Context, on groundhand.Date, days *int) (*generated.LookAhead, error) {
	seen, err := q.crewsSeen(ctx, access.ReadStanding, on)
	if err != nil {
		return nil, err
	}
	l, err := q.Roll.LookAhead(ctx, on, or(days))
	if err != nil {
		return nil, err
	}
	out := &generated.LookAhead{On: l.On, Through: l.Through, Lapses: []generated.Standing{}, Clusters: []generated.LapseCluster{}, FirstBadDays: []generated.FirstBadDay{}}
	for _, lapse := range l.Lapses {
		if !seen(lapse.CrewID) {
			continue
		}
		w, err := one(ctx, load(ctx).worker, lapse.WorkerID)
		if err != nil {
			return nil, err
		}
		out.Lapses = append(out.Lapses, lineOf(l.On, l.RuleSetID, w, lapse.LineDay))
	}
	if err := addClusters(ctx, out, l, seen); err != nil {
		return nil, err
	}
	return out, addBadDays(ctx, out, l, seen)
}

func addClusters(ctx context.Context, out *generated.LookAhead, l rollcall.LookAhead, seen func(groundhand.CrewID) bool) error {
	for _, k := range l.Clusters {
		if !seen(k.CrewID) {
			continue
		}
		c, err := one(ctx, load(ctx).crew, k.CrewID)
		if err != nil {
			return err
		}
		workers, err := load(ctx).worker.LoadAll(ctx, k.Workers)
		if err != nil {
			return err
		}
		out.Clusters = append(out.Clusters, generated.LapseCluster{Crew: c, LastGoodDay: k.LastGoodDay, Workers: workers, Of: k.Of})
	}
	return nil
}

func addBadDays(ctx context.Context, out *generated.LookAhead, l rollcall.LookAhead, seen func(groundhand.CrewID) bool) error {
	for _, d := range l.FirstBadDays {
		if !seen(d.CrewID) {
			continue
		}
		c, err := one(ctx, load(ctx).crew, d.CrewID)
		if err != nil {
			return err
		}
		out.FirstBadDays = append(out.FirstBadDays, generated.FirstBadDay{Crew: c, FamilyID: string(d.FamilyID), Day: d.Day})
	}
	return nil
}
