package runsheet

import "slices"

// grain is how finely the bounds reckon: each unit of a figure is so many of theirs.
const grain = 64

// partners bounds the cost of the pair runs. It is the assignment of seconds to leads with a toll on each couple, which keeps couples from
// repeating (a Lagrangian relaxation of "each couple once"). Each lead and each second that is filled takes a place: one that somebody
// needs, or a spare one that anybody fills. All numbers are in grains.
type partners struct {
	d           *drill
	tolls       [][]int // of a couple, in both orders
	most        int     // the greatest toll
	base        int     // what the places cost together, less all tolls
	lead        []int   // potential of somebody's needed leads
	second      []int   // potential of somebody's needed seconds
	spareLead   int
	spareSecond int
}

// least is a number of repeated pair runs below which no sheet of the fewest runs can come: somebody has no more partners than there are
// others, and a run has only two people in it.
func (d *drill) leastRepeats() int {
	n, each, sum := len(d.people), 0, 0
	for _, needs := range d.needs {
		over := max(0, needs.Lead+needs.Second-(n-1))
		each, sum = max(each, over), sum+over
	}
	return max(each, (sum+1)/2, d.pairs-n*(n-1)/2, 0)
}

// newPartners looks for tolls that make the bound high for sheets of at most so many repeats. The cheapest places found on the way are a
// start for the search.
func newPartners(d *drill, repeats int) (best *partners, start pairing) {
	const tries, work = 60, 200_000_000
	tolls := make([][]int, len(d.people))
	for i := range tolls {
		tolls[i] = make([]int, len(d.people))
	}
	step := 2 * grain
	for range max(1, min(tries, work/max(1, d.pairs*d.pairs*d.pairs))) {
		now, pairs := d.place(tolls)
		if best == nil || now.least(repeats) > best.least(repeats) {
			best = now
		}
		if start == nil || d.better(pairs, start) {
			start = pairs
		}
		if !d.toll(tolls, pairs, step) {
			break
		}
		step = max(1, step*9/10)
	}
	return best, start
}

// least bounds the grains of a sheet of at most so many repeats: each repeat pays a toll that the couple was thought not to pay.
func (b *partners) least(repeats int) int { return b.base - repeats*b.most }

// bound is the same as a figure.
func (b *partners) bound(repeats int) int { return max(0, ceilDiv(b.least(repeats), grain)) }

func ceilDiv(a, b int) int {
	if a <= 0 {
		return a / b
	}
	return (a + b - 1) / b
}

func (d *drill) better(a, b pairing) bool {
	ar, ac := d.judge(a)
	br, bc := d.judge(b)
	return ar < br || ar == br && ac < bc
}

// toll raises the tolls of couples that come more than once and lowers those of couples that do not come. It says whether any changed.
func (d *drill) toll(tolls [][]int, pairs pairing, step int) (changed bool) {
	times := map[int]int{}
	for _, t := range pairs {
		times[d.couple(t.lead, t.second)]++
	}
	for a := range d.people {
		for b := range a {
			was := tolls[a][b]
			switch n := times[d.couple(a, b)]; {
			case n > 1:
				tolls[a][b] += (n - 1) * step
			case n == 0:
				tolls[a][b] = max(0, was-step)
			}
			tolls[b][a] = tolls[a][b]
			changed = changed || tolls[a][b] != was
		}
	}
	return changed
}

// place assigns the places under some tolls.
func (d *drill) place(tolls [][]int) (*partners, pairing) {
	b := &partners{d: d, lead: make([]int, len(d.people)), second: make([]int, len(d.people))}
	for a := range tolls {
		b.tolls = append(b.tolls, slices.Clone(tolls[a]))
		for _, toll := range tolls[a][:a] {
			b.base, b.most = b.base-toll, max(b.most, toll)
		}
	}
	leads, seconds := d.places()
	cheapest := b.cheapest()
	table := make([][]int, d.pairs)
	for i, lead := range leads {
		table[i] = make([]int, d.pairs)
		for j, second := range seconds {
			table[i][j] = cheapest(lead, second).grains
		}
	}
	columnOf, rows, columns := assign(table)
	var pairs pairing
	for i, j := range columnOf {
		pairs = append(pairs, cheapest(leads[i], seconds[j]).turn)
		b.base += rows[i] + columns[j]
	}
	for i, lead := range leads {
		if lead == nobody {
			b.spareLead = rows[i]
		} else {
			b.lead[lead] = rows[i]
		}
	}
	for j, second := range seconds {
		if second == nobody {
			b.spareSecond = columns[j]
		} else {
			b.second[second] = columns[j]
		}
	}
	return b, pairs
}

