package readiness

import (
	"slices"
	"sync"
)

// stage is the question with some of kit, device, window and way changed: at most one of each. Drills and people are tried on it.
type stage struct {
	s       *search
	moves   []int
	window  int
	once    sync.Once
	failed  error
	in      *inquiry   // of the crew alone
	holders []int      // moves of the people of the pool who hold a duty here
	unheld  bool       // a duty is held by somebody of the pool who cannot come
	columns []*columns // by view
	kinds   []kind
	ideal   []added                // the course of somebody who adds what anybody adds
	choices [maxChanges + 1][]crew // by number of people added, as if all of those could go up
}

// setUp lists the stages and the sets of drills, the smaller first.
func (s *search) setUp() error {
	by := map[Do][]int{}
	for i := range s.moves {
		by[s.moves[i].do] = append(by[s.moves[i].do], i)
	}
	s.people = by[DoPerson]
	s.stages = []*stage{{s: s}}
	for _, do := range []Do{DoLater, DoDevice, DoKit, DoOtherWay} {
		for _, st := range slices.Clone(s.stages) {
			if len(st.moves) == s.pool.MaxChanges {
				continue
			}
			for _, i := range by[do] {
				if next := st.with(i); next != nil {
					s.stages = append(s.stages, next)
				}
			}
		}
		if len(s.stages) > maxStages {
			return poolTooLarge()
		}
	}
	s.drills = map[int][]drillSet{}
	for w := range s.windows {
		if !s.addDrillSets(w, by[DoDrill], drillSet{}) {
			return poolTooLarge()
		}
	}
	return nil
}

const (
	maxColumns   = 1 << 16
	maxStages    = 20_000
	maxDrillSets = 500_000
)

// with is the stage with one move more, or nil if that cannot be there by the departure.
func (st *stage) with(i int) *stage {
	next := &stage{s: st.s, window: st.window, moves: slices.Sorted(slices.Values(append(slices.Clone(st.moves), i)))}
	m := &st.s.moves[i]
	if m.do == DoLater {
		next.window = m.at + 1
	}
	if m.ready > st.s.windows[next.window].window.From {
		return nil
	}
	return next
}

// addDrillSets lists the sets of drills that can be held before the departure of a window.
func (s *search) addDrillSets(w int, left []int, set drillSet) bool {
	s.drills[w] = append(s.drills[w], set)
	if len(set.moves) == s.pool.MaxChanges {
		return true
	}
	for at, i := range left {
		if len(s.drills[w]) > maxDrillSets {
			return false
		}
		if s.moves[i].ready > s.windows[w].window.From || !s.together(set.moves, i) {
			continue
		}
		next := drillSet{append(slices.Clone(set.moves), i), set.people + len(s.moves[i].people)}
		if !s.addDrillSets(w, left[at+1:], next) {
			return false
		}
	}
	return true
}

// together says that a drill can be held with others: none is held twice, and those that overlap share nobody, the assessor included.
func (s *search) together(moves []int, i int) bool {
	m := &s.moves[i]
	d := &s.pool.Drills[m.at]
	return !slices.ContainsFunc(moves, func(j int) bool {
		other := &s.moves[j]
		o := &s.pool.Drills[other.at]
		if m.at == other.at {
			return true
		}
		shared := m.assessed&other.assessed != 0 || d.Assessor == o.Assessor ||
			slices.Contains(m.people, o.Assessor) || slices.Contains(other.people, d.Assessor)
		return shared && d.overlaps(o)
	})
}

// assessedCounts are the numbers of people assessed that occur, smallest first.
func (s *search) assessedCounts() []int {
	var counts []int
	for _, sets := range s.drills {
		for _, set := range sets {
			counts = append(counts, set.people)
		}
	}
	slices.Sort(counts)
	return slices.Compact(counts)
}

