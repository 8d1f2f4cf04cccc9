package rotation

import "groundhand/internal/groundhand"

// DrillDay is a crew on a half day with a drill: who is at work, who is away at the drill, and whether those left behind cover.
type DrillDay struct {
	Day  groundhand.Date
	Part string // "am" or "pm"
	Crew string
	// AtWork and Away are people; Away attend a session or lead one.
	AtWork, Away int
	Short        bool // below cover that day whether anybody drills or not
	StandsDown   bool // everybody at work is at a drill, so nobody is sent out
	Below        bool // below cover because of the drill: never so in a plan without faults
}

// DrillDays lists, for each half day on which a plan holds a session, the crews that send somebody to a drill or are below cover, by day,
// half and crew. Crews too few to be sent out that day are not listed.
func DrillDays(p Problem, plan Plan) []DrillDay {
	c := newChecker(p, plan)
	members, away := c.membersOf(), c.awayByDay()
	out := []DrillDay{}
	for _, d := range sortedDays(away) {
		for half, part := range []string{"am", "pm"} {
			if len(away[d][half]) == 0 {
				continue
			}
			for _, crew := range p.Crews {
				if day, is := c.drillDay(crew, members[crew.ID], d, away[d][half]); is {
					day.Part = part
					out = append(out, day)
				}
			}
		}
	}
	return out
}

func (c *checker) drillDay(crew Crew, members []Worker, d groundhand.Date, away map[string]bool) (DrillDay, bool) {
	present, sent := c.membersAtWork(crew, members, d)
	out := DrillDay{Day: d, Crew: crew.ID, AtWork: len(present), Short: !c.satisfies(crew, present, d)}
	var left []Worker
	for _, w := range present {
		if away[w.ID] {
			out.Away++
		} else {
			left = append(left, w)
		}
	}
	out.StandsDown = out.Away > 0 && len(left) == 0
	out.Below = out.Away > 0 && !out.Short && !out.StandsDown && !c.satisfies(crew, left, d)
	return out, sent && (out.Away > 0 || out.Short)
}
