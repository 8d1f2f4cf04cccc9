package runsheet

import (
	"cmp"
	"context"
	"slices"
)

// pairingNodes is how many partial pairings are looked at before the search for the best one is given up.
const pairingNodes = 400_000

// pairUp finds the pairing of the fewest repeats and then the least cost, and a bound of each; the bound of the cost speaks of pairings
// that repeat no more. The bound of places comes along for the search of an order.
func (d *drill) pairUp(ctx context.Context) (best pairing, b *partners, repeats, cost int) {
	repeats = d.leastRepeats()
	b, best = newPartners(d, repeats)
	best = d.repair(best)
	s := &pairSearch{d: d, b: b, ctx: ctx, left: pairingNodes}
	s.bestRepeats, s.bestCost = d.judge(best)
	if s.bestRepeats > repeats || s.bestCost > b.bound(repeats) {
		s.each(func(found pairing) {
			if d.better(found, best) {
				best = slices.Clone(found)
				s.bestRepeats, s.bestCost = d.judge(best)
			}
		})
	} else {
		s.whole = true
	}
	if s.whole {
		return best, b, s.bestRepeats, s.bestCost
	}
	return best, b, repeats, min(b.bound(s.bestRepeats), s.bestCost)
}

// pairSearch goes through the pairings place by place, leaving out what cannot be better than the best found. Without a best it goes
// through all of them.
type pairSearch struct {
	d     *drill
	b     *partners
	ctx   context.Context
	left  int  // partial pairings that may still be looked at
	whole bool // everything was looked at

	all                   bool // leave nothing out
	bestRepeats, bestCost int

	leads           []int
	seconds         []int // needed seconds not yet given, of each person
	spares          int   // spare seconds not yet given
	times           []int // of each couple
	made            pairing
	repeats, extras int
	leastRepeats    int
	visit           func(pairing)
}

// each calls visit with every pairing that may be better than the best; whole says afterwards that none was left out for want of time.
func (s *pairSearch) each(visit func(pairing)) {
	s.leads, _ = s.d.places()
	s.seconds, s.spares = make([]int, len(s.d.people)), s.d.spareSeconds
	for i, n := range s.d.needs {
		s.seconds[i] = n.Second
	}
	s.times = make([]int, len(s.d.people)*len(s.d.people))
	s.leastRepeats, s.visit, s.whole = s.d.leastRepeats(), visit, true
	s.fill(0)
}

// hopeless says that no pairing with so many repeats and extras is better than the best.
func (s *pairSearch) hopeless(repeats, extras int) bool {
	if s.all {
		return false
	}
	cost := ceilDiv(s.b.least(s.bestRepeats)+extras, grain)
	repeats = max(repeats, s.leastRepeats)
	return repeats > s.bestRepeats || repeats == s.bestRepeats && cost >= s.bestCost
}

// option is a run for the next place.
type option struct {
	turn   turn
	spare  bool // the second takes a spare place
	repeat int
	extra  int
}

func (s *pairSearch) fill(at int) {
	if at == len(s.leads) {
		s.visit(s.made)
		return
	}
	for _, o := range s.options(at) {
		if s.hopeless(s.repeats+o.repeat, s.extras+o.extra) {
			continue
		}
		if s.left--; s.left < 0 || s.left%1024 == 0 && s.ctx.Err() != nil {
			s.left, s.whole = -1, false
			return
		}
		s.take(o, 1)
		s.made = append(s.made, o.turn)
		s.fill(at + 1)
		s.made = s.made[:at]
		s.take(o, -1)
	}
}

func (s *pairSearch) take(o option, sign int) {
	if o.spare {
		s.spares -= sign
	} else {
		s.seconds[o.turn.second] -= sign
	}
	s.times[s.d.couple(o.turn.lead, o.turn.second)] += sign
	s.repeats += sign * o.repeat
	s.extras += sign * o.extra
}

