package training

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// StandingChange is what a standing of somebody in a file is before and after the import.
type StandingChange struct {
	WorkerID groundhand.WorkerID // empty: the person would be new
	Number   string
	Name     string
	Method   groundhand.Method
	Role     groundhand.Role
	FamilyID groundhand.FamilyID // empty: whatever the family
	Before   Stand               // zero for a person who would be new
	After    Stand
}

// Changed says whether the import changes the standing or its last good day.
func (c StandingChange) Changed() bool { return c.Before != c.After }

// Stand is the part of an answer that does not name entries: those of a preview are never kept.
type Stand struct {
	Standing    competence.Standing
	Note        competence.Note
	LastGoodDay groundhand.Date // zero: there is none
	ChangesOn   groundhand.Date // first day with another standing if nothing else happens; zero: none
}

func standOf(a competence.Answer) Stand { return Stand{a.Standing, a.Note, a.LastGoodDay, a.ChangesOn} }

// mostStandings bounds what a preview judges.
const mostStandings = 20_000

// tryRows enters the rows, asks what everybody's standing would be, takes all back and asks what it is.
func (im *importing) tryRows() {
	outer := im.tx
	var after []rollcall.WorkerStanding
	var people []groundhand.Worker
	err := outer.InTx(im.ctx, func(tx *store.Store) error {
		im.tx = tx
		im.enterRows()
		if im.err == nil {
			people = im.peopleInFile()
			after = im.judge(people, im.fileLines())
		}
		return errDry
	})
	im.tx = outer
	if !errors.Is(err, errDry) {
		im.failed(err)
	}
	if im.err == nil && len(after) > 0 {
		im.seen.Standings = im.compare(people, after)
	}
}

// peopleInFile gives the people whose rows would be written or are known, by staff number.
func (im *importing) peopleInFile() []groundhand.Worker {
	refused := map[int]bool{}
	for _, r := range im.seen.Refusals {
		refused[r.Row] = true
	}
	var numbers []string
	for _, o := range im.sheet.Originals {
		if !refused[o.Row] && o.Number != "" {
			numbers = append(numbers, o.Number)
		}
	}
	slices.Sort(numbers)
	found, err := store.FindStanding[groundhand.Worker](im.ctx, im.tx, store.ByNumber, slices.Compact(numbers))
	im.failed(err)
	slices.SortFunc(found, func(a, b groundhand.Worker) int { return cmp.Compare(a.Number, b.Number) })
	return found
}

// fileLines are the lines that the file itself speaks of, by staff number: they are shown also where the rules ask nothing.
func (im *importing) fileLines() map[string][]rollcall.Asked {
	out := map[string][]rollcall.Asked{}
	put := func(number string, line rollcall.Asked) {
		if line.Role.Rescues() && !slices.Contains(out[number], line) {
			out[number] = append(out[number], line)
		}
	}
	for _, d := range im.sheet.Drills {
		put(d.Number, rollcall.Asked{Method: d.Method, Role: d.Role, FamilyID: d.Family})
	}
	for _, a := range im.sheet.Assessments {
		put(a.Number, rollcall.Asked{Method: a.Method, Role: a.Role, FamilyID: a.Family})
	}
	return out
}

// A line of a worker.
type workerLine struct {
	worker groundhand.WorkerID
	line   rollcall.Asked
}

func lineOf(w rollcall.WorkerStanding) workerLine {
	return workerLine{w.WorkerID, rollcall.Asked{Method: w.Method, Role: w.Role, FamilyID: w.FamilyID}}
}

// judge asks for what the rules in force ask of everybody and for the lines of the file.
func (im *importing) judge(people []groundhand.Worker, lines map[string][]rollcall.Asked) []rollcall.WorkerStanding {
	var ids []groundhand.WorkerID
	wanted := map[workerLine]bool{}
	for _, p := range people {
		ids = append(ids, p.ID)
		for _, l := range lines[p.Number] {
			wanted[workerLine{p.ID, l}] = true
		}
	}
	roll := rollcall.New(im.tx, im.desk.roll.Zone())
	im.seen.Judged = roll.Today()
	out, err := roll.Standings(im.ctx, rollcall.StandingQuestion{Workers: ids, On: im.seen.Judged})
	if im.cannotJudge(err) {
		return nil
	}
	for _, w := range out {
		delete(wanted, lineOf(w))
	}
	out = append(out, im.judgeLines(im.ctx, wanted)...)
	if len(out) > mostStandings {
		im.seen.Unjudged = "The file has too many people and methods to show every standing; only the first are shown."
		out = out[:mostStandings]
	}
	return out
}

