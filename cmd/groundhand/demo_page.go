package main

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"groundhand/internal/competence"
	"groundhand/internal/demo"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
)

// evening is everything that the page of one evening shows.
type evening struct {
	at        time.Time // on the clock of the zone
	zone      *time.Location
	names     map[groundhand.WorkerID]string
	raised    []groundhand.Flag
	today     rollcall.Company
	tomorrow  rollcall.Company
	jobs      []rollcall.JobAnswer
	booked    map[groundhand.WorkerID]groundhand.Date // next drill
	suggested []suggested
	handed    handed
	belief    belief
	ahead     ahead
}

// suggested is a rotation as it was kept, and read again.
type suggested struct {
	kept    groundhand.Plan
	problem rotation.Problem
	plan    rotation.Plan
}

const caution = "Caution: this reads records, no more. It is no procedure and no permission, and a time is no promise. " +
	"Local rules, the makers' instructions and licensed practice come first."

// page writes the evening for a coordinator: plain text, words instead of colours.
func (e *evening) page() string {
	s := &sheet{}
	s.text(0, "Halverra Lines, %s at %s, by rule set %s", e.today.On.Words(), e.at.Format("15:04"), e.today.RuleSetID)
	s.text(0, caution)
	e.lapsed(s)
	e.near(s)
	e.short(s)
	e.cover(s)
	e.drills(s)
	e.yearAhead(s)
	e.certified(s)
	e.believed(s)
	return s.String()
}

// lapsed lists whose aerial-rescue practice is not current, with the day it was good through and the drill that is booked.
func (e *evening) lapsed(s *sheet) {
	s.heading("Whose practice is not current today")
	any := false
	for _, w := range e.today.Workers {
		for _, l := range w.NotCurrent() {
			any = true
			s.text(2, "%-7s%-24s%s", w.CrewID, e.names[w.WorkerID], lineWords(l)+": "+standingWords(l)+e.bookedWords(w.WorkerID))
		}
	}
	if !any {
		s.text(2, "Nobody.")
	}
	s.text(2, "The watch looked at the day and raised %d flags.", len(e.raised))
}

func (e *evening) bookedWords(w groundhand.WorkerID) string {
	if day, there := e.booked[w]; there {
		return "; a drill is booked for " + day.Words()
	}
	return "; no drill is booked"
}

// near lists last good days within the lead time, soonest first.
func (e *evening) near(s *sheet) {
	s.heading(fmt.Sprintf("Last good days within %d days", e.today.LeadDays))
	type soon struct {
		day  groundhand.Date
		text string
	}
	var all []soon
	for _, w := range e.today.Workers {
		for _, l := range w.Near(e.today.On, e.today.LeadDays) {
			all = append(all, soon{l.LastGoodDay, fmt.Sprintf("%-7s%-24s%s: last good day %s, %d days", w.CrewID, e.names[w.WorkerID], lineWords(l),
				l.LastGoodDay.Words(), l.LastGoodDay-e.today.On)})
		}
	}
	slices.SortStableFunc(all, func(a, b soon) int { return int(a.day - b.day) })
	for _, a := range all {
		s.text(2, "%s", a.text)
	}
	if len(all) == 0 {
		s.text(2, "None.")
	}
}

// short lists the crews that fall short on an ordinary day's work, today and tomorrow.
func (e *evening) short(s *sheet) {
	s.heading("Which crews fall short, one aloft over their usual hours")
	for _, c := range []rollcall.Company{e.today, e.tomorrow} {
		var texts []string
		for _, crew := range c.Crews {
			for _, f := range crew.Families {
				texts = append(texts, e.shortWords(crew, f)...)
			}
		}
		if len(texts) == 0 {
			texts = []string{"none"}
		}
		for _, t := range texts {
			s.text(2, "%s  %s", c.On.Words(), t)
		}
	}
	s.text(2, caution)
}

func (e *evening) shortWords(crew rollcall.CrewDay, f rollcall.FamilyDay) []string {
	var out []string
	if f.BelowTwo() {
		out = append(out, fmt.Sprintf("%s on %s: fewer than two trained rescuers, %s of %d", crew.Crew.ID, f.FamilyID, count(f.Rescuers), f.Least))
	}
	if !f.GroundCover {
		out = append(out, fmt.Sprintf("%s on %s: whoever goes aloft, nobody is left below who can bring them down", crew.Crew.ID, f.FamilyID))
	}
	return out
}

