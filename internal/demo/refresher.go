package demo

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	g "groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// refresh notes a session: booked a month ahead, held, and the sheets entered together afterwards.
func (p *player) refresh(c practice) {
	const ahead = 28 * 24 * time.Hour
	var booked training.Booked
	p.tellAt(p.at(c.start).Add(-ahead), func() { booked = enter(p, coordinator, p.Desk.BookSession, p.sessionForm(c)) })
	held := p.hold(c)
	p.tell(held.end, c.start+string(c.device), func() {
		form := training.DrillForm{SessionID: booked.Session.ID, Runs: held.runs}
		p.assess(held, enter(p, coordinator, p.Desk.RecordDrill, form))
	})
}

func (p *player) sessionForm(c practice) training.SessionForm {
	d := deviceOf(c.device)
	form := training.SessionForm{YardID: d.yard, StartAt: p.instant(c.start), EndAt: p.instant(c.end), FamilyID: d.family, DeviceID: d.id,
		KitID: d.kit, AssessorID: p.worker(c.assessor), Announced: true, Seats: 8, MaxRuns: 24, Controls: drillControls}
	for _, m := range c.methods {
		form.Methods = append(form.Methods, string(m))
	}
	for _, name := range c.everyone() {
		form.Bookings = append(form.Bookings, training.SeatForm{WorkerID: p.worker(name), Renews: form.Methods})
	}
	return form
}

const drillControls = "Device isolated and earthed, mannequin as casualty, a stop word agreed, one person for safety alone; local rules come first."

// held is what came of a session.
type held struct {
	runs   []training.RunForm
	sheets []verdict
	end    time.Time
}

// verdict is what an assessor wrote about one person of one run.
type verdict struct {
	assessor string
	run      int // of the session
	name     string
	passed   bool
	failed   string // the critical step
}

const betweenRuns = 12 * time.Minute

// hold plays the turns of a session: everybody leads once in each method, and again where the first time was a fail.
func (p *player) hold(c practice) held {
	chance := p.chance("session " + c.start + string(c.device))
	people, session := c.everyone(), lognormal(chance, sessionSpread)
	out := held{end: p.at(c.start).Add(betweenRuns)}
	for _, m := range c.methods {
		for i, name := range people {
			t := turn{device: c.device, method: m, lead: name, second: c.partner, now: circumstances{stale: c.stale}, watching: c.assessor, factor: session}
			if len(people) > 1 {
				t.second = people[(i+1)%len(people)]
			}
			if p.follows(name, c.start) {
				t.lead, t.second = t.second, t.lead
			}
			p.take(&out, t, name, chance)
		}
	}
	return out
}

// take plays one turn, twice where the first time was a fail.
func (p *player) take(out *held, t turn, name string, chance *rand.Rand) {
	fails, step := p.fails(len(out.runs) == 0, chance)
	if t.lead != name {
		step = "" // the sheet is about the second, and a missed step would be the lead's
	}
	if t.start, out.end = out.end, out.end.Add(betweenRuns); fails {
		t.failed = step
		out.note(p.run(t, chance), verdict{t.watching, 0, name, false, step})
		t.start, out.end, t.failed = out.end, out.end.Add(betweenRuns), ""
	}
	out.note(p.run(t, chance), verdict{t.watching, 0, name, true, ""})
}

func (h *held) note(r training.RunForm, v verdict) {
	v.run = len(h.runs)
	h.runs, h.sheets = append(h.runs, r), append(h.sheets, v)
}

// fails draws whether a run is failed and by which critical step; none is the employer's time limit. About seven in a hundred are, the
// first of a session twice as often.
func (p *player) fails(first bool, chance *rand.Rand) (bool, string) {
	share := 0.065
	if first {
		share *= 2
	}
	luck, cause := chance.Float64(), chance.Float64()
	switch {
	case luck >= share:
		return false, ""
	case cause < 0.35:
		return true, stepHazards
	case cause < 0.60:
		return true, stepAttached
	case cause < 0.75:
		return true, stepCall
	}
	return true, ""
}

// follows says whether somebody goes second where others lead: an apprentice of the first two years. Only Linh practises as lead in the
// second year already, which counts once the rules let her lead.
func (p *player) follows(name, moment string) bool {
	if name == apprentice {
		return p.at(moment).Before(p.at(secondYear))
	}
	year := yearOn(name, moment)
	return year == 1 || year == 2
}

// assess enters the sheets of a session in the assessor's name, each beside the part that was judged, and gives their ids.
func (p *player) assess(h held, d training.Drill) (sheets []g.EntryID) {
	if p.err != nil {
		return nil
	}
	for _, v := range h.sheets {
		part, there := partOf(d, h.runs, v.run, p.worker(v.name))
		if !there {
			p.err = fmt.Errorf("play: %s has no part in run %d", v.name, v.run)
			return nil
		}
		run := d.Runs[v.run]
		form := training.AssessmentForm{When: training.When{At: run.HappenedAt + g.Instant(3*time.Minute/time.Millisecond)}, WorkerID: part.WorkerID,
			Method: run.Method, Role: part.Role, FamilyID: run.FamilyID, Result: g.Pass, AssessorID: p.worker(v.assessor), RunPartID: part.ID, Steps: sheet("")}
		if !v.passed {
			form.Result, form.Steps, form.NextStep = g.Fail, sheet(v.failed), "run again before leaving the yard"
			form.Coaching = orLimit(v.failed)
		}
		made := enter(p, p.signs(v.assessor), p.Desk.Assess, form)
		sheets = append(sheets, made.ID)
		if v.passed && part.Role == g.Lead {
			p.passed[pass{v.name, run.Method, made.HappenedOn}] = made.ID
		}
	}
	return sheets
}

func orLimit(failed string) string {
	if failed == "" {
		return "over the employer's time limit"
	}
	return "not done: " + failed
}

// signs is the hand in which somebody signs as assessor: those of a crew have an account of their own for it.
func (p *player) signs(assessor string) string {
	if slices.Contains(slices.Concat(crewAssessors, ofTheContractor), assessor) {
		return assessor + ", assessor"
	}
	return assessor
}

// partOf finds somebody's part: parts come in the order of the runs and, within one, of the form.
func partOf(d training.Drill, runs []training.RunForm, run int, who g.WorkerID) (g.RunPart, bool) {
	first := 0
	for _, r := range runs[:run] {
		first += len(r.Parts)
	}
	for _, part := range d.Parts[first : first+len(runs[run].Parts)] {
		if part.WorkerID == who {
			return part, true
		}
	}
	return g.RunPart{}, false
}
