package main

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"groundhand/internal/competence"
	"groundhand/internal/demo"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
)

// evening is everything that the page of one evening shows.
type evening struct {
	at           time.Time // on the clock of the zone
	zone         *time.Location
	names        map[groundhand.WorkerID]string
	raised       []groundhand.Flag
	today        rollcall.Company
	tomorrow     rollcall.Company
	jobs         []rollcall.JobAnswer
	booked       map[groundhand.WorkerID]groundhand.Date // next drill
	suggested    []suggested
	certificates []groundhand.Certificate
}

// suggested is a rotation as it was kept, and read again.
type suggested struct {
	kept    groundhand.Plan
	problem rotation.Problem
	plan    rotation.Plan
}

const caution = "Caution: this reads records, no more. It is no procedure and no permission, and a time is no promise. " +
	"Local rules, the makers' instructions and licensed practice come first."

// shortCaution stands beside each verdict.
const shortCaution = "(kit and lower controls are not weighed; local rules and the makers' instructions come first)"

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
	e.certified(s)
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
	for _, j := range e.jobs {
		s.line()
		s.text(2, "%s  crew %s  %s to %s  %s", j.Job.ID, j.Job.CrewID, e.clock(j.Job.StartAt), e.clock(j.Job.EndAt), j.Job.Place)
		s.text(4, "on %s, %s aloft at a time, by rule set %s", deviceWords(j.Job.DeviceID), count(j.Job.Aloft), j.RuleSetID)
		if j.Refused != nil {
			s.text(4, "NO ANSWER: %s", j.Refused)
			continue
		}
		e.answer(s, j.Answer)
	}
	s.line()
	s.text(2, caution)
}

func (e *evening) answer(s *sheet, a readiness.Answer) {
	s.text(4, "%s", verdictWords[a.Verdict]+e.untilWords(a))
	s.text(4, "%s", shortCaution)
	up := make([]string, len(a.MayGoAloft))
	for i, p := range a.MayGoAloft {
		up[i] = e.name(p.Person)
	}
	down := make([]string, len(a.MustStayDown))
	for i, p := range a.MustStayDown {
		down[i] = e.name(p.Person) + " (" + becauseWords[p.Because] + ")"
	}
	s.text(4, "may go aloft:    %s", orNobody(up))
	s.text(4, "must stay down:  %s", orNobody(down))
	for _, f := range a.Findings {
		if words := e.findingWords(f); words != "" {
			s.text(4, "%-16s %s", severityWords[f.Severity], words)
		}
	}
	if a.NMinus1 != nil && a.NMinus1.Secure != nil && !*a.NMinus1.Secure {
		on := make([]string, len(a.NMinus1.HangsOn))
		for i, p := range a.NMinus1.HangsOn {
			on[i] = e.name(p.Person)
		}
		s.text(4, "hangs on:        %s; without any one of them it is worse", strings.Join(on, ", "))
	}
}

func (e *evening) untilWords(a readiness.Answer) string {
	until := a.HoldsUntil.Verdict.At.In(e.zone).Format("Mon 2 Jan 15:04")
	if a.HoldsUntil.Then != nil {
		return fmt.Sprintf(", until %s only, then %s", until, verdictWords[*a.HoldsUntil.Then])
	}
	return ", holds until " + until
}

func (e *evening) findingWords(f readiness.Finding) string {
	switch words := findingText[f.Code]; {
	case f.Code == readiness.CrewBelowTwo && f.Severity == readiness.SeverityUnknown:
		return "" // said better by what is not known
	case f.Code == readiness.CrewBelowTwo:
		return fmt.Sprintf(words, count(*f.Values["count"]), *f.Values["least"])
	case f.Code == readiness.UnknownDecides:
		things := make([]string, len(f.Things))
		for i, t := range f.Things {
			things[i] = unknownWords(t)
		}
		return words + strings.Join(things, ", ")
	case f.Code == readiness.DutyUnheld:
		return words + strings.Join(f.Things, ", ")
	case words == "":
		return strings.ToLower(strings.ReplaceAll(string(f.Code), "_", " "))
	default:
		return words
	}
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
		s.text(4, "%-24s %s: lapsed on %d working days, %d in any plan; %s", e.name(n.Worker), methodShort[groundhand.Method(n.Qualification)]+family(n.Device),
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

func (e *evening) certified(s *sheet) {
	s.heading(fmt.Sprintf("Certificates written: %d", len(e.certificates)))
	for _, c := range e.certificates {
		s.text(2, "%s  %-24s %s, shown %s, last good day %s", c.ID, c.PersonName, methodShort[c.Method]+" as "+strings.ToLower(string(c.Role))+family(string(c.FamilyID)),
			c.ShownOn.Words(), c.LastGoodDay.Words())
	}
	s.text(2, "A certificate is the employer's own record and no licence. "+caution)
}

// keysPage writes where things are and one token for each capacity.
func keysPage(cast demo.Cast, dir string) string {
	s := &sheet{}
	s.heading("Where it is")
	s.text(2, "%s: %s, %s", dir, recordsName, strings.Join(slices.Concat(problemNames, planNames, []string{certificatesName}), ", "))
	s.line()
	s.text(2, "One token for each capacity, good for these records alone:")
	for _, k := range cast.Keys {
		s.text(4, "%-12s %-24s %s", k.Account.Capacity, k.Account.Name, k.Token)
	}
	s.line()
	return s.String()
}

func (e *evening) name(id string) string { return e.names[groundhand.WorkerID(id)] }

func (e *evening) clock(at groundhand.Instant) string { return at.In(e.zone).Format("15:04") }

// lineWords names a line that is asked of somebody.
func lineWords(l rollcall.LineDay) string {
	return methodShort[l.Method] + family(string(l.FamilyID))
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

func deviceWords(id groundhand.DeviceID) string {
	if id == "" {
		return "a device not told yet"
	}
	return string(id)
}

func orNobody(names []string) string {
	if len(names) == 0 {
		return "nobody"
	}
	return strings.Join(names, ", ")
}

// count writes small numbers in words.
func count(n int) string {
	if words := []string{"none", "one", "two", "three", "four"}; n >= 0 && n < len(words) {
		return words[n]
	}
	return fmt.Sprint(n)
}

// sheet is plain text of at most 100 columns.
type sheet struct{ strings.Builder }

const columns = 100

func (s *sheet) line() { s.WriteByte('\n') }

func (s *sheet) heading(title string) {
	s.line()
	s.text(0, "%s", strings.ToUpper(title))
}

// text writes a paragraph. What does not fit goes on below, further in.
func (s *sheet) text(indent int, format string, args ...any) {
	const further = 4
	margin, width := strings.Repeat(" ", indent), indent
	s.WriteString(margin)
	for i, word := range words(fmt.Sprintf(format, args...)) {
		size := utf8.RuneCountInString(word)
		if i > 0 && width+size > columns {
			word = strings.TrimLeft(word, " ")
			s.WriteString("\n" + margin + strings.Repeat(" ", further))
			width, size = indent+further, utf8.RuneCountInString(word)
		}
		s.WriteString(word)
		width += size
	}
	s.line()
}

// words cuts a text before each space, so that columns keep theirs.
func words(text string) []string {
	var out []string
	start := 0
	for i := 1; i < len(text); i++ {
		if text[i] == ' ' && text[i-1] != ' ' {
			out, start = append(out, text[start:i]), i
		}
	}
	return append(out, text[start:])
}
