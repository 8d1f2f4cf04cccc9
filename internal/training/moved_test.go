package training

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// move is one call for certificates to follow.
type move struct {
	by       groundhand.AccountID
	was, now groundhand.EntryID
	because  string
}

// movers keeps what it was asked, and issues or withdraws as the certificate's own office would: in the same transaction.
type movers struct {
	*scene
	asked []move
	fails error
	fresh groundhand.CertificateID // the number given next to what stands in the place; empty: it is withdrawn
}

func (m *movers) follow(ctx context.Context, tx *store.Store, by groundhand.Account, was, now groundhand.EntryID, because string) error {
	m.asked = append(m.asked, move{by.ID, was, now, because})
	certs, err := store.FindStanding[groundhand.Certificate](ctx, tx, store.ByEvidence, []groundhand.EntryID{was})
	if err != nil || m.fails != nil {
		return errors.Join(err, m.fails)
	}
	for _, c := range certs {
		if now == "" || m.fresh == "" {
			w := groundhand.Withdrawal{ID: groundhand.EntryID(tx.NewID()), Recorded: c.Recorded, WithdrawsID: groundhand.EntryID(c.ID)}
			w.RecordedAt, w.ReplacesID, w.Because = tx.Now(), "", because
			if err := store.Add(ctx, tx, w); err != nil {
				return err
			}
			continue
		}
		c.ReplacesID, c.Because, c.RecordedAt = groundhand.EntryID(c.ID), because, tx.Now()
		c.ID, c.EvidenceID, m.fresh = m.fresh, now, ""
		if err := store.Add(ctx, tx, c); err != nil {
			return err
		}
	}
	return nil
}

// moving is a company whose passes Gideon signs, and whose certificates follow.
func moving(t *testing.T) *movers {
	m := &movers{scene: newScene(t)}
	m.shippedRules()
	must(m.scene, m.desk.GrantAuthority, m.authority(m.gideon))
	m.practise(m.gideon, "2024-06-20")
	m.desk.MoveCertificates(m.follow)
	return m
}

// assessed gives somebody a pass with a certificate.
func (m *movers) assessed(who groundhand.WorkerID, number groundhand.CertificateID) groundhand.Assessment {
	m.t.Helper()
	pass := must(m.scene, m.desk.Assess, m.pass(who))
	m.certificate(number, pass)
	return pass
}

// practised gives a certificate for a part in a run.
func (m *movers) practised(part groundhand.RunPart, number groundhand.CertificateID) {
	m.t.Helper()
	require.NoError(m.t, m.store.InTx(m.ctx, func(tx *store.Store) error {
		return store.Add(m.ctx, tx, groundhand.Certificate{ID: number, WorkerID: part.WorkerID, PersonName: "Maren Oduya", Employer: "Halverra Lines", Method: groundhand.PairKit, Role: part.Role,
			FamilyID: "F1", EvidenceID: part.ID, EvidenceKind: groundhand.PracticeRun, ShownOn: part.HappenedOn, RuleSetID: "R1", Issuer: "Halverra Lines", CheckAddress: "http://127.0.0.1/",
			Recorded: groundhand.Recorded{HappenedOn: today, RecordedAt: tx.Now(), Capacity: groundhand.Coordinator, CameBy: groundhand.TypedLive}})
	}))
}

// standing lists the certificates that stand.
func (m *movers) standing() (out []groundhand.CertificateID) {
	m.t.Helper()
	certs, err := store.Standing[groundhand.Certificate](m.ctx, m.store)
	require.NoError(m.t, err)
	for _, c := range certs {
		out = append(out, c.ID)
	}
	return out
}

// moves gives what was asked since the last look.
func (m *movers) moves() []move {
	out := m.asked
	m.asked = nil
	return out
}

func TestTheCertificateOfAWithdrawnPassIsMovedInTheSameStep(t *testing.T) {
	m := moving(t)
	pass := m.assessed(m.maren, "2025-0001")
	m.assessed(m.keahi, "2025-0002")
	gone := must(m.scene, m.desk.Withdraw, WithdrawalForm{EntryID: pass.ID, Because: "another Maren"})
	assert.Equal(t, []move{{m.coordinator.ID, pass.ID, "", "another Maren"}}, m.moves())
	assert.Equal(t, []groundhand.CertificateID{"2025-0002"}, m.standing())
	found, err := store.Revoked(m.ctx, m.store)
	require.NoError(t, err)
	require.Len(t, found, 1)
	assert.Equal(t, gone.RecordedAt, found[0].At, "one moment, one transaction")

	must(m.scene, m.desk.Withdraw, WithdrawalForm{EntryID: gone.ID, Because: "it was she"})
	assert.Empty(t, m.moves(), "the pass counts again; its certificate does not come back")
	assert.Equal(t, []groundhand.CertificateID{"2025-0002"}, m.standing())
}

