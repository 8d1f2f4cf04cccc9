package certificate

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// keysNow lists the keys that the issuer knows, as "STATE held", in the order in which they were made.
func (o *office) keysNow() (out []string) {
	o.Helper()
	keys, err := o.issuer.Keys(o.ctx)
	require.NoError(o, err)
	for _, k := range keys {
		word := string(k.State)
		if k.Held {
			word += " held"
		}
		out = append(out, word)
	}
	return out
}

// inDocument says which of the keys stand in the published document.
func (o *office) inDocument() (out []bool) {
	o.Helper()
	id, err := credential.WebIssuer(address)
	require.NoError(o, err)
	d, err := o.documents(id)
	require.NoError(o, err)
	keys, err := o.issuer.Keys(o.ctx)
	require.NoError(o, err)
	for _, k := range keys {
		found := false
		for _, listed := range d.Keys {
			found = found || listed == k.ID
		}
		out = append(out, found)
	}
	return out
}

func (o *office) files() (out []string) {
	o.Helper()
	entries, err := os.ReadDir(o.keys)
	require.NoError(o, err)
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

func TestTheFirstKeyIsMadeOnce(t *testing.T) {
	o := newOffice(t)
	assert.Equal(t, []string{"ACTIVE held"}, o.keysNow())
	o.issuer = o.sitDown(usual)
	o.issuer = o.sitDown(usual)
	assert.Equal(t, []string{"ACTIVE held"}, o.keysNow())
	require.NoError(t, o.issuer.Trouble(o.ctx))
}

func TestAKeyIsAnnouncedBeforeItSigns(t *testing.T) {
	o := newOffice(t)
	parts := o.three()
	old, err := store.Get[groundhand.Certificate](o.ctx, o.store, "2025-0001")
	require.NoError(t, err)
	_, err = o.issuer.ChangeKey(o.ctx, coordinator)
	assert.ErrorIs(t, err, groundhand.CodeConflict, "none is announced")
	announced, err := o.issuer.AnnounceKey(o.ctx, coordinator)
	require.NoError(t, err)
	assert.Equal(t, []string{"ACTIVE held", "ANNOUNCED held"}, o.keysNow())
	assert.Equal(t, []bool{true, true}, o.inDocument())
	assert.NotEqual(t, announced.ID, o.issue(parts[0].ID, "R-C").KeyID)

	changed, err := o.issuer.ChangeKey(o.ctx, coordinator)
	require.NoError(t, err)
	assert.Equal(t, announced.ID, changed.ID)
	assert.Equal(t, []string{"RETIRED", "ACTIVE held"}, o.keysNow(), "the file of the retired key is gone")
	assert.Equal(t, []bool{true, true}, o.inDocument(), "or what it signed would not verify")
	assert.Equal(t, []string{announced.ID + ".pem"}, o.files())
	assert.Equal(t, announced.ID, o.issue(parts[1].ID, "R-C").KeyID)
	assert.Equal(t, "2025-0001", o.read(old).Number)
	assert.Equal(t, Valid, o.state("2025-0001"))
	assert.Empty(t, o.revoked(), "the list is signed by the key of today")
}

func TestWhoKeepsTheKeys(t *testing.T) {
	o := newOffice(t)
	for _, by := range []groundhand.Account{hr, dispatcher, {}} {
		_, err := o.issuer.AnnounceKey(o.ctx, by)
		assert.Error(t, err)
		_, err = o.issuer.ChangeKey(o.ctx, by)
		assert.Error(t, err)
		_, err = o.issuer.KeyStolen(o.ctx, by, o.active(), "taken")
		assert.Error(t, err)
	}
	assert.Equal(t, []string{"ACTIVE held"}, o.keysNow())
	assert.Len(t, o.files(), 1, "no file was left behind")
	for name, c := range map[string]struct{ key, because, says string }{
		"a key that nobody has": {"z6MkrJVnaZkeFzdQyMZu1cgjg7k1pZZ6pvBQ7XJPt4swbTQ2", "taken", "groundhand key list"},
		"without a reason":      {o.active(), "", "Say why"},
	} {
		_, err := o.issuer.KeyStolen(o.ctx, coordinator, c.key, c.because)
		assert.ErrorContains(t, err, c.says, name)
	}
	assert.Len(t, o.files(), 1)
}

func (o *office) active() string {
	o.Helper()
	id, _, err := o.issuer.activeKey(o.ctx)
	require.NoError(o, err)
	return id
}

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
	o.clock.Advance(minute)
	require.NoError(t, o.store.InTx(o.ctx, func(tx *store.Store) error {
		e := groundhand.Erasure{ID: o.id(), Recorded: o.told("2025-06-11"), WorkerID: "serban", Code: "W-1", Reason: "asked for"}
		e.RecordedAt = tx.Now()
		if err := store.Add(o.ctx, tx, e); err != nil {
			return err
		}
		return tx.EraseNames(o.ctx, []groundhand.WorkerID{"serban"})
	}))
	o.clock.Advance(minute)
	done, err := o.issuer.KeyStolen(o.ctx, coordinator, o.active(), "a laptop was taken")
	require.NoError(t, err)
	assert.Equal(t, Theft{NewKey: o.active(), Reissued: 3, Withdrawn: 2}, done)
	assert.Equal(t, []State{Replaced, Withdrawn, Replaced, Replaced, Withdrawn, Valid, Valid, Valid},
		o.states("2025-0001", "2025-0002", "2025-0003", "2025-0004", "2025-0005", "2025-0006", "2025-0007", "2025-0008"))
}

