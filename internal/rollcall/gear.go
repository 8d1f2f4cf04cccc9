package rollcall

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// gear is what is recorded about some devices and the kits that were ever on them: where each kit is, what was looked at and what was found.
type gear struct {
	roll      *Roll
	devices   map[groundhand.DeviceID]groundhand.Device
	kits      map[groundhand.KitID]groundhand.Kit
	classings map[groundhand.DeviceID][]groundhand.Classing
	placings  map[groundhand.KitID][]groundhand.KitPlacing
	looks     map[thing][]groundhand.Inspection // by device or kit, in order of when they were made
	defects   map[thing][]groundhand.Defect
}

// thing is a device or a kit.
type thing struct {
	device groundhand.DeviceID
	kit    groundhand.KitID
}

// gear loads some devices, the kits that were ever on them, and some kits besides. Looks at the lower controls stand for one departure,
// so only those of the days since are read.
func (r *Roll) gear(ctx context.Context, devices []groundhand.DeviceID, kits []groundhand.KitID, since groundhand.Instant) (*gear, error) {
	devices = unique(devices)
	ever, err := store.FindStanding[groundhand.KitPlacing](ctx, r.store, store.ByDevice, devices)
	if err != nil {
		return nil, err
	}
	for _, p := range ever {
		kits = append(kits, p.KitID)
	}
	kits = unique(kits)
	g := r.noGear()
	if err := g.loadThings(ctx, devices, kits); err != nil {
		return nil, err
	}
	return g, g.loadState(ctx, devices, kits, since)
}

func (r *Roll) noGear() *gear {
	return &gear{roll: r, devices: map[groundhand.DeviceID]groundhand.Device{}, kits: map[groundhand.KitID]groundhand.Kit{},
		classings: map[groundhand.DeviceID][]groundhand.Classing{}, placings: map[groundhand.KitID][]groundhand.KitPlacing{},
		looks: map[thing][]groundhand.Inspection{}, defects: map[thing][]groundhand.Defect{}}
}

// allPlaces loads every device and kit with where it is, and nothing of what was found at it.
func (r *Roll) allPlaces(ctx context.Context) (*gear, error) {
	devices, err := store.Standing[groundhand.Device](ctx, r.store)
	if err != nil {
		return nil, err
	}
	kits, err := store.Standing[groundhand.Kit](ctx, r.store)
	if err != nil {
		return nil, err
	}
	g := r.noGear()
	return g, g.loadThings(ctx, idsOf(devices, func(d groundhand.Device) groundhand.DeviceID { return d.ID }),
		idsOf(kits, func(k groundhand.Kit) groundhand.KitID { return k.ID }))
}

// loadState loads what was looked at and found at some devices and kits.
func (g *gear) loadState(ctx context.Context, devices []groundhand.DeviceID, kits []groundhand.KitID, since groundhand.Instant) error {
	if err := g.loadLooks(ctx, devices, kits, since); err != nil {
		return err
	}
	return g.loadDefects(ctx, devices, kits)
}

func idsOf[T any, K ~string](rows []T, id func(T) K) []K {
	out := make([]K, len(rows))
	for i, row := range rows {
		out[i] = id(row)
	}
	return out
}

func (g *gear) loadThings(ctx context.Context, devices []groundhand.DeviceID, kits []groundhand.KitID) error {
	things, err := store.Find[groundhand.Device](ctx, g.roll.store, store.ByID, devices)
	if err != nil {
		return err
	}
	for _, d := range things {
		g.devices[d.ID] = d
	}
	classings, err := store.FindStanding[groundhand.Classing](ctx, g.roll.store, store.ByDevice, devices)
	if err != nil {
		return err
	}
	for _, c := range inTime(g.roll, classings, func(c groundhand.Classing) groundhand.Recorded { return c.Recorded }) {
		g.classings[c.DeviceID] = append(g.classings[c.DeviceID], c)
	}
	bags, err := store.Find[groundhand.Kit](ctx, g.roll.store, store.ByID, kits)
	for _, k := range bags {
		g.kits[k.ID] = k
	}
	if err != nil {
		return err
	}
	return g.loadPlaces(ctx, kits)
}

func (g *gear) loadPlaces(ctx context.Context, kits []groundhand.KitID) error {
	placings, err := store.FindStanding[groundhand.KitPlacing](ctx, g.roll.store, store.ByKit, kits)
	for _, p := range inTime(g.roll, placings, func(p groundhand.KitPlacing) groundhand.Recorded { return p.Recorded }) {
		g.placings[p.KitID] = append(g.placings[p.KitID], p)
	}
	return err
}

