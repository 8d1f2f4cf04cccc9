package certificate

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

func (o *office) look(id string) Looked {
	o.Helper()
	looked, err := o.issuer.Look(o.ctx, id)
	require.NoError(o, err)
	return looked
}

func (o *office) cert(number groundhand.CertificateID) groundhand.Certificate {
	o.Helper()
	cert, err := store.Get[groundhand.Certificate](o.ctx, o.store, number)
	require.NoError(o, err)
	return cert
}

func TestWhatAnybodyIsTold(t *testing.T) {
	o := newOffice(t)
	o.three()
	cert := o.cert("2025-0001")
	sum := sha256.Sum256([]byte(cert.Signed))
	want := Looked{State: Valid, Number: "2025-0001", Training: "Bucket rescue, two on the ground, block-and-tackle kit", Issuer: "The employer (invented)",
		Fingerprint: strings.Join([]string{hex.EncodeToString(sum[:2]), hex.EncodeToString(sum[2:4]), hex.EncodeToString(sum[4:6]), hex.EncodeToString(sum[6:8])}, " "),
		KeyID:       o.active(), IssuedOn: day("2025-06-11"), GoodThrough: day("2026-04-09")}
	assert.Equal(t, want, o.look(cert.CredentialID))
	o.clock.Set("2025-08-01T00:30:00+01:00")
	o.withdraw("2025-0001")
	want.State, want.Since = Withdrawn, day("2025-08-01")
	assert.Equal(t, want, o.look(cert.CredentialID))
	told, err := json.Marshal(o.look(cert.CredentialID))
	require.NoError(t, err)
	for _, secret := range []string{"Łukasz", "Gideon", "lukasz", "lead", string(cert.EvidenceID), "contractor"} {
		assert.NotContains(t, string(told), secret)
	}
}

func TestNothingIsToldOfWhatWasNotIssued(t *testing.T) {
	o := newOffice(t)
	o.three()
	cert := o.cert("2025-0001")
	for _, id := range []string{"", "2025-0001", "7b0a5f3e-6c1d-4b86-9a2f-3d5c8e417f60", strings.ToUpper(cert.CredentialID), cert.CredentialID + " ", "urn:uuid:" + cert.CredentialID,
		cert.CredentialID[:35], "' OR 1=1 --", string(cert.EvidenceID), "\x00", strings.Repeat("a", 1<<16)} {
		assert.Equal(t, Looked{State: NotKnown}, o.look(id), id)
	}
}

// inside hands a file in.
func (o *office) inside(file []byte) Inside {
	o.Helper()
	got, err := o.issuer.LookInside(o.ctx, file)
	require.NoError(o, err)
	return got
}

func TestAFileThatIsHandedIn(t *testing.T) {
	o := newOffice(t)
	o.three()
	cert := o.cert("2025-0001")
	var page bytes.Buffer
	require.NoError(t, o.issuer.Paper(o.ctx, hr, "2025-0001", &page))
	var spaced bytes.Buffer
	require.NoError(t, json.Indent(&spaced, []byte(cert.Signed), "", "  "))
	for name, file := range map[string][]byte{"the signed file": []byte(cert.Signed), "the page": page.Bytes(), "set out with spaces": spaced.Bytes()} {
		got := o.inside(file)
		assert.Empty(t, got.Problem, name)
		assert.Equal(t, "Łukasz Dąbrowa-Żeleński", got.Signed.Person, name)
		assert.Equal(t, o.look(cert.CredentialID), got.Looked, name)
	}

	changed := o.inside([]byte(strings.Replace(cert.Signed, "Łukasz", "Tomasz", 1)))
	assert.Equal(t, Inside{Looked: o.look(cert.CredentialID), Problem: string(credential.Changed)}, changed, "beside what was issued, and without what it says")
	for name, c := range map[string]struct {
		file    []byte
		problem string
	}{
		"no signature":            {[]byte(`{"id":"urn:uuid:` + cert.CredentialID + `"}`), string(credential.OtherKind)},
		"nothing":                 {nil, string(credential.NotACredential)},
		"a text":                  {[]byte("Dear sirs,"), string(credential.NotACredential)},
		"the beginning of a page": {page.Bytes()[:100], NothingInside},
		"a number":                {[]byte("7"), string(credential.NotACredential)},
		"no file in a page": {[]byte("%PDF-1.7\n1 0 obj\n<< /Type /Catalog /Pages 2 0 R >>\nendobj\n2 0 obj\n<< /Type /Pages /Kids [] /Count 0 >>\nendobj\n" +
			"trailer\n<< /Root 1 0 R >>\n%%EOF\n"), NothingInside},
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, Inside{Looked: Looked{State: NotKnown}, Problem: c.problem}, o.inside(c.file))
		})
	}
}

