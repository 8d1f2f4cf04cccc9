package rollcall

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rulebook"
)

// Company is everybody on one day, as seen at its close.
type Company struct {
	On        groundhand.Date
	RuleSetID groundhand.RuleSetID
	LeadDays  int         // of the rule set
	Workers   []WorkerDay // members of crews and of the relief pool, in order of crew and id
	Crews     []CrewDay   // crews that are sent out, in order of id
}

// WorkerDay is one member of a crew and what the rule set asks of them.
type WorkerDay struct {
	WorkerID groundhand.WorkerID
	CrewID   groundhand.CrewID
	Lines    []LineDay
}

// LineDay is the standing in one line asked.
type LineDay struct {
	rulebook.Asked
	Standing    competence.Standing
	Note        competence.Note
	Line        string // of the rule set
	LastGoodDay groundhand.Date
	ChangesOn   groundhand.Date // first day with another standing if nothing else happens; zero: none
}

// GoodThrough is the last day of this standing if nothing else happens; zero when no end is known. For who is current that is the last
// good day, or the eve of a stricter rule set; for an extension, an acceptance on paper and a month of grace it is their last day.
func (l LineDay) GoodThrough() groundhand.Date {
	if l.ChangesOn == 0 {
		return 0
	}
	return l.ChangesOn - 1
}

// Holds says whether the standing still counts for something: current, in grace, on an approved extension or accepted on paper.
func (l LineDay) Holds() bool {
	_, holds := stateOf(l.Standing)
	return holds
}

// Aerial lists the lines of the aerial-rescue methods that are asked of the worker, which the yearly practice is about. First aid and
// familiarisation are asked too and have no part in it.
func (w WorkerDay) Aerial() []LineDay {
	var out []LineDay
	for _, l := range w.Lines {
		if l.Method.Aerial() {
			out = append(out, l)
		}
	}
	return out
}

// NotCurrent lists the aerial-rescue lines asked of the worker that do not hold.
func (w WorkerDay) NotCurrent() []LineDay {
	return slices.DeleteFunc(w.Aerial(), LineDay.Holds)
}

// CrewDay is one crew on its day.
type CrewDay struct {
	Crew     groundhand.Crew
	Members  []groundhand.WorkerID // in order of id, those away included
	Families []FamilyDay           // one for each control family of the crew; one without a family for a crew that has none
}

// FamilyDay is what the crew could do with a device of one control family, one person aloft, over its usual hours of that day.
type FamilyDay struct {
	FamilyID    groundhand.FamilyID
	Rescuers    int  // members present who count as rescuers in some method, the smallest number over the hours
	Least       int  // how many the card asks for
	GroundCover bool // some permitted choice of who goes aloft leaves below who is needed to bring them down, first aid set aside
	Verdict     readiness.Verdict
	MayGoAloft  []groundhand.WorkerID
	Findings    []readiness.Finding
}

// BelowTwo says that the crew has fewer rescuers than the card asks for.
func (f FamilyDay) BelowTwo() bool { return f.Rescuers < f.Least }

// chunkSize is how many workers are looked at in one go: whole crews are kept together. Memory grows with it, statements shrink.
const chunkSize = 1000

// atOnce is how many chunks are looked at at the same time. More would read no faster: the store has a few readers.
const atOnce = 2

// Company answers for everybody on one day. Evidence is read in chunks of whole crews, so that a company of any size needs the memory of
// two chunks and of its own answer.
func (r *Roll) Company(ctx context.Context, on groundhand.Date) (Company, error) {
	d, err := r.companyDay(ctx, on)
	if err != nil {
		return Company{}, err
	}
	chunks := d.chunks()
	parts := make([]Company, len(chunks))
	if err := d.each(ctx, chunks, func(i int, c loadedChunk) error { return c.judge(&parts[i]) }); err != nil {
		return Company{}, err
	}
	out := Company{On: on, RuleSetID: d.set.ID, LeadDays: d.rules.LeadDays}
	for _, p := range parts {
		out.Workers, out.Crews = append(out.Workers, p.Workers...), append(out.Crews, p.Crews...)
	}
	return out, nil
}

