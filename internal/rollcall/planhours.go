package rollcall

import (
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
	"groundhand/internal/store"
)

// CrewHours is the working time that a proposed rotation takes from each crew, against what the drills of the year before took.
type CrewHours struct {
	From, Through groundhand.Date // the same days a year before
	All           CrewTime
	Crews         []CrewTime // by crew
}

// CrewTime is working time of one crew, in minutes: travel both ways and session time of everybody there, and the visit minutes for each
// session with somebody of the crew.
type CrewTime struct {
	Crew     string // empty: all, or those who are in no crew that is sent out
	Proposed int
	Held     int
}

// monthsBefore is how far back the drills lie that a rotation is held against.
const monthsBefore = 12

// CrewHours holds a plan against the sessions that were really held on the same days a year before. A session was held when a run of it is
// recorded of a method that is planned; whoever had a part in a run of it was there, and travelled from the yard of the crew of that
// day. A run outside a booked session has no length on record and is not counted.
func (r *Roll) CrewHours(ctx context.Context, p rotation.Problem, plan rotation.Plan) (out CrewHours, err error) {
	out = CrewHours{From: p.Start.AddMonths(-monthsBefore), Through: p.End.AddMonths(-monthsBefore)}
	var held map[string]int
	err = r.asOfNow(ctx, func(seen *Roll) error {
		held, err = seen.minutesHeld(ctx, p, out.From, out.Through)
		return err
	})
	proposed := rotation.MinutesAway(p, plan)
	crews := []string{}
	for crew := range proposed {
		crews = append(crews, crew)
	}
	for crew := range held {
		crews = append(crews, crew)
	}
	slices.Sort(crews)
	for _, crew := range slices.Compact(crews) {
		out.Crews = append(out.Crews, CrewTime{crew, proposed[crew], held[crew]})
		out.All.Proposed += proposed[crew]
		out.All.Held += held[crew]
	}
	return out, err
}

func (r *Roll) minutesHeld(ctx context.Context, p rotation.Problem, from, through groundhand.Date) (map[string]int, error) {
	sessions, err := r.store.SessionsBetween(ctx, r.start(from), r.start(through+1))
	if err != nil {
		return nil, err
	}
	there, err := r.attended(ctx, p, sessions)
	if err != nil {
		return nil, err
	}
	memberships, err := r.store.MembershipsOn(ctx, from, through)
	if err != nil {
		return nil, err
	}
	crews, err := store.Standing[groundhand.Crew](ctx, r.store)
	if err != nil {
		return nil, err
	}
	f := &planFacts{roll: r}
	if err := f.places(ctx); err != nil {
		return nil, err
	}
	c := hoursCount{p: p, roads: f.travel(), memberships: memberships, crews: map[groundhand.CrewID]groundhand.Crew{}, out: map[string]int{}}
	for _, crew := range crews {
		c.crews[crew.ID] = crew
	}
	for _, s := range sessions {
		c.add(r, s, there[s.ID])
	}
	return c.out, nil
}

// attended gives who had a part in a run of each session, of a method that is planned.
func (r *Roll) attended(ctx context.Context, p rotation.Problem, sessions []groundhand.Session) (map[groundhand.SessionID][]groundhand.WorkerID, error) {
	runs, err := store.FindStanding[groundhand.Run](ctx, r.store, store.BySession, idsOf(sessions, func(s groundhand.Session) groundhand.SessionID { return s.ID }))
	if err != nil {
		return nil, err
	}
	of := map[groundhand.RunID]groundhand.SessionID{}
	for _, run := range runs {
		if slices.ContainsFunc(p.Qualifications, func(q rotation.Qualification) bool { return q.ID == string(run.Method) }) {
			of[run.ID] = run.SessionID
		}
	}
	parts, err := store.FindStanding[groundhand.RunPart](ctx, r.store, store.ByRun, idsOf(runs, func(run groundhand.Run) groundhand.RunID { return run.ID }))
	out := map[groundhand.SessionID][]groundhand.WorkerID{}
	for _, part := range parts {
		if session, planned := of[part.RunID]; planned && !slices.Contains(out[session], part.WorkerID) {
			out[session] = append(out[session], part.WorkerID)
		}
	}
	return out, err
}

// hoursCount adds up what sessions took.
type hoursCount struct {
	p           rotation.Problem
	roads       []rotation.Travel
	memberships []groundhand.Membership
	crews       map[groundhand.CrewID]groundhand.Crew
	out         map[string]int
}

func (c hoursCount) add(r *Roll, s groundhand.Session, there []groundhand.WorkerID) {
	places := placesOn(c.memberships, r.dayOf(s.StartAt))
	lasted := int((s.EndAt - s.StartAt) / minutes(1))
	visits := map[string]bool{}
	for _, who := range there {
		if who == s.AssessorID {
			continue
		}
		crew := c.crews[places[who].CrewID]
		name := string(crew.ID)
		if crew.Kind == groundhand.ReliefPool {
			name = ""
		}
		c.out[name] += lasted + 2*c.travel(string(crew.YardID), string(s.YardID))
		visits[name] = name != ""
	}
	for crew, is := range visits {
		if is {
			c.out[crew] += c.p.VisitMinutes
		}
	}
}

// travel is none where no road is on record.
func (c hoursCount) travel(from, to string) int {
	for _, t := range c.roads {
		if from != to && (t.From == from && t.To == to || t.From == to && t.To == from) {
			return t.Minutes
		}
	}
	return 0
}