// options lists the runs for a place, the most hopeful first. Equal places take their runs in the order of the people, so that no pairing
// comes twice.
func (s *pairSearch) options(at int) []option {
	var out []option
	who := s.leads[at]
	for lead := range s.d.people {
		if who != nobody && lead != who {
			continue
		}
		for second := range s.d.people {
			spare := s.seconds[second] == 0
			t := turn{lead, second}
			if lead == second || spare && s.spares == 0 || at > 0 && s.leads[at-1] == who && earlier(t, s.made[at-1]) {
				continue
			}
			o := option{turn: t, spare: spare, repeat: min(1, s.times[s.d.couple(lead, second)])}
			if !s.all {
				o.extra = s.b.extra(t, who == nobody, spare)
			}
			out = append(out, o)
		}
	}
	slices.SortStableFunc(out, func(a, b option) int { return cmp.Or(cmp.Compare(a.repeat, b.repeat), cmp.Compare(a.extra, b.extra)) })
	return out
}

func earlier(a, b turn) bool { return a.lead < b.lead || a.lead == b.lead && a.second < b.second }

// mending makes a pairing better step by step.
type mending struct {
	d              *drill
	pairs          pairing
	times          []int // of each couple
	leads, seconds []int // of each person
}

// repair exchanges the seconds of two runs, or somebody who has more than he needs, as long as that makes the pairing better.
func (d *drill) repair(pairs pairing) pairing {
	n := len(d.people)
	m := &mending{d, slices.Clone(pairs), make([]int, n*n), make([]int, n), make([]int, n)}
	for _, t := range pairs {
		m.count(t, 1)
	}
	for better := true; better; {
		better = false
		for i := range pairs {
			for j := range i {
				a, b := m.pairs[i], m.pairs[j]
				better = m.exchange([]int{i, j}, turn{a.lead, b.second}, turn{b.lead, a.second}) || better
			}
			for who := range n {
				t := m.pairs[i]
				better = m.leads[t.lead] > d.needs[t.lead].Lead && m.exchange([]int{i}, turn{who, t.second}) || better
				t = m.pairs[i]
				better = m.seconds[t.second] > d.needs[t.second].Second && m.exchange([]int{i}, turn{t.lead, who}) || better
			}
		}
	}
	return m.pairs
}

func (m *mending) count(t turn, by int) {
	m.times[m.d.couple(t.lead, t.second)] += by
	m.leads[t.lead] += by
	m.seconds[t.second] += by
}

// exchange puts other runs in some places, and takes that back unless it makes the pairing better.
func (m *mending) exchange(at []int, to ...turn) bool {
	repeats, cost := 0, 0
	were := make([]turn, len(at))
	for k, i := range at {
		were[k] = m.pairs[i]
		if to[k].lead == to[k].second {
			return false
		}
	}
	for _, t := range were {
		m.count(t, -1)
		repeats, cost = repeats-min(1, m.times[m.d.couple(t.lead, t.second)]), cost-m.d.cost[t.lead][t.second]
	}
	for _, t := range to {
		repeats, cost = repeats+min(1, m.times[m.d.couple(t.lead, t.second)]), cost+m.d.cost[t.lead][t.second]
		m.count(t, 1)
	}
	if repeats < 0 || repeats == 0 && cost < 0 {
		for k, i := range at {
			m.pairs[i] = to[k]
		}
		return true
	}
	for k, t := range to {
		m.count(t, -1)
		m.count(were[k], 1)
	}
	return false
}

// surplus says whether the lead and the second of a run have more than they need.
func (d *drill) surplus(turns []turn, t turn) (lead, second bool) {
	leads, seconds := 0, 0
	for _, o := range turns {
		if o.lone() {
			continue
		}
		if o.lead == t.lead {
			leads++
		}
		if o.second == t.second {
			seconds++
		}
	}
	return leads > d.needs[t.lead].Lead, seconds > d.needs[t.second].Second
}
