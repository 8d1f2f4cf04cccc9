package rotation

import "slices"

// parcel is the part of a problem that one search may change: a grid and a roster of their own, cut out of the whole. What reaches over its
// edge (crew mates in a session that belongs to another parcel, people of other crews in one of its own) is there too, but stays as it is.
type parcel struct {
	grid                           *grid
	roster                         *roster
	crews                          []int // by position in the parcel, the position in the whole; crews of its own before those of guests
	workers                        []int // its own before guests
	tickets                        []int
	slots                          []int // its own before those only looked at
	ownCrews, ownWorkers, ownSlots int
}

// claim is what a parcel is to own: crews with all their members, workers without crew, and slots that are nobody else's to open or close.
type claim struct {
	crews, workers, slots []int
}

// cutter turns a claim into a parcel.
type cutter struct {
	whole   *roster
	claim   claim
	out     *parcel
	crew    map[int]int // from positions in the whole to those in the parcel
	worker  map[int]int
	ticket  map[int]int
	slot    map[int]int
	leaders map[int]int // instructors
	trucks  map[int]int
}

// cut makes a parcel. The whole roster is only read, so that several can be cut and searched at the same time.
func (r *roster) cut(c claim) *parcel {
	k := &cutter{whole: r, claim: c, out: &parcel{}, crew: map[int]int{}, worker: map[int]int{}, ticket: map[int]int{}, slot: map[int]int{},
		leaders: map[int]int{}, trucks: map[int]int{}}
	g := r.g
	k.out.grid = &grid{p: Problem{Start: g.p.Start, End: g.p.End, VisitMinutes: g.p.VisitMinutes}, days: g.days, words: g.words,
		workDay: g.workDay, quals: g.quals, stagger: g.stagger, travel: g.travel, costUnit: g.costUnit}
	k.people()
	k.places()
	k.guests()
	k.fillTickets()
	k.fillWorkers()
	k.fillCrews()
	k.fillSlots()
	k.out.grid.fillOffers()
	k.fillChoices()
	k.seat()
	return k.out
}

func (k *cutter) people() {
	for _, c := range k.claim.crews {
		k.addCrew(c)
		for _, w := range k.whole.g.crews[c].members {
			k.addWorker(w)
		}
	}
	for _, w := range k.claim.workers {
		k.addWorker(w)
	}
	k.out.ownCrews, k.out.ownWorkers = len(k.out.crews), len(k.out.workers)
}

func (k *cutter) addCrew(c int) {
	if _, ok := k.crew[c]; !ok {
		k.crew[c] = len(k.out.crews)
		k.out.crews = append(k.out.crews, c)
	}
}

func (k *cutter) addWorker(w int) {
	if _, ok := k.worker[w]; !ok {
		k.worker[w] = len(k.out.workers)
		k.out.workers = append(k.out.workers, w)
	}
}

func (k *cutter) addSlot(s int) {
	if _, ok := k.slot[s]; !ok {
		k.slot[s] = len(k.out.slots)
		k.out.slots = append(k.out.slots, s)
	}
}

// places takes the claimed slots whose leader is in the parcel or nobody's crew mate, and after them all sessions that people of the parcel attend or lead.
func (k *cutter) places() {
	for _, s := range k.claim.slots {
		if k.mayOpen(s) {
			k.addSlot(s)
		}
	}
	k.out.ownSlots = len(k.out.slots)
	for _, s := range k.claim.slots {
		if k.whole.held(s) {
			k.addSlot(s)
		}
	}
	for _, w := range k.out.workers[:k.out.ownWorkers] {
		for _, s := range k.whole.at[w] {
			k.addSlot(s)
		}
		for _, s := range k.whole.g.ledSlots[w] {
			if k.whole.held(s) {
				k.addSlot(s)
			}
		}
	}
}

func (k *cutter) mayOpen(s int) bool {
	leader := k.whole.g.slots[s].leader
	_, mine := k.worker[leader]
	return leader == none || mine
}

// guests are the others in the sessions: they stay where they are.
func (k *cutter) guests() {
	for _, s := range k.out.slots {
		for _, w := range k.whole.attends[s] {
			k.addWorker(w)
			if c := k.whole.g.workers[w].crew; c != none {
				k.addCrew(c)
			}
		}
	}
}

func (k *cutter) fillTickets() {
	g := k.whole.g
	for i, w := range k.out.workers {
		for _, t := range g.workers[w].tickets {
			_, there := k.slot[k.whole.renewed[t]]
			if i >= k.out.ownWorkers && !there {
				continue
			}
			k.ticket[t] = len(k.out.tickets)
			k.out.tickets = append(k.out.tickets, t)
			row := g.tickets[t]
			row.worker, row.first, row.least, row.choices, row.kept = i, none, row.never, nil, k.local(row.kept)
			k.out.grid.tickets = append(k.out.grid.tickets, row)
		}
	}
}

// local is the position of a slot in the parcel, or none when it is not there.
func (k *cutter) local(s int) int {
	if i, there := k.slot[s]; there {
		return i
	}
	return none
}

func (k *cutter) fillWorkers() {
	for _, w := range k.out.workers {
		row := k.whole.g.workers[w]
		if row.crew != none {
			row.crew = k.crew[row.crew]
		}
		row.tickets = nil
		for _, t := range k.whole.g.workers[w].tickets {
			if j, ok := k.ticket[t]; ok {
				row.tickets = append(row.tickets, j)
			}
		}
		k.out.grid.workers = append(k.out.grid.workers, row)
	}
}

