package rollcall

import (
	"slices"
	"strings"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
)

// sheet collects entries of the standing-facts/1 format. What counts and what was replaced is for the engine to decide; nothing is
// left out here but what the format has no word for.
type sheet struct {
	roll    *Roll
	entries []competence.Entry
	parts   map[string][]string          // of a run that was withdrawn, and of its withdrawals, what they stand for
	asked   map[groundhand.WorkerID]bool // whose evidence was asked for, each once
	seen    map[string]bool              // entries that may come again with somebody else: withdrawals and entries about others
}

// add takes an entry once. Withdrawals come with everybody they concern, and so does an entry about another worker that corrects or was
// corrected by one of theirs.
func (s *sheet) add(e competence.Entry) {
	if s.seen[e.ID] {
		return
	}
	if !s.asked[groundhand.WorkerID(e.Person)] {
		s.seen[e.ID] = true
	}
	s.entries = append(s.entries, e)
}

// all turns evidence into entries.
func (s *sheet) all(ev groundhand.Evidence) {
	s.gather(ev)
	s.entries = slices.Grow(s.entries, len(ev.Practices)+len(ev.Assessments)+len(ev.Outside)+len(ev.Suspensions)+len(ev.Liftings)+len(ev.Extensions)+
		len(ev.Provisionals)+len(ev.Unavailabilities)+len(ev.Gradings)+len(ev.Authorities)+len(ev.Withdrawals))
	each(s, ev.Practices, (*sheet).practice)
	each(s, ev.Assessments, (*sheet).assessment)
	each(s, ev.Outside, (*sheet).outside)
	each(s, ev.Suspensions, (*sheet).suspension)
	each(s, ev.Liftings, (*sheet).lifting)
	each(s, ev.Extensions, (*sheet).extension)
	each(s, ev.Provisionals, (*sheet).provisional)
	each(s, ev.Unavailabilities, (*sheet).unavailability)
	each(s, ev.Gradings, (*sheet).grading)
	each(s, ev.Authorities, (*sheet).authority)
	each(s, ev.Withdrawals, (*sheet).withdrawal)
}

// gather notes the parts of runs that were withdrawn as a whole. The format knows entries of persons only, so such a withdrawal becomes
// one for each part.
func (s *sheet) gather(ev groundhand.Evidence) {
	named := map[string]bool{}
	for _, w := range ev.Withdrawals {
		named[string(w.WithdrawsID)] = true
	}
	for i := range ev.Practices {
		p := &ev.Practices[i]
		if run := string(p.RunID); named[run] {
			s.parts[run] = append(s.parts[run], string(p.ID))
		}
	}
}

func each[T any](s *sheet, rows []T, turn func(*sheet, *T)) {
	for i := range rows {
		turn(s, &rows[i])
	}
}

// entry begins an entry with what every record carries. Moments are cut to whole seconds, as in the file. An entry has a moment or a
// day; the moment is better. A record with neither happened, as far as anybody can tell, on the day on which we were told.
func (s *sheet) entry(kind competence.Kind, id groundhand.EntryID, who groundhand.WorkerID, told *groundhand.Recorded) competence.Entry {
	e := competence.Entry{ID: string(id), Kind: kind, Person: string(who), RecordedAt: wholeSecond(told.RecordedAt),
		Author: author(told), Replaces: string(told.ReplacesID)}
	switch {
	case told.HappenedAt != 0:
		e.HappenedAt = wholeSecond(told.HappenedAt)
	case told.HappenedOn != 0:
		e.HappenedOn = told.HappenedOn
	default:
		e.HappenedOn = s.roll.dayOf(told.RecordedAt)
	}
	return e
}

// author is who entered a record; what no person entered carries the capacity, which is nobody's id.
func author(told *groundhand.Recorded) string {
	if told.AuthorID != "" {
		return string(told.AuthorID)
	}
	return "capacity " + strings.ToLower(string(told.Capacity))
}

const second = 1000 // milliseconds

func wholeSecond(at groundhand.Instant) groundhand.Instant { return at - at%second }

// nextSecond is for what must not end early: the first whole second that is no earlier.
func nextSecond(at groundhand.Instant) groundhand.Instant { return wholeSecond(at + second - 1) }

func task(e *competence.Entry, m groundhand.Method, role groundhand.Role, family groundhand.FamilyID) {
	e.Method, e.Role, e.Family = string(m), roleWord(role), string(family)
}

// roleWord is the role as the format spells it. Caller and timekeeper have no part in the rescue itself: observers.
func roleWord(role groundhand.Role) string {
	switch role {
	case groundhand.Lead:
		return competence.RoleLead
	case groundhand.Second:
		return competence.RoleSecond
	case groundhand.Lone:
		return competence.RoleLone
	case groundhand.Casualty:
		return competence.RoleCasualty
	case groundhand.Caller, groundhand.Observer, groundhand.Timekeeper:
		return competence.RoleObserver
	}
	return ""
}

// partWord is the role of evidence. First aid and familiarisation have no parts: whoever has them has all of it.
func partWord(m groundhand.Method, role groundhand.Role) string {
	if role == "" && (m == groundhand.FirstAid || m == groundhand.Familiarisation) {
		return competence.RoleLead
	}
	return roleWord(role)
}

// rescues says whether a role word is one of the three that give credit.
func rescues(word string) bool {
	return word == competence.RoleLead || word == competence.RoleSecond || word == competence.RoleLone
}