// places lists who needs to lead and who needs to be second, once for each time, with nobody for the spare places.
func (d *drill) places() (leads, seconds []int) {
	for who, n := range d.needs {
		leads = append(leads, slices.Repeat([]int{who}, n.Lead)...)
		seconds = append(seconds, slices.Repeat([]int{who}, n.Second)...)
	}
	leads = append(leads, slices.Repeat([]int{nobody}, d.spareLeads)...)
	return leads, append(seconds, slices.Repeat([]int{nobody}, d.spareSeconds)...)
}

// offer is the cheapest run for two places.
type offer struct {
	turn   turn
	grains int
}

// cheapest gives the cheapest run of two places; whoever is cheapest fills a spare one.
func (b *partners) cheapest() func(lead, second int) offer {
	d := b.d
	none := offer{grains: forbidden}
	asLead, asSecond, anybody := slices.Repeat([]offer{none}, len(d.people)), slices.Repeat([]offer{none}, len(d.people)), none
	for i := range d.people {
		for j := range d.people {
			if i == j {
				continue
			}
			o := offer{turn{i, j}, b.grains(i, j)}
			if o.grains < asLead[i].grains {
				asLead[i] = o
			}
			if o.grains < asSecond[j].grains {
				asSecond[j] = o
			}
			if o.grains < anybody.grains {
				anybody = o
			}
		}
	}
	return func(lead, second int) offer {
		switch {
		case lead == nobody && second == nobody:
			return anybody
		case lead == nobody:
			return asSecond[second]
		case second == nobody:
			return asLead[lead]
		case lead == second:
			return none
		}
		return offer{turn{lead, second}, b.grains(lead, second)}
	}
}

// grains is what a pair run costs with its toll.
func (b *partners) grains(i, j int) int { return grain*b.d.cost[i][j] + b.tolls[i][j] }

// extra is how much dearer than the bound a sheet becomes by a run whose places are needed or spare ones; never negative. The extras of all
// runs of a sheet, the base and the tolls of couples left out make up its cost exactly.
func (b *partners) extra(t turn, spareLead, spareSecond bool) int {
	out := b.grains(t.lead, t.second)
	if spareLead {
		out -= b.spareLead
	} else {
		out -= b.lead[t.lead]
	}
	if spareSecond {
		return out - b.spareSecond
	}
	return out - b.second[t.second]
}

// allowance is how many grains of extras a sheet can have whose repeats and cost are no more than these.
func (b *partners) allowance(repeats, cost int) int { return grain*cost - b.least(repeats) }

// extras is how many spare places each person may fill in a sheet whose repeats and cost are no more than these. A couple comes once, and
// once more for each repeat.
func (b *partners) extras(repeats, cost int) []int {
	out := make([]int, len(b.d.people))
	allowed := b.allowance(repeats, cost)
	for i := range out {
		leads, seconds := 0, 0
		for j, needs := range b.d.needs {
			if i == j {
				continue
			}
			if b.leastExtra(turn{j, i}, false, true) <= allowed {
				seconds += min(needs.Lead+b.d.spareLeads, 1+repeats)
			}
			if b.leastExtra(turn{i, j}, true, false) <= allowed {
				leads += min(needs.Second+b.d.spareSeconds, 1+repeats)
			}
		}
		out[i] = min(leads, b.d.spareLeads) + min(seconds, b.d.spareSeconds)
	}
	return out
}

// leastExtra is the extra of a run in which one place is a spare one and the other may be.
func (b *partners) leastExtra(t turn, spareLead, spareSecond bool) int {
	least := forbidden
	for _, lead := range []bool{false, true} {
		for _, second := range []bool{false, true} {
			if spareLead && !lead || spareSecond && !second || lead && b.d.spareLeads == 0 || second && b.d.spareSeconds == 0 ||
				!lead && b.d.needs[t.lead].Lead == 0 || !second && b.d.needs[t.second].Second == 0 {
				continue
			}
			least = min(least, b.extra(t, lead, second))
		}
	}
	return least
}
