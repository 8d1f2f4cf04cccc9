package rotation

import (
	"context"
	"maps"
	"math"

	"groundhand/internal/linear"
)

// proof is what proving came to. Each figure of Bound holds for every plan that is at least as good as the one proved at the levels before
// it; at the first Proved levels it is the figure of the plan itself, so that no plan is better there. Better is a better plan found on the
// way, or nil; Bound and Proved then speak of it.
type proof struct {
	bound  Objective
	proved int
	better *snapshot
}

// mostNodes bounds the branching at one level, so that the same problem gives the same answer however fast the machine is.
const mostNodes = 20_000

// prove tries to show, level by level, that no plan is better than the one given: by the cheap bounds first, then by the staged program.
// It stops where ctx ends; what it says then holds all the same.
func (g *grid) prove(ctx context.Context, best snapshot) proof {
	v := &prover{g: g, best: best, known: g.newKnown(best.figures)}
	for level := 1; level <= 6; level++ {
		v.proveLevel(ctx, level)
	}
	return proof{objectiveOf(v.known.bound), v.proved, v.better}
}

type prover struct {
	g      *grid
	best   snapshot
	better *snapshot
	known  *known
	proved int
}

// newKnown starts with the cheap bounds.
func (g *grid) newKnown(best Objective) *known {
	return &known{certain: g.certainlyShort(), bound: g.bound(best.LapsedDays).Levels(), never: map[visit]bool{}, always: map[int]bool{}}
}

func (v *prover) figure(level int) int { return v.best.figures.Levels()[level-1] }

// proveLevel raises the bound of a level, to the figure itself if it can, or finds a plan with a smaller one.
func (v *prover) proveLevel(ctx context.Context, level int) {
	open := v.proved == level-1 // the levels before are proved
	if ctx.Err() != nil {
		return
	}
	if v.known.bound[level-1] < v.figure(level) {
		v.ask(ctx, level, open)
	}
	if open && v.known.bound[level-1] == v.figure(level) {
		v.proved = level
	}
}

// ask solves the relaxed program and, where that leaves a gap, the program itself.
func (v *prover) ask(ctx context.Context, level int, branch bool) {
	s := v.g.newStage(level, v.best.figures, v.known)
	relaxed := s.program().Relax(ctx)
	if relaxed.Status != linear.Optimal {
		v.raise(s, relaxed.Bound)
		return
	}
	if !v.raise(s, relaxed.Bound) && branch {
		v.solve(ctx, s, relaxed)
	}
	v.learn(s, relaxed)
}

// raise takes a bound of the cost of a stage over, rounded up to what a plan can have; true when it reaches the figure of the best plan.
func (v *prover) raise(s *stage, bound float64) bool {
	const slack = 1e-6
	if math.IsInf(bound, 0) || math.IsNaN(bound) {
		return false // nothing said; the plan given is a solution, so that plus infinity cannot be
	}
	if step := max(1, s.step()); true {
		bound = step * math.Ceil(bound/step-slack)
	}
	now := &v.known.bound[s.level-1]
	*now = min(v.figure(s.level), max(*now, int(bound+s.base[s.level-1])))
	return *now == v.figure(s.level)
}

// solve branches, with the variables fixed whose reduced cost shows that no better plan moves them.
func (v *prover) solve(ctx context.Context, s *stage, relaxed linear.Answer) {
	cutoff := float64(v.figure(s.level)) - s.base[s.level-1]
	s.tighten(relaxed, cutoff-max(1, s.step()))
	answer := solveNow(ctx, s.program(), linear.Options{Nodes: mostNodes, Cutoff: cutoff, Step: s.step()})
	if len(answer.X) > 0 && answer.Value < cutoff-0.5 {
		if found, sound := s.snapshotOf(answer.X); sound && found.figures.Less(v.best.figures) {
			v.best, v.better = found, &found
		}
	}
	switch answer.Status {
	case linear.Infeasible:
		v.raise(s, cutoff)
	case linear.Optimal, linear.Stopped:
		v.raise(s, answer.Bound)
	}
}

// tighten fixes the variables that no solution of at most a cost moves away from their bound.
func (d *draft) tighten(relaxed linear.Answer, most float64) {
	d.unmoved(relaxed, most, func(x int, upper bool) {
		if upper {
			d.lower[x] = d.upper[x]
		} else {
			d.upper[x] = d.lower[x]
		}
	})
}

// unmoved calls fix for each chosen variable that stays at its lower or upper bound in every solution of at most a cost.
func (d *draft) unmoved(relaxed linear.Answer, most float64, fix func(x int, upper bool)) {
	const slack = 1e-6
	if len(relaxed.ReducedCosts) != len(d.lower) {
		return
	}
	for x, c := range relaxed.ReducedCosts {
		if d.nature[x] != chosen || d.lower[x] == d.upper[x] || relaxed.Bound+math.Abs(c) <= most+slack {
			continue
		}
		fix(x, c < 0)
	}
}

// learn keeps for the later levels what the reduced costs say of plans that are as good as the best.
func (v *prover) learn(s *stage, relaxed linear.Answer) {
	pairs, slots := map[int]visit{}, map[int]int{}
	for pair, x := range s.renew {
		pairs[x] = pair
	}
	for slot, x := range s.held {
		if x != none {
			slots[x] = slot
		}
	}
	never, always := maps.Clone(v.known.never), maps.Clone(v.known.always)
	s.unmoved(relaxed, float64(v.figure(s.level))-s.base[s.level-1], func(x int, upper bool) {
		slot, isSlot := slots[x]
		pair, isPair := pairs[x]
		switch {
		case isSlot && upper:
			always[slot] = true
		case isSlot:
			for _, t := range s.callers[slot] {
				never[visit{t, slot}] = true
			}
		case isPair && !upper:
			never[pair] = true
		}
	})
	v.known.never, v.known.always = never, always
}

// snapshotOf reads a solution of the stage as a plan; false when it breaks a hard rule, which a sound solution never does.
func (s *stage) snapshotOf(x []float64) (snapshot, bool) {
	r := newRoster(s.g)
	yes := func(terms sum) bool {
		n := 0.0
		for _, t := range terms {
			n += t.Coefficient * x[t.Variable]
		}
		return n > 0.5
	}
	for slot, held := range s.held {
		if held == none {
			continue
		}
		for _, w := range s.peopleOf(slot) {
			if yes(s.comes[seat{w, slot}]) {
				r.doJoin(w, slot)
			}
		}
	}
	for t, slots := range s.pairs {
		for _, slot := range slots {
			if yes(one(s.renew[visit{t, slot}])) {
				r.doRenew(t, slot)
			}
		}
	}
	for c := range s.g.crews {
		r.judge(c)
	}
	out := r.snapshot()
	plan := Plan{Problem: s.g.p.Name, Sessions: r.sessions(), Objective: out.figures}
	return out, len(Check(s.g.p, plan)) == 0
}
