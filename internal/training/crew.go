package training

import (
	"context"
	"math"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// YardForm is a new yard.
type YardForm struct {
	Entry
	When
	ID   groundhand.YardID
	Name string
}

// AddYard enters a yard.
func (d *Desk) AddYard(ctx context.Context, by groundhand.Account, key string, f YardForm) (groundhand.Yard, error) {
	return once(ctx, d, by, key, act{name: "addYard", may: access.ManageCrews}, f, one[groundhand.Yard])
}

func (f YardForm) check(c *fields) {
	f.Entry.check(c)
	f.Entry.notReplaced(c)
	f.happened(c)
	c.id("id", string(f.ID))
	c.name("name", f.Name)
}

func (f YardForm) enter(in *entering) groundhand.Yard {
	in.unused(string(f.ID))
	y := groundhand.Yard{ID: f.ID, Recorded: in.told(f.Entry, f.When), Name: f.Name}
	add(in, y)
	result(in, y.ID)
	return y
}

// RoadForm is the travel time between two yards.
type RoadForm struct {
	Entry
	When
	FromYardID groundhand.YardID
	ToYardID   groundhand.YardID
	Minutes    int // one way, 1 to 1440
}

// AddRoad enters the travel time between two yards, the same both ways.
func (d *Desk) AddRoad(ctx context.Context, by groundhand.Account, key string, f RoadForm) (groundhand.Road, error) {
	return once(ctx, d, by, key, act{name: "addRoad", may: access.ManageCrews}, f, one[groundhand.Road])
}

func (f RoadForm) check(c *fields) {
	f.Entry.check(c)
	f.happened(c)
	c.id("fromYardId", string(f.FromYardID))
	c.id("toYardId", string(f.ToYardID))
	if f.FromYardID == f.ToYardID && f.FromYardID != "" {
		c.wrong("toYardId", "A road joins two yards, not one with itself.")
	}
	c.number("minutes", f.Minutes, 1, mostMinutes)
}

func (f RoadForm) enter(in *entering) groundhand.Road {
	correct[groundhand.Road](in, "road", f.Entry)
	known[groundhand.Yard](in, "yard", at("fromYardId", f.FromYardID), at("toYardId", f.ToYardID))
	in.roadFree(f)
	r := groundhand.Road{ID: entryID(in), Recorded: in.told(f.Entry, f.When), FromYardID: f.FromYardID, ToYardID: f.ToYardID, Minutes: f.Minutes}
	add(in, r)
	result(in, r.ID)
	return r
}

// roadFree refuses a second road between the same yards: it would be anybody's guess which of the two times holds.
func (in *entering) roadFree(f RoadForm) {
	roads, err := store.Standing[groundhand.Road](in.ctx, in.tx)
	if in.failed(err) {
		return
	}
	for _, r := range roads {
		same := r.FromYardID == f.FromYardID && r.ToYardID == f.ToYardID || r.FromYardID == f.ToYardID && r.ToYardID == f.FromYardID
		if same && r.ID != f.Replaces {
			in.Add(groundhand.CodeConflict, "toYardId", "There is a road between these yards already; correct it instead.")
		}
	}
}

// CrewForm is a new crew.
type CrewForm struct {
	Entry
	When
	ID         groundhand.CrewID
	Name       string
	YardID     groundhand.YardID
	Kind       groundhand.CrewKind
	NormalSize int             // 1 to 60
	Families   groundhand.List // control families of the devices it works on
}

// AddCrew enters a crew without people; they join one by one.
func (d *Desk) AddCrew(ctx context.Context, by groundhand.Account, key string, f CrewForm) (groundhand.Crew, error) {
	return once(ctx, d, by, key, act{name: "addCrew", may: access.ManageCrews}, f, one[groundhand.Crew])
}

func (f CrewForm) check(c *fields) {
	f.Entry.check(c)
	f.Entry.notReplaced(c)
	f.happened(c)
	c.id("id", string(f.ID))
	c.name("name", f.Name)
	c.id("yardId", string(f.YardID))
	oneOf(c, "kind", f.Kind, groundhand.LineCrew, groundhand.FaultCrew, groundhand.SubstationCrew, groundhand.ReliefPool)
	c.number("normalSize", f.NormalSize, 1, mostCrew)
	c.ids("families", f.Families)
}

func (f CrewForm) enter(in *entering) groundhand.Crew {
	in.unused(string(f.ID))
	known[groundhand.Yard](in, "yard", at("yardId", f.YardID))
	known[groundhand.Family](in, "control family", refs("families", f.Families)...)
	crew := groundhand.Crew{
		ID: f.ID, Recorded: in.told(f.Entry, f.When), Name: f.Name, YardID: f.YardID,
		Kind: f.Kind, NormalSize: f.NormalSize, Families: f.Families,
	}
	add(in, crew)
	result(in, crew.ID)
	return crew
}

// MembershipForm puts a worker into a crew for a time. That somebody leaves a crew is a correction of the membership that gives it a
// last day.
type MembershipForm struct {
	Entry
	CrewID   groundhand.CrewID
	WorkerID groundhand.WorkerID
	Part     groundhand.CrewPart
	Reason   groundhand.MembershipReason
	FromOn   groundhand.Date
	ToOn     groundhand.Date    // last day; empty: until further notice, for a permanent membership only
	FromAt   groundhand.Instant // a moment on FromOn; empty: from the start of the day
	ToAt     groundhand.Instant // a moment on ToOn, not included; empty: to the end of the day
}

// JoinCrew enters a membership. Nobody is in two places: it is a Conflict when the worker is in a crew at any of these times already, where
// one place may end at the moment at which the other begins; except that a loan, a split or storm duty lies over the permanent membership while it lasts.
func (d *Desk) JoinCrew(ctx context.Context, by groundhand.Account, key string, f MembershipForm) (groundhand.Membership, error) {
	may := access.LendWorkers
	if f.Reason == groundhand.Permanent {
		may = access.ManageCrews
	}
	return once(ctx, d, by, key, act{name: "joinCrew", may: may}, f, one[groundhand.Membership])
}

func (f MembershipForm) check(c *fields) {
	f.Entry.check(c)
	c.id("crewId", string(f.CrewID))
	c.id("workerId", string(f.WorkerID))
	oneOf(c, "part", f.Part, groundhand.Foreman, groundhand.Member)
	oneOf(c, "reason", f.Reason, groundhand.Permanent, groundhand.Loan, groundhand.Split, groundhand.Storm)
	c.stretch("fromOn", "toOn", f.FromOn, f.ToOn)
	if f.ToOn == 0 && f.Reason != groundhand.Permanent {
		c.wrong("toOn", "Give the last day; only a permanent membership may be open.")
	}
	f.checkMoments(c)
}

// checkMoments holds the moments to their days. A crew may split at noon.
func (f MembershipForm) checkMoments(c *fields) {
	c.onDay("fromAt", f.FromAt, f.FromOn)
	c.onDay("toAt", f.ToAt, f.ToOn)
	m := groundhand.Membership{FromOn: f.FromOn, ToOn: f.ToOn, FromAt: f.FromAt, ToAt: f.ToAt}
	if f.ToAt != 0 && f.FromOn != 0 {
		c.order("toAt", c.begins(m), f.ToAt)
	}
}

// onDay refuses a moment that is not on the day beside it. No moment is allowed.
func (c *fields) onDay(field string, at groundhand.Instant, day groundhand.Date) {
	c.moment(field, at)
	switch {
	case at == 0:
	case day == 0:
		c.wrong(field, "Give the day too.")
	case When{At: at}.day(c) != day:
		c.wrong(field, "%s is not on %s.", c.clock(at), day)
	}
}

func (f MembershipForm) enter(in *entering) groundhand.Membership {
	if old, corrects := correct[groundhand.Membership](in, "membership", f.Entry); corrects {
		in.mayMove("replaces", old)
	}
	known[groundhand.Crew](in, "crew", at("crewId", f.CrewID))
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID))
	m := groundhand.Membership{
		ID: entryID(in), Recorded: in.told(f.Entry, When{On: f.FromOn}), CrewID: f.CrewID, WorkerID: f.WorkerID,
		Part: f.Part, Reason: f.Reason, FromOn: f.FromOn, ToOn: f.ToOn, FromAt: f.FromAt, ToAt: f.ToAt,
	}
	in.onePlace(m)
	add(in, m)
	result(in, m.ID)
	return m
}

