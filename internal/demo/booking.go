package demo

import (
	"fmt"
	"slices"
	"time"

	g "groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// jobs are what is booked for Thu 12 Jun 2025. All near energised parts, in the field unless said.
var jobs = []struct {
	id         g.JobID
	crew       g.CrewID
	start, end string
	device     g.DeviceID // empty: not decided yet
	aloft      int
	methods    []g.Method
	site       g.SiteKind
	callPlan   g.Answer
	place      string
}{
	{"J-0612-01", "V1", "2025-06-12 07:00", "2025-06-12 15:30", "A01", 1, both, g.FieldSite, g.Yes, "Orchard Lane, spans 4 to 9"},
	{"J-0612-02", "V3", "2025-06-12 07:00", "2025-06-12 15:30", "B01", 1, both, g.FieldSite, g.Yes, "Tanner's Cross, new poles"},
	{"J-0612-03", "V4", "2025-06-12 06:00", "2025-06-12 18:00", "T15", 1, lone, g.FieldSite, g.No, "fault duty by day, west of the river"},
	{"J-0612-04", "V2", "2025-06-12 06:00", "2025-06-12 14:00", "A04", 2, both, g.FieldSite, g.Yes, "Quarry Road, double circuit"},
	{"J-0612-05", "V5", "2025-06-12 18:00", "2025-06-13 06:00", "T17", 1, lone, g.FieldSite, g.Yes, "fault duty by night"},
	{"J-0612-06", "V6", "2025-06-12 07:30", "2025-06-12 15:30", "T16", 1, both, g.FixedSite, g.Yes, "Millbrook substation, bay 3"},
	{"J-0612-07", "S1", "2025-06-12 07:00", "2025-06-12 15:30", "A05", 1, both, g.FieldSite, g.Yes, "Stenholt Brae"},
	{"J-0612-08", "S2", "2025-06-12 07:00", "2025-06-12 15:30", "", 1, both, g.FieldSite, g.Yes, "Harrow Street, device not decided yet"},
	{"J-0612-09", "S3", "2025-06-12 07:00", "2025-06-12 19:00", "A06", 1, lone, g.FieldSite, g.Yes, "fault duty, Stenholt"},
	{"J-0612-10", "Q1", "2025-06-12 07:00", "2025-06-12 15:30", "A07", 1, both, g.FieldSite, g.Yes, "Quillmere harbour"},
	{"J-0612-11", "Q2", "2025-06-12 07:00", "2025-06-12 15:30", "A08", 1, both, g.FieldSite, g.Yes, "Sandgate"},
	{"J-0612-12", "Q3", "2025-06-12 07:00", "2025-06-12 15:30", "B04", 1, both, g.FieldSite, g.Yes, "Quillmere, new poles at the school"},
	{"J-0612-13", "D1", "2025-06-12 07:30", "2025-06-12 15:30", "A09", 1, both, g.FieldSite, g.Yes, "Dray Hollow, upper valley, radio from the ridge"},
	{"J-0612-14", "C1", "2025-06-12 07:00", "2025-06-12 15:30", "E25", 1, both, g.FieldSite, g.Yes, "Aldersett bypass"},
	{"J-0612-15", "C2", "2025-06-12 07:00", "2025-06-12 15:30", "T24", 1, both, g.FieldSite, g.Yes, "Aldersett, west ridge"},
	{"J-0612-16", "C3", "2025-06-12 07:00", "2025-06-12 15:30", "B05", 1, both, g.FieldSite, g.Yes, "Aldersett, low meadow"},
}

// bookings notes what lies ahead on the evening of the demonstration.
func (p *player) bookings() {
	for i, j := range jobs {
		form := training.JobForm{CrewID: j.crew, StartAt: p.instant(j.start), EndAt: p.instant(j.end), DeviceID: j.device, Aloft: j.aloft,
			Near50V: g.Yes, SiteKind: j.site, CallPlan: j.callPlan, Place: j.place}
		for _, m := range j.methods {
			form.Methods = append(form.Methods, string(m))
		}
		p.tellAt(p.at("2025-06-10 14:00").Add(time.Duration(i)*4*time.Minute), func() {
			p.IDs.call(string(j.id))
			enter(p, petra, p.Desk.BookJob, form)
		})
	}
	p.tellAt(p.at("2025-05-21 10:00"), func() {
		enter(p, coordinator, p.Desk.BookSession, p.sessionForm(practice{start: "2025-06-24 08:00", end: "2025-06-24 12:00", device: "A04", assessor: gideon,
			methods: both, people: []string{"Dario Pellgrove", "Callum Reyvers", "Yusuf Demirkol-Ash", "Saoirse Valkonen"}}))
	})
}

// shifts are the hours in which the assessors can watch a drill in the week of the demonstration.
func (p *player) shifts() {
	for _, s := range []struct {
		name, from, to string
		yard           g.YardID
		first, last    int // days of June 2025
	}{
		{gideon, "07:30", "16:00", varrow, 9, 9}, {gideon, "07:30", "16:00", stenholt, 10, 10}, {gideon, "07:30", "16:00", varrow, 11, 13},
		{sanna, "08:00", "16:30", aldersett, 9, 11}, {sanna, "08:00", "16:30", quillmere, 12, 13},
		{tomasz, "05:00", "13:00", varrow, 12, 12}, {grainne, "07:00", "15:30", quillmere, 9, 13},
	} {
		for day := s.first; day <= s.last; day++ {
			date := fmt.Sprintf("2025-06-%02d ", day)
			form := training.ShiftForm{WorkerID: p.worker(s.name), YardID: s.yard, FromAt: p.instant(date + s.from), ToAt: p.instant(date + s.to)}
			p.tellAt(p.at("2025-06-06 15:00"), func() { enter(p, coordinator, p.Desk.PlanShift, form) })
		}
	}
}

// offers are the drills that could be held every month of the coming year: in which week of it, where, on what.
var offers = []struct {
	week     int // 1 to 4
	weekday  time.Weekday
	device   g.DeviceID
	assessor string
	methods  []g.Method
	every    int // months
}{
	{1, time.Tuesday, "A01", gideon, both, 1}, {3, time.Tuesday, "A01", gideon, both, 1},
	{2, time.Tuesday, "B01", sanna, both, 1},
	{2, time.Wednesday, "T15", sanna, allThree, 1}, {4, time.Wednesday, "T15", sanna, allThree, 1},
	{2, time.Thursday, "A05", gideon, allThree, 1}, {3, time.Thursday, "E21", gideon, both, 1},
	{4, time.Thursday, "A07", gideon, both, 2},
	{3, time.Wednesday, "B04", sanna, both, 3}, {2, time.Friday, "A09", gideon, both, 3},
	{4, time.Tuesday, "E25", gideon, both, 3}, {3, time.Friday, "T24", sanna, both, 3}, {4, time.Friday, "B05", sanna, both, 3},
}

// Rotations asks for the drills to come, in two plans because a plan reaches no further than one renewal: the crews' yearly practice to
// June 2026, and the lone method of the crews of two, which is asked every six months, to December.
func Rotations(c Cast) []training.RotationForm {
	return []training.RotationForm{
		rotationOf(c, "yearly practice", "2026-06-11", g.PairKit),
		rotationOf(c, "lone method", "2025-12-11", g.LoneKit),
	}
}

func rotationOf(c Cast, name, end string, m g.Method) training.RotationForm {
	form := training.RotationForm{Name: name, StartOn: g.MustDate("2025-06-12"), EndOn: g.MustDate(end), Methods: g.List{string(m)}, Holidays: Holidays(), Seed: 1}
	for month := range 12 {
		for _, o := range offers {
			d := deviceOf(o.device)
			day := weekdayOf(g.NewDate(2025, time.July+time.Month(month), 1), o.week, o.weekday)
			if month%o.every != 0 || !slices.Contains(o.methods, m) || day > form.EndOn {
				continue
			}
			form.Slots = append(form.Slots, training.SlotForm{ID: day.String() + "-" + string(d.id), On: day, Part: "am", YardID: d.yard, FamilyID: d.family,
				DeviceID: d.id, AssessorID: c.Workers[o.assessor], Methods: g.List{string(m)}, Seats: 6, MaxRuns: 12, Minutes: 240})
		}
	}
	return form
}

// Holidays are the days of the coming year on which nobody works.
func Holidays() []g.Date {
	var out []g.Date
	for _, day := range []string{"2025-08-04", "2025-10-27", "2025-12-25", "2025-12-26", "2026-01-01", "2026-02-02", "2026-03-17", "2026-04-06", "2026-05-04", "2026-06-01"} {
		out = append(out, g.MustDate(day))
	}
	return out
}

// weekdayOf is the first, second, … such weekday of the month that begins on first.
func weekdayOf(first g.Date, week int, weekday time.Weekday) g.Date {
	for first.Weekday() != weekday {
		first++
	}
	return first.AddDays(7 * (week - 1))
}
