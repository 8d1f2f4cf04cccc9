package readiness

import (
	"encoding/binary"

	"groundhand/internal/groundhand"
)

// table keeps the outcomes of one stage: what comes out at a moment for a state of the crew and the columns of the people added. There
// are few different ones, whatever the number of sets.
type table struct {
	st     *stage
	states []moment // of the crew, different from each other
	place  map[string]int32
	out    map[spot][]uint64
	in     inquiry // for judging a moment with people added
	tried  int     // classes found
}

// spot is a state of the crew with the columns of the people added.
type spot struct {
	state   int32
	size    uint8
	held    bool // the duties of people of the pool are held
	hope    bool
	columns [maxChanges]uint16
}

func newTable(st *stage) *table {
	t := &table{st: st, place: map[string]int32{}, out: map[spot][]uint64{}, in: *st.in}
	t.in.asked = ^crew(0)
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

// outcome is the set of the choices that are surely READY, for a target of READY: over the window the same choice must be so at every
// moment. For a lower target a change of who is aloft is no harm, and the outcome says only whether the moment's verdict reaches it.
//
// With hope it is a bound: what may still be reached with more people. For READY that is the same; for CONDITIONAL it says that some
// choice is CONDITIONAL at least in every reading. Both are needed for the outcome itself, and with somebody aloft neither is lost by
// adding people: they are present and usable all through, so every line of every choice holds as before or better, in every reading. (A
// first-aid line that comes in with the second person is no exception: one person alone with somebody aloft is NOT_READY before.)
func (t *table) outcome(s spot) []uint64 {
	out, known := t.out[s]
	if !known {
		out = t.judge(s)
		t.out[s] = out
	}
	return out
}

func (t *table) judge(s spot) []uint64 {
	m, able := t.joined(s)
	t.in.choices = t.in.choices[:0:0]
	all := t.st.choices[s.size]
	set := make([]uint64, (len(all)+63)/64)
	t.tried += len(all) * len(t.in.families)
	if t.st.s.target == Ready {
		for i, aloft := range all {
			if aloft&^able == 0 && t.in.surely(m, aloft) == Ready {
				set[i/64] |= 1 << (i % 64)
			}
		}
		return set
	}
	for _, aloft := range all {
		if aloft&^able == 0 {
			t.in.choices = append(t.in.choices, aloft)
		}
	}
	if t.in.reaches(m, t.st.s.target, s.hope) {
		return []uint64{1}
	}
	return []uint64{0}
}

// surely is the lowest class of a choice in any reading.
func (in *inquiry) surely(m *moment, aloft crew) Verdict {
	lowest := Ready
	for f := range in.families {
		lowest = min(lowest, in.class(m, in.worst(f), aloft))
	}
	return lowest
}

func (in *inquiry) reaches(m *moment, target Verdict, hope bool) bool {
	if target == Conditional && hope {
		for _, aloft := range in.choices {
			if in.surely(m, aloft) >= Conditional {
				return true
			}
		}
		return false
	}
	return in.sheetOf(m).verdict >= target
}

// joined is the crew's state with the people added, behind the crew, and who may be aloft.
func (t *table) joined(s spot) (*moment, crew) {
	m := t.states[s.state]
	if !s.held {
		m.unheld = []string{""}
	}
	able, n := t.in.able, len(t.in.people)
	tallies := make([][]tally, len(m.tallies))
	for f := range tallies {
		tallies[f] = append([]tally(nil), m.tallies[f]...)
	}
	m.tallies, m.trained = tallies, append([]pair(nil), m.trained...)
	for i := range int(s.size) {
		column := t.st.columns[s.columns[i]]
		m.present |= only(n+i, true)
		m.usable |= only(n+i, column[0]&columnBusy == 0)
		m.aid |= only(n+i, column[0]&columnAid != 0)
		able |= only(n+i, column[0]&columnAble != 0)
		m.join(column[1:], n+i)
	}
	return &m, able
}

// join adds somebody to the counts of every family.
func (m *moment) join(column string, i int) {
	for f := range m.tallies {
		m.trained[f].join(column[0], i)
		for slot := range m.tallies[f] {
			y, b := &m.tallies[f][slot], column[1+slot]
			y.surely.join(b, i)
			y.perhaps.join(b/perhapsFull, i)
		}
		column = column[1+len(m.tallies[f]):]
	}
}

func (p *pair) join(b byte, i int) {
	p.full |= only(i, b&surelyFull != 0)
	p.some |= only(i, b&(surelyFull|surelySome) != 0)
}

// drilled are the crew's states over the window after some drills.
func (t *table) drilled(drills []int) []standing {
	var course []standing
	for i := range t.st.in.moments {
		m := t.st.in.moments[i]
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

// standing is the crew's state from an instant on.
type standing struct {
	from  groundhand.Instant
	state int32
}

// passed is a moment after drills: those assessed are current all through, because every drill ends by the departure.
func (st *stage) passed(m moment, drills []int) moment {
	in := st.in
	tallies := make([][]tally, len(m.tallies))
	trained := make([]pair, len(m.tallies))
	for f, family := range in.families {
		tallies[f] = append([]tally(nil), m.tallies[f]...)
		for _, i := range drills {
			d, assessed := st.s.pool.Drills[st.s.moves[i].at].gives(), st.s.moves[i].assessed
			for _, p := range assessed.members() {
				in.pass(tallies[f], p, &d, family)
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
			if in.barred(p.Person, role) {
				continue
			}
			tallies[m.slot+r].count(i, in.counts(c, m.Method, role, family), needsLower(m.Method, role), p.OperatesLower)
		}
	}
}
