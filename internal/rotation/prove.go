package rotation

import (
	"context"
	"maps"
	"math"
	"slices"

	"groundhand/internal/linear"
)

// proof is what proving came to. Each figure of bound holds for every plan that is at least as good as the one proved at the levels before
// it; at the first levels, as many as proved says, it is the figure of the plan itself, so that no plan is better there. Better is a better
// plan found on the way, or nil; bound and proved then speak of it.
type proof struct {
	bound  Objective
	proved int
	better *snapshot
}

// proofWork is the work of a proof, in steps of the simplex on a small program: seconds for some dozen workers, half a minute for a hundred.
const proofWork = 400_000

// Sizes from which a program is not tried: the last level ties all sessions together and is harder than the others.
const (
	mostPairs     = 30_000
	mostVariables = 16_000
	mostForLast   = 6_000
)

// mostInstant is how many due tickets are mostly proved in a moment.
const mostInstant = 100

// prove tries to show, level by level, that no plan is better than the one given: by the cheap bounds first, then by the staged program. It
// stops where ctx ends or the work is done; what it says then holds all the same.
func (g *grid) prove(ctx context.Context, best snapshot, work int) proof {
	v := &prover{g: g, best: best, known: g.newKnown(best.figures), work: work}
	if g.withinReach() {
		if g.due > mostInstant {
			v.glance(ctx)
		}
		for level := 1; level <= 6; level++ {
			v.proveLevel(ctx, level)
		}
	} else {
		v.proveCheaply()
	}
	return proof{objectiveOf(v.known.bound), v.proved, v.better}
}

// withinReach says that a problem is not too large for the staged program.
func (g *grid) withinReach() bool {
	pairs := 0
	for t := range g.tickets {
		if g.tickets[t].due {
			pairs += len(g.offered(t))
		}
	}
	return pairs <= mostPairs
}

type prover struct {
	g      *grid
	best   snapshot
	better *snapshot
	known  *known
	proved int
	work   int // steps left
	log    func(string, ...any)
}

// newKnown starts with the cheap bounds.
func (g *grid) newKnown(best Objective) *known {
	return &known{certain: g.certainlyShort(), bound: g.bound(best.LapsedDays).Levels(), never: map[visit]bool{}, always: map[int]bool{}}
}

func (v *prover) proveCheaply() {
	for v.proved < 6 && v.done(v.proved+1) {
		v.proved++
	}
}

func (v *prover) figure(level int) int { return v.best.figures.Levels()[level-1] }

func (v *prover) done(level int) bool { return v.known.bound[level-1] == v.figure(level) }

// glance bounds every level without branching, so that there is something to say of the last ones too when time ends at the first. What
// it learns of pairs and slots supposes the levels before and is forgotten; the bounds and the shares of a level hold from there on.
func (v *prover) glance(ctx context.Context) {
	for level := 2; level <= 5 && ctx.Err() == nil && v.work > 0; level++ {
		if v.done(level) {
			continue
		}
		never, always := maps.Clone(v.known.never), maps.Clone(v.known.always)
		v.askParts(ctx, v.g.newStage(level, v.best.figures, v.known), false)
		v.known.never, v.known.always = never, always
	}
}

// proveLevel raises the bound of a level, to the figure itself if it can, or finds a plan with a smaller one. It branches only while all
// levels before are proved.
func (v *prover) proveLevel(ctx context.Context, level int) {
	open := v.proved == level-1
	if !v.done(level) && ctx.Err() == nil && v.work > 0 {
		v.ask(ctx, level, open)
	}
	if open && v.done(level) {
		v.proved = level
	}
}

// ask bounds each part of the program by itself, where the figure is a sum over parts, and then the whole.
func (v *prover) ask(ctx context.Context, level int, branch bool) {
	s := v.g.newStage(level, v.best.figures, v.known)
	if level >= 2 && level <= 5 {
		pieces := v.askParts(ctx, s, branch)
		if v.done(level) || branch && len(pieces) > 0 && !allSolved(pieces) {
			return // the whole is harder than the part that is still open
		}
		if len(pieces) > 0 {
			s = v.g.newStage(level, v.best.figures, v.known)
		}
	}
	if len(s.lower) <= mostVariables && (level < 6 || len(s.lower) <= mostForLast) {
		v.askWhole(ctx, s, branch)
	}
}

