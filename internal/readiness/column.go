package readiness

import (
	"encoding/binary"
	"slices"

	"groundhand/internal/groundhand"
)

// A column is what one person of the pool adds to a view at a moment, as bytes: first the flags below, then for every family whether they
// count for the card, and for every slot of a method's role whether they count for it. What the view does not see is left out, so that
// many people have the same column.
const (
	columnAble byte = 1 << iota
	columnAid
	columnBusy
)

// columns numbers the columns of one view; number 0 is nobody.
type columns struct {
	view   view
	useful []bool // by slot: can the method lead to what the view asks at some moment
	list   []string
	number map[string]uint16
	best   []byte // joined of all: nobody adds more
}

// kind is people of the pool who add the same at every moment.
type kind struct {
	course []added
	people []int // moves
}

// added is what somebody adds from an instant on, by view.
type added struct {
	from    groundhand.Instant
	columns [3]uint16
}

func (st *stage) newColumns(v view) *columns {
	c := &columns{view: v, number: map[string]uint16{}}
	for i := range st.in.methods {
		m := &st.in.methods[i]
		use := st.in.aloft > 0 && slices.ContainsFunc(st.in.moments, func(at moment) bool { return v.useful(m, &at) })
		for range m.Roles {
			c.useful = append(c.useful, use)
		}
	}
	c.best = make([]byte, 1+len(st.in.families)*(1+len(c.useful)))
	c.intern(c.best)
	return c
}

func (c *columns) intern(column []byte) uint16 {
	n, known := c.number[string(column)]
	if !known {
		n = uint16(len(c.list))
		c.number[string(column)] = n
		c.list = append(c.list, string(column))
	}
	return n
}

// join makes the best as good as a column. A duty takes away, so the best has none.
func (c *columns) join(column []byte) {
	for b := range column {
		c.best[b] |= column[b]
	}
	c.best[0] &^= columnBusy
}

// addKinds sorts the people of the pool who can come by what they add.
func (st *stage) addKinds() {
	for _, v := range viewsOf(st.s.target) {
		st.columns = append(st.columns, st.newColumns(v))
	}
	place := map[string]int{}
	for _, i := range st.s.people {
		if !st.comes(i) {
			continue
		}
		course, key := st.courseOf(i)
		at, seen := place[key]
		if !seen {
			at = len(st.kinds)
			place[key], st.kinds = at, append(st.kinds, kind{course: course})
		}
		st.kinds[at].people = append(st.kinds[at].people, i)
	}
	ideal := added{from: longAgo}
	for v, c := range st.columns {
		ideal.columns[v] = c.intern(c.best)
	}
	st.ideal = []added{ideal}
}

// courseOf is what somebody adds over the window, with a key that is the same for people who add the same. Somebody who holds a duty here
// is a kind of their own.
func (st *stage) courseOf(i int) ([]added, string) {
	w := st.s.windows[st.window]
	w.boundaries = nil
	p := newMember(&st.s.pool.People[st.s.moves[i].at].Person, w)
	busy := slices.Contains(st.holders, i)
	var course []added
	var key []byte
	for _, t := range w.breakpoints() {
		next := added{from: t}
		for v, c := range st.columns {
			column := st.columnOf(c, &p, busy, t)
			c.join(column)
			next.columns[v] = c.intern(column)
		}
		if len(course) > 0 && course[len(course)-1].columns == next.columns {
			continue
		}
		course = append(course, next)
		key = binary.LittleEndian.AppendUint64(key, uint64(t))
		for _, n := range next.columns {
			key = binary.LittleEndian.AppendUint16(key, n)
		}
	}
	if busy {
		key = binary.LittleEndian.AppendUint64(key, uint64(i))
	}
	return course, string(key)
}

func (st *stage) columnOf(c *columns, p *member, busy bool, t groundhand.Instant) []byte {
	column := make([]byte, 1, len(c.best))
	if busy {
		column[0] = columnBusy
		return column[:len(c.best)]
	}
	if p.CanGoAloft && st.in.aloft > 0 {
		column[0] |= columnAble
	}
	if anyHolds(p.aid, t) && st.in.numbers.greatest > 0 {
		column[0] |= columnAid
	}
	for _, family := range st.in.families {
		column = st.appendFamily(c, column, p, family, t)
	}
	return column
}

// appendFamily adds how somebody counts on a family: for the card, then slot by slot.
func (st *stage) appendFamily(c *columns, column []byte, p *member, family string, t groundhand.Instant) []byte {
	card := len(column)
	column = append(column, 0)
	for i := range st.in.methods {
		m := &st.in.methods[i]
		for r, role := range m.Roles {
			var y tally
			y.count(0, st.in.level(p, m.Method, role, family, t), needsLower(m.Method, role), p.OperatesLower)
			if st.in.aloft > 0 && c.view.counts(y.trained, pair{}) {
				column[card] = 1
			}
			counts := c.useful[m.slot+r] && c.view.counts(y.surely, y.perhaps)
			column = append(column, byte(only(0, counts)))
		}
	}
	return column
}
