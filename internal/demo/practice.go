package demo

import (
	"math/rand/v2"
	"time"

	g "groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// calendar notes everything that is practised as planned.
func (p *player) calendar() {
	p.takeOver()
	p.firstAid()
	for _, c := range refreshers {
		p.refresh(c)
	}
	for _, o := range own {
		p.ownRuns(o.start, o.devices, o.methods, o.lead, o.second, o.watching)
	}
	for _, d := range fieldDrills {
		p.fieldDrill(d.start, d.device, d.method, d.lead, d.second)
	}
}

// takeOver enters the one practice of each person that the old books hold.
func (p *player) takeOver() {
	form := training.DrillForm{}
	take := func(name, day string, family g.FamilyID, role g.Role) {
		form.Runs = append(form.Runs, training.RunForm{Entry: training.Entry{CameBy: g.Imported}, When: training.When{On: g.MustDate(day)},
			Method: g.PairKit, FamilyID: family, Complete: true, Parts: []training.PartForm{{WorkerID: p.worker(name), Role: role}}})
	}
	for _, c := range crews {
		for _, person := range c.people {
			role := g.Lead
			if person.year > 0 {
				role = g.Second
			}
			day, apart := openingDaysOf[person.name]
			if !apart {
				day = openingDays[c.id]
			}
			take(person.name, day, g.FamilyID(c.families[0]), role)
		}
	}
	take(gideon, openingDaysOf[gideon], "F1", g.Lead)
	take(sanna, openingDaysOf[sanna], "F1", g.Lead)
	p.tellAt(p.at(opening), func() { enter(p, coordinator, p.Desk.RecordDrill, form) })
}

// firstAid enters the cards of the classes.
func (p *player) firstAid() {
	for _, c := range crews {
		for _, name := range c.names() {
			days, apart := firstAidDaysOf[name]
			if !apart {
				days = firstAidDays[c.id]
			}
			p.cards(name, days)
		}
	}
	p.cards(gideon, firstAidDaysOf[gideon])
	p.cards(sanna, firstAidDaysOf[sanna])
}

func (p *player) cards(name string, days []string) {
	for _, day := range days {
		form := training.OutsideForm{When: training.When{On: g.MustDate(day)}, WorkerID: p.worker(name), Method: g.FirstAid, Role: g.Second,
			Issuer: "Halverra First Aiders", Level: g.OriginalSeen, CheckerID: p.worker(colette)}
		if day < opening {
			form.CameBy = g.Imported // from the old books
		}
		p.tell(p.at(day+" 16:00"), "card "+name+day, func() { enter(p, colette, p.Desk.RecordOutside, form) })
	}
}

// fieldDrill is one unannounced run with the kit as it was found.
func (p *player) fieldDrill(start string, device g.DeviceID, m g.Method, lead, second string) {
	r := p.run(turn{start: p.at(start), device: device, method: m, lead: lead, second: second, now: circumstances{unannounced: true}, watching: gideon},
		p.chance("drill "+start+string(device)))
	p.tell(p.at(start).Add(time.Hour), "drill "+start, func() {
		enter(p, coordinator, p.Desk.RecordDrill, training.DrillForm{Runs: []training.RunForm{r}})
	})
}

// ownRuns are an assessor's runs on several devices, one after another.
func (p *player) ownRuns(start string, devices []g.DeviceID, methods []g.Method, lead, second, watching string) {
	const pause = 20 * time.Minute
	chance, when := p.chance("own "+start), p.at(start)
	form := training.DrillForm{}
	for _, device := range devices {
		for _, m := range methods {
			form.Runs = append(form.Runs, p.run(turn{start: when, device: device, method: m, lead: lead, second: second, watching: watching}, chance))
			when = when.Add(pause)
		}
	}
	p.tell(when, "own "+start, func() { enter(p, coordinator, p.Desk.RecordDrill, form) })
}

// turn is one run to be made.
type turn struct {
	start        time.Time
	device       g.DeviceID
	method       g.Method
	lead, second string // the lone method has no second
	now          circumstances
	watching     string
	failed       string  // the critical step that was not done; empty: none
	factor       float64 // of the session; 0: 1
}

// run writes the form of one run.
func (p *player) run(t turn, chance *rand.Rand) training.RunForm {
	factor := p.factorOf(t.lead)
	if t.factor > 0 {
		factor *= t.factor
	}
	d := deviceOf(t.device)
	out := training.RunForm{
		When: training.When{At: g.InstantOf(t.start)}, Method: t.method, Scenario: g.Unconscious, DeviceID: d.id, KitID: d.kit,
		Announced: !t.now.unannounced, KitState: g.AsFound, LoweringMeans: g.PoweredLower, HeightCM: 600 + 100*chance.IntN(4),
		OutreachCM: 200 + 50*chance.IntN(6), CasualtyKind: g.Mannequin, CasualtyKG: 80, WorkClothes: g.Yes, Dark: t.now.dark,
		Weather: weather[chance.IntN(len(weather))], GroundCount: 2, StartedBy: g.AtAlarm, Marks: pace(chance, t.method, t.now, factor),
		Complete: true, WatchedBy: p.worker(t.watching), Steps: sheet(t.failed), Parts: p.parts(t),
	}
	if t.now.laidOut {
		out.KitState = g.LaidOut
	}
	switch t.method {
	case g.ManualLowering:
		out.KitID, out.KitState, out.LoweringMeans = "", g.NoKit, g.HandPump
	case g.LoneKit:
		out.GroundCount = 1
	}
	return out
}

func (p *player) parts(t turn) []training.PartForm {
	critical := t.failed != ""
	if t.method == g.LoneKit {
		return []training.PartForm{{WorkerID: p.worker(t.lead), Role: g.Lone, CriticalFail: critical}}
	}
	return []training.PartForm{{WorkerID: p.worker(t.lead), Role: g.Lead, CriticalFail: critical}, {WorkerID: p.worker(t.second), Role: g.Second}}
}

var weather = []string{"dry", "dry", "dry", "wind", "rain", "cold"}

// Critical steps of every sheet; a run is failed by one of them however fast it was. Common practice, no source.
const (
	stepHazards  = "hazard check said aloud before the approach"
	stepCall     = "help called"
	stepAttached = "attachment checked before lifting"
	stepClear    = "nobody under the load"
	stepBreath   = "breathing checked at the end"
)

func sheet(failed string) g.CriticalSteps {
	var out g.CriticalSteps
	for _, step := range []string{stepHazards, stepCall, stepAttached, stepClear, stepBreath} {
		done := g.StepYes
		if step == failed {
			done = g.StepNo
		}
		out = append(out, g.CriticalStep{Step: step, Done: done})
	}
	return out
}
