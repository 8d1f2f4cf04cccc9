package rollcall

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
)

// Stage is one part of a rotation that is longer than the shortest time a renewal is good for. Its problem looks some weeks beyond Through,
// so that whoever lapses just after is looked after in time; its sessions end on Through and the next stage starts on the day after.
type Stage struct {
	Problem rotation.Problem
	Plan    rotation.Plan
	Through groundhand.Date    // the last day that counts to this stage
	Figures rotation.Objective // of the days from the start of the problem to Through; those of all stages add up, but for the last figure
}

// RotationStages plans a window of any length as a sequence of problems, each no longer than the shortest time a renewal is good for, so
// that one renewal a ticket is enough in it. The tickets of a stage follow from the plans of the stages before. A window that is short
// enough is one stage. solve is the planner; its error comes back as it is.
func (r *Roll) RotationStages(ctx context.Context, ask RotationAsk, solve func(context.Context, rotation.Problem) (rotation.Plan, error)) ([]Stage, error) {
	posed, err := r.posed(ctx, ask)
	if err != nil {
		return nil, err
	}
	var out []Stage
	for rest, more := posed.Problem, true; more; {
		stage := nextStage(rest, len(out)+1, posed.Problem)
		if err := stage.Problem.Validate(); err != nil {
			return out, err
		}
		if stage.Plan, err = solve(ctx, stage.Problem); err != nil {
			return out, err
		}
		stage.Figures = figuresThrough(stage.Problem, stage.Plan, stage.Through)
		out = append(out, stage)
		if more = stage.Through < rest.End; more {
			rest = afterStage(rest, stage)
		}
	}
	return out, nil
}

func partName(number int) string { return fmt.Sprintf(", part %d", number) }

// nextStage cuts the first part off what is left of a rotation.
func nextStage(rest rotation.Problem, number int, whole rotation.Problem) Stage {
	end, ahead := stageEnd(rest)
	if end >= rest.End {
		if number > 1 {
			rest.Name = whole.Name + partName(number)
		}
		return Stage{Problem: rest, Through: rest.End}
	}
	through := end.AddDays(-ahead)
	p := rest
	p.Name, p.End = whole.Name+partName(number), end
	p.Slots = slices.DeleteFunc(slices.Clone(rest.Slots), func(s rotation.Slot) bool { return s.Date > through })
	p.Pinned = dueOnly(p, inSlots(rest.Pinned, p.Slots))
	return Stage{Problem: p, Through: through}
}

// stageEnd is the last day of a stage and how many days of it only look ahead: as many as one aims to renew before the last day, so that
// whoever aims at the stage is renewed in it; never more than half of the stage.
func stageEnd(p rotation.Problem) (end groundhand.Date, ahead int) {
	end = lastDay
	for _, q := range p.Qualifications {
		end = min(end, p.Start.AddMonths(q.ValidMonths))
		ahead = max(ahead, q.AimDaysBefore+1)
	}
	return end, min(ahead, int(end-p.Start)/2)
}

func inSlots(pins []rotation.Pin, slots []rotation.Slot) []rotation.Pin {
	return slices.DeleteFunc(slices.Clone(pins), func(pin rotation.Pin) bool {
		return !slices.ContainsFunc(slots, func(s rotation.Slot) bool { return s.ID == pin.Slot })
	})
}

// dueOnly keeps of what is promised only what is due in a stage: who renewed in the stage before may come, and renews nothing.
func dueOnly(p rotation.Problem, pins []rotation.Pin) []rotation.Pin {
	var out []rotation.Pin
	for _, pin := range pins {
		s := slices.IndexFunc(p.Slots, func(s rotation.Slot) bool { return s.ID == pin.Slot })
		w := slices.IndexFunc(p.Workers, func(w rotation.Worker) bool { return w.ID == pin.Worker })
		if s < 0 || w < 0 {
			continue
		}
		if len(pin.Renews) == 0 { // promised to go along
			out = append(out, pin)
			continue
		}
		if pin.Renews = renewable(pin.Renews, &p.Slots[s], &p.Workers[w], p.End); len(pin.Renews) > 0 {
			out = append(out, pin)
		}
	}
	return out
}

