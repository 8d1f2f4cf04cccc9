package graph

import (
	"context"
	"slices"
	"strconv"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
	"groundhand/internal/store"
	"groundhand/internal/training"
)

type (
	plan        struct{ *Root }
	planSession struct{ *Root }
)

// Plan gives what it says in structured form, and whether it was adopted.
func (r *Root) Plan() generated.PlanResolver { return plan{r} }

// PlanSession looks up the session as it is booked.
func (r *Root) PlanSession() generated.PlanSessionResolver { return planSession{r} }

func (plan) Name(ctx context.Context, p *groundhand.Plan) (string, error) {
	read, err := load(ctx).readPlan(*p)
	return read.made.Problem, err
}

func (plan) Seed(_ context.Context, p *groundhand.Plan) (string, error) {
	return strconv.FormatInt(p.Seed, 10), nil
}

func (plan) Rotation(ctx context.Context, p *groundhand.Plan) (*training.RotationJob, error) {
	return oneOrNone(ctx, load(ctx).rotation, p.RequestID)
}

func (plan) BasePlan(ctx context.Context, p *groundhand.Plan) (*groundhand.Plan, error) {
	return oneOrNone(ctx, load(ctx).plan, p.BasePlanID)
}

func (plan) WhatIf(_ context.Context, p *groundhand.Plan) (*string, error) {
	return someOrNil(training.WhatIfWords(p.Change)), nil
}

func (plan) Figures(ctx context.Context, p *groundhand.Plan) ([]generated.PlanFigure, error) {
	read, err := load(ctx).readPlan(*p)
	if err != nil {
		return nil, err
	}
	return planFigures(read.made.Objective, read.made.Bound, read.made.ProvedLevels), nil
}

func (plan) Sessions(ctx context.Context, p *groundhand.Plan, from, through *groundhand.Date) ([]generated.PlanSession, error) {
	read, err := load(ctx).readPlan(*p)
	if err != nil {
		return nil, err
	}
	named, err := namesIn(ctx, read.problem)
	if err != nil {
		return nil, err
	}
	out := []generated.PlanSession{}
	for _, held := range read.made.Sessions {
		slot := named.slot(held.Slot)
		if slot == nil || from != nil && slot.On < *from || through != nil && slot.On > *through {
			continue
		}
		session := generated.PlanSession{Slot: slot, PlanID: p.ID, Attend: []generated.PlanAttendee{}}
		for _, who := range held.Attend {
			session.Attend = append(session.Attend, generated.PlanAttendee{Worker: named.workers[who.Worker], Renews: append([]string{}, who.Renews...)})
		}
		out = append(out, session)
	}
	slices.SortStableFunc(out, func(a, b generated.PlanSession) int { return int(a.Slot.On - b.Slot.On) })
	return out, nil
}

func (plan) NotKeptCurrent(ctx context.Context, p *groundhand.Plan) ([]generated.NotKeptCurrent, error) {
	read, err := load(ctx).readPlan(*p)
	if err != nil {
		return nil, err
	}
	named, err := namesIn(ctx, read.problem)
	if err != nil {
		return nil, err
	}
	return each(read.made.NotKeptCurrent, func(n rotation.NotKept) generated.NotKeptCurrent {
		out := generated.NotKeptCurrent{Worker: named.workers[n.Worker], Method: n.Qualification, FamilyID: n.Device, DaysLapsed: n.DaysLapsed,
			UnavoidableDays: n.UnavoidableDays, Reason: reasons[n.Reason], Words: rollcall.ReasonWords(n.Reason), Chances: []generated.SlotChance{}}
		for _, c := range n.Chances {
			out.Chances = append(out.Chances, generated.SlotChance{Slot: named.slot(c.Slot), Words: rollcall.RuleWords(c.Rule)})
		}
		return out
	}), nil
}

func (plan) SlotsSetAside(ctx context.Context, p *groundhand.Plan) ([]generated.SlotSetAside, error) {
	read, err := load(ctx).readPlan(*p)
	if err != nil {
		return nil, err
	}
	days := map[string]groundhand.Date{}
	for _, slot := range read.problem.Slots {
		days[slot.ID] = slot.Date
	}
	return each(read.made.SlotsSetAside, func(a rotation.SetAside) generated.SlotSetAside {
		return generated.SlotSetAside{SlotID: a.Slot, On: days[a.Slot], Words: rollcall.AsideWords(a.Reason)}
	}), nil
}

func (plan) AdoptedAt(ctx context.Context, p *groundhand.Plan) (*groundhand.Instant, error) {
	all, err := load(ctx).adoptions.Load(ctx, p.ID)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	return &all[0].RecordedAt, nil
}

func (plan) Caution(context.Context, *groundhand.Plan) (string, error) {
	return rollcall.RotationCaution, nil
}

// Session: a slot that was a session goes by its id; one that was adopted is known by the plan and its name.
func (planSession) Session(ctx context.Context, s *generated.PlanSession) (*groundhand.Session, error) {
	all, err := load(ctx).planSessions.Load(ctx, s.PlanID)
	if err != nil {
		return nil, err
	}
	if at := slices.IndexFunc(all, func(b groundhand.Session) bool { return b.Slot == s.Slot.ID }); at >= 0 {
		return &all[at], nil
	}
	booked, err := load(ctx).bookedSlots.Load(ctx, groundhand.SessionID(s.Slot.ID))
	if err != nil || len(booked) == 0 {
		return nil, err
	}
	return &booked[0], nil
}

