package readiness

import (
	"fmt"
	"maps"
	"slices"

	"groundhand/internal/groundhand"
)

// Bounds on a pool, beside what a search may take.
const (
	maxChanges = 6
	maxFixes   = 1000
	maxMinutes = 100_000 // of a way or a drill: more is a typing error
)

func (c *check) pool(p *Pool) {
	c.poolNumber("pool.max_changes", p.MaxChanges, maxChanges)
	c.poolNumber("pool.max_fixes", p.MaxFixes, maxFixes)
	if p.Target > Ready {
		c.refuse("pool.target", "The target must be one of the four verdicts.")
	}
	c.poolCrews(p)
	c.poolPeople(p)
	c.poolEquipment(p)
	c.drills(p)
	c.windowsAndWays(p)
}

func (c *check) poolNumber(field string, number, most int) {
	if number < 0 || number > most {
		c.refuse(field, "This must be 0 to %d.", most)
	}
}

func (c *check) place(field string, p Place) {
	c.poolNumber(field+".travel_minutes", p.TravelMinutes, maxMinutes)
}

// poolCrews checks the lending crews' own questions, each as any question.
func (c *check) poolCrews(p *Pool) {
	seen := map[string]bool{}
	for i, crew := range p.Crews {
		field := fmt.Sprintf("pool.crews[%d]", i)
		c.ownID(field, crew.ID, seen)
		if crew.Question == nil {
			continue
		}
		if crew.Question.Pool != nil {
			c.refuse(field+".question.pool", "The question of a lending crew has no pool of its own.")
			continue
		}
		_ = c.Take(field+".question", crew.Question.Check()) // Check gives refusals only
	}
}

// poolPeople asks that everybody has an id that nobody of the crew has, and a place in the crew that lends them.
func (c *check) poolPeople(p *Pool) {
	seen := c.crewIDs()
	for i := range p.People {
		person := &p.People[i]
		field := fmt.Sprintf("pool.people[%d]", i)
		c.person(field, &person.Person, seen)
		c.place(field, person.Place)
		if person.Crew == "" {
			continue
		}
		lender := slices.IndexFunc(p.Crews, func(crew PoolCrew) bool { return crew.ID == person.Crew })
		switch {
		case lender < 0:
			c.refuse(field+".crew", "The pool knows no crew %q.", person.Crew)
		case !hasPlace(p.Crews[lender].Question, person.ID):
			c.refuse(field+".crew", "The question of crew %q does not know this person.", person.Crew)
		}
	}
}

func hasPlace(q *Question, id string) bool {
	return q == nil || slices.ContainsFunc(q.People, func(p Person) bool { return p.ID == id })
}

func (c *check) poolEquipment(p *Pool) {
	seen := map[string]bool{}
	for i := range p.Kits {
		field := fmt.Sprintf("pool.kits[%d]", i)
		c.ownID(field, p.Kits[i].ID, seen)
		c.place(field, p.Kits[i].Place)
		c.equipment("", field+".kit", nil, &p.Kits[i].Kit)
	}
	seen = map[string]bool{}
	for i := range p.Devices {
		field := fmt.Sprintf("pool.devices[%d]", i)
		c.ownID(field, p.Devices[i].ID, seen)
		c.place(field, p.Devices[i].Place)
		c.equipment(field+".device", field+".kit", &p.Devices[i].Device, p.Devices[i].Kit)
	}
}

func (c *check) drills(p *Pool) {
	seen := map[string]bool{}
	for i := range p.Drills {
		d := &p.Drills[i]
		field := fmt.Sprintf("pool.drills[%d]", i)
		c.ownID(field, d.ID, seen)
		c.methodAndRole(field, d.Method, d.Role)
		if d.Start.IsZero() {
			c.refuse(field+".start", "The beginning must be given.")
		}
		c.poolNumber(field+".minutes", d.Minutes, maxMinutes)
		c.poolNumber(field+".seats", d.Seats, maxNumber)
		c.poolNumber(field+".min_people", d.MinPeople, maxNumber)
		listed := map[string]bool{}
		for j, id := range d.People {
			if listed[id] {
				c.refuse(fmt.Sprintf("%s.people[%d]", field, j), "%q is listed twice.", id)
			}
			listed[id] = true
		}
	}
}

func (c *check) windowsAndWays(p *Pool) {
	seen := map[string]bool{}
	for i, w := range p.LaterWindows {
		field := fmt.Sprintf("pool.later_windows[%d]", i)
		c.ownID(field, w.ID, seen)
		if w.From.IsZero() {
			c.refuse(field+".from", "The beginning must be given.")
		}
		if w.To <= w.From {
			c.refuse(field+".to", "The window must end after it begins.")
		}
	}
	seen = map[string]bool{}
	holders := c.crewIDs()
	maps.Copy(holders, poolIDs(p))
	for i := range p.OtherWays {
		field := fmt.Sprintf("pool.other_ways[%d]", i)
		c.ownID(field, p.OtherWays[i].ID, seen)
		c.way(field, &p.OtherWays[i], holders)
	}
}

func poolIDs(p *Pool) map[string]bool {
	ids := map[string]bool{}
	for i := range p.People {
		ids[p.People[i].ID] = true
	}
	return ids
}

// way checks the job as it would be. What is wrong with the job as it is was told already.
func (c *check) way(field string, w *OtherWay, holders map[string]bool) {
	asIs, asWay := &check{q: c.q}, &check{q: c.q}
	asIs.job(field+".job", c.q.Job, holders)
	asWay.job(field+".job", w.Job.of(c.q.Job), holders)
	known := groundhand.Refusals(asIs.Err())
	for _, e := range groundhand.Refusals(asWay.Err()) {
		if !slices.ContainsFunc(known, func(k *groundhand.Error) bool { return k.Field == e.Field }) {
			c.Add(e.Code, e.Field, "%s", e.Message)
		}
	}
}
