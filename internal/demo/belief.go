package demo

import (
	"context"
	"errors"
	"fmt"
	"time"

	g "groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// The stories in which somebody asks whether the records deserve belief.

const (
	senior  = "James Tallis"
	conrad  = "Conrad Tsosie-Wynn"
	anders  = "Anders Mwangi-Bly"
	shreya  = "Shreya Pillai-Ross"
	ana     = "Ana-Lúcia Ferreira-Moor"
	anaNew  = "Ana-Lúcia Okonjo-Moor"
	manager = "Alasdair Nwosu-Kerr"
	marcus  = "Marcus Ballantree-Ode"
)

// NotFamiliar is of whom the near miss of 3 May 2025 asks whether the lower controls were known.
const NotFamiliar = "Jamie Tallis"

const junior = NotFamiliar // of two men of one name

// belief notes them all.
func (p *player) belief() {
	p.realRescue()
	p.passForSelf()
	p.wrongTallis()
	p.proposedRules()
	p.tooQuickToBeTrue()
	p.reviewsClosed()
	p.snow()
	p.newName()
	p.nearMiss()
}

// tried is something that somebody enters and that has to be refused.
func tried[F, T any](p *player, name string, act func(context.Context, g.Account, string, F) (T, error), form F) {
	if p.err != nil {
		return
	}
	p.acts++
	if _, err := act(p.ctx, p.hands[name], fmt.Sprintf("play-%05d", p.acts), form); err == nil {
		p.err = fmt.Errorf("play: what %s tried on %s with %T was not refused", name, p.Clock.Now().Format(time.DateTime), form)
	} else if _, coded := errors.AsType[*g.Error](err); !coded && len(g.Refusals(err)) == 0 {
		p.err = err
	}
}

// realRescue: somebody of Q2 is taken ill in the bucket in the heat. The two on the ground bring the bucket down; nothing more is kept of it
// than the times. The kit is out until it was looked at, the two go home for three days, and the records are held.
func (p *player) realRescue() {
	const when = "2024-09-17 14:35"
	form := training.RealEventForm{When: training.When{At: p.instant(when)}, Kind: g.RealRescue, CrewID: "Q2", DeviceID: "A07", KitID: "K16",
		What: "casualty brought down from the bucket and handed over to the ambulance crew", CasualtyDownSeconds: 161, FirstAidSeconds: 178, Hold: true}
	p.tellAt(p.at("2024-09-17 15:50"), func() { enter(p, coordinator, p.Desk.ReportEvent, form) })
	for _, name := range []string{anders, shreya} {
		away := training.UnavailableForm{WorkerID: p.worker(name), Kind: g.Rest, FromAt: p.instant("2024-09-17 15:00"), ToAt: p.instant("2024-09-20 15:00")}
		p.missing(name, g.MustDate("2024-09-18"), g.MustDate("2024-09-21"))
		p.tellAt(p.at("2024-09-17 16:05"), func() { enter(p, colette, p.Desk.SetUnavailable, away) })
	}
}

// passForSelf: the crew assessor of Q2 enters a pass for herself. It is refused and noted; eleven days later Gideon passes her.
func (p *player) passForSelf() {
	form := training.AssessmentForm{When: training.When{On: g.MustDate("2024-10-11")}, WorkerID: p.worker(grainne), Method: g.PairKit, Role: g.Lead,
		FamilyID: "F1", Result: g.Pass, AssessorID: p.worker(grainne), Steps: sheet("")}
	p.tellAt(p.at("2024-10-11 15:20"), func() { tried(p, grainne+", assessor", p.Desk.Assess, form) })
}

// wrongTallis: a pass of the younger of two men of one name is credited to the elder, with a certificate. Two weeks later it is put right.
func (p *player) wrongTallis() {
	const name, when = "wrong Tallis", "2024-10-22 13:40"
	h := held{end: p.at("2024-10-22 14:10")}
	h.note(p.run(turn{start: p.at(when), device: "B04", method: g.PairKit, lead: senior, second: "Declan Szymborek", watching: gideon}, p.chance(name)),
		verdict{gideon, 0, senior, true, ""})
	var drill training.Drill
	var pass g.EntryID
	p.tellAt(h.end, func() {
		drill = enter(p, coordinator, p.Desk.RecordDrill, training.DrillForm{Runs: h.runs})
		if sheets := p.assess(h, drill); len(sheets) > 0 {
			pass = sheets[0]
		}
	})
	p.tellAt(p.at("2024-10-23 09:30"), func() { p.certify(pass, "") })
	p.tellAt(p.at("2024-11-05 11:15"), func() {
		if p.err != nil {
			return
		}
		p.creditJunior(drill, pass)
	})
}

const mixedUp = "The sheet says James Tallis; it was the younger one, who has the same name."

// creditJunior corrects part and pass. The certificate moves by itself, in the same step as the pass; the reviews of both are closed.
func (p *player) creditJunior(drill training.Drill, pass g.EntryID) {
	wrong := drill.Parts[0]
	entry := func(replaces g.EntryID) training.Entry {
		return training.Entry{Replaces: replaces, Because: mixedUp, Kind: g.IdentityMistaken, AskedBy: p.worker(senior), AgreedBy: p.worker(gideon)}
	}
	part := enter(p, coordinator, p.Desk.CorrectPart, training.PartCorrection{Entry: entry(wrong.ID), RunID: wrong.RunID,
		PartForm: training.PartForm{WorkerID: p.worker(junior), Role: g.Lead}})
	fixed := entry(pass)
	fixed.AgreedBy = p.worker(colette)
	again := enter(p, gideon, p.Desk.Assess, training.AssessmentForm{Entry: fixed, When: training.When{At: drill.Runs[0].HappenedAt + 3*60*1000},
		WorkerID: p.worker(junior), Method: g.PairKit, Role: g.Lead, FamilyID: "F2", Result: g.Pass, AssessorID: p.worker(gideon), RunPartID: part.ID, Steps: sheet("")})
	p.closeReview(pass, training.ReviewClosingForm{Outcome: g.ReviewReplaced, Reason: mixedUp, NewEntryID: again.ID})
	fresh := p.certificateOf(again.ID)
	p.closeReview(fresh.ReplacesID, training.ReviewClosingForm{Outcome: g.ReviewReplaced, Reason: mixedUp, NewEntryID: g.EntryID(fresh.ID)})
}

// certify issues a certificate in the coordinator's name, under a rule set; empty: our own.
func (p *player) certify(shown g.EntryID, rules g.RuleSetID) g.Certificate {
	if p.err != nil {
		return g.Certificate{}
	}
	p.acts++
	var cert g.Certificate
	cert, p.err = p.Certificates.Issue(p.ctx, p.hands[coordinator], fmt.Sprintf("play-%05d", p.acts), shown, rules)
	return cert
}

// replace has a certificate issued anew in the coordinator's name.
func (p *player) replace(number g.CertificateID, why string) {
	if p.err != nil {
		return
	}
	p.acts++
	_, p.err = p.Certificates.Replace(p.ctx, p.hands[coordinator], fmt.Sprintf("play-%05d", p.acts), number, why)
}

// certificateOf is the certificate that was issued for a pass.
func (p *player) certificateOf(shown g.EntryID) (cert g.Certificate) {
	if p.err == nil {
		cert, p.err = p.CertificateOf(p.ctx, shown)
	}
	return cert
}

// closeReview closes the open review of an entry in the coordinator's name.
func (p *player) closeReview(entry g.EntryID, form training.ReviewClosingForm) {
	if p.err != nil {
		return
	}
	if form.ReviewID, p.err = p.OpenReview(p.ctx, entry); p.err != nil {
		return
	}
	enter(p, coordinator, p.Desk.CloseReview, form)
}

// proposedRules: the coordinator proposes six months for crews of two from 1 March, sees who would be out, and another one approves.
func (p *player) proposedRules() {
	var proposal g.EntryID
	p.tellAt(p.at("2024-12-02 14:30"), func() {
		set := shipped("R2")
		proposal = enter(p, coordinator, p.Desk.ProposeRules, training.RuleProposalForm{RuleSetID: set.ID, Title: set.Title, Owner: set.Owner, IsDefault: set.IsDefault,
			EffectiveFrom: set.EffectiveFrom, EffectiveThrough: set.EffectiveThrough, Body: set.Body}).ID
	})
	p.tellAt(p.at("2024-12-09 10:00"), func() {
		enter(p, manager, p.Desk.DecideOnRules, training.RuleApprovalForm{ProposalID: proposal, Decision: g.Approved,
			Reason: "The drills of February are booked; nobody will be out on the first of March."})
	})
}

// tooQuickToBeTrue: fourteen passes of C1 in fifty minutes, every time a multiple of five. They are taken back, and an assessor from outside the
// crew sees everybody run again on 4 Feb 2025.
func (p *player) tooQuickToBeTrue() {
	start := p.at("2024-12-10 13:00")
	people := []string{"Yara Ilincic", "Desmond Pikethorne", "Aroha Mitcheldean", "Nils Overgaard-Smythe", "Farah Quayson", "Elio Brandeis-Moke", gwen}
	h := held{end: start}
	for i := range 14 {
		lead, second := people[i%7], people[(i+1)%7]
		r := p.run(turn{start: h.end, device: "E25", method: g.PairKit, lead: lead, second: second, watching: marcus}, p.chance("too quick"))
		r.Marks = roundMarks(i)
		h.note(r, verdict{marcus, 0, lead, true, ""})
		h.end = start.Add(time.Duration((i+1)*50) * time.Minute / 14)
	}
	var passes []g.EntryID
	p.tellAt(p.at("2024-12-10 14:20"), func() {
		passes = p.assess(h, enter(p, coordinator, p.Desk.RecordDrill, training.DrillForm{Runs: h.runs}))
	})
	const why = "Fourteen runs in fifty minutes, and every time ends on a five or a nought: was each of them run and timed?"
	p.tellAt(p.at("2024-12-12 09:10"), func() {
		for _, id := range passes {
			enter(p, coordinator, p.Desk.OpenReview, training.ReviewForm{EntryID: id, Cause: g.Implausible, Reason: why})
		}
	})
	p.tellAt(p.at("2025-01-13 10:00"), func() {
		for _, id := range passes {
			p.closeReview(id, training.ReviewClosingForm{Outcome: g.ReviewWithdrawn, Reason: "Nobody can say which of the runs were timed; everybody runs again before an assessor of another crew.",
				AgreedBy: p.worker(manager)})
		}
	})
}

// roundMarks are times that all end on a five or a nought.
func roundMarks(i int) g.StageMarks {
	marks := g.StageMarks{{Stage: g.S0}}
	for k, stage := range []g.Stage{g.S1, g.S2, g.S3, g.S4, g.S5, g.S6, g.S7, g.S8} {
		marks = append(marks, g.StageMark{Stage: stage, Seconds: []int{10, 15, 20, 45, 60, 75, 90, 100}[k] + 5*(i%3)})
	}
	return marks
}

// reviewsClosed: four of the five whom Sanna passed have run again by 19 December; the pass of the fifth is taken back.
func (p *player) reviewsClosed() {
	p.tellAt(p.at("2024-12-20 09:00"), func() {
		for i, who := range wronglyPassed[:4] {
			p.closeReview(p.wrongly[i], training.ReviewClosingForm{Outcome: g.ReviewRunAgain, Reason: "Run again before Gideon.", NewEntryID: p.passOf(who, g.PairKit, "2024-12-10", "2024-12-19")})
		}
	})
}

// passOf is the pass of somebody as lead in a method on one of some days.
func (p *player) passOf(who string, m g.Method, days ...string) g.EntryID {
	for _, day := range days {
		if id, passed := p.passed[pass{who, m, g.MustDate(day)}]; passed {
			return id
		}
	}
	if p.err == nil {
		p.err = fmt.Errorf("play: %s has no pass of %s on %v", who, m, days)
	}
	return ""
}

// Those who know T19 at Quillmere, two of Q2 and three of Q1. Conrad does not come to the drill in January.
var onT19 = []string{grainne, conrad, "Sunniva Ekdahl-Rix", "Bashir Omondi-Clay", "Rosalind Taumata-Fenn"}

// snow: five who know T19 are to drill again on 8 January, the last good day of all; the ground is closed. Each gets three weeks, not as a lone
// rescuer. Four have drilled by then, Conrad has not.
func (p *player) snow() {
	p.refresh(practice{start: "2024-01-09 10:00", end: "2024-01-09 14:00", device: "T19", assessor: gideon, methods: pair, people: onT19})
	closed := p.sessionForm(practice{start: "2025-01-08 08:30", end: "2025-01-08 12:30", device: "T19", assessor: gideon, methods: pair, people: onT19})
	var booked training.Booked
	p.tellAt(p.at("2024-12-11 11:00"), func() { booked = enter(p, coordinator, p.Desk.BookSession, closed) })
	p.tellAt(p.at("2025-01-08 06:30"), func() {
		enter(p, coordinator, p.Desk.Withdraw, training.WithdrawalForm{EntryID: g.EntryID(booked.Session.ID), Because: "Snow; the ground is closed."})
		for _, who := range onT19 {
			enter(p, coordinator, p.Desk.Extend, training.ExtensionForm{When: training.When{On: g.MustDate("2025-01-08")}, WorkerID: p.worker(who), Method: g.PairKit,
				FamilyID: "F3", FromOn: g.MustDate("2025-01-09"), ToOn: g.MustDate("2025-01-29"), ApproverID: p.worker(manager),
				Basis: "Snow closed the ground on the day of the drill; a new day is booked.", Conditions: "not as lone rescuer"})
		}
	})
	p.refresh(practice{start: "2025-01-28 13:00", end: "2025-01-28 16:30", device: "T19", assessor: gideon, methods: pair,
		people: []string{grainne, "Sunniva Ekdahl-Rix", "Bashir Omondi-Clay", "Rosalind Taumata-Fenn"}})
	for _, day := range []string{"2025-01-15", "2025-01-30"} {
		p.bookPast(pastJob{id: g.JobID("J-" + day[5:7] + day[8:] + "-Q2"), crew: "Q2", device: "T19", start: day + " 07:00", end: day + " 15:30", aloft: 1,
			methods: pair, place: "Sandgate, upper road", briefed: true})
	}
}

// newName: a name changes, the personnel list makes a second person of it, and HR makes them one again. A wrong merge of two relief workers
// is undone on the same day.
func (p *player) newName() {
	rename := training.NameForm{WorkerID: p.worker(ana), Name: anaNew, FromOn: g.MustDate("2025-03-01")}
	p.tellAt(p.at("2025-03-01 09:00"), func() { enter(p, ulf, p.Desk.RenameWorker, rename) })
	var second g.Worker
	p.tellAt(p.at("2025-03-03 07:30"), func() {
		second = enter(p, ulf, p.Desk.AddWorker, training.WorkerForm{Entry: training.Entry{CameBy: g.Imported}, Name: anaNew, Number: "9117", FromOn: g.MustDate("2025-03-01"),
			Grade: g.Qualified, YardID: quillmere, Employer: employer, Relation: g.Employee})
	})
	p.tellAt(p.at("2025-03-04 10:10"), func() {
		enter(p, ulf, p.Desk.Merge, training.MergeForm{KeptID: p.worker(ana), GoneID: second.ID, Reason: "The personnel list brought the new name as a new person."})
	})
	var wrong g.Merge
	p.tellAt(p.at("2025-03-04 10:40"), func() {
		wrong = enter(p, ulf, p.Desk.Merge, training.MergeForm{KeptID: p.worker("Owen Pryderi-Nash"), GoneID: p.worker("Viggo Tandberg-Eze"), Reason: "same first day, same yard"})
	})
	p.tellAt(p.at("2025-03-04 15:20"), func() {
		enter(p, ulf, p.Desk.Withdraw, training.WithdrawalForm{EntryID: wrong.ID, Because: "They are two people, and both were at the yard this morning."})
	})
}

// nearMiss: the bucket of E23 stops at eleven metres, and nobody of Q3 knows its lower controls. Two days later somebody enters that Jamie had been
// shown them on a day on which E23 was in the workshop. It is taken back.
func (p *player) nearMiss() {
	p.tellAt(p.at("2025-05-03 22:30"), func() {
		enter(p, coordinator, p.Desk.ReportEvent, training.RealEventForm{When: training.When{At: p.instant("2025-05-03 21:40")}, Kind: g.NearMiss, CrewID: "Q3", DeviceID: "E23",
			What: "bucket stuck at 11 m, nine minutes to lower; nobody on the ground knew the lower controls", CasualtyDownSeconds: 540, Hold: true})
	})
	r := training.RunForm{When: training.When{At: p.instant("2025-04-28 10:00")}, Method: g.Familiarisation, DeviceID: "E23", Announced: true, Complete: true,
		WorkClothes: g.Yes, WatchedBy: p.worker("Declan Szymborek"), Parts: []training.PartForm{{WorkerID: p.worker(junior), Role: g.Second}}}
	var claimed training.Drill
	p.tellAt(p.at("2025-05-05 08:12"), func() {
		claimed = enter(p, ana, p.Desk.RecordDrill, training.DrillForm{Runs: []training.RunForm{r}})
	})
	p.tellAt(p.at("2025-05-16 14:00"), func() {
		if p.err != nil {
			return
		}
		enter(p, coordinator, p.Desk.Withdraw, training.WithdrawalForm{EntryID: g.EntryID(claimed.Runs[0].ID),
			Because: "E23 was in the workshop from 24 to 30 April; nobody can have been shown its controls at Quillmere on the 28th."})
	})
}
