package runsheet

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
)

// standing is the figures of some turns from the second level on, as far as the order and the pairing decide them.
type standing struct{ repeats, cost, backToBack, squares int }

func (a standing) less(b standing) bool {
	switch {
	case a.repeats != b.repeats:
		return a.repeats < b.repeats
	case a.cost != b.cost:
		return a.cost < b.cost
	case a.backToBack != b.backToBack:
		return a.backToBack < b.backToBack
	}
	return a.squares < b.squares
}

// score is what the search for an order reckons with: a worse pairing is hardly ever worth going through.
func (a standing) score() int { return 2000*a.repeats + 60*a.cost + 12*a.backToBack + a.squares }

// ordering is a search for an order by small changes, some of which make it worse for a while (simulated annealing).
type ordering struct {
	d     *drill
	turns []turn
	last  []int // scratch: the run after the last one of each person
	seen  []int // scratch: the round in which a couple was last counted
	round int
}

func (d *drill) ordering(turns []turn) *ordering {
	n := len(d.people)
	return &ordering{d: d, turns: slices.Clone(turns), last: make([]int, n), seen: make([]int, n*n)}
}

// stand reckons the figures of the turns as they are.
func (o *ordering) stand() standing {
	var s standing
	clear(o.last)
	o.round++
	leader, runs := nobody, len(o.turns)
	for t, run := range o.turns {
		if run.lead == leader {
			s.backToBack++
		}
		leader = run.lead
		s.squares += o.wait(run.lead, t)
		if run.lone() {
			continue
		}
		s.squares += o.wait(run.second, t)
		s.cost += o.d.cost[run.lead][run.second]
		couple := o.d.couple(run.lead, run.second)
		if o.seen[couple] == o.round {
			s.repeats++
		}
		o.seen[couple] = o.round
	}
	for _, at := range o.last {
		if at > 0 {
			s.squares += (runs - at) * (runs - at)
		}
	}
	return s
}

func (o *ordering) wait(who, t int) int {
	w := t - o.last[who]
	o.last[who] = t + 1
	return w * w
}

// search tries so many changes and calls visit with each order that is at least as good as the best so far, which visit gives back.
func (o *ordering) search(ctx context.Context, chance *rand.Rand, tries int, best standing, visit func([]turn, standing) standing) {
	if len(o.turns) < 2 {
		return
	}
	now := o.stand()
	was := slices.Clone(o.turns)
	hot, cold := 2+float64(len(o.turns)), 0.3
	for i := range tries {
		if i%256 == 0 && ctx.Err() != nil {
			return
		}
		o.change(chance)
		then := o.stand()
		heat := hot * math.Pow(cold/hot, float64(i)/float64(tries))
		if worse := then.score() - now.score(); worse > 0 && chance.Float64() >= math.Exp(-float64(worse)/heat) {
			copy(o.turns, was)
			continue
		}
		now = then
		copy(was, o.turns)
		if !best.less(now) {
			best = visit(o.turns, now)
		}
	}
}

// change makes one small change that keeps what everybody needs.
func (o *ordering) change(chance *rand.Rand) {
	x, y := chance.IntN(len(o.turns)), chance.IntN(len(o.turns))
	switch chance.IntN(6) {
	case 0, 1:
		o.turns[x], o.turns[y] = o.turns[y], o.turns[x]
	case 2:
		moved := o.turns[x]
		copy(o.turns[x:], o.turns[x+1:])
		copy(o.turns[y+1:], o.turns[y:])
		o.turns[y] = moved
	case 3:
		slices.Reverse(o.turns[min(x, y) : max(x, y)+1])
	case 4:
		a, b := o.turns[x], o.turns[y]
		if !a.lone() && !b.lone() && a.lead != b.second && b.lead != a.second {
			o.turns[x].second, o.turns[y].second = b.second, a.second
		}
	default:
		o.helpOut(x, chance)
	}
}

// helpOut puts somebody else into a run for one who has more than he needs.
func (o *ordering) helpOut(x int, chance *rand.Rand) {
	t, who := o.turns[x], chance.IntN(len(o.last))
	if t.lone() || t.has(who) || o.d.spareLeads+o.d.spareSeconds == 0 {
		return
	}
	lead, second := o.d.surplus(o.turns, t)
	if lead && (!second || chance.IntN(2) == 0) {
		o.turns[x].lead = who
	} else if second {
		o.turns[x].second = who
	}
}
