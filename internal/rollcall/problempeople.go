package rollcall

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// homes: a loan of some days does not move somebody out of the crew for a rotation of months. Who joins within the window is planned for
// in the crew they join; who leaves the last crew within it is away from then on.
func (f *planFacts) homes(ctx context.Context) error {
	memberships, err := f.roll.store.MembershipsOn(ctx, f.ask.Start, f.ask.End)
	f.home, f.there = map[groundhand.WorkerID]groundhand.CrewID{}, map[groundhand.WorkerID]rotation.Stretch{}
	for worker, m := range placesOn(memberships, f.ask.Start) {
		f.home[worker] = m.CrewID
	}
	permanent := slices.DeleteFunc(slices.Clone(memberships), func(m groundhand.Membership) bool { return m.Reason != groundhand.Permanent })
	for worker, m := range placesOn(permanent, f.ask.Start) {
		f.home[worker] = m.CrewID
	}
	lasting := map[groundhand.WorkerID]bool{}
	for _, m := range permanent {
		lasting[m.WorkerID] = true
	}
	slices.SortStableFunc(memberships, func(a, b groundhand.Membership) int {
		return cmp.Or(cmp.Compare(a.FromOn, b.FromOn), cmp.Compare(a.ID, b.ID))
	})
	for _, m := range memberships {
		if m.Reason == groundhand.Permanent || !lasting[m.WorkerID] {
			f.stays(m)
		}
	}
	return err
}

// stays notes from when to when somebody is in a crew, memberships seen in order of their first days.
func (f *planFacts) stays(m groundhand.Membership) {
	from, to := max(m.FromOn, f.ask.Start), f.ask.End
	if m.ToOn != 0 {
		to = min(m.ToOn, to)
	}
	before, noted := f.there[m.WorkerID]
	switch _, home := f.home[m.WorkerID]; {
	case noted:
		from, to = before.From, max(before.To, to)
	case home:
		from = f.ask.Start
	default:
		f.home[m.WorkerID] = m.CrewID
	}
	f.there[m.WorkerID] = rotation.Stretch{From: from, To: to}
}

func (f *planFacts) people() []groundhand.WorkerID {
	out := make([]groundhand.WorkerID, 0, len(f.home))
	for w := range f.home {
		out = append(out, w)
	}
	slices.Sort(out)
	return out
}

// assessors loads who has authority in the window, and their home yards.
func (f *planFacts) assessors(ctx context.Context) error {
	all, err := store.Standing[groundhand.Authority](ctx, f.roll.store)
	if err != nil {
		return err
	}
	f.authorities = slices.DeleteFunc(all, func(a groundhand.Authority) bool {
		return a.AuthorID == a.AssessorID || a.FromOn > f.ask.End || a.ToOn != 0 && a.ToOn < f.ask.Start
	})
	postings, err := store.FindStanding[groundhand.Posting](ctx, f.roll.store, store.ByWorker, f.assessing())
	f.postings = map[groundhand.WorkerID]groundhand.YardID{}
	for _, p := range inTime(f.roll, postings, func(p groundhand.Posting) groundhand.Recorded { return p.Recorded }) {
		if f.roll.dayOfEntry(p.Recorded) <= f.ask.Start {
			f.postings[p.WorkerID] = p.YardID
		}
	}
	return err
}

