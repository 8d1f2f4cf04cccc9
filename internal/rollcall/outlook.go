package rollcall

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// CrewOutlook is one crew on its day, and until when it can be sent if nobody drills.
type CrewOutlook struct {
	Crew     groundhand.Crew
	Relation groundhand.Relation   // what most of its people are to the company
	Members  []groundhand.WorkerID // in order of id, those away included
	Families []FamilyOutlook       // one for each control family of the crew; one without a family for a crew that has none
	Refused  error                 // coded, and then there are no families; nil when the crew was judged
}

// FamilyOutlook is what the crew could do with a good device and a good kit, one person aloft, on its day and after.
type FamilyOutlook struct {
	FamilyDay
	MustStayDown []readiness.Down
	NMinus1      readiness.NMinus1     // whom the day's verdict hangs on
	Conditions   []readiness.Condition // of the day's verdict
	Leans        []Lean                // people whose extension or acceptance on paper the day's verdict needs
	Swap         bool                  // on the day somebody must come down on the way, so that another goes up
	FirstBad     *BadMoment            // nil: none within the days looked ahead
}

// Lean is somebody without whose extension or provisional acceptance the verdict would be worse.
type Lean struct {
	WorkerID groundhand.WorkerID
	State    readiness.State   // ON_EXTENSION or PROVISIONAL
	Without  readiness.Verdict // the verdict if it were not there
}

// BadMoment is the first moment at which the crew is not ready or nobody can tell.
type BadMoment struct {
	At      groundhand.Instant
	Day     groundhand.Date
	Verdict readiness.Verdict
	Changes []readiness.Change // what begins or ends at that moment; none when the usual hours begin so
}

// Verdict is the worst over the control families: a crew is sent out with whichever device there is. What was not judged is not known.
func (c CrewOutlook) Verdict() readiness.Verdict {
	if c.Refused != nil {
		return readiness.CannotTell
	}
	worst := readiness.Ready
	for _, f := range c.Families {
		worst = min(worst, f.Verdict)
	}
	return worst
}

// FirstBad is the earliest over the control families, nil when there is none.
func (c CrewOutlook) FirstBad() *BadMoment {
	var first *BadMoment
	for _, f := range c.Families {
		if f.FirstBad != nil && (first == nil || f.FirstBad.At < first.At) {
			first = f.FirstBad
		}
	}
	return first
}

// Outlook looks at every crew that is sent out on a day, and so many days ahead (1 to 400): those not ready first, then those of which
// nobody can tell, the conditional and the ready ones; within that by their first bad moment, then by id.
//
// On the day itself absences count over the usual hours. Ahead they do not, because nobody plans leave so early, while a restriction from
// rescue duty lasts as long as it was recorded. Later practice is not seen. Ahead every hour counts, whatever the shift.
func (r *Roll) Outlook(ctx context.Context, on groundhand.Date, days int) ([]CrewOutlook, error) {
	o, err := r.outlook(ctx, on, days)
	if err != nil {
		return nil, err
	}
	chunks := o.day.chunks()
	parts := make([][]CrewOutlook, len(chunks))
	err = sideBySide(ctx, len(chunks), func(ctx context.Context, i int) error {
		loaded, err := o.load(ctx, chunks[i])
		if err != nil {
			return err
		}
		parts[i], err = loaded.answer()
		return err
	})
	if err != nil {
		return nil, err
	}
	out := slices.Concat(parts...)
	slices.SortFunc(out, compareOutlooks)
	return out, nil
}

func compareOutlooks(a, b CrewOutlook) int {
	return cmp.Or(cmp.Compare(a.Verdict(), b.Verdict()), cmp.Compare(badAt(a), badAt(b)), cmp.Compare(a.Crew.ID, b.Crew.ID))
}

// badAt puts crews without a bad moment last.
func badAt(c CrewOutlook) groundhand.Instant {
	if bad := c.FirstBad(); bad != nil {
		return bad.At
	}
	return groundhand.Instant(1 << 62)
}

// outlook is what is the same for every crew.
type outlook struct {
	day   *companyDay
	until groundhand.Instant // end of the last day looked at
}

func (r *Roll) outlook(ctx context.Context, on groundhand.Date, days int) (outlook, error) {
	if days < fewestDays || days > mostDays {
		return outlook{}, groundhand.Invalid("days", "Look %d to %d days ahead.", fewestDays, mostDays)
	}
	d, err := r.companyDay(ctx, on)
	return outlook{d, r.start(on.AddDays(days + 1))}, err
}

// outlookQuestions is what is asked about one crew, or why it cannot be.
type outlookQuestions struct {
	CrewOutlook
	families []outlookQuestion
}

