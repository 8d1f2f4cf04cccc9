package rollcall

import (
	"fmt"
	"slices"
	"strings"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// profile is everything about somebody that a verdict over the window of a grid can rest on, their name apart: what it says of one, it says
// of all who are alike, and one trial stands for them.
func (s *storm) profile(p readiness.Person) string {
	lines := []string{fmt.Sprint("grade ", p.Grade, " ", p.CanGoAloft, " ", p.OperatesLower)}
	for _, c := range p.Capabilities {
		lines = append(lines, s.clipped(fmt.Sprint("held ", c.Method, " ", c.Role, " ", c.Family, " ", c.State), s.begins(c.From), s.roll.start(c.Through+1)))
	}
	for _, a := range p.FirstAid {
		lines = append(lines, s.clipped("aid", s.begins(a.From), s.roll.start(a.Through+1)))
	}
	for _, i := range p.NotForRescue {
		lines = append(lines, s.clipped("not for rescue", s.begins(i.From), s.ends(i)))
	}
	for _, a := range p.Unavailable {
		lines = append(lines, s.clipped("away", s.begins(a.From), s.ends(a.Interval)))
	}
	slices.Sort(lines)
	return strings.Join(slices.Compact(lines), "\n")
}

func (s *storm) begins(e readiness.Edge) groundhand.Instant {
	if e.Day != 0 {
		return s.roll.start(e.Day)
	}
	return e.At
}

func (s *storm) ends(i readiness.Interval) groundhand.Instant {
	if i.To == 0 {
		return s.ask.UntilAt
	}
	return i.To
}

// clipped cuts a span to the window; nothing is left of one that lies outside.
func (s *storm) clipped(what string, from, to groundhand.Instant) string {
	from, to = max(from, s.ask.FromAt), min(to, s.ask.UntilAt)
	if from >= to {
		return ""
	}
	return fmt.Sprint(what, " ", int64(from), " ", int64(to))
}

// firstAlike gives for each trial the first one that is alike; those without a likeness stand for themselves.
func firstAlike(trials []trial) []int {
	first, seen := make([]int, len(trials)), map[string]int{}
	for i, t := range trials {
		first[i] = i
		if t.alike == "" {
			continue
		}
		if at, known := seen[t.alike]; known {
			first[i] = at
			continue
		}
		seen[t.alike] = i
	}
	return first
}
