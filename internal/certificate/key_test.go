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
func TestSlashesBehindThePublicAddressDoNotCount(t *testing.T) {
	o := newOffice(t)
	for _, behind := range []string{"", "/", "//"} {
		issuer := New(o.store, o.issuer.roll, Options{Name: "x", Address: address + behind})
		assert.Equal(t, address+"/verify/7", issuer.checkAddress("7"))
	}
}

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

	for _, k := range o.allKeys()[1:] {
		add(o, groundhand.KeyChange{ID: o.id(), Recorded: o.issuer.told(coordinator, ""), KeyID: k, State: groundhand.KeyRetired}) // so that a theft makes no room but its own
	}
	_, err = o.issuer.KeyStolen(o.ctx, coordinator, o.active(), "a laptop was taken")
	require.NoError(t, err, "a full document does not keep a theft from being answered")
}

func (o *office) allKeys() (out []string) {
	o.Helper()
	keys, err := o.issuer.Keys(o.ctx)
	require.NoError(o, err)
	for _, k := range keys {
		out = append(out, k.ID)
	}
	return out
}

// A name made up by the program would be signed, and what was signed cannot be taken back quietly.
func TestNothingGoesOutInNobodysName(t *testing.T) {
	o := newOffice(t)
	o.issuer = o.sitDown(Options{Name: " ", Address: address})
	assert.ErrorContains(t, o.issuer.Trouble(o.ctx), "--issuer")
	_, err := o.issuer.Issue(o.ctx, coordinator, "key", o.run("lukasz", groundhand.Lead, "2025-06-10").ID, "")
	assert.ErrorContains(t, err, "--issuer")
	_, err = o.issuer.Export(o.ctx, hr, Filter{}, io.Discard, nil)
	assert.ErrorContains(t, err, "--issuer")
	all, err := store.All[groundhand.Certificate](o.ctx, o.store)
	require.NoError(t, err)
	assert.Empty(t, all)
}
