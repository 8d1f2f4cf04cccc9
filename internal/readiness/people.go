package readiness

import (
	"math/bits"
	"slices"

	"groundhand/internal/groundhand"
)

// crew is a set of people: bit i is the i-th person in the order of ids. Sets make the many questions about few people cheap.
type crew uint64

func (c crew) size() int       { return bits.OnesCount64(uint64(c)) }
func (c crew) has(i int) bool  { return c>>i&1 == 1 }
func (c crew) with(i int) crew { return c | 1<<i }

// only is the i-th person if yes, else nobody.
func only(i int, yes bool) crew {
	if yes {
		return 1 << i
	}
	return 0
}

// members lists the positions in the order of ids.
func (c crew) members() []int {
	out := make([]int, 0, c.size())
	for rest := uint64(c); rest != 0; rest &= rest - 1 {
		out = append(out, bits.TrailingZeros64(rest))
	}
	return out
}

func (in *inquiry) ids(c crew) []string {
	out := make([]string, 0, c.size())
	for _, i := range c.members() {
		out = append(out, in.people[i].ID)
	}
	return out
}

// member is a person with the spans turned into instants.
type member struct {
	*Person
	capable []span // of Capabilities, one by one
	aid     []span
	held    []span
	away    []span
}

func newMember(p *Person, c *calendar) member {
	m := member{Person: p, capable: make([]span, len(p.Capabilities)), aid: make([]span, len(p.FirstAid)), away: make([]span, len(p.Unavailable))}
	for i, x := range p.Capabilities {
		m.capable[i] = c.days(x.From, x.Through, OfCapability, p.ID)
	}
	for i, x := range p.FirstAid {
		m.aid[i] = c.days(x.From, x.Through, OfFirstAid, p.ID)
	}
	for i, x := range p.Unavailable {
		m.away[i] = c.interval(x.Interval, OfUnavailable, p.ID)
	}
	m.held = c.intervals(p.NotForRescue, OfNotForRescue, p.ID)
	return m
}

// level says how somebody counts for a role.
type level uint8

const (
	notAtAll level = iota
	conditionally
	fully
)

// level is the best level of a person at t for a role of a method on a control family, the lower controls apart. The grade limits the
// role filled, whatever somebody has practised.
func (in *inquiry) level(p *member, m *Method, role Role, family string, t groundhand.Instant) level {
	if in.barred(p.Person, role) {
		return notAtAll
	}
	best := notAtAll
	for i := range p.Capabilities {
		if p.capable[i].holds(t) {
			best = max(best, in.counts(&p.Capabilities[i], m, role, family))
		}
	}
	return best
}

// barred says that somebody's grade forbids filling a role.
func (in *inquiry) barred(p *Person, role Role) bool {
	return slices.Contains(in.q.Rules.GradeLimits[p.Grade], role)
}

// needsLower says that whoever fills the role must operate the lower controls: those who lead or work alone, where the method needs them.
func needsLower(m *Method, role Role) bool {
	return (role == Lead || role == Lone) && slices.Contains(m.Needs, NeedLowerControls)
}

// counts is the level one capability gives, its span apart.
func (in *inquiry) counts(c *Capability, m *Method, role Role, family string) level {
	switch {
	case c.Method != m.ID:
		return notAtAll
	case m.PerFamily && (c.Family == "" || c.Family != family):
		return notAtAll
	case c.Role != role && !(c.Role == Lead && role == Second):
		return notAtAll
	case c.State == Current:
		return fully
	}
	rule := in.q.Rules.States[c.State]
	switch {
	case rule.Counts == CountsNo || slices.Contains(rule.NotRoles, role):
		return notAtAll
	case rule.Counts == CountsConditional:
		return conditionally
	}
	return fully
}

// pair is who counts fully and who counts at all.
type pair struct{ full, some crew }

func (p *pair) count(i int, l level) {
	p.full |= only(i, l == fully)
	p.some |= only(i, l > notAtAll)
}

// tally says who counts for one role of one method on one family at a moment, whether usable or not: surely, if operating the lower
// controls is yes where it is unknown, and as trained people, whoever operates them.
type tally struct{ surely, perhaps, trained pair }

// given tells who counts fully and who counts at all, if of the unknown people these operate the lower controls.
func (y *tally) given(operates crew) (full, some crew) {
	return y.surely.full | y.perhaps.full&operates, y.surely.some | y.perhaps.some&operates
}

func (in *inquiry) tally(m *Method, role Role, family string, t groundhand.Instant) tally {
	var y tally
	lower := needsLower(m, role)
	for i := range in.people {
		p := &in.people[i]
		y.count(i, in.level(p, m, role, family, t), lower, p.OperatesLower)
	}
	return y
}

// count adds the i-th person at a level, given whether the lower controls are needed and whether they operate them.
func (y *tally) count(i int, l level, lower bool, operates YesNo) {
	y.trained.count(i, l)
	switch {
	case !lower || operates == Yes:
		y.surely.count(i, l)
	case operates == Unknown:
		y.perhaps.count(i, l)
	}
}
