package runsheet

import (
	"cmp"
	"context"
	"slices"
)

// rank is what the order of a pairing no worse than the best is judged by.
type rank struct{ backToBack, squares, spread int }

func (a rank) compare(b rank) int {
	return cmp.Or(cmp.Compare(a.backToBack, b.backToBack), cmp.Compare(a.squares, b.squares), cmp.Compare(a.spread, b.spread))
}

// proof goes through the sheets run by run, leaving out what cannot be better than the best found (branch and bound). It keeps to sheets
// whose repeats and cost are the best ones. Of people who are alike, the first listed rescues first.
type proof struct {
	d     *drill
	b     *partners
	w     *waits
	ctx   context.Context
	left  int  // partial sheets that may still be looked at
	whole bool // everything was looked at

	repeats, cost, allowance int // limits
	best                     rank
	bestTurns                []turn
	spreads                  bool // look for a better spread too; otherwise sheets as good up to then are left out
	least                    rank // bounds; a sheet that meets them ends the search

	turns                                    []turn
	buffers                                  [][]step // by depth
	needs                                    []Needs  // still needed
	last                                     []int    // the run after the last one, 0: none yet
	extra                                    []int    // spare places that each person may still fill
	times                                    []int    // of each couple
	spareLeads, spareSeconds, pairs          int      // left
	hadRepeats, hadCost, hadExtras, hadBacks int
	squares                                  int               // of the stretches that have ended
	tail                                     int               // fine units of everybody's rest
	seen                                     map[string][2]int // states from which nothing better came, with the backs and squares they had
}

// mostStates bounds the states that are remembered.
const mostStates = 1 << 18

func (d *drill) proof(ctx context.Context, b *partners, w *waits, limit standing, nodes int) *proof {
	n := len(d.people)
	p := &proof{d: d, b: b, w: w, ctx: ctx, left: nodes, repeats: limit.repeats, cost: limit.cost, allowance: b.allowance(limit.repeats, limit.cost),
		last: make([]int, n), times: make([]int, n*n), needs: slices.Clone(d.needs), pairs: d.pairs, spareLeads: d.spareLeads, spareSeconds: d.spareSeconds}
	p.extra = slices.Clone(w.extras)
	for who := range d.needs {
		p.tail += p.rest(who)
	}
	return p
}

// run looks for a sheet that is better than the best.
func (p *proof) run() {
	p.seen = map[string][2]int{}
	p.whole = true
	p.step()
}

// step is a run that may come next, with what it changes.
type step struct {
	turn                    turn
	spareLead, spareSecond  bool
	repeat, extra, backward int
	bound                   rank
}

// met says that the best cannot be bettered.
func (p *proof) met() bool { return p.best.compare(p.least) <= 0 }

func (p *proof) step() {
	if len(p.turns) == p.d.runs() {
		p.finish()
		return
	}
	for _, s := range p.steps() {
		if p.met() {
			return
		}
		if p.enough(s.bound) {
			return // the steps come in the order of their bounds
		}
		if p.left--; p.left < 0 || p.left%1024 == 0 && p.ctx.Err() != nil {
			p.left, p.whole = -1, false
			return
		}
		m := p.take(s)
		if !p.known() {
			p.step()
		}
		p.takeBack(s.turn, m)
	}
}

// enough says that nothing with such a bound is better than the best.
func (p *proof) enough(bound rank) bool {
	if p.spreads {
		return bound.compare(p.best) >= 0
	}
	bound.spread = p.best.spread
	return bound.compare(p.best) >= 0
}

func (p *proof) finish() {
	_, spread := p.d.timekeepers(p.turns)
	found := rank{p.hadBacks, p.squares + p.closing(), spread}
	if found.compare(p.best) < 0 {
		p.best, p.bestTurns = found, slices.Clone(p.turns)
	}
}

// closing is the squares of the last stretches.
func (p *proof) closing() int {
	sum := 0
	for _, at := range p.last {
		if at > 0 {
			sum += (p.d.runs() - at) * (p.d.runs() - at)
		}
	}
	return sum
}

