package certificate

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

func TestAStolenKeyTakesEverythingAlong(t *testing.T) {
	o := newOffice(t)
	parts := o.three()
	o.withdraw("2025-0003")
	first, err := store.Get[groundhand.Certificate](o.ctx, o.store, "2025-0001")
	require.NoError(t, err)
	stolen := o.active()
	_, err = o.issuer.AnnounceKey(o.ctx, coordinator)
	require.NoError(t, err)
	o.clock.Set("2026-04-20T09:00:00+01:00") // the first is over by now
	done, err := o.issuer.KeyStolen(o.ctx, coordinator, stolen, "a laptop was taken")
	require.NoError(t, err)
	assert.Equal(t, Theft{NewKey: o.active(), Reissued: 2}, done)
	assert.Equal(t, []string{"COMPROMISED", "COMPROMISED", "ACTIVE held"}, o.keysNow(), "what lay in the same folder is given up too")
	assert.Equal(t, []bool{false, false, true}, o.inDocument())
	assert.Equal(t, []string{o.active() + ".pem"}, o.files())
	assert.Equal(t, []State{Replaced, Replaced, Withdrawn, NoLongerCurrent, Valid}, o.states("2025-0001", "2025-0002", "2025-0003", "2026-0001", "2026-0002"))
	assert.Equal(t, []string{"2025-0001", "2025-0002", "2025-0003"}, o.revoked())

	_, err = credential.Read([]byte(first.Signed), o.documents)
	var refusal *credential.Refusal
	require.ErrorAs(t, err, &refusal)
	assert.Equal(t, credential.UnknownKey, refusal.Code)
	anew, err := store.Get[groundhand.Certificate](o.ctx, o.store, "2026-0001")
	require.NoError(t, err)
	found := o.read(anew)
	assert.Equal(t, first.PersonName, found.Person)
	assert.Equal(t, "2025-06-11", found.ValidFrom.Format("2006-01-02"), "what is over still answers about its time")
	assert.NotEqual(t, first.CredentialID, anew.CredentialID)

	_, err = o.issuer.KeyStolen(o.ctx, coordinator, stolen, "again")
	assert.ErrorIs(t, err, groundhand.CodeConflict)
	assert.Equal(t, "2026-0003", string(o.issue(parts[1].ID, "R-C").ID), "no number is left out")
}

// A key that was only announced when its theft was told, and signs by the time that is entered, is not ended without another in its place.
func TestAKeyThatBeganToSignMeanwhileIsLookedAtAgain(t *testing.T) {
	o := newOffice(t)
	_, err := o.issuer.otherKeyStolen(o.ctx, coordinator, o.active(), "a laptop was taken")
	assert.ErrorIs(t, err, groundhand.CodeConflict)
	assert.Equal(t, []string{"ACTIVE held"}, o.keysNow())
	require.NoError(t, o.issuer.Trouble(o.ctx))
}

func TestARetiredKeyStolenFromABackup(t *testing.T) {
	o := newOffice(t)
	parts := o.three()
	retired := o.active()
	_, err := o.issuer.AnnounceKey(o.ctx, coordinator)
	require.NoError(t, err)
	_, err = o.issuer.ChangeKey(o.ctx, coordinator)
	require.NoError(t, err)
	later := o.issue(parts[0].ID, "R-C")
	done, err := o.issuer.KeyStolen(o.ctx, coordinator, retired, "an old disk was sold")
	require.NoError(t, err)
	assert.Equal(t, Theft{Reissued: 3}, done, "no key is made: the one that signs was not there yet")
	assert.Equal(t, []string{"COMPROMISED", "ACTIVE held"}, o.keysNow())
	assert.Equal(t, Valid, o.state(later.ID))
}

// What names nobody any more cannot be issued anew; what no page can show takes no number.
func TestWhatCannotBeIssuedAnewIsWithdrawn(t *testing.T) {
	o := newOffice(t)
	parts := o.three()
	odd := o.issue(parts[0].ID, "R-C") // 2025-0004
	odd.ID, odd.PersonName, odd.EvidenceID, odd.StatusIndex = "2025-0005", "李小龍", "elsewhere", (odd.StatusIndex+1)%credential.ListLength
	odd.CredentialID = "7b0a5f3e-6c1d-4b86-9a2f-3d5c8e417f60"
	add(o, odd)
	o.erase("serban", "W-1")
	o.clock.Advance(minute)
	done, err := o.issuer.KeyStolen(o.ctx, coordinator, o.active(), "a laptop was taken")
	require.NoError(t, err)
	assert.Equal(t, Theft{NewKey: o.active(), Reissued: 3, Withdrawn: 2}, done)
	assert.Equal(t, []State{Replaced, Withdrawn, Replaced, Replaced, Withdrawn, Valid, Valid, Valid},
		o.states("2025-0001", "2025-0002", "2025-0003", "2025-0004", "2025-0005", "2025-0006", "2025-0007", "2025-0008"))
}
