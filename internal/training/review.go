package training

import (
	"context"
	"slices"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// FindingForm says that an assessor could not sign over a time: no authority, own practice not good, or not to be believed.
type FindingForm struct {
	Entry
	AssessorID groundhand.WorkerID
	FromOn     groundhand.Date
	ToOn       groundhand.Date // last day, not ahead
	Reason     string
}

// Found is a finding with the reviews that it opened, in the order in which the passes were recorded.
type Found struct {
	Finding groundhand.AssessorFinding
	Reviews []groundhand.Review
}

// FindAssessorInvalid enters a finding and puts every standing pass that the assessor signed in those days into review, in one step.
func (d *Desk) FindAssessorInvalid(ctx context.Context, by groundhand.Account, key string, f FindingForm) (Found, error) {
	return once(ctx, d, by, key, act{name: "findAssessorInvalid", may: access.ReviewEntries}, f, foundAgain)
}

func foundAgain(ctx context.Context, s *store.Store, ids []string) (out Found, err error) {
	if out.Finding, err = one[groundhand.AssessorFinding](ctx, s, ids); err == nil {
		out.Reviews, err = manyAgain[groundhand.Review](ctx, s, ids[1:])
	}
	return out, err
}

func (f FindingForm) check(c *fields) {
	f.Entry.check(c)
	f.Entry.notReplaced(c)
	c.id("assessorId", string(f.AssessorID))
	c.closedStretch(f.FromOn, f.ToOn)
	if f.ToOn > c.today() {
		c.wrong("toOn", "This lies ahead; only what was signed already can be looked at again.")
	}
	c.needed("reason", f.Reason)
}

func (f FindingForm) enter(in *entering) Found {
	known[groundhand.Worker](in, "worker", at("assessorId", f.AssessorID))
	out := Found{Finding: groundhand.AssessorFinding{ID: entryID(in), Recorded: in.told(f.Entry, When{At: in.now}), AssessorID: f.AssessorID,
		FromOn: f.FromOn, ToOn: f.ToOn, Reason: f.Reason}}
	add(in, out.Finding)
	result(in, out.Finding.ID)
	passes, err := store.FindStanding[groundhand.Assessment](in.ctx, in.tx, store.ByAssessor, []groundhand.WorkerID{f.AssessorID})
	in.failed(err)
	for _, a := range passes {
		if a.Result == groundhand.Pass && f.FromOn <= a.HappenedOn && a.HappenedOn <= f.ToOn {
			out.Reviews = append(out.Reviews, in.review(a.ID, groundhand.AssessorFoundInvalid, out.Finding.ID, a.WorkerID))
		}
	}
	if len(out.Reviews) > mostReviews {
		in.Add(groundhand.CodeTooLarge, "fromOn", "That would open %d reviews; take fewer days, so that it is at most %d.", len(out.Reviews), mostReviews)
	}
	add(in, out.Reviews...)
	for _, r := range out.Reviews {
		result(in, r.ID)
	}
	return out
}

// ReviewForm asks that an entry, an answer given or a certificate be looked at again.
type ReviewForm struct {
	Entry
	EntryID groundhand.EntryID
	Cause   groundhand.ReviewCause // DISPUTED or IMPLAUSIBLE; the others follow from what is entered
	Reason  string
}

// OpenReview enters a review. It is a question, never a verdict: the entry counts until somebody corrects or withdraws it.
func (d *Desk) OpenReview(ctx context.Context, by groundhand.Account, key string, f ReviewForm) (groundhand.Review, error) {
	return once(ctx, d, by, key, act{name: "openReview", may: access.ReviewEntries}, f, one[groundhand.Review])
}

func (f ReviewForm) check(c *fields) {
	f.Entry.check(c)
	f.Entry.notReplaced(c)
	c.id("entryId", string(f.EntryID))
	oneOf(c, "cause", f.Cause, groundhand.Disputed, groundhand.Implausible)
	c.needed("reason", f.Reason)
}

func (f ReviewForm) enter(in *entering) groundhand.Review {
	r := in.review(f.EntryID, f.Cause, f.EntryID, "")
	r.Recorded = in.told(f.Entry, When{At: in.now})
	r.Because = f.Reason
	if s, ok := in.standingSubject("entryId", f.EntryID); ok {
		r.WorkerID = s.worker
		in.notInReview(f)
	}
	if d, open := in.openDispute(f.EntryID); open && f.Cause == groundhand.Disputed {
		r.CauseID = d.ID
	} else if f.Cause == groundhand.Disputed {
		in.Add(groundhand.CodeConflict, "cause", "Nobody disputes this entry; say why it is to be looked at again.")
	}
	add(in, r)
	result(in, r.ID)
	return r
}

func (in *entering) notInReview(f ReviewForm) {
	open, err := in.openReviews([]groundhand.EntryID{f.EntryID})
	if !in.failed(err) && slices.ContainsFunc(open, func(r groundhand.Review) bool { return r.Cause == f.Cause }) {
		in.Add(groundhand.CodeConflict, "entryId", "This is in review for the same cause already.")
	}
}

// standingSubject tells whom an entry concerns, and refuses one that nobody has, that no longer stands or that cannot be looked at again.
func (in *entering) standingSubject(field string, id groundhand.EntryID) (subject, bool) {
	if !wellFormed(string(id)) {
		return subject{}, false
	}
	kind, s, err := in.subjectOf(id)
	if err != nil {
		in.refuseOr(field, err)
		return s, false
	}
	is, may := kinds[kind]
	if !may || kind == "withdrawals" {
		in.Add(groundhand.CodeConflict, field, "Records of this kind are not looked at again.")
		return s, false
	}
	is.known(in, is.name, at(field, id))
	return s, true
}

// ReviewClosingForm ends a review.
type ReviewClosingForm struct {
	Entry
	ReviewID   groundhand.EntryID
	Outcome    groundhand.ReviewOutcome
	Reason     string
	NewEntryID groundhand.EntryID // the pass that was run again, or what stands in the place of the entry
	// AgreedBy is who agreed that the entry be withdrawn; needed for the outcome WITHDRAWN, unless it was withdrawn before.
	AgreedBy groundhand.WorkerID
}

// CloseReview enters the decision that ends a review. With the outcome WITHDRAWN the entry is withdrawn in the same step.
func (d *Desk) CloseReview(ctx context.Context, by groundhand.Account, key string, f ReviewClosingForm) (groundhand.ReviewClosing, error) {
	return once(ctx, d, by, key, act{name: "closeReview", may: access.ReviewEntries}, f, one[groundhand.ReviewClosing])
}

func (f ReviewClosingForm) check(c *fields) {
	f.Entry.check(c)
	f.Entry.notReplaced(c)
	c.id("reviewId", string(f.ReviewID))
	oneOf(c, "outcome", f.Outcome, groundhand.ReviewStands, groundhand.ReviewRunAgain, groundhand.ReviewWithdrawn, groundhand.ReviewReplaced)
	c.needed("reason", f.Reason)
	c.maybeID("newEntryId", string(f.NewEntryID))
	c.maybeID("agreedBy", string(f.AgreedBy))
	names := f.Outcome == groundhand.ReviewRunAgain || f.Outcome == groundhand.ReviewReplaced
	switch {
	case names && f.NewEntryID == "":
		c.wrong("newEntryId", "Say which entry stands in its place.")
	case !names && f.NewEntryID != "":
		c.wrong("newEntryId", "With this outcome nothing stands in its place.")
	}
}

func (f ReviewClosingForm) enter(in *entering) groundhand.ReviewClosing {
	made := groundhand.ReviewClosing{ID: entryID(in), Recorded: in.told(f.Entry, When{At: in.now}), ReviewID: f.ReviewID, Outcome: f.Outcome,
		Reason: f.Reason, NewEntryID: f.NewEntryID}
	if r, ok := fetch[groundhand.Review](in, "review", at("reviewId", f.ReviewID)); ok {
		in.stillOpen(r)
		f.decide(in, r)
	}
	add(in, made)
	result(in, made.ID)
	return made
}

func (in *entering) stillOpen(r groundhand.Review) {
	closed, err := store.FindStanding[groundhand.ReviewClosing](in.ctx, in.tx, store.ByReview, []groundhand.EntryID{r.ID})
	if !in.failed(err) && len(closed) > 0 {
		in.Add(groundhand.CodeConflict, "reviewId", "This review was closed on %s.", closed[0].HappenedOn)
	}
}

// decide holds the outcome against the records.
func (f ReviewClosingForm) decide(in *entering, r groundhand.Review) {
	switch f.Outcome {
	case groundhand.ReviewStands:
		in.notOwnSignature(r, "outcome")
		if mark, is := in.marked(r.EntryID); is {
			in.Add(groundhand.CodeConflict, "outcome", "The certificate was withdrawn or replaced on %s, and that is final; close the review with that.", in.clock(mark.At))
		}
	case groundhand.ReviewRunAgain:
		f.ranAgain(in, r)
	case groundhand.ReviewWithdrawn:
		f.withdraws(in, r)
	case groundhand.ReviewReplaced:
		f.replaced(in, r)
	}
}

// notOwnSignature keeps whoever signed an entry, and whom it is about, from deciding that it stands. That decision is somebody's by name.
func (in *entering) notOwnSignature(r groundhand.Review, field string) {
	_, s, err := in.subjectOf(in.evidenceOf(r.EntryID))
	switch {
	case in.failed(err):
	case in.by.WorkerID == "":
		in.Add(groundhand.CodeForbidden, field, "That an entry stands is somebody's decision by name; this account belongs to no worker.")
	case in.by.WorkerID == s.worker || s.signed(in.by.WorkerID):
		in.breaks(groundhand.OwnFinding, s.worker, groundhand.CodeForbidden, field, "Nobody decides that an own entry or signature stands; somebody else has to.")
	}
}

// evidenceOf is what a certificate rests on, or the entry itself.
func (in *entering) evidenceOf(id groundhand.EntryID) groundhand.EntryID {
	if cert, is := in.certificate(id); is {
		return cert.EvidenceID
	}
	return id
}

func (in *entering) certificate(id groundhand.EntryID) (groundhand.Certificate, bool) {
	found, err := store.Find[groundhand.Certificate](in.ctx, in.tx, store.ByID, []groundhand.EntryID{id})
	if in.failed(err) || len(found) == 0 {
		return groundhand.Certificate{}, false
	}
	return found[0], true
}

// ranAgain asks for a later pass in the same by another assessor.
func (f ReviewClosingForm) ranAgain(in *entering, r groundhand.Review) {
	now, ok := fetch[groundhand.Assessment](in, "assessment", at("newEntryId", f.NewEntryID))
	if !ok {
		return
	}
	before, err := store.Find[groundhand.Assessment](in.ctx, in.tx, store.ByID, []groundhand.EntryID{in.evidenceOf(r.EntryID)})
	if in.failed(err) {
		return
	}
	if len(before) == 0 {
		in.Add(groundhand.CodeConflict, "outcome", "What is in review is no assessment; it cannot be run again.")
		return
	}
	was := before[0]
	switch {
	case now.Result != groundhand.Pass || now.Theory:
		in.Add(groundhand.CodeConflict, "newEntryId", "That assessment is no pass in practice.")
	case now.WorkerID != was.WorkerID || now.Method != was.Method || now.Role != was.Role || now.FamilyID != was.FamilyID:
		in.Add(groundhand.CodeConflict, "newEntryId", "That pass is of another worker, method, role or control family than what is in review.")
	case now.ID == was.ID || now.HappenedOn < was.HappenedOn || now.HappenedOn == was.HappenedOn && now.HappenedAt <= was.HappenedAt:
		in.Add(groundhand.CodeConflict, "newEntryId", "That pass of %s does not come after what is in review.", now.HappenedOn)
	case now.AssessorID == was.AssessorID:
		in.Add(groundhand.CodeConflict, "newEntryId", "The same assessor signed that pass; it is run again before another one.")
	}
}

// withdraws takes the entry back, unless somebody has done so already.
func (f ReviewClosingForm) withdraws(in *entering, r groundhand.Review) {
	if mark, is := in.marked(r.EntryID); is {
		if mark.Replaced {
			in.Add(groundhand.CodeConflict, "outcome", "The certificate was replaced on %s; close the review with the outcome REPLACED and name the new one.", in.clock(mark.At))
		}
		return
	}
	gone, err := store.FindStanding[groundhand.Withdrawal](in.ctx, in.tx, store.ByWithdrawn, []groundhand.EntryID{r.EntryID})
	if in.failed(err) || len(gone) > 0 {
		return
	}
	w := WithdrawalForm{EntryID: r.EntryID, Because: f.Reason, Kind: groundhand.ValidityMistaken, AgreedBy: f.AgreedBy}
	w.words().check(&in.fields)
	in.withdraw(w)
}

// replaced asks for what took the place of the entry: the one that corrects it, a later answer about the same, or a certificate that rests on
// what corrects the evidence.
func (f ReviewClosingForm) replaced(in *entering, r groundhand.Review) {
	s, ok := in.standingSubject("newEntryId", f.NewEntryID)
	if !ok {
		return
	}
	line, err := in.lineOf(f.NewEntryID)
	if in.failed(err) || f.NewEntryID != r.EntryID && slices.Contains(line, r.EntryID) {
		return
	}
	if !in.certifiedAnew(f.NewEntryID, r.EntryID) && !in.answeredAnew(f.NewEntryID, r.EntryID, s) {
		in.Add(groundhand.CodeConflict, "newEntryId", "That does not stand in the place of what is in review.")
	}
}

func (in *entering) certifiedAnew(now, was groundhand.EntryID) bool {
	fresh, is := in.certificate(now)
	old, also := in.certificate(was)
	if !is || !also || fresh.ID == old.ID || fresh.RecordedAt <= old.RecordedAt {
		return false
	}
	line, err := in.lineOf(fresh.EvidenceID)
	return !in.failed(err) && slices.Contains(line, old.EvidenceID)
}

func (in *entering) answeredAnew(now, was groundhand.EntryID, s subject) bool {
	both, err := store.Find[groundhand.Reply](in.ctx, in.tx, store.ByID, []groundhand.EntryID{was, now})
	if in.failed(err) || len(both) != 2 { // in recorded order
		return false
	}
	return groundhand.EntryID(both[1].ID) == now && both[0].CrewID == both[1].CrewID && both[0].JobID == both[1].JobID && s.RecordedAt > both[0].RecordedAt
}
