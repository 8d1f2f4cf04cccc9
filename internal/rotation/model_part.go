package rotation

import (
	"math"
	"slices"
)

// parts splits the slots that come into question into groups between which no ticket can choose.
func (s *stage) parts() []map[int]bool {
	m := &musts{g: s.g}
	for _, slots := range s.pairs {
		if len(slots) > 0 {
			m.slots = append(m.slots, slots)
		}
	}
	var out []map[int]bool
	for _, part := range m.parts() {
		slots := map[int]bool{}
		for _, i := range part {
			for _, slot := range m.slots[i] {
				slots[slot] = true
			}
		}
		out = append(out, slots)
	}
	return out
}

// partOf is the program of some slots alone: what belongs to other slots takes whatever value suits a row best. It asks less than the whole
// program, so its bounds hold for the whole.
type partOf struct {
	*draft
	from []int // by variable: the one of the whole program
}

// part leaves of a stage the variables of some slots and the rows that bind them, with the cost of those slots.
func (s *stage) part(slots map[int]bool) *partOf {
	foreign := func(v int) bool { return s.site[v] != none && !slots[s.site[v]] }
	reached := s.reach(slots, foreign)
	p := &partOf{draft: newDraft()}
	number := slices.Repeat([]int{none}, len(s.lower))
	for v := range s.lower {
		if reached[v] {
			number[v] = p.variable(s.lower[v], s.upper[v], s.nature[v])
			p.from = append(p.from, v)
			if s.site[v] != none {
				p.cost[number[v]] = s.cost[v]
			}
		}
	}
	for _, r := range s.rows {
		var own, others sum
		for _, t := range r.terms {
			if number[t.Variable] != none {
				t.Variable = number[t.Variable]
				own = append(own, t)
			} else {
				others = append(others, t)
			}
		}
		if len(own) > 0 {
			least, most := s.rangeOf(others)
			p.row(r.lower-most, r.upper-least, own)
		}
	}
	return p
}

// reach finds the variables that the rows tie to those of some slots, not through those of other slots.
func (s *stage) reach(slots map[int]bool, foreign func(v int) bool) []bool {
	rows := make([][]int, len(s.lower))
	for i, r := range s.rows {
		for _, t := range r.terms {
			rows[t.Variable] = append(rows[t.Variable], i)
		}
	}
	reached := make([]bool, len(s.lower))
	var next []int
	for v := range s.lower {
		if s.site[v] != none && slots[s.site[v]] {
			reached[v] = true
			next = append(next, v)
		}
	}
	seen := make([]bool, len(s.rows))
	for len(next) > 0 {
		v := next[0]
		next = next[1:]
		for _, i := range rows[v] {
			if seen[i] {
				continue
			}
			seen[i] = true
			for _, t := range s.rows[i].terms {
				if u := t.Variable; !reached[u] && !foreign(u) {
					reached[u] = true
					next = append(next, u)
				}
			}
		}
	}
	return reached
}

// rangeOf is the least and the most that a sum can be, each ticket being renewed at most once.
func (s *stage) rangeOf(terms sum) (least, most float64) {
	low, high := map[int]float64{}, map[int]float64{}
	for _, t := range terms {
		v := t.Variable
		if ticket := s.ticket[v]; ticket != none && s.lower[v] == 0 && s.upper[v] == 1 {
			low[ticket], high[ticket] = min(low[ticket], t.Coefficient), max(high[ticket], t.Coefficient)
			continue
		}
		a, b := t.Coefficient*s.lower[v], t.Coefficient*s.upper[v]
		least, most = least+min(a, b), most+max(a, b)
	}
	for _, ticket := range distinct(keys(low)) {
		least, most = least+low[ticket], most+high[ticket]
	}
	if math.IsNaN(least) || math.IsNaN(most) {
		return math.Inf(-1), math.Inf(1)
	}
	return least, most
}
