package rollcall

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/store"
)

// Changes asks what is the least change that puts a falling-short answer right. The zero Changes asks with the usual bounds.
type Changes struct {
	Most   int                  // changes at once, 1 to 3; 0: two
	Show   int                  // changes listed, 1 to 50; 0: ten
	Target readiness.Verdict    // what is to be reached; zero: READY
	Within int                  // minutes of travel from which a yard no longer counts as neighbouring, 1 to 600; 0: 90
	Later  []groundhand.Instant // other starts that could be offered; at most five
}

// Bounds on a search.
const (
	mostChanges    = 3
	mostShown      = 50
	mostWithin     = 600
	mostLater      = 5
	mostCandidates = 200 // people around who are weighed
	mostGear       = 40  // kits, and devices
	mostDrills     = 12
	usualChanges   = 2
	usualShown     = 10
	usualWithin    = 90
)

func (c *Changes) check(p *groundhand.Problems, from groundhand.Instant) {
	for _, b := range []struct {
		field   string
		n, most int
	}{{"changes.most", c.Most, mostChanges}, {"changes.show", c.Show, mostShown}, {"changes.within", c.Within, mostWithin}} {
		if b.n < 0 || b.n > b.most {
			p.Add(groundhand.CodeInvalid, b.field, "Give 1 to %d.", b.most)
		}
	}
	if len(c.Later) > mostLater {
		p.Add(groundhand.CodeInvalid, "changes.later", "Offer at most %d other starts.", mostLater)
		return
	}
	for i, at := range c.Later {
		if at <= from || time.Duration(at-from)*time.Millisecond > longestWindow {
			p.Add(groundhand.CodeInvalid, fmt.Sprintf("changes.later[%d]", i), "Offer a start after the one asked about, within 31 days.")
		}
	}
}

// around is what changes may be made of.
type around struct {
	yard        groundhand.YardID // of the crew or, without one, of the device
	minutes     map[groundhand.YardID]int
	to          groundhand.Instant // the latest end of a window that may be offered
	jobs        []groundhand.Job   // other booked work up to then
	candidates  []groundhand.WorkerID
	kits        []groundhand.KitID    // that could be brought
	devices     []groundhand.DeviceID // that could be taken instead
	leftOut     int
	shifts      []groundhand.Shift
	sessions    []groundhand.Session
	authorities map[groundhand.WorkerID][]groundhand.Authority
}

// daysAhead is how far a later window may lie, in days after the day of departure.
const daysAhead = 2

// loadAround loads whom and what the question names, and everybody and everything around it.
func (f *coverFacts) loadAround(ctx context.Context, q CoverQuestion) error {
	day := f.roll.dayOf(q.FromAt)
	a := &around{to: f.roll.start(f.roll.lastDay(q.ToAt) + daysAhead)}
	for _, at := range q.Changes.Later {
		a.to = max(a.to, f.roll.start(f.roll.lastDay(at+q.ToAt-q.FromAt)+1))
	}
	f.around = a
	var err error
	if f.muster, err = f.roll.everybody(ctx, day, f.roll.lastDay(a.to)); err != nil {
		return err
	}
	if f.gear, err = f.roll.allPlaces(ctx); err != nil {
		return err
	}
	a.yard = f.yardOf(q)
	if err := f.loadRoads(ctx); err != nil {
		return err
	}
	if err := f.loadWork(ctx, q); err != nil {
		return err
	}
	workers, err := f.choosePeople(q)
	if err != nil {
		return err
	}
	devices, kits := f.chooseGear(q)
	if err := f.gear.loadState(ctx, devices, kits, f.roll.start(day)); err != nil {
		return err
	}
	f.roster, err = f.roll.roster(ctx, f.shelf, workers, f.roll.start(day), a.to)
	return err
}

// yardOf is the yard from which changes are counted.
func (f *coverFacts) yardOf(q CoverQuestion) groundhand.YardID {
	if c, there := f.muster.crews[q.CrewID]; there {
		return c.YardID
	}
	return f.gear.devices[q.DeviceID].YardID
}

