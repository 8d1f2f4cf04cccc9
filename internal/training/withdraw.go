package training

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// WithdrawalForm says that a record no longer holds.
type WithdrawalForm struct {
	EntryID  groundhand.EntryID
	Because  string
	Kind     groundhand.CorrectionKind // what was wrong; empty: it never was
	AskedBy  groundhand.WorkerID       // who asked; empty: the author
	AgreedBy groundhand.WorkerID       // who agreed besides the author; needed for the kinds IDENTITY and VALIDITY
}

// Withdraw enters a withdrawal of any record, also of a withdrawal, which makes the record hold again; that of a certificate is final. Whoever withdraws must be one who
// may enter records of that kind. With a run goes everybody's part in it.
func (d *Desk) Withdraw(ctx context.Context, by groundhand.Account, key string, f WithdrawalForm) (groundhand.Withdrawal, error) {
	return once(ctx, d, by, key, act{name: "withdraw", may: access.Withdraw}, f, one[groundhand.Withdrawal])
}

func (f WithdrawalForm) check(c *fields) {
	c.id("entryId", string(f.EntryID))
	c.needed("because", f.Because)
	noneOr(c, "kind", f.Kind, groundhand.TakenBack, groundhand.Clerical, groundhand.IdentityMistaken, groundhand.Factual, groundhand.ValidityMistaken)
	f.words().check(c)
}

func (f WithdrawalForm) words() correctionWords {
	w := correctionWords{f.Kind, f.Because, f.AskedBy, f.AgreedBy}
	if w.kind == "" {
		w.kind = groundhand.TakenBack
	}
	return w
}

func (f WithdrawalForm) enter(in *entering) groundhand.Withdrawal {
	w := in.withdraw(f)
	result(in, w.ID)
	return w
}

// withdraw enters a withdrawal with what hangs on it.
func (in *entering) withdraw(f WithdrawalForm) groundhand.Withdrawal {
	in.correcting("", f.words())
	w := in.withdrawal(f.EntryID, f.Because)
	add(in, w)
	if wellFormed(string(f.EntryID)) {
		in.withdrawable(f)
	}
	return w
}

func (in *entering) withdrawal(id groundhand.EntryID, because string) groundhand.Withdrawal {
	return groundhand.Withdrawal{ID: entryID(in), Recorded: in.told(Entry{Because: because}, When{At: in.now}), WithdrawsID: id}
}

// kinds are the records that can be withdrawn, by the table that keeps them: what they are called and how to see that one stands.
var kinds = map[string]struct {
	name  string
	known func(*entering, string, ...ref)
}{
	"workers":                {"worker", known[groundhand.Worker]},
	"worker_names":           {"name", known[groundhand.WorkerName]},
	"employments":            {"employment", known[groundhand.Employment]},
	"gradings":               {"grade", known[groundhand.Grading]},
	"postings":               {"home yard", known[groundhand.Posting]},
	"unavailabilities":       {"absence", known[groundhand.Unavailability]},
	"unavailability_reasons": {"reason", known[groundhand.UnavailabilityReason]},
	"yards":                  {"yard", known[groundhand.Yard]},
	"roads":                  {"road", known[groundhand.Road]},
	"crews":                  {"crew", known[groundhand.Crew]},
	"memberships":            {"membership", known[groundhand.Membership]},
	"families":               {"control family", known[groundhand.Family]},
	"devices":                {"device", known[groundhand.Device]},
	"kits":                   {"kit", known[groundhand.Kit]},
	"kit_placings":           {"placing", known[groundhand.KitPlacing]},
	"inspections":            {"inspection", known[groundhand.Inspection]},
	"plans":                  {"plan", known[groundhand.Plan]},
	"adoptions":              {"adoption", known[groundhand.Adoption]},
	"sessions":               {"session", known[groundhand.Session]},
	"bookings":               {"booking", known[groundhand.Booking]},
	"runs":                   {"run", known[groundhand.Run]},
	"run_parts":              {"part in a run", known[groundhand.RunPart]},
	"assessments":            {"assessment", known[groundhand.Assessment]},
	"authorities":            {"authority", known[groundhand.Authority]},
	"outside_evidences":      {"outside evidence", known[groundhand.OutsideEvidence]},
	"suspensions":            {"suspension", known[groundhand.Suspension]},
	"liftings":               {"lifting", known[groundhand.Lifting]},
	"extensions":             {"extension", known[groundhand.Extension]},
	"provisionals":           {"acceptance", known[groundhand.Provisional]},
	"rule_sets":              {"rule set", known[groundhand.RuleSet]},
	"certificates":           {"certificate", known[groundhand.Certificate]},
	"jobs":                   {"job", known[groundhand.Job]},
	"classings":              {"classing", known[groundhand.Classing]},
	"defects":                {"defect", known[groundhand.Defect]},
	"briefings":              {"briefing", known[groundhand.Briefing]},
	"shifts":                 {"shift", known[groundhand.Shift]},
	"replies":                {"answer given", known[groundhand.Reply]},
	"decisions":              {"decision", known[groundhand.Decision]},
	"column_mappings":        {"mapping of columns", known[groundhand.ColumnMapping]},
	"disputes":               {"dispute", known[groundhand.Dispute]},
	"assessor_findings":      {"finding", known[groundhand.AssessorFinding]},
	"reviews":                {"review", known[groundhand.Review]},
	"rule_proposals":         {"proposal", known[groundhand.RuleProposal]},
	"real_events":            {"real event", known[groundhand.RealEvent]},
	"worker_numbers":         {"number", known[groundhand.WorkerNumber]},
	"aliases":                {"alias", known[groundhand.Alias]},
	"merges":                 {"merge", known[groundhand.Merge]},
	"holds":                  {"hold", known[groundhand.Hold]},
	"retentions":             {"retention", known[groundhand.Retention]},
	"withdrawals":            {"withdrawal", known[groundhand.Withdrawal]},
}

