package rollcall

import (
	"cmp"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rulebook"
)

// GearLine is one line about the device or the kit of a departure.
type GearLine struct {
	Of          string // DEVICE or KIT
	ID          string
	Line        GearLineName
	Holds       readiness.YesNo // at the start of the window
	GoodThrough groundhand.Date // last good day; zero: no such day, or not known
	MadeOn      groundhand.Date // day of the inspection it rests on; zero: none
	EntryID     groundhand.EntryID
}

// GearLineName names a line.
type GearLineName string

// The lines, in the order in which they are shown.
const (
	LineFamily       GearLineName = "FAMILY_KNOWN"
	LineInService    GearLineName = "IN_SERVICE"
	LineControls     GearLineName = "LOWER_CONTROLS_CHECKED"
	LineEmergency    GearLineName = "EMERGENCY_LOWERING"
	LineOnDevice     GearLineName = "ON_THIS_DEVICE"
	LineSuits        GearLineName = "SUITS_EVERYBODY"
	LineReach        GearLineName = "REACH"
	LineRatedLoad    GearLineName = "RATED_LOAD_READABLE"
	LineWeekly       GearLineName = "WEEKLY_LOOK"
	LineMonthly      GearLineName = "MONTHLY_LOOK"
	LineYearly       GearLineName = "YEARLY_LOOK"
	LineLastDayOfUse GearLineName = "LAST_DAY_OF_USE"
)

// lines spells out what a question says of its device and kit, with the inspections behind it.
func (g *gear) lines(q readiness.Question, asked rulebook.Inspections) []GearLine {
	var out []GearLine
	day := g.roll.dayOf(q.Window.From)
	if d := q.Device; d != nil && d.ID != unknownDevice {
		of := thing{device: groundhand.DeviceID(d.ID)}
		add := func(name GearLineName, holds readiness.YesNo) {
			out = append(out, GearLine{Of: "DEVICE", ID: d.ID, Line: name, Holds: holds})
		}
		add(LineFamily, orUnknown(d.Family != ""))
		add(LineInService, yesIf(!g.covers(d.OutOfService, q.Window.From)))
		add(LineControls, d.LowerControlsChecked)
		add(LineEmergency, d.EmergencyLowering)
		for kind, name := range map[groundhand.InspectionKind]GearLineName{groundhand.DeviceWeekly: LineWeekly, groundhand.DeviceMonthly: LineMonthly, groundhand.Yearly: LineYearly} {
			if every, is := asked.Device[kind]; is {
				out = append(out, g.lookLine(of, "DEVICE", d.ID, name, kind, every, q.Window.From))
			}
		}
	}
	if k := q.Kit; k != nil && k.ID != unknownDevice {
		of := thing{kit: groundhand.KitID(k.ID)}
		add := func(name GearLineName, holds readiness.YesNo, through groundhand.Date) {
			out = append(out, GearLine{Of: "KIT", ID: k.ID, Line: name, Holds: holds, GoodThrough: through})
		}
		add(LineInService, yesIf(!g.covers(k.OutOfService, q.Window.From)), 0)
		add(LineOnDevice, k.OnDevice, 0)
		add(LineSuits, k.SuitsAll, 0)
		add(LineReach, reaches(k, q.Device), 0)
		add(LineRatedLoad, orUnknown(k.RatedLoadKG != nil), 0)
		for kind, name := range map[groundhand.InspectionKind]GearLineName{groundhand.WeeklyOutside: LineWeekly, groundhand.MonthlyInside: LineMonthly, groundhand.Yearly: LineYearly} {
			out = append(out, g.lookLine(of, "KIT", k.ID, name, kind, asked.Kit[kind], q.Window.From))
		}
		if u := k.UseThrough; !u.Never {
			add(LineLastDayOfUse, yesIf(u.Day == 0 || day <= u.Day), u.Day)
		}
	}
	slices.SortStableFunc(out, func(a, b GearLine) int {
		return cmp.Or(cmp.Compare(a.Of, b.Of), cmp.Compare(rank(a.Line), rank(b.Line)))
	})
	return out
}

var lineOrder = []GearLineName{LineFamily, LineInService, LineControls, LineEmergency, LineOnDevice, LineSuits, LineReach, LineRatedLoad, LineWeekly,
	LineMonthly, LineYearly, LineLastDayOfUse}

func rank(n GearLineName) int { return slices.Index(lineOrder, n) }

func orUnknown(b bool) readiness.YesNo {
	if b {
		return readiness.Yes
	}
	return readiness.Unknown
}

// lookLine says until when the last look of a kind is good, and which entry it is.
func (g *gear) lookLine(of thing, what, id string, name GearLineName, kind groundhand.InspectionKind, every rulebook.Interval, at groundhand.Instant) GearLine {
	out := GearLine{Of: what, ID: id, Line: name, MadeOn: g.lastLook(of, kind, at)}
	if out.MadeOn == 0 {
		return out
	}
	out.GoodThrough = every.Through(out.MadeOn)
	out.Holds = yesIf(g.roll.dayOf(at) <= out.GoodThrough)
	for _, l := range g.looks[of] {
		if g.roll.dayOfEntry(l.Recorded) == out.MadeOn && l.Result != groundhand.OutOfService {
			out.EntryID = l.ID
		}
	}
	return out
}

// covers says whether an instant lies in one of some intervals.
func (g *gear) covers(list []readiness.Interval, at groundhand.Instant) bool {
	return slices.ContainsFunc(list, func(i readiness.Interval) bool {
		from := i.From.At
		if i.From.Day != 0 {
			from = g.roll.start(i.From.Day)
		}
		return from <= at && (i.To == 0 || at < i.To)
	})
}

// reaches is the reach arithmetic: usable rope against parts of line times the anchor height, in whole centimetres.
func reaches(k *readiness.Kit, d *readiness.Device) readiness.YesNo {
	if d == nil || d.AnchorHeightCM == nil || k.Parts == nil || k.RopeCM == nil || k.TailCM == nil {
		return readiness.Unknown
	}
	return yesIf(*k.RopeCM-*k.TailCM >= *k.Parts**d.AnchorHeightCM)
}
