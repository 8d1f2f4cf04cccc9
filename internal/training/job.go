package training

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
)

// mostAloft is how many people a bucket holds, and mostBuckets how many hang on one device.
const (
	mostAloft   = 4
	mostBuckets = 4
)

// JobForm books work as far as rescue needs to know it.
type JobForm struct {
	Entry
	CrewID       groundhand.CrewID
	YardID       groundhand.YardID // empty: that of the crew
	StartAt      groundhand.Instant
	EndAt        groundhand.Instant
	DeviceID     groundhand.DeviceID // empty: not known yet
	KitID        groundhand.KitID    // empty: the one on the device
	Aloft        int                 // people aloft at a time, summed over the buckets: 0 to 4, with several buckets to 16
	Buckets      groundhand.Counts   // people in each bucket, 1 to 4 each, summing up to Aloft; empty: one bucket
	Methods      groundhand.List     // rescue methods that the site allows
	Near50V      groundhand.Answer   // empty: unknown
	SiteKind     groundhand.SiteKind
	RuleText     groundhand.RuleText // empty: general
	HiresTrained groundhand.Answer   // for tree trimmers only; empty: unknown
	CallPlan     groundhand.Answer   // empty: unknown
	Place        string
	RuleSetID    groundhand.RuleSetID // a client's rules; empty: our own of that day
	PlannedAloft groundhand.List      // workers
	Duties       groundhand.Duties
}

// BookJob enters a job.
func (d *Desk) BookJob(ctx context.Context, by groundhand.Account, key string, f JobForm) (groundhand.Job, error) {
	return once(ctx, d, by, key, act{name: "bookJob", may: access.BookJob}, f, one[groundhand.Job])
}

func (f JobForm) check(c *fields) {
	f.Entry.check(c)
	c.id("crewId", string(f.CrewID))
	c.maybeID("yardId", string(f.YardID))
	c.span("startAt", "endAt", f.StartAt, f.EndAt)
	c.maybeID("deviceId", string(f.DeviceID))
	c.maybeID("kitId", string(f.KitID))
	f.checkAloft(c)
	c.methods("methods", f.Methods)
	c.answer("near50V", f.Near50V)
	oneOf(c, "siteKind", f.SiteKind, groundhand.FieldSite, groundhand.FixedSite, groundhand.TrimmersSite)
	noneOr(c, "ruleText", f.RuleText, groundhand.GeneralText, groundhand.ConstructionText)
	c.answer("hiresTrained", f.HiresTrained)
	if f.HiresTrained != "" && f.SiteKind != groundhand.TrimmersSite {
		c.wrong("hiresTrained", "Only line-clearance tree trimming asks whether everybody hired is trained in time; leave it out.")
	}
	c.answer("callPlan", f.CallPlan)
	c.words("place", f.Place)
	c.maybeID("ruleSetId", string(f.RuleSetID))
	c.ids("plannedAloft", f.PlannedAloft)
	f.checkDuties(c)
}

func (f JobForm) checkAloft(c *fields) {
	if len(f.Buckets) == 0 {
		c.number("aloft", f.Aloft, 0, mostAloft)
		return
	}
	if !c.atMost("buckets", len(f.Buckets), mostBuckets) {
		return
	}
	sum := 0
	for i, people := range f.Buckets {
		c.number(index("buckets", i), people, 1, mostAloft)
		sum += people
	}
	if sum != f.Aloft {
		c.wrong("aloft", "The buckets hold %d people, not %d.", sum, f.Aloft)
	}
}

func (f JobForm) checkDuties(c *fields) {
	if !c.atMost("duties", len(f.Duties), mostWords) {
		return
	}
	for i, duty := range f.Duties {
		c.within("duties", i, func() {
			c.name("duty", duty.Duty)
			c.id("workerId", string(duty.WorkerID))
		})
	}
}

func (f JobForm) enter(in *entering) groundhand.Job {
	correct[groundhand.Job](in, "job", f.Entry)
	crew, _ := fetch[groundhand.Crew](in, "crew", at("crewId", f.CrewID))
	known[groundhand.Yard](in, "yard", at("yardId", f.YardID))
	known[groundhand.Device](in, "device", at("deviceId", f.DeviceID))
	known[groundhand.Kit](in, "kit", at("kitId", f.KitID))
	known[groundhand.RuleSet](in, "rule set", at("ruleSetId", f.RuleSetID))
	known[groundhand.Worker](in, "worker", f.people()...)
	j := f.job(in)
	if j.YardID == "" {
		j.YardID = crew.YardID
	}
	add(in, j)
	result(in, j.ID)
	return j
}

func (f JobForm) people() []ref {
	out := refs("plannedAloft", f.PlannedAloft)
	for i, duty := range f.Duties {
		out = append(out, at(index("duties", i)+".workerId", duty.WorkerID))
	}
	return out
}

func (f JobForm) job(in *entering) groundhand.Job {
	return groundhand.Job{
		ID: groundhand.JobID(in.tx.NewID()), Recorded: in.told(f.Entry, When{At: f.StartAt}), CrewID: f.CrewID, YardID: f.YardID,
		StartAt: f.StartAt, EndAt: f.EndAt, DeviceID: f.DeviceID, KitID: f.KitID, Aloft: f.Aloft, Buckets: f.Buckets,
		Methods: f.Methods, Near50V: orUnknown(f.Near50V), SiteKind: f.SiteKind, RuleText: f.RuleText, HiresTrained: f.HiresTrained, CallPlan: orUnknown(f.CallPlan), Place: f.Place, RuleSetID: f.RuleSetID,
		PlannedAloft: f.PlannedAloft, Duties: f.Duties,
	}
}
