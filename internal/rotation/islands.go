package rotation

import (
	"context"
	"math/rand/v2"
	"slices"
)

// Islands improve side by side, each with chance of its own, and now and then the one that is behind goes on from the best. Their number is
// fixed, so that a plan does not depend on how many cores there are.
const (
	islandCount = 4
	epochs      = 24 // stretches of rounds between two exchanges, at least
)

// warmUp is how many rounds for each due ticket come before the exact program is asked first: a good plan makes it quick, and for some
// dozen workers it mostly ends the search.
const warmUp = 20

// roundsPerEpoch is how many rounds for each due ticket an island makes at most before it exchanges.
const roundsPerEpoch = 8

// stepsPerRound is how many steps of the simplex a proof may take for each round that is asked for, so that few rounds stay quick.
const stepsPerRound = 20

// glanceWork is the work of a proof whose plan would not be taken.
const glanceWork = 10_000

// improveApart improves the roster on the islands, leaves the best found in it, and gives what is known of the best possible.
func (r *roster) improveApart(ctx context.Context, o Options) settled {
	stop := func() bool { return ctx.Err() != nil }
	best := r.snapshot()
	wished := r.g.wished()
	if r.g.isBest(best.figures) && !wished {
		return settled{}
	}
	islands := r.settleIslands(best, o.Seed)
	each := max(1, min(o.Rounds/islandCount/epochs, roundsPerEpoch*r.g.due))
	last := o.Rounds/islandCount/each - 1
	r.g.certain = r.g.certainlyShort()
	known, from, rounds := settled{}, best.figures, min(each, 1+warmUp*r.g.due/islandCount)
	for epoch := 0; epoch <= last && !stop() && (known.proved < len(LevelNames) || wished); epoch++ {
		if o.Report != nil {
			o.Report(Progress{epoch * each * islandCount, o.Rounds, best.figures, known.speaking(r.g, best.figures)})
		}
		inParallel(islandCount, func(i int) { islands[i].cycle(stop, rounds, epoch+i) })
		best = exchange(islands, best)
		rounds = each
		if epoch > 0 && r.g.mayRethink() && o.Rounds >= r.g.due {
			inParallel(islandCount, func(i int) { islands[i].rethinkOften(ctx, each) })
			best = exchange(islands, best)
		}
		if o.Rounds >= r.g.due && (epoch == 0 || epoch == last && best.figures.Less(from)) {
			known, best = r.proveFor(ctx, o, best)
			from = best.figures
			spread(islands, best)
		}
	}
	r.restore(best)
	return known
}

// fewDue is up to how many due tickets a proof mostly comes to its end, so that it may take more of the time.
const fewDue = 100

// proveFor asks the exact program for a half of the time that the caller means to wait, or three quarters where it mostly comes to its end.
func (r *roster) proveFor(ctx context.Context, o Options, best snapshot) (settled, snapshot) {
	if o.For > 0 {
		var cancel context.CancelFunc
		share := o.For / 2
		if r.g.due <= fewDue {
			share = o.For * 3 / 4
		}
		ctx, cancel = context.WithTimeout(ctx, share)
		defer cancel()
	}
	work := min(proofWork, stepsPerRound*o.Rounds)
	if r.g.wished() {
		work = min(work, glanceWork) // for bounds alone
	}
	return r.g.settle(ctx, best, work)
}

// settled is a proof with the figures of the plan that its bounds speak of.
type settled struct {
	proof
	of Objective
}

// settle asks the exact program and gives what it knows with the better plan, if it found one.
func (g *grid) settle(ctx context.Context, best snapshot, work int) (settled, snapshot) {
	known := g.prove(ctx, best, work)
	of := best.figures
	if known.better != nil {
		of = known.better.figures
		if !g.wished() {
			best = *known.better
		}
	}
	return settled{known, of}, best
}

func (r *roster) settleIslands(best snapshot, seed uint64) []*improver {
	islands := make([]*improver, islandCount)
	for i := range islands {
		own := r.copy()
		own.restore(best)
		islands[i] = &improver{roster: own, rng: rand.New(rand.NewPCG(seed, 0x5eed+uint64(i))), best: best}
	}
	return islands
}

// copy is an empty roster with the same pins and wishes.
func (r *roster) copy() *roster {
	out := newRoster(r.g)
	out.pinned, out.pinnedAt = slices.Clone(r.pinned), r.pinnedAt
	out.countChanges()
	return out
}

// exchange gives the best of all islands; the island that is furthest behind goes on from it.
func exchange(islands []*improver, best snapshot) snapshot {
	last := islands[0]
	for _, m := range islands {
		if m.best.less(best.worth) {
			best = m.best
		}
		if last.best.less(m.best.worth) {
			last = m
		}
	}
	if best.less(last.best.worth) {
		last.best = best
	}
	return best
}

// spread lets every island that is behind go on from the best.
func spread(islands []*improver, best snapshot) {
	for _, m := range islands {
		if best.less(m.best.worth) {
			m.best = best
		}
	}
}

// speaking gives the bounds that hold for a plan with these figures: those of the proof up to the level after the first at which the plan
// is better than the one proved from, since the bounds of later levels suppose figures that this plan may exceed; cheap ones beyond.
func (k settled) speaking(g *grid, figures Objective) Objective {
	out, dear, of, now := g.bound(figures.LapsedDays).Levels(), k.bound.Levels(), k.of.Levels(), figures.Levels()
	for i := range out {
		out[i] = max(out[i], dear[i])
		if of[i] != now[i] && i+1 < len(out) {
			out[i+1] = max(out[i+1], dear[i+1])
			break
		}
	}
	return objectiveOf(out)
}

// wished says that a plan is asked for more than the figures, of which the exact program knows nothing: its plans are not taken then, and
// its bounds hold all the same.
func (g *grid) wished() bool {
	return g.stagger != nil || slices.ContainsFunc(g.tickets, func(t ticketRow) bool { return t.kept != none })
}

// isBest says that the cheap bounds alone show that no plan is better.
func (g *grid) isBest(figures Objective) bool { return g.bound(figures.LapsedDays) == figures }
