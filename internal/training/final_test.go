package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

func TestAWithdrawnCertificateStaysWithdrawn(t *testing.T) {
	m := moving(t)
	m.assessed(m.maren, "2025-0001")
	m.refused(func() error { return try(m.scene, m.desk.Withdraw, WithdrawalForm{EntryID: "2025-0001"}) }, "INVALID because")
	gone := must(m.scene, m.desk.Withdraw, WithdrawalForm{EntryID: "2025-0001", Because: "wrong letterhead"})
	back := func() error {
		return try(m.scene, m.desk.Withdraw, WithdrawalForm{EntryID: gone.ID, Because: "it was right"})
	}
	m.refused(back, "CONFLICT entryId")
	assert.ErrorContains(t, back(), finalMark)
	m.refused(func() error {
		return try(m.scene, m.desk.Withdraw, WithdrawalForm{EntryID: "2025-0001", Because: "again"})
	}, "CONFLICT entryId")
	assert.Empty(t, m.standing())
}

// B took the place of A; when B is withdrawn, A does not come back, as any other entry would.
func TestAReplacedCertificateStaysReplaced(t *testing.T) {
	m := moving(t)
	pass := m.assessed(m.maren, "2025-0001")
	m.fresh = "2025-0002"
	require.NoError(t, m.store.InTx(m.ctx, func(tx *store.Store) error {
		return m.follow(m.ctx, tx, m.coordinator, pass.ID, pass.ID, "name misspelt")
	}))
	require.Equal(t, []groundhand.CertificateID{"2025-0002"}, m.standing())
	must(m.scene, m.desk.Withdraw, WithdrawalForm{EntryID: "2025-0002", Because: "fraud"})
	assert.Empty(t, m.standing())
}

func TestKeysAreNotTakenBack(t *testing.T) {
	m := moving(t)
	told := groundhand.Recorded{HappenedOn: today, RecordedAt: m.store.Now(), Capacity: groundhand.Coordinator, CameBy: groundhand.TypedLive}
	require.NoError(t, store.Add(m.ctx, m.store, groundhand.IssuerKey{ID: "z6MkOne", Recorded: told, IssuerID: "did:web:example.org"}))
	require.NoError(t, store.Add(m.ctx, m.store, groundhand.KeyChange{ID: "k1", Recorded: told, KeyID: "z6MkOne", State: groundhand.KeyActive}))
	for _, id := range []groundhand.EntryID{"z6MkOne", "k1"} {
		for _, by := range []groundhand.Account{m.coordinator, m.hr, m.assessor} {
			m.refused(func() error {
				_, err := m.desk.Withdraw(m.ctx, by, m.key(), WithdrawalForm{EntryID: id, Because: "typing"})
				return err
			}, "FORBIDDEN entryId")
		}
	}
}

func TestErasingWithdrawsTheCertificatesInTheSameStep(t *testing.T) {
	m := moving(t)
	who, other := m.left("Ada Quist"), m.worker("A. Quist", "3002", groundhand.Qualified)
	must(m.scene, m.desk.SetRetention, fiveYears("2020-01-01"))
	jobs, err := store.FindStanding[groundhand.Employment](m.ctx, m.store, store.ByWorker, []groundhand.WorkerID{other})
	require.NoError(t, err)
	_, err = m.desk.Withdraw(m.ctx, m.hr, m.key(), WithdrawalForm{EntryID: jobs[0].ID, Because: "never worked here"})
	require.NoError(t, err)
	for i, w := range []groundhand.WorkerID{who, other, m.maren} {
		drill := m.practise(w, "2018-05-05")
		m.practised(drill.Parts[0], []groundhand.CertificateID{"2018-0001", "2018-0002", "2018-0003"}[i])
	}
	must(m.scene, m.desk.Merge, MergeForm{KeptID: who, GoneID: other, Reason: "entered twice"})
	must(m.scene, m.desk.Withdraw, WithdrawalForm{EntryID: "2018-0002", Because: "wrong letterhead"})

	done := must(m.scene, m.desk.Erase, ErasureForm{WorkerID: who, Reason: "asked for it"})
	assert.Equal(t, []groundhand.CertificateID{"2018-0003"}, m.standing())
	found, err := store.Revoked(m.ctx, m.store)
	require.NoError(t, err)
	require.Len(t, found, 2, "what was withdrawn already is not withdrawn again")
	assert.Equal(t, store.Revocation{CertificateID: "2018-0001", At: done.Erasure.RecordedAt, Because: "erased", By: found[1].By}, found[1])
	cert, err := store.Get[groundhand.Certificate](m.ctx, m.store, "2018-0001")
	require.NoError(t, err)
	assert.Equal(t, done.Erasure.Code, cert.PersonName)
	assert.Empty(t, m.moves(), "nothing was corrected")
	assert.Empty(t, m.reviews())
	verified, err := m.store.Verify(m.ctx, nil)
	require.NoError(t, err)
	assert.Nil(t, verified.Misfit)
}
