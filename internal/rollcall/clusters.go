package rollcall

import (
	"cmp"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
)

// Cluster is the largest number of tickets of one crew and qualification that lapse close together.
type Cluster struct {
	Crew, Qualification string
	OneDay              Heap // on one day
	SixWeeks            Heap // in any 42 days
}

// Heap is tickets that lapse from one last valid day to another, both included. Of equal ones the earliest is given.
type Heap struct {
	Tickets  int
	From, To groundhand.Date // last valid days; zero when no ticket lapses
	Workers  []string        // whose tickets they are, sorted, each once
}

// ClustersOf are the clusters as things stand, if nobody renews anything, and after a plan, if nobody renews anything after it. Both look
// from the start of the window to a year past its end, and are sorted by crew and qualification.
type ClustersOf struct {
	Before, After []Cluster
}

// The stretch that is looked at: six weeks, and a year past the end of the window.
const (
	clusterDays   = 42
	clusterMonths = 12
)

// Clusters finds the clusters of a problem before and after a plan. A ticket that is renewed in time lapses only when the renewal does.
func Clusters(p rotation.Problem, plan rotation.Plan) ClustersOf {
	return StageClusters([]Stage{{Problem: p, Plan: plan, Through: p.End}})
}

// StageClusters is Clusters over all stages of a rotation.
func StageClusters(stages []Stage) ClustersOf {
	if len(stages) == 0 {
		return ClustersOf{}
	}
	first := stages[0].Problem
	horizon := stages[len(stages)-1].Through.AddMonths(clusterMonths)
	crews := map[string]string{}
	before, after := lapseDays{}, lapseDays{}
	for _, w := range first.Workers {
		crews[w.ID] = w.Crew
		for _, t := range w.Tickets {
			key := heldTicket{w.ID, t.Qualification, t.Device}
			before.add(key, t.ValidThrough)
			after.add(key, t.ValidThrough)
		}
	}
	for _, stage := range stages {
		for key, on := range renewals(stage.Problem, stage.Plan) {
			after.renew(key, on, goodUntil(stage.Problem, key.qualification, on))
		}
	}
	return ClustersOf{before.clusters(crews, first.Start, horizon), after.clusters(crews, first.Start, horizon)}
}

// lapseDays are the last valid days of each ticket on which it lapses.
type lapseDays map[heldTicket][]groundhand.Date

func (l lapseDays) add(key heldTicket, through groundhand.Date) {
	if through != 0 { // what was never held does not lapse
		l[key] = append(l[key], through)
	}
}

// renew takes the last day away that a renewal comes in time for, and adds its own.
func (l lapseDays) renew(key heldTicket, on, through groundhand.Date) {
	if n := len(l[key]); n > 0 && on <= l[key][n-1] {
		l[key] = l[key][:n-1]
	}
	l.add(key, through)
}

type lapsing struct {
	day    groundhand.Date
	worker string
}

func (l lapseDays) clusters(crews map[string]string, from, to groundhand.Date) []Cluster {
	type group struct{ crew, qualification string }
	groups := map[group][]lapsing{}
	for key, days := range l {
		for _, day := range days {
			if crew := crews[key.worker]; crew != "" && from <= day && day <= to {
				groups[group{crew, key.qualification}] = append(groups[group{crew, key.qualification}], lapsing{day, key.worker})
			}
		}
	}
	out := []Cluster{}
	for g, all := range groups {
		slices.SortFunc(all, func(a, b lapsing) int { return cmp.Or(cmp.Compare(a.day, b.day), cmp.Compare(a.worker, b.worker)) })
		out = append(out, Cluster{g.crew, g.qualification, largestHeap(all, 1), largestHeap(all, clusterDays)})
	}
	slices.SortFunc(out, func(a, b Cluster) int {
		return cmp.Or(cmp.Compare(a.Crew, b.Crew), cmp.Compare(a.Qualification, b.Qualification))
	})
	return out
}

// largestHeap finds the most tickets, sorted by day, within so many days.
func largestHeap(all []lapsing, days int) Heap {
	var best []lapsing
	for first, last := 0, 0; first < len(all); first++ {
		for last < len(all) && all[last].day < all[first].day.AddDays(days) {
			last++
		}
		if last-first > len(best) {
			best = all[first:last]
		}
	}
	if len(best) == 0 {
		return Heap{}
	}
	out := Heap{Tickets: len(best), From: best[0].day, To: best[len(best)-1].day}
	for _, b := range best {
		out.Workers = append(out.Workers, b.worker)
	}
	slices.Sort(out.Workers)
	out.Workers = slices.Compact(out.Workers)
	return out
}

// Largest is the largest of some clusters: on one day, and in any six weeks.
func Largest(all []Cluster) (oneDay, sixWeeks int) {
	for _, c := range all {
		oneDay, sixWeeks = max(oneDay, c.OneDay.Tickets), max(sixWeeks, c.SixWeeks.Tickets)
	}
	return oneDay, sixWeeks
}

// Beyond gives the clusters with more than so many tickets in six weeks: what remains where a rotation was to keep them apart.
func Beyond(all []Cluster, most int) []Cluster {
	return slices.DeleteFunc(slices.Clone(all), func(c Cluster) bool { return c.SixWeeks.Tickets <= most })
}

// RotationSound is what is wrong with a rotation as far as its crews go. Nothing in it says that a law is met or that people can be
// brought down: local rules and licensed practice come first.
type RotationSound struct {
	Faults   []rotation.Fault    // hard rules that the plan breaks
	Below    []rotation.DrillDay // crews below cover because their own people are at a drill
	Short    []rotation.DrillDay // crews below cover on a day with drills whether anybody drills or not
	Together []Cluster           // crews of which more than so many lapse in six weeks once the plan is carried out
	Unplaced []rotation.Choice   // due tickets that are not renewed, with why
}

// Sound looks whether in a plan no crew lapses together and none drops below cover because its own people are at a drill. Most is how many
// tickets of one crew and qualification may lapse in six weeks; 0: any number.
func Sound(p rotation.Problem, plan rotation.Plan, most int) (RotationSound, error) {
	out := RotationSound{Faults: rotation.Check(p, plan)}
	for _, d := range rotation.DrillDays(p, plan) {
		if d.Below {
			out.Below = append(out.Below, d)
		}
		if d.Short {
			out.Short = append(out.Short, d)
		}
	}
	if most > 0 {
		out.Together = Beyond(Clusters(p, plan).After, most)
	}
	if len(out.Faults) > 0 {
		return out, nil // what could not be placed is only known of a plan that holds
	}
	days := clusterDays
	if most == 0 {
		days = 0
	}
	var err error
	out.Unplaced, err = rotation.Unplaced(p, plan, most, days)
	return out, err
}
