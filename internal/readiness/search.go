package readiness

import (
	"cmp"
	"context"
	"slices"
	"sync"

	"groundhand/internal/groundhand"
)

// search looks for the smallest sets of moves with which the verdict reaches the target. It is exact: every set is either tried or ruled
// out by a bound that is proved where it is used.
type search struct {
	ctx     context.Context
	q       *Question
	pool    *Pool
	target  Verdict
	in      *inquiry // as asked
	windows []*calendar
	lenders map[string]*lender
	moves   []move // in the order of rung, do, id and people
	refused []Refused
	used    []bool
	failed  error

	building sync.Mutex
	people   []int              // moves that add a person
	stages   []*stage           // settings apart from drills
	drills   map[int][]drillSet // by window
	known    map[setKey]*known  // smallest fixes by their moves that add nobody
	best     []moveSet
}

// drillSet is drills that can be held together before a departure.
type drillSet struct {
	moves  []int
	people int // who is assessed, counted once a drill
}

// setKey is a set of moves: one more than the move, in order, zeros behind.
type setKey [maxChanges]uint16

func keyOf(moves []int) setKey {
	var k setKey
	for i, m := range moves {
		k[i] = uint16(m + 1)
	}
	return k
}

// known are the smallest fixes that have one set of moves adding nobody in common.
type known struct {
	itself bool            // the set is a fix as it is
	one    map[int]bool    // with one person more
	more   map[setKey]bool // with several people more
}

// moveSet is a smallest fix: its moves in order, with what decides its place in the list.
type moveSet struct {
	key          setKey
	size         int8
	rung, travel int32
}

func (f *moveSet) list() []int {
	list := make([]int, f.size)
	for i := range list {
		list[i] = int(f.key[i]) - 1
	}
	return list
}

func newSearch(ctx context.Context, in *inquiry, pool *Pool) (*search, error) {
	s := &search{ctx: ctx, q: in.q, pool: pool, target: pool.Target, in: in, lenders: map[string]*lender{}, known: map[setKey]*known{}}
	s.windows = append(s.windows, newCalendar(in.q.Window))
	for _, w := range pool.LaterWindows {
		s.windows = append(s.windows, newCalendar(Window{w.From, w.To, in.q.Window.Zone}))
	}
	for i := range pool.Crews {
		l, err := newLender(&pool.Crews[i])
		if err != nil {
			var problems groundhand.Problems
			_ = problems.Take("pool.crews", err)
			return nil, problems.Err()
		}
		s.lenders[l.crew] = l
	}
	s.candidates()
	s.used = make([]bool, len(s.moves))
	return s, s.failed
}

const maxMoves = 20_000

// tooMany refuses more moves than will be searched.
func (s *search) tooMany(moves int) bool {
	if moves > maxMoves && s.failed == nil {
		s.failed = poolTooLarge()
	}
	return s.failed != nil
}

func poolTooLarge() error {
	return &groundhand.Error{Code: groundhand.CodeTooLarge, Field: "pool", Message: "The pool offers more than can be tried in one go; offer less of it, or ask for fewer changes at once."}
}

// smallest finds all smallest fixes and gives the first of them. Sets are tried by size and, among equal sizes, by how many people are
// assessed, so that whatever is part of a set was settled before it.
func (s *search) smallest() ([]moveSet, error) {
	if s.pool.MaxChanges == 0 || len(s.moves) == 0 {
		return nil, nil
	}
	if err := s.setUp(); err != nil {
		return nil, err
	}
	strands := [2]*strand{newStrand(s, 0), newStrand(s, 1)}
	for size := 1; size <= s.pool.MaxChanges; size++ {
		for _, assessed := range s.assessedCounts() {
			if err := s.try(strands, size, assessed); err != nil {
				return nil, err
			}
		}
	}
	return s.best, nil
}

// compareFound is the order in which fixes are listed.
func (s *search) compareFound(a, b *moveSet) int {
	order := cmp.Or(cmp.Compare(a.rung, b.rung), cmp.Compare(a.size, b.size), cmp.Compare(a.travel, b.travel))
	for i := 0; order == 0 && i < int(a.size); i++ {
		order = cmp.Compare(s.moves[a.key[i]-1].name, s.moves[b.key[i]-1].name)
	}
	return order
}

// list puts a fix among the first, if it belongs there.
func (s *search) list(best []moveSet, f moveSet) []moveSet {
	at, _ := slices.BinarySearchFunc(best, f, func(a, b moveSet) int { return s.compareFound(&a, &b) })
	if at == s.pool.MaxFixes {
		return best
	}
	best = slices.Insert(best, at, f)
	return best[:min(len(best), s.pool.MaxFixes)]
}

// add notes a smallest fix for the sets that have it as a part.
func (s *search) add(f moveSet) {
	var rest, people []int
	for _, i := range f.list() {
		s.used[i] = true
		if s.moves[i].do == DoPerson {
			people = append(people, i)
		} else {
			rest = append(rest, i)
		}
	}
	k := s.known[keyOf(rest)]
	if k == nil {
		k = &known{one: map[int]bool{}, more: map[setKey]bool{}}
		s.known[keyOf(rest)] = k
	}
	switch len(people) {
	case 0:
		k.itself = true
	case 1:
		k.one[people[0]] = true
	default:
		k.more[keyOf(people)] = true
	}
}
