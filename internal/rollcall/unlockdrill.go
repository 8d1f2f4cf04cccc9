package rollcall

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// drillTrials has every two people of a crew, who are not current in leading a method on a family, drill before an assessor on shift in
// their yard. Where time does not suffice before the window starts, the cells are asked about from the end of the drill on.
func (s *storm) drillTrials(ctx context.Context) ([]trial, error) {
	var out []trial
	for i := range s.rows {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		for _, m := range s.rules.Cover.Methods {
			if m.Conditional {
				continue // cannot bring anybody to ready
			}
			for _, family := range s.familiesOf(i) {
				out = append(out, s.drills(i, m, family)...)
			}
		}
	}
	return out, nil
}

// familiesOf lists the known control families of a row's devices.
func (s *storm) familiesOf(row int) []string {
	var out []string
	for _, c := range s.rows[row].cells {
		if d := c.question.Device; d != nil && d.Family != "" {
			out = append(out, d.Family)
		}
	}
	return slices.Sorted(slices.Values(unique(out)))
}

// drills offers the earliest drill of a method on a family to every pair of one crew.
func (s *storm) drills(i int, m readiness.Method, family string) []trial {
	row := &s.rows[i]
	cells := s.short(func(r *stormRow, c *GridCell, k KindOfJob) bool {
		known, _ := s.gear.known(c.DeviceID, s.ask.FromAt)
		return r.Crew.ID == row.Crew.ID && string(known.FamilyID) == family && slices.Contains(k.Methods, groundhand.Method(m.ID))
	})
	if len(cells) == 0 {
		return nil
	}
	assessor, start, there := s.earliest(row.Crew.YardID, m.ID, family)
	if !there {
		return nil
	}
	end := start + minutes(drillMinutes)
	from := max(s.ask.FromAt, end)
	people := row.cells[cells[0].cell].question.People
	var out []trial
	for _, pair := range pairs(s.assessable(people, m, family, assessor, start, end)) {
		out = append(out, trial{cells: cells, alike: s.likeness(row, m.ID+" "+family, pair, people), change: s.passed(pair, m, family, end),
			Unlock: Unlock{Do: readiness.DoDrill, ID: fmt.Sprintf("%s on %s, %s, by %s", m.ID, family, strings.Join(pair, " and "), assessor), CrewID: row.Crew.ID,
				AssessorID: assessor, Method: groundhand.Method(m.ID), FamilyID: groundhand.FamilyID(family), People: workerIDs(pair), StartAt: start, From: from}})
	}
	return out
}

// likeness: a drill of two people comes to the same as one of two others of the crew who are like them.
func (s *storm) likeness(row *stormRow, what string, pair []string, people []readiness.Person) string {
	var profiles []string
	for _, p := range people {
		if slices.Contains(pair, p.ID) {
			profiles = append(profiles, s.profile(p))
		}
	}
	slices.Sort(profiles)
	return strings.Join(append(profiles, string(row.Crew.ID), what), "\n\n")
}

func workerIDs(ids []string) []groundhand.WorkerID {
	out := make([]groundhand.WorkerID, len(ids))
	for i, id := range ids {
		out[i] = groundhand.WorkerID(id)
	}
	return out
}

// earliest is the first drill that an authorised assessor on shift in a yard can watch, over before the window ends.
func (s *storm) earliest(yard groundhand.YardID, method, family string) (who groundhand.WorkerID, start groundhand.Instant, there bool) {
	b := &pooling{coverFacts: s.coverFacts}
	for _, shift := range s.around.shifts {
		at := roundUp(max(shift.FromAt, s.now, s.ask.FromAt-minutes(drillAhead)))
		if shift.YardID != yard || !b.authorised(shift.WorkerID, method, family, s.roll.dayOf(at)) {
			continue
		}
		free, until := b.freeTime(shift, at)
		at = roundUp(max(at, free))
		end := at + minutes(drillMinutes)
		if end > until || end >= s.ask.UntilAt {
			continue
		}
		if !there || at < start || at == start && shift.WorkerID < who {
			who, start, there = shift.WorkerID, at, true
		}
	}
	return who, start, there
}

// assessable is who of a crew is not current in leading, is there for the drill and does not watch it.
func (s *storm) assessable(crew []readiness.Person, m readiness.Method, family string, assessor groundhand.WorkerID, start, end groundhand.Instant) []string {
	w := s.span()
	w.From = max(w.From, end)
	return slices.DeleteFunc(lacking(crew, m, family, w, s.roll), func(id string) bool {
		i := slices.IndexFunc(crew, func(p readiness.Person) bool { return p.ID == id })
		return id == string(assessor) || !s.free(crew[i], start, end)
	})
}

// pairs lists every two of some people; one alone, who drills with somebody already current, is a pair of their own.
func pairs(people []string) [][]string {
	slices.Sort(people)
	if len(people) == 1 {
		return [][]string{people}
	}
	var out [][]string
	for i, a := range people {
		for _, b := range people[i+1:] {
			out = append(out, []string{a, b})
		}
	}
	return out
}

// passed makes people current in leading from the end of the drill. Who led has worked the lower controls.
func (s *storm) passed(people []string, m readiness.Method, family string, end groundhand.Instant) func(readiness.Question) readiness.Question {
	gained := readiness.Capability{Method: m.ID, Role: m.Roles[0], From: readiness.Edge{At: end}, Through: s.roll.lastDay(s.ask.UntilAt), State: readiness.Current}
	if m.PerFamily {
		gained.Family = family
	}
	return func(q readiness.Question) readiness.Question {
		q.Window.From = max(q.Window.From, end)
		q.People = slices.Clone(q.People)
		for i := range q.People {
			if p := &q.People[i]; slices.Contains(people, p.ID) {
				p.Capabilities, p.OperatesLower = append(slices.Clone(p.Capabilities), gained), readiness.Yes
			}
		}
		return q
	}
}
