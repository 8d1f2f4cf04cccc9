package rotation

import (
	"cmp"
	"math/rand/v2"
	"slices"
)

// party is what stays together when a problem is split: a crew, or a worker without crew.
type party struct {
	crew, worker int // one of them none
	yard         int // of its first member
	due          int // due tickets
}

// splitter deals the parties and slots of a problem out to parcels.
type splitter struct {
	r       *roster
	rng     *rand.Rand
	parties []party
	partyOf []int         // by worker
	ties    [][]int       // usable slots that get in each other's way over an instructor or truck and so belong to one parcel
	claimOf []int         // by party, in the split at hand; none: in no claim
	byYard  [][]int       // parties
	wants   map[int][]int // by party: slots in which its people would lapse less, when the split looks at those
	wanted  map[int]int   // by such a slot: a party that wants it
}

func newSplitter(r *roster) *splitter {
	s := &splitter{r: r, partyOf: make([]int, len(r.g.workers)), byYard: make([][]int, len(r.g.travel))}
	for c, crew := range r.g.crews {
		if len(crew.members) > 0 {
			s.addParty(party{crew: c, worker: none}, crew.members)
		}
	}
	for w, row := range r.g.workers {
		if row.crew == none {
			s.addParty(party{crew: none, worker: w}, []int{w})
		}
	}
	s.ties = r.g.ties()
	return s
}

func (s *splitter) addParty(p party, members []int) {
	p.yard = s.r.g.workers[members[0]].yard
	for _, w := range members {
		s.partyOf[w] = len(s.parties)
		for _, t := range s.r.g.workers[w].tickets {
			if s.r.g.tickets[t].due {
				p.due++
			}
		}
	}
	s.byYard[p.yard] = append(s.byYard[p.yard], len(s.parties))
	s.parties = append(s.parties, p)
}

