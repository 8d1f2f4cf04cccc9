package runsheet

import (
	"context"
	"math/rand/v2"
	"slices"
)

// Options says how a sheet is looked for. The same problem and seed give the same sheet, unless the context ends first.
type Options struct {
	Seed   uint64
	Report func(Progress) // called now and then, nil: not at all
}

// Progress is the best sheet so far.
type Progress struct{ Best, Bound Figures }

const (
	provedPeople = 8         // up to so many people the best sheet is looked for until it is proved
	nodesSmall   = 3_000_000 // partial sheets looked at for a proof with so few people
	nodesLarge   = 300_000   // and with more
	restarts     = 4         // of the search for an order
	triesEach    = 6_000     // changes tried in it for each run of the sheet
)

// Plan makes the best sheet that it finds. The error is what Validate refuses, or a NoSheet that says what does not fit. When the context
// ends it gives the best sheet so far; there always is one.
func Plan(ctx context.Context, p Problem, o Options) (Sheet, error) {
	if err := p.Validate(); err != nil {
		return Sheet{}, err
	}
	s, err := find(ctx, p, o)
	if err != nil {
		return Sheet{}, err
	}
	return s.sheet(p.Name), nil
}

func find(ctx context.Context, p Problem, o Options) (*search, error) {
	d := newDrill(p)
	if no := d.fits(p.MaxRuns); no != nil {
		return nil, no
	}
	s := &search{d: d, ctx: ctx, options: o}
	s.pair()
	s.order()
	s.prove()
	return s, nil
}

// search holds the best turns while the levels are worked through.
type search struct {
	d       *drill
	ctx     context.Context
	options Options

	partners *partners
	waits    *waits
	best     []turn
	figures  standing
	spread   int
	bound    Figures
}

// pair is levels 2 and 3; any order of the pairing found is a start.
func (s *search) pair() {
	s.bound.Runs = s.d.runs()
	if s.d.pairs > 0 {
		var pairs pairing
		pairs, s.partners, s.bound.RepeatPairs, s.bound.PairCost = s.d.pairUp(s.ctx)
		s.best = pairs
	}
	s.adopt(append(s.best, s.d.loneTurns()...))
	s.report()
}

// adopt takes turns as they are for the best, and bounds what is no worse.
func (s *search) adopt(turns []turn) {
	s.best, s.figures = turns, s.d.ordering(turns).stand()
	_, s.spread = s.d.timekeepers(turns)
	extras := make([]int, len(s.d.people))
	if s.partners != nil {
		extras = s.partners.extras(s.figures.repeats, s.figures.cost)
	}
	s.waits = newWaits(s.d, extras, s.figures.squares)
	s.bound.BackToBack, s.bound.WaitSquares, s.bound.TimekeeperSpread = s.d.leastBacks(), s.waits.bound(), s.d.leastSpread()
}

// leastBacks is how often somebody at least leads or is alone in two runs in a row: the runs of others do not part all of his.
func (d *drill) leastBacks() int {
	most := 0
	for _, n := range d.needs {
		own := n.Lead + n.Lone
		most = max(most, own-(d.runs()-own)-1)
	}
	return most
}

// order looks for a good order of the runs.
func (s *search) order() {
	chance := rand.New(rand.NewPCG(s.options.Seed, 1))
	for range restarts {
		if s.met() {
			return
		}
		s.d.ordering(s.best).search(s.ctx, chance, triesEach*len(s.best), s.figures, s.take)
	}
}

// take keeps turns that are no worse up to the squares, when they are better or spread the time better.
func (s *search) take(turns []turn, figures standing) standing {
	better := figures.less(s.figures)
	if !better && s.spread <= s.bound.TimekeeperSpread {
		return s.figures
	}
	if _, spread := s.d.timekeepers(turns); better || spread < s.spread {
		s.best, s.figures, s.spread = slices.Clone(turns), figures, spread
		s.report()
	}
	return s.figures
}

// objective is the figures of the best turns.
func (s *search) objective() Figures {
	f := s.figures
	return Figures{s.d.runs(), f.repeats, f.cost, f.backToBack, f.squares, s.spread}
}

// met says that nothing can be better.
func (s *search) met() bool { return s.objective() == s.bound }

func (s *search) report() {
	if s.options.Report != nil {
		s.options.Report(Progress{s.objective(), s.bound})
	}
}

// prove looks for a better order until it is found or shown not to be there, at first up to the squares, then with the spread.
func (s *search) prove() {
	nodes := nodesLarge
	if len(s.d.people) <= provedPeople {
		nodes = nodesSmall
	}
	for _, spreads := range []bool{false, true} {
		if s.met() {
			return
		}
		p := s.d.proof(s.ctx, s.partners, s.waits, s.figures, nodes)
		p.best, p.bestTurns = rank{s.figures.backToBack, s.figures.squares, s.spread}, s.best
		p.least = rank{s.bound.BackToBack, s.bound.WaitSquares, s.bound.TimekeeperSpread}
		p.spreads = spreads
		p.run()
		s.best, s.spread = p.bestTurns, p.best.spread
		s.figures = s.d.ordering(s.best).stand()
		if !p.whole {
			return
		}
		s.bound.BackToBack, s.bound.WaitSquares = s.figures.backToBack, s.figures.squares
		if spreads {
			s.bound.TimekeeperSpread = s.spread
		}
		s.report()
	}
}

// sheet names the people.
func (s *search) sheet(name string) Sheet {
	out := Sheet{Problem: name, Runs: make([]Run, len(s.best)), Objective: s.objective(), Bound: s.bound}
	id := func(who int) string {
		if who == nobody {
			return ""
		}
		return s.d.people[who].ID
	}
	keepers, _ := s.d.timekeepers(s.best)
	for i, t := range s.best {
		out.Runs[i] = Run{Timekeeper: id(keepers[i])}
		if t.lone() {
			out.Runs[i].Lone = id(t.lead)
		} else {
			out.Runs[i].Lead, out.Runs[i].Second = id(t.lead), id(t.second)
		}
	}
	figures, bound := out.Objective.Levels(), out.Bound.Levels()
	for out.ProvedLevels < len(figures) && figures[out.ProvedLevels] == bound[out.ProvedLevels] {
		out.ProvedLevels++
	}
	return out
}