// steps lists what may come next, the most hopeful first.
func (p *proof) steps() []step {
	at := len(p.turns)
	if at == len(p.buffers) {
		p.buffers = append(p.buffers, nil)
	}
	out := p.buffers[at][:0]
	lonesLeft := p.d.runs() - at - p.pairs
	for a, needs := range p.needs {
		if needs.Lone > 0 && lonesLeft > 0 && p.inTurn(a, nobody) {
			out = p.add(out, step{turn: turn{a, nobody}})
		}
		if p.pairs == 0 || needs.Lead == 0 && (p.spareLeads == 0 || p.extra[a] == 0) || !p.inTurn(a, nobody) {
			continue
		}
		for b, other := range p.needs {
			if a == b || other.Second == 0 && (p.spareSeconds == 0 || p.extra[b] == 0) || !p.inTurn(b, a) {
				continue
			}
			out = p.add(out, step{turn: turn{a, b}, spareLead: needs.Lead == 0, spareSecond: other.Second == 0})
		}
	}
	slices.SortStableFunc(out, func(a, b step) int { return a.bound.compare(b.bound) })
	p.buffers[at] = out
	return out
}

// inTurn says that everybody alike who is listed before has rescued already, or does so just before.
func (p *proof) inTurn(who, just int) bool {
	earlier := p.d.before[who]
	return p.last[who] > 0 || earlier == nobody || earlier == just || p.last[earlier] > 0
}

// add appends a step unless it breaks a limit.
func (p *proof) add(out []step, s step) []step {
	if !s.turn.lone() {
		a, b := s.turn.lead, s.turn.second
		s.repeat = min(1, p.times[p.d.couple(a, b)])
		s.extra = p.b.extra(s.turn, s.spareLead, s.spareSecond)
		if p.hadRepeats+s.repeat > p.repeats || p.hadExtras+s.extra > p.allowance || p.hadCost+p.d.cost[a][b] > p.cost {
			return out
		}
	}
	if n := len(p.turns); n > 0 && p.turns[n-1].lead == s.turn.lead {
		s.backward = 1
	}
	m := p.take(s)
	if s.bound = p.bound(); p.possible() && !p.enough(s.bound) {
		out = append(out, s)
	}
	p.takeBack(s.turn, m)
	return out
}

// mark is what a step changes, to take it back.
type mark struct {
	squares, tail, pairs, spareLeads, spareSeconds int
	repeats, cost, extras, backs                   int
	lead, second                                   served
}

// served is where somebody stands.
type served struct {
	needs       Needs
	last, extra int
}

func (p *proof) take(s step) mark {
	t, at := s.turn, len(p.turns)
	m := mark{p.squares, p.tail, p.pairs, p.spareLeads, p.spareSeconds, p.hadRepeats, p.hadCost, p.hadExtras, p.hadBacks, p.served(t.lead), served{}}
	p.turns = append(p.turns, t)
	p.hadBacks += s.backward
	p.leave(t.lead, at)
	if t.lone() {
		p.needs[t.lead].Lone--
		p.enter(t.lead, at)
		return m
	}
	m.second = p.served(t.second)
	p.leave(t.second, at)
	if s.spareLead {
		p.spareLeads--
		p.extra[t.lead]--
	} else {
		p.needs[t.lead].Lead--
	}
	if s.spareSecond {
		p.spareSeconds--
		p.extra[t.second]--
	} else {
		p.needs[t.second].Second--
	}
	p.enter(t.lead, at)
	p.enter(t.second, at)
	p.pairs--
	p.hadRepeats, p.hadExtras, p.hadCost = p.hadRepeats+s.repeat, p.hadExtras+s.extra, p.hadCost+p.d.cost[t.lead][t.second]
	p.times[p.d.couple(t.lead, t.second)]++
	return m
}

func (p *proof) takeBack(t turn, m mark) {
	p.turns = p.turns[:len(p.turns)-1]
	p.squares, p.tail, p.pairs, p.spareLeads, p.spareSeconds = m.squares, m.tail, m.pairs, m.spareLeads, m.spareSeconds
	p.hadRepeats, p.hadCost, p.hadExtras, p.hadBacks = m.repeats, m.cost, m.extras, m.backs
	p.restore(t.lead, m.lead)
	if !t.lone() {
		p.restore(t.second, m.second)
		p.times[p.d.couple(t.lead, t.second)]--
	}
}

