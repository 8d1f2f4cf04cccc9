package readiness

import "groundhand/internal/groundhand"

// Bounds on what is judged in one go. A crew has ten people; these keep a hostile question from holding a processor.
const (
	maxPeople  = 64 // a crew is a set of 64 bits
	maxMethods = 16
	maxRoles   = 4
	maxChoices = 20_000
	maxSpans   = 50_000_000 // spans looked at: moments times spans, roles of methods and families
	maxClasses = 10_000_000 // classes found: choices times moments, families and absences
)

// size refuses more choices of who goes aloft than will be judged.
func (c *check) size() {
	able, aloft := 0, 0
	for _, p := range c.q.People {
		if p.CanGoAloft {
			able++
		}
	}
	for _, b := range c.q.Job.Buckets {
		aloft += b.People
	}
	if binomial(able, aloft) > maxChoices {
		c.Add(groundhand.CodeTooLarge, "job.buckets", "There are more than %d ways to choose who goes aloft; ask about one device at a time.", maxChoices)
	}
}

// binomial is n over k, or maxChoices and one more when it is larger than that.
func binomial(n, k int) int {
	if k > n {
		return 0
	}
	ways := 1
	for i := range min(k, n-k) {
		ways = ways * (n - i) / (i + 1)
		if ways > maxChoices {
			return maxChoices + 1
		}
	}
	return ways
}

// tooLarge refuses more changes inside the window than will be judged.
func (in *inquiry) tooLarge(moments int) error {
	spans, slots := 0, 1
	for i := range in.people {
		p := &in.people[i]
		spans += len(p.capable) + len(p.aid) + len(p.held) + len(p.away)
	}
	for i := range in.methods {
		slots += len(in.methods[i].Roles)
	}
	looks := moments * spans * slots * len(in.families)
	classes := moments * len(in.choices) * len(in.families) * (len(in.people) + 1)
	if looks > maxSpans || classes > maxClasses {
		return &groundhand.Error{Code: groundhand.CodeTooLarge, Field: "window", Message: "Too much begins and ends inside the window; ask about a shorter one."}
	}
	return nil
}