// cover writes tomorrow's jobs: the verdict in words, the two lists, the moment until which they hold, and why.
func (e *evening) cover(s *sheet) {
	s.heading("Tomorrow's cover, " + e.tomorrow.On.Words())
	pages := coverPage{s, e.names, e.zone}
	for _, j := range e.jobs {
		pages.job(j)
	}
	s.line()
	s.text(2, caution)
}

// drills writes the plans, what they could not do and how good they can be at all.
func (e *evening) drills(s *sheet) {
	for _, r := range e.suggested {
		s.heading(fmt.Sprintf("Suggested drills, %s, %s to %s", r.problem.Name, r.problem.Start.Words(), r.problem.End.Words()))
		e.sessions(s, r)
		e.notKept(s, r.plan)
	}
	s.text(2, caution)
}

func (e *evening) sessions(s *sheet, r suggested) {
	slots := map[string]rotation.Slot{}
	for _, slot := range r.problem.Slots {
		slots[slot.ID] = slot
	}
	for _, held := range r.plan.Sessions {
		slot := slots[held.Slot]
		s.text(2, "%-15s  %-9s  %-2s  with %s: %s", slot.Date.Words(), slot.Yard, slot.Device, e.name(slot.Instructor), e.attendWords(held))
	}
	best, least := r.plan.Objective, r.plan.Bound
	s.text(2, "%d of %d sessions are used. Crew days short of cover: %d, at least %d in any plan. Days lapsed at work: %d, at least %d in any plan.",
		len(r.plan.Sessions), len(r.problem.Slots), best.CrewDaysShort, least.CrewDaysShort, best.LapsedDays, least.LapsedDays)
	for _, aside := range r.plan.SlotsSetAside {
		s.text(2, "Not used at all: %s, %s", aside.Slot, strings.ReplaceAll(string(aside.Reason), "_", " "))
	}
}

func (e *evening) notKept(s *sheet, p rotation.Plan) {
	s.text(2, "Could not be placed so that they stay current, and why:")
	for _, n := range p.NotKeptCurrent {
		s.text(4, "%-24s %s: lapsed on %d working days, %d in any plan; %s", e.name(n.Worker), rollcall.MethodWords(n.Qualification)+family(n.Device),
			n.DaysLapsed, n.UnavoidableDays, reasonWords[n.Reason])
	}
	if len(p.NotKeptCurrent) == 0 {
		s.text(4, "nobody")
	}
}

func (e *evening) attendWords(held rotation.Session) string {
	out := make([]string, len(held.Attend))
	for i, a := range held.Attend {
		if out[i] = e.name(a.Worker); len(a.Renews) == 0 {
			out[i] += " (goes along)"
		}
	}
	return strings.Join(out, ", ")
}

// keysPage writes where things are and one token for each capacity.
func keysPage(cast demo.Cast, dir string) string {
	s := &sheet{}
	s.heading("Where it is")
	s.text(2, "%s: %s, %s", dir, recordsName, strings.Join(slices.Concat(problemNames, planNames, []string{certificatesName, packName}), ", "))
	s.line()
	s.text(2, "One token for each capacity, good for these records alone:")
	for _, k := range cast.Keys {
		s.text(4, "%-12s %-24s %s", k.Account.Capacity, k.Account.Name, k.Token)
	}
	s.line()
	return s.String()
}

func (e *evening) name(id string) string { return e.names[groundhand.WorkerID(id)] }

// lineWords names a line that is asked of somebody.
func lineWords(l rollcall.LineDay) string {
	return rollcall.MethodWords(string(l.Method)) + family(string(l.FamilyID))
}

func standingWords(l rollcall.LineDay) string {
	if l.Standing == competence.Lapsed {
		return "last good day was " + l.LastGoodDay.Words()
	}
	return standingText[l.Standing]
}

func family(id string) string {
	if id == "" {
		return ""
	}
	return ", " + id
}
