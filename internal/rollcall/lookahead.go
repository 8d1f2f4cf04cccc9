package rollcall

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// LookAhead is who lapses in the days to come if nobody drills, as seen from the close of a day.
type LookAhead struct {
	On, Through  groundhand.Date
	RuleSetID    groundhand.RuleSetID
	Lapses       []Lapse        // by day, crew and worker
	Clusters     []LapseCluster // two or more people of a crew after the same day; largest first
	FirstBadDays []FirstBadDay  // by day and crew
}

// Lapse is one aerial-rescue line of a worker that is good through one of the days looked at and no longer.
type Lapse struct {
	WorkerID groundhand.WorkerID
	CrewID   groundhand.CrewID
	LineDay
}

// LapseCluster is people of one crew who lapse after the same day.
type LapseCluster struct {
	CrewID      groundhand.CrewID
	LastGoodDay groundhand.Date // see LineDay.GoodThrough
	Workers     []groundhand.WorkerID
	Of          int // people in the crew
}

// FirstBadDay is the first day on which fewer of a crew's people than the card asks for are current, on a control family, in the
// aerial-rescue practice that the rule set asks of them. It is there to plan drills by, so it may come early: who counts by another method
// alone is left out here, while the Company of that day counts them.
type FirstBadDay struct {
	CrewID   groundhand.CrewID
	FamilyID groundhand.FamilyID // empty for a crew that has none
	Day      groundhand.Date
}

// The fewest and most days that are looked ahead. Further ahead than a year and a bit everybody has lapsed who is good for a year.
const (
	fewestDays = 1
	mostDays   = 400
)

// LookAhead looks a number of days ahead of a day. Later practice is not seen and leave is not: it answers what happens if nobody drills.
// A stricter rule set that starts within those days is seen. An extension or a month of grace that only begins within them is not
// counted on.
func (r *Roll) LookAhead(ctx context.Context, on groundhand.Date, days int) (LookAhead, error) {
	if days < fewestDays || days > mostDays {
		return LookAhead{}, groundhand.Invalid("days", "Look %d to %d days ahead.", fewestDays, mostDays)
	}
	d, err := r.companyDay(ctx, on)
	if err != nil {
		return LookAhead{}, err
	}
	chunks := d.chunks()
	parts := make([]LookAhead, len(chunks))
	for i := range parts {
		parts[i].On, parts[i].Through = on, on.AddDays(days)
	}
	if err := d.each(ctx, chunks, func(i int, c loadedChunk) error { return c.lookAhead(&parts[i]) }); err != nil {
		return LookAhead{}, err
	}
	out := LookAhead{On: on, RuleSetID: d.set.ID, Through: on.AddDays(days)}
	for _, p := range parts {
		out.Lapses, out.FirstBadDays = append(out.Lapses, p.Lapses...), append(out.FirstBadDays, p.FirstBadDays...)
		out.Clusters = append(out.Clusters, p.Clusters...)
	}
	out.sort()
	return out, nil
}

func (l *LookAhead) sort() {
	slices.SortStableFunc(l.Lapses, func(a, b Lapse) int {
		return cmp.Or(cmp.Compare(a.GoodThrough(), b.GoodThrough()), cmp.Compare(a.CrewID, b.CrewID), cmp.Compare(a.WorkerID, b.WorkerID))
	})
	slices.SortStableFunc(l.Clusters, func(a, b LapseCluster) int {
		return cmp.Or(cmp.Compare(len(b.Workers), len(a.Workers)), cmp.Compare(a.LastGoodDay, b.LastGoodDay), cmp.Compare(a.CrewID, b.CrewID))
	})
	slices.SortStableFunc(l.FirstBadDays, func(a, b FirstBadDay) int { return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.CrewID, b.CrewID)) })
}

func (c loadedChunk) lookAhead(out *LookAhead) error {
	for _, crew := range c.crews {
		workers, err := c.workers(crew)
		if err != nil {
			return err
		}
		lapses := lapsesOf(workers, out.On, int(out.Through-out.On))
		out.Lapses = append(out.Lapses, lapses...)
		out.Clusters = append(out.Clusters, clusters(lapses, len(workers))...)
		if crew.Kind == groundhand.ReliefPool {
			continue // lends people and is not sent out
		}
		c.firstBadDays(crew, workers, out)
	}
	return nil
}

func lapsesOf(workers []WorkerDay, on groundhand.Date, days int) []Lapse {
	var out []Lapse
	for _, w := range workers {
		for _, line := range w.Near(on, days) {
			out = append(out, Lapse{w.WorkerID, w.CrewID, line})
		}
	}
	return out
}

// clusters gathers the people of one crew who lapse together.
func clusters(lapses []Lapse, of int) []LapseCluster {
	byDay := map[groundhand.Date][]groundhand.WorkerID{}
	for _, l := range lapses {
		if day := l.GoodThrough(); !slices.Contains(byDay[day], l.WorkerID) {
			byDay[day] = append(byDay[day], l.WorkerID)
		}
	}
	var out []LapseCluster
	for day, workers := range byDay {
		if len(workers) > 1 {
			out = append(out, LapseCluster{CrewID: lapses[0].CrewID, LastGoodDay: day, Workers: workers, Of: of})
		}
	}
	return out
}

// firstBadDays asks of each control family of a crew when fewer of its people are current than the card asks for: the day after the n-th
// latest last day. A crew that has too few on the day itself has that day.
func (c loadedChunk) firstBadDays(crew groundhand.Crew, members []WorkerDay, out *LookAhead) {
	for _, family := range familiesOf(crew) {
		good := make([]groundhand.Date, len(members))
		for i, w := range members {
			good[i] = c.rescuerThrough(w, groundhand.FamilyID(family))
		}
		if bad := firstShort(good, c.day.cover.CrewRescuers, out.On); bad <= out.Through {
			out.FirstBadDays = append(out.FirstBadDays, FirstBadDay{crew.ID, groundhand.FamilyID(family), bad})
		}
	}
}

// firstShort is the first day, no earlier than on, on which fewer than least of some people are left; good are their last days.
func firstShort(good []groundhand.Date, least int, on groundhand.Date) groundhand.Date {
	if least > len(good) {
		return on
	}
	slices.SortFunc(good, func(a, b groundhand.Date) int { return cmp.Compare(b, a) })
	return max(on, good[least-1]+1)
}

// noEnd is after every day that is looked at.
const noEnd = groundhand.Date(1 << 30)

// rescuerThrough is the last day through which a member is current on a control family in what the rule set asks of them, and counts as a
// rescuer by it; zero if not on the day itself.
func (c loadedChunk) rescuerThrough(w WorkerDay, family groundhand.FamilyID) groundhand.Date {
	var through groundhand.Date
	limited := c.day.cover.GradeLimits[gradeWord(gradeOn(c.roster.grades[w.WorkerID], c.day.on))]
	for _, l := range w.Aerial() {
		state, holds := stateOf(l.Standing)
		of := l.FamilyID == "" || l.FamilyID == family
		if !holds || !of || !countsAs(readiness.Role(l.Role), state, limited, c.day.cover) {
			continue
		}
		if l.ChangesOn == 0 {
			return noEnd
		}
		through = max(through, l.GoodThrough())
	}
	return through
}

// Near lists the aerial-rescue lines that still hold and are good through one of so many days after a day, that day included, but no longer.
func (w WorkerDay) Near(on groundhand.Date, days int) []LineDay {
	return slices.DeleteFunc(w.Aerial(), func(l LineDay) bool {
		return !l.Holds() || l.ChangesOn == 0 || l.GoodThrough() > on.AddDays(days)
	})
}
