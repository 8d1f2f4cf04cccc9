package readiness

import "groundhand/internal/groundhand"

// size bounds the work: every choice is judged at every moment for every control family the device may have.
func (c *check) size() {
	able, aloft, edges := 0, 0, 1
	for _, p := range c.q.People {
		if p.CanGoAloft {
			able++
		}
		edges += 2 * (len(p.Capabilities) + len(p.FirstAid) + len(p.NotForRescue) + len(p.Unavailable))
	}
	for _, b := range c.q.Job.Buckets {
		aloft += b.People
	}
	choices := binomial(able, aloft)
	if choices > maxChoices {
		c.Add(groundhand.CodeTooLarge, "job.buckets", "There are more than %d ways to choose who goes aloft; ask about one device at a time.", maxChoices)
	}
	if choices*edges*len(families(c.q)) > maxClasses {
		c.Add(groundhand.CodeTooLarge, "people", "Too many spans are given to be judged in one go; leave out what lies outside the window.")
	}
}

// binomial is n over k, or a number beyond maxChoices when it is larger than that.
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