func (f *coverFacts) loadRoads(ctx context.Context) error {
	roads, err := store.Standing[groundhand.Road](ctx, f.roll.store)
	f.around.minutes = minutesTo(f.around.yard, roads)
	return err
}

// minutesTo is the travel to a yard from each that has a road to it, and from itself.
func minutesTo(yard groundhand.YardID, roads []groundhand.Road) map[groundhand.YardID]int {
	out := map[groundhand.YardID]int{yard: 0}
	for _, r := range roads {
		switch yard {
		case r.FromYardID:
			out[r.ToYardID] = r.Minutes
		case r.ToYardID:
			out[r.FromYardID] = r.Minutes
		}
	}
	return out
}

// loadWork loads booked work, its briefings, and who could assess.
func (f *coverFacts) loadWork(ctx context.Context, q CoverQuestion) error {
	from := f.roll.start(f.roll.dayOf(q.FromAt))
	var err error
	if f.around.jobs, err = f.roll.store.JobsBetween(ctx, from, f.around.to); err != nil {
		return err
	}
	f.around.jobs = slices.DeleteFunc(f.around.jobs, func(j groundhand.Job) bool { return j.ID == q.JobID })
	questions := []CoverQuestion{q}
	for _, j := range f.around.jobs {
		questions = append(questions, CoverQuestion{JobID: j.ID})
	}
	if err := f.loadBriefings(ctx, questions); err != nil {
		return err
	}
	if f.around.shifts, err = f.roll.store.ShiftsBetween(ctx, from, f.around.to); err != nil {
		return err
	}
	if f.around.sessions, err = f.roll.store.SessionsBetween(ctx, from, f.around.to); err != nil {
		return err
	}
	assessors := unique(idsOf(f.around.shifts, func(s groundhand.Shift) groundhand.WorkerID { return s.WorkerID }))
	authorities, err := store.FindStanding[groundhand.Authority](ctx, f.roll.store, store.ByAssessor, assessors)
	f.around.authorities = map[groundhand.WorkerID][]groundhand.Authority{}
	for _, a := range authorities {
		f.around.authorities[a.AssessorID] = append(f.around.authorities[a.AssessorID], a)
	}
	return err
}

// choosePeople picks who may join, nearest yard first, and gives everybody whose record is then needed: the crew asked about, the
// candidates and, so that a loan can be weighed, the whole crews that would lend them.
func (f *coverFacts) choosePeople(q CoverQuestion) ([]groundhand.WorkerID, error) {
	_, crew, err := f.people(q)
	if err != nil {
		return nil, err
	}
	var all []groundhand.WorkerID
	for who := range f.muster.of {
		if !slices.Contains(crew, who) && f.muster.at(who, q.FromAt) != "" {
			all = append(all, who)
		}
	}
	slices.SortFunc(all, func(a, b groundhand.WorkerID) int {
		return cmp.Or(cmp.Compare(f.distance(f.crewYard(a, q.FromAt)), f.distance(f.crewYard(b, q.FromAt))), cmp.Compare(a, b))
	})
	f.around.leftOut = max(0, len(all)-mostCandidates)
	f.around.candidates = all[:min(len(all), mostCandidates)]
	needed := append(slices.Clone(crew), f.around.candidates...)
	for _, who := range f.around.candidates {
		for _, j := range f.jobsOf(f.muster.at(who, q.FromAt), q) {
			needed = append(needed, f.muster.in(j.CrewID, j.StartAt, j.EndAt)...)
		}
	}
	return unique(needed), nil
}

