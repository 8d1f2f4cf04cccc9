package rollcall

import (
	"context"
	"slices"
	"strconv"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// MostPeopleUnderRules is how many people one question may name; MostLinesUnderRules how many lines it may ask of each.
const (
	MostPeopleUnderRules = 500
	MostLinesUnderRules  = 50
)

// UnderRulesQuestion asks whether named people are good under one rule set on a day, as a client asks it at the gate.
type UnderRulesQuestion struct {
	People    []groundhand.WorkerID // 1 to 500, each person once
	RuleSet   groundhand.RuleSetID  // one that stands and is in force on the day
	On        groundhand.Date       // at its close
	AsKnownAt groundhand.Instant    // by what was recorded by then, names, crews and rules too; zero: by everything that is known
	Lines     []Asked               // asked of each; nil: what the rule set asks of the person in the crew of that day, see shown for who is in none
}

// PersonUnderRules is the answer for one person. Good speaks of practice alone: who is at work that day, and who is held back from rescue
// duty, is a question of cover.
type PersonUnderRules struct {
	WorkerID    groundhand.WorkerID // under whom the person is found, also when a merged one was named
	Name        string              // as of the day; empty: none was recorded by then
	Employer    string              // as of the day; empty: not recorded
	CrewID      groundhand.CrewID   // of the day; empty: none
	Good        bool                // in every line asked; never when no line could be asked
	GoodThrough groundhand.Date     // the earliest last good day of the lines; zero when not good
	Because     NotGood             // empty when good: the weightiest of the lines' reasons
	Lines       []LineUnderRules
}

// LineUnderRules is one line of one person.
type LineUnderRules struct {
	WorkerStanding
	Because NotGood // empty: good
}

// Good says that the line is met: only what is current is good, no extension, grace or acceptance on paper.
func (l LineUnderRules) Good() bool { return l.Because == "" }

// NotGood is why a line is not met.
type NotGood string

// The reasons, weightiest first.
const (
	BecauseSuspended NotGood = "SUSPENDED"          // a failed step or a suspension is open
	BecauseGrade     NotGood = "GRADE"              // the rules bar the apprentice year, or no grade is known
	BecauseAbsence   NotGood = "ABSENCE_RULE"       // away too long, and no watched run since
	BecauseOver      NotGood = "LAST_GOOD_DAY_OVER" // practised, too long ago
	BecauseGrace     NotGood = "MONTH_AFTER"        // in the month after the month due
	BecauseExtended  NotGood = "EXTENSION_ONLY"     // past the last good day, on an extension
	BecauseOnPaper   NotGood = "ON_PAPER_ONLY"      // accepted on paper, nothing shown here
	BecauseNoCredit  NotGood = "NOTHING_COUNTS"     // something of the method is recorded, nothing that counts
	BecauseNever     NotGood = "NEVER_PRACTISED"    // never practised this method in this role on this family
	BecauseNotKnown  NotGood = "NOTHING_KNOWN"      // nothing could be asked under these rules: nobody can tell, so it is never good
)

// NotGoodReasons lists them, weightiest first.
var NotGoodReasons = []NotGood{BecauseSuspended, BecauseGrade, BecauseAbsence, BecauseOver, BecauseGrace, BecauseExtended, BecauseOnPaper,
	BecauseNoCredit, BecauseNever, BecauseNotKnown}

// UnderRules answers for each person named, in the order of the question. Refused together, each with its path, are people who are
// unknown or named twice, lines that nobody could be asked, and a rule set that does not stand or is not in force on the day.
func (r *Roll) UnderRules(ctx context.Context, ask UnderRulesQuestion) ([]PersonUnderRules, error) {
	u, err := r.underRules(ctx, ask)
	if err != nil {
		return nil, err
	}
	return u.answers()
}

// UnderRulesFacts gives the same questions with the facts they are answered from, as a standing-facts/1 file, so that anybody can
// recompute the answers line by line.
func (r *Roll) UnderRulesFacts(ctx context.Context, ask UnderRulesQuestion) (competence.Facts, error) {
	u, err := r.underRules(ctx, ask)
	return u.facts, err
}

// underRules is what was loaded for a question, with a question to the engine for each line.
type underRules struct {
	people []PersonUnderRules
	facts  competence.Facts
}

func (r *Roll) underRules(ctx context.Context, ask UnderRulesQuestion) (out underRules, err error) {
	load := func(seen *Roll) error {
		out, err = seen.loadUnderRules(ctx, ask)
		return err
	}
	if ask.AsKnownAt != 0 {
		return out, r.AsKnown(ctx, ask.AsKnownAt, load)
	}
	return out, r.asOfNow(ctx, load)
}

func (r *Roll) loadUnderRules(ctx context.Context, ask UnderRulesQuestion) (underRules, error) {
	sh, err := r.shelf(ctx)
	if err != nil {
		return underRules{}, err
	}
	who, rules, err := r.checkUnderRules(ctx, sh, ask)
	if err != nil {
		return underRules{}, err
	}
	l, err := r.lineUp(ctx, ask.On)
	if err != nil {
		return underRules{}, err
	}
	d := r.dossier(sh)
	if err := d.take(ctx, who); err != nil {
		return underRules{}, err
	}
	out := underRules{facts: d.facts()}
	if out.people, err = r.named(ctx, l, who, ask.On); err != nil {
		return underRules{}, err
	}
	practised := shown{}
	if ask.Lines == nil {
		practised = r.shownBy(out.facts.Entries, ask.On, rules)
	}
	for i, p := range out.people {
		lines := ask.Lines
		switch {
		case lines != nil:
		case p.CrewID != "":
			lines = l.askedOf(p.WorkerID, rules)
		default:
			lines = practised[p.WorkerID]
		}
		out.ask(i, lines, ask)
	}
	return out, nil
}

// ask puts lines to a person.
func (u *underRules) ask(i int, lines []Asked, ask UnderRulesQuestion) {
	p := &u.people[i]
	for _, a := range lines {
		q := question(p.WorkerID, a)
		q.ID, q.On, q.RuleSet = "Q"+strconv.Itoa(len(u.facts.Questions)+1), ask.On, string(ask.RuleSet)
		u.facts.Questions = append(u.facts.Questions, q)
		p.Lines = append(p.Lines, LineUnderRules{WorkerStanding: WorkerStanding{WorkerID: p.WorkerID, Method: a.Method, Role: a.Role, FamilyID: a.FamilyID}})
	}
}

func (u underRules) answers() ([]PersonUnderRules, error) {
	book, err := competence.NewBook(u.facts)
	if err != nil {
		return nil, err
	}
	at := 0
	for i := range u.people {
		p := &u.people[i]
		for j := range p.Lines {
			l := &p.Lines[j]
			if l.Answer, err = book.Standing(u.facts.Questions[at]); err != nil {
				return nil, err
			}
			l.Because = notGood(l.Answer)
			at++
		}
		p.judge()
	}
	return u.people, nil
}

// judge sums the lines up.
func (p *PersonUnderRules) judge() {
	if len(p.Lines) == 0 {
		p.Because = BecauseNotKnown
		return
	}
	for _, why := range NotGoodReasons {
		if slices.ContainsFunc(p.Lines, func(l LineUnderRules) bool { return l.Because == why }) {
			p.Because = why
			return
		}
	}
	p.Good, p.GoodThrough = true, p.Lines[0].LastGoodDay
	for _, l := range p.Lines {
		p.GoodThrough = min(p.GoodThrough, l.LastGoodDay)
	}
}

// Decisive is the line that the reason of a person is about; false when the person is good or no line could be asked.
func (p PersonUnderRules) Decisive() (LineUnderRules, bool) {
	at := slices.IndexFunc(p.Lines, func(l LineUnderRules) bool { return !l.Good() && l.Because == p.Because })
	if at < 0 {
		return LineUnderRules{}, false
	}
	return p.Lines[at], true
}

// notGood reads the reason off an answer.
func notGood(a competence.Answer) NotGood {
	if a.Note != "" {
		return BecauseNotKnown
	}
	switch a.Standing {
	case competence.Current:
		return ""
	case competence.Suspended:
		return BecauseSuspended
	case competence.Held:
		return BecauseAbsence
	case competence.Lapsed:
		return BecauseOver
	case competence.InGrace:
		return BecauseGrace
	case competence.OnExtension:
		return BecauseExtended
	case competence.OnPaper:
		return BecauseOnPaper
	}
	return neverBecause(a.Refused)
}

// noCredit are the reasons for which evidence of a method gives no credit, besides that it is of another role or family.
var noCredit = []competence.Reason{competence.RecordedBefore, competence.KindNotAccepted, competence.TheoryOnly, competence.Failed, competence.NotComplete,
	competence.SelfAssessed, competence.AssessorNoRight, competence.AssessorNotCurrent, competence.NotChecked, competence.LevelTooLow, competence.TooFewRuns}

// neverBecause tells who never practised from who did and whose practice does not count.
func neverBecause(refused []competence.Refusal) NotGood {
	for _, x := range refused {
		if x.Code == competence.GradeBarred || x.Code == competence.GradeUnknown {
			return BecauseGrade
		}
	}
	for _, x := range refused {
		if slices.Contains(noCredit, x.Code) {
			return BecauseNoCredit
		}
	}
	return BecauseNever
}

// named gives the people with what they are called and by whom they are employed on the day.
func (r *Roll) named(ctx context.Context, l lineUp, who []groundhand.WorkerID, on groundhand.Date) ([]PersonUnderRules, error) {
	names, err := r.store.NamesOn(ctx, who, on)
	if err != nil {
		return nil, err
	}
	employments, err := store.FindStanding[groundhand.Employment](ctx, r.store, store.ByWorker, who)
	if err != nil {
		return nil, err
	}
	employer := map[groundhand.WorkerID]string{}
	for _, e := range employments { // in recorded order: of two the one told last
		if e.FromOn <= on && (e.ToOn == 0 || on <= e.ToOn) {
			employer[e.WorkerID] = e.Employer
		}
	}
	out := make([]PersonUnderRules, len(who))
	for i, id := range who {
		out[i] = PersonUnderRules{WorkerID: id, Name: names[id], Employer: employer[id]}
		if crew := l.of[id]; l.crews[crew].ID != "" {
			out[i].CrewID = crew
		}
	}
	return out, nil
}

// shown lists what somebody has practised or was judged in, in the order in which methods are shown.
type shown map[groundhand.WorkerID][]Asked

// shownBy reads it off the entries that stand on a day. It is asked of who is in no crew: each way of bringing somebody down from a bucket,
// in each role and on each control family of which something is recorded, well done or not, as far as the rules have a line for it.
func (r *Roll) shownBy(entries []competence.Entry, on groundhand.Date, rules rulebook.Rules) shown {
	dead, out := deadEntries(entries), shown{}
	for i := range entries {
		e := &entries[i]
		a := Asked{Method: groundhand.Method(e.Method), Role: roleOf(e.Role), FamilyID: groundhand.FamilyID(e.Family)}
		if !isPractice(e) || !a.Method.Aerial() || a.Role == "" || dead[groundhand.EntryID(e.ID)] || r.happenedDay(e) > on {
			continue
		}
		line, there := lineFor(rules, a)
		if !there {
			continue
		}
		if !line.PerFamily {
			a.FamilyID = ""
		}
		if who := groundhand.WorkerID(e.Person); !slices.Contains(out[who], a) {
			out[who] = append(out[who], a)
		}
	}
	for _, list := range out {
		slices.SortFunc(list, askedOrder)
	}
	return out
}

func isPractice(e *competence.Entry) bool {
	return e.Kind == competence.Run || e.Kind == competence.Assessment || e.Kind == competence.Outside
}

func (r *Roll) happenedDay(e *competence.Entry) groundhand.Date {
	if e.HappenedAt != 0 {
		return r.dayOf(e.HappenedAt)
	}
	return e.HappenedOn
}

func deadEntries(entries []competence.Entry) map[groundhand.EntryID]bool {
	var marks []groundhand.Mark
	var withdrawals []groundhand.Withdrawal
	for i := range entries {
		e := &entries[i]
		switch {
		case e.Kind == competence.Withdrawal:
			withdrawals = append(withdrawals, groundhand.Withdrawal{ID: groundhand.EntryID(e.ID), WithdrawsID: groundhand.EntryID(e.Withdraws)})
		case e.Replaces != "":
			marks = append(marks, groundhand.Mark{ID: groundhand.EntryID(e.ID), Replaces: groundhand.EntryID(e.Replaces)})
		}
	}
	return groundhand.Dead(marks, withdrawals)
}
