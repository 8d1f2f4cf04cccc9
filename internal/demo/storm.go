package demo

import (
	"time"

	g "groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// The storm of Mon 20 to Sun 26 Jan 2025: two crews are split in halves, four crews come to help, and all leave is cancelled.

var (
	stormFrom = g.MustDate("2025-01-20")
	stormTo   = g.MustDate("2025-01-26")
)

const (
	stormEve   = "2025-01-19 17:00" // when the week is planned
	arrival    = "2025-01-20 04:05" // when the visitors stand in the yard
	rena       = "Rena Iwasaki-Flint"
	visitingCo = "Torvane Line Company"
)

// visiting are the crews that come to help. Each is given one local control family.
var visiting = []crewRow{
	{"M1", "M1, visiting", varrow, g.LineCrew, g.List{"F1"}, []personRow{{"Roscoe Tannenfield", 0}, {"Adaeze Merrin-Holt", 0}, {"Bjarte Holloway-Lund", 0},
		{"Selma Kuusik-Dean", 0}, {"Ivo Petrarchos", 3}}},
	{"M2", "M2, visiting", stenholt, g.LineCrew, g.List{"F1"}, people("Delphine Oakhurst-Sy", "Tariq Wennerholm", "Maeve Ostrander-Kay", "Kwame Lidgate")},
	{"M3", "M3, visiting", varrow, g.LineCrew, g.List{"F3"}, people("Hollis Baatar-Quinn", "Carys Mantovani-Rhee", "Emeka Thorsgaard", rena)},
	{"M4", "M4, visiting", varrow, g.LineCrew, g.List{"F1"}, []personRow{{"Soren Blackaby-Tou", 0}, {"Lupe Arrieta-Voss", 0}, {"Danilo Crnja-Hale", 0},
		{"Mere Tawhiri-Cole", 2}, {"Felix Nyqvist-Obi", 0}}},
}

// halves are the crews that exist for that week alone, made of people of V3 and S2.
var halves = []crewRow{
	{"V3B", "V3, second half", varrow, g.LineCrew, g.List{"F2"}, people("Mateus Quillard", "Samuel Okwuosa-Lind", "Rohan Sekhavat")},
	{"S2B", "S2, second half", stenholt, g.LineCrew, g.List{"F4"}, people("Piet Vandermoor", "Zofia Karlowitz-Bay")},
}

// lent fill up the halves of S2: two people cannot work with one aloft and two below.
var lent = []struct {
	name string
	to   g.CrewID
}{{"Yara Ilincic", "S2"}, {"Desmond Pikethorne", "S2B"}}

// visitorCards are the days of the first-aid cards that the visitors brought.
var visitorCards = map[g.CrewID]string{"M1": "2024-06-18", "M2": "2024-05-28", "M3": "2024-09-24", "M4": "2024-10-15"}

// intakes: a visiting crew is watched on a local device before it is sent out. Leads each lead one run, the next one is second. Who is
// refused misses the hazard check; who comes on paper had no time for a run and is accepted as second until the end of the week.
var intakes = []struct {
	crew     g.CrewID
	start    string
	device   g.DeviceID
	watching string
	leads    []string
	refused  string
	paper    []string
}{
	{"M1", "2025-01-20 05:30", "A03", gideon, []string{"Roscoe Tannenfield", "Adaeze Merrin-Holt", "Bjarte Holloway-Lund"}, "",
		[]string{"Selma Kuusik-Dean", "Ivo Petrarchos"}},
	{"M2", "2025-01-21 05:30", "A06", gideon, []string{"Delphine Oakhurst-Sy", "Tariq Wennerholm"}, "Kwame Lidgate", []string{"Maeve Ostrander-Kay"}},
	{"M3", "2025-01-22 05:30", "T16", sanna, []string{"Hollis Baatar-Quinn", "Carys Mantovani-Rhee", "Emeka Thorsgaard"}, "", nil},
	{"M4", "2025-01-24 05:30", "A02", gideon, []string{"Soren Blackaby-Tou", "Lupe Arrieta-Voss"}, "Felix Nyqvist-Obi",
		[]string{"Danilo Crnja-Hale", "Mere Tawhiri-Cole"}},
}

// storm notes the week.
func (p *player) storm() {
	p.tellAt(p.at(stormEve), func() {
		for _, c := range append(visiting, halves...) {
			p.crew(coordinator, c, stormFrom-1)
		}
	})
	p.splits()
	p.visitors()
	for _, in := range intakes {
		p.intake(in.crew, in.start, in.device, in.watching, in.leads, in.refused)
		p.onPaper(in.crew, in.start, in.paper)
	}
	p.renaAgain()
	p.stormJobs()
}

func (p *player) splits() {
	p.tellAt(p.at(stormEve).Add(time.Hour), func() {
		for _, half := range halves {
			for _, name := range half.names() {
				p.joinForStorm(half, name, g.Split)
			}
			p.hireForeman(half)
		}
		for _, l := range lent {
			p.joinForStorm(crewRow{id: l.to, kind: g.ReliefPool}, l.name, g.Loan)
		}
	})
}

// joinForStorm puts somebody into a crew for the week.
func (p *player) joinForStorm(c crewRow, name string, why g.MembershipReason) g.Membership {
	return enter(p, naledi, p.Desk.JoinCrew, training.MembershipForm{CrewID: c.id, WorkerID: p.worker(name), Part: c.part(name), Reason: why,
		FromOn: stormFrom, ToOn: stormTo})
}

// visitors are taken into the books when they arrive. Who is refused at the intake is sent home on that day.
func (p *player) visitors() {
	joined := map[string]g.Membership{}
	p.tellAt(p.at(arrival), func() {
		for _, c := range visiting {
			for _, person := range c.people {
				p.visitor(c, person)
				joined[person.name] = p.joinForStorm(c, person.name, g.Storm)
			}
			p.hireForeman(c)
		}
		p.renasPaper()
	})
	for _, in := range intakes {
		if in.refused != "" {
			p.sendHome(in.refused, p.at(in.start).Add(2*time.Hour), joined)
		}
	}
}

func (p *player) visitor(c crewRow, person personRow) {
	form := c.worker(person)
	form.FromOn, form.Employer, form.Relation = stormFrom, visitingCo, g.Visitor
	if person.name == rena {
		form.Grade = g.Ground // she works below only, so that two aloft of M3 hang on her
	}
	p.person(ulf, person.name, form)
	enter(p, ulf, p.Desk.RecordOutside, training.OutsideForm{When: training.When{On: g.MustDate(visitorCards[c.id])}, WorkerID: p.worker(person.name),
		Method: g.FirstAid, Role: g.Second, Issuer: "Torvane First Aiders", Level: g.OriginalSeen, CheckerID: p.worker(ulf)})
}

func (p *player) sendHome(name string, when time.Time, joined map[string]g.Membership) {
	p.tellAt(when, func() {
		was := joined[name]
		enter(p, naledi, p.Desk.JoinCrew, training.MembershipForm{Entry: training.Entry{Replaces: was.ID, Because: "refused at the intake and sent home"},
			CrewID: was.CrewID, WorkerID: was.WorkerID, Part: was.Part, Reason: was.Reason, FromOn: was.FromOn, ToOn: p.dayOf(when)})
	})
}

// renasPaper: her own employer wrote that she drilled on Tue 23 Jan 2024, so under the rules of a year she is good through Wed 22 Jan.
func (p *player) renasPaper() {
	enter(p, coordinator, p.Desk.RecordDrill, training.DrillForm{Runs: []training.RunForm{{Entry: training.Entry{CameBy: g.Elsewhere},
		When: training.When{On: g.MustDate("2024-01-23")}, Method: g.PairKit, FamilyID: "F3", Complete: true,
		Parts: []training.PartForm{{WorkerID: p.worker(rena), Role: g.Lead}}}}})
}

const afterIntake = 75 * time.Minute

// intake notes the runs on a local device before the crew is sent out.
func (p *player) intake(crew g.CrewID, start string, device g.DeviceID, watching string, leads []string, refused string) {
	chance, when := p.chance("intake "+string(crew)), p.at(start)
	var out held
	note := func(lead, second, failed string) {
		r := p.run(turn{start: when, device: device, method: g.PairKit, lead: lead, second: second, watching: watching, failed: failed,
			now: circumstances{dark: true}}, chance)
		out.note(r, verdict{watching, 0, lead, failed == "", failed})
		when = when.Add(betweenRuns)
	}
	for i, lead := range leads {
		note(lead, leads[(i+1)%len(leads)], "")
	}
	if refused != "" {
		note(refused, leads[0], stepHazards)
	}
	form := p.sessionForm(practice{start: start, end: p.at(start).Add(afterIntake).Format(clockLayout), device: device, assessor: watching, methods: pair})
	var booked training.Booked
	p.tellAt(p.at(stormEve).Add(30*time.Minute), func() { booked = enter(p, coordinator, p.Desk.BookSession, form) })
	p.tellAt(p.at(start).Add(afterIntake), func() {
		p.assess(out, enter(p, watching, p.Desk.RecordDrill, training.DrillForm{SessionID: booked.Session.ID, Runs: out.runs}))
	})
}

func (p *player) onPaper(crew g.CrewID, start string, names []string) {
	day, family := p.dayOf(p.at(start)), g.FamilyID(crewOf(crew).families[0])
	p.tellAt(p.at(start).Add(afterIntake), func() {
		for _, name := range names {
			enter(p, coordinator, p.Desk.AcceptProvisionally, training.ProvisionalForm{ApproverID: p.worker(manager), When: training.When{On: day}, WorkerID: p.worker(name), Method: g.PairKit,
				Role: g.Second, FamilyID: family, FromOn: day, ToOn: stormTo, Basis: "own employer's record seen, asked about the local device; no time for a run"})
		}
	})
}

// renaAgain: she is watched on Friday, with M4.
func (p *player) renaAgain() {
	start := p.at("2025-01-24 05:40")
	r := p.run(turn{start: start, device: "T16", method: g.PairKit, lead: rena, second: "Carys Mantovani-Rhee", watching: sanna, now: circumstances{dark: true}},
		p.chance("rena again"))
	p.tellAt(start.Add(time.Hour), func() {
		enter(p, sanna, p.Desk.RecordDrill, training.DrillForm{Runs: []training.RunForm{r}})
	})
}
