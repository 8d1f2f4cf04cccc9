package rollcall

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/groundhand"
)

// LookAhead is who lapses in the days to come if nobody drills, as seen from the close of a day.
type LookAhead struct {
	On, Through  groundhand.Date
	RuleSetID    groundhand.RuleSetID
	Lapses       []Lapse        // by day, crew and worker
	Clusters     []LapseCluster // two or more people of a crew after the same day; largest first
	FirstBadDays []FirstBadDay  // by day and crew
}

// Lapse is one aerial-rescue line of a worker whose last good day falls in the days looked at.
type Lapse struct {
	WorkerID groundhand.WorkerID
	CrewID   groundhand.CrewID
	LineDay
}

// LapseCluster is people of one crew who lapse after the same day.
type LapseCluster struct {
	CrewID      groundhand.CrewID
	LastGoodDay groundhand.Date
	Workers     []groundhand.WorkerID
	Of          int // people in the crew
}

// FirstBadDay is the first day on which a crew has fewer current rescuers than the card asks for, on a control family.
type FirstBadDay struct {
	CrewID   groundhand.CrewID
	FamilyID groundhand.FamilyID
	Day      groundhand.Date
}

// LookAhead looks a number of days ahead of a day. Later practice is not seen and leave is not: it answers what happens if nobody drills.
func (r *Roll) LookAhead(ctx context.Context, on groundhand.Date, days int) (LookAhead, error) {
	if days < 1 || days > 400 {
		return LookAhead{}, groundhand.Invalid("days", "Look 1 to 400 days ahead.")
	}
	c, err := r.Company(ctx, on)
	if err != nil {
		return LookAhead{}, err
	}
	return c.lookAhead(days), nil
}

func (c Company) lookAhead(days int) LookAhead {
	out := LookAhead{On: c.On, RuleSetID: c.RuleSetID, Through: c.On.AddDays(days)}
	for _, w := range c.Workers {
		for _, line := range w.Near(c.On, days) {
			out.Lapses = append(out.Lapses, Lapse{w.WorkerID, w.CrewID, line})
		}
	}
	slices.SortStableFunc(out.Lapses, func(a, b Lapse) int {
		return cmp.Or(cmp.Compare(a.LastGoodDay, b.LastGoodDay), cmp.Compare(a.CrewID, b.CrewID), cmp.Compare(a.WorkerID, b.WorkerID))
	})
	out.Clusters = c.clusters(out.Lapses)
	for _, crew := range c.Crews {
		out.FirstBadDays = append(out.FirstBadDays, c.firstBadDays(crew, out.Through)...)
	}
	slices.SortStableFunc(out.FirstBadDays, func(a, b FirstBadDay) int { return cmp.Compare(a.Day, b.Day) })
	return out
}

// clusters gathers who lapses together. Lapses come sorted by day, crew and worker, so neighbours belong together.
func (c Company) clusters(lapses []Lapse) []LapseCluster {
	size := map[groundhand.CrewID]int{}
	for _, w := range c.Workers {
		size[w.CrewID]++
	}
	var out []LapseCluster
	for i, l := range lapses {
		if i == 0 || lapses[i-1].CrewID != l.CrewID || lapses[i-1].LastGoodDay != l.LastGoodDay {
			out = append(out, LapseCluster{CrewID: l.CrewID, LastGoodDay: l.LastGoodDay, Of: size[l.CrewID]})
		}
		last := &out[len(out)-1]
		if !slices.Contains(last.Workers, l.WorkerID) {
			last.Workers = append(last.Workers, l.WorkerID)
		}
	}
	out = slices.DeleteFunc(out, func(k LapseCluster) bool { return len(k.Workers) < 2 })
	slices.SortStableFunc(out, func(a, b LapseCluster) int { return -cmp.Compare(len(a.Workers), len(b.Workers)) })
	return out
}

// firstBadDays asks of each control family of a crew when the number of current rescuers falls below what the card asks for: the day after
// the n-th latest last good day. A crew that is below on the day itself has that day.
func (c Company) firstBadDays(crew CrewDay, through groundhand.Date) []FirstBadDay {
	var out []FirstBadDay
	for _, f := range crew.Families {
		var good []groundhand.Date
		for _, w := range c.Workers {
			if w.CrewID == crew.Crew.ID {
				good = append(good, w.goodUntil(f.FamilyID))
			}
		}
		slices.SortFunc(good, func(a, b groundhand.Date) int { return -cmp.Compare(a, b) })
		bad := c.On
		if f.Least > 0 && len(good) >= f.Least && good[f.Least-1] >= c.On {
			bad = good[f.Least-1] + 1
		}
		if f.Least > 0 && bad <= through {
			out = append(out, FirstBadDay{crew.Crew.ID, f.FamilyID, bad})
		}
	}
	return out
}

// goodUntil is the latest last good day of the lines that hold in a control family; zero for none.
func (w WorkerDay) goodUntil(family groundhand.FamilyID) groundhand.Date {
	var until groundhand.Date
	for _, l := range w.Aerial() {
		if l.Holds() && (l.FamilyID == family || l.FamilyID == "") {
			until = max(until, l.LastGoodDay)
		}
	}
	return until
}

// Near lists the aerial-rescue lines that still hold and whose last good day is within so many days after a day, that day included.
func (w WorkerDay) Near(on groundhand.Date, days int) []LineDay {
	return slices.DeleteFunc(w.Aerial(), func(l LineDay) bool {
		return !l.Holds() || l.LastGoodDay == 0 || l.LastGoodDay > on.AddDays(days)
	})
}
