package main

import (
	"context"
	"fmt"
	"slices"

	"groundhand/internal/demo"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
)

// ahead is what a coordinator asks about the drills of the year ahead.
type ahead struct {
	stages   []rollcall.Stage
	clusters rollcall.ClustersOf
	below    int               // times that a crew is below cover because its own people are at a drill
	unplaced []rotation.Choice // each practice once
	closed   []closing
	more     []whatIf
	hours    rollcall.CrewHours
	why      []rotation.Choice
}

// closing is a yard, or every yard, that closes unforeseen, and what a plan makes of it.
type closing struct {
	what   string
	yard   groundhand.YardID // empty: every yard
	fallen int               // sessions that would have been held
	least  int               // working days lapsed, in any plan
	rotation.Difference
}

// whatIf is one thing more, and what a plan makes of it.
type whatIf struct {
	what    string
	crew    string // of that yard
	offered int    // sessions that could not be offered without it
	used    int    // of them in the plan
	rotation.Difference
}

// The wish of the coordinator, the rounds of each plan of this section, the yard that closes in January and the one that gets one thing more.
const (
	aheadMost, aheadDays      = 2, 42
	aheadRounds               = 6000
	againRounds               = 500 // where an older plan is kept to
	closedYard                = groundhand.YardID("ALDERSETT")
	closedFrom, closedThrough = "2026-01-05", "2026-01-18"
	remoteCrew                = "D1"
	remoteYard                = groundhand.YardID("DRAY_HOLLOW")
	askedAbout                = "Ifeoma Castellane"
	aheadStart, aheadEnd      = "2025-06-12", "2026-06-30"
	shownOthers               = 3
	minutesOfHour             = 60
	aheadName                 = "yearly practice to the end of June"
)

func aheadAsk() rollcall.RotationAsk {
	return rollcall.RotationAsk{Name: aheadName, Start: groundhand.MustDate(aheadStart), End: groundhand.MustDate(aheadEnd),
		Methods: []groundhand.Method{groundhand.PairKit}, Holidays: demo.Holidays(), Offer: &rollcall.Offering{Weekdays: []string{"tue", "thu"}, EveryWeeks: 2}}
}

func planAhead(ctx context.Context, p rotation.Problem) (rotation.Plan, error) {
	return planKeeping(ctx, p, nil, aheadRounds)
}

// planKeeping moves as few renewals of an older plan as it can.
func planKeeping(ctx context.Context, p rotation.Problem, old *rotation.Plan, rounds int) (rotation.Plan, error) {
	return rotation.Suggest(ctx, p, rotation.Options{Seed: 1, Rounds: rounds, Stagger: &rotation.Stagger{Most: aheadMost, Days: aheadDays}, Keep: old})
}

// lookAhead plans the drills to come in stages and asks what would be otherwise.
func (h *house) lookAhead(ctx context.Context, cast demo.Cast) (a ahead, err error) {
	if a.stages, err = h.roll.RotationStages(ctx, aheadAsk(), planAhead); err != nil {
		return a, err
	}
	a.clusters = rollcall.StageClusters(a.stages)
	if err = a.soundness(); err != nil {
		return a, err
	}
	if err = a.closings(ctx); err != nil {
		return a, err
	}
	if err = h.oneMore(ctx, &a); err != nil {
		return a, err
	}
	p, plan := rollcall.Together(a.stages)
	if a.hours, err = h.roll.CrewHours(ctx, p, plan); err != nil {
		return a, err
	}
	first := a.stages[0]
	a.why, err = rotation.WhyWithin(first.Problem, first.Plan, string(cast.Workers[askedAbout]), aheadMost, aheadDays)
	return a, err
}

// soundness looks what the stages leave undone.
func (a *ahead) soundness() error {
	for _, s := range a.stages {
		sound, err := rollcall.Sound(s.Problem, s.Plan, aheadMost)
		if err != nil {
			return err
		}
		a.below += len(sound.Below)
		for _, u := range sound.Unplaced {
			same := func(o rotation.Choice) bool {
				return o.Worker == u.Worker && o.Qualification == u.Qualification && o.Device == u.Device
			}
			a.unplaced = append(slices.DeleteFunc(a.unplaced, same), u)
		}
	}
	return nil
}

// closings asks for two weeks of January: the yard in which most is planned then closes, or snow closes all of them as in the January before.
func (a *ahead) closings(ctx context.Context) error {
	for _, c := range []closing{{what: "the ground at Aldersett", yard: closedYard}, {what: "every ground, as in the snow of January 2025,"}} {
		p := c.problem(a.stages[0])
		plan, err := planKeeping(ctx, p, &a.stages[0].Plan, againRounds)
		if err != nil {
			return err
		}
		c.Difference, c.least = rotation.Compare(a.stages[0].Problem, a.stages[0].Plan, p, plan), plan.Bound.LapsedDays
		a.closed = append(a.closed, c)
	}
	return nil
}

