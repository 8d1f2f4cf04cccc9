package rollcall

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rulebook"
)

// addPool puts everybody and everything really available into a question, so that the least change can be searched.
func (f *coverFacts) addPool(out *CoverAnswer, q CoverQuestion) error {
	b := &pooling{coverFacts: f, q: q, w: out.Question.Window, job: out.Question.Job, pool: &readiness.Pool{
		Target: cmp.Or(q.Changes.Target, readiness.Ready), MaxChanges: cmp.Or(q.Changes.Most, usualChanges), MaxFixes: cmp.Or(q.Changes.Show, usualShown),
		Neighbours: f.neighbours(cmp.Or(q.Changes.Within, usualWithin)), People: []readiness.PoolPerson{}, Crews: []readiness.PoolCrew{},
		Kits: []readiness.PoolKit{}, Devices: []readiness.PoolDevice{}, Drills: []readiness.PoolDrill{},
		LaterWindows: []readiness.LaterWindow{}, OtherWays: []readiness.OtherWay{}}}
	_, rules, err := f.shelf.on(f.roll.dayOf(q.FromAt), q.RuleSetID)
	if err != nil {
		return err
	}
	rules.Cover = out.Question.Rules
	b.rules, b.looks = rules, f.looksAt(q)
	if err := b.addPeople(); err != nil {
		return err
	}
	b.addKits()
	b.addDevices()
	b.addDrills(out.Question.People, out.Question.Device)
	b.addLaterWindows()
	b.addOtherWays()
	out.Question.Pool, out.LeftOut = b.pool, f.around.leftOut
	return nil
}

// pooling is a pool being filled.
type pooling struct {
	*coverFacts
	q     CoverQuestion
	w     readiness.Window
	job   readiness.Job
	rules rulebook.Rules
	looks *looksAt
	pool  *readiness.Pool
}

// addPeople offers each candidate, with the crew that would lend them as it would stand without them.
func (b *pooling) addPeople() error {
	c := b.roster.counting(b.rules, b.q.RuleSetID, b.rules.Cover.Families, b.q.FromAt, b.around.to)
	lenders := map[groundhand.CrewID]*readiness.Question{}
	for _, who := range b.around.candidates {
		crew := b.muster.at(who, b.q.FromAt)
		p, err := c.person(who, crew)
		if err != nil {
			return err
		}
		if !p.CanGoAloft && len(p.Capabilities) == 0 && len(p.FirstAid) == 0 {
			continue // could neither go up nor stand below
		}
		if err := b.lender(&p, crew, lenders); err != nil {
			return err
		}
		b.pool.People = append(b.pool.People, readiness.PoolPerson{Person: p, Place: b.place(b.muster.crews[crew].YardID, b.q)})
	}
	return nil
}

// lender names the crew that would lend somebody and adds its question. The relief pool is there to lend. Somebody whose crew has several
// jobs meanwhile, or who is not with it all through, is taken as placed: one question could not protect them all.
func (b *pooling) lender(p *readiness.Person, crew groundhand.CrewID, lenders map[groundhand.CrewID]*readiness.Question) error {
	jobs := b.jobsOf(crew, b.q)
	switch {
	case b.muster.crews[crew].Kind == groundhand.ReliefPool:
		p.Crew = ""
		return nil
	case len(jobs) > 1:
		p.Crew = ""
		b.placed(p)
		return nil
	}
	question, known := lenders[crew]
	if !known {
		if len(jobs) == 1 {
			job := jobQuestion(jobs[0])
			job.Looks = b.q.Looks
			asked, err := b.question(job)
			switch {
			case len(groundhand.Refusals(err)) > 0: // a booking that cannot be judged cannot be protected
				p.Crew = ""
				b.placed(p)
				return nil
			case err != nil:
				return err
			}
			question = &asked.Question
		}
		lenders[crew] = question
		b.pool.Crews = append(b.pool.Crews, readiness.PoolCrew{ID: string(crew), Question: question})
	}
	if question != nil && !slices.ContainsFunc(question.People, func(o readiness.Person) bool { return o.ID == p.ID }) {
		p.Crew = ""
		b.placed(p)
	}
	return nil
}

func (b *pooling) placed(p *readiness.Person) {
	p.Unavailable = append(p.Unavailable, readiness.Absence{Interval: readiness.Interval{From: readiness.Edge{At: b.q.FromAt}, To: b.q.ToAt}, Why: readiness.WhyPlaced})
}

