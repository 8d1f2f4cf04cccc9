package demo

import (
	"slices"

	g "groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// The client Dunmarrow Ports takes nobody onto its quays without a certificate under its own rules. S2 is to work there from the bucket, V6 in
// the bay of the substation, each on one day in April.

// AtTheGate are the eleven whom the client asks about on the evening of the demonstration: both crews that work there, and two of the contractor's
// who are to join them.
func AtTheGate(c Cast) []g.WorkerID {
	var out []g.WorkerID
	for _, name := range slices.Concat(crewOf("S2").names(), crewOf("V6").names(), crewOf("C2").names()[:2]) {
		out = append(out, c.Workers[name])
	}
	return out
}

const (
	portRules = g.RuleSetID("R-C")
	wiktor    = "Wiktor Lindqvist-Roe"
	zofia     = "Zofia Karlowitz-Bay"
)

// port notes who is certified for the client and the two days there. The substation crew is asked for the kit alone. Of the eleven certificates
// of March one is replaced for a name and one withdrawn with its pass.
func (p *player) port() {
	p.certifyFor("2025-02-24 10:00", "2025-02-20", pair, "Eun-ji Falkner", "Omar Belhadj-Stone", "Ngaire Pohatu-Reed")
	p.certifyFor("2025-03-05 10:00", "2025-03-04", both, crewOf("S2").names()...)
	wiktors := p.certifyFor("2025-03-06 10:00", "2025-03-05", pair, wiktor)
	p.mistypedName(wiktors)
	p.notWorkedByHer()
	p.bookPast(pastJob{id: "J-0402-S2", crew: "S2", device: "E21", start: "2025-04-02 07:00", end: "2025-04-02 15:30", aloft: 1, methods: both,
		place: "Dunmarrow Ports, quay 3", booked: "2025-03-27 10:00", briefed: true, rules: portRules})
	p.bookPast(pastJob{id: "J-0403-V6", crew: "V6", device: "T16", start: "2025-04-03 07:30", end: "2025-04-03 15:30", aloft: 1, methods: pair,
		place: "Dunmarrow Ports, bay of the quay substation", booked: "2025-03-27 10:10", briefed: true, rules: portRules})
}

// certifyFor notes that the coordinator certifies, under the client's rules, what people passed on a day. What was issued stands in the list
// once it is played.
func (p *player) certifyFor(when, shown string, methods []g.Method, names ...string) *[]g.Certificate {
	var out []g.Certificate
	p.tellAt(p.at(when), func() {
		for _, name := range names {
			for _, m := range methods {
				out = append(out, p.certify(p.passOf(name, m, shown), portRules))
			}
		}
	})
	return &out
}

// mistypedName: the personnel list of March spells Wiktor's name with a letter too many, and so does the certificate of that week. HR puts the
// name right, and the coordinator has the certificate replaced.
func (p *player) mistypedName(issued *[]g.Certificate) {
	const why = "The personnel list spelled the name with a letter too many."
	var wrong g.WorkerName
	listed := training.NameForm{Entry: training.Entry{CameBy: g.Imported}, WorkerID: p.worker(wiktor), Name: "Wiktor Lindqvist-Rowe", FromOn: g.MustDate("2025-03-01")}
	p.tellAt(p.at("2025-03-03 07:40"), func() { wrong = enter(p, ulf, p.Desk.RenameWorker, listed) })
	p.tellAt(p.at("2025-03-18 09:20"), func() {
		right := listed
		right.Name, right.Entry = wiktor, training.Entry{Replaces: wrong.ID, Kind: g.Clerical, Because: why, AskedBy: right.WorkerID}
		enter(p, ulf, p.Desk.RenameWorker, right)
	})
	p.tellAt(p.at("2025-03-18 10:10"), func() {
		if p.err == nil {
			p.replace((*issued)[0].ID, why)
		}
	})
}

// notWorkedByHer: Zofia's pass for lowering by hand is taken back, because another one worked the emergency lowering. Her certificate goes with it.
func (p *player) notWorkedByHer() {
	const why = "Another one of the crew worked the emergency lowering in that run; she runs again in April."
	p.tellAt(p.at("2025-03-20 14:30"), func() {
		pass := p.passOf(zofia, g.ManualLowering, "2025-03-04")
		enter(p, gideon, p.Desk.Withdraw, training.WithdrawalForm{EntryID: pass, Kind: g.Factual, Because: why})
		p.closeReview(g.EntryID(p.certificateOf(pass).ID), training.ReviewClosingForm{Outcome: g.ReviewWithdrawn, Reason: why})
	})
}
