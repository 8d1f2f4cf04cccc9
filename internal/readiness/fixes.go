package readiness

import (
	"cmp"
	"context"
	"fmt"
	"slices"
)

// fixes lists what would put the crew right, least change first, and which candidates of the pool are no part of it.
func (in *inquiry) fixes(ctx context.Context, c course, verdict Verdict, plan *Planned) ([]Fix, []Refused, error) {
	pool := in.q.Pool
	if pool == nil {
		pool = &Pool{Target: Ready}
	}
	if verdict >= pool.Target {
		return in.otherChoices(c, plan, pool.Target), []Refused{}, nil
	}
	s, err := newSearch(ctx, in, pool)
	if err != nil {
		return nil, nil, err
	}
	fixes, err := s.fixes()
	if err != nil {
		return nil, nil, err
	}
	return append(fixes, doNotSend()), s.allRefused(), nil
}

func doNotSend() Fix {
	return Fix{Rung: RungDoNotSend, Changes: []FixChange{{DoDoNotSend, "", []string{}}}, Lenders: []Lender{}}
}

// otherChoices lists every choice that reaches the target, if the one that was planned does not.
func (in *inquiry) otherChoices(c course, plan *Planned, target Verdict) []Fix {
	fixes := []Fix{}
	if plan == nil || plan.Permitted && plan.Class >= target {
		return fixes
	}
	for choice, aloft := range in.choices {
		class := c.over(choice)
		if class < target {
			continue
		}
		ids := in.ids(aloft)
		fixes = append(fixes, Fix{Rung: RungAloft, Changes: []FixChange{{DoAloft, "", ids}}, Verdict: &class, Aloft: ids, Lenders: []Lender{}})
	}
	slices.SortFunc(fixes, func(a, b Fix) int { return slices.Compare(a.Aloft, b.Aloft) })
	return fixes
}

// fixes searches, and judges each fix that is listed afresh.
func (s *search) fixes() ([]Fix, error) {
	found, err := s.smallest()
	if err != nil {
		return nil, err
	}
	fixes := []Fix{}
	for _, f := range found {
		fix, err := s.described(f)
		if err != nil {
			return nil, err
		}
		fixes = append(fixes, fix)
	}
	return fixes, nil
}

func (s *search) described(f moveSet) (Fix, error) {
	moves := f.list()
	fix := Fix{Rung: int(f.rung), TravelMinutes: int(f.travel), Lenders: s.lendings(moves)}
	for _, i := range moves {
		m := &s.moves[i]
		fix.Changes = append(fix.Changes, FixChange{m.do, m.id, append([]string{}, m.people...)})
	}
	q := s.changed(moves)
	in, err := newInquiry(&q)
	if err != nil {
		return fix, err
	}
	c := in.course()
	verdict, swap := in.overall(c)
	if verdict < s.target {
		return fix, fmt.Errorf("readiness: %v was found to reach %v and is %v", fix.Changes, s.target, verdict)
	}
	fix.Verdict = &verdict
	if order := in.ranked(c); !swap && len(order) > 0 {
		fix.Aloft = in.ids(in.choices[order[0]])
	}
	return fix, nil
}

// changed is the question with these moves made.
func (s *search) changed(moves []int) Question {
	q := *s.q
	q.Pool = nil
	q.People = slices.Clone(q.People)
	order := slices.SortedFunc(slices.Values(moves), func(a, b int) int { return cmp.Compare(s.moves[a].do.turn(), s.moves[b].do.turn()) })
	for _, i := range order {
		s.make(&q, &s.moves[i])
	}
	return q
}

// turn is when a change is made among others: a device before a kit, because it brings its own.
func (d Do) turn() int {
	return slices.Index([]Do{DoDevice, DoKit, DoDrill, DoPerson, DoLater, DoOtherWay}, d)
}

func (s *search) make(q *Question, m *move) {
	switch m.do {
	case DoDevice:
		d := s.pool.Devices[m.at]
		q.Device, q.Kit = &d.Device, d.Kit
	case DoKit:
		kit := s.pool.Kits[m.at].Kit
		kit.OnDevice = Yes
		q.Kit = &kit
	case DoDrill:
		s.pass(q, m)
	case DoPerson:
		q.People = append(q.People, s.pool.People[m.at].Person)
	case DoLater:
		w := s.pool.LaterWindows[m.at]
		q.Window.From, q.Window.To = w.From, w.To
	case DoOtherWay:
		q.Job = s.pool.OtherWays[m.at].Job.of(q.Job)
	}
}

// pass makes those assessed current from the end of the drill.
func (s *search) pass(q *Question, m *move) {
	d := &s.pool.Drills[m.at]
	for i := range q.People {
		p := &q.People[i]
		if slices.Contains(m.people, p.ID) {
			p.Capabilities = append(slices.Clone(p.Capabilities), d.gives())
		}
	}
}

// allRefused is everything of the pool that is in no fix, not only in none of those listed.
func (s *search) allRefused() []Refused {
	type candidate struct {
		do Do
		id string
	}
	helps := map[candidate]bool{}
	for i := range s.moves {
		c := candidate{s.moves[i].do, s.moves[i].id}
		helps[c] = helps[c] || s.used[i]
	}
	list := append([]Refused{}, s.refused...)
	for c, help := range helps {
		if !help {
			list = append(list, Refused{Kind: c.do, ID: c.id, Reason: NoHelp})
		}
	}
	slices.SortFunc(list, func(a, b Refused) int { return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.ID, b.ID)) })
	return list
}
