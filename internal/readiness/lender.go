package readiness

import (
	"cmp"
	"slices"
	"sync"
)

// lender is a crew that lends people. People lent together are taken out together: one loan may be fine and two not.
type lender struct {
	crew   string
	in     *inquiry // nil: the crew has no job, and there is nothing to protect
	before Verdict

	mu    sync.Mutex
	after map[crew]Verdict
}

func newLender(c *PoolCrew) (*lender, error) {
	l := &lender{crew: c.ID, after: map[crew]Verdict{}}
	if c.Question == nil {
		return l, nil
	}
	in, err := newInquiry(c.Question)
	if err != nil {
		return nil, err
	}
	l.in = in
	l.before, _ = in.overall(in.course())
	return l, nil
}

// position is somebody's place in the lending crew.
func (l *lender) position(id string) int {
	return slices.IndexFunc(l.in.people, func(p member) bool { return p.ID == id })
}

// lend is the crew's verdict without some of its people.
func (l *lender) lend(people crew) Verdict {
	l.mu.Lock()
	defer l.mu.Unlock()
	after, known := l.after[people]
	if !known {
		after = l.in.without(people)
		l.after[people] = after
	}
	return after
}

// harm says why a crew may not lend, or nothing. What cannot be told cannot be shown to be unharmed.
func harm(before, after Verdict) RefusedReason {
	switch {
	case before == CannotTell || after == CannotTell:
		return LenderNotKnown
	case after < before:
		return LenderWorse
	}
	return ""
}

// lendings are the crews that lend these people, in the order of ids, with their verdicts before and after.
func (s *search) lendings(people []int) []Lender {
	list := []Lender{}
	for _, i := range people {
		m := &s.moves[i]
		if m.lender == nil {
			continue
		}
		at := slices.IndexFunc(list, func(l Lender) bool { return l.Crew == m.lender.crew })
		if at < 0 {
			at = len(list)
			list = append(list, Lender{Crew: m.lender.crew})
		}
		list[at].People = append(list[at].People, m.id)
	}
	for i := range list {
		s.tellHarm(&list[i])
	}
	slices.SortFunc(list, func(a, b Lender) int { return cmp.Compare(a.Crew, b.Crew) })
	return list
}

func (s *search) tellHarm(lent *Lender) {
	slices.Sort(lent.People)
	l := s.lenders[lent.Crew]
	if l.in == nil {
		return
	}
	var gone crew
	for _, id := range lent.People {
		gone = gone.with(l.position(id))
	}
	before, after := l.before, l.lend(gone)
	lent.Before, lent.After = &before, &after
}
