package rollcall

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// Unlock is one change and the cells of a grid that it would bring up. A caution belongs beside it: nothing was done, and a drill is a
// drill with its own controls.
type Unlock struct {
	Do          readiness.Do // KIT, PERSON or DRILL
	ID          string       // what it is, in a few words; equal changes come in its order
	KitID       groundhand.KitID
	DeviceID    groundhand.DeviceID // on which the kit is put
	WorkerID    groundhand.WorkerID // who joins
	LenderID    groundhand.CrewID   // relief pool or idle crew that lends them; no cell of it becomes worse
	CrewID      groundhand.CrewID   // which they join, or of which the people are who drill
	AssessorID  groundhand.WorkerID
	Method      groundhand.Method
	FamilyID    groundhand.FamilyID
	People      []groundhand.WorkerID // assessed
	StartAt     groundhand.Instant    // of the drill
	From        groundhand.Instant    // the cells hold from here to the end of the window
	Ready       []CellID              // below READY before, READY with it
	Conditional []CellID              // NOT_READY or CANNOT_TELL before, CONDITIONAL with it
}

// Bounds on the search.
const (
	mostTrials   = 20_000 // cells judged again
	unlocksShown = 5
)

// trial is a change, the cells it bears on, and what it makes of a question.
type trial struct {
	Unlock
	cells  []spot
	alike  string // trials of the same likeness come to the same; empty: none is like it
	change func(readiness.Question) readiness.Question
}

// spot is a row of a grid and a cell in it.
type spot struct{ row, cell int }

// unlocks tries every single change and gives those that unlock most cells: first by those that become ready, then by those that become
// conditional, then by name. What is too much to try is counted.
func (s *storm) unlocks(ctx context.Context) (best []Unlock, leftOut int, err error) {
	trials := s.kitTrials()
	for _, more := range []func(context.Context) ([]trial, error){s.personTrials, s.drillTrials} {
		list, err := more(ctx)
		if err != nil {
			return nil, 0, err
		}
		trials = append(trials, list...)
	}
	first := firstAlike(trials)
	trials, leftOut = affordable(trials, first)
	if err := sideBySide(ctx, len(trials), func(_ context.Context, i int) error {
		if first[i] != i {
			return nil
		}
		return s.try(&trials[i])
	}); err != nil {
		return nil, 0, err
	}
	for i := range trials {
		trials[i].Ready, trials[i].Conditional = trials[first[i]].Ready, trials[first[i]].Conditional
	}
	for _, t := range trials {
		if len(t.Ready)+len(t.Conditional) > 0 {
			best = append(best, t.Unlock)
		}
	}
	slices.SortFunc(best, func(a, b Unlock) int {
		return cmp.Or(cmp.Compare(len(b.Ready), len(a.Ready)), cmp.Compare(len(b.Conditional), len(a.Conditional)), cmp.Compare(a.ID, b.ID))
	})
	return best[:min(len(best), unlocksShown)], leftOut, nil
}

// affordable keeps as many trials as are judged in one go, and counts the rest.
func affordable(trials []trial, first []int) ([]trial, int) {
	left := mostTrials
	for i := range trials {
		if first[i] == i {
			left -= len(trials[i].cells)
		}
		if left < 0 {
			return trials[:i], len(trials) - i
		}
	}
	return trials, 0
}

// try asks each cell again with the change made. A cell that cannot be judged with it is not unlocked.
func (s *storm) try(t *trial) error {
	for _, at := range t.cells {
		cell := &s.rows[at.row].Cells[at.cell]
		a, err := readiness.Judge(t.change(s.rows[at.row].cells[at.cell].question))
		switch {
		case len(groundhand.Refusals(err)) > 0:
		case err != nil:
			return err
		case a.Verdict == readiness.Ready:
			t.Ready = append(t.Ready, cell.CellID)
		case a.Verdict == readiness.Conditional && cell.Verdict < readiness.Conditional:
			t.Conditional = append(t.Conditional, cell.CellID)
		}
	}
	return nil
}

// short lists the cells of some rows that are below READY and meet a condition.
func (s *storm) short(fits func(row *stormRow, c *GridCell, k KindOfJob) bool) []spot {
	var out []spot
	for i := range s.rows {
		row := &s.rows[i]
		for j := range row.Cells {
			c := &row.Cells[j]
			if c.Refused == nil && c.Verdict < readiness.Ready && fits(row, c, s.kinds[j%len(s.kinds)]) {
				out = append(out, spot{i, j})
			}
		}
	}
	return out
}

// kitTrials puts every spare kit of a yard on every device of it: one from the store, or from a device that is out of service, which no
// booked work uses.
func (s *storm) kitTrials() []trial {
	var out []trial
	for _, device := range s.columns() {
		yard := s.gear.devices[device].YardID
		cells := s.short(func(_ *stormRow, c *GridCell, k KindOfJob) bool { return c.DeviceID == device && s.needsKit(k) })
		for _, id := range s.spareKits(yard, device) {
			if len(cells) == 0 {
				continue
			}
			kit, _ := s.gear.kit(id, device, s.span(), s.rules.Inspections)
			kit.OnDevice = readiness.Yes
			kit.SuitsAll = s.looksAt(s.ask.Ask(CellID{})).or(readiness.Unknown, "", LookSuits)
			out = append(out, trial{cells: cells, Unlock: Unlock{Do: readiness.DoKit, ID: fmt.Sprintf("%s on %s", id, device), KitID: id, DeviceID: device, From: s.ask.FromAt},
				change: func(q readiness.Question) readiness.Question {
					q.Kit = kit
					return q
				}})
		}
	}
	return out
}

