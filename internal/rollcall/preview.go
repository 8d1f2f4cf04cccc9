package rollcall

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// RuleProposalAsk asks what a rule set would do. Nothing is saved.
type RuleProposalAsk struct {
	Body          string               // the rules as JSON; empty: those of RuleSetID, which stands already
	RuleSetID     groundhand.RuleSetID // the id it will have; empty with a Body: none yet
	EffectiveFrom groundhand.Date      // zero without a Body: that of the rule set
	IsDefault     bool                 // it would judge our own work; else it is used only when named
	On            groundhand.Date      // the day judged; zero: the first day of the rules
}

// RulePreview is who would be out on a day under proposed rules and is not under those of that day, and the other way round, by what is
// recorded now.
type RulePreview struct {
	On           groundhand.Date
	Before       groundhand.RuleSetID // our own rules of that day without the proposal
	Proposed     groundhand.RuleSetID
	Crews        []CrewPreview // those with anybody in them, in order of id
	People       int           // in crews
	Out, Back    int           // people who would be out, and who would be good again
	StillOut     int           // people who are out under both
	DrillsBooked int           // of the drills that would bring back who would be out, those that are booked already
	DrillsToBook int
}

// CrewPreview is one crew, its people in order of id.
type CrewPreview struct {
	Crew     groundhand.Crew
	People   int
	Out      []PersonPreview
	Back     []PersonPreview
	StillOut []PersonPreview // out on that day under both, and by the proposal in nothing more
}

// PersonPreview is a worker, the lines that differ, and what would put it right.
type PersonPreview struct {
	WorkerID groundhand.WorkerID
	Lines    []LinePreview
	Drills   []PreviewDrill
}

// LinePreview is one line under both rule sets. Where one of them does not ask it, that side is empty.
type LinePreview struct {
	rulebook.Asked
	Before, After *LineDay
}

// PreviewDrill is practice that would bring a line back under the proposal.
type PreviewDrill struct {
	rulebook.Asked
	By        groundhand.Date      // on this day at the latest: the eve of the day judged
	SessionID groundhand.SessionID // booked already; empty: still to be booked
	BookedOn  groundhand.Date
}

// PreviewRules answers for everybody in a crew on the day judged.
func (r *Roll) PreviewRules(ctx context.Context, ask RuleProposalAsk) (out RulePreview, err error) {
	err = r.asOfNow(ctx, func(seen *Roll) error {
		out, err = seen.previewRules(ctx, ask)
		return err
	})
	return out, err
}

func (r *Roll) previewRules(ctx context.Context, ask RuleProposalAsk) (RulePreview, error) {
	p, err := r.preview(ctx, ask)
	if err != nil {
		return RulePreview{}, err
	}
	out := RulePreview{On: p.on, Before: p.before.set.ID, Proposed: p.after.set.ID}
	for _, crews := range p.before.chunks() {
		before, err := p.before.load(ctx, crews)
		if err != nil {
			return out, err
		}
		after, err := p.after.load(ctx, crews)
		if err != nil {
			return out, err
		}
		for _, crew := range crews {
			if err := p.crew(&out, before, after, crew); err != nil {
				return out, err
			}
		}
	}
	return out, p.book(ctx, r, &out)
}

// preview is the day judged under both rule sets.
type preview struct {
	on            groundhand.Date
	before, after *companyDay
}

// preview makes two company days of one: the second has the proposal on its shelf and judges by it.
func (r *Roll) preview(ctx context.Context, ask RuleProposalAsk) (preview, error) {
	set, err := r.proposedSet(ctx, &ask)
	if err != nil {
		return preview{}, err
	}
	rules, err := rulebook.Read(set.Body)
	var problems groundhand.Problems
	if err := problems.Take("body", err); err != nil {
		return preview{}, err
	}
	if problems.Any() {
		return preview{}, problems.Err()
	}
	before, err := r.companyDay(ctx, ask.On)
	if err != nil {
		return preview{}, err
	}
	before.shelf = before.shelf.without(set.ID)
	if before.set, before.rules, err = before.shelf.on(ask.On, ""); err != nil {
		return preview{}, err
	}
	after := *before
	after.shelf = before.shelf.with(set, rules)
	after.set, after.rules, after.named = set, rules, set.ID
	return preview{ask.On, before, &after}, nil
}

