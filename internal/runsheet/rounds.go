package runsheet

import (
	"context"
	"slices"
)

// Rounds pairs n people, numbered from 0, so that every two of them meet in exactly one round: n-1 rounds for an even n, n rounds for an odd
// one, in each of which one rests. One sits still and the others move on by a place each round (the circle method of round-robin
// tournaments); for an odd n it is a chair that sits still.
func Rounds(n int) [][][2]int {
	seats := n + n%2
	var out [][][2]int
	for round := range seats - 1 {
		at := func(seat int) int { // the last seat does not move
			if seat == seats-1 {
				return seat
			}
			return (seat + round) % (seats - 1)
		}
		var pairs [][2]int
		for seat := range seats / 2 {
			a, b := at(seat), at(seats-1-seat)
			if a < n && b < n {
				pairs = append(pairs, [2]int{min(a, b), max(a, b)})
			}
		}
		out = append(out, pairs)
	}
	return out
}

// Year makes the sheets of several drills of the same people, one after the other, so that those who work together all come to practise with
// each other. Each crew goes round by the circle method. Whoever leads once and is second once has two partners in a drill, so a drill takes
// two rounds. Whom a later round brings together is left for it, and what a drill has paired counts as paired before in those that follow.
// The figures of each sheet, and their bounds, are those of its own problem, which comes with it.
func Year(ctx context.Context, p Problem, drills int, o Options) ([]Drill, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	out := make([]Drill, 0, max(0, drills))
	circles := p.circles()
	for i := range drills {
		found, err := find(ctx, p.with(circles.later(i)), o)
		if err != nil {
			return nil, err
		}
		judged := &search{d: newDrill(p), ctx: ctx}
		judged.pair()
		judged.adopt(found.best)
		out = append(out, Drill{p, judged.sheet(p.Name)})
		p = p.After(out[i].Sheet)
	}
	return out, nil
}

// Drill is one drill of a year.
type Drill struct {
	Problem Problem
	Sheet   Sheet
}

// circles are the rounds of each crew, by the names of its people.
type circles [][][]Couple

// roundsOfDrill is how many rounds a drill takes in which everybody has two partners.
const roundsOfDrill = 2

func (p Problem) circles() circles {
	var crews []string
	members := map[string][]string{}
	for _, w := range p.People {
		if w.Crew == "" || w.Needs.Lead+w.Needs.Second == 0 {
			continue
		}
		if members[w.Crew] == nil {
			crews = append(crews, w.Crew)
		}
		members[w.Crew] = append(members[w.Crew], w.ID)
	}
	var out circles
	for _, crew := range crews {
		var rounds [][]Couple
		for _, round := range Rounds(len(members[crew])) {
			var couples []Couple
			for _, pair := range round {
				couples = append(couples, Couple{members[crew][pair[0]], members[crew][pair[1]], 1})
			}
			rounds = append(rounds, couples)
		}
		out = append(out, rounds)
	}
	return out
}

// later lists the couples whose round is not up in a drill, as if they had met once already.
func (c circles) later(drill int) []Couple {
	var out []Couple
	for _, rounds := range c {
		for i, round := range rounds {
			up := false
			for k := range roundsOfDrill {
				up = up || (drill*roundsOfDrill+k)%len(rounds) == i
			}
			if !up {
				out = append(out, round...)
			}
		}
	}
	return out
}

// with adds to what was paired before.
func (p Problem) with(more []Couple) Problem {
	p.PairedBefore = slices.Clone(p.PairedBefore)
	at := map[[2]string]int{}
	for i, c := range p.PairedBefore {
		at[coupleKey(c.A, c.B)] = i
	}
	for _, c := range more {
		key := coupleKey(c.A, c.B)
		i, there := at[key]
		if !there {
			i, at[key] = len(p.PairedBefore), len(p.PairedBefore)
			p.PairedBefore = append(p.PairedBefore, Couple{A: key[0], B: key[1]})
		}
		p.PairedBefore[i].Times += c.Times
	}
	return p
}

// After is the problem of the same people once they have run a sheet: its pairings count as paired before.
func (p Problem) After(s Sheet) Problem {
	var paired []Couple
	for _, r := range s.Runs {
		if r.Lone == "" {
			paired = append(paired, Couple{r.Lead, r.Second, 1})
		}
	}
	return p.with(paired)
}