// afterStage is what is left of a rotation once a stage is planned.
func afterStage(rest rotation.Problem, done Stage) rotation.Problem {
	rest.Start = done.Through + 1
	renewed := renewals(done.Problem, done.Plan)
	rest.Workers = slices.Clone(rest.Workers)
	for i, w := range rest.Workers {
		rest.Workers[i].Tickets = slices.Clone(w.Tickets)
		for j, t := range w.Tickets {
			if on, is := renewed[heldTicket{w.ID, t.Qualification, t.Device}]; is {
				rest.Workers[i].Tickets[j] = rotation.Ticket{Qualification: t.Qualification, Device: t.Device, ValidThrough: goodUntil(rest, t.Qualification, on)}
			}
		}
	}
	rest.Slots = slices.DeleteFunc(slices.Clone(rest.Slots), func(s rotation.Slot) bool { return s.Date < rest.Start })
	rest.Pinned = dueOnly(rest, rest.Pinned)
	return rest
}

// goodUntil is the last valid day of what is renewed on a day: the same day some months later, the last of the month if there is none.
func goodUntil(p rotation.Problem, qualification string, on groundhand.Date) groundhand.Date {
	for _, q := range p.Qualifications {
		if q.ID == qualification {
			return on.AddMonths(q.ValidMonths)
		}
	}
	return on
}

// heldTicket names one ticket of one worker.
type heldTicket struct{ worker, qualification, device string }

// renewals gives the day on which each ticket is renewed that a plan renews.
func renewals(p rotation.Problem, plan rotation.Plan) map[heldTicket]groundhand.Date {
	slots, workers := map[string]rotation.Slot{}, map[string]rotation.Worker{}
	for _, s := range p.Slots {
		slots[s.ID] = s
	}
	for _, w := range p.Workers {
		workers[w.ID] = w
	}
	out := map[heldTicket]groundhand.Date{}
	for _, s := range plan.Sessions {
		for _, a := range s.Attend {
			for _, q := range a.Renews {
				for _, t := range workers[a.Worker].Tickets {
					if t.Qualification == q && (t.Device == "" || t.Device == slots[s.Slot].Device) {
						out[heldTicket{a.Worker, q, t.Device}] = slots[s.Slot].Date
					}
				}
			}
		}
	}
	return out
}

// figuresThrough counts the figures of a plan up to a day.
func figuresThrough(p rotation.Problem, plan rotation.Plan, through groundhand.Date) rotation.Objective {
	p.End = through
	return rotation.Recount(p, plan)
}

// StagesTogether adds the figures of stages up. The last is the most sessions that one instructor leads over all of them.
func StagesTogether(stages []Stage) rotation.Objective {
	var sum [6]int
	led := map[string]int{}
	for _, stage := range stages {
		for i, v := range stage.Figures.Levels() {
			sum[i] += v
		}
		for _, held := range stage.Plan.Sessions {
			i := slices.IndexFunc(stage.Problem.Slots, func(s rotation.Slot) bool { return s.ID == held.Slot })
			led[stage.Problem.Slots[i].Instructor]++
		}
	}
	busiest := 0
	for _, n := range led {
		busiest = max(busiest, n)
	}
	return rotation.Objective{CrewDaysShort: sum[0], LapsedDays: sum[1], SessionCost: sum[2], MinutesAway: sum[3], DaysOffAim: sum[4], BusiestInstructor: busiest}
}

// Together is the problem and the plan of all stages as one, to be shown, adopted and compared. A ticket may be renewed in it more than once,
// so it is not a problem that can be planned or checked in one go: each stage is.
func Together(stages []Stage) (rotation.Problem, rotation.Plan) {
	if len(stages) == 0 {
		return rotation.Problem{}, rotation.Plan{}
	}
	p, plan := stages[0].Problem, rotation.Plan{}
	p.Name, p.Slots, p.Pinned = strings.TrimSuffix(p.Name, partName(1)), nil, nil
	for _, stage := range stages {
		p.Slots, p.Pinned = append(p.Slots, stage.Problem.Slots...), append(p.Pinned, stage.Problem.Pinned...)
		plan.Sessions = append(plan.Sessions, stage.Plan.Sessions...)
	}
	p.End, plan.Problem, plan.Objective = stages[len(stages)-1].Through, p.Name, StagesTogether(stages)
	slices.SortStableFunc(p.Slots, func(a, b rotation.Slot) int { return cmp.Or(cmp.Compare(a.Date, b.Date), cmp.Compare(a.ID, b.ID)) })
	return p, plan
}
