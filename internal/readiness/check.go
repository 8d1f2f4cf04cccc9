package readiness

import (
	"fmt"
	"slices"

	"groundhand/internal/groundhand"
)

// check collects the faults of a question.
type check struct {
	q *Question
	groundhand.Problems
}

func (c *check) refuse(field, format string, args ...any) {
	c.Add(groundhand.CodeInvalid, field, format, args...)
}

// Check lists everything in the question that cannot be judged, each with the path of its field: CodeInvalid for what contradicts
// itself or the format, CodeTooLarge for what is more than will be judged in one go. It is nil for a good question.
func (q Question) Check() error {
	c := &check{q: &q}
	c.window()
	c.job("job", c.q.Job, c.crewIDs())
	c.people()
	c.equipment("device", "kit", c.q.Device, c.q.Kit)
	c.rules()
	if c.q.Pool != nil {
		c.pool(c.q.Pool)
	}
	if !c.Any() {
		c.size()
	}
	return c.Err()
}

func (c *check) window() {
	w := c.q.Window
	if w.Zone == nil {
		c.refuse("window.zone", "The zone must be given.")
	}
	if w.From.IsZero() {
		c.refuse("window.from", "The beginning must be given.")
	}
	if w.To <= w.From {
		c.refuse("window.to", "The window must end after it begins.")
	}
}

func (c *check) crewIDs() map[string]bool {
	ids := map[string]bool{}
	for i := range c.q.People {
		ids[c.q.People[i].ID] = true
	}
	return ids
}

// job checks a job whose duties may be held by the people with these ids.
func (c *check) job(field string, job Job, holders map[string]bool) {
	for i, b := range job.Buckets {
		if b.People < 0 || b.People > maxPeople {
			c.refuse(fmt.Sprintf("%s.buckets[%d].people", field, i), "A bucket holds 0 to %d people.", maxPeople)
		}
	}
	if len(job.Exclusive) > maxPeople {
		c.Add(groundhand.CodeTooLarge, field+".exclusive", "More than %d duties are not judged in one go.", maxPeople)
	}
	for i, d := range job.Exclusive {
		if !holders[d.Person] {
			c.refuse(fmt.Sprintf("%s.exclusive[%d].person", field, i), "Nobody of the crew is called %q.", d.Person)
		}
	}
	if !slices.Contains([]SiteKind{Field, Fixed, Trimmers}, job.Site.Kind) {
		c.refuse(field+".site.kind", "The site must be field, fixed or trimmers.")
	}
	if job.Site.RuleText != General && job.Site.RuleText != Construction {
		c.refuse(field+".site.rule_text", "The rule text must be general or construction.")
	}
	c.methodNames(field+".methods.", job.Methods)
}

// methodNames asks that the job says of every method of the rules whether the site allows it, and of no other.
func (c *check) methodNames(field string, methods map[string]YesNo) {
	known := map[string]bool{}
	for _, m := range c.q.Rules.Methods {
		known[m.ID] = true
		if _, said := methods[m.ID]; !said {
			c.refuse(field+m.ID, "The job must say whether the site allows this method.")
		}
	}
	for id := range methods {
		if !known[id] {
			c.refuse(field+id, "The rules know no such method.")
		}
	}
}

func (c *check) people() {
	seen := map[string]bool{}
	for i := range c.q.People {
		c.person(fmt.Sprintf("people[%d]", i), &c.q.People[i], seen)
	}
	if len(c.q.People) > maxPeople {
		c.Add(groundhand.CodeTooLarge, "people", "A crew of more than %d people is not judged in one go.", maxPeople)
	}
}

func (c *check) person(field string, p *Person, seen map[string]bool) {
	c.ownID(field, p.ID, seen)
	for j, capability := range p.Capabilities {
		c.capability(fmt.Sprintf("%s.capabilities[%d]", field, j), capability)
	}
	for j, aid := range p.FirstAid {
		c.days(fmt.Sprintf("%s.first_aid[%d]", field, j), aid.From, aid.Through)
	}
	for j, a := range p.Unavailable {
		if !slices.Contains([]Why{WhyLeave, WhyRest, WhyPlaced, WhyOther}, a.Why) {
			c.refuse(fmt.Sprintf("%s.unavailable[%d].why", field, j), "The reason must be LEAVE, REST, PLACED or OTHER.")
		}
	}
}

// ownID asks for an id that nothing before it has.
func (c *check) ownID(field, id string, seen map[string]bool) {
	if id == "" || seen[id] {
		c.refuse(field+".id", "Everybody and everything needs an id of its own; %q is empty or there twice.", id)
	}
	seen[id] = true
}

// days asks for both ends: a last good day that nobody gave is not an open end.
func (c *check) days(field string, from Edge, through groundhand.Date) {
	if from == (Edge{}) {
		c.refuse(field+".from", "The first day must be given.")
	}
	if through.IsZero() {
		c.refuse(field+".through", "The last good day must be given.")
	}
}