func (v *prover) askWhole(ctx context.Context, s *stage, branch bool) {
	relaxed := s.program().Relax(ctx)
	v.spend(relaxed, s.draft)
	v.raise(s, roundUp(relaxed.Bound, s.draft))
	v.trace("relaxed level %d %dx%d %v %v of %v pivots %d", s.level, len(s.rows), len(s.lower), relaxed.Status, relaxed.Bound+s.base[s.level-1], v.figure(s.level), relaxed.Pivots)
	if relaxed.Status != linear.Optimal {
		return
	}
	v.learn(s, s.unmoved(relaxed, v.most(s)), nil)
	if branch && !v.done(s.level) {
		v.solve(ctx, s, relaxed)
	}
}

// most is what the cost of a stage may be for a plan as good as the best.
func (v *prover) most(s *stage) float64 { return float64(v.figure(s.level)) - s.base[s.level-1] }

// steps is how many steps a program may take for a part of the work that is left.
func (v *prover) steps(d *draft, part float64) int {
	return max(1, int(part*float64(v.work))/d.weight())
}

// weight is how much work one step is.
func (d *draft) weight() int { return 1 + (len(d.lower)+len(d.rows))/2000 }

func (v *prover) spend(a linear.Answer, d *draft) { v.work -= a.Pivots * d.weight() }

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

// piece is a part of a stage while it is being bounded.
type piece struct {
	*partOf
	share   share
	relaxed linear.Answer
	solved  linear.Answer
}

// askParts bounds each part of a stage by itself: what none can go below adds up. Joined, their solutions are often a plan. It gives none
// when there is only one part or some part says nothing.
func (v *prover) askParts(ctx context.Context, s *stage, branch bool) []*piece {
	groups := s.parts()
	if len(groups) < 2 {
		return nil
	}
	pieces := make([]*piece, len(groups))
	inParallel(len(groups), func(i int) {
		p := &piece{partOf: s.part(groups[i]), share: share{slots: groups[i]}}
		if len(p.lower) <= mostVariables {
			p.relaxed = p.program().Relax(ctx)
		}
		pieces[i] = p
	})
	all := 0.0
	for _, p := range pieces {
		if v.spend(p.relaxed, p.draft); p.relaxed.Status != linear.Optimal {
			return nil
		}
		p.share.least = roundUp(p.relaxed.Bound, p.draft)
		all += p.share.least
	}
	for _, p := range pieces {
		v.learn(s, p.unmoved(p.relaxed, v.most(s)-all+p.share.least), p.from)
	}
	if branch {
		all = v.solveParts(ctx, s, pieces, all)
	}
	shares := make([]share, len(pieces))
	for i, p := range pieces {
		shares[i] = p.share
	}
	v.known.shares[s.level-1] = shares
	v.raise(s, all)
	return pieces
}

func allSolved(pieces []*piece) bool {
	return !slices.ContainsFunc(pieces, func(p *piece) bool { return p.solved.Status != linear.Optimal })
}

// solveParts branches in each part and gives the sum of what they come to at least.
func (v *prover) solveParts(ctx context.Context, s *stage, pieces []*piece, all float64) float64 {
	inParallel(len(pieces), func(i int) {
		p := pieces[i]
		left := v.most(s) - all + p.share.least
		p.tighten(p.relaxed, left)
		p.solved = p.program().Solve(ctx, linear.Options{Pivots: v.steps(p.draft, 0.75), Cutoff: left + 0.25, Step: p.step()})
	})
	whole := true
	for i, p := range pieces {
		v.spend(p.solved, p.draft)
		v.trace("part %d/%d level %d %dx%d relaxed %v answer %v %v nodes %d pivots %d", i, len(pieces), s.level, len(p.rows), len(p.lower), p.relaxed.Bound, p.solved.Status, p.solved.Bound, p.solved.Nodes, p.solved.Pivots)
		if least := roundUp(p.solved.Bound, p.draft); !math.IsInf(least, 0) && least > p.share.least {
			all += least - p.share.least
			p.share.least = least
		}
		whole = whole && len(p.solved.X) > 0
	}
	if whole && !v.offer(s, join(s, pieces)) {
		v.fit(ctx, s, pieces)
	}
	return all
}