func (g *gear) loadLooks(ctx context.Context, devices []groundhand.DeviceID, kits []groundhand.KitID, since groundhand.Instant) error {
	looks, err := g.roll.store.LooksSince(ctx, devices, kits, since)
	for _, l := range inTime(g.roll, looks, func(l groundhand.Inspection) groundhand.Recorded { return l.Recorded }) {
		of := thing{l.DeviceID, l.KitID}
		g.looks[of] = append(g.looks[of], l)
	}
	return err
}

func (g *gear) loadDefects(ctx context.Context, devices []groundhand.DeviceID, kits []groundhand.KitID) error {
	ofDevices, err := store.FindStanding[groundhand.Defect](ctx, g.roll.store, store.ByDevice, devices)
	if err != nil {
		return err
	}
	ofKits, err := store.FindStanding[groundhand.Defect](ctx, g.roll.store, store.ByKit, kits)
	for _, d := range append(ofDevices, ofKits...) {
		of := thing{d.DeviceID, d.KitID}
		g.defects[of] = append(g.defects[of], d)
	}
	return err
}

// began is the moment from which an entry speaks: a bare day speaks from its start.
func (r *Roll) began(e groundhand.Recorded) groundhand.Instant {
	if e.HappenedAt != 0 {
		return wholeSecond(e.HappenedAt)
	}
	return r.start(e.HappenedOn)
}

// dayOfEntry is the local day on which an entry happened.
func (r *Roll) dayOfEntry(e groundhand.Recorded) groundhand.Date {
	if e.HappenedAt != 0 {
		return r.dayOf(e.HappenedAt)
	}
	return e.HappenedOn
}

// inTime sorts entries by when they happened, then by when they were told.
func inTime[T any](r *Roll, entries []T, recorded func(T) groundhand.Recorded) []T {
	slices.SortStableFunc(entries, func(a, b T) int {
		x, y := recorded(a), recorded(b)
		return cmp.Or(cmp.Compare(r.began(x), r.began(y)), cmp.Compare(x.RecordedAt, y.RecordedAt))
	})
	return entries
}

// placing is where a kit is at a moment; an empty one when nobody said.
func (g *gear) placing(kit groundhand.KitID, at groundhand.Instant) groundhand.KitPlacing {
	var last groundhand.KitPlacing
	for _, p := range g.placings[kit] {
		if g.roll.began(p.Recorded) <= at {
			last = p
		}
	}
	return last
}

// kitOn is the kit on a device at a moment, the one put there last if there are several; empty for none.
func (g *gear) kitOn(device groundhand.DeviceID, at groundhand.Instant) groundhand.KitID {
	var best groundhand.KitPlacing
	for id := range g.placings {
		p := g.placing(id, at)
		if p.ID == "" || p.DeviceID == "" || p.DeviceID != device {
			continue
		}
		if best.ID == "" || cmp.Or(cmp.Compare(g.roll.began(p.Recorded), g.roll.began(best.Recorded)), cmp.Compare(p.KitID, best.KitID)) > 0 {
			best = p
		}
	}
	return best.KitID
}

// yardOf is the yard in which a kit is at a moment: its store, or the yard of the device it rides on.
func (g *gear) yardOf(kit groundhand.KitID, at groundhand.Instant) groundhand.YardID {
	p := g.placing(kit, at)
	if p.DeviceID != "" {
		return g.devices[p.DeviceID].YardID
	}
	return p.YardID
}

// known is a device with what had become known of it by a moment.
func (g *gear) known(id groundhand.DeviceID, at groundhand.Instant) (groundhand.Device, bool) {
	d, there := g.devices[id]
	return g.roll.knownAt(d, g.classings[id], at), there
}

