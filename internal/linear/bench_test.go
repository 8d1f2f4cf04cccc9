package linear

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"
)

// opening makes an assignment with opening costs: customers go to places that are opened at a cost and have so many seats.
func opening(r *rand.Rand, customers, places, seats int, level bool) *Program {
	p := &Program{}
	open := make([]int, places)
	for k := range open {
		cost := 100.0
		if !level {
			cost = float64(60 + r.IntN(80))
		}
		open[k] = p.Variable(0, 1, cost, true)
	}
	into := make([][]Term, places)
	for range customers {
		var once []Term
		for _, k := range r.Perm(places)[:3+r.IntN(5)] {
			cost := 0.0
			if !level {
				cost = float64(r.IntN(30))
			}
			x := p.Variable(0, 1, cost, true)
			once = append(once, Term{x, 1})
			into[k] = append(into[k], Term{x, 1})
			p.Row(-inf, 0, Term{x, 1}, Term{open[k], -1})
		}
		p.Row(1, 1, once...)
	}
	for k, terms := range into {
		p.Row(-inf, 0, append(terms, Term{open[k], -float64(seats)})...)
	}
	return p
}

// covering makes a set cover with costs.
func covering(r *rand.Rand, rows, sets int, level bool) *Program {
	p := &Program{}
	for range sets {
		cost := 1.0
		if !level {
			cost = float64(1 + r.IntN(20))
		}
		p.Variable(0, 1, cost, true)
	}
	for range rows {
		var terms []Term
		for _, k := range r.Perm(sets)[:2+r.IntN(5)] {
			terms = append(terms, Term{k, 1})
		}
		p.Row(1, inf, terms...)
	}
	return p
}

func BenchmarkBesideCBC(b *testing.B) {
	for _, c := range []struct {
		name string
		make func(r *rand.Rand) *Program
	}{
		{"cover 200x60 level", func(r *rand.Rand) *Program { return covering(r, 200, 60, true) }},
		{"cover 200x60", func(r *rand.Rand) *Program { return covering(r, 200, 60, false) }},
		{"cover 400x200", func(r *rand.Rand) *Program { return covering(r, 400, 200, false) }},
		{"opening 60x30", func(r *rand.Rand) *Program { return opening(r, 60, 30, 8, false) }},
		{"opening 120x40 level", func(r *rand.Rand) *Program { return opening(r, 120, 40, 10, true) }},
		{"opening 200x60", func(r *rand.Rand) *Program { return opening(r, 200, 60, 12, false) }},
	} {
		b.Run(c.name, func(b *testing.B) {
			for range b.N {
				p := c.make(rand.New(rand.NewPCG(1, 2)))
				t0 := time.Now()
				lp := p.Relax(context.Background())
				t1 := time.Now()
				ctx, cancel := context.WithTimeout(context.Background(), 60*time.Second)
				a := p.Solve(ctx, Options{})
				cancel()
				t2 := time.Now()
				v := ask(b, p, [][]string{{"preprocess", "on"}, {"preprocess", "off"}}) // as it comes
				b.Logf("relaxed %.3f s %d pivots %.2f; %v %g bound %g, %d nodes %d pivots %.2f s; cbc %s %g %.2f s", t1.Sub(t0).Seconds(), lp.Pivots, lp.Value,
					a.Status, a.Value, a.Bound, a.Nodes, a.Pivots, t2.Sub(t1).Seconds(), v.status, v.value, time.Since(t2).Seconds())
			}
		})
	}
}
