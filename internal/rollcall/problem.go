package rollcall

import (
	"cmp"
	"context"
	"fmt"

	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// RotationAsk says for which days a rotation is to be planned, and what beside the records.
type RotationAsk struct {
	Name         string
	Start, End   groundhand.Date
	Slots        []rotation.Slot // offered in addition to the sessions that are booked
	Methods      []groundhand.Method
	Holidays     []groundhand.Date
	VisitMinutes int                  // 0: 30
	RuleSetID    groundhand.RuleSetID // empty: our own of the first day

	Pins        []rotation.Pin  // promised beside the bookings
	ForbidSlots []string        // never used; no error when there is no such slot
	ForbidDays  []WorkerDays    // the worker is at work and not sent to a drill
	Offer       *Offering       // slots made from what is really there; nil: none
	Aloft       []CrewAloft     // crews that go out with more than one aloft at a time
	Change      *RotationChange // a "what if"; nil: as it is
}

// CrewAloft is how many of a crew are aloft at a time.
type CrewAloft struct {
	CrewID groundhand.CrewID
	Aloft  int
}

// Posed is a problem for the planner, with the booked sessions that could not be slots in it.
type Posed struct {
	Problem rotation.Problem
	LeftOut []SlotLeftOut // by day and slot
}

const (
	usualVisitMinutes = 30
	aimDaysBefore     = 21 // three weeks of buffer before the last good day, common practice, no source
)

// RotationProblem poses the problem for the planner: tickets from the standings of the first day on, crews with their cover, leave and
// standby, yards and roads, the booked sessions as slots with what is promised in them, and the assessors with authority who lead them.
// Methods limits what is planned, nil: everything asked. The problem is checked; its faults come back with the fields of a
// drill-plan-problem/1 file.
func (r *Roll) RotationProblem(ctx context.Context, ask RotationAsk) (rotation.Problem, error) {
	posed, err := r.RotationPosed(ctx, ask)
	return posed.Problem, err
}

// RotationPosed is RotationProblem, and says which booked sessions were left out and why.
func (r *Roll) RotationPosed(ctx context.Context, ask RotationAsk) (Posed, error) {
	posed, err := r.posed(ctx, ask)
	if err != nil {
		return posed, err
	}
	return posed, posed.Problem.Validate()
}

// posed writes the problem out of the records. A window longer than the shortest time a renewal is good for is not refused here.
func (r *Roll) posed(ctx context.Context, ask RotationAsk) (out Posed, err error) {
	ask = ask.changed()
	if err := ask.check(); err != nil {
		return Posed{}, err
	}
	err = r.asOfNow(ctx, func(seen *Roll) error {
		f, err := seen.planFacts(ctx, ask)
		if err == nil {
			out, err = f.pose()
		}
		return err
	})
	return out, err
}

func (f *planFacts) pose() (Posed, error) {
	ask := f.ask
	p := rotation.Problem{Name: cmp.Or(ask.Name, "from "+ask.Start.String()), Start: ask.Start, End: ask.End, Holidays: ask.Holidays,
		VisitMinutes: cmp.Or(ask.VisitMinutes, usualVisitMinutes), Yards: f.yards(), Travel: f.travel(), Crews: f.crews()}
	var err error
	if p.Workers, err = f.workers(); err != nil {
		return Posed{}, err
	}
	if err := f.checkNamed(p); err != nil {
		return Posed{}, err
	}
	leftOut := f.sessions(&p)
	p.Qualifications = f.qualifications(&p)
	return Posed{p, leftOut}, f.checkPins(p, leftOut)
}

// Bounds of typing errors.
const (
	mostAloft   = 16
	mostPlanned = 60 // months of a rotation
)

// check refuses what can be seen without the records, all at once.
func (a RotationAsk) check() error {
	var p groundhand.Problems
	if a.Start == 0 || a.End < a.Start {
		p.Add(groundhand.CodeInvalid, "end", "The rotation ends before it starts.")
	}
	if a.End > a.Start.AddMonths(mostPlanned) {
		p.Add(groundhand.CodeInvalid, "end", "A rotation lasts %d months at most.", mostPlanned)
	}
	for i, d := range a.ForbidDays {
		if d.From == 0 || d.To < d.From {
			p.Add(groundhand.CodeInvalid, fmt.Sprintf("forbidDays[%d].to", i), "The days end before they start.")
		}
	}
	for i, c := range a.Aloft {
		if c.Aloft < 1 || c.Aloft > mostAloft {
			p.Add(groundhand.CodeInvalid, fmt.Sprintf("aloft[%d].aloft", i), "1 to %d people are aloft at a time.", mostAloft)
		}
	}
	if a.Offer != nil {
		a.Offer.check(&p)
	}
	if a.Change != nil {
		a.Change.check(&p, a.Offer != nil)
	}
	return p.Err()
}

// checkNamed refuses crews, workers and yards that nobody knows.
func (f *planFacts) checkNamed(r rotation.Problem) error {
	var p groundhand.Problems
	workers, crews, yards := map[string]bool{}, map[string]bool{}, map[string]bool{}
	for _, w := range r.Workers {
		workers[w.ID] = true
	}
	for _, c := range r.Crews {
		crews[c.ID] = true
	}
	for _, y := range r.Yards {
		yards[y.ID] = true
	}
	known := func(field, what, id string, in map[string]bool) {
		if id != "" && !in[id] {
			p.Add(groundhand.CodeNotFound, field, "There is no %s %q in this rotation.", what, id)
		}
	}
	for i, d := range f.ask.ForbidDays {
		known(fmt.Sprintf("forbidDays[%d].worker", i), "worker", string(d.Worker), workers)
	}
	for i, c := range f.ask.Aloft {
		known(fmt.Sprintf("aloft[%d].crewId", i), "crew", string(c.CrewID), crews)
	}
	if f.ask.Offer != nil {
		for i, y := range f.ask.Offer.Yards {
			known(fmt.Sprintf("offer.yards[%d]", i), "yard", string(y), yards)
		}
	}
	if field, yard := f.ask.Change.yard(); yard != "" {
		known(field, "yard", string(yard), yards)
	}
	return p.Err()
}

// planFacts is what is recorded for the days of a rotation.
type planFacts struct {
	ask          RotationAsk
	roll         *Roll
	rules        rulebook.Rules
	lineUp       lineUp
	home         map[groundhand.WorkerID]groundhand.CrewID // the permanent crew where there is one
	there        map[groundhand.WorkerID]rotation.Stretch  // from the first to the last day of the window in a crew, where it is not all of it
	roster       *roster
	yardRows     []groundhand.Yard
	roads        []groundhand.Road
	sessionRows  []groundhand.Session
	bookings     []groundhand.Booking
	jobs         []groundhand.Job // read for offers only
	authorities  []groundhand.Authority
	closedOffers []string                                  // offered slots that fell to a closed yard
	postings     map[groundhand.WorkerID]groundhand.YardID // home yards of assessors
	gear         *gear
}

func (r *Roll) planFacts(ctx context.Context, ask RotationAsk) (*planFacts, error) {
	sh, err := r.shelf(ctx)
	if err != nil {
		return nil, err
	}
	f := &planFacts{ask: ask, roll: r}
	if _, f.rules, err = sh.on(ask.Start, ask.RuleSetID); err != nil {
		return nil, err
	}
	if f.lineUp, err = r.lineUp(ctx, ask.Start); err != nil {
		return nil, err
	}
	if err = f.homes(ctx); err != nil {
		return nil, err
	}
	if err = f.assessors(ctx); err != nil {
		return nil, err
	}
	from, to := r.start(ask.Start), r.start(ask.End+1)
	if f.roster, err = r.roster(ctx, sh, unique(append(f.people(), f.assessing()...)), from, to); err != nil {
		return nil, err
	}
	if err = f.places(ctx); err != nil {
		return nil, err
	}
	return f, f.offers(ctx, from, to)
}

func (f *planFacts) places(ctx context.Context) error {
	var err error
	if f.yardRows, err = store.Standing[groundhand.Yard](ctx, f.roll.store); err != nil {
		return err
	}
	f.roads, err = store.Standing[groundhand.Road](ctx, f.roll.store)
	return err
}

func (f *planFacts) offers(ctx context.Context, from, to groundhand.Instant) error {
	var err error
	if f.sessionRows, err = f.roll.store.SessionsBetween(ctx, from, to); err != nil {
		return err
	}
	ids, devices, kits := []groundhand.SessionID{}, []groundhand.DeviceID{}, []groundhand.KitID{}
	for _, s := range f.sessionRows {
		ids, devices, kits = append(ids, s.ID), append(devices, s.DeviceID), append(kits, s.KitID)
	}
	if f.bookings, err = store.FindStanding[groundhand.Booking](ctx, f.roll.store, store.BySession, ids); err != nil {
		return err
	}
	if f.ask.Offer == nil {
		f.gear, err = f.roll.gear(ctx, devices, kits, from)
		return err
	}
	return f.everything(ctx, from, to)
}

// everything loads what offers are made from: all devices and kits with their state, and the jobs that take devices away.
func (f *planFacts) everything(ctx context.Context, from, to groundhand.Instant) error {
	var err error
	if f.jobs, err = f.roll.store.JobsBetween(ctx, from, to); err != nil {
		return err
	}
	if f.gear, err = f.roll.allPlaces(ctx); err != nil {
		return err
	}
	var devices []groundhand.DeviceID
	for id := range f.gear.devices {
		devices = append(devices, id)
	}
	var kits []groundhand.KitID
	for id := range f.gear.kits {
		kits = append(kits, id)
	}
	return f.gear.loadState(ctx, devices, kits, from)
}
