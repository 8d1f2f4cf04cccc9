package rotation

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/groundhand"
)

// size bounds a random problem.
type size struct{ days, workers, crews, slots, tickets, pins int }

var (
	tiny  = size{days: 12, workers: 3, crews: 1, slots: 2, tickets: 1, pins: 2}
	small = size{days: 30, workers: 8, crews: 3, slots: 8, tickets: 3, pins: 3}
)

// problems draws random problems around 29 February 2028, whose parts often get in each other's way.
func problems(most size) *rapid.Generator[Problem] {
	return rapid.Custom(func(t *rapid.T) Problem {
		p := blank()
		p.Start = groundhand.MustDate("2028-02-21").AddDays(rapid.IntRange(0, 3).Draw(t, "start"))
		p.End = p.Start.AddDays(rapid.IntRange(4, most.days).Draw(t, "days"))
		p.VisitMinutes = rapid.IntRange(0, 40).Draw(t, "visit")
		p.Qualifications[0].AimDaysBefore = rapid.IntRange(0, 9).Draw(t, "aim")
		if rapid.Bool().Draw(t, "island") {
			p.Travel = nil
		}
		for i := range rapid.IntRange(0, most.crews).Draw(t, "crews") {
			p.Crews = append(p.Crews, drawCrew(t, i))
		}
		for i := range rapid.IntRange(1, most.workers).Draw(t, "workers") {
			p.Workers = append(p.Workers, drawWorker(t, p, i, most))
		}
		if rapid.IntRange(0, 2).Draw(t, "leads") == 0 {
			p.Instructors[0].Worker = rapid.SampledFrom(p.Workers).Draw(t, "leader").ID
		}
		for i := range rapid.IntRange(1, most.slots).Draw(t, "slots") {
			p.Slots = append(p.Slots, drawSlot(t, p, i))
		}
		for range rapid.IntRange(0, most.pins).Draw(t, "pins") {
			p.Pinned = append(p.Pinned, drawPin(t, p))
		}
		return p
	})
}

func drawCrew(t *rapid.T, i int) Crew {
	c := Crew{ID: fmt.Sprintf("C%d", i), Yard: "Y1", Device: rapid.SampledFrom([]string{"", "boom", "boom"}).Draw(t, "device")}
	for range rapid.IntRange(0, 2).Draw(t, "rules") {
		anyOf := rapid.SampledFrom([][]string{{"two", "lone"}, {"lone"}, {"aid"}}).Draw(t, "any of")
		c.Cover = append(c.Cover, CoverRule{anyOf, rapid.IntRange(1, 3).Draw(t, "at least")})
	}
	return c
}

func drawWorker(t *rapid.T, p Problem, i int, most size) Worker {
	w := Worker{ID: fmt.Sprintf("W%d", i), Yard: rapid.SampledFrom([]string{"Y1", "Y1", "Y2"}).Draw(t, "yard")}
	if len(p.Crews) > 0 && rapid.IntRange(0, 4).Draw(t, "in a crew") > 0 {
		w.Crew = rapid.SampledFrom(p.Crews).Draw(t, "crew").ID
	}
	quals := rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"two", "lone", "aid"}), 0, most.tickets, rapid.ID[string]).Draw(t, "tickets")
	for _, q := range quals {
		one := Ticket{Qualification: q}
		if rapid.IntRange(0, 5).Draw(t, "held") > 0 {
			one.ValidThrough = p.Start.AddDays(rapid.IntRange(-3, most.days+2).Draw(t, "valid"))
		}
		if q != "aid" && rapid.Bool().Draw(t, "on a device") {
			one.Device = "boom"
		}
		one.Earliest = p.Start.AddDays(rapid.IntRange(-2, 4).Draw(t, "earliest"))
		w.Tickets = append(w.Tickets, one)
	}
	w.Leave = drawStretch(t, p, most, "leave")
	w.Standby = drawStretch(t, p, most, "standby")
	return w
}

func drawStretch(t *rapid.T, p Problem, most size, label string) []Stretch {
	if rapid.IntRange(0, 2).Draw(t, label) > 0 {
		return nil
	}
	from := p.Start.AddDays(rapid.IntRange(-2, most.days).Draw(t, label+" from"))
	return []Stretch{{from, from.AddDays(rapid.IntRange(0, 6).Draw(t, label+" days"))}}
}

