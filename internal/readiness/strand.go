package readiness

import (
	"slices"
	"sync"
)

// strand is half of a search: two share the work by turns that do not depend on the machine, so that the result never does either.
type strand struct {
	s      *search
	turn   int
	tables map[*stage]*table
	best   []moveSet
	new    []moveSet // fixes that can be part of a set yet to be tried
	used   []bool
	tour   tour
	work   int
	failed error
}

// What one strand may spend, in units of a set looked at at a moment: some seconds, and some hundred megabytes for what is kept. Two
// hundred people of whom no two count alike take two or three million for three changes.
const (
	maxWork   = 20_000_000
	keepWork  = 4 // of a fix that is kept
	tableSpot = 8 // of an outcome that is kept
)

func newStrand(s *search, turn int) *strand {
	return &strand{s: s, turn: turn, tables: map[*stage]*table{}, used: make([]bool, len(s.moves))}
}

// try tries all sets of a size in which so many people are assessed.
func (s *search) try(strands [2]*strand, size, assessed int) error {
	var wait sync.WaitGroup
	for _, w := range strands {
		wait.Add(1)
		go func() {
			defer wait.Done()
			w.try(size, assessed)
		}()
	}
	wait.Wait()
	for _, w := range strands {
		if w.failed != nil {
			return w.failed
		}
		for _, f := range w.new {
			s.add(f)
		}
		for i, used := range w.used {
			s.used[i] = s.used[i] || used
		}
		w.new = w.new[:0]
	}
	s.best = nil
	for _, w := range strands {
		for _, f := range w.best {
			s.best = s.list(s.best, f)
		}
	}
	return nil
}

func (w *strand) try(size, assessed int) {
	n := 0
	for _, st := range w.s.stages {
		for i := range w.s.drills[st.window] {
			set := &w.s.drills[st.window][i]
			people := size - len(st.moves) - len(set.moves)
			if set.people != assessed || people < 0 || people > len(w.s.people) {
				continue
			}
			n++
			if people < 2 && n%2 != w.turn { // sets of several people are shared out one by one
				continue
			}
			w.setting(st, set.moves, people)
			if w.failed != nil {
				return
			}
		}
	}
}

// spend counts work, and stops the search when it is too much or no longer wanted.
func (w *strand) spend(work int) bool {
	if (w.work+work)>>12 != w.work>>12 {
		w.failed = w.s.ctx.Err()
	}
	w.work += work
	if w.work > maxWork {
		w.failed = poolTooLarge()
	}
	return w.failed == nil
}

// setting is a stage with drills, to which people are added.
type setting struct {
	table  *table
	moves  []int // in order
	crew   []standing
	kinds  []kind
	blocks []*known // smallest fixes whose moves that add nobody are all made here
	people int
}

func (w *strand) setting(st *stage, drills []int, people int) {
	x := &setting{people: people, moves: slices.Sorted(slices.Values(append(slices.Clone(st.moves), drills...)))}
	if x.blocks = w.s.blocksOf(x.moves); slices.ContainsFunc(x.blocks, func(k *known) bool { return k.itself }) {
		return
	}
	if w.failed = st.ready(); w.failed != nil || !w.spend(1) {
		return
	}
	if w.tables[st] == nil {
		w.tables[st] = newTable(st)
	}
	x.table = w.tables[st]
	x.crew = x.table.drilled(drills)
	if people == 0 {
		if w.reaches(x, nil) {
			w.record(x, nil)
		}
		return
	}
	if !w.hopeful(x, nil, people) {
		return
	}
	x.kinds = x.openKinds(st)
	w.choose(x, make([]int, 0, maxChanges), 0)
}

// blocksOf lists what is known of the sets that are part of these moves, which add nobody.
func (s *search) blocksOf(moves []int) []*known {
	var blocks []*known
	var visit func(rest, part []int)
	visit = func(rest, part []int) {
		if len(rest) == 0 {
			if k := s.known[keyOf(part)]; k != nil {
				blocks = append(blocks, k)
			}
			return
		}
		visit(rest[1:], part)
		smaller := s.moves[rest[0]].smaller
		if smaller == nil {
			smaller = rest[:1]
		}
		for _, i := range smaller {
			visit(rest[1:], slices.Sorted(slices.Values(append(slices.Clone(part), i))))
		}
	}
	visit(moves, nil)
	return blocks
}

// openKinds leaves out the people with whom alone something of the setting is a fix already.
func (x *setting) openKinds(st *stage) []kind {
	var open []kind
	for _, k := range st.kinds {
		people := slices.DeleteFunc(slices.Clone(k.people), func(i int) bool {
			return slices.ContainsFunc(x.blocks, func(b *known) bool { return b.one[i] })
		})
		if len(people) > 0 {
			open = append(open, kind{k.course, people})
		}
	}
	return open
}

