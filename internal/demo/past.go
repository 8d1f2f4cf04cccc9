package demo

import (
	"time"

	g "groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// pastJob is work of earlier days. A job that was briefed left with its kit seen on the device and found to suit.
type pastJob struct {
	id         g.JobID
	crew       g.CrewID
	device     g.DeviceID
	start, end string
	aloft      int
	methods    []g.Method
	place      string
	booked     string // empty: the day before at two
	briefed    bool
	rules      g.RuleSetID // a client's; empty: our own
}

// pastJobs are those that a story hangs on; the jobs of the storm are in stormjobs.go.
var pastJobs = []pastJob{
	{id: "J-1105-V5", crew: "V5", device: "T17", start: "2024-11-05 18:00", end: "2024-11-06 06:00", aloft: 1, methods: lone, place: "fault duty by night"},
	{id: "J-1113-V5", crew: "V5", device: "T17", start: "2024-11-13 18:00", end: "2024-11-14 06:00", aloft: 1, methods: lone, place: "fault duty by night", briefed: true},
	{id: "J-1118-S3", crew: "S3", device: "A06", start: "2024-11-18 07:00", end: "2024-11-18 19:00", aloft: 1, methods: lone, place: "fault duty, Stenholt", briefed: true},
	{id: "J-0308-V5", crew: "V5", device: "T17", start: "2025-03-08 18:00", end: "2025-03-09 06:00", aloft: 1, methods: lone, place: "fault duty by night", briefed: true},
	// The kit of this truck is out of service since the day before.
	{id: "J-0403-D1", crew: "D1", device: "A09", start: "2025-04-03 07:00", end: "2025-04-03 15:30", aloft: 1, methods: both, place: "Dray Hollow, mill line"},
	{id: "J-0408-Q1", crew: "Q1", device: "A08", start: "2025-04-08 07:00", end: "2025-04-08 15:30", aloft: 1, methods: both, place: "Sandgate", briefed: true},
	// Two of S1 are away; whoever S2 would lend is missing there.
	{id: "J-0424-S1", crew: "S1", device: "A05", start: "2025-04-24 07:00", end: "2025-04-24 15:30", aloft: 1, methods: both, place: "Stenholt Brae", briefed: true},
	{id: "J-0424-S2", crew: "S2", device: "E21", start: "2025-04-24 07:00", end: "2025-04-24 15:30", aloft: 2, methods: both, place: "Harrow Street", briefed: true},
	// The rope of this kit is too short for this truck.
	{id: "J-0506-S2", crew: "S2", device: "T18", start: "2025-05-06 07:00", end: "2025-05-06 15:30", aloft: 1, methods: both, place: "Kiln Bank", briefed: true},
	// The hired truck: nobody knows its controls yet; on the third day S1 has run on them.
	{id: "J-0609-S1", crew: "S1", device: hiredTruck, start: "2025-06-09 13:00", end: "2025-06-09 15:30", aloft: 1, methods: both, place: "Stenholt Brae", booked: "2025-06-09 10:30"},
	{id: "J-0611-S1", crew: "S1", device: hiredTruck, start: "2025-06-11 07:00", end: "2025-06-11 15:30", aloft: 1, methods: both, place: "Stenholt Brae", briefed: true},
}

// past notes the jobs of earlier days.
func (p *player) past() {
	for _, j := range pastJobs {
		p.bookPast(j)
	}
	p.withoutOwnTruck()
}

// Q1 is without A08 from the first of these days to the last and goes out with E23, whose controls it was not shown before Tue 12 Nov.
const (
	truckGone = "2024-11-05"
	truckBack = "2024-11-22"
	shownDay  = "2024-11-12"
)

func (p *player) withoutOwnTruck() {
	for day := g.MustDate(truckGone); day <= g.MustDate(truckBack); day++ {
		if workday(day) != day || day == g.MustDate(shownDay) {
			continue
		}
		p.bookPast(pastJob{id: g.JobID("J-" + day.String()[5:7] + day.String()[8:] + "-Q1"), crew: "Q1", device: "E23", start: day.String() + " 07:00",
			end: day.String() + " 15:30", aloft: 1, methods: both, place: "Quillmere, coast road", briefed: day > g.MustDate(shownDay)})
	}
	p.familiarise(shownDay+" 11:00", "E23", gideon, crewOf("Q1").names())
}

// familiarise notes that people were shown the lower controls of a device and worked them.
func (p *player) familiarise(start string, device g.DeviceID, watching string, names []string) {
	r := training.RunForm{When: training.When{At: p.instant(start)}, Method: g.Familiarisation, DeviceID: device, Announced: true, Complete: true,
		WorkClothes: g.Yes, WatchedBy: p.worker(watching)}
	for _, name := range names {
		r.Parts = append(r.Parts, training.PartForm{WorkerID: p.worker(name), Role: g.Second})
	}
	p.tellAt(p.at(start).Add(40*time.Minute), func() {
		enter(p, coordinator, p.Desk.RecordDrill, training.DrillForm{Runs: []training.RunForm{r}})
	})
}

// bookPast notes one job and, a quarter of an hour before it leaves, the foreman's answers.
func (p *player) bookPast(j pastJob) {
	form := training.JobForm{CrewID: j.crew, StartAt: p.instant(j.start), EndAt: p.instant(j.end), DeviceID: j.device, Aloft: j.aloft, Near50V: g.Yes,
		SiteKind: g.FieldSite, CallPlan: g.Yes, Place: j.place, RuleSetID: j.rules}
	for _, m := range j.methods {
		form.Methods = append(form.Methods, string(m))
	}
	booked := p.at(j.start[:10]+" 14:00").AddDate(0, 0, -1)
	if j.booked != "" {
		booked = p.at(j.booked)
	}
	p.tellAt(booked, func() {
		p.IDs.call(string(j.id))
		enter(p, naledi, p.Desk.BookJob, form)
	})
	if j.briefed {
		p.brief(j)
	}
}

func (p *player) brief(j pastJob) {
	const before = 15 * time.Minute
	form := training.BriefingForm{JobID: j.id, KitOnDevice: g.Yes, KitSuits: g.Yes}
	p.tellAt(p.at(j.start).Add(-before), func() { enter(p, crewOf(j.crew).foreman(), p.Desk.Brief, form) })
}
