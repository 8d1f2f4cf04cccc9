package graph

import (
	"context"
	"slices"
	"strings"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

func (q query) RollCall(ctx context.Context, on groundhand.Date) (*generated.RollCall, error) {
	seen, err := crewsSeen(ctx, access.ReadStanding)
	if err != nil {
		return nil, err
	}
	c, err := q.Roll.Company(ctx, on)
	if err != nil {
		return nil, err
	}
	c.Workers = slices.DeleteFunc(c.Workers, func(w rollcall.WorkerDay) bool { return !seen(w.CrewID) })
	c.Crews = slices.DeleteFunc(c.Crews, func(d rollcall.CrewDay) bool { return !seen(d.Crew.ID) })
	out := &generated.RollCall{On: on, Company: c, Crews: []generated.CrewDay{}}
	for _, crew := range c.Crews {
		out.Crews = append(out.Crews, crewDays(crew)...)
	}
	return out, nil
}

type (
	rollCall  struct{ *Root }
	lookAhead struct{ *Root }
)

// RollCall gives its long lists by the page.
func (r *Root) RollCall() generated.RollCallResolver { return rollCall{r} }

// LookAhead gives its long list by the page.
func (r *Root) LookAhead() generated.LookAheadResolver { return lookAhead{r} }

func (rollCall) NotCurrent(_ context.Context, r *generated.RollCall, first *int, after *string) (*generated.StandingConnection, error) {
	return linePage(r.Company.On, r.Company.RuleSetID, linesOf(r.Company.Workers, rollcall.WorkerDay.NotCurrent), first, after)
}

func (rollCall) Near(_ context.Context, r *generated.RollCall, first *int, after *string) (*generated.StandingConnection, error) {
	c := r.Company
	near := func(w rollcall.WorkerDay) []rollcall.LineDay { return w.Near(c.On, c.LeadDays) }
	return linePage(c.On, c.RuleSetID, linesOf(c.Workers, near), first, after)
}

func (lookAhead) Lapses(_ context.Context, l *generated.LookAhead, first *int, after *string) (*generated.StandingConnection, error) {
	return linePage(l.Ahead.On, l.Ahead.RuleSetID, l.Ahead.Lapses, first, after)
}

// linesOf lists some lines of each worker, with whose they are.
func linesOf(workers []rollcall.WorkerDay, pick func(rollcall.WorkerDay) []rollcall.LineDay) []rollcall.Lapse {
	var out []rollcall.Lapse
	for _, w := range workers {
		for _, line := range pick(w) {
			out = append(out, rollcall.Lapse{WorkerID: w.WorkerID, CrewID: w.CrewID, LineDay: line})
		}
	}
	return out
}

// linePage is one page of lines, for which nothing has been looked up yet. The cursor names the line.
func linePage(on groundhand.Date, set groundhand.RuleSetID, lines []rollcall.Lapse, first *int, after *string) (*generated.StandingConnection, error) {
	n, err := pageSize(first)
	if err != nil {
		return nil, err
	}
	if or(after) != "" {
		at := slices.IndexFunc(lines, func(l rollcall.Lapse) bool { return lineCursor(l) == *after })
		if at < 0 {
			return nil, groundhand.Invalid("after", "There is no such line in this list any more; begin it again.")
		}
		lines = lines[at+1:]
	}
	shown := lines[:min(n, len(lines))]
	out := &generated.StandingConnection{Edges: make([]generated.StandingEdge, len(shown)), PageInfo: &generated.PageInfo{HasNextPage: len(lines) > n}}
	for i, l := range shown {
		node, cursor := lineOf(on, set, l), lineCursor(l)
		out.Edges[i], out.PageInfo.EndCursor = generated.StandingEdge{Cursor: cursor, Node: &node}, &cursor
	}
	return out, nil
}

func lineCursor(l rollcall.Lapse) string {
	return strings.Join([]string{string(l.WorkerID), string(l.Method), string(l.Role), string(l.FamilyID)}, "/")
}

// lineOf is a standing of the roll call; what it rests on is asked with the question standing.
func lineOf(on groundhand.Date, set groundhand.RuleSetID, l rollcall.Lapse) generated.Standing {
	return generated.Standing{
		WorkerID: l.WorkerID, Method: l.Method, Role: someOrNil(l.Role), FamilyID: string(l.FamilyID), Day: on, Standing: word(l.Standing), Note: string(l.Note),
		RuleSetID: string(set), Line: l.Line, LastGoodDay: someOrNil(l.LastGoodDay), RestsOn: []string{}, Refused: []generated.RefusedEntry{}, ChangesOn: someOrNil(l.ChangesOn),
	}
}

func crewDays(c rollcall.CrewDay) []generated.CrewDay {
	out := make([]generated.CrewDay, len(c.Families))
	for i, f := range c.Families {
		out[i] = generated.CrewDay{
			Crew: &c.Crew, FamilyID: string(f.FamilyID), Members: len(c.Members), Rescuers: f.Rescuers, Least: f.Least, BelowTwo: f.BelowTwo(),
			GroundCover: f.GroundCover, Verdict: verdict(f.Verdict), MayGoAloft: texts(f.MayGoAloft), Findings: findings(f.Findings), Caution: rollcall.Caution,
		}
	}
	return out
}

func (q query) LookAhead(ctx context.Context, on groundhand.Date, days *int, asKnownAt *groundhand.Instant) (*generated.LookAhead, error) {
	seen, err := crewsSeen(ctx, access.ReadStanding)
	if err != nil {
		return nil, err
	}
	var l rollcall.LookAhead
	err = q.knownBy(ctx, asKnownAt, func(r *rollcall.Roll) error {
		l, err = r.LookAhead(ctx, on, or(days))
		return err
	})
	if err != nil {
		return nil, err
	}
	l.Lapses = slices.DeleteFunc(l.Lapses, func(x rollcall.Lapse) bool { return !seen(x.CrewID) })
	l.Clusters = slices.DeleteFunc(l.Clusters, func(x rollcall.LapseCluster) bool { return !seen(x.CrewID) })
	l.FirstBadDays = slices.DeleteFunc(l.FirstBadDays, func(x rollcall.FirstBadDay) bool { return !seen(x.CrewID) })
	out := &generated.LookAhead{On: l.On, Through: l.Through, Ahead: l, Clusters: []generated.LapseCluster{}, FirstBadDays: []generated.FirstBadDay{}}
	for _, k := range l.Clusters {
		out.Clusters = append(out.Clusters, generated.LapseCluster{CrewID: k.CrewID, LastGoodDay: k.LastGoodDay, WorkerIDs: k.Workers, Of: k.Of})
	}
	for _, d := range l.FirstBadDays {
		out.FirstBadDays = append(out.FirstBadDays, generated.FirstBadDay{CrewID: d.CrewID, FamilyID: string(d.FamilyID), Day: d.Day})
	}
	return out, nil
}

type (
	lapseCluster struct{ *Root }
	firstBadDay  struct{ *Root }
)

// LapseCluster looks up the crew and its people.
func (r *Root) LapseCluster() generated.LapseClusterResolver { return lapseCluster{r} }

// FirstBadDay looks up the crew.
func (r *Root) FirstBadDay() generated.FirstBadDayResolver { return firstBadDay{r} }

func (lapseCluster) Crew(ctx context.Context, k *generated.LapseCluster) (*groundhand.Crew, error) {
	return one(ctx, load(ctx).crew, k.CrewID)
}

func (lapseCluster) Workers(ctx context.Context, k *generated.LapseCluster) ([]groundhand.Worker, error) {
	return load(ctx).worker.LoadAll(ctx, k.WorkerIDs)
}

func (firstBadDay) Crew(ctx context.Context, d *generated.FirstBadDay) (*groundhand.Crew, error) {
	return one(ctx, load(ctx).crew, d.CrewID)
}
