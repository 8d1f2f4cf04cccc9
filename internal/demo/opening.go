package demo

import (
	"fmt"
	"slices"

	g "groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/training"
)

// The accounts of the first day belong to nobody, because nobody is in the books yet. They are closed when the people have their own.
const (
	firstCoordinator = "Opening of the books"
	firstHR          = "Opening of the personnel books"
)

// takenOver is the day from which the old books are believed: names, grades and crews as they stood then.
var takenOver = g.MustDate("2023-01-02")

// openBooks enters places, people and rules on the first day, before anything else is played.
func (p *player) openBooks() {
	p.deeds = append(p.deeds, deed{p.at(opening), func() {
		p.hire(firstCoordinator, g.Coordinator, "")
		p.hire(firstHR, g.HR, "")
		p.places()
		p.people()
		p.openAccounts()
		p.close(firstCoordinator, firstHR)
		p.rules()
		p.authorities()
		p.begin()
	}})
}

// hire opens an account. The first one of each capacity that belongs to somebody is shown at the end.
func (p *player) hire(name string, capacity g.Capacity, worker g.WorkerID) {
	if p.err != nil {
		return
	}
	account, token, err := p.Door.AddAccount(p.ctx, name, capacity, worker)
	if err != nil {
		p.err = fmt.Errorf("play: open an account for %s: %w", name, err)
		return
	}
	p.hands[name] = account
	if worker != "" && (Cast{Keys: p.keys}).Account(capacity).ID == "" {
		p.keys = append(p.keys, Key{account, token})
	}
}

func (p *player) close(names ...string) {
	for _, name := range names {
		if p.err != nil {
			return
		}
		_, p.err = p.Door.Revoke(p.ctx, p.hands[name].ID)
	}
}

// openAccounts: those of the desk, the crew assessors, one worker who looks at the own record, and the foremen, Ifeoma first.
func (p *player) openAccounts() {
	for _, d := range slices.Concat(desk, moreDesk) {
		if d.capacity != "" {
			p.hire(d.name, d.capacity, p.worker(d.name))
		}
	}
	p.hire("Ifeoma Castellane", g.CrewForeman, p.worker("Ifeoma Castellane"))
	p.hire("Dario Pellgrove", g.FieldWorker, p.worker("Dario Pellgrove"))
	for _, name := range slices.Concat(crewAssessors, ofTheContractor) {
		p.hire(name+", assessor", g.Assessor, p.worker(name))
	}
	for _, c := range crews {
		p.hireForeman(c)
	}
}

// hireForeman opens an account for the foreman of a crew, who signs for it, unless there is one.
func (p *player) hireForeman(c crewRow) {
	if name := c.foreman(); name != "" && p.hands[name].ID == "" {
		p.hire(name, g.CrewForeman, p.worker(name))
	}
}

// begin makes the first signing key.
func (p *player) begin() {
	if p.err == nil {
		p.err = p.Certificates.Begin(p.ctx)
	}
}

func (p *player) places() {
	since := training.When{On: takenOver}
	for _, y := range yards {
		enter(p, firstCoordinator, p.Desk.AddYard, training.YardForm{When: since, ID: y.id, Name: y.name})
	}
	for _, r := range roads {
		enter(p, firstCoordinator, p.Desk.AddRoad, training.RoadForm{When: since, FromYardID: r.from, ToYardID: r.to, Minutes: r.minutes})
	}
	for _, f := range families {
		enter(p, firstCoordinator, p.Desk.AddFamily, training.FamilyForm{When: since, ID: f.id, Name: f.name})
	}
	for _, d := range devices {
		enter(p, firstCoordinator, p.Desk.AddDevice, training.DeviceForm{When: since, ID: d.id, FamilyID: d.family, YardID: d.yard, Type: d.kind,
			PlatformCM: d.platform, AnchorCM: d.anchor, EmergencyLow: g.Yes})
		p.kit(d.kit, training.PlaceForm{DeviceID: d.id})
	}
	for _, s := range spares {
		p.kit(s.kit, training.PlaceForm{YardID: s.yard})
	}
	for _, c := range crews {
		p.crew(firstCoordinator, c, takenOver)
	}
}

