package readiness

import (
	"encoding/binary"
	"slices"

	"groundhand/internal/groundhand"
)

// table keeps the outcomes of one stage: what comes out at a moment for a state of the crew and the columns of the people added. There
// are few different ones, whatever the number of sets.
type table struct {
	st     *stage
	states []moment // of the crew, different from each other
	place  map[string]int32
	out    map[spot]int32 // where in the bits
	bits   []uint64
	in     *inquiry
	joint  moment // the crew with people added, made anew for every spot
	tried  int    // classes found
}

// spot is a state of the crew with the columns of the people added, for a view.
type spot struct {
	state   int32
	view    uint8 // place in the stage's columns
	size    uint8
	held    bool // the duties of people of the pool are held
	columns [maxChanges]uint16
}

// standing is the crew's state from an instant on.
type standing struct {
	from  groundhand.Instant
	state int32
}

func newTable(st *stage) *table {
	t := &table{st: st, place: map[string]int32{}, out: map[spot]int32{}, in: st.in}
	t.joint.tallies = make([][]tally, len(st.in.families))
	t.joint.trained = make([]pair, len(st.in.families))
	return t
}

// state is the number of a crew's state at a moment; equal states have equal numbers.
func (t *table) state(m *moment) int32 {
	key := binary.LittleEndian.AppendUint64(nil, uint64(m.present))
	key = binary.LittleEndian.AppendUint64(key, uint64(m.usable))
	key = binary.LittleEndian.AppendUint64(key, uint64(m.aid))
	key = append(key, byte(m.failing), byte(m.open), byte(min(len(m.unheld), 1)))
	for _, family := range m.tallies {
		for i := range family {
			y := &family[i]
			for _, p := range [3]pair{y.surely, y.perhaps, y.trained} {
				key = binary.LittleEndian.AppendUint64(key, uint64(p.full))
				key = binary.LittleEndian.AppendUint64(key, uint64(p.some))
			}
		}
	}
	n, known := t.place[string(key)]
	if !known {
		n = int32(len(t.states))
		t.place[string(key)] = n
		t.states = append(t.states, *m)
	}
	return n
}

// choices is the set of the choices that have what a view asks.
func (t *table) choices(s spot) []uint64 {
	words := len(t.st.choices[s.size])/64 + 1
	at, known := t.out[s]
	if !known {
		at = int32(len(t.bits))
		t.out[s] = at
		t.bits = append(t.bits, make([]uint64, words)...)
		t.judge(s, t.bits[at:], false)
	}
	return t.bits[at : int(at)+words]
}

// some says whether any choice has what a view asks. Who of the people added is named first makes no difference then.
func (t *table) some(s spot) bool {
	slices.Sort(s.columns[:s.size])
	at, known := t.out[s]
	if !known {
		var found [1]uint64
		t.judge(s, found[:], true)
		at = int32(found[0])
		t.out[s] = at
	}
	return at != 0
}

// judge sets the bits of the choices that have what a view asks; with any only the first bit, if there is such a choice.
func (t *table) judge(s spot, bits []uint64, any bool) {
	t.tried += tableSpot
	able := t.join(s)
	v := t.st.columns[s.view].view
	for i, aloft := range t.st.choices[s.size] {
		if aloft&^able != 0 {
			continue
		}
		t.tried += len(t.in.families)
		if !v.sees(t.in, &t.joint, aloft) {
			continue
		}
		if any {
			bits[0] = 1
			return
		}
		bits[i/64] |= 1 << (i % 64)
	}
}

// join puts the people added behind the crew, and says who may be aloft.
func (t *table) join(s spot) (able crew) {
	tallies, trained := t.joint.tallies, t.joint.trained
	t.joint = t.states[s.state]
	for f := range tallies {
		tallies[f] = append(tallies[f][:0], t.joint.tallies[f]...)
	}
	t.joint.tallies, t.joint.trained = tallies, append(trained[:0], t.joint.trained...)
	if !s.held {
		t.joint.unheld = []string{""}
	}
	columns := t.st.columns[s.view]
	able = t.in.able
	for i, column := range s.columns[:s.size] {
		able |= t.joint.add(len(t.in.people)+i, columns.list[column], columns.view)
	}
	return able
}

// add adds somebody to a moment, and gives them back if they may be aloft. They are present all through, and count as the view sees them.
func (m *moment) add(i int, column string, v view) (able crew) {
	m.present |= only(i, true)
	m.usable |= only(i, column[0]&columnBusy == 0)
	m.aid |= only(i, column[0]&columnAid != 0)
	able = only(i, column[0]&columnAble != 0)
	column = column[1:]
	for f := range m.tallies {
		m.trained[f].see(i, column[0], v)
		for slot := range m.tallies[f] {
			m.tallies[f][slot].surely.see(i, column[1+slot], v)
		}
		column = column[1+len(m.tallies[f]):]
	}
	return able
}

func (p *pair) see(i int, counts byte, v view) {
	p.some |= only(i, counts != 0)
	p.full |= only(i, counts != 0 && v.least() == Ready)
}

// drilled are the crew's states over the window after some drills.
func (t *table) drilled(drills []int) []standing {
	var course []standing
	for i := range t.in.moments {
		m := t.in.moments[i]
		if len(drills) > 0 {
			m = t.st.passed(m, drills)
		}
		n := t.state(&m)
		if len(course) == 0 || course[len(course)-1].state != n {
			course = append(course, standing{m.from, n})
		}
	}
	return course
}

// passed is a moment after drills: those assessed are current all through, because every drill ends by the departure.
func (st *stage) passed(m moment, drills []int) moment {
	in := st.in
	tallies := make([][]tally, len(m.tallies))
	trained := make([]pair, len(m.tallies))
	for f, family := range in.families {
		tallies[f] = slices.Clone(m.tallies[f])
		for _, i := range drills {
			drill := &st.s.moves[i]
			gives := st.s.pool.Drills[drill.at].gives()
			for _, p := range drill.assessed.members() {
				in.pass(tallies[f], p, &gives, family)
			}
		}
		trained[f] = trainedAmong(m.usable, tallies[f])
	}
	m.tallies, m.trained = tallies, trained
	return m
}

// pass counts somebody of the crew with one capability more.
func (in *inquiry) pass(tallies []tally, i int, c *Capability, family string) {
	p := &in.people[i]
	for j := range in.methods {
		m := &in.methods[j]
		for r, role := range m.Roles {
			if !in.barred(p.Person, role) {
				tallies[m.slot+r].count(i, in.counts(c, m.Method, role, family), needsLower(m.Method, role), p.OperatesLower)
			}
		}
	}
}