// A crash between the records and the files: the entry stands, the file is still there. The next start takes it away.
func TestAfterACrashTheNextStartComesRight(t *testing.T) {
	o := newOffice(t)
	first := filepath.Join(o.keys, o.active()+".pem")
	kept, err := os.ReadFile(first)
	require.NoError(t, err)
	_, err = o.issuer.AnnounceKey(o.ctx, coordinator)
	require.NoError(t, err)
	_, err = o.issuer.ChangeKey(o.ctx, coordinator)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(first, kept, 0o600), "as if the program had died before it destroyed the file")
	assert.Equal(t, []string{"RETIRED held", "ACTIVE held"}, o.keysNow())
	o.issuer = o.sitDown(usual)
	assert.Equal(t, []string{"RETIRED", "ACTIVE held"}, o.keysNow())

	stray, err := o.issuer.options.Keys.Make(strings.NewReader(strings.Repeat("k", 32)))
	require.NoError(t, err, "as if it had died before the entry")
	o.issuer = o.sitDown(usual)
	assert.Equal(t, []string{"RETIRED", "ACTIVE held"}, o.keysNow())
	assert.Contains(t, o.files(), stray+".pem", "a file that no entry names may be the key of other records: it is left alone, and signs nothing")
	require.NoError(t, o.issuer.Trouble(o.ctx))
}

func TestAFailedChangeLeavesNoFile(t *testing.T) {
	o := newOffice(t)
	ctx, stop := context.WithCancel(o.ctx)
	stop()
	_, err := o.issuer.newKey(ctx, coordinator, groundhand.KeyAnnounced, nil)
	require.Error(t, err)
	assert.Len(t, o.files(), 1)
	_, err = New(o.store, o.issuer.roll, Options{Name: "x", Keys: o.issuer.options.Keys, Chance: io.LimitReader(strings.NewReader("short"), 5)}).AnnounceKey(o.ctx, coordinator)
	require.Error(t, err, "chance has run out")
	assert.Len(t, o.files(), 1)
}

func TestALostFileKeepsOnlySigningFromWorking(t *testing.T) {
	o := newOffice(t)
	parts := o.three()
	o.loseKeys()
	assert.ErrorContains(t, o.issuer.Trouble(o.ctx), "from its backup")
	_, err := o.issuer.Issue(o.ctx, coordinator, "k", parts[0].ID, "R-C")
	assert.ErrorIs(t, err, groundhand.CodeConflict)
	cert, err := store.Get[groundhand.Certificate](o.ctx, o.store, "2025-0001")
	require.NoError(t, err)
	looked, err := o.issuer.Look(o.ctx, cert.CredentialID)
	require.NoError(t, err)
	assert.Equal(t, Valid, looked.State)
	assert.NoError(t, o.issuer.Paper(o.ctx, hr, "2025-0001", io.Discard))
	_, err = o.issuer.Document(o.ctx)
	require.NoError(t, err)
	_, err = o.issuer.StatusList(o.ctx, 1)
	assert.ErrorIs(t, err, groundhand.CodeConflict)

	_, err = o.issuer.AnnounceKey(o.ctx, coordinator)
	require.NoError(t, err)
	_, err = o.issuer.ChangeKey(o.ctx, coordinator)
	require.NoError(t, err)
	assert.Equal(t, "2025-0004", string(o.issue(parts[0].ID, "R-C").ID))
}

func TestAnotherPublicAddressWantsAnotherKey(t *testing.T) {
	o := newOffice(t)
	parts := o.three()
	moved := usual
	moved.Address = "https://other.halverra.example"
	o.issuer = o.sitDown(moved)
	_, err := o.issuer.Issue(o.ctx, coordinator, "k", parts[0].ID, "R-C")
	assert.ErrorIs(t, err, groundhand.CodeConflict)
	assert.ErrorContains(t, err, "did:web:training.halverra.example")
	_, err = o.issuer.AnnounceKey(o.ctx, coordinator)
	require.NoError(t, err)
	_, err = o.issuer.ChangeKey(o.ctx, coordinator)
	require.NoError(t, err)
	cert := o.issue(parts[0].ID, "R-C")
	assert.Equal(t, "did:web:other.halverra.example", cert.IssuerID)
	got := o.export(Filter{})
	assert.Equal(t, []string{"2025-0004"}, got.column("certificate_no"))
	assert.Equal(t, 3, got.left)
	assert.Contains(t, got.readme, "another public address")
	for _, wrong := range []string{"http://training.example", "https://10.0.0.1", "https://a.example/path", "training.example"} {
		o.issuer = New(o.store, o.issuer.roll, Options{Name: "x", Address: wrong})
		assert.Error(t, o.issuer.Begin(o.ctx), wrong)
	}
}

// A document must stay below 8 kB for those who read it; a key too many is refused, and its file taken away.
func TestTheDocumentDoesNotGrowTooLarge(t *testing.T) {
	o := newOffice(t)
	var err error
	made := 0
	for made < 60 && err == nil {
		_, err = o.issuer.AnnounceKey(o.ctx, coordinator)
		made++
	}
	require.ErrorIs(t, err, groundhand.CodeTooLarge)
	assert.Greater(t, made, 15, "about twenty fit")
	assert.Len(t, o.files(), made, fmt.Sprint("the first and ", made-1, " announced"))
	_, err = o.issuer.Document(o.ctx)
	require.NoError(t, err)
}