func TestTheCertificateOfACorrectedPassIsMovedToWhatStandsInItsPlace(t *testing.T) {
	m := moving(t)
	pass := m.assessed(m.maren, "2025-0001")
	m.fresh = "2025-0002"
	f := m.pass(m.tomasz)
	f.Entry = Entry{Replaces: pass.ID, Because: "it was Tomasz", Kind: groundhand.IdentityMistaken, AgreedBy: m.henrike}
	right, err := m.desk.Assess(m.ctx, m.hr, m.key(), f)
	require.NoError(t, err)
	assert.Equal(t, []move{{m.hr.ID, pass.ID, right.ID, "it was Tomasz"}}, m.moves())
	assert.Equal(t, []groundhand.CertificateID{"2025-0002"}, m.standing())

	// the review that opens by itself is of the old one, and is closed by naming the new one
	open := m.reviews()
	require.Len(t, open, 1)
	assert.Equal(t, groundhand.EntryID("2025-0001"), open[0].EntryID)
	closing := func(o groundhand.ReviewOutcome, now groundhand.EntryID) ReviewClosingForm {
		return ReviewClosingForm{ReviewID: open[0].ID, Outcome: o, Reason: "issued anew by itself", NewEntryID: now, AgreedBy: m.gideon}
	}
	for _, outcome := range []groundhand.ReviewOutcome{groundhand.ReviewStands, groundhand.ReviewWithdrawn} {
		m.refused(func() error { return try(m.scene, m.desk.CloseReview, closing(outcome, "")) }, "CONFLICT outcome")
	}
	m.refused(func() error { return try(m.scene, m.desk.CloseReview, closing(groundhand.ReviewReplaced, "2025-0001")) }, "CONFLICT newEntryId", "CONFLICT newEntryId")
	must(m.scene, m.desk.CloseReview, closing(groundhand.ReviewReplaced, "2025-0002"))

	// taking the correction back lets the first entry stand again: what rests on the second moves to it
	m.fresh = "2025-0003"
	gone := must(m.scene, m.desk.Withdraw, WithdrawalForm{EntryID: right.ID, Because: "it was Maren after all"})
	assert.Equal(t, []move{{m.coordinator.ID, right.ID, pass.ID, "it was Maren after all"}}, m.moves())
	assert.Equal(t, []groundhand.CertificateID{"2025-0003"}, m.standing(), "2025-0001 stays replaced")
	m.fresh = "2025-0004"
	must(m.scene, m.desk.Withdraw, WithdrawalForm{EntryID: gone.ID, Because: "no, Tomasz"})
	assert.Equal(t, []move{{m.coordinator.ID, pass.ID, right.ID, "no, Tomasz"}}, m.moves())
	assert.Equal(t, []groundhand.CertificateID{"2025-0004"}, m.standing())
}

func TestAReviewOfACertificateThatWasWithdrawnByItselfIsClosedWithThat(t *testing.T) {
	m := moving(t)
	pass := m.assessed(m.maren, "2025-0001")
	must(m.scene, m.desk.Withdraw, WithdrawalForm{EntryID: pass.ID, Because: "not appointed"})
	open := m.reviews()
	require.Len(t, open, 1)
	m.refused(func() error {
		return try(m.scene, m.desk.CloseReview, ReviewClosingForm{ReviewID: open[0].ID, Outcome: groundhand.ReviewStands, Reason: "it is good"})
	}, "CONFLICT outcome")
	before := m.rows()["withdrawals"]
	must(m.scene, m.desk.CloseReview, ReviewClosingForm{ReviewID: open[0].ID, Outcome: groundhand.ReviewWithdrawn, Reason: "went with its pass"})
	assert.Equal(t, before, m.rows()["withdrawals"], "it is withdrawn once")
}

func TestAReviewThatWithdrawsAPassTakesItsCertificateAlong(t *testing.T) {
	m := moving(t)
	pass := m.assessed(m.maren, "2025-0001")
	r := must(m.scene, m.desk.OpenReview, ReviewForm{EntryID: pass.ID, Cause: groundhand.Implausible, Reason: "two yards at once?"})
	must(m.scene, m.desk.CloseReview, ReviewClosingForm{ReviewID: r.ID, Outcome: groundhand.ReviewWithdrawn, Reason: "it never was", AgreedBy: m.gideon})
	assert.Equal(t, []move{{m.coordinator.ID, pass.ID, "", "it never was"}}, m.moves())
	assert.Empty(t, m.standing())
}