// fillCrews leaves the crews of guests without rules: nothing changes for them.
func (k *cutter) fillCrews() {
	rows := make([]crewRow, len(k.out.crews))
	for i, c := range k.out.crews[:k.out.ownCrews] {
		from := k.whole.g.crews[c]
		row := crewRow{need: from.need, out: from.out}
		for _, w := range from.members {
			row.members = append(row.members, k.worker[w])
		}
		for _, rule := range from.rules {
			row.rules = append(row.rules, k.rule(rule))
		}
		rows[i] = row
	}
	for i := k.out.ownWorkers; i < len(k.out.workers); i++ {
		if c := k.out.grid.workers[i].crew; c != none {
			rows[c].members = append(rows[c].members, i)
		}
	}
	k.out.grid.crews = rows
}

func (k *cutter) rule(from ruleRow) ruleRow {
	row := ruleRow{atLeast: from.atLeast, tickets: make([][]int, len(from.tickets))}
	for i, tickets := range from.tickets {
		for _, t := range tickets {
			row.tickets[i] = append(row.tickets[i], k.ticket[t])
		}
	}
	return row
}

func (k *cutter) fillSlots() {
	g, out := k.whole.g, k.out.grid
	out.ledSlots = make([][]int, len(k.out.workers))
	for i, s := range k.out.slots {
		row := g.slots[s]
		row.callers = nil
		row.instructor = k.instructor(row.instructor)
		row.truck = k.truck(row.truck)
		if leader, ok := k.worker[row.leader]; ok && row.leader != none {
			row.leader = leader
			out.ledSlots[leader] = append(out.ledSlots[leader], i)
		} else {
			row.leader = none
		}
		if i >= k.out.ownSlots {
			row.quals = nil // nobody new can come
		}
		out.slots = append(out.slots, row)
	}
	out.trucks = len(k.trucks)
}

func (k *cutter) instructor(i int) int {
	j, ok := k.leaders[i]
	if !ok {
		j = len(k.leaders)
		k.leaders[i] = j
		k.out.grid.leaders = append(k.out.grid.leaders, none)
	}
	return j
}

func (k *cutter) truck(t int) int {
	if t == none {
		return none
	}
	j, ok := k.trucks[t]
	if !ok {
		j = len(k.trucks)
		k.trucks[t] = j
	}
	return j
}

// fillChoices gives the tickets that may move their slots in the parcel.
func (k *cutter) fillChoices() {
	g := k.out.grid
	for i, t := range k.out.tickets {
		if g.tickets[i].due && g.tickets[i].worker < k.out.ownWorkers && !k.stays(t) {
			g.fillFirst(i)
		}
	}
	g.fillShortlists()
}

// stays says that the renewal of a ticket is not the parcel's to change.
func (k *cutter) stays(t int) bool {
	s := k.whole.renewed[t]
	if s == none {
		return false
	}
	guest := k.worker[k.whole.g.tickets[t].worker] >= k.out.ownWorkers
	return guest || k.whole.pinned[t] || k.slot[s] >= k.out.ownSlots
}

// seat starts the roster of the parcel as the whole has it.
func (k *cutter) seat() {
	r := newRoster(k.out.grid)
	for i, s := range k.out.slots {
		for _, w := range k.whole.attends[s] {
			j := k.worker[w]
			r.doJoin(j, i)
			if i >= k.out.ownSlots || j >= k.out.ownWorkers || k.whole.pinnedAt[seat{w, s}] {
				r.pinnedAt[seat{j, i}] = true
			}
		}
		for _, t := range k.whole.renews[s] {
			r.doRenew(k.ticket[t], i)
			r.pinned[k.ticket[t]] = k.stays(t)
		}
	}
	for c := range k.out.grid.crews {
		r.judge(c)
	}
	r.journal = nil
	k.out.roster = r
}

// merge brings what the search made of a parcel back into the whole.
func (r *roster) merge(p *parcel) {
	changed := p.changed(r)
	for _, i := range changed {
		s := p.slots[i]
		for _, t := range slices.Clone(r.renews[s]) {
			r.doUnrenew(t)
		}
		for _, w := range slices.Clone(r.attends[s]) {
			r.doLeave(w, s)
		}
	}
	for _, i := range changed {
		s := p.slots[i]
		for _, w := range p.roster.attends[i] {
			r.doJoin(p.workers[w], s)
		}
		for _, t := range p.roster.renews[i] {
			r.doRenew(p.tickets[t], s)
		}
	}
	for i, c := range p.crews[:p.ownCrews] {
		r.crewDays += p.roster.short[i] - r.short[c]
		r.short[c] = p.roster.short[i]
	}
}

// changed lists the slots of the parcel's own in which others are or renew than in the whole.
func (p *parcel) changed(r *roster) []int {
	var out []int
	for i, s := range p.slots[:p.ownSlots] {
		if !same(p.roster.attends[i], r.attends[s], p.workers) || !same(p.roster.renews[i], r.renews[s], p.tickets) {
			out = append(out, i)
		}
	}
	return out
}

func same(mine, whole, at []int) bool {
	return slices.EqualFunc(mine, whole, func(i, w int) bool { return at[i] == w })
}