// unnamed is how proposed rules are called that have no id yet.
const unnamed = "proposed rules"

func (r *Roll) proposedSet(ctx context.Context, ask *RuleProposalAsk) (groundhand.RuleSet, error) {
	set := groundhand.RuleSet{ID: ask.RuleSetID, Body: ask.Body, EffectiveFrom: ask.EffectiveFrom, IsDefault: ask.IsDefault}
	switch {
	case ask.Body == "" && ask.RuleSetID == "":
		return set, groundhand.Invalid("body", "Give the proposed rules, or the id of a rule set.")
	case ask.Body == "":
		known, err := store.FindStanding[groundhand.RuleSet](ctx, r.store, store.ByID, []groundhand.RuleSetID{ask.RuleSetID})
		if err != nil {
			return set, err
		}
		if len(known) == 0 {
			return set, groundhand.NotFound("ruleSetId", "There is no rule set %q.", ask.RuleSetID)
		}
		set = known[0]
	case ask.EffectiveFrom == 0:
		return set, groundhand.Invalid("effectiveFrom", "Say from which day on the rules would hold.")
	case ask.RuleSetID == "":
		set.ID = unnamed
	}
	ask.On = cmp.Or(ask.On, ask.EffectiveFrom, set.EffectiveFrom)
	if ask.On < set.EffectiveFrom || set.EffectiveThrough != 0 && ask.On > set.EffectiveThrough {
		return set, groundhand.Invalid("on", "The rules would not hold on %s.", ask.On.Words())
	}
	return set, nil
}

func (s shelf) without(id groundhand.RuleSetID) shelf {
	var out shelf
	for i, set := range s.sets {
		if set.ID != id {
			out.sets, out.rules = append(out.sets, set), append(out.rules, s.rules[i])
		}
	}
	return out
}

func (s shelf) with(set groundhand.RuleSet, rules rulebook.Rules) shelf {
	return shelf{append(slices.Clone(s.sets), set), append(slices.Clone(s.rules), rules)}
}

// crew compares what both rule sets say of the people of one crew.
func (p preview) crew(out *RulePreview, before, after loadedChunk, crew groundhand.Crew) error {
	old, err := before.workers(crew)
	if err != nil || len(old) == 0 {
		return err
	}
	fresh, err := after.workers(crew)
	if err != nil {
		return err
	}
	c := CrewPreview{Crew: crew, People: len(old)}
	for i := range old {
		c.add(old[i], fresh[i], p.on-1)
	}
	out.People, out.Out, out.Back, out.StillOut = out.People+c.People, out.Out+len(c.Out), out.Back+len(c.Back), out.StillOut+len(c.StillOut)
	out.Crews = append(out.Crews, c)
	return nil
}

func (c *CrewPreview) add(old, fresh WorkerDay, by groundhand.Date) {
	lost, won := turned(old, fresh), turned(fresh, old)
	switch {
	case len(lost) > 0:
		c.Out = append(c.Out, personOf(old, fresh, lost).drilled(by))
	case isOut(fresh):
		c.StillOut = append(c.StillOut, personOf(old, fresh, notHeld(fresh)).drilled(by))
	case len(won) > 0:
		c.Back = append(c.Back, personOf(old, fresh, won))
	}
}

func personOf(old, fresh WorkerDay, lines []LineDay) PersonPreview {
	person := PersonPreview{WorkerID: fresh.WorkerID}
	for _, l := range lines {
		person.Lines = append(person.Lines, LinePreview{l.Asked, lineOf(old, l.Asked), lineOf(fresh, l.Asked)})
	}
	return person
}

// drilled says that every line would have to be practised by a day.
func (p PersonPreview) drilled(by groundhand.Date) PersonPreview {
	for _, l := range p.Lines {
		p.Drills = append(p.Drills, PreviewDrill{Asked: l.Asked, By: by})
	}
	return p
}

