package readiness

import (
	"maps"
	"slices"
)

// deciding names the unknowns that decide: those which, changed alone in some reading, change some choice's class at a moment whose
// verdict cannot be told.
//
// A class is the worst of its lines, so what a change shows it shows best when everything it does not touch turns out well. That leaves
// the first-aid answers and the call plan to be tried alone, and together only the family, the methods, the needs and who operates the
// lower controls.
//
// It is false if more is unknown than will be tried.
func (in *inquiry) deciding(c course) (names []string, told bool) {
	d := decider{in: in, named: map[string]bool{}}
	for i := range c {
		if c[i].verdict != CannotTell {
			continue
		}
		for _, aloft := range in.choices {
			d.m, d.aloft = &in.moments[i], aloft
			d.place()
			d.rest()
		}
	}
	return slices.Sorted(maps.Keys(d.named)), d.tried <= maxTried
}

// maxTried bounds the classes tried in search of the unknowns that decide. A crew of ten of whom nothing is known about the lower
// controls takes a few thousand.
const maxTried = 20_000_000

// decider tries changes for one choice at one moment.
type decider struct {
	in    *inquiry
	named map[string]bool
	tried int
	m     *moment
	aloft crew
}

func (d *decider) class(r reading) Verdict {
	d.tried++
	return d.in.class(d.m, r, d.aloft)
}

func (d *decider) name(decides bool, unknowns ...string) {
	if decides {
		for _, unknown := range unknowns {
			d.named[unknown] = true
		}
	}
}

// place tries what says something about the place: voltage, new hires, call plan.
func (d *decider) place() {
	n, job := d.in.numbers, d.in.q.Job
	for f := range d.in.families {
		with := func(near, hires YesNo) Verdict {
			r := d.in.best(f)
			r.number = n.given(near, hires)
			return d.class(r)
		}
		for _, hires := range n.hires.possible() {
			d.name(job.Near50V == Unknown && with(Yes, hires) != with(No, hires), "job.near_50v")
		}
		for _, near := range n.near50V.possible() {
			d.name(n.hires == Unknown && with(near, Yes) != with(near, No), "job.site.new_hires_trained")
		}
		r := d.in.best(f)
		r.plan = false
		d.name(job.CallPlan == Unknown && d.class(r) != d.class(d.in.best(f)), "job.call_plan")
	}
}

// rest tries the others together: every combination of the methods and needs that are unknown, with every set of people who may turn
// out to operate the lower controls.
func (d *decider) rest() {
	t := trial{decider: d, open: d.switches(), alike: d.alike(), most: d.in.witnesses()}
	if d.allNamed(t) {
		return
	}
	for bits := range 1 << len(t.open) {
		r := d.in.best(0)
		r.sites, r.well, r.operates = 0, 0, 0
		for i, s := range t.open {
			if bits>>i&1 == 1 {
				s.turn(&r)
			}
		}
		t.sets(r, t.alike)
	}
}

// allNamed says that there is nothing left to find here.
func (d *decider) allNamed(t trial) bool {
	var names []string
	if len(d.in.families) > 1 {
		names = append(names, "device.family")
	}
	for _, s := range t.open {
		names = append(names, s.names...)
	}
	for _, g := range t.alike {
		names = append(names, g.names...)
	}
	return !slices.ContainsFunc(names, func(name string) bool { return !d.named[name] })
}

// trial is what can be tried for one choice at one moment.
type trial struct {
	*decider
	open  []toggle
	alike []group
	most  int // no larger sets of people need trying
}

// sets tries every set made of the people chosen so far and the first few of each group that is left.
func (t *trial) sets(r reading, left []group) {
	if t.tried > maxTried {
		return
	}
	if len(left) == 0 {
		t.changes(r)
		return
	}
	t.sets(r, left[1:])
	for _, p := range left[0].people {
		r.operates = r.operates.with(p)
		if r.operates.size() > t.most {
			return
		}
		t.sets(r, left[1:])
	}
}

// changes tries every single change of one reading, for every family.
func (t *trial) changes(r reading) {
	for f := range t.in.families {
		r.family = f
		class := t.class(r)
		for _, s := range t.open {
			changed := r
			s.turn(&changed)
			t.name(t.class(changed) != class, s.names...)
		}
		for _, g := range t.alike {
			changed := r
			changed.operates |= g.next(r.operates)
			t.name(t.class(changed) != class, g.names...)
		}
		if f > 0 {
			changed := r
			changed.family = 0
			t.name(t.class(changed) != class, "device.family")
		}
	}
}

// toggle is something that can turn out either way; everything in names turns it alone when the rest is well.
type toggle struct {
	names []string
	turn  func(*reading)
}

// switches lists the unknown methods and needs of the moment. All that is unknown of one need is one switch, unless the need surely fails
// anyway: then nothing unknown about it decides.
func (d *decider) switches() []toggle {
	var list []toggle
	for i := range d.in.methods {
		if m := &d.in.methods[i]; m.allowed == Unknown {
			list = append(list, toggle{[]string{"job.methods." + m.ID}, func(r *reading) { r.sites ^= 1 << i }})
		}
	}
	for i := range needNames {
		need := needs(1) << i
		if need&d.m.open == 0 || need&d.m.failing != 0 {
			continue
		}
		s := toggle{turn: func(r *reading) { r.well ^= need }}
		for t := range d.in.table {
			if w := &d.in.table[t]; w.need&need != 0 && w.at(d.m.from) == Unknown {
				s.names = append(s.names, w.name)
			}
		}
		list = append(list, s)
	}
	return list
}

// group is people who are alike in everything that counts here, with the names of their unknown answers about the lower controls. What
// one of them decides, each of them does.
type group struct {
	people []int
	names  []string
}

// next is the first of the group who is not chosen, or nobody.
func (g group) next(chosen crew) crew {
	for _, p := range g.people {
		if !chosen.has(p) {
			return only(p, true)
		}
	}
	return 0
}

// alike groups the people whose unknown answer makes them count for something more.
func (d *decider) alike() []group {
	var groups []group
	place := map[string]int{}
	for _, p := range d.movable().members() {
		key := d.profile(p)
		at, seen := place[key]
		if !seen {
			at = len(groups)
			place[key], groups = at, append(groups, group{})
		}
		groups[at].people = append(groups[at].people, p)
		groups[at].names = append(groups[at].names, "person."+d.in.people[p].ID+".operates_lower")
	}
	return groups
}

func (d *decider) movable() crew {
	var move crew
	for _, family := range d.m.tallies {
		for _, y := range family {
			move |= y.perhaps.some
		}
	}
	return move & d.m.usable
}

// profile is how somebody counts everywhere, and whether they are aloft.
func (d *decider) profile(p int) string {
	key := []byte{byte(d.aloft >> p & 1)}
	for _, family := range d.m.tallies {
		for _, y := range family {
			key = append(key, byte(y.surely.full>>p&1|y.surely.some>>p&1<<1|y.perhaps.full>>p&1<<2|y.perhaps.some>>p&1<<3))
		}
	}
	return string(key)
}

// witnesses is how many people can be needed at once to show a change: a class rises with people, so the smallest set that gives it is
// enough, and that is a team with its rescuers.
func (in *inquiry) witnesses() int {
	most := 0
	for i := range in.methods {
		most = max(most, len(in.methods[i].Roles)+in.methods[i].Rescuers)
	}
	return most
}