func drawSlot(t *rapid.T, p Problem, i int) Slot {
	s := Slot{ID: fmt.Sprintf("S%d", i), Date: p.Start.AddDays(rapid.IntRange(-1, int(p.End-p.Start)+1).Draw(t, "day")),
		Part:       rapid.SampledFrom([]string{"am", "pm", "day"}).Draw(t, "part"),
		Yard:       rapid.SampledFrom([]string{"Y1", "Y1", "Y2"}).Draw(t, "at"),
		Device:     rapid.SampledFrom([]string{"boom", "boom", ""}).Draw(t, "slot device"),
		Instructor: rapid.SampledFrom([]string{"I1", "I2"}).Draw(t, "instructor"),
		Truck:      rapid.SampledFrom([]string{"", "", "T1"}).Draw(t, "truck"),
		Seats:      rapid.IntRange(1, 4).Draw(t, "seats"), MaxRuns: rapid.IntRange(0, 5).Draw(t, "runs"),
		Minutes: 60 * rapid.IntRange(1, 4).Draw(t, "hours"), Cost: rapid.IntRange(0, 2).Draw(t, "cost")}
	s.Qualifications = rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"two", "lone", "aid"}), 1, 3, rapid.ID[string]).Draw(t, "offers")
	return s
}

// drawPin draws a pin that may well be impossible.
func drawPin(t *rapid.T, p Problem) Pin {
	s, w := rapid.SampledFrom(p.Slots).Draw(t, "pinned slot"), rapid.SampledFrom(p.Workers).Draw(t, "pinned worker")
	pin := Pin{Slot: s.ID, Worker: w.ID, Renews: []string{}}
	for _, one := range w.Tickets {
		if slices.Contains(s.Qualifications, one.Qualification) && rapid.Bool().Draw(t, "renews") {
			pin.Renews = append(pin.Renews, one.Qualification)
		}
	}
	return pin
}

func TestRandomPlansAreSoundRepeatableAndRightlyCounted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems(small).Draw(t, "problem")
		require.NoError(t, p.Validate())
		plan, err := Suggest(context.Background(), p, Options{Seed: 7, Rounds: 60})
		again, errAgain := Suggest(context.Background(), p, Options{Seed: 7, Rounds: 60})
		require.Equal(t, err, errAgain)
		require.Equal(t, plan, again)
		if clash := (*PinClash)(nil); errors.As(err, &clash) {
			require.NotEmpty(t, clash.Pins)
			return
		}
		require.NoError(t, err)
		assert.Empty(t, Check(p, plan))
		assert.Equal(t, countByDay(p, plan), plan.Objective)
		bound, figures := plan.Bound.Levels(), plan.Objective.Levels()
		for i := range bound {
			assert.LessOrEqual(t, bound[i], figures[i], LevelNames[i])
		}
	})
}

// countByDay counts the six figures once more, as plainly as can be.
func countByDay(p Problem, plan Plan) Objective {
	var o Objective
	led := map[string]int{}
	renewedOn := map[string]groundhand.Date{}
	for _, session := range plan.Sessions {
		slot := p.Slots[slices.IndexFunc(p.Slots, func(s Slot) bool { return s.ID == session.Slot })]
		led[slot.Instructor]++
		o.SessionCost += slot.Cost
		o.BusiestInstructor = max(o.BusiestInstructor, led[slot.Instructor])
		visited := map[string]bool{"": true}
		for _, a := range session.Attend {
			w := p.Workers[slices.IndexFunc(p.Workers, func(w Worker) bool { return w.ID == a.Worker })]
			o.MinutesAway += slot.Minutes
			if w.Yard != slot.Yard {
				o.MinutesAway += 2 * p.Travel[0].Minutes
			}
			if !visited[w.Crew] {
				o.MinutesAway += p.VisitMinutes
			}
			visited[w.Crew] = true
			for _, q := range a.Renews {
				renewedOn[w.ID+q] = slot.Date
				o.DaysOffAim += offAim(p, w, q, slot.Date)
			}
		}
	}
	isCurrent := func(w Worker, t Ticket, d groundhand.Date) bool {
		on := renewedOn[w.ID+t.Qualification] // nobody drawn here has two tickets of one qualification
		return t.ValidThrough >= d || on != 0 && on < d
	}
	for d := p.Start; d <= p.End; d++ {
		var present []Worker
		for _, w := range p.Workers {
			weekend := d.Weekday() == 0 || d.Weekday() == 6
			if weekend || slices.ContainsFunc(w.Leave, func(s Stretch) bool { return s.From <= d && d <= s.To }) {
				continue
			}
			present = append(present, w)
			for _, t := range w.Tickets {
				if !isCurrent(w, t, d) {
					o.LapsedDays++
				}
			}
		}
		for _, c := range p.Crews {
			if shortOn(c, present, func(w Worker, t Ticket) bool { return isCurrent(w, t, d) }) {
				o.CrewDaysShort++
			}
		}
	}
	return o
}

