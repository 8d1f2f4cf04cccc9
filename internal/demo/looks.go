package demo

import (
	"time"

	g "groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// looks notes the inspections: each kit inside every month and by another person every year, outside every week of the last eight, and
// the lower controls of each device on the last ten working days. Two devices have a defect.
func (p *player) looks() {
	for m := 0; m <= 17; m++ {
		first := g.NewDate(2024, time.January+time.Month(m), 1)
		p.kitLooks(workday(first.AddDays(2)), g.MonthlyInside, lorcan)
	}
	p.kitLooks(g.MustDate("2024-03-05"), g.Yearly, abena)
	p.kitLooks(g.MustDate("2025-03-03"), g.Yearly, abena)
	for monday := g.MustDate("2025-04-14"); monday <= g.MustDate("2025-06-09"); monday += 7 {
		p.kitLooks(monday, g.WeeklyOutside, lorcan)
	}
	for day := g.MustDate("2025-05-29"); day <= g.MustDate("2025-06-11"); day++ {
		if workday(day) == day {
			p.deviceLooks(day)
		}
	}
	p.defects()
}

func workday(d g.Date) g.Date {
	for d.Weekday() == time.Saturday || d.Weekday() == time.Sunday {
		d++
	}
	return d
}

func (p *player) kitLooks(day g.Date, kind g.InspectionKind, by string) {
	for i, id := range kits() {
		when := day.Start(p.Zone).Add(7*time.Hour + time.Duration(i)*12*time.Minute)
		form := training.InspectionForm{When: training.When{At: g.InstantOf(when)}, KitID: id, Kind: kind, Checklist: "kit, first version", Result: g.InService}
		p.tellAt(when.Add(5*time.Minute), func() { enter(p, by, p.Desk.Inspect, form) })
	}
}

func kits() []g.KitID {
	var out []g.KitID
	for _, d := range devices {
		out = append(out, d.kit)
	}
	return append(out, spareKit)
}

func (p *player) deviceLooks(day g.Date) {
	for i, d := range devices {
		if d.id == brokenDevice && day >= p.dayOf(p.at(broken)) {
			continue
		}
		when := day.Start(p.Zone).Add(6*time.Hour + time.Duration(i)*2*time.Minute)
		form := training.InspectionForm{When: training.When{At: g.InstantOf(when)}, DeviceID: d.id, Kind: g.DailyLowerControls, Checklist: "device, first version",
			Lines: g.InspectionLines{{Line: controlsLine, Critical: true, Found: g.StepYes}}, Result: g.InService}
		p.tellAt(when.Add(time.Minute), func() { enter(p, lorcan, p.Desk.Inspect, form) })
	}
}

const (
	controlsLine = "full cycle from the lower controls"
	batteryLine  = "battery of the emergency lowering charged"
	brokenDevice = g.DeviceID("T16")
	broken       = "2025-06-09 06:40"
)

// defects: B02 was out for two days in May; T16 is out since Monday and was not returned yet.
func (p *player) defects() {
	p.defect("B02", "2024-05-28 06:50", controlsLine, "slow to answer")
	p.tellAt(p.at("2024-05-30 13:05"), func() {
		enter(p, abena, p.Desk.Inspect, training.InspectionForm{When: training.When{At: p.instant("2024-05-30 13:00")}, DeviceID: "B02",
			Kind: g.DailyLowerControls, Checklist: "device, first version", Result: g.Returned, Remarks: "valve cleaned, cycle run three times"})
	})
	p.defect(brokenDevice, broken, batteryLine, "flat, a new one is ordered")
}

func (p *player) defect(id g.DeviceID, found, line, remarks string) {
	form := training.InspectionForm{When: training.When{At: p.instant(found)}, DeviceID: id, Kind: g.DailyLowerControls, Checklist: "device, first version",
		Lines: g.InspectionLines{{Line: line, Critical: true, Found: g.StepNo}}, Result: g.OutOfService, Remarks: remarks}
	p.tellAt(p.at(found).Add(4*time.Minute), func() { enter(p, lorcan, p.Desk.Inspect, form) })
}
