package rotation

import (
	"context"
	"math"
	"math/rand/v2"
	"sync/atomic"
)

// parcelTickets is about how many due tickets a parcel has.
const parcelTickets = 300

// roundsPerTicket is how many rounds of improvement a parcel gets for each of its due tickets before the parcels are cut anew.
const roundsPerTicket = 12

// parcelPlan says how a large problem is worked on.
type parcelPlan struct {
	seed    uint64
	rounds  int // of all parcels together
	tickets int // due tickets of a parcel
	report  func(Progress)
}

// improveParcels plans a large problem in parcels of the usual size, see improveInParcels.
func (r *roster) improveParcels(ctx context.Context, seed uint64, rounds int, report func(Progress)) {
	r.improveInParcels(ctx, parcelPlan{seed, rounds, parcelTickets, report})
}

// improveInParcels cuts the roster into parcels, plans and improves each on its own, as many at a time as there are processors, puts what
// they made back, and cuts anew along other lines. The same roster, seed and rounds give the same result however many processors there
// are, unless ctx ends first. The roster obeys all hard rules at the end of ctx too; report is called after each phase.
func (r *roster) improveInParcels(ctx context.Context, how parcelPlan) {
	if r.g.due == 0 {
		return
	}
	s := newSplitter(r)
	for phase, done := 0, 0; ctx.Err() == nil && (phase == 0 || done < how.rounds); phase++ {
		claims := s.splitFor(phase, rand.New(rand.NewPCG(how.seed, uint64(phase))), how.tickets)
		perTicket := 0.0
		if phase > 0 {
			perTicket = min(roundsPerTicket, float64(how.rounds-done)/float64(max(1, r.g.due)))
		}
		made := r.improveAll(ctx, claims, func(i int, p *parcel) int {
			return p.improve(ctx, rand.New(rand.NewPCG(how.seed, uint64(phase)<<32|uint64(i+1))), cycles[phase%len(cycles)], perTicket)
		})
		done += made
		if how.report != nil {
			how.report(Progress{Round: min(done, how.rounds), Rounds: how.rounds, Best: r.figures()})
		}
		if phase == 1 && made == 0 {
			return // nothing may move
		}
	}
}

// splitFor takes the ways to split in turn.
func (s *splitter) splitFor(phase int, rng *rand.Rand, tickets int) []claim {
	switch phase % 3 {
	case 0:
		return s.split(rng, tickets, false)
	case 1:
		return s.split(rng, tickets, true)
	}
	return s.splitAround(rng, tickets)
}

// improveAll works on the parcels of some claims at the same time and merges them; it gives the rounds done in all.
func (r *roster) improveAll(ctx context.Context, claims []claim, work func(i int, p *parcel) int) int {
	parcels := make([]*parcel, len(claims))
	var done atomic.Int64
	inParallel(len(claims), func(i int) {
		if ctx.Err() != nil {
			return
		}
		p := r.cut(claims[i])
		done.Add(int64(work(i, p)))
		p.forget()
		parcels[i] = p
	})
	for _, p := range parcels {
		if p != nil {
			r.merge(p)
		}
	}
	return int(done.Load())
}

// forget leaves only what merge needs.
func (p *parcel) forget() {
	p.grid = nil
}

// improve places what is left over in a parcel and makes its roster as good as so many rounds for each of its due tickets can, cooling down
// as told; it gives the number of rounds.
func (p *parcel) improve(ctx context.Context, rng *rand.Rand, how cooling, perTicket float64) int {
	stop := func() bool { return ctx.Err() != nil }
	p.roster.firstPlan(stop)
	rounds := int(math.Ceil(perTicket * float64(p.grid.due)))
	if rounds == 0 || len(p.grid.slots) == 0 {
		return rounds
	}
	m := &improver{roster: p.roster, rng: rng, best: p.roster.snapshot()}
	m.anneal(how, rounds, stop)
	p.roster.restore(m.best)
	return rounds
}