// addKits offers every kit that no booked work uses meanwhile.
func (b *pooling) addKits() {
	for _, id := range b.around.kits {
		kit, _ := b.gear.kit(id, b.q.DeviceID, b.w, b.rules.Inspections)
		kit.OnDevice = readiness.Yes // a kit that is brought is put on the device
		kit.SuitsAll = b.looks.or(readiness.Unknown, "", LookSuits)
		b.pool.Kits = append(b.pool.Kits, readiness.PoolKit{ID: string(id), Place: b.place(b.gear.yardOf(id, b.w.From), b.q), Kit: *kit})
	}
}

// addDevices offers every device that no booked work uses meanwhile, with the kit that rides on it.
func (b *pooling) addDevices() {
	for _, id := range b.around.devices {
		device, _ := b.gear.device(id, b.w, b.rules.Inspections)
		device.LowerControlsChecked = b.looks.or(device.LowerControlsChecked, "", LookControls)
		kit, there := b.gear.kit(b.gear.kitOn(id, b.w.From), id, b.w, b.rules.Inspections)
		if there {
			kit.OnDevice = b.looks.or(kit.OnDevice, "", LookKit)
			kit.SuitsAll = b.looks.or(readiness.Unknown, "", LookSuits)
		}
		b.pool.Devices = append(b.pool.Devices, readiness.PoolDevice{ID: string(id), Place: b.place(b.gear.devices[id].YardID, b.q), Device: *device, Kit: kit})
	}
}

// A watched drill before departure. Common practice, no source: three quarters of an hour for a few runs, and a quarter of an hour left to
// get away.
const (
	drillMinutes = 45
	drillSeats   = 4
	drillAhead   = 60 // minutes before departure at which it starts at the latest start that leaves time
)

func minutes(n int) groundhand.Instant { return groundhand.Instant(n) * 60_000 }

// addDrills offers a watched drill with each assessor on shift in the yard, for the control family of the device asked about and of the other
// devices of the yard.
func (b *pooling) addDrills(crew []readiness.Person, device *readiness.Device) {
	families := []string{device.Family}
	for _, d := range b.pool.Devices {
		if d.Yard == string(b.around.yard) {
			families = append(families, d.Device.Family)
		}
	}
	families = slices.DeleteFunc(unique(families), func(f string) bool { return f == "" })
	for _, shift := range b.around.shifts {
		if shift.YardID != b.around.yard {
			continue
		}
		for _, family := range families {
			for _, m := range b.rules.Cover.Methods {
				b.addDrill(shift, family, m, crew)
			}
		}
	}
}

// addDrill offers one drill: an hour before departure if the assessor is on shift by then, else as soon as the shift begins.
func (b *pooling) addDrill(shift groundhand.Shift, family string, m readiness.Method, crew []readiness.Person) {
	start := roundUp(max(shift.FromAt, b.now, b.q.FromAt-minutes(drillAhead)))
	if b.job.Methods[m.ID] != readiness.Yes || m.Conditional || start+minutes(drillMinutes) > shift.ToAt || len(b.pool.Drills) == mostDrills {
		return
	}
	if !b.authorised(shift.WorkerID, m.ID, family, b.roll.dayOf(start)) {
		return
	}
	people := lacking(crew, m, family, b.w, b.roll)
	if len(people) == 0 {
		return
	}
	free, until := b.freeTime(shift, start)
	b.pool.Drills = append(b.pool.Drills, readiness.PoolDrill{
		ID:       fmt.Sprintf("%s %s %s by %s", b.startWord(start), m.ID, family, shift.WorkerID),
		Assessor: string(shift.WorkerID), Authorised: readiness.Yes, AssessorFreeFrom: free, AssessorFreeTo: until,
		Method: m.ID, Family: family, Role: m.Roles[0], Start: start, Minutes: drillMinutes, Seats: drillSeats,
		MinPeople: min(len(m.Roles), len(people)), People: people,
	})
}

// startWord is the clock time of a start, with the day where it is not that of the departure: an assessor may have the same hours on both.
func (b *pooling) startWord(at groundhand.Instant) string {
	if b.roll.dayOf(at) == b.roll.dayOf(b.q.FromAt) {
		return at.In(b.roll.zone).Format("15:04")
	}
	return at.In(b.roll.zone).Format("2006-01-02T15:04")
}

