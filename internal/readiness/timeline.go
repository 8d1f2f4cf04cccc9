package readiness

import (
	"slices"
)

// stretches groups neighbouring moments in which verdict and all classes stay the same, as ranges of moments.
func (c course) stretches() [][2]int {
	var out [][2]int
	for i := range c {
		if i > 0 && c[i].verdict == c[i-1].verdict && slices.Equal(c[i].known, c[i-1].known) {
			out[len(out)-1][1] = i + 1
			continue
		}
		out = append(out, [2]int{i, i + 1})
	}
	return out
}

func (in *inquiry) timeline(c course) []Stretch {
	line := []Stretch{}
	for _, r := range c.stretches() {
		s := Stretch{From: in.local(in.moments[r[0]].from), To: in.local(in.moments[r[1]-1].to), Verdict: c[r[0]].verdict}
		s.MayGoAloft, s.MustStayDown = in.parted(c[r[0]])
		line = append(line, s)
	}
	return line
}

// parted parts everybody by one moment's classes; with nobody aloft there is nothing to part.
func (in *inquiry) parted(s sheet) (may, down []string) {
	if in.aloft == 0 {
		return []string{}, []string{}
	}
	var up crew
	for choice, aloft := range in.choices {
		if s.known[choice] >= Conditional {
			up |= aloft
		}
	}
	everybody := crew(1)<<len(in.people) - 1
	return in.ids(up), in.ids(everybody &^ up)
}

// holdsUntil says until when the first verdict and the first lists hold, and what ends the lists.
func (in *inquiry) holdsUntil(c course) HoldsUntil {
	end := in.local(in.q.Window.To)
	h := HoldsUntil{Verdict: end, Lists: end, Changes: []Change{}}
	for i := range c {
		if c[i].verdict != c[0].verdict {
			then := c[i].verdict
			h.Verdict, h.Then = in.local(in.moments[i].from), &then
			break
		}
	}
	if first := c.stretches()[0]; first[1] < len(c) {
		h.Lists = in.local(in.moments[first[1]].from)
		h.Changes = in.calendar.changesAt(h.Lists.At)
	}
	return h
}
