package demo

import (
	"time"

	g "groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// outage is a time in which something is out of service. Found says on which look; without one it went to the workshop.
type outage struct {
	thing
	from, to string // to empty: still
	by, back string // who took it out, who looked at it afterwards
	found    g.InspectionKind
	line     string // of the checklist, that was not in order
	remarks  string
	repaired string
}

const controlsLine = "lower-controls-cycle"

var outages = []outage{
	{thing{device: "B02"}, "2024-05-28 06:50", "2024-05-30 13:00", lorcan, abena, g.DailyLowerControls, controlsLine, "slow to answer", "valve cleaned, cycle run three times"},
	{thing{device: "A08"}, truckGone + " 05:50", truckBack + " 16:00", lorcan, abena, "", "", "hydraulic pump to be changed", "pump changed"},
	{thing{device: "A02"}, "2025-01-22 11:05", "2025-01-23 13:00", "Maren Oduya", abena, g.DailyLowerControls, controlsLine, "stopped twice on the way down", "switch dried and sealed"},
	{thing{device: "T20"}, "2025-03-31 15:00", "2025-04-08 11:00", lorcan, abena, "", "", "in the workshop at Stenholt, boom bearing", "bearing changed"},
	{thing{kit: "K22"}, "2025-04-02 14:20", "2025-04-09 10:00", lorcan, abena, g.MonthlyInside, "slings", "anchor strap worn through the outer weave", "strap replaced"},
	{thing{kit: "K16"}, "2024-09-17 14:36", "2024-09-24 10:00", "", abena, "", "", "used for a real rescue", "looked through whole, rope and slings sound"},
	{thing{device: "E23"}, "2025-04-24 07:30", "2025-04-30 15:00", lorcan, abena, "", "", "in the workshop, panel relay", "relay changed"},
	{thing{device: "T16"}, "2025-06-09 06:40", "", lorcan, "", g.DailyLowerControls, "emergency-lowering", "battery flat, a new one is ordered", ""},
}

// out says whether something is out of service at a moment, by the table.
func (p *player) out(at thing, when time.Time) bool {
	for _, o := range outages {
		if o.thing == at && !when.Before(p.at(o.from)) && (o.to == "" || when.Before(p.at(o.to))) {
			return true
		}
	}
	return false
}

// defects notes what the table holds, and where the kit of a truck in a distant workshop went.
func (p *player) defects() {
	for _, o := range outages {
		if o.by != "" { // else it went out with what happened, see realRescue
			p.takenOut(o)
		}
		if o.to != "" {
			p.returned(o)
		}
	}
	p.moved("K23", "2025-03-31 15:00", training.PlaceForm{YardID: stenholt})
	p.moved("K23", "2025-04-08 14:00", training.PlaceForm{DeviceID: "T20"})
}

func (p *player) takenOut(o outage) {
	when := training.When{At: p.instant(o.from)}
	if o.found == "" {
		form := training.DefectForm{When: when, DeviceID: o.device, KitID: o.kit, Cause: g.Workshop, Separated: true, Remarks: o.remarks}
		p.tellAt(p.at(o.from), func() { enter(p, o.by, p.Desk.RaiseDefect, form) })
		return
	}
	form := p.inspection(p.at(o.from), o.thing, o.found, o.line)
	form.Result, form.Remarks = g.OutOfService, o.remarks
	p.found(o.by, p.at(o.from), form, 0)
}

// returned notes the look after which something is back: at a kit inside, at a device with its lowering timed.
func (p *player) returned(o outage) {
	kind := g.MonthlyInside
	if o.device != "" {
		kind = g.DeviceMonthly
	}
	form := p.inspection(p.at(o.to), o.thing, kind, "")
	form.Result, form.Remarks = g.Returned, o.repaired
	p.found(o.back, p.at(o.to), form, 5*time.Minute)
}

func (p *player) moved(kit g.KitID, moment string, where training.PlaceForm) {
	where.When, where.KitID = training.When{At: p.instant(moment)}, kit
	p.tellAt(p.at(moment), func() { enter(p, lorcan, p.Desk.PlaceKit, where) })
}