// planRead is a plan with its problem, read.
type planRead struct {
	problem rotation.Problem
	made    rotation.Plan
	err     error
}

// readPlan reads a plan once for all the fields of a request.
func (l *loaders) readPlan(p groundhand.Plan) (planRead, error) {
	l.reading.Lock()
	defer l.reading.Unlock()
	read, done := l.plansRead[p.ID]
	if !done {
		read.problem, read.made, read.err = training.ReadPlan(p)
		l.plansRead[p.ID] = read
	}
	return read, read.err
}

// planLevels are the figures of a plan, in the order of rotation.LevelNames.
var planLevels = [6]generated.PlanLevel{generated.PlanLevelCrewDaysShort, generated.PlanLevelLapsedDays, generated.PlanLevelSessionCost,
	generated.PlanLevelMinutesAway, generated.PlanLevelDaysOffAim, generated.PlanLevelBusiestAssessor}

var reasons = map[rotation.Reason]generated.NotKeptReason{
	rotation.NoOffer: generated.NotKeptReasonNoOffer, rotation.OnlySelfAssessed: generated.NotKeptReasonOnlySelfAssessed,
	rotation.NeverFree: generated.NotKeptReasonNeverFree, rotation.OnlyTooEarly: generated.NotKeptReasonOnlyTooEarly,
	rotation.FirstChanceTooLate: generated.NotKeptReasonFirstChanceTooLate, rotation.CrowdedOut: generated.NotKeptReasonCrowdedOut,
}

// planFigures lists the figures of a plan with their bounds; proved is how many of the first are proved least.
func planFigures(figures, bounds rotation.Objective, proved int) []generated.PlanFigure {
	out := make([]generated.PlanFigure, len(planLevels))
	bound := bounds.Levels()
	for i, n := range figures.Levels() {
		least := min(bound[i], n)
		out[i] = generated.PlanFigure{Level: planLevels[i], Figure: n, Bound: least, Gap: n - least, Proved: i < proved,
			Words: rollcall.FigureWords(rotation.LevelNames[i], n, least, i < proved)}
	}
	return out
}

// problemNames are the people and places of a problem, looked up together.
type problemNames struct {
	slots   map[string]rotation.Slot
	workers map[string]*groundhand.Worker
	yards   map[string]*groundhand.Yard
	crews   map[string]*groundhand.Crew
}

func namesIn(ctx context.Context, problems ...rotation.Problem) (problemNames, error) {
	out := problemNames{slots: map[string]rotation.Slot{}, workers: map[string]*groundhand.Worker{}, yards: map[string]*groundhand.Yard{}, crews: map[string]*groundhand.Crew{}}
	for _, p := range problems {
		for _, w := range p.Workers {
			out.workers[w.ID] = nil
		}
		for _, s := range p.Slots {
			out.slots[s.ID], out.yards[s.Yard] = s, nil
			if s.Instructor != rollcall.AddedAssessor {
				out.workers[s.Instructor] = nil
			}
		}
		for _, c := range p.Crews {
			out.crews[c.ID] = nil
		}
	}
	if err := lookUp(ctx, load(ctx).worker, out.workers); err != nil {
		return out, err
	}
	if err := lookUp(ctx, load(ctx).yard, out.yards); err != nil {
		return out, err
	}
	return out, lookUp(ctx, load(ctx).crew, out.crews)
}

// slot gives an offered session by its name; nil for the empty name.
func (n problemNames) slot(id string) *generated.OfferedSlot {
	s, there := n.slots[id]
	if !there {
		return nil
	}
	return &generated.OfferedSlot{ID: s.ID, On: s.Date, Part: s.Part, Yard: n.yards[s.Yard], FamilyID: s.Device, DeviceID: s.Truck, Assessor: n.workers[s.Instructor],
		Methods: append([]string{}, s.Qualifications...), Seats: s.Seats, MaxRuns: s.MaxRuns, Minutes: s.Minutes}
}

func (q query) Plan(ctx context.Context, id string) (*groundhand.Plan, error) {
	return get[groundhand.Plan](ctx, q.Store, id)
}

func (q query) Plans(ctx context.Context, first *int, after *string) (*generated.PlanConnection, error) {
	edges, info, err := page(ctx, q.Store, first, after, func(p groundhand.Plan) (generated.PlanEdge, string) {
		return generated.PlanEdge{Cursor: string(p.ID), Node: &p}, string(p.ID)
	})
	return &generated.PlanConnection{Edges: edges, PageInfo: info}, err
}

func (q query) RuleSets(ctx context.Context) ([]groundhand.RuleSet, error) {
	return listed(store.Standing[groundhand.RuleSet](ctx, q.Store))
}

func (m mutation) SuggestRotation(ctx context.Context, key string, form training.RotationForm) (*groundhand.Plan, error) {
	return made(m.Desk.SuggestRotation(ctx, viewer(ctx), key, form))
}

func (m mutation) AdoptPlan(ctx context.Context, key string, form training.AdoptionForm) (*generated.AdoptedPlan, error) {
	adopted, err := m.Desk.AdoptPlan(ctx, viewer(ctx), key, form)
	if err != nil {
		return nil, err
	}
	p, err := get[groundhand.Plan](ctx, m.Store, string(form.PlanID))
	return &generated.AdoptedPlan{Plan: p, Sessions: append([]groundhand.Session{}, adopted.Sessions...), Bookings: append([]groundhand.Booking{}, adopted.Bookings...)}, err
}