// practice: a critical fail is that of a rescuer; the format has none of a casualty or an observer.
func (s *sheet) practice(p *groundhand.Practice) {
	e := s.entry(competence.Run, p.ID, p.WorkerID, &p.Recorded)
	task(&e, p.Method, p.Role, p.FamilyID)
	if e.Role = partWord(p.Method, p.Role); e.Role == "" {
		e.Role = competence.RoleObserver
	}
	e.Complete, e.Theory, e.WatchedBy = p.Complete, p.Theory, string(p.WatchedBy)
	e.CriticalFail = p.CriticalFail && rescues(e.Role)
	s.add(e)
}

// assessment: without a part or a result it keeps its place and gives nothing.
func (s *sheet) assessment(a *groundhand.Assessment) {
	e := s.entry(competence.Assessment, a.ID, a.WorkerID, &a.Recorded)
	task(&e, a.Method, a.Role, a.FamilyID)
	e.Result, e.Critical = strings.ToLower(string(a.Result)), a.Critical()
	if e.Role = partWord(a.Method, a.Role); !rescues(e.Role) || e.Result == "" {
		e.Role, e.Result, e.Critical = competence.RoleSecond, competence.ResultNotCompleted, false
	}
	e.Assessor, e.Theory, e.OfRun = string(a.AssessorID), a.Theory, string(a.RunPartID)
	s.add(e)
}

// outside: without a part or a level it keeps its place and gives nothing, as nobody checked it.
func (s *sheet) outside(o *groundhand.OutsideEvidence) {
	e := s.entry(competence.Outside, o.ID, o.WorkerID, &o.Recorded)
	task(&e, o.Method, o.Role, o.FamilyID)
	e.Issuer, e.Level, e.Checker = o.Issuer, strings.ToLower(string(o.Level)), string(o.CheckerID)
	if e.Role = partWord(o.Method, o.Role); !rescues(e.Role) || e.Level == "" {
		e.Role, e.Level, e.Checker = competence.RoleSecond, competence.LevelStated, ""
	}
	s.add(e)
}

func (s *sheet) suspension(x *groundhand.Suspension) {
	e := s.entry(competence.Suspension, x.ID, x.WorkerID, &x.Recorded)
	task(&e, x.Method, x.Role, x.FamilyID)
	s.add(e)
}

func (s *sheet) lifting(l *groundhand.Lifting) {
	e := s.entry(competence.Lifting, l.ID, l.WorkerID, &l.Recorded)
	e.Lifts, e.ByPass = string(l.SuspensionID), string(l.PassID)
	s.add(e)
}

func (s *sheet) extension(x *groundhand.Extension) {
	e := s.entry(competence.Extension, x.ID, x.WorkerID, &x.Recorded)
	task(&e, x.Method, x.Role, x.FamilyID)
	e.From, e.To, e.Approver = x.FromOn, x.ToOn, string(x.ApproverID)
	s.add(e)
}

func (s *sheet) provisional(x *groundhand.Provisional) {
	e := s.entry(competence.Provisional, x.ID, x.WorkerID, &x.Recorded)
	task(&e, x.Method, x.Role, x.FamilyID)
	e.From, e.To = x.FromOn, x.ToOn
	s.add(e)
}

// unavailability: leave and sickness are absences, of whole local days; the file does not tell them apart. A correction keeps its place
// even when it turned the absence into something else, so that what it replaced stays replaced.
func (s *sheet) unavailability(u *groundhand.Unavailability) {
	away := u.Kind == groundhand.Leave || u.Kind == groundhand.Sick
	if !away && u.ReplacesID == "" {
		return
	}
	e := s.entry(competence.Away, u.ID, u.WorkerID, &u.Recorded)
	e.From = s.roll.dayOf(u.FromAt)
	e.HappenedOn, e.HappenedAt = e.From, 0
	switch {
	case !away:
		e.To = e.From
	case u.ToAt != 0:
		e.To = s.roll.lastDay(u.ToAt)
	}
	s.add(e)
}

func (s *sheet) grading(g *groundhand.Grading) {
	e := s.entry(competence.Grade, g.ID, g.WorkerID, &g.Recorded)
	e.Grade = competence.GradeQualified
	if g.Grade == groundhand.Apprentice {
		e.Grade, e.Year = competence.GradeApprentice, max(1, g.Year) // a year nobody gave is the first, which may do least
	}
	s.add(e)
}

func (s *sheet) authority(a *groundhand.Authority) {
	e := s.entry(competence.Authority, a.ID, a.AssessorID, &a.Recorded)
	e.Methods, e.From, e.To = a.Methods, a.FromOn, a.ToOn
	if e.Methods == nil {
		e.Methods = []string{}
	}
	if len(a.Families) > 0 {
		e.Families = a.Families
	}
	s.add(e)
}

func (s *sheet) withdrawal(w *groundhand.Withdrawal) {
	e := s.entry(competence.Withdrawal, w.ID, "", &w.Recorded)
	e.HappenedOn, e.HappenedAt, e.Replaces, e.Withdraws = 0, 0, "", string(w.WithdrawsID)
	parts, ofRun := s.parts[e.Withdraws]
	if !ofRun {
		s.add(e)
		return
	}
	for _, part := range parts {
		each := e
		each.ID, each.Withdraws = e.ID+"/"+part, part
		s.add(each)
		s.parts[e.ID] = append(s.parts[e.ID], each.ID) // in recorded order, so that a withdrawal of this one finds it
	}
}