// crew enters a crew. Only fault crews go out with two: a pool or half a crew of fewer people is filled up from elsewhere.
func (p *player) crew(by string, c crewRow, since g.Date) {
	size := len(c.people)
	if c.kind != g.FaultCrew {
		size = max(size, 3)
	}
	enter(p, by, p.Desk.AddCrew, training.CrewForm{When: training.When{On: since}, ID: c.id, Name: c.name, YardID: c.yard, Kind: c.kind,
		NormalSize: size, Families: c.families})
}

// kit enters a kit and where it is.
func (p *player) kit(id g.KitID, where training.PlaceForm) {
	since := training.When{On: takenOver}
	enter(p, firstCoordinator, p.Desk.AddKit, training.KitForm{When: since, ID: id, Parts: partsOf(id), RopeCM: ropeOf(id), TailCM: ropeTail,
		RatedLoadKG: ratedKG, InServiceOn: takenOver, RetiresOn: takenOver.AddMonths(120)})
	where.When, where.KitID = since, id
	enter(p, firstCoordinator, p.Desk.PlaceKit, where)
}

func (p *player) people() {
	for _, d := range desk {
		p.person(firstHR, d.name, office(d))
	}
	for _, c := range crews {
		for _, person := range c.people {
			p.person(firstHR, person.name, c.worker(person))
			enter(p, firstCoordinator, p.Desk.JoinCrew, training.MembershipForm{CrewID: c.id, WorkerID: p.worker(person.name), Part: c.part(person.name),
				Reason: g.Permanent, FromOn: takenOver})
		}
	}
	for _, d := range moreDesk {
		p.person(firstHR, d.name, office(d))
	}
}

func office(d deskRow) training.WorkerForm {
	return training.WorkerForm{FromOn: takenOver, Grade: d.grade, YardID: varrow, Employer: employer, Relation: g.Employee}
}

// worker fills in what a crew's table says about one of its people.
func (c crewRow) worker(person personRow) training.WorkerForm {
	form := training.WorkerForm{FromOn: takenOver, Grade: g.Qualified, YardID: c.yard, Employer: employer, Relation: g.Employee}
	if person.year > 0 {
		form.Grade, form.Year = g.Apprentice, person.year
	}
	if c.contractor() {
		form.Employer, form.Relation = contractorCo, g.ResidentContractor
	}
	return form
}

func (c crewRow) part(name string) g.CrewPart {
	if name == c.foreman() {
		return g.Foreman
	}
	return g.Member
}

// person enters somebody under the identifier that the tables gave.
func (p *player) person(by, name string, f training.WorkerForm) {
	f.Name, f.Number = name, "4"+string(p.worker(name))[1:]
	p.IDs.call(string(p.worker(name)))
	enter(p, by, p.Desk.AddWorker, f)
}

func (p *player) rules() {
	const program = "The opening of the books"
	p.hands[program] = g.Account{Capacity: g.Program}
	for _, set := range rulebook.Shipped() {
		if set.ID != "R2" { // proposed in December, see proposedRules
			enter(p, program, p.Desk.AddRuleSet, training.ShippedRules(set, manager+", manager"))
		}
	}
}

// shipped is a rule set that comes with the service.
func shipped(id g.RuleSetID) g.RuleSet {
	all := rulebook.Shipped()
	return all[slices.IndexFunc(all, func(s g.RuleSet) bool { return s.ID == id })]
}

// authorities: the two full-time assessors for everything, those of a crew for what their crew does.
func (p *player) authorities() {
	all := g.List{}
	for _, m := range g.Methods {
		all = append(all, string(m))
	}
	since := training.When{On: g.MustDate("2024-01-01")}
	for _, who := range []string{gideon, sanna} {
		enter(p, coordinator, p.Desk.GrantAuthority, training.AuthorityForm{When: since, AssessorID: p.worker(who), Methods: all,
			FromOn: since.On, Basis: "full-time assessor, appointed by the manager"})
	}
	enter(p, coordinator, p.Desk.GrantAuthority, training.AuthorityForm{When: since, AssessorID: p.worker(marcus), Methods: g.List{string(g.PairKit)},
		Families: g.List{"F4"}, FromOn: since.On, ToOn: g.MustDate("2024-12-31"), Basis: "assesses for the contractor on its own devices"})
	for _, who := range crewAssessors {
		enter(p, coordinator, p.Desk.GrantAuthority, training.AuthorityForm{When: since, AssessorID: p.worker(who),
			Methods: g.List{string(g.PairKit), string(g.ManualLowering)}, Families: g.List{"F1"}, FromOn: since.On, Basis: "crew assessor on the devices of the crew"})
	}
}