func TestAFileOfAnotherHouseIsForeign(t *testing.T) {
	o, other, alone := newOffice(t), newOffice(t), newOffice(t)
	o.three()
	other.keys = filepath.Join(t.TempDir(), "keys")
	other.moveTo("https://another.example")
	alone.keys = filepath.Join(t.TempDir(), "keys")
	alone.moveTo("")
	for name, house := range map[string]*office{"with an address": other, "without one": alone} {
		part := house.run("lukasz", groundhand.Lead, "2025-04-10")
		got := o.inside([]byte(house.issue(part.ID, "").Signed))
		assert.Equal(t, Inside{Looked: Looked{State: NotKnown}, Problem: Foreign}, got, name)
	}
}

// moveTo takes up another public address with a key for it.
func (o *office) moveTo(address string) {
	o.Helper()
	o.issuer = o.sitDown(Options{Name: "Another house (invented)", Address: address})
	_, err := o.issuer.AnnounceKey(o.ctx, coordinator)
	require.NoError(o, err)
	_, err = o.issuer.ChangeKey(o.ctx, coordinator)
	require.NoError(o, err)
}

func TestAFileUnderAStolenKey(t *testing.T) {
	for _, address := range []string{address, ""} {
		o := newOffice(t)
		if address == "" {
			o.moveTo("")
		}
		o.three()
		cert := o.cert("2025-0001")
		forged := cert
		forged.ID, forged.PersonName = "2025-0999", "Tomasz Wieland"
		p, err := o.issuer.pen(o.ctx)
		require.NoError(t, err)
		signed, err := p.sign(forged, firstValid(cert))
		require.NoError(t, err)
		got := o.inside([]byte(signed))
		assert.Equal(t, NotRecorded, got.Problem, "signed with our key, and not what we issued")
		assert.Empty(t, got.Signed)

		o.clock.Advance(minute)
		_, err = o.issuer.KeyStolen(o.ctx, coordinator, o.active(), "a laptop was taken")
		require.NoError(t, err)
		got = o.inside([]byte(signed))
		assert.Equal(t, Inside{Looked: Looked{State: NotKnown}, Problem: string(credential.UnknownKey)}, got)
		got = o.inside([]byte(cert.Signed))
		assert.Equal(t, string(credential.UnknownKey), got.Problem)
		assert.Equal(t, Replaced, got.State, "whoever holds what we gave out is told what became of it")
		assert.Empty(t, got.Signed)
	}
}

func TestTheListIsTheSameUntilSomethingChanges(t *testing.T) {
	o := newOffice(t)
	o.clock.Set("2025-06-12T01:30:00+01:00") // Thu 12 Jun 2025 00:30 UTC, at the beginning of a slot
	o.three()
	list := func() []byte {
		l, err := o.issuer.StatusList(o.ctx, 1)
		require.NoError(t, err)
		return l
	}
	first := list()
	read, err := credential.ReadStatusList(first, o.documents)
	require.NoError(t, err)
	assert.Equal(t, "2025-06-12T00:00:00Z", read.From.UTC().Format("2006-01-02T15:04:05Z07:00"))
	assert.Equal(t, "2025-07-12T00:00:00Z", read.Until.UTC().Format("2006-01-02T15:04:05Z07:00"))
	o.clock.Set("2025-06-18T23:59:00Z")
	assert.Equal(t, first, list())
	o.issuer = o.sitDown(usual)
	assert.Equal(t, first, list(), "also after a new start")
	o.withdraw("2025-0001")
	changed := list()
	read, err = credential.ReadStatusList(changed, o.documents)
	require.NoError(t, err)
	assert.Equal(t, "2025-06-18T23:59:01Z", read.From.UTC().Format("2006-01-02T15:04:05Z07:00"))
	assert.Equal(t, []int{o.cert("2025-0001").StatusIndex}, read.Set)
	o.clock.Set("2025-06-19T00:00:00Z")
	read, err = credential.ReadStatusList(list(), o.documents)
	require.NoError(t, err)
	assert.Equal(t, "2025-06-19T00:00:00Z", read.From.UTC().Format("2006-01-02T15:04:05Z07:00"), "the next slot")
	for _, n := range []int{0, -1, 2, 1 << 30} {
		_, err := o.issuer.StatusList(o.ctx, n)
		assert.ErrorIs(t, err, groundhand.CodeNotFound, n)
	}
}

func TestAListIsLeftWhenItIsHalfFull(t *testing.T) {
	full := map[int]bool{}
	for i := range credential.ListLength / 2 {
		full[i*2] = true
	}
	delete(full, 0)
	p := &places{chance: bytes.NewReader(bytes.Repeat([]byte{0, 0, 0, 2, 0, 0, 0, 3, 0, 0, 0, 9}, 2)), open: func(list int) (map[int]bool, error) {
		if list == 1 {
			return full, nil
		}
		return map[int]bool{}, nil
	}}
	var got []string
	for range 3 {
		list, index, err := p.take()
		require.NoError(t, err)
		got = append(got, fmt.Sprint(list, " ", index))
	}
	assert.Equal(t, []string{"1 3", "2 9", "2 2"}, got, "a place that is taken is left, and the list once it is half full")
}
