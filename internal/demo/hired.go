package demo

import (
	"time"

	g "groundhand/internal/groundhand"
	"groundhand/internal/training"
)

const hiredTruck g.DeviceID = "H31"

// hired is a truck of another owner, from Mon 9 Jun 2025 on.
var hired = deviceRow{hiredTruck, "F4", stenholt, "hired in", 1600, 1300, "K31"}

// hireTruck: it comes without a word about its controls, is looked at on arrival, classed on the next morning and met by S1.
func (p *player) hireTruck() {
	const arrived, classed = "2025-06-09 09:30", "2025-06-10 07:40"
	p.tellAt(p.at(arrived), func() {
		enter(p, abena, p.Desk.AddDevice, training.DeviceForm{When: training.When{At: p.instant(arrived)}, ID: hired.id, YardID: hired.yard, Type: hired.kind,
			PlatformCM: hired.platform})
		enter(p, abena, p.Desk.PlaceKit, training.PlaceForm{When: training.When{At: p.instant(arrived)}, KitID: hired.kit, DeviceID: hired.id})
	})
	p.tellAt(p.at(classed), func() {
		enter(p, abena, p.Desk.ClassDevice, training.ClassingForm{When: training.When{At: p.instant(classed)}, DeviceID: hired.id, FamilyID: hired.family,
			AnchorCM: hired.anchor, EmergencyLow: g.Yes})
	})
	p.look(abena, p.at("2025-06-09 09:40"), thing{device: hired.id}, g.Yearly)
	p.look(abena, p.at("2025-06-09 10:00"), thing{device: hired.id}, g.DeviceMonthly)
	for _, moment := range []string{"2025-06-09 12:30", "2025-06-10 08:40", "2025-06-11 05:40"} {
		p.look(crewOf("S1").foreman(), p.at(moment), thing{device: hired.id}, g.DailyLowerControls)
		p.look(crewOf("S1").foreman(), p.at(moment).Add(5*time.Minute), thing{kit: hired.kit}, g.WeeklyOutside)
	}
	p.familiarise("2025-06-10 08:00", hired.id, gideon, crewOf("S1").names())
	p.metByS1()
}

func (p *player) metByS1() {
	chance, when, form, names := p.chance("hired truck"), p.at("2025-06-10 09:00"), training.DrillForm{}, crewOf("S1").names()
	for i, name := range names {
		form.Runs = append(form.Runs, p.run(turn{start: when, device: hired.id, method: g.PairKit, lead: name, second: names[(i+1)%len(names)], watching: gideon}, chance))
		when = when.Add(betweenRuns)
	}
	p.tell(when, "hired truck met", func() { enter(p, coordinator, p.Desk.RecordDrill, form) })
}
