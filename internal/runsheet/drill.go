package runsheet

import "slices"

// drill is a problem with people as numbers, in the order of the problem, and what is the same in every sheet of the fewest runs.
type drill struct {
	people []Person
	needs  []Needs
	cost   [][]int // of a pair run of two people
	pairs  int     // pair runs of a sheet
	lones  int     // lone runs of a sheet
	// Beyond what is needed, so many leads and seconds are still to be filled, by anybody.
	spareLeads, spareSeconds int
	before                   []int // the last one listed before who is alike in everything, or -1
}

// nobody is no person: the second of a lone run, a timekeeper who is the instructor.
const nobody = -1

// turn is a run: lead and second, or who rescues alone and nobody.
type turn struct{ lead, second int }

func (t turn) lone() bool       { return t.second == nobody }
func (t turn) has(who int) bool { return t.lead == who || t.second == who }

func newDrill(p Problem) *drill {
	n := len(p.People)
	d := &drill{people: p.People, needs: make([]Needs, n), cost: make([][]int, n), before: make([]int, n)}
	place := map[string]int{}
	for i, w := range p.People {
		place[w.ID], d.needs[i], d.cost[i] = i, w.Needs, make([]int, n)
		for j, o := range p.People {
			if w.Crew == "" || w.Crew != o.Crew {
				d.cost[i][j] = notOfOneCrew
			}
		}
	}
	for _, c := range p.PairedBefore {
		a, b := place[c.A], place[c.B]
		d.cost[a][b] += c.Times
		d.cost[b][a] += c.Times
	}
	d.countRuns()
	for i := range n {
		d.before[i] = nobody
		for j := range i {
			if d.alike(i, j) {
				d.before[i] = j
			}
		}
	}
	return d
}

// countRuns: a pair run gives one lead and one second, and nobody does both in one run. So the pair runs are at least the leads needed, at
// least the seconds needed, and at least what any one person needs of both; and so many are enough as soon as there are two people.
func (d *drill) countRuns() {
	leads, seconds := 0, 0
	for _, n := range d.needs {
		leads, seconds, d.lones = leads+n.Lead, seconds+n.Second, d.lones+n.Lone
		d.pairs = max(d.pairs, n.Lead+n.Second)
	}
	d.pairs = max(d.pairs, leads, seconds)
	d.spareLeads, d.spareSeconds = d.pairs-leads, d.pairs-seconds
}

func (d *drill) runs() int { return d.pairs + d.lones }

// fits says why there is no sheet, nil if there is one.
func (d *drill) fits(maxRuns int) *NoSheet {
	no := &NoSheet{MaxRuns: maxRuns, PairRuns: d.pairs, LoneRuns: d.lones}
	if d.pairs > 0 && len(d.people) == 1 {
		no.NoPartner = d.people[0].ID
	}
	if no.NoPartner == "" && d.runs() <= maxRuns {
		return nil
	}
	return no
}

// alike says that two people may change places in every sheet without changing a figure.
func (d *drill) alike(i, j int) bool {
	if d.needs[i] != d.needs[j] {
		return false
	}
	for k := range d.people {
		if k != i && k != j && d.cost[i][k] != d.cost[j][k] {
			return false
		}
	}
	return true
}

// pairing is the pair runs of a sheet, in no order.
type pairing []turn

// judge counts the repeats and the cost of the pair runs among some turns.
func (d *drill) judge(turns []turn) (repeats, cost int) {
	seen := make([]bool, len(d.people)*len(d.people))
	for _, t := range turns {
		if t.lone() {
			continue
		}
		at := d.couple(t.lead, t.second)
		if seen[at] {
			repeats++
		}
		seen[at] = true
		cost += d.cost[t.lead][t.second]
	}
	return repeats, cost
}

// couple numbers two people in either order.
func (d *drill) couple(a, b int) int { return min(a, b)*len(d.people) + max(a, b) }

// loneTurns lists the lone runs.
func (d *drill) loneTurns() []turn {
	var out []turn
	for who, n := range d.needs {
		out = append(out, slices.Repeat([]turn{{who, nobody}}, n.Lone)...)
	}
	return out
}

// needed is how many runs somebody rescues in at least.
func (n Needs) needed() int { return n.Lead + n.Second + n.Lone }