// chooseGear picks the kits and devices that no booked work uses meanwhile, nearest first, and gives everything whose state is then needed:
// them, what the question names, and what the crews that would lend people work with.
func (f *coverFacts) chooseGear(q CoverQuestion) ([]groundhand.DeviceID, []groundhand.KitID) {
	a, at := f.around, q.FromAt
	own := cmp.Or(q.KitID, f.gear.kitOn(q.DeviceID, at))
	for id := range f.gear.kits {
		p := f.gear.placing(id, at)
		used := f.inUse(q, func(j groundhand.Job) bool { return j.KitID == id || p.DeviceID != "" && j.DeviceID == p.DeviceID })
		if p.ID != "" && id != own && !used {
			a.kits = append(a.kits, id)
		}
	}
	for id := range f.gear.devices {
		if id != q.DeviceID && !f.inUse(q, func(j groundhand.Job) bool { return j.DeviceID == id }) {
			a.devices = append(a.devices, id)
		}
	}
	a.kits = nearest(a, a.kits, func(id groundhand.KitID) int { return f.distance(f.gear.yardOf(id, at)) })
	a.devices = nearest(a, a.devices, func(id groundhand.DeviceID) int { return f.distance(f.gear.devices[id].YardID) })
	devices, kits := append([]groundhand.DeviceID{q.DeviceID}, a.devices...), append([]groundhand.KitID{own}, a.kits...)
	for _, j := range a.jobs {
		devices, kits = append(devices, j.DeviceID), append(kits, j.KitID)
	}
	for _, id := range devices {
		kits = append(kits, f.gear.kitOn(id, at))
	}
	for _, j := range a.jobs {
		kits = append(kits, f.gear.kitOn(j.DeviceID, j.StartAt))
	}
	return unique(devices), unique(kits)
}

// nearest orders things by the way to them, then by id, and counts those that are too many to be weighed.
func nearest[K ~string](a *around, ids []K, distance func(K) int) []K {
	slices.SortFunc(ids, func(x, y K) int { return cmp.Or(cmp.Compare(distance(x), distance(y)), cmp.Compare(x, y)) })
	a.leftOut += max(0, len(ids)-mostGear)
	return ids[:min(len(ids), mostGear)]
}

func (f *coverFacts) crewYard(who groundhand.WorkerID, at groundhand.Instant) groundhand.YardID {
	return f.muster.crews[f.muster.at(who, at)].YardID
}

// noRoad is farther than any road.
const noRoad = 1 << 20

// distance is the way from a yard in minutes.
func (f *coverFacts) distance(from groundhand.YardID) int {
	minutes, road := f.around.minutes[from]
	if !road {
		return noRoad
	}
	return minutes
}

// jobsOf lists the booked work of a crew that overlaps the window asked about.
func (f *coverFacts) jobsOf(crew groundhand.CrewID, q CoverQuestion) []groundhand.Job {
	var out []groundhand.Job
	for _, j := range f.around.jobs {
		if j.CrewID == crew && j.StartAt < q.ToAt && q.FromAt < j.EndAt {
			out = append(out, j)
		}
	}
	return out
}

// inUse says whether booked work over the window has a device or a kit.
func (f *coverFacts) inUse(q CoverQuestion, has func(groundhand.Job) bool) bool {
	return slices.ContainsFunc(f.around.jobs, func(j groundhand.Job) bool { return j.StartAt < q.ToAt && q.FromAt < j.EndAt && has(j) })
}

// place is where somebody or something is seen from the yard of the crew. Who comes from another yard sets out when asked.
func (f *coverFacts) place(yard groundhand.YardID, q CoverQuestion) readiness.Place {
	p := readiness.Place{Yard: string(yard), TravelMinutes: f.distance(yard)}
	if p.TravelMinutes == noRoad {
		p.TravelMinutes = 0 // not reached at all, which its yard says
	}
	if p.TravelMinutes > 0 && f.now < q.FromAt {
		p.ReadyAt = f.now + minutes(p.TravelMinutes)
	}
	return p
}

// neighbours lists the yards from which somebody or something may come.
func (f *coverFacts) neighbours(within int) []string {
	out := []string{}
	for yard, minutes := range f.around.minutes {
		if yard != f.around.yard && minutes <= within {
			out = append(out, string(yard))
		}
	}
	slices.Sort(out)
	return out
}
