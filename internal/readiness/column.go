package readiness

import (
	"slices"

	"groundhand/internal/groundhand"
)

// A column is what one person of the pool adds at a moment, as bytes: first the flags below, then for every family how they count for the
// card, and for every slot of a method's role how they count for it. What cannot lead to the target is left out, so that many people have
// the same column.
const (
	columnAble byte = 1 << iota
	columnAid
	columnBusy
)

// How somebody counts in a column.
const (
	surelyFull byte = 1 << iota
	surelySome
	perhapsFull
	perhapsSome
)

// addKinds sorts the people of the pool who can come by what they add.
func (st *stage) addKinds() {
	st.column = map[string]uint16{}
	nobody := make([]byte, 1+len(st.in.families)*(1+len(st.useful)))
	st.intern(nobody)
	best, place := slices.Clone(nobody), map[string]int{}
	for _, i := range st.s.people {
		if !st.comes(i) {
			continue
		}
		course, key := st.courseOf(i, best)
		at, seen := place[key]
		if !seen {
			at = len(st.kinds)
			place[key], st.kinds = at, append(st.kinds, kind{course: course})
		}
		st.kinds[at].people = append(st.kinds[at].people, i)
	}
	st.ideal = kind{course: []added{{longAgo, st.intern(best)}}}
}

func (st *stage) intern(column []byte) uint16 {
	n, known := st.column[string(column)]
	if !known {
		n = uint16(len(st.columns))
		st.column[string(column)] = n
		st.columns = append(st.columns, string(column))
	}
	return n
}

// courseOf is what somebody adds over the window, with a key that is the same for people who add the same, and joins it to the best.
// Somebody who holds a duty here is a kind of their own.
func (st *stage) courseOf(i int, best []byte) ([]added, string) {
	w := st.s.windows[st.window]
	w.boundaries = nil
	p := newMember(&st.s.pool.People[st.s.moves[i].at].Person, w)
	busy := slices.Contains(st.holders, i)
	var course []added
	var key []byte
	for _, t := range w.breakpoints() {
		column := st.columnOf(&p, busy, t)
		for b := range best {
			best[b] |= column[b] &^ columnBusyAt(b)
		}
		n := st.intern(column)
		if len(course) > 0 && course[len(course)-1].column == n {
			continue
		}
		course = append(course, added{t, n})
		key = appendNumber(appendNumber(key, uint64(t)), uint64(n))
	}
	if busy {
		key = appendNumber(key, uint64(i))
	}
	return course, string(key)
}

// columnBusyAt is the flag that the best of all never has: a duty takes away.
func columnBusyAt(b int) byte {
	if b == 0 {
		return columnBusy
	}
	return 0
}

func appendNumber(key []byte, n uint64) []byte {
	for range 8 {
		key, n = append(key, byte(n)), n>>8
	}
	return key
}

func (st *stage) columnOf(p *member, busy bool, t groundhand.Instant) []byte {
	in := st.in
	if busy {
		column := make([]byte, 1+len(in.families)*(1+len(st.useful)))
		column[0] = columnBusy
		return column
	}
	var column []byte
	var flags byte
	if p.CanGoAloft && in.aloft > 0 {
		flags |= columnAble
	}
	if anyHolds(p.aid, t) && in.numbers.greatest > 0 {
		flags |= columnAid
	}
	column = append(column, flags)
	for _, family := range in.families {
		column = st.appendFamily(column, p, family, t)
	}
	return column
}

// appendFamily adds how somebody counts on a family: for the card, then slot by slot.
func (st *stage) appendFamily(column []byte, p *member, family string, t groundhand.Instant) []byte {
	card := len(column)
	column = append(column, 0)
	for i := range st.in.methods {
		m := &st.in.methods[i]
		for r, role := range m.Roles {
			l := st.in.level(p, m.Method, role, family, t)
			var y tally
			y.count(0, l, needsLower(m.Method, role), p.OperatesLower)
			column[card] |= st.counts(y.trained, pair{}, st.in.aloft > 0)
			column = append(column, st.counts(y.surely, y.perhaps, st.useful[m.slot+r]))
		}
	}
	return column
}

// counts writes how somebody counts. For READY only those count who surely count fully.
func (st *stage) counts(surely, perhaps pair, useful bool) byte {
	if !useful {
		return 0
	}
	b := byte(surely.full) * surelyFull
	if st.s.target == Ready {
		return b
	}
	return b | byte(surely.some)*surelySome | byte(perhaps.full)*perhapsFull | byte(perhaps.some)*perhapsSome
}