// outlookQuestion is the day's question and the one about the time after it.
type outlookQuestion struct {
	family     string
	day, ahead readiness.Question
}

// outlookChunk is some crews that are sent out, with everything recorded about their people.
type outlookChunk struct {
	outlook
	loadedChunk
	relations map[groundhand.WorkerID]groundhand.Relation
}

func (o outlook) load(ctx context.Context, crews []groundhand.Crew) (outlookChunk, error) {
	crews = slices.DeleteFunc(slices.Clone(crews), func(c groundhand.Crew) bool { return c.Kind == groundhand.ReliefPool })
	var workers []groundhand.WorkerID
	for _, c := range crews {
		workers = append(workers, o.day.lineUp.members[c.ID]...)
	}
	relations, err := o.day.roll.relationsOn(ctx, workers, o.day.on)
	if err != nil {
		return outlookChunk{}, err
	}
	seen, err := o.day.roll.roster(ctx, o.day.shelf, workers, o.day.from, o.until)
	return outlookChunk{o, loadedChunk{o.day, crews, seen}, relations}, err
}

// answer asks and judges.
func (c outlookChunk) answer() ([]CrewOutlook, error) {
	asked, err := c.questions()
	if err != nil {
		return nil, err
	}
	return judgeOutlooks(asked)
}

func (c outlookChunk) questions() ([]outlookQuestions, error) {
	out := make([]outlookQuestions, len(c.crews))
	for i, crew := range c.crews {
		members := c.outlook.day.lineUp.members[crew.ID]
		out[i].CrewOutlook = CrewOutlook{Crew: crew, Relation: mostly(members, c.relations), Members: members}
		for _, family := range familiesOf(crew) {
			q, err := c.outlook.question(c.loadedChunk, crew, family)
			if err != nil {
				return nil, err
			}
			out[i].families = append(out[i].families, q)
		}
	}
	return out, nil
}

// question asks about everybody's courses once, from the usual hours to the last day. Ahead nobody is absent, and a grade that changes on
// the way counts as the stricter one.
func (o outlook) question(c loadedChunk, crew groundhand.Crew, family string) (outlookQuestion, error) {
	ask := CoverQuestion{CrewID: crew.ID, Aloft: 1, Near50V: groundhand.Yes, CallPlan: groundhand.Yes}
	q := readiness.Question{Name: ask.name(), Yard: string(crew.YardID), Window: o.day.hours(crew), Job: ask.job(crew, o.day.cover), Rules: o.day.cover}
	q.Device, q.Kit = goodGear(family)
	out := outlookQuestion{family: family, day: q, ahead: q}
	out.ahead.Window.From, out.ahead.Window.To = q.Window.To, o.until
	count := c.roster.counting(o.day.rules, "", familiesAsked(q.Device, o.day.cover), q.Window.From, o.until)
	for _, who := range o.day.lineUp.members[crew.ID] {
		p, err := count.person(who, crew.ID)
		if err != nil {
			return out, err
		}
		today, ahead := p, p
		grade := gradeOn(c.roster.grades[who], o.day.on)
		today.Grade, today.CanGoAloft = gradeWord(grade), grade.Grade.Aloft()
		today.Capabilities = slices.DeleteFunc(slices.Clone(p.Capabilities), func(held readiness.Capability) bool { return !heldIn(held, q.Window) })
		ahead.Unavailable = nil
		out.day.People, out.ahead.People = append(out.day.People, today), append(out.ahead.People, ahead)
	}
	return out, nil
}