// roundUp gives the next full five minutes.
func roundUp(at groundhand.Instant) groundhand.Instant {
	step := minutes(5)
	return (at + step - 1) / step * step
}

func (b *pooling) authorised(who groundhand.WorkerID, method, family string, day groundhand.Date) bool {
	return slices.ContainsFunc(b.around.authorities[who], func(a groundhand.Authority) bool {
		return slices.Contains(a.Methods, method) && (len(a.Families) == 0 || slices.Contains(a.Families, family)) &&
			a.FromOn <= day && (a.ToOn == 0 || day <= a.ToOn)
	})
}

// lacking lists who of a crew does not hold the leading role of a method all through the window.
func lacking(crew []readiness.Person, m readiness.Method, family string, w readiness.Window, r *Roll) []string {
	first, last := r.dayOf(w.From), r.lastDay(w.To)
	var out []string
	for _, p := range crew {
		holds := slices.ContainsFunc(p.Capabilities, func(c readiness.Capability) bool {
			from := c.From.Day
			if from == 0 {
				from = r.dayOf(c.From.At)
			}
			return c.Method == m.ID && c.Role == m.Roles[0] && (!m.PerFamily || c.Family == family) && c.State == readiness.Current && from <= first && c.Through >= last
		})
		if !holds {
			out = append(out, p.ID)
		}
	}
	return out
}

// freeTime is the part of a shift around a moment in which the assessor has no session booked and no job with the own crew.
func (b *pooling) freeTime(shift groundhand.Shift, start groundhand.Instant) (from, to groundhand.Instant) {
	from, to = shift.FromAt, shift.ToAt
	busy := func(since, until groundhand.Instant) {
		if since > start {
			to = min(to, since)
			return
		}
		from = max(from, until) // over by then, or busy at that moment
	}
	for _, s := range b.around.sessions {
		if s.AssessorID == shift.WorkerID {
			busy(s.StartAt, s.EndAt)
		}
	}
	for _, j := range b.around.jobs {
		if slices.Contains(b.muster.in(j.CrewID, j.StartAt, j.EndAt), shift.WorkerID) {
			busy(j.StartAt, j.EndAt)
		}
	}
	return from, to
}

// addLaterWindows offers the same length of work later: as soon as a drill is over that cannot be held before departure, at the starts that
// were named, and at the same hours of the next day.
func (b *pooling) addLaterWindows() {
	var starts []groundhand.Instant
	for _, d := range b.pool.Drills {
		if end := d.Start + minutes(d.Minutes); end > b.q.FromAt {
			starts = append(starts, end)
		}
	}
	starts = append(starts, b.q.Changes.Later...)
	next := b.q.FromAt.In(b.roll.zone)
	y, mo, day := next.Date()
	starts = append(starts, groundhand.InstantOf(time.Date(y, mo, day+1, next.Hour(), next.Minute(), 0, 0, b.roll.zone)))
	slices.Sort(starts)
	length := b.q.ToAt - b.q.FromAt
	for _, at := range slices.Compact(starts) {
		if at <= b.q.FromAt || at+length > b.around.to {
			continue
		}
		b.pool.LaterWindows = append(b.pool.LaterWindows, readiness.LaterWindow{ID: at.In(b.roll.zone).Format("2006-01-02 15:04"), From: at, To: at + length})
	}
}

// addOtherWays offers the work with the call plan written down, with one person aloft, and isolated.
func (b *pooling) addOtherWays() {
	if b.job.CallPlan != readiness.Yes {
		yes := readiness.Yes
		b.pool.OtherWays = append(b.pool.OtherWays, readiness.OtherWay{ID: "how help is called from there is written down first",
			Job: readiness.JobChange{CallPlan: &yes}})
	}
	if b.q.Aloft > 1 {
		b.pool.OtherWays = append(b.pool.OtherWays, readiness.OtherWay{ID: "one person aloft at a time",
			Job: readiness.JobChange{Buckets: []readiness.Bucket{{ID: "B1", People: 1}}}})
	}
	if b.job.Near50V != readiness.No {
		no := readiness.No
		b.pool.OtherWays = append(b.pool.OtherWays, readiness.OtherWay{ID: "isolated, nothing energised at 50 V or more within reach",
			Job: readiness.JobChange{Near50V: &no}})
	}
}