func (c *check) capability(field string, capability Capability) {
	c.days(field, capability.From, capability.Through)
	c.methodAndRole(field, capability.Method, capability.Role)
	if !slices.Contains([]State{Current, InGrace, OnExtension, Provisional}, capability.State) {
		c.refuse(field+".state", "The state must be CURRENT, IN_GRACE, ON_EXTENSION or PROVISIONAL.")
	}
}

func (c *check) methodAndRole(field, method string, role Role) {
	if !slices.ContainsFunc(c.q.Rules.Methods, func(m Method) bool { return m.ID == method }) {
		c.refuse(field+".method", "The rules know no method %q.", method)
	}
	if !knownRole(role) {
		c.refuse(field+".role", "The role must be LEAD, SECOND or LONE.")
	}
}

func knownRole(r Role) bool { return r == Lead || r == Second || r == Lone }

// equipment asks for numbers that a kit can have; what is not known is no fault.
func (c *check) equipment(device, kit string, d *Device, k *Kit) {
	if d != nil {
		c.between(device+".anchor_height_cm", d.AnchorHeightCM, 0)
	}
	if k != nil {
		c.between(kit+".parts", k.Parts, 1)
		c.between(kit+".rope_cm", k.RopeCM, 0)
		c.between(kit+".tail_cm", k.TailCM, 0)
		c.between(kit+".rated_load_kg", k.RatedLoadKG, 0)
	}
}

func (c *check) between(field string, number *int, least int) {
	if number != nil && (*number < least || *number > maxNumber) {
		c.refuse(field, "This must be %d to %d.", least, maxNumber)
	}
}

func (c *check) rules() {
	r := c.q.Rules
	if r.CrewRescuers < 2 {
		c.refuse("rules.crew_rescuers", "The card's number is two rescuers or more.")
	}
	if r.CallPlanMissing != Conditional && r.CallPlanMissing != NotReady {
		c.refuse("rules.call_plan_missing", "A missing call plan is CONDITIONAL or NOT_READY.")
	}
	c.numbers(r.FirstAid)
	for _, s := range []State{InGrace, OnExtension, Provisional} {
		c.state(s)
	}
	for grade, roles := range r.GradeLimits {
		c.roles("rules.grade_limits."+grade, roles)
	}
	if len(r.Methods) > maxMethods {
		c.Add(groundhand.CodeTooLarge, "rules.methods", "More than %d methods are not judged in one go.", maxMethods)
	}
	seen := map[string]bool{}
	for i, m := range r.Methods {
		field := fmt.Sprintf("rules.methods[%d]", i)
		if m.ID == "" || seen[m.ID] {
			c.refuse(field+".id", "Every method needs an id of its own; %q is empty or there twice.", m.ID)
		}
		seen[m.ID] = true
		c.method(field, m)
	}
}

func (c *check) numbers(n FirstAidNumbers) {
	for _, x := range []struct {
		name          string
		number, least int
	}{{"field", n.Field, 2}, {"fixed", n.Fixed, 1}, {"ground", n.Ground, 1}, {"trimmers", n.Trimmers, 1}, {"below_50v", n.Below50V, 0}} {
		if x.number < x.least {
			c.refuse("rules.first_aid."+x.name, "This number is %d or more.", x.least)
		}
	}
	if n.Trimmers > n.Field {
		c.refuse("rules.first_aid.trimmers", "The trimmers' number is not above the field number.")
	}
}

func (c *check) state(s State) {
	rule, given := c.q.Rules.States[s]
	field := "rules.states." + string(s)
	switch {
	case !given || !slices.Contains([]Counts{CountsFull, CountsConditional, CountsNo}, rule.Counts):
		c.refuse(field+".counts", "The rules must say whether this state counts FULL, CONDITIONAL or NO.")
	case rule.Counts == CountsFull && s != InGrace:
		c.refuse(field+".counts", "This state never counts fully.")
	case rule.Counts == CountsConditional && rule.Condition == "":
		c.refuse(field+".condition", "A state that counts with a condition must name it.")
	}
	c.roles(field+".not_roles", rule.NotRoles)
}

func (c *check) roles(field string, roles []Role) {
	for i, role := range roles {
		if !knownRole(role) {
			c.refuse(fmt.Sprintf("%s[%d]", field, i), "The role must be LEAD, SECOND or LONE.")
		}
	}
}

func (c *check) method(field string, m Method) {
	if len(m.Roles) == 0 || len(m.Roles) > maxRoles {
		c.refuse(field+".roles", "A method has one to %d roles.", maxRoles)
	}
	c.roles(field+".roles", m.Roles)
	if m.Rescuers < len(m.Roles) {
		c.refuse(field+".rescuers", "A method needs at least one rescuer a role.")
	}
	if m.Conditional && m.AimMissed == "" {
		c.refuse(field+".aim_missed", "A method that is conditional at best must say which aim it misses.")
	}
	for i, need := range m.Needs {
		if !slices.Contains(needNames, need) {
			c.refuse(fmt.Sprintf("%s.needs[%d]", field, i), "The need must be DEVICE, LOWER_CONTROLS, EMERGENCY_LOWERING or KIT.")
		}
	}
}