func TestWithARunGoTheCertificatesOfItsParts(t *testing.T) {
	m := moving(t)
	drill := must(m.scene, m.desk.RecordDrill, m.drill())
	m.practised(drill.Parts[0], "2025-0001")
	m.practised(drill.Parts[1], "2025-0002")
	m.fresh = "2025-0003"
	now := must(m.scene, m.desk.RecordDrill, m.drill(func(r *RunForm) {
		r.Replaces, r.Because = groundhand.EntryID(drill.Runs[0].ID), "it was Keahi at the rope"
		r.Parts = []PartForm{{WorkerID: m.maren, Role: groundhand.Lead}, {WorkerID: m.keahi, Role: groundhand.Second}}
	}))
	assert.ElementsMatch(t, []move{
		{m.coordinator.ID, drill.Parts[0].ID, now.Parts[0].ID, "it was Keahi at the rope"},
		{m.coordinator.ID, drill.Parts[1].ID, "", "it was Keahi at the rope"}, // Tomasz is not in it any more
	}, m.moves())
	assert.Equal(t, []groundhand.CertificateID{"2025-0003"}, m.standing())

	gone := must(m.scene, m.desk.Withdraw, WithdrawalForm{EntryID: groundhand.EntryID(now.Runs[0].ID), Because: "another crew's sheet"})
	require.Len(t, m.moves(), 1)
	assert.Empty(t, m.standing())
	must(m.scene, m.desk.Withdraw, WithdrawalForm{EntryID: gone.ID, Because: "it was ours"})
	assert.Empty(t, m.moves())
	assert.Empty(t, m.standing(), "the parts count again; the certificates do not come back")
}

func TestACorrectedPartMovesItsCertificateAndQuestionsThePassOfIt(t *testing.T) {
	m := moving(t)
	drill := must(m.scene, m.desk.RecordDrill, m.drill())
	m.practised(drill.Parts[0], "2025-0001")
	f := m.pass(m.maren)
	f.RunPartID = drill.Parts[0].ID
	pass := must(m.scene, m.desk.Assess, f)
	m.certificate("2025-0002", pass)
	part := must(m.scene, m.desk.CorrectPart, PartCorrection{
		Entry: Entry{Replaces: drill.Parts[0].ID, Because: "it was Henrike"}, RunID: drill.Runs[0].ID, PartForm: PartForm{WorkerID: m.henrike, Role: groundhand.Lead}})
	assert.Equal(t, []move{{m.coordinator.ID, drill.Parts[0].ID, part.ID, "it was Henrike"}}, m.moves(), "the pass itself was not corrected")
	var looked []groundhand.EntryID
	for _, r := range m.reviews() {
		assert.Equal(t, groundhand.RestedOnCorrected, r.Cause)
		looked = append(looked, r.EntryID)
	}
	assert.ElementsMatch(t, []groundhand.EntryID{"2025-0001", pass.ID, "2025-0002"}, looked, "somebody says whether Maren was judged in another run")
	assert.Contains(t, m.standing(), groundhand.CertificateID("2025-0002"))
}

func TestWhatCannotFollowIsNotCorrectedEither(t *testing.T) {
	m := moving(t)
	pass := m.assessed(m.maren, "2025-0001")
	m.fails = groundhand.Conflict("", "There is no key to sign with.")
	m.refused(func() error {
		return try(m.scene, m.desk.Withdraw, WithdrawalForm{EntryID: pass.ID, Because: "another Maren"})
	}, "CONFLICT")
	m.fails = errors.New("the disk is full")
	before := m.entries()
	f := m.pass(m.maren)
	f.Entry, f.Coaching = Entry{Replaces: pass.ID, Because: "typing"}, "look up first"
	assert.ErrorContains(t, try(m.scene, m.desk.Assess, f), "the disk is full")
	assert.Equal(t, before, m.entries())
	assert.Empty(t, m.reviews())
	assert.Equal(t, []groundhand.CertificateID{"2025-0001"}, m.standing())
}

func TestNothingIsAskedWhereNoCertificateRests(t *testing.T) {
	m := moving(t)
	pass := must(m.scene, m.desk.Assess, m.pass(m.maren))
	f := m.pass(m.maren)
	f.Entry, f.Coaching = Entry{Replaces: pass.ID, Because: "typing"}, "look up first"
	must(m.scene, m.desk.Assess, f)
	old := must(m.scene, m.desk.JoinCrew, member("V1", m.maren, "2025-06-01", ""))
	must(m.scene, m.desk.Withdraw, WithdrawalForm{EntryID: old.ID, Because: "never came"})
	assert.Empty(t, m.moves())
}