// join puts the solutions of all parts together.
func join(s *stage, pieces []*piece) []float64 {
	x := make([]float64, len(s.lower))
	for _, p := range pieces {
		for j, value := range p.solved.X {
			x[p.from[j]] = value
		}
	}
	return x
}

// fit solves the parts once more, one after the other within what those before it have settled, because their solutions got in each
// other's way: first each no dearer than before, a part that finds no room going first the next time, then as cheaply as can be.
func (v *prover) fit(ctx context.Context, s *stage, pieces []*piece) {
	order := slices.Clone(pieces)
	slices.SortStableFunc(order, func(a, b *piece) int { return len(b.lower) - len(a.lower) })
	led := map[*piece]bool{}
	for !led[order[0]] {
		led[order[0]] = true
		x, failed := v.fitInOrder(ctx, s, order, 0.25)
		if failed == none && v.offer(s, x) {
			return
		}
		if failed == none || ctx.Err() != nil {
			break
		}
		first := order[failed]
		order = slices.Insert(slices.Delete(order, failed, failed+1), 0, first)
	}
	if x, failed := v.fitInOrder(ctx, s, order, math.Inf(1)); failed == none {
		v.offer(s, x)
	}
}

// fitInOrder gives a joint solution in which no part is dearer than before by the given cost, or the first part that found no room. The
// first part keeps its solution.
func (v *prover) fitInOrder(ctx context.Context, s *stage, order []*piece, dearer float64) (x []float64, failed int) {
	settled := s.withOwnBounds()
	x = make([]float64, len(s.lower))
	for i, p := range order {
		from, values := p.from, p.solved.X
		if i > 0 {
			q := settled.part(p.share.slots)
			answer := q.program().Solve(ctx, linear.Options{Pivots: v.steps(q.draft, 0.06), Cutoff: p.solved.Value + dearer, Step: q.step()})
			v.spend(answer, q.draft)
			from, values = q.from, answer.X
			v.trace("fit %d/%d level %d %dx%d %v %v of %v nodes %d pivots %d", i, len(order), s.level, len(q.rows), len(q.lower), answer.Status, answer.Value, p.solved.Value, answer.Nodes, answer.Pivots)
		}
		if len(values) == 0 {
			return nil, i
		}
		for j, value := range values {
			x[from[j]] = value
			settled.settle(from[j], value)
		}
	}
	return x, none
}

// settle fixes a variable that belongs to a slot; those that belong to none are left to follow.
func (s *stage) settle(at int, value float64) {
	if s.site[at] == none {
		return
	}
	if s.nature[at] == chosen {
		value = math.Round(value)
	}
	s.lower[at], s.upper[at] = value, value
}

// withOwnBounds is the same stage with bounds that may be changed.
func (s *stage) withOwnBounds() *stage {
	out, d := *s, *s.draft
	d.lower, d.upper = slices.Clone(d.lower), slices.Clone(d.upper)
	out.draft = &d
	return &out
}

// offer takes a solution over if it is a sound plan and better. It gives false when it is no sound plan.
func (v *prover) offer(s *stage, x []float64) bool {
	found, sound := s.snapshotOf(x)
	if sound && found.figures.Less(v.best.figures) {
		v.best, v.better = found, &found
	}
	return sound
}

// solve branches, with the variables fixed whose reduced cost shows that no better plan moves them.
func (v *prover) solve(ctx context.Context, s *stage, relaxed linear.Answer) {
	cutoff := v.most(s)
	s.tighten(relaxed, cutoff-max(1, s.step()))
	answer := s.program().Solve(ctx, linear.Options{Pivots: v.steps(s.draft, 0.5), Cutoff: cutoff - 0.25, Step: s.step()})
	v.spend(answer, s.draft)
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

func (v *prover) trace(format string, args ...any) {
	if v.log != nil {
		v.log(format, args...)
	}
}
