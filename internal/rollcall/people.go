package rollcall

import (
	"cmp"
	"fmt"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rulebook"
)

// counting turns workers into the people of a cover question.
type counting struct {
	capabilities
	rules    rulebook.Rules
	families []string // of the device; all of them where it is not known
	grades   map[groundhand.WorkerID][]groundhand.Grading
	away     map[groundhand.WorkerID][]groundhand.Unavailability
}

func (c counting) person(who groundhand.WorkerID, crew groundhand.CrewID) (readiness.Person, error) {
	grade := c.grade(who)
	p := readiness.Person{ID: string(who), Crew: string(crew), Grade: gradeWord(grade), CanGoAloft: grade.Grade.Aloft(), OperatesLower: readiness.No,
		Capabilities: []readiness.Capability{}, FirstAid: []readiness.FirstAid{}, NotForRescue: []readiness.Interval{}, Unavailable: []readiness.Absence{}}
	for _, m := range c.rules.Cover.Methods {
		held, err := c.held(who, m)
		if err != nil {
			return p, err
		}
		p.Capabilities = append(p.Capabilities, held...)
	}
	for _, held := range p.Capabilities {
		if held.Role != readiness.Second {
			p.OperatesLower = readiness.Yes // who leads or rescues alone works the lower controls
		}
	}
	var err error
	p.FirstAid, err = c.firstAid(who)
	c.absences(&p, who)
	return p, err
}

// held lists what somebody may do in a method, for each family it goes by.
func (c counting) held(who groundhand.WorkerID, m readiness.Method) ([]readiness.Capability, error) {
	families := c.families
	if !m.PerFamily {
		families = []string{""}
	}
	var out []readiness.Capability
	for _, family := range families {
		for _, role := range m.Roles {
			if role == readiness.Second && leadsThroughout(out, m.ID, family, c.days.From, c.days.Through) {
				continue // a lead stands in for a second
			}
			stints, err := c.stints(who, rulebook.Asked{Method: groundhand.Method(m.ID), Role: groundhand.Role(role), FamilyID: groundhand.FamilyID(family)})
			if err != nil {
				return nil, err
			}
			for _, s := range stints {
				out = append(out, readiness.Capability{Method: m.ID, Role: role, Family: family, From: s.from, Through: s.through, State: s.state})
			}
		}
	}
	return out, nil
}

func leadsThroughout(held []readiness.Capability, method, family string, from, through groundhand.Date) bool {
	for _, h := range held {
		if h.Method == method && h.Family == family && h.Role == readiness.Lead && h.State == readiness.Current && h.From.Day == from && h.Through == through {
			return true
		}
	}
	return false
}

// firstAid counts only what is in date: an extension or acceptance on paper brings nobody back to breathing.
func (c counting) firstAid(who groundhand.WorkerID) ([]readiness.FirstAid, error) {
	out := []readiness.FirstAid{}
	stints, err := c.stints(who, rulebook.Asked{Method: groundhand.FirstAid, Role: groundhand.Second})
	for _, s := range stints {
		if s.state == readiness.Current || s.state == readiness.InGrace {
			out = append(out, readiness.FirstAid{From: s.from, Through: s.through})
		}
	}
	return out, err
}

// absences says when somebody is not there or held back. Of the kinds a dispatcher may see, sickness becomes OTHER; reasons are not read.
func (c counting) absences(p *readiness.Person, who groundhand.WorkerID) {
	for _, u := range c.away[who] {
		span := readiness.Interval{From: readiness.Edge{At: wholeSecond(u.FromAt)}, To: nextSecond(u.ToAt)}
		switch {
		case u.Kind == groundhand.NotForRescue:
			p.NotForRescue = append(p.NotForRescue, span)
		case u.Kind.Absent():
			p.Unavailable = append(p.Unavailable, readiness.Absence{Interval: span, Why: why(u.Kind)})
		}
	}
}

func why(k groundhand.UnavailabilityKind) readiness.Why {
	switch k {
	case groundhand.Leave:
		return readiness.WhyLeave
	case groundhand.Rest:
		return readiness.WhyRest
	}
	return readiness.WhyOther
}

// grade is the grade over the days of the window; where it changes, the stricter one. No grade known: one that goes nowhere.
func (c counting) grade(who groundhand.WorkerID) groundhand.Grading {
	first, last := gradeOn(c.grades[who], c.days.From), gradeOn(c.grades[who], c.days.Through)
	if strictness(last) > strictness(first) {
		return last
	}
	return first
}

func gradeOn(gradings []groundhand.Grading, day groundhand.Date) groundhand.Grading {
	var best groundhand.Grading
	for _, g := range gradings {
		if g.HappenedOn <= day && cmp.Or(cmp.Compare(g.HappenedOn, best.HappenedOn), cmp.Compare(g.RecordedAt, best.RecordedAt), cmp.Compare(g.ID, best.ID)) > 0 {
			best = g
		}
	}
	return best
}

// strictness orders grades by how little they may do.
func strictness(g groundhand.Grading) int {
	switch g.Grade {
	case groundhand.Qualified:
		return 0
	case groundhand.Apprentice:
		return 10 - g.Year
	case groundhand.Ground:
		return 20
	}
	return 30
}

// gradeWord is the grade as the rules' limits spell it: "APPRENTICE_1" and so on.
func gradeWord(g groundhand.Grading) string {
	switch g.Grade {
	case groundhand.Apprentice:
		return fmt.Sprintf("APPRENTICE_%d", max(1, g.Year))
	case "":
		return "UNKNOWN"
	}
	return string(g.Grade)
}
