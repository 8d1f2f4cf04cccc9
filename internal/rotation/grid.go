package rotation

import "slices"

// none marks a missing index.
const none = -1

// grid is a problem turned into numbers: workers, tickets, crews and slots by position, days counted from the start of the window.
type grid struct {
	p       Problem
	ids     names
	floor   *floor // once asked for
	days    int
	words   int // of a day set
	workDay []bool

	due     int // number of due tickets
	workers []workerRow
	tickets []ticketRow
	crews   []crewRow
	slots   []slotRow
	quals   []Qualification

	travel   [][]int // between yards, one way; none: not reachable
	offers   map[offer][]int
	leaders  []int // worker that an instructor is, or none
	trucks   int
	ledSlots [][]int  // by worker: usable slots that he would lead
	stagger  *Stagger // nil: none
	certain  []daySet // by crew: days short in every plan, once asked for
	costUnit float64  // largest cost of a usable slot, so that weights do not depend on the unit of cost
}

type workerRow struct {
	crew, yard int
	tickets    []int
	atWork     daySet
	free       daySet
	worked     []int32 // worked[d]: days at work before day d
}

type ticketRow struct {
	worker, qual int
	device       string
	valid        int // last valid day; may lie outside the window
	earliest     int
	aim          int
	due          bool
	kept         int   // slot where an older plan renews it, or none
	never        int   // lapsed days when it is not renewed
	least        int   // lapsed days when it is renewed at its first slot, or never if there is none
	first        int   // first eligible slot, or none
	choices      []int // eligible slots that the planner looks at, by day
}

type crewRow struct {
	members []int
	rules   []ruleRow
	need    int // greatest AtLeast
	out     daySet
}

type ruleRow struct {
	atLeast int
	tickets [][]int // by member: the tickets that count
}

type slotRow struct {
	day, yard, leader, instructor, truck int
	half                                 uint8
	device                               string
	quals                                []int
	seats, runs, minutes, cost           int
	aside                                AsideReason // empty: usable
	callers                              []int       // due tickets that have it among their choices
}

// offer groups slots by what they renew; any is the group of all slots of a qualification, which a ticket without device may use.
type offer struct {
	qual   int
	device string
	any    bool
}

func newGrid(p Problem) *grid {
	g := &grid{p: p, days: int(p.End-p.Start) + 1, quals: p.Qualifications}
	g.words = (g.days + 63) / 64
	ids := p.declare(newForm())
	g.ids = ids
	g.fillDays()
	g.fillTravel(ids)
	g.fillWorkers(ids)
	g.fillCrews(ids)
	g.fillSlots(ids)
	g.fillChoices()
	return g
}

func (g *grid) fillDays() {
	g.workDay = make([]bool, g.days)
	for d := range g.workDay {
		date := g.p.Start.AddDays(d)
		g.workDay[d] = g.p.listsWeekday(date) && !slices.Contains(g.p.Holidays, date)
	}
}

func (g *grid) fillTravel(ids names) {
	n := len(g.p.Yards)
	g.travel = make([][]int, n)
	for i := range g.travel {
		g.travel[i] = slices.Repeat([]int{none}, n)
		g.travel[i][i] = 0
	}
	for _, t := range g.p.Travel {
		a, b := ids.yards[t.From], ids.yards[t.To]
		if a != b {
			g.travel[a][b], g.travel[b][a] = t.Minutes, t.Minutes
		}
	}
}

func (g *grid) fillWorkers(ids names) {
	for i, w := range g.p.Workers {
		row := workerRow{crew: index(ids.crews, w.Crew), yard: ids.yards[w.Yard], atWork: g.newDays(), free: g.newDays()}
		for d, work := range g.workDay {
			if work {
				row.atWork.set(d)
			}
		}
		g.clear(row.atWork, w.Leave)
		copy(row.free, row.atWork)
		g.clear(row.free, w.Standby)
		row.worked = row.atWork.prefix(g.days)
		for _, t := range w.Tickets {
			row.tickets = append(row.tickets, len(g.tickets))
			g.tickets = append(g.tickets, g.ticketRow(i, ids.qualifications[t.Qualification], t, row.worked))
		}
		g.workers = append(g.workers, row)
	}
}

func (g *grid) ticketRow(worker, qual int, t Ticket, worked []int32) ticketRow {
	valid := -1
	if !t.ValidThrough.IsZero() {
		valid = int(t.ValidThrough - g.p.Start)
	}
	row := ticketRow{kept: none, worker: worker, qual: qual, device: t.Device, valid: valid, first: none,
		aim: valid - g.quals[qual].AimDaysBefore, due: valid < g.days-1}
	if !t.Earliest.IsZero() {
		row.earliest = max(0, int(t.Earliest-g.p.Start))
	}
	row.never = lapsedBetween(worked, valid, g.days-1)
	row.least = row.never
	return row
}

// lapsedBetween counts the worked days after the last valid day up to and with the day of renewal.
func lapsedBetween(worked []int32, valid, renewed int) int {
	from, to := max(0, valid+1), min(renewed+1, len(worked)-1)
	if to <= from {
		return 0
	}
	return int(worked[to] - worked[from])
}

func (g *grid) clear(set daySet, stretches []Stretch) {
	for _, s := range stretches {
		from, to := max(0, int(s.From-g.p.Start)), min(g.days-1, int(s.To-g.p.Start))
		for d := from; d <= to; d++ {
			set.unset(d)
		}
	}
}

func (g *grid) fillCrews(ids names) {
	g.crews = make([]crewRow, len(g.p.Crews))
	for i := range g.workers {
		if c := g.workers[i].crew; c != none {
			g.crews[c].members = append(g.crews[c].members, i)
		}
	}
	for i, c := range g.p.Crews {
		row := &g.crews[i]
		for _, r := range c.Cover {
			row.need = max(row.need, r.AtLeast)
			row.rules = append(row.rules, g.ruleRow(row.members, c.Device, r, ids))
		}
		row.out = g.outDays(row)
	}
}

func (g *grid) ruleRow(members []int, device string, r CoverRule, ids names) ruleRow {
	row := ruleRow{atLeast: r.AtLeast}
	for _, w := range members {
		var count []int
		for _, t := range g.workers[w].tickets {
			id := g.quals[g.tickets[t].qual].ID
			if slices.Contains(r.AnyOf, id) && (g.tickets[t].device == "" || g.tickets[t].device == device) {
				count = append(count, t)
			}
		}
		row.tickets = append(row.tickets, count)
	}
	return row
}

func (g *grid) outDays(c *crewRow) daySet {
	if c.need > len(c.members) {
		return g.newDays()
	}
	sets := make([]daySet, len(c.members))
	for i, w := range c.members {
		sets[i] = g.workers[w].atWork
	}
	return newThreshold(g.words, c.need).of(sets, g.fullDays())
}

func index(m map[string]int, id string) int {
	if i, ok := m[id]; ok {
		return i
	}
	return none
}