// mayMove keeps those who only lend workers from undoing where somebody belongs.
func (in *entering) mayMove(field string, m groundhand.Membership) {
	if m.Reason == groundhand.Permanent {
		in.refuseOr(field, access.May(in.by, access.ManageCrews))
	}
}

// onePlace refuses a membership that would put a worker into two places at a time.
func (in *entering) onePlace(m groundhand.Membership) {
	theirs, err := store.FindStanding[groundhand.Membership](in.ctx, in.tx, store.ByWorker, []groundhand.WorkerID{m.WorkerID})
	if in.failed(err) {
		return
	}
	for _, other := range theirs {
		if other.ID != m.ReplacesID && in.overlap(m, other) && !liesOver(m, other) {
			in.Add(groundhand.CodeConflict, "fromOn", "This worker is in crew %s (%s) from %s to %s; nobody is in two places. End that membership first.",
				other.CrewID, other.Reason, other.FromOn, orOpen(other.ToOn))
		}
	}
}

func (c *fields) overlap(a, b groundhand.Membership) bool {
	return c.begins(a) < c.ends(b) && c.begins(b) < c.ends(a)
}

func (c *fields) begins(m groundhand.Membership) groundhand.Instant {
	if m.FromAt != 0 {
		return m.FromAt
	}
	return groundhand.InstantOf(m.FromOn.Start(c.zone))
}

// ends is the moment from which on the membership holds no longer.
func (c *fields) ends(m groundhand.Membership) groundhand.Instant {
	switch {
	case m.ToAt != 0:
		return m.ToAt
	case m.ToOn != 0:
		return groundhand.InstantOf(m.ToOn.End(c.zone))
	}
	return math.MaxInt64
}

// liesOver says that one of the two is permanent and the other lies over it for a time.
func liesOver(a, b groundhand.Membership) bool {
	return (a.Reason == groundhand.Permanent) != (b.Reason == groundhand.Permanent)
}

func orOpen(d groundhand.Date) string {
	if d == 0 {
		return "further notice"
	}
	return d.String()
}
