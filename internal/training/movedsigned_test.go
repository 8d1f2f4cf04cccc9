package training

import (
	"math/rand/v2"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate"
	"groundhand/internal/certificate/credential"
	"groundhand/internal/certificate/keyring"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// signing is a company whose certificates are signed, and follow what they rest on, as the service has it.
type signing struct {
	*scene
	office *certificate.Issuer
}

func signedScene(t *testing.T) *signing {
	s := &signing{scene: newScene(t)}
	s.shippedRules()
	must(s.scene, s.desk.GrantAuthority, s.authority(s.gideon))
	s.practise(s.gideon, "2024-06-20")
	ring, err := keyring.Open(filepath.Join(t.TempDir(), "keys"))
	require.NoError(t, err)
	s.office = certificate.New(s.store, rollcall.New(s.store, s.zone), certificate.Options{Name: "Halverra Lines", Address: "https://certs.example.org", Keys: ring, Chance: rand.NewChaCha8([32]byte{7})})
	require.NoError(t, s.office.Begin(s.ctx))
	s.desk.MoveCertificates(s.office.Follow)
	return s
}

func (s *signing) issued(evidence groundhand.EntryID) groundhand.Certificate {
	s.t.Helper()
	c, err := s.office.Issue(s.ctx, s.coordinator, s.key(), evidence, "")
	require.NoError(s.t, err)
	return c
}

// document is what a stranger fetches to know the keys.
func (s *signing) document(string) (credential.Document, error) {
	data, err := s.office.Document(s.ctx)
	require.NoError(s.t, err)
	return credential.ReadDocument(data)
}

// takenBack asks the published list about a certificate, as a stranger does who has nothing but the signed file.
func (s *signing) takenBack(c groundhand.Certificate) bool {
	s.t.Helper()
	found, err := credential.Read([]byte(c.Signed), s.document)
	require.NoError(s.t, err)
	data, err := s.office.StatusList(s.ctx, 1)
	require.NoError(s.t, err)
	list, err := credential.ReadStatusList(data, s.document)
	require.NoError(s.t, err)
	gone, err := list.TakenBack(found.Credential, s.store.Now().In(s.zone))
	require.NoError(s.t, err)
	return gone
}

func (s *signing) only() groundhand.Certificate {
	s.t.Helper()
	certs, err := store.Standing[groundhand.Certificate](s.ctx, s.store)
	require.NoError(s.t, err)
	require.Len(s.t, certs, 1)
	return certs[0]
}

func TestASignedCertificateGoesToThePersonWhoPassed(t *testing.T) {
	s := signedScene(t)
	pass := must(s.scene, s.desk.Assess, s.pass(s.maren))
	old := s.issued(pass.ID)
	require.False(t, s.takenBack(old))
	f := s.pass(s.tomasz)
	f.Entry = Entry{Replaces: pass.ID, Because: "it was Tomasz", Kind: groundhand.IdentityMistaken, AgreedBy: s.henrike}
	right, err := s.desk.Assess(s.ctx, s.hr, s.key(), f)
	require.NoError(t, err)
	fresh := s.only()
	assert.Equal(t, []any{s.tomasz, right.ID, groundhand.EntryID(old.ID)}, []any{fresh.WorkerID, fresh.EvidenceID, fresh.ReplacesID})
	assert.Equal(t, right.RecordedAt, fresh.RecordedAt, "one transaction")
	found, err := credential.Read([]byte(fresh.Signed), s.document)
	require.NoError(t, err)
	assert.Equal(t, "Tomasz Wieland", found.Person)
	assert.True(t, s.takenBack(old))
	assert.False(t, s.takenBack(fresh))
	must(s.scene, s.desk.CloseReview, ReviewClosingForm{ReviewID: s.reviews()[0].ID, Outcome: groundhand.ReviewReplaced, Reason: "issued anew", NewEntryID: groundhand.EntryID(fresh.ID)})
}

func TestASignedCertificateGoesWithItsPassForGood(t *testing.T) {
	s := signedScene(t)
	pass := must(s.scene, s.desk.Assess, s.pass(s.maren))
	old := s.issued(pass.ID)
	gone := must(s.scene, s.desk.Withdraw, WithdrawalForm{EntryID: pass.ID, Because: "another Maren"})
	assert.True(t, s.takenBack(old))
	must(s.scene, s.desk.Withdraw, WithdrawalForm{EntryID: gone.ID, Because: "it was she"})
	assert.True(t, s.takenBack(old), "the pass counts again, the mark stays")
	fresh := s.issued(pass.ID)
	assert.False(t, s.takenBack(fresh), "a new one is issued by hand")
	assert.NotEqual(t, old.StatusIndex, fresh.StatusIndex)
}

func TestACorrectionThatLeavesNoPassEndsTheSignedCertificate(t *testing.T) {
	s := signedScene(t)
	pass := must(s.scene, s.desk.Assess, s.pass(s.maren))
	old := s.issued(pass.ID)
	f := s.pass(s.maren)
	f.Entry, f.Result = Entry{Replaces: pass.ID, Because: "the box beside was ticked"}, groundhand.Fail
	must(s.scene, s.desk.Assess, f)
	found, err := store.Revoked(s.ctx, s.store)
	require.NoError(t, err)
	require.Len(t, found, 1)
	assert.False(t, found[0].Replaced)
	assert.True(t, s.takenBack(old))
}

func TestWithARunGoTheSignedCertificatesOfItsParts(t *testing.T) {
	s := signedScene(t)
	drill := must(s.scene, s.desk.RecordDrill, s.drill())
	old := []groundhand.Certificate{s.issued(drill.Parts[0].ID), s.issued(drill.Parts[1].ID)}
	now := must(s.scene, s.desk.RecordDrill, s.drill(func(r *RunForm) {
		r.Replaces, r.Because = groundhand.EntryID(drill.Runs[0].ID), "it was Keahi at the rope"
		r.Parts = []PartForm{{WorkerID: s.maren, Role: groundhand.Lead}, {WorkerID: s.keahi, Role: groundhand.Second}}
	}))
	fresh := s.only()
	assert.Equal(t, []any{now.Parts[0].ID, s.maren}, []any{fresh.EvidenceID, fresh.WorkerID})
	for _, c := range old {
		assert.True(t, s.takenBack(c))
	}
	must(s.scene, s.desk.Withdraw, WithdrawalForm{EntryID: groundhand.EntryID(now.Runs[0].ID), Because: "another crew's sheet"})
	assert.True(t, s.takenBack(fresh))
	verified, err := s.store.Verify(s.ctx, nil)
	require.NoError(t, err)
	assert.Nil(t, verified.Misfit)
}

// Two people taken for one: what was given out meanwhile in the name of the one for what the other showed goes to the other when they are two again.
func TestPeopleTakenApartGetTheirOwnSignedCertificates(t *testing.T) {
	s := signedScene(t)
	marens, tomaszs := must(s.scene, s.desk.Assess, s.pass(s.maren)), must(s.scene, s.desk.Assess, s.pass(s.tomasz))
	merge := must(s.scene, s.desk.Merge, MergeForm{KeptID: s.tomasz, GoneID: s.maren, Reason: "entered twice"})
	wrong, right := s.issued(marens.ID), s.issued(tomaszs.ID)
	require.Equal(t, s.tomasz, wrong.WorkerID)
	gone, err := s.desk.Withdraw(s.ctx, s.hr, s.key(), WithdrawalForm{EntryID: merge.ID, Because: "they are two"})
	require.NoError(t, err)
	assert.True(t, s.takenBack(wrong))
	assert.False(t, s.takenBack(right), "it was right all along")
	certs, err := store.FindStanding[groundhand.Certificate](s.ctx, s.store, store.ByWorker, []groundhand.WorkerID{s.maren})
	require.NoError(t, err)
	require.Len(t, certs, 1)
	assert.Equal(t, []any{marens.ID, groundhand.EntryID(wrong.ID)}, []any{certs[0].EvidenceID, certs[0].ReplacesID})
	found, err := credential.Read([]byte(certs[0].Signed), s.document)
	require.NoError(t, err)
	assert.Equal(t, "Maren Oduya", found.Person)
	must(s.scene, s.desk.Withdraw, WithdrawalForm{EntryID: gone.ID, Because: "they are one after all"})
	assert.False(t, s.takenBack(certs[0]))
	assert.False(t, s.takenBack(right))
}

// The records come first: cover is judged by them, so a correction goes through without the key, and the withdrawal says why nothing came instead.
func TestACorrectionGoesThroughWithoutTheKey(t *testing.T) {
	s := signedScene(t)
	pass := must(s.scene, s.desk.Assess, s.pass(s.maren))
	old := s.issued(pass.ID)
	folder := t.TempDir()
	ring, err := keyring.Open(folder)
	require.NoError(t, err)
	s.desk.MoveCertificates(certificate.New(s.store, rollcall.New(s.store, s.zone), certificate.Options{Name: "Halverra Lines", Address: "https://certs.example.org", Keys: ring}).Follow)
	f := s.pass(s.maren)
	f.Entry = Entry{Replaces: pass.ID, Because: "the day was another"}
	must(s.scene, s.desk.Assess, f)
	assert.True(t, s.takenBack(old))
	found, err := store.Revoked(s.ctx, s.store)
	require.NoError(t, err)
	require.Len(t, found, 1)
	assert.Contains(t, found[0].Because, "the day was another (No certificate could be signed in its place")
	assert.NotContains(t, found[0].Because, folder)
}
