package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// disputed: Gideon passed Maren and failed Keahi; Keahi says that it was not so.
type disputed struct {
	*scene
	keahis  groundhand.Account
	fail    groundhand.Assessment
	dispute groundhand.Dispute
	judge   groundhand.Account
}

func aDispute(t *testing.T) *disputed {
	s := &disputed{scene: newScene(t)}
	must(s.scene, s.desk.GrantAuthority, s.authority(s.gideon))
	f := s.pass(s.keahi)
	f.Result = groundhand.Fail
	s.fail = must(s.scene, s.desk.Assess, f)
	s.keahis = s.account("keahi", groundhand.FieldWorker, s.keahi)
	s.judge = s.account("maren", groundhand.HR, s.maren)
	form := DisputeForm{EntryID: s.fail.ID, Claim: "I did the hazard check; Tomasz saw it"}
	var err error
	s.dispute, err = s.desk.Dispute(s.ctx, s.keahis, "d", form)
	require.NoError(t, err)
	again, err := s.desk.Dispute(s.ctx, s.keahis, "d", form)
	require.NoError(t, err)
	require.Equal(t, s.dispute, again)
	return s
}

func (s *disputed) rule(by groundhand.Account, outcome groundhand.RulingOutcome, putRight groundhand.EntryID) func() error {
	return func() error {
		_, err := s.desk.RuleOnDispute(s.ctx, by, s.key(), RulingForm{DisputeID: s.dispute.ID, Outcome: outcome, Reason: "both were heard", PutRightByID: putRight})
		return err
	}
}

func TestAWorkerDisputesWhatIsSaidAboutThem(t *testing.T) {
	s := aDispute(t)
	assert.Equal(t, []any{s.keahi, s.fail.ID, s.keahi}, []any{s.dispute.WorkerID, s.dispute.EntryID, s.dispute.AuthorID})
	dispute := func(by groundhand.Account, id groundhand.EntryID, claim string) func() error {
		return func() error {
			_, err := s.desk.Dispute(s.ctx, by, s.key(), DisputeForm{EntryID: id, Claim: claim})
			return err
		}
	}
	s.refused(dispute(s.keahis, s.fail.ID, "again"), "CONFLICT entryId")
	s.refused(dispute(s.keahis, s.fail.ID, ""), "INVALID claim", "CONFLICT entryId")
	s.refused(dispute(s.keahis, "e9", "no"), "NOT_FOUND entryId")
	s.refused(dispute(s.keahis, "' OR 1=1 --", "no"), "INVALID entryId")
	other := must(s.scene, s.desk.Assess, s.pass(s.maren))
	s.refused(dispute(s.keahis, other.ID, "hers is not good"), "FORBIDDEN entryId")
	s.refused(dispute(s.account("auditor", groundhand.Auditor, s.tomasz), s.fail.ID, "no"), "FORBIDDEN")
	s.refused(dispute(s.account("no worker", groundhand.Assessor, ""), s.fail.ID, "no"), "FORBIDDEN")
	require.NoError(t, dispute(s.assessor, other.ID, "that is not my signature")(), "who signed it may say so too")
	drill := must(s.scene, s.desk.RecordDrill, s.drill())
	require.NoError(t, dispute(s.keahis, groundhand.EntryID(drill.Runs[0].ID), "that was another morning")(), "who took part in a run too")
	must(s.scene, s.desk.Withdraw, WithdrawalForm{EntryID: drill.Parts[2].ID, Because: "not there"})
	s.refused(dispute(s.keahis, drill.Parts[2].ID, "gone"), "CONFLICT entryId")
}

func TestNobodyRulesOnTheirOwnDisputeOrEntry(t *testing.T) {
	s := aDispute(t)
	for name, by := range map[string]groundhand.WorkerID{"the disputant": s.keahi, "the assessor": s.gideon} {
		s.refused(s.rule(s.account(name, groundhand.Coordinator, by), groundhand.NotUpheld, ""), "FORBIDDEN disputeId")
	}
	noted := s.attempts()
	require.Len(t, noted, 2)
	for _, a := range noted {
		assert.Equal(t, []any{groundhand.OwnDispute, s.keahi}, []any{a.Rule, a.WorkerID})
	}
	s.refused(s.rule(s.account("nobody", groundhand.HR, ""), groundhand.NotUpheld, ""), "FORBIDDEN disputeId")
	s.refused(s.rule(s.keahis, groundhand.NotUpheld, ""), "FORBIDDEN")
	require.NoError(t, s.rule(s.judge, groundhand.NotUpheld, "")())
	s.refused(s.rule(s.judge, groundhand.NotUpheld, ""), "CONFLICT disputeId")
	_, err := s.desk.Dispute(s.ctx, s.keahis, "once more", DisputeForm{EntryID: s.fail.ID, Claim: "there is a photograph"})
	assert.NoError(t, err, "a new dispute after a ruling")
}

func TestADisputeThatIsUpheldHasBeenPutRight(t *testing.T) {
	s := aDispute(t)
	s.refused(s.rule(s.judge, groundhand.Upheld, ""), "INVALID putRightById")
	s.refused(s.rule(s.judge, groundhand.Upheld, s.fail.ID), "CONFLICT putRightById")
	s.refused(s.rule(s.judge, groundhand.NotUpheld, s.fail.ID), "INVALID putRightById", "CONFLICT putRightById")
	s.refused(s.rule(s.judge, "PERHAPS", ""), "INVALID outcome")
	gone := must(s.scene, s.desk.Withdraw, WithdrawalForm{EntryID: s.fail.ID, Because: "another one's sheet", AskedBy: s.keahi})
	back := must(s.scene, s.desk.Withdraw, WithdrawalForm{EntryID: gone.ID, Because: "no"})
	s.refused(s.rule(s.judge, groundhand.Upheld, gone.ID), "CONFLICT putRightById")
	s.refused(s.rule(s.judge, groundhand.Upheld, back.ID), "CONFLICT putRightById")
	f := s.pass(s.keahi)
	f.Entry = Entry{Replaces: s.fail.ID, Because: "Tomasz saw the hazard check", AskedBy: s.keahi}
	f.Result = groundhand.NotCompleted
	right := must(s.scene, s.desk.Assess, f)
	require.NoError(t, s.rule(s.judge, groundhand.Upheld, right.ID)())
}

func TestWhoTakesBackADisputeOrARuling(t *testing.T) {
	s := aDispute(t)
	withdraw := func(by groundhand.Account, id groundhand.EntryID) func() error {
		return func() error {
			_, err := s.desk.Withdraw(s.ctx, by, s.key(), WithdrawalForm{EntryID: id, Because: "settled"})
			return err
		}
	}
	s.refused(withdraw(s.coordinator, s.dispute.ID), "FORBIDDEN entryId")
	own := s.account("keahi too", groundhand.Assessor, s.keahi)
	require.NoError(t, withdraw(own, s.dispute.ID)(), "who disputes takes it back")
	s.refused(s.rule(s.judge, groundhand.NotUpheld, ""), "CONFLICT disputeId")

	var err error
	s.dispute, err = s.desk.Dispute(s.ctx, s.keahis, "d2", DisputeForm{EntryID: s.fail.ID, Claim: "all the same"})
	require.NoError(t, err)
	require.NoError(t, s.rule(s.judge, groundhand.NotUpheld, "")())
	in := &entering{ctx: s.ctx, tx: s.store}
	s.refused(withdraw(s.judge, in.rulings(s.dispute.ID)[0].ID), "FORBIDDEN entryId")
}