// choose tries every set of kinds from a kind on; kinds may be chosen as often as they have people.
func (w *strand) choose(x *setting, chosen []int, from int) {
	for i := from; i < len(x.kinds) && w.failed == nil; i++ {
		if len(chosen) == 0 && x.people > 1 && i%2 != w.turn {
			continue
		}
		if count(chosen, i) == len(x.kinds[i].people) {
			continue
		}
		next := append(chosen, i)
		switch left := x.people - len(next); {
		case left > 0:
			if w.hopeful(x, next, left) {
				w.choose(x, next, i)
			}
		case w.reaches(x, next):
			w.expand(x, next, make([]int, 0, maxChanges))
		}
	}
}

func count(list []int, x int) int {
	n := 0
	for _, y := range list {
		if y == x {
			n++
		}
	}
	return n
}

// hopeful says that with so many people more, each adding what anybody of the pool adds, the target could be reached. The bound is the
// first view of the target, and nothing of a view is lost by adding people while somebody is aloft: they are present and usable all
// through, so every line of every choice holds as before or better, in every reading. (The first-aid line that comes in with the second
// person is no exception: somebody aloft with nobody below is NOT_READY before.) With nobody aloft there is no bound.
func (w *strand) hopeful(x *setting, chosen []int, left int) bool {
	return x.table.in.aloft == 0 || w.walk(x, chosen, left, true)
}

func (w *strand) reaches(x *setting, chosen []int) bool { return w.walk(x, chosen, 0, false) }

// walk goes through the moments of the crew and of the people added, and is false at the first that rules the set out.
func (w *strand) walk(x *setting, chosen []int, ideals int, hope bool) bool {
	t := &w.tour
	t.begin(x, chosen, ideals, x.held(chosen, hope))
	tried := x.table.tried
	for {
		if !t.serves(x.table, hope) || !w.spend(1+x.table.tried-tried) {
			return false
		}
		tried = x.table.tried
		if !t.next() {
			return true
		}
	}
}

// held says whether the duties that people of the pool hold are held.
func (x *setting) held(chosen []int, hope bool) bool {
	st := x.table.st
	if st.unheld {
		return false
	}
	return hope || !slices.ContainsFunc(st.holders, func(holder int) bool {
		return !slices.ContainsFunc(chosen, func(k int) bool { return slices.Contains(x.kinds[k].people, holder) })
	})
}

// expand gives the kinds every combination of their people.
func (w *strand) expand(x *setting, kinds, people []int) {
	at := len(people)
	if at == len(kinds) {
		w.record(x, people)
		return
	}
	again := at > 0 && kinds[at] == kinds[at-1]
	for _, p := range x.kinds[kinds[at]].people {
		if again && p <= people[at-1] {
			continue
		}
		if !w.spend(1) {
			return
		}
		next := append(people, p)
		if !x.blocked(next) {
			w.expand(x, kinds, next)
		}
	}
}

// blocked says that a smallest fix is part of the setting with these people, the last of whom is new.
func (x *setting) blocked(people []int) bool {
	if len(x.blocks) == 0 || len(people) < 2 {
		return false
	}
	var room [maxChanges]int
	last, before := people[len(people)-1], people[:len(people)-1]
	for part := 1; part < 1<<len(before); part++ {
		set := append(room[:0], last)
		for i, p := range before {
			if part>>i&1 == 1 {
				set = append(set, p)
			}
		}
		slices.Sort(set)
		key := keyOf(set)
		if slices.ContainsFunc(x.blocks, func(k *known) bool { return k.more[key] }) {
			return true
		}
	}
	return false
}

// record notes a smallest fix, if the lending crews are not harmed.
func (w *strand) record(x *setting, people []int) {
	if !w.s.unharmed(people) || !w.spend(keepWork) {
		return
	}
	var room [maxChanges]int
	moves := append(append(room[:0], x.moves...), people...)
	slices.Sort(moves)
	f := moveSet{key: keyOf(moves), size: int8(len(moves))}
	assessing := false
	for _, i := range moves {
		m := &w.s.moves[i]
		w.used[i] = true
		f.rung, f.travel = max(f.rung, int32(m.rung)), f.travel+int32(m.travel)
		assessing = assessing || m.do == DoDrill
	}
	w.best = w.s.list(w.best, f)
	if len(moves) < w.s.pool.MaxChanges || assessing {
		w.new = append(w.new, f)
	}
}

// unharmed says that no crew is worse off for lending these people together. Each alone was asked before.
func (s *search) unharmed(people []int) bool {
	for i, p := range people {
		l := s.moves[p].lender
		if l == nil || l.in == nil {
			continue
		}
		gone, first := crew(0), true
		for j, o := range people {
			if s.moves[o].lender == l {
				gone = gone.with(s.moves[o].lent)
				first = first && j >= i
			}
		}
		if first && gone.size() > 1 && harm(l.before, l.lend(gone)) != "" {
			return false
		}
	}
	return true
}