// ties groups the usable slots that clash over an instructor or a truck, directly or by way of others.
func (g *grid) ties() [][]int {
	root := make([]int, len(g.slots))
	for i := range root {
		root[i] = i
	}
	find := func(i int) int {
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	type need struct{ day, instructor, truck int }
	first := map[need]int{}
	join := func(n need, s int) {
		if o, ok := first[n]; ok {
			root[find(s)] = find(o)
		} else {
			first[n] = s
		}
	}
	for s, slot := range g.slots {
		if slot.aside != "" {
			continue
		}
		join(need{slot.day, slot.instructor, none}, s)
		if slot.truck != none {
			join(need{slot.day, none, slot.truck}, s)
		}
	}
	byRoot := make([][]int, len(g.slots))
	for s, slot := range g.slots {
		if slot.aside == "" {
			byRoot[find(s)] = append(byRoot[find(s)], s)
		}
	}
	return slices.DeleteFunc(byRoot, func(tie []int) bool { return len(tie) == 0 })
}

// split makes claims of about so many due tickets each. Parties near each other on a line between two yards drawn by chance come into one
// claim; when grown, first those who meet in sessions. Every party and every usable slot is in just one claim.
func (s *splitter) split(rng *rand.Rand, tickets int, grown bool) []claim {
	s.rng, s.wants, s.wanted = rng, nil, nil
	s.deal(s.order(), tickets, grown)
	return s.claims()
}

// splitAround makes claims around the people who lapse for longer than they must: with the slots in which they would lapse less, whoever
// sits there and whoever would lead them. The rest is in no claim.
func (s *splitter) splitAround(rng *rand.Rand, tickets int) []claim {
	s.rng, s.wants, s.wanted = rng, map[int][]int{}, map[int]int{}
	for t := range s.r.g.tickets {
		s.want(t)
	}
	order := slices.DeleteFunc(s.order(), func(p int) bool { return len(s.wants[p]) == 0 })
	s.deal(order, tickets, true)
	return s.claims()
}

// mostWanted is how many slots are kept in mind for one ticket.
const mostWanted = 12

func (s *splitter) want(t int) {
	g, row := s.r.g, &s.r.g.tickets[t]
	now := s.r.lapsedDays(t)
	if !g.worthPlacing(t) || now <= row.least || s.r.pinned[t] {
		return
	}
	var better []int
	for _, slot := range g.offeredFrom(t) {
		if g.lapsed(t, slot) >= now {
			break // later ones are no better
		}
		if g.eligible(t, slot) {
			better = append(better, slot)
		}
	}
	s.rng.Shuffle(len(better), func(i, j int) { better[i], better[j] = better[j], better[i] })
	p := s.partyOf[row.worker]
	for _, slot := range better[:min(len(better), mostWanted)] {
		s.wants[p] = append(s.wants[p], slot)
		if _, there := s.wanted[slot]; !there {
			s.wanted[slot] = p
		}
	}
}

// claims collects what was dealt out.
func (s *splitter) claims() []claim {
	claims := make([]claim, 1+slices.Max(s.claimOf))
	for i, p := range s.parties {
		switch claim := s.claimOf[i]; {
		case claim == none:
		case p.crew != none:
			claims[claim].crews = append(claims[claim].crews, p.crew)
		default:
			claims[claim].workers = append(claims[claim].workers, p.worker)
		}
	}
	for _, tie := range s.ties {
		if owner := s.owner(tie); owner != none {
			claims[owner].slots = append(claims[owner].slots, tie...)
		}
	}
	for i := range claims {
		slices.Sort(claims[i].slots)
	}
	return claims
}

// order lines the parties up between two yards drawn by chance; those of one yard in any order.
func (s *splitter) order() []int {
	yards := len(s.byYard)
	a, b := s.rng.IntN(yards), s.rng.IntN(yards)
	const far = 10_000 // minutes, for yards that do not reach each other
	distance := func(from, to int) int {
		if m := s.r.g.travel[from][to]; m != none {
			return m
		}
		return far
	}
	place := s.rng.Perm(yards) // so that yards at the same place do not mix
	order := s.rng.Perm(len(s.parties))
	slices.SortStableFunc(order, func(i, j int) int {
		x, y := s.parties[i].yard, s.parties[j].yard
		return cmp.Or(cmp.Compare(distance(x, a)-distance(x, b), distance(y, a)-distance(y, b)), cmp.Compare(place[x], place[y]))
	})
	return order
}

// deal gives each party in the order its claim, all of about the same size; when grown, those who meet them are taken along.
func (s *splitter) deal(order []int, tickets int, grown bool) {
	total := 0
	for _, p := range s.parties {
		total += p.due
	}
	tickets = total / max(1, (total+tickets/2)/tickets) // so that the last claim is no smaller than the others
	s.claimOf = slices.Repeat([]int{none}, len(s.parties))
	claim, size := 0, 0
	for _, first := range order {
		for queue := []int{first}; len(queue) > 0; queue = queue[1:] {
			p := queue[0]
			if s.claimOf[p] != none {
				continue
			}
			if size > tickets {
				claim, size = claim+1, 0
				if p != first {
					break // the next claim starts elsewhere
				}
			}
			s.claimOf[p] = claim
			size += s.parties[p].due
			if grown {
				queue = s.meets(queue, p)
			}
		}
	}
}

// meets adds the parties whose people are in sessions with those of a party or lead them, or are led by them, first those in slots that
// it wants.
func (s *splitter) meets(queue []int, p int) []int {
	for _, slot := range s.wants[p] {
		queue = s.inSession(queue, slot)
	}
	for _, w := range s.members(p) {
		for _, slot := range s.r.at[w] {
			queue = s.inSession(queue, slot)
		}
		for _, slot := range s.r.g.ledSlots[w] {
			queue = s.inSession(queue, slot)
		}
	}
	return queue
}

func (s *splitter) members(p int) []int {
	if c := s.parties[p].crew; c != none {
		return s.r.g.crews[c].members
	}
	return []int{s.parties[p].worker}
}

// inSession adds the parties of a session and of the leader of a slot that is held or wanted.
func (s *splitter) inSession(queue []int, slot int) []int {
	if _, wanted := s.wanted[slot]; !wanted && !s.r.held(slot) {
		return queue
	}
	for _, w := range s.r.attends[slot] {
		queue = append(queue, s.partyOf[w])
	}
	if leader := s.r.g.slots[slot].leader; leader != none {
		queue = append(queue, s.partyOf[leader])
	}
	return queue
}

// owner is the claim that a tie of slots goes to, or none: where the leader is, else where most of the people in its sessions are, else where
// somebody wants it, else one with parties at the yard, drawn by chance.
func (s *splitter) owner(tie []int) int {
	people := map[int]int{}
	best := none
	for _, slot := range tie {
		if leader := s.r.g.slots[slot].leader; leader != none {
			return s.claimOf[s.partyOf[leader]]
		}
		for _, w := range s.r.attends[slot] {
			c := s.claimOf[s.partyOf[w]]
			people[c]++
			if c != none && (best == none || people[c] > people[best]) {
				best = c
			}
		}
	}
	if best != none {
		return best
	}
	for _, slot := range tie {
		if p, ok := s.wanted[slot]; ok {
			return s.claimOf[p]
		}
	}
	return s.claimOf[s.near(s.r.g.slots[tie[0]].yard)]
}

// near draws a party at a yard or, failing that, any.
func (s *splitter) near(yard int) int {
	if at := s.byYard[yard]; len(at) > 0 {
		return at[s.rng.IntN(len(at))]
	}
	return s.rng.IntN(len(s.parties))
}
