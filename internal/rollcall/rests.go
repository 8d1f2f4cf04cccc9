package rollcall

import (
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rulebook"
)

// RestsOn lists the entries that an answer rests on, each once and sorted: the practice and passes behind what each person may do, their
// first aid, absences, memberships, the inspections of device and kit, and the briefing.
func (a CoverAnswer) RestsOn() (groundhand.List, error) {
	f, w := a.seen, a.Question.Window
	var out []groundhand.EntryID
	for _, p := range a.Question.People {
		held, err := f.heldBy(p, a.asked, w)
		if err != nil {
			return nil, err
		}
		out = append(out, held...)
		who := groundhand.WorkerID(p.ID)
		for _, u := range f.roster.away[who] {
			if u.FromAt < w.To && (u.ToAt == 0 || w.From < u.ToAt) {
				out = append(out, u.ID)
			}
		}
		for _, m := range f.muster.of[who] {
			if f.roll.joins(m) < w.To && w.From < f.roll.leaves(m) {
				out = append(out, m.ID)
			}
		}
	}
	for _, line := range a.Gear {
		out = append(out, line.EntryID)
	}
	out = append(out, f.briefed(a.asked.JobID).ID)
	return tidyIDs(out), nil
}

// heldBy lists the entries behind the capabilities and the first aid of one person.
func (f *coverFacts) heldBy(p readiness.Person, q CoverQuestion, w readiness.Window) ([]groundhand.EntryID, error) {
	asked := map[rulebook.Asked]groundhand.Date{}
	for _, c := range p.Capabilities {
		line := rulebook.Asked{Method: groundhand.Method(c.Method), Role: groundhand.Role(c.Role), FamilyID: groundhand.FamilyID(c.Family)}
		asked[line] = f.judgedOn(c.From, w)
	}
	for _, aid := range p.FirstAid {
		asked[rulebook.Asked{Method: groundhand.FirstAid, Role: groundhand.Second}] = f.judgedOn(aid.From, w)
	}
	var out []groundhand.EntryID
	for line, day := range asked {
		ask := question(groundhand.WorkerID(p.ID), line)
		ask.RuleSet, ask.On = string(q.RuleSetID), day
		answer, err := f.roster.book.Standing(ask)
		if err != nil {
			return nil, err
		}
		for _, id := range answer.RestsOn {
			out = append(out, groundhand.EntryID(id))
		}
	}
	return out, nil
}

// judgedOn is a day of the window on which what began at an edge is held.
func (f *coverFacts) judgedOn(from readiness.Edge, w readiness.Window) groundhand.Date {
	day := from.Day
	if day == 0 {
		day = f.roll.dayOf(from.At)
	}
	return max(day, f.roll.dayOf(w.From))
}

func tidyIDs(ids []groundhand.EntryID) groundhand.List {
	out := groundhand.List{}
	for _, id := range ids {
		if id != "" {
			out = append(out, string(id))
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}