// problem leaves what was planned before the day of the closing as it was, and nobody joins it; what was planned for the days of the
// closing falls away.
func (c *closing) problem(stage rollcall.Stage) rotation.Problem {
	p, from, through := stage.Problem, groundhand.MustDate(closedFrom), groundhand.MustDate(closedThrough)
	held := map[string]rotation.Session{}
	for _, s := range stage.Plan.Sessions {
		held[s.Slot] = s
	}
	p.Slots, p.Pinned = nil, nil
	for _, slot := range stage.Problem.Slots {
		session, is := held[slot.ID]
		closed := slot.Date >= from && slot.Date <= through && (c.yard == "" || slot.Yard == string(c.yard))
		switch {
		case closed && is:
			c.fallen++
		case slot.Date >= from && !closed:
			p.Slots = append(p.Slots, slot)
		case slot.Date < from && is:
			slot.Seats = len(session.Attend)
			p.Slots = append(p.Slots, slot)
			for _, who := range session.Attend {
				p.Pinned = append(p.Pinned, rotation.Pin{Slot: slot.ID, Worker: who.Worker, Renews: who.Renews})
			}
		}
	}
	return p
}

// oneMore asks for one more assessor and for one more kit at the remote yard, each for the first stage.
func (h *house) oneMore(ctx context.Context, a *ahead) error {
	first := a.stages[0]
	for _, more := range []struct {
		what   string
		change rollcall.RotationChange
	}{
		{"One more assessor at Dray Hollow", rollcall.RotationChange{AddAssessor: &rollcall.AssessorAdded{YardID: remoteYard}}},
		{"One more kit at Dray Hollow", rollcall.RotationChange{AddKit: &rollcall.KitAdded{YardID: remoteYard}}},
	} {
		ask := aheadAsk()
		ask.Change = &more.change
		posed, err := h.roll.RotationWhole(ctx, ask)
		if err != nil {
			return err
		}
		p := rollcall.FirstStage(posed.Problem, 1, aheadName).Problem
		out := whatIf{what: more.what, crew: remoteCrew}
		added := addedSlots(first.Problem, p)
		if out.offered = len(added); out.offered > 0 { // otherwise it is the same problem
			plan, err := planAhead(ctx, p)
			if err != nil {
				return err
			}
			for _, s := range plan.Sessions {
				if added[s.Slot] {
					out.used++
				}
			}
			out.Difference = rotation.Compare(first.Problem, first.Plan, p, plan)
		}
		a.more = append(a.more, out)
	}
	return nil
}

// addedSlots are the slots of a problem that another one does not have.
func addedSlots(old, now rotation.Problem) map[string]bool {
	out := map[string]bool{}
	for _, s := range now.Slots {
		out[s.ID] = true
	}
	for _, s := range old.Slots {
		delete(out, s.ID)
	}
	return out
}

// yearAhead shows the year ahead in plain lines.
func (e *evening) yearAhead(s *sheet) {
	a := e.ahead
	s.heading("The year ahead: " + groundhand.MustDate(aheadStart).Words() + " to " + groundhand.MustDate(aheadEnd).Words())
	for i, stage := range a.stages {
		plan := stage.Plan
		s.text(2, "Part %d, to %s. Sessions held: %d of %d that could be offered.", i+1, stage.Through.Words(), len(plan.Sessions), len(stage.Problem.Slots))
		for _, held := range plan.Sessions {
			slot := slotOf(stage.Problem, held.Slot)
			s.text(4, "%-15s  %-11s  %-2s  with %s: %d people", slot.Date.Words(), slot.Yard, slot.Device, e.name(slot.Instructor), len(held.Attend))
		}
		figures, bounds := plan.Objective.Levels(), plan.Bound.Levels()
		for level, name := range rotation.LevelNames[:4] {
			s.text(4, "%s", rollcall.FigureWords(name, figures[level], bounds[level], level < plan.ProvedLevels))
		}
	}
	before, _ := rollcall.Largest(a.clusters.Before)
	_, after := rollcall.Largest(a.clusters.After)
	s.text(2, "If nobody drills, up to %d of one crew lapse on one day; after the plan no more than %d in any six weeks.", before, after)
	s.text(2, "Crews below cover because their own people are at a drill: %s.", count(a.below))
	e.notPlaced(s)
	for _, c := range a.closed {
		e.unforeseen(s, c)
	}
	for _, more := range a.more {
		more.show(s)
	}
	s.text(2, "Hours that crews are away: %s proposed, against %s held from %s to %s.", hours(a.hours.All.Proposed), hours(a.hours.All.Held), a.hours.From.Words(), a.hours.Through.Words())
	e.whyThen(s)
	s.text(2, "%s", rollcall.RotationCaution)
}