func judgeOutlooks(asked []outlookQuestions) ([]CrewOutlook, error) {
	out := make([]CrewOutlook, len(asked))
	for i, a := range asked {
		var err error
		if out[i], err = a.judge(); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// judge answers for one crew. A crew that cannot be judged says why and does not hide the others.
func (a outlookQuestions) judge() (CrewOutlook, error) {
	out := a.CrewOutlook
	for _, q := range a.families {
		f, err := q.judge()
		switch {
		case len(groundhand.Refusals(err)) > 0:
			out.Families, out.Refused = nil, err
			return out, nil
		case err != nil:
			return out, err
		}
		out.Families = append(out.Families, f)
	}
	return out, nil
}

func (q outlookQuestion) judge() (FamilyOutlook, error) {
	a, err := readiness.Judge(q.day)
	if err != nil {
		return FamilyOutlook{}, err
	}
	out := FamilyOutlook{MustStayDown: a.MustStayDown, NMinus1: *a.NMinus1, Conditions: a.Conditions,
		Swap: slices.ContainsFunc(a.Conditions, func(c readiness.Condition) bool { return c.Code == readiness.SwapAloft })}
	if out.FamilyDay, err = familyDayOf(q.day, a); err != nil {
		return out, err
	}
	out.FamilyID = groundhand.FamilyID(q.family)
	if out.Leans, err = leans(q.day, a.Verdict); err != nil {
		return out, err
	}
	if out.FirstBad, err = badIn(q.day, a.Timeline); out.FirstBad == nil && err == nil {
		out.FirstBad, err = firstBad(q.ahead)
	}
	return out, err
}

// badIn finds the first bad stretch of an answer's timeline. What changes there is asked of the last instant before it.
func badIn(q readiness.Question, timeline []readiness.Stretch) (*BadMoment, error) {
	i := slices.IndexFunc(timeline, func(s readiness.Stretch) bool { return s.Verdict < readiness.Conditional })
	if i < 0 {
		return nil, nil
	}
	at := timeline[i].From.At
	bad := &BadMoment{At: at, Day: groundhand.DateOf(at.In(q.Window.Zone)), Verdict: timeline[i].Verdict}
	if i == 0 {
		return bad, nil
	}
	q.Window.From, q.Window.To = at-1, at+1
	a, err := readiness.Judge(q)
	bad.Changes = a.HoldsUntil.Changes
	return bad, err
}

// shortest is the window, in milliseconds, that is not cut any further.
const shortest = groundhand.Instant(24 * 60 * 60_000)

// firstBad asks one question about the whole stretch. Where more begins and ends than is judged in one go, it asks about either half.
func firstBad(q readiness.Question) (*BadMoment, error) {
	a, err := readiness.Judge(q)
	w := q.Window
	switch {
	case err == nil:
		return badIn(q, a.Timeline)
	case !errors.Is(err, groundhand.CodeTooLarge) || w.To-w.From <= shortest:
		return nil, err
	}
	middle := wholeSecond(w.From + (w.To-w.From)/2)
	q.Window.To = middle
	if bad, err := firstBad(q); bad != nil || err != nil {
		return bad, err
	}
	q.Window.From, q.Window.To = middle, w.To
	return firstBad(q)
}

// leans lists the people without whose extension or acceptance on paper the verdict would be worse. Where several can stand in for each
// other, so that nobody alone decides, all of them are listed.
func leans(q readiness.Question, verdict readiness.Verdict) ([]Lean, error) {
	weak := weaklyHeld(q)
	if len(weak) == 0 || verdict < readiness.Conditional {
		return nil, nil
	}
	all, err := verdictWithout(q, func(string) bool { return true })
	if err != nil || all >= verdict {
		return nil, err
	}
	var alone []Lean
	for i := range weak {
		without, err := verdictWithout(q, func(id string) bool { return id == string(weak[i].WorkerID) })
		if err != nil {
			return nil, err
		}
		if weak[i].Without = all; without < verdict {
			alone = append(alone, Lean{weak[i].WorkerID, weak[i].State, without})
		}
	}
	if len(alone) > 0 {
		return alone, nil
	}
	return weak, nil
}

func isWeak(s readiness.State) bool { return s == readiness.OnExtension || s == readiness.Provisional }

// heldIn says whether a capability is held at some time of the days of a window.
func heldIn(c readiness.Capability, w readiness.Window) bool {
	first, last := groundhand.DateOf(w.From.In(w.Zone)), groundhand.DateOf((w.To - 1).In(w.Zone))
	if c.From.Day != 0 {
		return c.From.Day <= last && c.Through >= first
	}
	return c.From.At < w.To && c.Through >= first
}

// weaklyHeld lists who holds something by extension or acceptance on paper on the days of a window.
func weaklyHeld(q readiness.Question) []Lean {
	var out []Lean
	for _, p := range q.People {
		i := slices.IndexFunc(p.Capabilities, func(c readiness.Capability) bool { return isWeak(c.State) && heldIn(c, q.Window) })
		if i >= 0 {
			out = append(out, Lean{WorkerID: groundhand.WorkerID(p.ID), State: p.Capabilities[i].State})
		}
	}
	return out
}

// verdictWithout is the verdict if what some people hold by extension or on paper were not there.
func verdictWithout(q readiness.Question, whose func(id string) bool) (readiness.Verdict, error) {
	q.People = slices.Clone(q.People)
	for i := range q.People {
		if p := &q.People[i]; whose(p.ID) {
			p.Capabilities = slices.DeleteFunc(slices.Clone(p.Capabilities), func(c readiness.Capability) bool { return isWeak(c.State) })
		}
	}
	a, err := readiness.Judge(q)
	return a.Verdict, err
}
