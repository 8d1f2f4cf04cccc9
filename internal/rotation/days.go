package rotation

import (
	"math/bits"
	"slices"
)

// daySet is a set of days of the window, a bit each.
type daySet []uint64

func (g *grid) newDays() daySet { return make(daySet, g.words) }

func (g *grid) fullDays() daySet {
	s := g.newDays()
	for d := range g.days {
		s.set(d)
	}
	return s
}

func (s daySet) set(d int)      { s[d>>6] |= 1 << (d & 63) }
func (s daySet) unset(d int)    { s[d>>6] &^= 1 << (d & 63) }
func (s daySet) has(d int) bool { return s[d>>6]>>(d&63)&1 == 1 }

func (s daySet) count() int {
	n := 0
	for _, w := range s {
		n += bits.OnesCount64(w)
	}
	return n
}

// prefix counts the days of the set before each day.
func (s daySet) prefix(days int) []int32 {
	out := make([]int32, days+1)
	for d := range days {
		out[d+1] = out[d]
		if s.has(d) {
			out[d+1]++
		}
	}
	return out
}

// unsetRange takes the days from..to out of the set.
func (s daySet) unsetRange(from, to int) {
	for from <= to {
		width := min(to-from+1, 64-from&63)
		s[from>>6] &^= (^uint64(0) >> (64 - width)) << (from & 63)
		from += width
	}
}

// threshold finds the days that are in at least so many of some sets. It keeps its levels so that no call allocates.
type threshold struct {
	levels []daySet // levels[k]: days in at least k sets so far; levels[0]: all days asked about
	least  int
}

func newThreshold(words, least int) *threshold {
	t := &threshold{}
	t.grow(words, least)
	return t
}

func (t *threshold) grow(words, least int) {
	t.least = least
	for len(t.levels) <= least {
		t.levels = append(t.levels, make(daySet, words))
	}
}

func (t *threshold) reset(all daySet) {
	copy(t.levels[0], all)
	for k := 1; k <= t.least; k++ {
		clear(t.levels[k])
	}
}

func (t *threshold) add(s daySet) {
	for k := t.least; k >= 1; k-- {
		above, below := t.levels[k], t.levels[k-1]
		for i, w := range s {
			above[i] |= below[i] & w
		}
	}
}

func (t *threshold) result() daySet { return t.levels[t.least] }

func (t *threshold) of(sets []daySet, all daySet) daySet {
	t.reset(all)
	for _, s := range sets {
		t.add(s)
	}
	return t.result()
}

func sortedInts(list []int) []int { return slices.Sorted(slices.Values(list)) }

func has(list []int, x int) bool { return slices.Contains(list, x) }
