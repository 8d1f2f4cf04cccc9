package rotation

import (
	"context"
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
	nodes  int // branched so far
	pivots int
	log    func(string, ...any)
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
	if !v.done(level) {
		v.ask(ctx, level, open)
	}
	if open && v.done(level) {
		v.proved = level
	}
}

// ask solves the relaxed program, then that of each part by itself, and where that leaves a gap the program itself.
func (v *prover) ask(ctx context.Context, level int, branch bool) {
	s := v.g.newStage(level, v.best.figures, v.known)
	relaxed := s.program().Relax(ctx)
	if v.settle(s, relaxed) {
		return
	}
	if level >= 2 && level <= 5 && v.askParts(ctx, s) {
		if v.done(level) {
			return
		}
		s = v.g.newStage(level, v.best.figures, v.known)
		relaxed = s.program().Relax(ctx)
		if v.settle(s, relaxed) {
			return
		}
	}
	if branch && relaxed.Status == linear.Optimal {
		v.solve(ctx, s, relaxed)
	}
}

// settle takes over what a relaxed program says; true when that closes the level.
func (v *prover) settle(s *stage, relaxed linear.Answer) bool {
	v.count(relaxed)
	v.trace("relaxed level %d %dx%d %v %v of %v pivots %d", s.level, len(s.rows), len(s.lower), relaxed.Status, relaxed.Bound+s.base[s.level-1], v.figure(s.level), relaxed.Pivots)
	v.raise(s, roundUp(relaxed.Bound, s.draft))
	if relaxed.Status == linear.Optimal {
		v.learn(s, s.unmoved(relaxed, float64(v.figure(s.level))-s.base[s.level-1]), nil)
	}
	return v.done(s.level)
}

func (v *prover) done(level int) bool { return v.known.bound[level-1] == v.figure(level) }

// roundUp is the least cost that a whole solution of a draft can have, given a bound.
func roundUp(bound float64, d *draft) float64 {
	const slack = 1e-6
	step := max(1, d.step())
	return step * math.Ceil(bound/step-slack)
}

// raise takes over a bound of the cost of a stage. An infinite one says nothing: the plan given is a solution.
func (v *prover) raise(s *stage, bound float64) {
	if math.IsInf(bound, 0) || math.IsNaN(bound) {
		return
	}
	now := &v.known.bound[s.level-1]
	*now = min(v.figure(s.level), max(*now, int(bound+s.base[s.level-1])))
}

// askParts bounds each part of a stage by itself. It gives false when there is only one.
func (v *prover) askParts(ctx context.Context, s *stage) bool {
	groups := s.parts()
	if len(groups) < 2 {
		return false
	}
	parts, shares := make([]*partOf, len(groups)), make([]share, len(groups))
	relaxed := make([]linear.Answer, len(groups))
	all := 0.0
	for i, slots := range groups {
		parts[i] = s.part(slots)
		relaxed[i] = parts[i].program().Relax(ctx)
		v.count(relaxed[i])
		if relaxed[i].Status != linear.Optimal {
			return false
		}
		shares[i] = share{slots, roundUp(relaxed[i].Bound, parts[i].draft)}
		all += shares[i].least
	}
	most := float64(v.figure(s.level)) - s.base[s.level-1]
	x := make([]float64, len(s.lower))
	whole := true
	for i, p := range parts {
		left := most - all + shares[i].least
		v.learn(s, p.unmoved(relaxed[i], left), p.from)
		p.tighten(relaxed[i], left)
		answer := p.program().Solve(ctx, linear.Options{Nodes: mostNodes, Cutoff: left + 0.25, Step: p.step()})
		v.count(answer)
		v.trace("part %d/%d level %d %dx%d relaxed %v answer %v %v nodes %d pivots %d left %v", i, len(parts), s.level, len(p.rows), len(p.lower), relaxed[i].Bound, answer.Status, answer.Bound, answer.Nodes, answer.Pivots, left)
		if least := roundUp(answer.Bound, p.draft); !math.IsInf(least, 0) && least > shares[i].least {
			all += least - shares[i].least
			shares[i].least = least
		}
		for j, value := range answer.X {
			x[p.from[j]] = value
		}
		whole = whole && len(answer.X) > 0
	}
	v.known.shares[s.level-1] = shares
	v.raise(s, all)
	if whole {
		v.offer(s, x)
	}
	return true
}

// offer takes a solution over if it is a sound plan and better.
func (v *prover) offer(s *stage, x []float64) {
	if found, sound := s.snapshotOf(x); sound && found.figures.Less(v.best.figures) {
		v.best, v.better = found, &found
	}
}

// solve branches, with the variables fixed whose reduced cost shows that no better plan moves them.
func (v *prover) solve(ctx context.Context, s *stage, relaxed linear.Answer) {
	cutoff := float64(v.figure(s.level)) - s.base[s.level-1]
	s.tighten(relaxed, cutoff-max(1, s.step()))
	answer := s.program().Solve(ctx, linear.Options{Nodes: mostNodes, Cutoff: cutoff - 0.25, Step: s.step()})
	v.count(answer)
	v.trace("whole level %d %dx%d relaxed %v answer %v %v %v nodes %d pivots %d cutoff %v", s.level, len(s.rows), len(s.lower), relaxed.Bound, answer.Status, answer.Bound, answer.Value, answer.Nodes, answer.Pivots, cutoff)
	if len(answer.X) > 0 {
		v.offer(s, answer.X)
	}
	if answer.Status == linear.Infeasible {
		v.raise(s, cutoff)
	} else {
		v.raise(s, roundUp(answer.Bound, s.draft))
	}
}

// tighten fixes the variables that no solution of at most a cost moves away from their bound.
func (d *draft) tighten(relaxed linear.Answer, most float64) {
	for _, m := range d.unmoved(relaxed, most) {
		if m.upper {
			d.lower[m.variable] = d.upper[m.variable]
		} else {
			d.upper[m.variable] = d.lower[m.variable]
		}
	}
}

// unmoved is a variable that stays at its lower or upper bound.
type unmoved struct {
	variable int
	upper    bool
}

// unmoved lists the chosen variables that stay at a bound in every solution of at most a cost, as their reduced costs show.
func (d *draft) unmoved(relaxed linear.Answer, most float64) []unmoved {
	const slack = 1e-6
	var out []unmoved
	for x, c := range relaxed.ReducedCosts {
		if d.nature[x] == chosen && d.lower[x] < d.upper[x] && relaxed.Bound+math.Abs(c) > most+slack {
			out = append(out, unmoved{x, c < 0})
		}
	}
	return out
}

// learn keeps for the later levels what the reduced costs say of plans that are as good as the best. The variables are those of the stage,
// or of a part of it that came from there.
func (v *prover) learn(s *stage, all []unmoved, from []int) {
	for _, m := range all {
		x := m.variable
		if from != nil {
			x = from[x]
		}
		slot, ticket := s.site[x], s.ticket[x]
		switch {
		case slot == none:
		case s.held[slot] == x && m.upper:
			v.known.always[slot] = true
		case s.held[slot] == x:
			for _, t := range s.callers[slot] {
				v.known.never[visit{t, slot}] = true
			}
		case ticket != none && !m.upper:
			v.known.never[visit{ticket, slot}] = true
		}
	}
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

func (v *prover) count(a linear.Answer) { v.nodes, v.pivots = v.nodes+a.Nodes, v.pivots+a.Pivots }

func (v *prover) trace(format string, args ...any) {
	if v.log != nil {
		v.log(format, args...)
	}
}