// columns lists the devices of all rows, in order.
func (s *storm) columns() []groundhand.DeviceID {
	var out []groundhand.DeviceID
	for _, row := range s.rows {
		out = append(out, row.devices...)
	}
	return slices.Sorted(slices.Values(unique(out)))
}

// needsKit says whether some method of a kind needs the kit.
func (s *storm) needsKit(k KindOfJob) bool {
	return slices.ContainsFunc(s.rules.Cover.Methods, func(m readiness.Method) bool {
		return slices.Contains(k.Methods, groundhand.Method(m.ID)) && slices.Contains(m.Needs, readiness.NeedKit)
	})
}

func (s *storm) spareKits(yard groundhand.YardID, device groundhand.DeviceID) []groundhand.KitID {
	var out []groundhand.KitID
	for id := range s.gear.kits {
		p := s.gear.placing(id, s.ask.FromAt)
		used := s.inUse(s.window(), func(j groundhand.Job) bool { return j.KitID == id || p.DeviceID != "" && j.DeviceID == p.DeviceID })
		spare := p.DeviceID == "" || p.DeviceID != device && s.outNow(p.DeviceID)
		if p.ID != "" && !used && spare && s.gear.yardOf(id, s.ask.FromAt) == yard {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	return out
}

// personTrials lets everybody of the relief pool and of idle crews of a yard join every other crew of it, if nobody is worse off.
func (s *storm) personTrials(context.Context) ([]trial, error) {
	lenders := s.pools()
	for _, row := range s.rows {
		lenders = append(lenders, row.Crew)
	}
	count := s.roster.counting(s.rules, s.ask.RuleSetID, s.rules.Cover.Families, s.ask.FromAt, s.ask.UntilAt)
	var out []trial
	for _, lender := range lenders {
		if len(s.jobsOf(lender.ID, s.window())) > 0 {
			continue
		}
		for _, who := range s.members[lender.ID] {
			p, err := s.coverFacts.member(count, who, CoverQuestion{CrewID: lender.ID, FromAt: s.ask.FromAt, ToAt: s.ask.UntilAt})
			if err != nil {
				return nil, err
			}
			harmed, err := s.harms(lender.ID, p.ID)
			if err != nil {
				return nil, err
			}
			if !harmed && s.free(p, s.ask.FromAt, s.ask.UntilAt) {
				out = append(out, s.joins(lender, p)...)
			}
		}
	}
	return out, nil
}

// joins offers one person to every crew of the yard that falls short.
func (s *storm) joins(lender groundhand.Crew, p readiness.Person) []trial {
	var out []trial
	profile := s.profile(p)
	for _, row := range s.rows {
		crew := row.Crew
		if crew.ID == lender.ID || crew.YardID != lender.YardID || slices.Contains(row.Members, groundhand.WorkerID(p.ID)) {
			continue
		}
		cells := s.short(func(r *stormRow, _ *GridCell, _ KindOfJob) bool { return r.Crew.ID == crew.ID })
		if len(cells) == 0 {
			continue
		}
		out = append(out, trial{cells: cells, alike: string(crew.ID) + "\n" + profile, Unlock: Unlock{Do: readiness.DoPerson, ID: fmt.Sprintf("%s from %s to %s", p.ID, lender.ID, crew.ID), WorkerID: groundhand.WorkerID(p.ID),
			LenderID: lender.ID, CrewID: crew.ID, From: s.ask.FromAt},
			change: func(q readiness.Question) readiness.Question {
				q.People = append(slices.Clone(q.People), p)
				return q
			}})
	}
	return out
}

// free says that somebody is there and not held back all through a stretch.
func (s *storm) free(p readiness.Person, from, to groundhand.Instant) bool {
	overlaps := func(i readiness.Interval) bool {
		begins := i.From.At
		if i.From.Day != 0 {
			begins = s.roll.start(i.From.Day)
		}
		return begins < to && (i.To == 0 || from < i.To)
	}
	return !slices.ContainsFunc(p.NotForRescue, overlaps) && !slices.ContainsFunc(p.Unavailable, func(a readiness.Absence) bool { return overlaps(a.Interval) })
}

// harms says whether some cell of a crew would be worse without one of its people. What cannot be judged cannot be shown to be unharmed.
func (s *storm) harms(crew groundhand.CrewID, who string) (bool, error) {
	i := slices.IndexFunc(s.rows, func(r stormRow) bool { return r.Crew.ID == crew })
	if i < 0 {
		return false, nil // the relief pool, which has no cells
	}
	for j, c := range s.rows[i].Cells {
		switch {
		case c.Refused != nil:
			return true, nil
		case c.Verdict >= readiness.Conditional:
			if slices.ContainsFunc(s.rows[i].cells[j].answer.NMinus1.HangsOn, func(a readiness.Absent) bool { return a.Person == who }) {
				return true, nil
			}
		case c.Verdict == readiness.CannotTell:
			q := s.rows[i].cells[j].question
			q.People = slices.DeleteFunc(slices.Clone(q.People), func(p readiness.Person) bool { return p.ID == who })
			a, err := readiness.Judge(q)
			if err != nil || a.Verdict < c.Verdict {
				return true, err
			}
		}
	}
	return false, nil
}