// withdrawable refuses an id that nothing has, a record that no longer holds, and one that this account may not withdraw; and takes along
// what hangs on the record.
func (in *entering) withdrawable(f WithdrawalForm) {
	name := in.mayUndo(access.Withdraw, "entryId", f.EntryID)
	kind, is := kinds[name]
	if !is {
		return // refused by mayUndo
	}
	kind.known(in, kind.name, at("entryId", f.EntryID))
	switch name {
	case "runs":
		in.withdrawParts(f)
	case "run_parts":
		part, err := store.Get[groundhand.RunPart](in.ctx, in.tx, f.EntryID)
		if !in.failed(err) {
			in.mayAbout(access.RecordDrill, "entryId", part.WorkerID, part.HappenedOn)
		}
	case "assessments":
		a, err := store.Get[groundhand.Assessment](in.ctx, in.tx, f.EntryID)
		if !in.failed(err) {
			in.ownSignature("entryId", a)
		}
	case "memberships":
		m, err := store.Get[groundhand.Membership](in.ctx, in.tx, f.EntryID)
		if !in.failed(err) {
			in.mayMove("entryId", m)
		}
	case "inspections":
		look, err := store.Get[groundhand.Inspection](in.ctx, in.tx, f.EntryID)
		if !in.failed(err) {
			in.mayUndoLook("entryId", look, false)
		}
	case "defects":
		d, err := store.Get[groundhand.Defect](in.ctx, in.tx, f.EntryID)
		if !in.failed(err) {
			in.mayTakeBack("entryId", d.AuthorID)
		}
	case "briefings":
		in.mayUndoBriefing(f.EntryID)
	case "decisions":
		in.mayUndoDecision(f.EntryID)
	case "withdrawals":
		in.staysWithdrawn(f.EntryID)
		in.restoreParts(f)
	default:
		in.mayUndoJudgement(name, f)
	}
}

// mayUndoBriefing keeps a foreman to what was answered for the own crew.
func (in *entering) mayUndoBriefing(id groundhand.EntryID) {
	b, err := store.Get[groundhand.Briefing](in.ctx, in.tx, id)
	if in.failed(err) {
		return
	}
	job, err := store.Get[groundhand.Job](in.ctx, in.tx, b.JobID)
	if !in.failed(err) && access.May(in.by, access.Brief) == nil { // else it is refused already
		in.mayCrew(access.Brief, "entryId", job.CrewID, When{At: job.StartAt}.day(&in.fields))
	}
}

// mayUndoDecision keeps a foreman to what was decided for the own crew.
func (in *entering) mayUndoDecision(id groundhand.EntryID) {
	d, err := store.Get[groundhand.Decision](in.ctx, in.tx, id)
	if in.failed(err) {
		return
	}
	reply, err := store.Get[groundhand.Reply](in.ctx, in.tx, d.ReplyID)
	if !in.failed(err) && access.May(in.by, access.Decide) == nil { // else it is refused already
		in.mayCrew(access.Decide, "entryId", reply.CrewID, in.dayOfReply(reply))
	}
}

// withdrawParts withdraws the parts in a run together with the run: they are practice of their own.
func (in *entering) withdrawParts(f WithdrawalForm) {
	parts, err := store.FindStanding[groundhand.RunPart](in.ctx, in.tx, store.ByRun, []groundhand.EntryID{f.EntryID})
	if in.failed(err) {
		return
	}
	for _, p := range parts {
		in.mayAbout(access.RecordDrill, "entryId", p.WorkerID, p.HappenedOn)
		add(in, in.withdrawal(p.ID, f.Because))
	}
}

// restoreParts brings back, with a run whose withdrawal is withdrawn, the parts that went with it: those withdrawn in the same moment.
func (in *entering) restoreParts(f WithdrawalForm) {
	w, err := store.Get[groundhand.Withdrawal](in.ctx, in.tx, f.EntryID)
	if in.failed(err) {
		return
	}
	parts, err := store.Find[groundhand.RunPart](in.ctx, in.tx, store.ByRun, []groundhand.EntryID{w.WithdrawsID})
	if in.failed(err) {
		return
	}
	ids := make([]groundhand.EntryID, len(parts))
	for i, p := range parts {
		ids[i] = p.ID
	}
	gone, err := store.FindStanding[groundhand.Withdrawal](in.ctx, in.tx, store.ByWithdrawn, ids)
	in.failed(err)
	for _, g := range gone {
		if g.RecordedAt == w.RecordedAt {
			add(in, in.withdrawal(g.ID, f.Because))
		}
	}
}