// assessing lists the people with authority, by id.
func (f *planFacts) assessing() []groundhand.WorkerID {
	var out []groundhand.WorkerID
	for _, a := range f.authorities {
		out = append(out, a.AssessorID)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func (f *planFacts) workers() ([]rotation.Worker, error) {
	var out []rotation.Worker
	for _, who := range f.people() {
		crew, there := f.lineUp.crews[f.home[who]]
		if !there {
			continue
		}
		w := rotation.Worker{ID: string(who), Yard: string(crew.YardID), Trade: "line"}
		if crew.Kind != groundhand.ReliefPool {
			w.Crew = string(crew.ID)
		}
		var err error
		if w.Tickets, err = f.tickets(who, crew); err != nil {
			return nil, err
		}
		w.Leave, w.Standby = f.stretches(who)
		out = append(out, w)
	}
	return append(out, f.awayAssessors(out)...), nil
}

// awayAssessors are assessors in no crew who are away at times. They enter as workers without tickets, so that a session they would lead
// on such a day is set aside.
func (f *planFacts) awayAssessors(crewed []rotation.Worker) []rotation.Worker {
	var out []rotation.Worker
	for _, who := range f.assessing() {
		if slices.ContainsFunc(crewed, func(w rotation.Worker) bool { return w.ID == string(who) }) {
			continue
		}
		w := rotation.Worker{ID: string(who), Yard: string(f.homeYard(who)), Trade: "assessor", Tickets: []rotation.Ticket{}}
		w.Leave, w.Standby = f.stretches(who)
		if len(w.Leave)+len(w.Standby) > 0 && w.Yard != "" {
			out = append(out, w)
		}
	}
	return out
}

// homeYard is where an assessor starts: the crew's yard, else the yard of the posting, else any, so the first.
func (f *planFacts) homeYard(who groundhand.WorkerID) groundhand.YardID {
	if crew, there := f.lineUp.crews[f.home[who]]; there {
		return crew.YardID
	}
	if yard, there := f.postings[who]; there {
		return yard
	}
	if len(f.yardRows) > 0 {
		return f.yardRows[0].ID
	}
	return ""
}

// tickets: one for each method asked and family. What is asked in two roles of one method is practised together, and is good while both are.
func (f *planFacts) tickets(who groundhand.WorkerID, crew groundhand.Crew) ([]rotation.Ticket, error) {
	out := []rotation.Ticket{}
	for _, a := range f.rules.Of(crew) {
		if !f.planned(a.Method) {
			continue
		}
		through, err := f.goodThrough(who, a)
		if err != nil {
			return nil, err
		}
		if i := slices.IndexFunc(out, sameTicket(a)); i >= 0 {
			out[i].ValidThrough = min(out[i].ValidThrough, through)
			continue
		}
		out = append(out, rotation.Ticket{Qualification: string(a.Method), Device: string(a.FamilyID), ValidThrough: through})
	}
	return out, nil
}

// goodThrough is the last day of a line before it stops holding, by the rule sets of each day unless one is named, and never after what
// the evidence alone gives: an extension is no plan. What is suspended or held counts as lapsed, whatever the evidence says. Zero: never.
func (f *planFacts) goodThrough(who groundhand.WorkerID, a rulebook.Asked) (groundhand.Date, error) {
	q := question(who, a)
	q.RuleSet = string(f.ask.RuleSetID)
	spans, err := f.roster.book.Course(q, competence.Period{From: f.ask.Start, Through: f.ask.End})
	if err != nil || len(spans) == 0 {
		return 0, err
	}
	through := spans[0].LastGoodDay
	for _, s := range spans {
		if s.Standing != competence.Current {
			return min(through, s.From-1), nil
		}
		through = s.LastGoodDay
	}
	return through, nil
}

// sameTicket says that a line is practised with a ticket.
func sameTicket(a rulebook.Asked) func(rotation.Ticket) bool {
	return func(t rotation.Ticket) bool {
		return t.Qualification == string(a.Method) && (t.Device == string(a.FamilyID) || t.Device == "" || a.FamilyID == "")
	}
}

// stretches sorts absences: whole days away are leave; days on which somebody is there for a part, on standby, held back from rescue
// work or kept from drills are days on which they cannot be sent to one. Why is not told apart.
func (f *planFacts) stretches(who groundhand.WorkerID) (leave, standby []rotation.Stretch) {
	for _, u := range f.roster.away[who] {
		first, last := max(f.roll.dayOf(u.FromAt), f.ask.Start), f.ask.End
		if u.ToAt != 0 {
			last = min(f.roll.lastDay(u.ToAt), last)
		}
		if last < first {
			continue
		}
		whole := rotation.Stretch{From: first, To: last}
		if !u.Kind.Absent() {
			standby = append(standby, whole)
			continue
		}
		if u.FromAt > f.roll.start(first) {
			standby, whole.From = append(standby, rotation.Stretch{From: first, To: first}), first+1
		}
		if u.ToAt != 0 && u.ToAt < f.roll.start(last+1) && last >= whole.From {
			standby, whole.To = append(standby, rotation.Stretch{From: last, To: last}), last-1
		}
		if whole.From <= whole.To {
			leave = append(leave, whole)
		}
	}
	for _, d := range f.ask.ForbidDays {
		if d.Worker == who {
			standby = append(standby, rotation.Stretch{From: d.From, To: d.To})
		}
	}
	return append(leave, f.notYetOrNoLonger(who)...), standby
}

// notYetOrNoLonger are the days of the window before somebody joins the first crew and after they leave the last.
func (f *planFacts) notYetOrNoLonger(who groundhand.WorkerID) []rotation.Stretch {
	stay, noted := f.there[who]
	if !noted {
		return nil
	}
	var out []rotation.Stretch
	if stay.From > f.ask.Start {
		out = append(out, rotation.Stretch{From: f.ask.Start, To: stay.From - 1})
	}
	if stay.To < f.ask.End {
		out = append(out, rotation.Stretch{From: stay.To + 1, To: f.ask.End})
	}
	return out
}