func (p *proof) served(who int) served { return served{p.needs[who], p.last[who], p.extra[who]} }

func (p *proof) restore(who int, to served) {
	p.needs[who], p.last[who], p.extra[who] = to.needs, to.last, to.extra
}

// leave ends the stretch of somebody who is in the next run, enter begins another one.
func (p *proof) leave(who, at int) {
	p.tail -= p.rest(who)
	wait := at - p.last[who]
	p.squares += wait * wait
}

func (p *proof) enter(who, at int) {
	p.last[who] = at + 1
	p.tail += p.rest(who)
}

func (p *proof) rest(who int) int { return p.w.rest[p.extra[who]][p.needs[who].needed()][p.last[who]] }

// possible says that the pair runs left are enough for what anybody still needs of them.
func (p *proof) possible() bool {
	for _, n := range p.needs {
		if n.Lead+n.Second > p.pairs {
			return false
		}
	}
	return true
}

// bound is the least that can come of the sheet as far as it is made.
func (p *proof) bound() rank {
	at := len(p.turns)
	squares := p.w.even(p.squares + ceilDiv(p.tail+p.w.places[at][p.pairs], fine))
	return rank{p.hadBacks + p.leastBacks(), max(squares, p.least.squares), p.least.spread}
}

// leastBacks: what somebody leads or does alone in the runs left is parted by the runs of others.
func (p *proof) leastBacks() int {
	left, most := p.d.runs()-len(p.turns), 0
	last := nobody
	if n := len(p.turns); n > 0 {
		last = p.turns[n-1].lead
	}
	for who, n := range p.needs {
		own := n.Lead + n.Lone
		gaps := left - own
		if who != last {
			gaps++
		}
		most = max(most, own-gaps)
	}
	return most
}

// known says that the sheet as far as it is made comes to the same as an earlier one that was no worse, from which everything was tried.
// Who kept the time is not part of a state, so that a search for a better spread remembers nothing.
func (p *proof) known() bool {
	at := len(p.turns)
	if p.spreads || at < 3 || p.d.runs()-at < 3 {
		return false
	}
	key, squares := p.state()
	had, there := p.seen[key]
	if there && (had[0] < p.hadBacks || had[0] == p.hadBacks && had[1] <= squares) {
		return true
	}
	if there || len(p.seen) < mostStates {
		p.seen[key] = [2]int{p.hadBacks, squares}
	}
	return false
}

// state is all that decides what may still come, and the squares that are settled: those of people who are not needed any more, too.
func (p *proof) state() (key string, squares int) {
	squares = p.squares
	spare := p.spareLeads+p.spareSeconds > 0
	leader := p.turns[len(p.turns)-1].lead
	if n := p.needs[leader]; n.Lead+n.Lone+p.spareLeads == 0 {
		leader = nobody
	}
	out := make([]byte, 0, 128)
	out = appendInt(out, len(p.turns), p.pairs, p.spareLeads, leader, p.hadRepeats, p.hadCost)
	for who, n := range p.needs {
		last := p.last[who]
		if n.needed() == 0 && !spare {
			if last > 0 {
				squares += (p.d.runs() - last) * (p.d.runs() - last)
			}
			last = 0
		}
		out = append(out, byte(n.Lead), byte(n.Second), byte(n.Lone), byte(last), byte(last>>8))
	}
	for a := range p.needs {
		for b := range a {
			if spare || p.needs[a].Lead > 0 && p.needs[b].Second > 0 || p.needs[b].Lead > 0 && p.needs[a].Second > 0 {
				out = append(out, byte(min(1, p.times[p.d.couple(a, b)])))
			}
		}
	}
	return string(out), squares
}

func appendInt(key []byte, all ...int) []byte {
	for _, v := range all {
		key = append(key, byte(v), byte(v>>8), byte(v>>16))
	}
	return key
}