// ready makes the stage ready for trying, once.
func (st *stage) ready() error {
	st.once.Do(func() {
		st.s.building.Lock() // calendars are shared
		defer st.s.building.Unlock()
		st.failed = st.build()
	})
	return st.failed
}

func (st *stage) build() error {
	s := st.s
	q := s.changed(st.moves)
	st.dutiesOfPool(&q)
	in, err := newInquiry(&q)
	if err != nil {
		return err
	}
	st.in = in
	most := s.pool.MaxChanges - len(st.moves)
	if len(in.people)+most > maxPeople || binomial(in.able.size()+most, in.aloft) > maxChoices {
		return poolTooLarge()
	}
	st.listChoices(most)
	st.addKinds()
	if slices.ContainsFunc(st.columns, func(c *columns) bool { return len(c.list) > maxColumns }) {
		return poolTooLarge()
	}
	return nil
}

// listChoices lists who may go up when up to so many people are added. Of people of the crew who are alike at every moment, before and
// after every drill, the first are taken first: exchanging them changes no class, so that where some choice serves, such a choice does.
func (st *stage) listChoices(most int) {
	earlier := st.in.earlierAlike(st.s.assessable())
	for n := range most + 1 {
		up := st.in.able.members()
		for i := range n {
			up = append(up, len(st.in.people)+i)
		}
		st.choices[n] = slices.DeleteFunc(combinations(up, st.in.aloft), func(aloft crew) bool {
			return slices.ContainsFunc(aloft.members(), func(i int) bool { return i < len(earlier) && earlier[i]&^aloft != 0 })
		})
	}
}

// earlierAlike gives for everybody of the crew who may go up the people before them who are alike in everything at every moment. People
// who may yet differ are like nobody.
func (in *inquiry) earlierAlike(differ crew) []crew {
	earlier, place := make([]crew, len(in.people)), map[string]crew{}
	for _, i := range (in.able &^ differ).members() {
		var key []byte
		for t := range in.moments {
			key = in.moments[t].appendOf(key, i)
		}
		earlier[i] = place[string(key)]
		place[string(key)] |= only(i, true)
	}
	return earlier
}

// appendOf appends all that a moment says about one person.
func (m *moment) appendOf(key []byte, i int) []byte {
	has := func(c crew) byte { return byte(c >> i & 1) }
	key = append(key, has(m.present)|has(m.usable)<<1|has(m.aid)<<2)
	for _, family := range m.tallies {
		for j := range family {
			y := &family[j]
			key = append(key, has(y.surely.full)|has(y.surely.some)<<1|has(y.perhaps.full)<<2|has(y.perhaps.some)<<3|has(y.trained.full)<<4|has(y.trained.some)<<5)
		}
	}
	return key
}

// assessable is who of the crew can take part in some drill.
func (s *search) assessable() crew {
	var all crew
	for i := range s.moves {
		all |= s.moves[i].assessed
	}
	return all
}

// dutiesOfPool takes the duties out of the question that somebody of the pool holds: they are held when all of those have come.
func (st *stage) dutiesOfPool(q *Question) {
	s := st.s
	var own []Duty
	for _, d := range q.Job.Exclusive {
		if slices.ContainsFunc(s.in.people, func(p member) bool { return p.ID == d.Person }) {
			own = append(own, d)
			continue
		}
		i := slices.IndexFunc(s.people, func(i int) bool { return s.moves[i].id == d.Person })
		if i < 0 || !st.comes(s.people[i]) {
			st.unheld = true
			continue
		}
		st.holders = append(st.holders, s.people[i])
	}
	slices.Sort(st.holders)
	st.holders = slices.Compact(st.holders)
	q.Job.Exclusive = own
}

// comes says that somebody of the pool is there by the departure, and neither away nor held back in the window.
func (st *stage) comes(i int) bool {
	m, w := &st.s.moves[i], st.s.windows[st.window]
	p := &st.s.pool.People[m.at].Person
	return m.ready <= w.window.From && p.awayIn(w) == "" && !p.heldIn(w)
}