func offAim(p Problem, w Worker, qual string, on groundhand.Date) int {
	valid := w.Tickets[slices.IndexFunc(w.Tickets, func(t Ticket) bool { return t.Qualification == qual })].ValidThrough
	if valid == 0 {
		valid = p.Start - 1
	}
	aim := valid
	if qual == "two" {
		aim -= groundhand.Date(p.Qualifications[0].AimDaysBefore)
	}
	return max(int(on-aim), int(aim-on))
}

func shortOn(c Crew, present []Worker, current func(w Worker, t Ticket) bool) bool {
	members, need, short := 0, 0, false
	for _, w := range present {
		if w.Crew == c.ID {
			members++
		}
	}
	for _, r := range c.Cover {
		need = max(need, r.AtLeast)
		n := 0
		for _, w := range present {
			counts := func(t Ticket) bool {
				return slices.Contains(r.AnyOf, t.Qualification) && (t.Device == "" || t.Device == c.Device) && current(w, t)
			}
			if w.Crew == c.ID && slices.ContainsFunc(w.Tickets, counts) {
				n++
			}
		}
		short = short || n < r.AtLeast
	}
	return members >= need && short
}

// everyPlan calls yield with each way to send people to slots, sound or not: stay at home, go along, or renew the ticket.
func everyPlan(p Problem, yield func(Plan)) {
	sessions := make([]Session, len(p.Slots))
	var choose func(i int)
	choose = func(i int) {
		if i == len(p.Slots)*len(p.Workers) {
			var plan Plan
			for _, s := range sessions {
				if len(s.Attend) > 0 {
					plan.Sessions = append(plan.Sessions, s)
				}
			}
			yield(plan)
			return
		}
		s, w := i/len(p.Workers), p.Workers[i%len(p.Workers)]
		sessions[s].Slot = p.Slots[s].ID
		kept := sessions[s].Attend
		choose(i + 1)
		sessions[s].Attend = append(slices.Clone(kept), Attendee{Worker: w.ID})
		choose(i + 1)
		for _, t := range w.Tickets {
			sessions[s].Attend = append(slices.Clone(kept), Attendee{w.ID, []string{t.Qualification}})
			choose(i + 1)
		}
		sessions[s].Attend = kept
	}
	choose(0)
}

func TestTinyProblemsAgainstEveryPlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems(tiny).Draw(t, "problem")
		best, feasible := Objective{}, false
		everyPlan(p, func(plan Plan) {
			c := newChecker(p, plan)
			c.checkSessions()
			c.checkPlaces()
			c.checkPins()
			if c.checkCover(); len(c.faults) > 0 {
				return
			}
			if o := c.recount(); !feasible || o.Less(best) {
				best, feasible = o, true
			}
		})
		plan, err := Suggest(context.Background(), p, Options{Seed: 1, Rounds: 300})
		if clash := (*PinClash)(nil); errors.As(err, &clash) {
			require.False(t, feasible, "%v", clash)
			require.True(t, clash.Proved)
			return
		}
		require.NoError(t, err)
		require.True(t, feasible)
		require.False(t, plan.Objective.Less(best), "better than the best")
		require.Equal(t, best, plan.Objective)
	})
}