// device gives a device for a departure. Whatever is not recorded is unknown, never good; an inspection that the rules ask of it and that is
// overdue, or that nobody ever made, puts it out of service.
func (g *gear) device(id groundhand.DeviceID, w readiness.Window, asked rulebook.Inspections) (*readiness.Device, bool) {
	d, there := g.known(id, w.From)
	if !there {
		return nil, false
	}
	of := thing{device: id}
	out := &readiness.Device{ID: string(d.ID), Family: string(d.FamilyID), EmergencyLowering: yesNo(d.EmergencyLow), OutOfService: g.outOfService(of)}
	if d.AnchorCM > 0 {
		out.AnchorHeightCM = &d.AnchorCM
	}
	if g.controlsChecked(id, g.roll.dayOf(w.From)) {
		out.LowerControlsChecked = readiness.Yes
	}
	for _, kind := range []groundhand.InspectionKind{groundhand.DeviceWeekly, groundhand.DeviceMonthly, groundhand.Yearly} {
		every, is := asked.Device[kind]
		if !is {
			continue
		}
		overdue := readiness.Interval{From: readiness.Edge{Day: firstDay}}
		if last := g.lastLook(of, kind, w.From); last != 0 {
			overdue.From.Day = every.Through(last) + 1
		}
		out.OutOfService = append(out.OutOfService, overdue)
	}
	return out, true
}

// firstDay and lastDay are the first and the last day that can be written down.
var (
	firstDay = groundhand.MustDate("1900-01-01")
	lastDay  = groundhand.MustDate("2199-12-31")
)

// controlsChecked says whether the device was worked from its lower controls on a day and nothing was found.
func (g *gear) controlsChecked(id groundhand.DeviceID, day groundhand.Date) bool {
	return slices.ContainsFunc(g.looks[thing{device: id}], func(l groundhand.Inspection) bool {
		return l.Kind == groundhand.DailyLowerControls && l.Result != groundhand.OutOfService && g.roll.dayOfEntry(l.Recorded) == day
	})
}

// lastLook is the day of the last good look of a kind by a moment; zero for none. The yearly look at a kit goes through the monthly one too.
func (g *gear) lastLook(of thing, kind groundhand.InspectionKind, by groundhand.Instant) groundhand.Date {
	var last groundhand.Date
	for _, l := range g.looks[of] {
		includes := l.Kind == kind || kind == groundhand.MonthlyInside && l.Kind == groundhand.Yearly
		if includes && l.Result != groundhand.OutOfService && g.roll.began(l.Recorded) <= by {
			last = max(last, g.roll.dayOfEntry(l.Recorded))
		}
	}
	return last
}

// kit gives a kit for a departure on a device, as far as it is recorded. That it rides there by the records is not that somebody saw it
// there: only a look at it on the day, or the briefing, says so.
func (g *gear) kit(id groundhand.KitID, on groundhand.DeviceID, w readiness.Window, asked rulebook.Inspections) (*readiness.Kit, bool) {
	k, there := g.kits[id]
	if !there {
		return nil, false
	}
	of := thing{kit: id}
	out := &readiness.Kit{ID: string(id), Parts: known(k.Parts), RopeCM: known(k.RopeCM), TailCM: &k.TailCM, RatedLoadKG: known(k.RatedLoadKG),
		UseThrough: readiness.UseThrough{Day: k.RetiresOn, Never: k.RetiresOn == 0}, OutOfService: g.outOfService(of), OnDevice: g.seenOn(id, on, w.From)}
	through := func(kind groundhand.InspectionKind) groundhand.Date {
		last := g.lastLook(of, kind, w.From)
		if every, is := asked.Kit[kind]; is && last != 0 {
			return every.Through(last)
		}
		return 0
	}
	out.DueThrough = readiness.Due{Weekly: through(groundhand.WeeklyOutside), Monthly: through(groundhand.MonthlyInside), Yearly: through(groundhand.Yearly)}
	if k.InServiceOn > firstDay {
		out.OutOfService = append(out.OutOfService, readiness.Interval{From: readiness.Edge{Day: firstDay}, To: g.roll.start(k.InServiceOn)})
	}
	return out, true
}

func known(n int) *int {
	if n == 0 {
		return nil
	}
	return &n
}

// seenOn says whether a kit is on a device on the day of a departure: no, when it is recorded elsewhere; yes, when somebody looked at it
// there on that day; else nobody knows.
func (g *gear) seenOn(id groundhand.KitID, on groundhand.DeviceID, at groundhand.Instant) readiness.YesNo {
	placed := g.placing(id, at)
	if placed.ID == "" {
		return readiness.Unknown
	}
	if placed.DeviceID != on {
		return readiness.No
	}
	day := g.roll.dayOf(at)
	seen := slices.ContainsFunc(g.looks[thing{kit: id}], func(l groundhand.Inspection) bool {
		return g.roll.dayOfEntry(l.Recorded) == day && l.Result != groundhand.OutOfService && g.placing(id, g.roll.began(l.Recorded)).DeviceID == on
	})
	if seen {
		return readiness.Yes
	}
	return readiness.Unknown
}
