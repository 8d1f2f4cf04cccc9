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
func (in *inquiry) deciding(c course) []string {
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
	return slices.Sorted(maps.Keys(d.named))
}

// decider tries changes for one choice at one moment.
type decider struct {
	in    *inquiry
	named map[string]bool
	m     *moment
	aloft crew
}

func (d *decider) class(r reading) Verdict { return d.in.class(d.m, r, d.aloft) }

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
			d.name("job.near_50v", job.Near50V == Unknown && with(Yes, hires) != with(No, hires))
		}
		for _, near := range n.near50V.possible() {
			d.name("job.site.new_hires_trained", n.hires == Unknown && with(near, Yes) != with(near, No))
		}
		r := d.in.best(f)
		r.plan = false
		d.name("job.call_plan", job.CallPlan == Unknown && d.class(r) != d.class(d.in.best(f)))
	}
}

func (d *decider) name(unknown string, decides bool) {
	if decides {
		d.named[unknown] = true
	}
}

// rest tries the others together: every combination of the methods and needs that are unknown, with every set of people who may turn
// out to operate the lower controls.
func (d *decider) rest() {
	open, people := d.switches(), d.movable()
	most := d.in.witnesses()
	for bits := range 1 << len(open) {
		r := d.in.best(0)
		r.sites, r.well = 0, 0
		for i, s := range open {
			if bits>>i&1 == 1 {
				s.turn(&r)
			}
		}
		d.sets(r, open, people, 0, most)
	}
}

// sets tries a set of people and all larger ones made from those left.
func (d *decider) sets(r reading, open []toggle, left []int, chosen crew, most int) {
	r.operates = chosen
	d.changes(r, open, chosen)
	if chosen.size() >= most {
		return
	}
	for i, p := range left {
		d.sets(r, open, left[i+1:], chosen.with(p), most)
	}
}

// changes tries every single change of one reading.
func (d *decider) changes(r reading, open []toggle, chosen crew) {
	for f := range d.in.families {
		r.family = f
		class := d.class(r)
		for _, s := range open {
			changed := r
			s.turn(&changed)
			for _, name := range s.names {
				d.name(name, d.class(changed) != class)
			}
		}
		for _, p := range d.movable() {
			changed := r
			changed.operates = chosen ^ only(p, true)
			d.name("person."+d.in.people[p].ID+".operates_lower", d.class(changed) != class)
		}
		if f > 0 {
			changed := r
			changed.family = 0
			d.name("device.family", d.class(changed) != class)
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

// movable lists the people whose unknown answer about the lower controls makes them count for something more.
func (d *decider) movable() []int {
	var move crew
	for _, family := range d.m.tallies {
		for _, y := range family {
			move |= y.fullYes&^y.full | y.someYes&^y.some
		}
	}
	return (move & d.m.usable).members()
}

// witnesses is how many people can be needed at once to show a change: a class rises with people, so the smallest set that gives it is
// enough, and that is a team with its rescuers, and the card's number.
func (in *inquiry) witnesses() int {
	most := 0
	for i := range in.methods {
		most = max(most, len(in.methods[i].Roles)+in.methods[i].Rescuers)
	}
	return most + in.q.Rules.CrewRescuers
}
