package demo

import (
	"fmt"

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

// openAccounts: those of the desk, one foreman and one worker who look at their own.
func (p *player) openAccounts() {
	for _, d := range desk {
		p.hire(d.name, d.capacity, p.worker(d.name))
	}
	p.hire(tomasz+", assessor", g.Assessor, p.worker(tomasz))
	p.hire("Ifeoma Castellane", g.CrewForeman, p.worker("Ifeoma Castellane"))
	p.hire("Dario Pellgrove", g.FieldWorker, p.worker("Dario Pellgrove"))
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
	p.kit(spareKit, training.PlaceForm{YardID: "VARROW"})
	for _, c := range crews {
		enter(p, firstCoordinator, p.Desk.AddCrew, training.CrewForm{When: since, ID: c.id, Name: c.name, YardID: c.yard, Kind: c.kind,
			NormalSize: len(c.people), Families: c.families})
	}
}

// kit enters a kit and where it is.
func (p *player) kit(id g.KitID, where training.PlaceForm) {
	const rope, shortRope, tail, parts, ratedKG = 6000, 4500, 400, 4, 200
	since := training.When{On: takenOver}
	form := training.KitForm{When: since, ID: id, Parts: parts, RopeCM: rope, TailCM: tail, RatedLoadKG: ratedKG, InServiceOn: takenOver,
		RetiresOn: takenOver.AddMonths(120)}
	if kit45[id] {
		form.RopeCM = shortRope
	}
	enter(p, firstCoordinator, p.Desk.AddKit, form)
	where.When, where.KitID = since, id
	enter(p, firstCoordinator, p.Desk.PlaceKit, where)
}

func (p *player) people() {
	for _, d := range desk {
		p.person(d.name, training.WorkerForm{Grade: d.grade, YardID: "VARROW"})
	}
	for _, c := range crews {
		for i, person := range c.people {
			form := training.WorkerForm{Grade: g.Qualified, YardID: c.yard}
			if person.year > 0 {
				form.Grade, form.Year = g.Apprentice, person.year
			}
			p.person(person.name, form)
			join := training.MembershipForm{CrewID: c.id, WorkerID: p.worker(person.name), Part: g.Member, Reason: g.Permanent, FromOn: takenOver}
			if i == 0 && c.kind != g.ReliefPool {
				join.Part = g.Foreman
			}
			enter(p, firstCoordinator, p.Desk.JoinCrew, join)
		}
	}
}

// person enters somebody under the identifier that the tables gave.
func (p *player) person(name string, f training.WorkerForm) {
	f.FromOn, f.Name, f.Employer, f.Relation = takenOver, name, employer, g.Employee
	f.Number = "4" + string(p.worker(name))[1:]
	p.IDs.call(string(p.worker(name)))
	enter(p, firstHR, p.Desk.AddWorker, f)
}

func (p *player) rules() {
	for _, set := range rulebook.Shipped() {
		enter(p, coordinator, p.Desk.AddRuleSet, training.ShippedRules(set, "Alasdair Nwosu-Kerr, manager"))
	}
}

// authorities: the two full-time assessors for everything, one of a crew for what his crew does.
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
	enter(p, coordinator, p.Desk.GrantAuthority, training.AuthorityForm{When: since, AssessorID: p.worker(tomasz),
		Methods: g.List{string(g.PairKit), string(g.ManualLowering)}, Families: g.List{"F1"}, FromOn: since.On, Basis: "crew assessor on the devices of his crew"})
}
