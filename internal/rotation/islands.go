package rotation

import (
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
)

// Islands improve side by side, each with chance of its own, and now and then those that are behind go on from the best. Their number is
// fixed, so that a plan does not depend on how many cores there are.
const (
	islandCount = 4
	epochs      = 24 // stretches of rounds between two exchanges
)

// improveApart improves the roster on the islands and leaves the best found in it.
func (r *roster) improveApart(stop func() bool, o Options) {
	best := r.snapshot()
	islands := make([]*improver, islandCount)
	for i := range islands {
		own := r.copy()
		own.restore(best)
		islands[i] = &improver{roster: own, rng: rand.New(rand.NewPCG(o.Seed, 0x5eed+uint64(i))), best: best}
	}
	each := max(1, o.Rounds/islandCount/epochs)
	for epoch := 0; epoch < epochs && !stop() && !r.g.isBest(best.figures); epoch++ {
		if o.Report != nil {
			o.Report(Progress{epoch * each * islandCount, o.Rounds, best.figures, r.g.bound(best.figures.LapsedDays)})
		}
		together(islands, func(i int, m *improver) { m.cycle(stop, each, epoch+i) })
		best = exchange(islands, best)
	}
	r.restore(best)
}

// together runs the islands on all cores and waits for them.
func together(islands []*improver, run func(i int, m *improver)) {
	var wait sync.WaitGroup
	cores := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, m := range islands {
		wait.Go(func() {
			cores <- struct{}{}
			defer func() { <-cores }()
			run(i, m)
		})
	}
	wait.Wait()
}

// exchange gives the best of all islands; the island that is furthest behind goes on from it.
func exchange(islands []*improver, best snapshot) snapshot {
	last := islands[0]
	for _, m := range islands {
		if m.best.figures.Less(best.figures) {
			best = m.best
		}
		if last.best.figures.Less(m.best.figures) {
			last = m
		}
	}
	if best.figures.Less(last.best.figures) {
		last.best = best
	}
	return best
}

// copy is an empty roster with the same pins and wishes.
func (r *roster) copy() *roster {
	out := newRoster(r.g)
	out.pinned, out.pinnedAt = slices.Clone(r.pinned), r.pinnedAt
	return out
}

// isBest says that no plan is better than these figures.
func (g *grid) isBest(figures Objective) bool { return g.bound(figures.LapsedDays) == figures }