// companyDay is what is the same for every chunk.
type companyDay struct {
	roll     *Roll
	on       groundhand.Date
	shelf    shelf
	set      groundhand.RuleSet
	rules    rulebook.Rules
	named    groundhand.RuleSetID // judges in place of our own rules of the day; empty: those
	lineUp   lineUp
	cover    readiness.Rules
	from, to groundhand.Instant // of the whole day
}

func (r *Roll) companyDay(ctx context.Context, on groundhand.Date) (*companyDay, error) {
	f := &coverFacts{roll: r}
	var err error
	if f.shelf, err = r.shelf(ctx); err != nil {
		return nil, err
	}
	if err := f.loadFamilies(ctx); err != nil {
		return nil, err
	}
	d := &companyDay{roll: r, on: on, shelf: f.shelf, from: r.start(on), to: r.start(on + 1)}
	if d.set, d.rules, err = f.shelf.on(on, ""); err != nil {
		return nil, err
	}
	d.cover = f.coverRules(d.set.ID, d.rules)
	d.lineUp, err = r.lineUp(ctx, on)
	return d, err
}

// each loads chunks and does something with each, a few at the same time; i counts the chunks.
func (d *companyDay) each(ctx context.Context, chunks [][]groundhand.Crew, do func(i int, c loadedChunk) error) error {
	return sideBySide(ctx, len(chunks), func(ctx context.Context, i int) error {
		chunk, err := d.load(ctx, chunks[i])
		if err != nil {
			return err
		}
		return do(i, chunk)
	})
}

// loadedChunk is some crews with everything recorded about their members.
type loadedChunk struct {
	day    *companyDay
	crews  []groundhand.Crew
	roster *roster
}

// load reads everything about the members of some crews.
func (d *companyDay) load(ctx context.Context, crews []groundhand.Crew) (loadedChunk, error) {
	var workers []groundhand.WorkerID
	for _, c := range crews {
		workers = append(workers, d.lineUp.members[c.ID]...)
	}
	ro, err := d.roll.roster(ctx, d.shelf, workers, d.from, d.to)
	return loadedChunk{d, crews, ro}, err
}

// chunks groups all crews, the relief pool among them, in order of id.
func (d *companyDay) chunks() [][]groundhand.Crew {
	var all []groundhand.Crew
	for _, c := range d.lineUp.crews {
		all = append(all, c)
	}
	slices.SortFunc(all, func(a, b groundhand.Crew) int { return cmp.Compare(a.ID, b.ID) })
	var out [][]groundhand.Crew
	size := chunkSize
	for _, c := range all {
		if size += len(d.lineUp.members[c.ID]); size > chunkSize {
			out, size = append(out, nil), len(d.lineUp.members[c.ID])
		}
		out[len(out)-1] = append(out[len(out)-1], c)
	}
	return out
}

func (c loadedChunk) judge(out *Company) error {
	for _, crew := range c.crews {
		workers, err := c.workers(crew)
		if err != nil {
			return err
		}
		out.Workers = append(out.Workers, workers...)
		if crew.Kind == groundhand.ReliefPool {
			continue
		}
		day, err := c.crewDay(crew)
		if err != nil {
			return err
		}
		out.Crews = append(out.Crews, day)
	}
	return nil
}

func (c loadedChunk) workers(crew groundhand.Crew) ([]WorkerDay, error) {
	asked := c.day.rules.Of(crew)
	members := c.day.lineUp.members[crew.ID]
	out := make([]WorkerDay, len(members))
	for i, who := range members {
		out[i] = WorkerDay{WorkerID: who, CrewID: crew.ID, Lines: make([]LineDay, len(asked))}
		for j, a := range asked {
			q := question(who, a)
			q.On, q.RuleSet = c.day.on, string(c.day.named)
			answer, err := c.roster.book.Glance(q)
			if err != nil {
				return nil, err
			}
			out[i].Lines[j] = LineDay{a, answer.Standing, answer.Note, answer.Line, answer.LastGoodDay, answer.ChangesOn}
		}
	}
	return out, nil
}
