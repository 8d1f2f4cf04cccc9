package graph

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
)

func (q query) CrewHours(ctx context.Context, plan string) (*generated.CrewHours, error) {
	p, read, err := q.askedPlan(ctx, "plan", plan)
	if err != nil {
		return nil, err
	}
	hours, err := q.Roll.CrewHours(ctx, read.problem, read.made)
	if err != nil {
		return nil, err
	}
	crews := map[string]*groundhand.Crew{}
	for _, c := range hours.Crews {
		if c.Crew != "" {
			crews[c.Crew] = nil
		}
	}
	if err := lookUp(ctx, load(ctx).crew, crews); err != nil {
		return nil, err
	}
	time := func(c rollcall.CrewTime) generated.CrewTime {
		return generated.CrewTime{Crew: crews[c.Crew], MinutesProposed: c.Proposed, MinutesHeld: c.Held, HoursMore: hoursMore(rotation.Away{Before: c.Held, After: c.Proposed})}
	}
	all := time(hours.All)
	return &generated.CrewHours{Plan: p, HeldFrom: hours.From, HeldThrough: hours.Through, All: &all, Crews: each(hours.Crews, time), Caution: rollcall.RotationCaution}, nil
}

func (plan) DrillDays(ctx context.Context, p *groundhand.Plan, from, through *groundhand.Date) (*generated.DrillDays, error) {
	read, err := load(ctx).readPlan(*p)
	if err != nil {
		return nil, err
	}
	named, err := namesIn(ctx, read.problem)
	if err != nil {
		return nil, err
	}
	out := &generated.DrillDays{Days: []generated.DrillDay{}, Caution: rollcall.RotationCaution}
	for _, d := range rotation.DrillDays(read.problem, read.made) {
		if from != nil && d.Day < *from || through != nil && d.Day > *through {
			continue
		}
		out.AnyBelow, out.AnyShort = out.AnyBelow || d.Below, out.AnyShort || d.Short
		out.Days = append(out.Days, generated.DrillDay{On: d.Day, Part: d.Part, Crew: named.crews[d.Crew], AtWork: d.AtWork, Away: d.Away, Short: d.Short,
			StandsDown: d.StandsDown, Below: d.Below, Words: rollcall.DrillDayWords(d)})
	}
	return out, nil
}

// Bounds of the other sessions that are listed for one that is not renewed.
const (
	usualOthers = 10
	mostOthers  = 50
)

func (r plan) Unplaced(ctx context.Context, p *groundhand.Plan, first *int, after *string, others *int) (*generated.UnplacedConnection, error) {
	listed := cmp.Or(or(others), usualOthers)
	if others != nil && (*others < 1 || *others > mostOthers) {
		return nil, groundhand.Invalid("others", "Ask for 1 to %d other sessions for each.", mostOthers)
	}
	read, err := load(ctx).readPlan(*p)
	if err != nil {
		return nil, err
	}
	most, days, err := query(r).stagger(ctx, *p)
	if err != nil {
		return nil, err
	}
	choices, err := rotation.Unplaced(read.problem, read.made, most, days)
	if err != nil {
		return nil, err
	}
	named, err := namesIn(ctx, read.problem)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(choices, func(a, b rotation.Choice) int { return cmp.Compare(choiceCursor(a), choiceCursor(b)) })
	edges, info, err := cut(choices, first, after, func(c rotation.Choice) (generated.UnplacedEdge, string) {
		return generated.UnplacedEdge{Cursor: choiceCursor(c), Node: unplaced(named, c, listed)}, choiceCursor(c)
	})
	return &generated.UnplacedConnection{Edges: edges, PageInfo: info, Caution: rollcall.RotationCaution}, err
}

func choiceCursor(c rotation.Choice) string {
	return strings.Join([]string{c.Worker, c.Qualification, c.Device}, "/")
}

// unplaced is a choice with so many other sessions at most.
func unplaced(named problemNames, c rotation.Choice, most int) *generated.Unplaced {
	inAll := len(c.Others)
	c.Others = c.Others[:min(most, inAll)]
	told := slotChoice(named, c)
	return &generated.Unplaced{Worker: named.workers[c.Worker], Method: told.Method, FamilyID: told.FamilyID, DaysLapsed: told.DaysLapsed, Reason: told.Reason, Words: told.Words,
		Others: told.Others, OthersInAll: inAll}
}