// judgeLines asks for certain lines of certain people, one line at a time.
func (im *importing) judgeLines(ctx context.Context, wanted map[workerLine]bool) []rollcall.WorkerStanding {
	who := map[rollcall.Asked][]groundhand.WorkerID{}
	for w := range wanted {
		who[w.line] = append(who[w.line], w.worker)
	}
	roll := rollcall.New(im.tx, im.desk.roll.Zone())
	var out []rollcall.WorkerStanding
	for line, workers := range who {
		slices.Sort(workers)
		found, err := roll.Standings(ctx, rollcall.StandingQuestion{Workers: workers, On: im.seen.Judged, Lines: []rollcall.Asked{line}})
		if im.cannotJudge(err) {
			return nil
		}
		out = append(out, found...)
	}
	return out
}

// cannotJudge notes why there are no standings; a preview of the rows is of use without them.
func (im *importing) cannotJudge(err error) bool {
	if refusals := groundhand.Refusals(err); len(refusals) > 0 {
		im.seen.Unjudged = refusals[0].Message
		return true
	}
	return im.failed(err)
}

// compare asks for the same lines without the import.
func (im *importing) compare(people []groundhand.Worker, after []rollcall.WorkerStanding) []StandingChange {
	before := im.before(people, after)
	number := map[groundhand.WorkerID]string{}
	for _, p := range people {
		number[p.ID] = p.Number
	}
	names := im.namesOf(people)
	out := make([]StandingChange, 0, len(after))
	for _, a := range after {
		c := StandingChange{Number: number[a.WorkerID], Name: names[number[a.WorkerID]], Method: a.Method, Role: a.Role, FamilyID: a.FamilyID, After: standOf(a.Answer)}
		if was, there := before[lineOf(a)]; there {
			c.WorkerID, c.Before = a.WorkerID, was
		}
		out = append(out, c)
	}
	slices.SortFunc(out, func(a, b StandingChange) int {
		return cmp.Or(cmp.Compare(a.Number, b.Number), cmp.Compare(a.Method, b.Method), cmp.Compare(a.Role, b.Role), cmp.Compare(a.FamilyID, b.FamilyID))
	})
	return out
}

func (im *importing) before(people []groundhand.Worker, after []rollcall.WorkerStanding) map[workerLine]Stand {
	there := map[groundhand.WorkerID]bool{}
	for _, p := range people {
		there[p.ID] = p.RecordedAt < im.tx.Now()
	}
	wanted := map[workerLine]bool{}
	for _, a := range after {
		if there[a.WorkerID] {
			wanted[lineOf(a)] = true
		}
	}
	out := map[workerLine]Stand{}
	for _, w := range im.judgeLines(im.ctx, wanted) {
		out[lineOf(w)] = standOf(w.Answer)
	}
	return out
}

// namesOf gives the names people have now, by staff number; who would be new has the name of the file.
func (im *importing) namesOf(people []groundhand.Worker) map[string]string {
	out := map[string]string{}
	for _, row := range im.sheet.People {
		out[row.Number] = row.Name
	}
	number := map[groundhand.WorkerID]string{}
	var ids []groundhand.WorkerID
	for _, p := range people {
		ids, number[p.ID] = append(ids, p.ID), p.Number
	}
	names, err := store.FindStanding[groundhand.WorkerName](im.ctx, im.tx, store.ByWorker, ids)
	im.failed(err)
	slices.SortStableFunc(names, func(a, b groundhand.WorkerName) int { return cmp.Compare(a.HappenedOn, b.HappenedOn) })
	for _, n := range names {
		if n.HappenedOn <= im.seen.Judged {
			out[number[n.WorkerID]] = n.Name
		}
	}
	return out
}
