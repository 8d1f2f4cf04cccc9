package demo

import (
	"fmt"
	"slices"
	"time"

	"groundhand/internal/checklist"
	g "groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// The looks at kits and devices. By the company's own rule a kit is looked at outside every week and inside every month, a device every day
// of work from its lower controls and every month by a timed emergency lowering, both by an inspector every year.

// The first visits of the inspectors; one follows every four weeks, so that no month is without one.
const (
	firstVisit = "2024-01-10"
	visitEvery = 28
	lastDay    = "2025-06-11"
)

// dailyTimes are the stretches in which every device is looked at on every day of work: the weeks that a story needs and the last two.
var dailyTimes = []struct{ from, to string }{
	{"2024-11-04", "2024-11-22"}, {"2025-01-15", "2025-01-15"}, {"2025-01-20", "2025-01-26"}, {"2025-01-30", "2025-01-30"}, {"2025-03-31", "2025-04-11"}, {"2025-04-21", "2025-04-25"}, {"2025-05-05", "2025-05-09"},
	{"2025-05-29", lastDay},
}

// faultTrucks go out every day of the week; from this day on crews look at truck and kit before each shift.
var (
	faultTrucks     = []g.DeviceID{"T15", "T17", "A06"}
	faultLooksSince = g.MustDate("2024-11-01")
)

// looks notes them all, and what was found.
func (p *player) looks() {
	for day := g.MustDate(firstVisit); day <= g.MustDate(lastDay); day += visitEvery {
		p.visit(day)
	}
	p.yearly("2024-03-05")
	p.yearly("2025-03-03")
	for monday := g.MustDate("2024-01-08"); monday <= g.MustDate(lastDay); monday += 7 {
		p.weekly(monday)
	}
	for day := faultLooksSince; day <= g.MustDate(lastDay); day++ {
		p.daily(day)
	}
	p.defects()
}

func workday(d g.Date) g.Date {
	for d.Weekday() == time.Saturday || d.Weekday() == time.Sunday {
		d++
	}
	return d
}

// rounds are the inspectors' rounds: the yards in the order in which they are reached, and when the first look begins there.
var rounds = []struct {
	by    string
	yard  g.YardID
	start time.Duration // after midnight
}{
	{lorcan, varrow, 7 * time.Hour}, {lorcan, hollow, 14*time.Hour + 20*time.Minute},
	{abena, stenholt, 7 * time.Hour}, {abena, aldersett, 9*time.Hour + 30*time.Minute}, {abena, quillmere, 14 * time.Hour},
}

const perKit = 12 * time.Minute

// visit is one day on which the inspectors look inside every kit and time the emergency lowering of every device.
func (p *player) visit(day g.Date) {
	for _, r := range rounds {
		when := day.Start(p.Zone).Add(r.start)
		for _, kit := range kitsOf(r.yard) {
			p.look(r.by, when, thing{kit: kit}, g.MonthlyInside)
			when = when.Add(perKit)
		}
		for _, d := range devicesOf(r.yard) {
			p.look(r.by, day.Start(p.Zone).Add(r.start+8*time.Minute), thing{device: d.id}, g.DeviceMonthly)
		}
	}
}

// yearly looks are Abena's, who uses neither kit nor device; four days, a yard or two a day.
func (p *player) yearly(first string) {
	for i, yard := range []g.YardID{varrow, stenholt, quillmere, aldersett, hollow} {
		when := g.MustDate(first).AddDays(i).Start(p.Zone).Add(7 * time.Hour)
		for _, kit := range kitsOf(yard) {
			p.look(abena, when, thing{kit: kit}, g.Yearly)
			when = when.Add(perKit)
		}
		for _, d := range devicesOf(yard) {
			p.look(abena, when, thing{device: d.id}, g.Yearly)
			when = when.Add(perKit)
		}
	}
}

// weekly: the crews look at their kits from outside on Monday before they leave. A few looks are forgotten, none that a story needs.
func (p *player) weekly(monday g.Date) {
	const share = 0.04
	for _, y := range yards {
		by, when := p.whoLooks(y.id, monday), monday.Start(p.Zone).Add(5*time.Hour+40*time.Minute)
		for _, kit := range kitsOf(y.id) {
			missed := p.chance("weekly "+string(kit)+monday.String()).Float64() < share && !spared(monday)
			if !missed && !(monday >= faultLooksSince && seenDaily(kit)) {
				p.look(by, when, thing{kit: kit}, g.WeeklyOutside)
			}
			when = when.Add(2 * time.Minute)
		}
	}
}

// spared says whether a story rests on the looks of a week: those of November with the borrowed truck, the storm, and all since March.
func spared(monday g.Date) bool {
	return monday >= g.MustDate("2025-03-03") || monday >= g.MustDate("2024-10-28") && monday <= g.MustDate("2024-11-25") ||
		monday >= g.MustDate("2025-01-13") && monday <= g.MustDate("2025-01-27")
}

func seenDaily(kit g.KitID) bool {
	return slices.ContainsFunc(faultTrucks, func(id g.DeviceID) bool { return deviceOf(id).kit == kit })
}

// daily: the lower controls before the first departure, on fault trucks every day and the kit with them.
func (p *player) daily(day g.Date) {
	for _, y := range yards {
		by, when := p.whoLooks(y.id, day), day.Start(p.Zone).Add(5*time.Hour)
		for _, d := range devicesOf(y.id) {
			fault := slices.Contains(faultTrucks, d.id)
			if fault || everyTruck(day) {
				p.look(by, when, thing{device: d.id}, g.DailyLowerControls)
			}
			if fault {
				p.look(by, when.Add(time.Minute), thing{kit: d.kit}, g.WeeklyOutside)
			}
			when = when.Add(3 * time.Minute)
		}
	}
}

// everyTruck says whether all trucks are looked at on a day.
func everyTruck(day g.Date) bool {
	for _, t := range dailyTimes {
		if g.MustDate(t.from) <= day && day <= g.MustDate(t.to) {
			return workday(day) == day || stormFrom <= day && day <= stormTo
		}
	}
	return false
}

// whoLooks is a foreman of the yard who is there, or else an inspector.
func (p *player) whoLooks(yard g.YardID, day g.Date) string {
	for _, c := range crews {
		if name := c.foreman(); c.yard == yard && name != "" && !p.gone[name][day] {
			return name
		}
	}
	return abena
}

// kitsOf lists the kits at home in a yard, spares last.
func kitsOf(yard g.YardID) []g.KitID {
	var out []g.KitID
	for _, d := range devicesOf(yard) {
		out = append(out, d.kit)
	}
	for _, s := range spares {
		if s.yard == yard {
			out = append(out, s.kit)
		}
	}
	return out
}

func devicesOf(yard g.YardID) []deviceRow {
	return slices.DeleteFunc(slices.Clone(devices), func(d deviceRow) bool { return d.yard != yard })
}

// thing is a device or a kit.
type thing struct {
	device g.DeviceID
	kit    g.KitID
}

// look notes one look at something that is in order, unless it is out of service at that time.
func (p *player) look(by string, when time.Time, at thing, kind g.InspectionKind) {
	if p.out(at, when) {
		return
	}
	p.found(by, when, p.inspection(when, at, kind, ""), time.Minute)
}

func (p *player) found(by string, when time.Time, form training.InspectionForm, after time.Duration) {
	p.tellAt(when.Add(after), func() { enter(p, by, p.Desk.Inspect, form) })
}

// inspection fills in a look; wrong is the one line that is not in order, empty for none.
func (p *player) inspection(when time.Time, at thing, kind g.InspectionKind, wrong string) training.InspectionForm {
	of, day := checklist.Device, p.dayOf(when)
	if at.kit != "" {
		of = checklist.Kit
	}
	list, there := checklist.For(kind, of, day)
	if !there && p.err == nil {
		p.err = fmt.Errorf("play: there is no checklist of %s for a %s on %s", kind, of, day)
	}
	except := map[string]g.StepAnswer{"function-test": g.StepNotApplicable}
	if !reaches(at.kit) {
		except["reach"] = g.StepNotApplicable
	}
	if wrong != "" {
		except[wrong] = g.StepNo
	}
	form := training.InspectionForm{When: training.When{At: g.InstantOf(when)}, DeviceID: at.device, KitID: at.kit, Kind: kind, Checklist: list.ID,
		Lines: checklist.Answered(list.ID, except), Result: g.InService}
	if kind == g.DeviceMonthly {
		const least, spread = 150, 131
		form.LoweringSeconds = least + p.chance("lowering "+string(at.device)+day.String()).IntN(spread)
	}
	return form
}

// reaches says whether the reach of a kit is to be looked at: in a store, on a truck without an anchor and where the plan is not to lower
// from height with it, it is not.
func reaches(id g.KitID) bool {
	return slices.ContainsFunc(devices, func(d deviceRow) bool {
		return d.kit == id && d.anchor > 0 && reachCM(id) >= d.anchor
	})
}