// hours writes minutes as whole hours and what is left.
func hours(minutes int) string {
	return fmt.Sprintf("%d:%02d", minutes/minutesOfHour, minutes%minutesOfHour)
}

// notPlaced says who could not be placed and why.
func (e *evening) notPlaced(s *sheet) {
	s.text(2, "Not placed: %s.", count(len(e.ahead.unplaced)))
	for _, u := range e.ahead.unplaced {
		said := rollcall.ChoiceWords(u)
		if u.Reason == "" && len(u.Others) == 0 {
			said += ": away, or out of reach, on every day with a session for it; no day of work is lapsed"
		}
		s.text(4, "%-24s %s", e.name(u.Worker), said)
		e.others(s, u)
	}
}

// others shows the next best sessions of a choice, one of those of which the same is said.
func (e *evening) others(s *sheet, c rotation.Choice) {
	said := map[string]bool{}
	for _, o := range c.Others {
		if words := rollcall.OtherWords(o); !said[words] && len(said) < shownOthers {
			said[words] = true
			s.text(6, "%s at %s: %s", o.On.Words(), e.yardOf(o.Slot), words)
		}
	}
}

// yardOf is where a slot of the plan is.
func (e *evening) yardOf(slot string) string {
	for _, stage := range e.ahead.stages {
		if s := slotOf(stage.Problem, slot); s.ID != "" {
			return s.Yard
		}
	}
	return ""
}

func slotOf(p rotation.Problem, id string) rotation.Slot {
	if i := slices.IndexFunc(p.Slots, func(s rotation.Slot) bool { return s.ID == id }); i >= 0 {
		return p.Slots[i]
	}
	return rotation.Slot{}
}

// unforeseen says what happens when the ground closes in January and nobody knew before.
func (e *evening) unforeseen(s *sheet, c closing) {
	s.text(2, "If %s closes from %s to %s and nobody knows before, planned sessions that fall away: %d", c.what, groundhand.MustDate(closedFrom).Words(),
		groundhand.MustDate(closedThrough).Words(), c.fallen)
	any := false
	for _, l := range c.Lapses {
		if l.After > l.Before {
			any = true
			s.text(4, "%-24s lapses on %d working days, %s", e.name(l.Worker), l.After-l.Before, againOn(l))
		}
	}
	switch {
	case !any:
		s.text(4, "nobody lapses who would not lapse anyway: %d renewals move to other days or yards", len(c.Moved))
	case c.SafeAgain.IsZero():
		s.text(4, "not all of them are current again in this window")
	default:
		s.text(4, "all of them are current again on %s, the earliest found; days on which a crew goes out short: %+d", c.SafeAgain.Words(), c.By.CrewDaysShort)
	}
	if any {
		s.text(4, "%s; no plan has fewer than %d", rollcall.DifferenceWords("lapsed_days", c.Before.LapsedDays, c.After.LapsedDays), c.least)
	}
}

func againOn(l rotation.LapseChange) string {
	if l.CurrentAgain.IsZero() {
		return "and is not current again in this window"
	}
	return "and is current again on " + l.CurrentAgain.Words()
}

// show says what one thing more changes. A search this short may miss something better; what it found without the new sessions is no
// gain of theirs.
func (w whatIf) show(s *sheet) {
	s.text(2, "%s: %d sessions more could be offered.", w.what, w.offered)
	switch {
	case w.offered == 0:
		s.text(4, "it changes nothing: this is not what is short there")
		return
	case w.used == 0 || !w.After.Less(w.Before):
		s.text(4, "this short search found no plan that is better for it")
		return
	}
	s.text(4, "the plan found holds %d of them", w.used)
	before, after := w.Before.Levels(), w.After.Levels()
	for i, name := range rotation.LevelNames {
		if before[i] != after[i] {
			s.text(4, "%s", rollcall.DifferenceWords(name, before[i], after[i]))
		}
	}
	for _, c := range w.Crews {
		if c.Crew == w.crew && c.Before != c.After {
			s.text(4, "crew %s is away for %s hours instead of %s", c.Crew, hours(c.After), hours(c.Before))
		}
	}
	s.text(4, "part of it may be the luck of a short search")
}

// whyThen says of one person why the drill is on that day.
func (e *evening) whyThen(s *sheet) {
	for _, c := range e.ahead.why {
		s.text(2, "Why %s at %s, for %s? It is %s. Otherwise:", c.On.Words(), e.yardOf(c.Slot), e.name(c.Worker), rollcall.ChoiceWords(c))
		e.others(s, c)
	}
}
