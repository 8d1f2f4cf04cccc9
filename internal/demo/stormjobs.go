package demo

import (
	"fmt"
	"time"

	g "groundhand/internal/groundhand"
)

// stormRow is one piece of work on one or several days of January 2025.
type stormRow struct {
	crew        g.CrewID
	device      g.DeviceID
	first, last int // days of the month
	from, to    string
	aloft       int
	methods     []g.Method
	place       string
	mark        string // tells a second job of the same crew and day from the first
}

const (
	stormStart = "07:30"
	stormEnd   = "17:30"
)

// stormWork is all 62 jobs of the week.
var stormWork = []stormRow{
	{"V1", "A01", 20, 21, stormStart, stormEnd, 1, both, "Orchard Lane, poles down", ""},
	{"V1", "A02", 22, 22, stormStart, stormEnd, 1, both, "Saltpan Road", ""},
	{"V1", "A01", 23, 24, stormStart, stormEnd, 1, both, "Saltpan Road", ""},
	{"V2", "A04", 20, 24, stormStart, stormEnd, 1, both, "Quarry Road", ""},
	{"V3", "B01", 20, 24, stormStart, stormEnd, 1, both, "Tanner's Cross", ""},
	{"V3B", "B02", 20, 24, stormStart, stormEnd, 1, both, "Tanner's Cross, far side", ""},
	{"V4", "T15", 24, 24, "06:00", "18:00", 1, lone, "fault duty by day", ""},
	{"V5", "T17", 20, 21, "18:00", "06:00", 1, lone, "fault duty by night", ""},
	{"S1", "A05", 20, 24, stormStart, stormEnd, 1, both, "Stenholt Brae", ""},
	{"S2", "E21", 20, 22, stormStart, stormEnd, 1, both, "Harrow Street", ""},
	{"S2B", "E22", 21, 23, stormStart, stormEnd, 1, both, "Kiln Bank", ""},
	{"Q1", "A07", 20, 21, stormStart, stormEnd, 1, both, "Quillmere harbour", ""},
	{"Q2", "A08", 22, 23, stormStart, stormEnd, 1, both, "Sandgate", ""},
	{"D1", "A09", 20, 21, stormStart, stormEnd, 1, both, "Dray Hollow, upper valley", ""},
	{"M1", "A03", 20, 26, stormStart, stormEnd, 1, both, "Mill Ford", ""},
	{"M2", "A06", 21, 26, stormStart, stormEnd, 1, both, "Stenholt Moor", ""},
	{"M3", "T16", 22, 22, stormStart, "12:00", 2, both, "Cross Hands", ""},
	{"M3", "T16", 22, 22, "20:00", "02:00", 2, both, "Cross Hands, by night", "N"},
	{"M3", "T16", 23, 23, "12:00", "18:00", 1, both, "Cross Hands", ""},
	{"M3", "T16", 24, 24, stormStart, stormEnd, 1, both, "Weir End", ""},
	{"M3", "T16", 25, 26, stormStart, stormEnd, 2, both, "Weir End", ""},
	{"M4", "A02", 24, 26, stormStart, stormEnd, 1, both, "Lower Fold", ""},
}

// notSent are the jobs that were called off before departure.
var notSent = map[g.JobID]bool{"J-0121-V3B": true, "J-0124-V4": true}

// stormJobs books the week on its eve.
func (p *player) stormJobs() {
	when := p.at(stormEve).Add(90 * time.Minute)
	for _, w := range stormWork {
		for day := w.first; day <= w.last; day++ {
			job := w.on(day)
			job.booked = when.Format(clockLayout)
			when = when.Add(time.Minute)
			p.bookPast(job)
		}
	}
}

// on is the work on one day; what ends earlier than it begins ends on the next.
func (w stormRow) on(day int) pastJob {
	end := day
	if w.to < w.from {
		end++
	}
	id := g.JobID(fmt.Sprintf("J-01%02d-%s%s", day, w.crew, w.mark))
	return pastJob{id: id, crew: w.crew, device: w.device, start: fmt.Sprintf("2025-01-%02d %s", day, w.from), end: fmt.Sprintf("2025-01-%02d %s", end, w.to),
		aloft: w.aloft, methods: w.methods, place: w.place, briefed: !notSent[id]}
}
