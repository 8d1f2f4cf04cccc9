package graph

import (
	"context"
	"math"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
)

// askedPlan gives a plan by its id, read.
func (q query) askedPlan(ctx context.Context, field, id string) (*groundhand.Plan, planRead, error) {
	p, err := get[groundhand.Plan](ctx, q.Store, id)
	if err != nil {
		return nil, planRead{}, under(field, err)
	}
	read, err := load(ctx).readPlan(*p)
	return p, read, err
}

// under names the argument that a refusal is about.
func under(field string, err error) error {
	for _, e := range groundhand.Refusals(err) {
		if e.Field == "" {
			e.Field = field
		}
	}
	return err
}

func (q query) WhyThisSlot(ctx context.Context, plan, worker string) (*generated.WhyThisSlot, error) {
	p, read, err := q.askedPlan(ctx, "plan", plan)
	if err != nil {
		return nil, err
	}
	most, days, err := q.stagger(ctx, *p)
	if err != nil {
		return nil, err
	}
	choices, err := rotation.WhyWithin(read.problem, read.made, worker, most, days)
	if err != nil {
		return nil, under("worker", err)
	}
	named, err := namesIn(ctx, read.problem)
	if err != nil {
		return nil, err
	}
	return &generated.WhyThisSlot{Plan: p, Worker: named.workers[worker], Caution: rollcall.RotationCaution,
		Choices: each(choices, func(c rotation.Choice) generated.SlotChoice { return slotChoice(named, c) })}, nil
}

// stagger gives the limit that a plan was asked to keep; zeros for none.
func (q query) stagger(ctx context.Context, p groundhand.Plan) (most, days int, err error) {
	job, err := oneOrNone(ctx, load(ctx).rotation, p.RequestID)
	if err != nil || job == nil {
		return 0, 0, err
	}
	return job.Request.StaggerMost, job.Request.StaggerDays, nil
}

func slotChoice(named problemNames, c rotation.Choice) generated.SlotChoice {
	out := generated.SlotChoice{Method: c.Qualification, FamilyID: c.Device, Slot: named.slot(c.Slot), DaysLapsed: c.DaysLapsed, Words: rollcall.ChoiceWords(c)}
	if reason, is := reasons[c.Reason]; is {
		out.Reason = &reason
	}
	out.Others = each(c.Others, func(o rotation.Alternative) generated.OtherSlot {
		other := generated.OtherSlot{Slot: named.slot(o.Slot), Possible: o.Rule == "", Words: rollcall.OtherWords(o)}
		other.Changes = each(o.Changes, func(f rotation.FigureChange) generated.LevelChange {
			return generated.LevelChange{Level: levelNamed(f.Level), By: f.By}
		})
		return other
	})
	return out
}

func levelNamed(name string) generated.PlanLevel {
	for i, level := range rotation.LevelNames {
		if level == name {
			return planLevels[i]
		}
	}
	return ""
}

func (q query) ComparePlans(ctx context.Context, before, after string) (*generated.PlanDifference, error) {
	was, wasRead, err := q.askedPlan(ctx, "before", before)
	if err != nil {
		return nil, err
	}
	is, isRead, err := q.askedPlan(ctx, "after", after)
	if err != nil {
		return nil, err
	}
	d := rotation.Compare(wasRead.problem, wasRead.made, isRead.problem, isRead.made)
	first, err := namesIn(ctx, wasRead.problem)
	if err != nil {
		return nil, err
	}
	second, err := namesIn(ctx, isRead.problem)
	if err != nil {
		return nil, err
	}
	out := &generated.PlanDifference{Before: was, After: is, Figures: differences(d), SafeAgainOn: someOrNil(d.SafeAgain), Caution: rollcall.RotationCaution,
		Away: &generated.AwayDifference{MinutesBefore: d.Away.Before, MinutesAfter: d.Away.After, HoursMore: hoursMore(d.Away)}}
	out.Crews = each(d.Crews, func(c rotation.CrewAway) generated.CrewAwayDifference {
		return generated.CrewAwayDifference{Crew: either(first.crews, second.crews, c.Crew), MinutesBefore: c.Before, MinutesAfter: c.After, HoursMore: hoursMore(c.Away)}
	})
	out.Moved = each(d.Moved, func(m rotation.Moved) generated.MovedRenewal {
		return generated.MovedRenewal{Worker: either(first.workers, second.workers, m.Worker), Method: m.Qualification, FamilyID: m.Device, From: first.slot(m.From), To: second.slot(m.To)}
	})
	out.Lapses = each(d.Lapses, func(l rotation.LapseChange) generated.LapseDifference {
		return generated.LapseDifference{Worker: either(first.workers, second.workers, l.Worker), Method: l.Qualification, FamilyID: l.Device, DaysBefore: l.Before,
			DaysAfter: l.After, Newly: l.Newly(), NoLonger: l.NoLonger(), CurrentAgainOn: someOrNil(l.CurrentAgain)}
	})
	return out, nil
}

func either[T any](a, b map[string]*T, id string) *T {
	if row := a[id]; row != nil {
		return row
	}
	return b[id]
}

func differences(d rotation.Difference) []generated.LevelDifference {
	before, after := d.Before.Levels(), d.After.Levels()
	out := make([]generated.LevelDifference, len(planLevels))
	for i, level := range planLevels {
		out[i] = generated.LevelDifference{Level: level, Before: before[i], After: after[i], By: after[i] - before[i],
			Words: rollcall.DifferenceWords(rotation.LevelNames[i], before[i], after[i])}
	}
	return out
}

func hoursMore(a rotation.Away) float64 {
	const tenths, minutes = 10, 60
	return math.Round(float64(a.After-a.Before)*tenths/minutes) / tenths
}

func (q query) Clusters(ctx context.Context, plan string) (*generated.PlanClusters, error) {
	p, read, err := q.askedPlan(ctx, "plan", plan)
	if err != nil {
		return nil, err
	}
	found := rollcall.Clusters(read.problem, read.made)
	named, err := namesIn(ctx, read.problem)
	if err != nil {
		return nil, err
	}
	cluster := func(c rollcall.Cluster) generated.CrewCluster {
		return generated.CrewCluster{Crew: named.crews[c.Crew], Method: c.Qualification, OneDay: heap(named, c.OneDay), SixWeeks: heap(named, c.SixWeeks)}
	}
	return &generated.PlanClusters{Plan: p, Before: each(found.Before, cluster), After: each(found.After, cluster), Caution: rollcall.RotationCaution}, nil
}

func heap(named problemNames, h rollcall.Heap) *generated.LapseHeap {
	out := &generated.LapseHeap{Count: h.Tickets, FromOn: someOrNil(h.From), ToOn: someOrNil(h.To), Workers: []groundhand.Worker{}}
	for _, id := range h.Workers {
		if w := named.workers[id]; w != nil {
			out.Workers = append(out.Workers, *w)
		}
	}
	return out
}
