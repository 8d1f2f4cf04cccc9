package readiness_test

import (
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

func (b *brute) refuse(do readiness.Do, id string, reason readiness.RefusedReason) {
	b.refused = append(b.refused, readiness.Refused{Kind: do, ID: id, Reason: reason})
}

// gather lists the changes, and refuses what can be part of none.
func (b *brute) gather() {
	for i := range b.pool.People {
		b.person(&b.pool.People[i])
	}
	for i := range b.pool.Kits {
		k := &b.pool.Kits[i]
		b.equipment(readiness.DoKit, k.ID, k.Place, func(q *readiness.Question) {
			on := k.Kit
			on.OnDevice = readiness.Yes
			q.Kit = &on
		})
	}
	for i := range b.pool.Devices {
		d := &b.pool.Devices[i]
		b.equipment(readiness.DoDevice, d.ID, d.Place, func(q *readiness.Question) { q.Device, q.Kit = &d.Device, d.Kit })
	}
	for i := range b.pool.Drills {
		b.drill(&b.pool.Drills[i])
	}
	for _, w := range b.pool.LaterWindows {
		b.changes = append(b.changes, bruteChange{do: readiness.DoLater, id: w.ID, rung: 6, make: func(q *readiness.Question) { q.Window.From, q.Window.To = w.From, w.To }})
	}
	for _, w := range b.pool.OtherWays {
		b.changes = append(b.changes, bruteChange{do: readiness.DoOtherWay, id: w.ID, rung: 7, make: func(q *readiness.Question) { replaceJob(&q.Job, w.Job) }})
	}
}

func replaceJob(job *readiness.Job, c readiness.JobChange) {
	if c.Buckets != nil {
		job.Buckets = c.Buckets
	}
	if c.Methods != nil {
		job.Methods = c.Methods
	}
	if c.Near50V != nil {
		job.Near50V = *c.Near50V
	}
	if c.Site != nil {
		job.Site = *c.Site
	}
	if c.Exclusive != nil {
		job.Exclusive = c.Exclusive
	}
	if c.CallPlan != nil {
		job.CallPlan = *c.CallPlan
	}
}

func (b *brute) rung(yard string, own int) int {
	switch {
	case yard == b.q.Yard:
		return own
	case slices.Contains(b.pool.Neighbours, yard):
		return 5
	}
	return 0
}

// late says that an instant is after every departure offered.
func (b *brute) late(ready groundhand.Instant) bool {
	return ready > b.q.Window.From && !slices.ContainsFunc(b.pool.LaterWindows, func(w readiness.LaterWindow) bool { return ready <= w.From })
}

func (b *brute) equipment(do readiness.Do, id string, p readiness.Place, do2 func(*readiness.Question)) {
	switch rung := b.rung(p.Yard, 2); {
	case rung == 0:
		b.refuse(do, id, readiness.TooFar)
	case b.late(p.ReadyAt):
		b.refuse(do, id, readiness.TooLate)
	default:
		b.changes = append(b.changes, bruteChange{do: do, id: id, rung: rung, travel: p.TravelMinutes, ready: p.ReadyAt, make: do2})
	}
}

func (b *brute) person(p *readiness.PoolPerson) {
	c := bruteChange{do: readiness.DoPerson, id: p.ID, rung: b.rung(p.Yard, 4), travel: p.TravelMinutes, ready: p.ReadyAt, person: p,
		make: func(q *readiness.Question) { q.People = append(q.People, p.Person) }}
	away := awayReason(&p.Person, b.q.Window)
	switch {
	case c.rung == 0:
		b.refuse(c.do, c.id, readiness.TooFar)
		return
	case away != "":
		b.refuse(c.do, c.id, away)
		return
	case heldIn(&p.Person, b.q.Window):
		b.refuse(c.do, c.id, readiness.HeldBack)
		return
	case b.late(p.ReadyAt):
		b.refuse(c.do, c.id, readiness.TooLate)
		return
	}
	alone := bruteFix{changes: []bruteChange{c}}
	if b.unharmed(&alone) {
		b.changes = append(b.changes, c)
		return
	}
	l := alone.lenders[0]
	reason := readiness.LenderWorse
	if *l.Before == readiness.CannotTell || *l.After == readiness.CannotTell {
		reason = readiness.LenderNotKnown
	}
	b.refused = append(b.refused, readiness.Refused{Kind: c.do, ID: c.id, Reason: reason, Lender: l.Crew, Before: l.Before, After: l.After})
}

func (b *brute) drill(d *readiness.PoolDrill) {
	var fit []string
	during := readiness.Window{From: d.Start, To: end(d), Zone: b.q.Window.Zone}
	for i := range b.q.People {
		p := &b.q.People[i]
		if slices.Contains(d.People, p.ID) && p.ID != d.Assessor && awayReason(p, during) == "" && !heldIn(p, during) {
			fit = append(fit, p.ID)
		}
	}
	slices.Sort(fit)
	switch {
	case d.Authorised != readiness.Yes:
		b.refuse(readiness.DoDrill, d.ID, readiness.NotAuthorised)
	case d.AssessorFreeFrom == 0 || d.AssessorFreeTo == 0 || d.AssessorFreeFrom > d.Start || d.AssessorFreeTo < end(d):
		b.refuse(readiness.DoDrill, d.ID, readiness.AssessorNotFree)
	case b.late(end(d)):
		b.refuse(readiness.DoDrill, d.ID, readiness.EndsAfterDeparture)
	case min(len(fit), d.Seats) < d.MinPeople:
		b.refuse(readiness.DoDrill, d.ID, readiness.TooFewPeople)
	default:
		b.drillChanges(d, fit)
	}
}

func (b *brute) drillChanges(d *readiness.PoolDrill, fit []string) {
	before := len(b.changes)
	for bits := range 1 << len(fit) {
		people := []string{}
		for i, id := range fit {
			if bits>>i&1 == 1 {
				people = append(people, id)
			}
		}
		if len(people) < d.MinPeople || len(people) > d.Seats || len(people) == 0 {
			continue
		}
		b.changes = append(b.changes, bruteChange{do: readiness.DoDrill, id: d.ID, people: people, rung: 3, ready: end(d), drill: d, make: func(q *readiness.Question) {
			for i := range q.People {
				if slices.Contains(people, q.People[i].ID) {
					q.People[i].Capabilities = append(slices.Clone(q.People[i].Capabilities), readiness.Capability{Method: d.Method, Role: d.Role, Family: d.Family,
						From: readiness.Edge{At: end(d)}, Through: day("2199-12-31"), State: readiness.Current})
				}
			}
		}})
	}
	if len(b.changes) == before {
		b.refuse(readiness.DoDrill, d.ID, readiness.NoHelp)
	}
}
