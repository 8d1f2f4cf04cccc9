package training

import (
	"context"
	"slices"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// DisputeForm says that an entry about oneself, or in one's own name, is wrong.
type DisputeForm struct {
	Entry
	EntryID groundhand.EntryID
	Claim   string
}

// Dispute enters a dispute. It changes nothing but is seen beside the entry until somebody has ruled on it.
func (d *Desk) Dispute(ctx context.Context, by groundhand.Account, key string, f DisputeForm) (groundhand.Dispute, error) {
	return once(ctx, d, by, key, act{name: "dispute", may: access.Dispute}, f, one[groundhand.Dispute])
}

func (f DisputeForm) check(c *fields) {
	f.Entry.check(c)
	f.Entry.notReplaced(c)
	c.id("entryId", string(f.EntryID))
	c.needed("claim", f.Claim)
}

func (f DisputeForm) enter(in *entering) groundhand.Dispute {
	if s, ok := in.standingSubject("entryId", f.EntryID); ok {
		if !s.concerns(in.by.WorkerID) && !in.tookPart(f.EntryID) {
			in.Add(groundhand.CodeForbidden, "entryId", "This entry is neither about you nor signed by you; only such an entry can be disputed.")
		} else if open, is := in.openDispute(f.EntryID); is {
			in.Add(groundhand.CodeConflict, "entryId", "This entry is disputed since %s; it is ruled on first.", open.HappenedOn)
		}
	}
	d := groundhand.Dispute{ID: entryID(in), Recorded: in.told(f.Entry, When{At: in.now}), WorkerID: in.by.WorkerID, EntryID: f.EntryID, Claim: f.Claim}
	add(in, d)
	result(in, d.ID)
	return d
}

// tookPart says that the entry is a run in which the author has a part.
func (in *entering) tookPart(id groundhand.EntryID) bool {
	parts, err := store.FindStanding[groundhand.RunPart](in.ctx, in.tx, store.ByRun, []groundhand.EntryID{id})
	return !in.failed(err) && slices.ContainsFunc(parts, func(p groundhand.RunPart) bool { return p.WorkerID == in.by.WorkerID })
}

// openDispute gives the dispute of an entry on which nobody has ruled.
func (in *entering) openDispute(id groundhand.EntryID) (groundhand.Dispute, bool) {
	all, err := store.FindStanding[groundhand.Dispute](in.ctx, in.tx, store.ByEntry, []groundhand.EntryID{id})
	if in.failed(err) {
		return groundhand.Dispute{}, false
	}
	for _, d := range all {
		if len(in.rulings(d.ID)) == 0 {
			return d, true
		}
	}
	return groundhand.Dispute{}, false
}

func (in *entering) rulings(dispute groundhand.EntryID) []groundhand.Ruling {
	found, err := store.FindStanding[groundhand.Ruling](in.ctx, in.tx, store.ByDispute, []groundhand.EntryID{dispute})
	in.failed(err)
	return found
}

// RulingForm ends a dispute.
type RulingForm struct {
	Entry
	DisputeID    groundhand.EntryID
	Outcome      groundhand.RulingOutcome
	Reason       string
	PutRightByID groundhand.EntryID // the entry or the withdrawal by which it was put right; needed when it is upheld
}

// RuleOnDispute enters a ruling, by somebody who neither disputes nor stands behind the entry.
func (d *Desk) RuleOnDispute(ctx context.Context, by groundhand.Account, key string, f RulingForm) (groundhand.Ruling, error) {
	return once(ctx, d, by, key, act{name: "ruleOnDispute", may: access.RuleOnDispute}, f, one[groundhand.Ruling])
}

func (f RulingForm) check(c *fields) {
	f.Entry.check(c)
	f.Entry.notReplaced(c)
	c.id("disputeId", string(f.DisputeID))
	oneOf(c, "outcome", f.Outcome, groundhand.Upheld, groundhand.NotUpheld)
	c.needed("reason", f.Reason)
	c.maybeID("putRightById", string(f.PutRightByID))
	switch {
	case f.Outcome == groundhand.Upheld && f.PutRightByID == "":
		c.wrong("putRightById", "Correct or withdraw the entry first, and name the correction or the withdrawal here.")
	case f.Outcome == groundhand.NotUpheld && f.PutRightByID != "":
		c.wrong("putRightById", "When a dispute is not upheld there is nothing to put right.")
	}
}

func (f RulingForm) enter(in *entering) groundhand.Ruling {
	if d, ok := fetch[groundhand.Dispute](in, "dispute", at("disputeId", f.DisputeID)); ok {
		f.mayRule(in, d)
		f.putRight(in, d)
		if before := in.rulings(d.ID); len(before) > 0 {
			in.Add(groundhand.CodeConflict, "disputeId", "This dispute was ruled on on %s.", before[0].HappenedOn)
		}
	}
	r := groundhand.Ruling{ID: entryID(in), Recorded: in.told(f.Entry, When{At: in.now}), DisputeID: f.DisputeID, Outcome: f.Outcome,
		Reason: f.Reason, PutRightByID: f.PutRightByID}
	add(in, r)
	result(in, r.ID)
	return r
}

// mayRule asks for somebody by name who has no part in the matter.
func (f RulingForm) mayRule(in *entering, d groundhand.Dispute) {
	_, s, err := in.subjectOf(d.EntryID)
	me := in.by.WorkerID
	switch {
	case in.failed(err):
	case me == "":
		in.Add(groundhand.CodeForbidden, "disputeId", "A ruling is somebody's by name; this account belongs to no worker.")
	case me == d.WorkerID || s.concerns(me):
		in.breaks(groundhand.OwnDispute, d.WorkerID, groundhand.CodeForbidden, "disputeId", "Nobody rules on an own dispute, or on an entry about self or signed by self; somebody else has to.")
	}
}

// putRight asks that what is named did correct or withdraw the disputed entry, and still stands.
func (f RulingForm) putRight(in *entering, d groundhand.Dispute) {
	if !wellFormed(string(f.PutRightByID)) {
		return
	}
	made, err := store.FindStanding[groundhand.Correction](in.ctx, in.tx, store.ByCorrected, []groundhand.EntryID{d.EntryID})
	if in.failed(err) {
		return
	}
	if !slices.ContainsFunc(made, func(c groundhand.Correction) bool { return c.ByID == f.PutRightByID }) {
		in.Add(groundhand.CodeConflict, "putRightById", "That neither corrects nor withdraws the disputed entry.")
		return
	}
	kind, err := in.tx.KindOf(in.ctx, f.PutRightByID)
	if is, listed := kinds[kind]; !in.failed(err) && listed {
		is.known(in, is.name, at("putRightById", f.PutRightByID))
	}
}
