package credential

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"io"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Bitstring Status List v1.0, example 3: nothing is set. Two programs may pack differently, so the unpacked bytes are compared.
const emptyList = "uH4sIAAAAAAAAA-3BMQEAAADCoPVPbQwfoAAAAAAAAAAAAAAAAAAAAIC3AYbSVKsAQAAA"

func unpacked(t *testing.T, encoded string) []byte {
	t.Helper()
	packed, err := base64.RawURLEncoding.DecodeString(strings.TrimPrefix(encoded, "u"))
	require.NoError(t, err)
	zip, err := gzip.NewReader(bytes.NewReader(packed))
	require.NoError(t, err)
	bits, err := io.ReadAll(zip)
	require.NoError(t, err)
	return bits
}

func packed(t *testing.T, bits []byte) string {
	t.Helper()
	var buf bytes.Buffer
	zip := gzip.NewWriter(&buf)
	_, err := zip.Write(bits)
	require.NoError(t, err)
	require.NoError(t, zip.Close())
	return "u" + base64.RawURLEncoding.EncodeToString(buf.Bytes())
}

func TestTheEmptyListOfTheStandard(t *testing.T) {
	set, ok := decodeBits(emptyList)
	require.True(t, ok)
	require.Empty(t, set)
	require.Equal(t, unpacked(t, emptyList), unpacked(t, encodeBits(nil)))
	require.Equal(t, make([]byte, 16384), unpacked(t, emptyList))
}

// The same standard, sections 2.2 and 3.3: the first entry is the left-most bit, which is the most significant of the first byte.
func TestTheFirstEntryIsTheLeftMostBit(t *testing.T) {
	bits := unpacked(t, encodeBits([]int{0, 9, ListLength - 1}))
	require.Equal(t, []byte{0x80, 0x40}, bits[:2])
	require.Equal(t, byte(0x01), bits[16383])
	set, ok := decodeBits(packed(t, bits))
	require.True(t, ok)
	require.Equal(t, []int{0, 9, ListLength - 1}, set)
}

func TestAStatusListIsReadAsItWasSigned(t *testing.T) {
	want := list1(rand.New(rand.NewPCG(1, 2)).Perm(ListLength)[:ListLength/2]...)
	data, err := SignStatusList(want, key, issued)
	require.NoError(t, err)
	again, err := SignStatusList(want, key, issued)
	require.NoError(t, err)
	require.Equal(t, string(data), string(again))
	list, err := ReadStatusList(data, published(webID, multikey(key)))
	require.NoError(t, err, "%d bytes: half full is the worst that packing can meet", len(data))
	slices.Sort(want.Set)
	require.Equal(t, want, list)
}

func TestWhatCannotBeAStatusListIsNotSigned(t *testing.T) {
	_, err := SignStatusList(StatusList{"http://x.example", "x", issued, issued.Add(-time.Second), []int{0, -1, ListLength}}, nil, issued)
	require.Equal(t, []string{"id", "issuerId", "until", "set", "set", "key"}, fields(err))
}

func TestWhatAStatusListTells(t *testing.T) {
	c, l := sample(), list1(7, 48213)
	taken, err := l.TakenBack(c, issued)
	require.NoError(t, err)
	require.True(t, taken)
	c.Status = &Status{l.ID, 48212}
	taken, err = l.TakenBack(c, l.Until)
	require.NoError(t, err)
	require.False(t, taken)
	taken, err = l.TakenBack(c, l.From.AddDate(-1, 0, 0))
	require.NoError(t, err, "a later list is as good: nothing that was taken back comes back")
	require.False(t, taken)
	_, err = l.TakenBack(c, l.Until.Add(time.Second))
	requireCode(t, RunOut, err)
	for what, change := range map[string]func(*Credential){
		"no status":      func(c *Credential) { c.Status = nil },
		"another list":   func(c *Credential) { c.Status = &Status{l.ID + "0", 7} },
		"another issuer": func(c *Credential) { c.IssuerID = "did:web:other.example" },
	} {
		other := sample()
		change(&other)
		_, err = l.TakenBack(other, issued)
		requireCode(t, OtherKind, err, what)
	}
}

