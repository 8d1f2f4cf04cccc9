package certificate

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Older records hold certificates whose evidence was taken back before certificates followed it. That somebody is current by something else does
// not make them valid.
func TestACertificateWithoutItsEvidenceIsNotValid(t *testing.T) {
	o := newOffice(t)
	first, second := o.run("lukasz", groundhand.Lead, "2025-04-10"), o.assess("serban", groundhand.Pass, "2025-04-10")
	a, b := o.issue(first.ID, ""), o.issue(second.ID, "")
	o.run("lukasz", groundhand.Lead, "2025-05-20")
	o.run("serban", groundhand.Lead, "2025-05-20")
	assert.Equal(t, []State{Valid, Valid}, o.states(a.ID, b.ID))
	o.withdraw(first.ID)
	o.withdraw(second.ID)
	assert.Equal(t, []State{NoLongerCurrent, NoLongerCurrent}, o.states(a.ID, b.ID))
}

// Two people were taken for one, and a certificate was given out in the name of the one kept. Apart again, what was shown is the other's.
func TestACertificateOfPeopleTakenApartAgainIsNotValid(t *testing.T) {
	o := newOffice(t)
	part := o.run("lukasz", groundhand.Lead, "2025-04-10")
	o.run("serban", groundhand.Lead, "2025-05-20")
	merge := groundhand.Merge{ID: o.id(), Recorded: o.told("2025-06-11"), KeptID: "serban", GoneID: "lukasz"}
	merge.RecordedAt = o.store.Now()
	add(o, merge)
	cert, err := o.issuer.Issue(o.ctx, coordinator, "k", part.ID, "")
	if err != nil {
		t.Fatal(err)
	}
	require.Equal(t, groundhand.WorkerID("serban"), cert.WorkerID)
	assert.Equal(t, Valid, o.state(cert.ID))
	o.withdraw(merge.ID)
	assert.Equal(t, NoLongerCurrent, o.state(cert.ID))
}

// Erasing an assessor takes what was signed out of the records, for the name in it, and not out of the holder's hand.
func TestAFileWhoseCopyWasErasedIsStillKnown(t *testing.T) {
	o := newOffice(t)
	part := o.run("lukasz", groundhand.Lead, "2025-04-10")
	cert := o.issue(part.ID, "")
	var page bytes.Buffer
	require.NoError(t, o.issuer.Paper(o.ctx, hr, cert.ID, &page))
	o.erase("gideon", "W-1")
	require.False(t, isSigned(o.cert(cert.ID)))
	for name, file := range map[string][]byte{"the signed file": []byte(cert.Signed), "the page": page.Bytes()} {
		got := o.inside(file)
		assert.Empty(t, got.Problem, name)
		assert.Equal(t, Valid, got.State, name)
		assert.Equal(t, o.look(cert.CredentialID), got.Looked, name)
	}

	// What somebody signed with our key and never entered is not known by an id that is.
	words, err := o.issuer.book(o.ctx)
	require.NoError(t, err)
	_, key, err := o.issuer.signingKey(o.ctx)
	require.NoError(t, err)
	forged := cert
	forged.LastGoodDay = day("2035-01-01")
	p := &pen{Issuer: o.issuer, ctx: o.ctx, book: words, keyID: cert.KeyID, key: key, issuerID: cert.IssuerID}
	signed, err := p.sign(forged, cert.RecordedAt.Time())
	require.NoError(t, err)
	assert.Equal(t, NotRecorded, o.inside([]byte(signed)).Problem)
}

// Shown in summer, issued half an hour before a midnight in winter, and issued anew later: whoever compares the page, what was signed and what the
// check address says finds one day of issue.
func TestOneDayOfIssueIsToldEverywhere(t *testing.T) {
	o := newOffice(t)
	part := o.run("lukasz", groundhand.Lead, "2025-04-10")
	o.clock.Set("2025-12-02T23:30:00Z")
	first := o.issue(part.ID, "")
	o.clock.Set("2026-01-20T10:00:00Z")
	for _, id := range []groundhand.CertificateID{first.ID, o.replace(first.ID).ID} {
		cert := o.cert(id)
		found := o.read(cert)
		told := []string{sheetOf(found.Credential, found.KeyID, []byte(cert.Signed)).IssuedOn.String(), groundhand.DateOf(found.ValidFrom).String(), o.look(cert.CredentialID).IssuedOn.String()}
		assert.Equal(t, []string{"2025-12-02", "2025-12-02", "2025-12-02"}, told, id)
	}
}

func (o *office) erase(who groundhand.WorkerID, code string) {
	o.Helper()
	o.clock.Advance(minute)
	require.NoError(o, o.store.InTx(o.ctx, func(tx *store.Store) error {
		e := groundhand.Erasure{ID: o.id(), Recorded: o.told("2025-06-11"), WorkerID: who, Code: code, Reason: "asked for"}
		e.RecordedAt = tx.Now()
		if err := store.Add(o.ctx, tx, e); err != nil {
			return err
		}
		return tx.EraseNames(o.ctx, []groundhand.WorkerID{who})
	}))
}

func TestNobodyIsNamedByTheCodeOfAnErasure(t *testing.T) {
	o := newOffice(t)
	part := o.run("lukasz", groundhand.Lead, "2025-04-10")
	cert := o.issue(part.ID, "")
	o.erase("lukasz", "W-1")
	_, err := o.issuer.Issue(o.ctx, coordinator, "k", part.ID, "R-C")
	assert.ErrorContains(t, err, "was erased")
	_, err = o.issuer.Replace(o.ctx, coordinator, "k2", cert.ID, "a letter was wrong")
	assert.ErrorIs(t, err, groundhand.CodeConflict)
	add(o, groundhand.WorkerName{ID: o.id(), Recorded: o.issuer.told(coordinator, ""), WorkerID: "lukasz", Name: "Łukasz Dąbrowa"}) // taken on again
	assert.Equal(t, "Łukasz Dąbrowa", o.issue(part.ID, "R-C").PersonName)
}