// turned lists the lines that do not hold in the second day and are new there: in the first the same line held or, where it was not asked,
// all that was asked of the kind did.
func turned(first, second WorkerDay) []LineDay {
	var out []LineDay
	for _, l := range second.Lines {
		if l.Holds() {
			continue
		}
		was := lineOf(first, l.Asked)
		if was != nil && was.Holds() || was == nil && allHold(first, l.Method.Aerial()) {
			out = append(out, l)
		}
	}
	return out
}

func lineOf(w WorkerDay, a rulebook.Asked) *LineDay {
	for i := range w.Lines {
		if w.Lines[i].Asked == a {
			return &w.Lines[i]
		}
	}
	return nil
}

// allHold looks at the lines of the aerial-rescue methods, or at the others.
func allHold(w WorkerDay, aerial bool) bool {
	return !slices.ContainsFunc(w.Lines, func(l LineDay) bool { return l.Method.Aerial() == aerial && !l.Holds() })
}

func isOut(w WorkerDay) bool { return len(notHeld(w)) > 0 }

func notHeld(w WorkerDay) []LineDay {
	return slices.DeleteFunc(slices.Clone(w.Lines), LineDay.Holds)
}

// book says which of the drills are booked already, before the day judged.
func (p preview) book(ctx context.Context, r *Roll, out *RulePreview) error {
	var people []groundhand.WorkerID
	for _, c := range out.Crews {
		for _, person := range slices.Concat(c.Out, c.StillOut) {
			people = append(people, person.WorkerID)
		}
	}
	seats, err := r.bookedSeats(ctx, people)
	if err != nil {
		return err
	}
	for _, c := range out.Crews {
		for _, person := range slices.Concat(c.Out, c.StillOut) { // the drills are shared with the people in both lists
			for i := range person.Drills {
				person.Drills[i].find(r, seats[person.WorkerID])
			}
		}
		out.count(c)
	}
	return nil
}

func (p *RulePreview) count(c CrewPreview) {
	for _, person := range c.Out {
		for _, d := range person.Drills {
			if d.SessionID == "" {
				p.DrillsToBook++
			} else {
				p.DrillsBooked++
			}
		}
	}
}

// seat is a booking with its session.
type seat struct {
	groundhand.Booking
	session groundhand.Session
}

// bookedSeats lists the seats of workers in sessions that stand and are not over, in order of time.
func (r *Roll) bookedSeats(ctx context.Context, people []groundhand.WorkerID) (map[groundhand.WorkerID][]seat, error) {
	bookings, err := store.FindStanding[groundhand.Booking](ctx, r.store, store.ByWorker, people)
	if err != nil {
		return nil, err
	}
	sessions, err := store.FindStanding[groundhand.Session](ctx, r.store, store.ByID, unique(idsOf(bookings, func(b groundhand.Booking) groundhand.SessionID { return b.SessionID })))
	byID := map[groundhand.SessionID]groundhand.Session{}
	for _, s := range sessions {
		byID[s.ID] = s
	}
	out := map[groundhand.WorkerID][]seat{}
	for _, b := range bookings {
		if s, stands := byID[b.SessionID]; stands && s.EndAt > r.store.Now() {
			out[b.WorkerID] = append(out[b.WorkerID], seat{b, s})
		}
	}
	for _, seats := range out {
		slices.SortFunc(seats, func(a, b seat) int {
			return cmp.Or(cmp.Compare(a.session.StartAt, b.session.StartAt), cmp.Compare(a.ID, b.ID))
		})
	}
	return out, err
}

func (d *PreviewDrill) find(r *Roll, seats []seat) {
	for _, s := range seats {
		day := r.dayOf(s.session.StartAt)
		if day <= d.By && s.Renews.Has(string(d.Method)) && (d.FamilyID == "" || s.session.FamilyID == d.FamilyID) {
			d.SessionID, d.BookedOn = s.session.ID, day
			return
		}
	}
}