// What was done to a list, by somebody else or by a signer who got it wrong, and why it is refused.
func TestWhyAStatusListIsRefused(t *testing.T) {
	data, err := SignStatusList(list1(3, 48213), key, issued)
	require.NoError(t, err)
	foreign, err := SignStatusList(list1(3, 48213), keyOf("f"), issued)
	require.NoError(t, err)
	misshapen := func(change func(w *wireList)) []byte {
		w := wireList{Context: []string{credentialsV2}, Type: []string{typeCredential, typeStatusList}, ID: list1().ID, Issuer: webID, From: stamp(issued),
			Until: stamp(issued.AddDate(0, 0, 30)), Subject: wireBits{typeStatusBits, list1().ID + "#list", purposeRevocation, encodeBits([]int{3})}}
		change(&w)
		data, err := seal(&w, &w.Proof, w.Context, webID, key, issued)
		require.NoError(t, err)
		return data
	}
	encoded := func(s string) []byte { return misshapen(func(w *wireList) { w.Subject.Encoded = s }) }
	_, err = ReadStatusList(misshapen(func(*wireList) {}), published(webID, multikey(key)))
	require.NoError(t, err)
	cleared := members(t, data)
	at(cleared, "credentialSubject")["encodedList"] = encodeBits([]int{3})
	unsigned := members(t, data)
	delete(unsigned, "proof")
	for _, c := range []struct {
		what string
		code RefusalCode
		data []byte
	}{
		{"foreign key", UnknownKey, foreign},
		{"borrowed key id", Changed, bytes.Replace(foreign, []byte(multikey(keyOf("f"))), []byte(multikey(key)), 1)},
		{"cleared bit", Changed, written(t, cleared)},
		{"later end", Changed, bytes.Replace(data, []byte(stamp(list1().Until)), []byte("2099-01-01T00:00:00Z"), 1)},
		{"no proof", NotSigned, written(t, unsigned)},
		{"a certificate", OtherKind, signed(t, sample())},
		{"too short", OtherKind, encoded(packed(t, make([]byte, 16383)))},
		{"too long", OtherKind, encoded(packed(t, make([]byte, 16385)))},
		{"far too long", OtherKind, encoded(packed(t, make([]byte, 32<<20)))},
		{"two packed lists", OtherKind, encoded(encodeBits(nil) + encodeBits(nil)[1:])},
		{"something after the list", OtherKind, encoded(packedAnd(t, "x"))},
		{"cut off", OtherKind, encoded(encodeBits(nil)[:30])},
		{"other base", OtherKind, encoded("z" + encodeBits(nil)[1:])},
		{"padded", OtherKind, encoded(encodeBits(nil) + "=")},
		{"not packed", OtherKind, encoded("u" + base64.RawURLEncoding.EncodeToString(make([]byte, 16384)))},
		{"wrong purpose", OtherKind, misshapen(func(w *wireList) { w.Subject.Purpose = "suspension" })},
		{"another list inside", OtherKind, misshapen(func(w *wireList) { w.Subject.ID = "https://x.example/2#list" })},
		{"ends before it begins", OtherKind, misshapen(func(w *wireList) { w.Until = "2020-01-01T00:00:00Z" })},
		{"other issuer", UnknownKey, misshapen(func(w *wireList) { w.Issuer = "did:web:other.example" })},
	} {
		_, err := ReadStatusList(c.data, published(webID, multikey(key)))
		requireCode(t, c.code, err, c.what)
	}
	_, err = Read(data, published(webID, multikey(key)))
	requireCode(t, OtherKind, err, "a list is no certificate")
}

// packedAnd is an empty list with bytes after the end of the packing.
func packedAnd(t *testing.T, more string) string {
	t.Helper()
	b, err := base64.RawURLEncoding.DecodeString(encodeBits(nil)[1:])
	require.NoError(t, err)
	return "u" + base64.RawURLEncoding.EncodeToString(append(b, more...))
}
