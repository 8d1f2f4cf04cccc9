package demo

import (
	"math"
	"math/rand/v2"

	g "groundhand/internal/groundhand"
)

// circumstances are what makes a run slower or quicker.
type circumstances struct {
	laidOut, unannounced, dark bool
	stale                      bool // more than ten months since the last run
}

// increments are the median seconds from each stage to the next, S0 to S1 first, S7 to S8 last. Invented, to give believable spreads;
// no claim about people.
var increments = map[g.Method][8]float64{
	g.PairKit:        {8, 4, 8, 25, 17, 16, 12, 10},
	g.LoneKit:        {10, 6, 9, 30, 25, 20, 14, 11},
	g.ManualLowering: {10, 8, 12, 150, 30, 40, 20, 15},
}

// Spreads of the logarithm: of one stage, of a person from others, of a session from others.
const (
	stageSpread   = 0.30
	personSpread  = 0.08
	sessionSpread = 0.10
)

// lognormal is a factor with median 1.
func lognormal(chance *rand.Rand, spread float64) float64 {
	return math.Exp(chance.NormFloat64() * spread)
}

func (c circumstances) factor() float64 {
	f := 1.0
	for _, by := range []struct {
		holds  bool
		factor float64
	}{{c.laidOut, 0.85}, {c.unannounced, 1.15}, {c.dark, 1.10}, {c.stale, 1.12}} {
		if by.holds {
			f *= by.factor
		}
	}
	return f
}

// pace gives the stage marks S0 to S8 of one run in whole seconds. Factor is that of the person and the session.
func pace(chance *rand.Rand, m g.Method, c circumstances, factor float64) g.StageMarks {
	out := g.StageMarks{{Stage: g.S0}}
	at := 0.0
	for i, median := range increments[m] {
		at += median * factor * c.factor() * lognormal(chance, stageSpread)
		out = append(out, g.StageMark{Stage: g.Stage(i + 1), Seconds: int(math.Round(at))})
	}
	return out
}

// factorOf is how much slower or quicker than others somebody is, always the same for the same seed.
func (p *player) factorOf(name string) float64 {
	return lognormal(p.chance("person "+name), personSpread)
}
