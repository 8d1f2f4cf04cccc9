package training

import (
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// mayUndoJudgement keeps a withdrawal from being the easy way around a second person: what two people did, or what is about the one who
// withdraws, is not taken back by one alone.
func (in *entering) mayUndoJudgement(kind string, f WithdrawalForm) {
	switch kind {
	case "disputes":
		if d, err := store.Get[groundhand.Dispute](in.ctx, in.tx, f.EntryID); !in.failed(err) && d.WorkerID != in.by.WorkerID {
			in.Add(groundhand.CodeForbidden, "entryId", "Whoever disputes an entry takes that back; others rule on it.")
		}
	case "assessor_findings":
		in.mayUndoFinding(f)
	case "reviews":
		if r, err := store.Get[groundhand.Review](in.ctx, in.tx, f.EntryID); !in.failed(err) {
			in.mayUndoReview(r)
		}
	case "rule_sets":
		if f.AgreedBy == "" {
			in.Add(groundhand.CodeInvalid, "agreedBy", "Say who agreed; rules are approved by two people, and taken back by two.")
		}
	}
}

// mayUndoFinding takes the open reviews along: without the finding there is nothing to look at again.
func (in *entering) mayUndoFinding(f WithdrawalForm) {
	finding, err := store.Get[groundhand.AssessorFinding](in.ctx, in.tx, f.EntryID)
	if in.failed(err) {
		return
	}
	in.notForSelf(groundhand.OwnFinding, "entryId", finding.AssessorID, "Nobody takes back a finding about self; somebody else has to.")
	reviews, err := store.FindStanding[groundhand.Review](in.ctx, in.tx, store.ByCause, []groundhand.EntryID{f.EntryID})
	in.failed(err)
	for _, r := range reviews {
		closed, err := store.FindStanding[groundhand.ReviewClosing](in.ctx, in.tx, store.ByReview, []groundhand.EntryID{r.ID})
		if !in.failed(err) && len(closed) == 0 {
			add(in, in.withdrawal(r.ID, f.Because))
		}
	}
}

// mayUndoReview refuses to take back a review that followed from something, or of an own entry: such a review is closed, with a reason.
func (in *entering) mayUndoReview(r groundhand.Review) {
	if r.Cause != groundhand.Disputed && r.Cause != groundhand.Implausible {
		in.Add(groundhand.CodeConflict, "entryId", "This review followed from another entry; it is closed, not withdrawn.")
		return
	}
	in.notOwnSignature(r, "entryId")
}
