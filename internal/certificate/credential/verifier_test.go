package credential

import (
	"bytes"
	"crypto/ed25519"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// names have letters that programs escape in different ways, or not at all: strokes, ogoneks, stacked and combining accents, quotes,
// backslashes, signs of the canonical form itself, other scripts, and characters beyond U+FFFF.
var names = []string{
	"Rowan Aldersea", "Łucja Świątek-Żak", "Ștefan Ionuț", "Őry Ödön Űr", "Đặng Thị Ngọc Ánh", "Íñigo Peñalba", "Søren Ørsted Bråten",
	"Weiß & Söhne <Straße>", `Ann "Skip" O'Dell`, `back\slash \u0041 \n`, "<urn:x> _:c14n0 \"y\"^^<z> .", "𠮷野 家𝒜", "Zoe\u0301 e\u0308", "👷\u200d♀️ Ana",
	"宮本 さくら", "Γιώργος Μαΐου", "Жанна Ёлкина", "\u2028 line \u2029 paragraph", "trailing space ", "نور الهدى", "\U000f0000 private \U0010fffd", "\ufeffmark \ufffe \uffff \U0001ffff",
}

// everybody is one certificate a name, in every form that a certificate can have.
func everybody() []Credential {
	var all []Credential
	for i, name := range names {
		c := sample()
		c.ID = fmt.Sprintf("urn:uuid:7b0a5f3e-6c1d-4b86-9a2f-%012x", i)
		c.Person, c.Number, c.Status = name, fmt.Sprintf("LRS-2027-%06d", i), &Status{c.Status.List, 1000 + i}
		c.IssuerName, c.Achievement.Criteria = "Issuer of "+name, "Shown by: "+name+"\nShown to: "+name
		switch i % 4 {
		case 1:
			c.Role, c.Assessor, c.IssuerURL, c.Achievement.Code, c.Achievement.Version, c.Achievement.Alignment = "", "", "", "", "", nil
		case 2:
			c.Status, c.ValidUntil, c.Achievement.Type = nil, time.Time{}, TypePractised
		case 3:
			c.Achievement.Alignment = append(c.Achievement.Alignment, c.Achievement.Alignment[0], Alignment{Name: name, URL: "https://rules.example/?a=1&b=2"})
		}
		all = append(all, c)
	}
	return all
}

// verifier is an independent program that reads the official contexts with libraries of its own.
func verifier(t *testing.T) func(args ...string) ([]byte, error) {
	dir := os.Getenv("GROUNDHAND_VERIFIER")
	if dir == "" {
		t.Skip("GROUNDHAND_VERIFIER does not name a folder with verify.mjs and its node_modules")
	}
	node, err := exec.LookPath("node")
	if err != nil {
		t.Skip("node is not installed")
	}
	return func(args ...string) ([]byte, error) {
		cmd := exec.Command(node, append([]string{filepath.Join(dir, "verify.mjs"), "--at", "2027-06-01T00:00:00Z"}, args...)...)
		return cmd.CombinedOutput()
	}
}

func put(t *testing.T, dir, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(dir, name)
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
	require.NoError(t, os.WriteFile(path, data, 0o600))
	return path
}

// office writes the document of the issuer and a list in which one entry is taken back.
func office(t *testing.T, dir string, takenBack ...int) (doc, list string) {
	t.Helper()
	d, err := WriteDocument(Document{webID, []string{multikey(keyOf("z")), multikey(key)}})
	require.NoError(t, err)
	l, err := SignStatusList(list1(takenBack...), key, issued)
	require.NoError(t, err)
	return put(t, dir, "did.json", d), put(t, dir, "status-1.json", l)
}

func list1(set ...int) StatusList {
	return StatusList{ID: sample().Status.List, IssuerID: webID, From: issued, Until: issued.AddDate(0, 0, 120), Set: set}
}

func TestAnIndependentVerifierAcceptsWhatWeSign(t *testing.T) {
	verify, dir := verifier(t), t.TempDir()
	doc, list := office(t, dir, 0, 7, 8, ListLength-1)
	own := sample()
	own.IssuerID, own.Status = KeyIssuer(public(key)), nil
	all := append(everybody(), own)
	for i, c := range all {
		put(t, dir, fmt.Sprintf("good/%d.json", i), signed(t, c))
	}
	out, err := verify("--did-doc", doc, "--status", list, "--issuer", webID, "--issuer", own.IssuerID,
		"--expect", strconv.Itoa(len(all)), filepath.Join(dir, "good"))
	require.NoError(t, err, "%s", out)
}

func TestAnIndependentVerifierSeesWhatWasTakenBack(t *testing.T) {
	verify, dir := verifier(t), t.TempDir()
	for i, index := range []int{0, 7, 8, ListLength - 1} {
		doc, list := office(t, dir, index)
		c := sample()
		c.Status = &Status{c.Status.List, index}
		put(t, dir, "taken/one.json", signed(t, c))
		out, err := verify("--did-doc", doc, "--status", list, filepath.Join(dir, "taken"))
		require.Error(t, err, "entry %d: %s", i, out)
		require.Regexp(t, `(?i)revoked`, string(out))
	}
}

func TestAnIndependentVerifierRefusesWhatWasChanged(t *testing.T) {
	verify, dir := verifier(t), t.TempDir()
	doc, list := office(t, dir)
	tampered := 0
	for i, c := range everybody() {
		data := bytes.Replace(signed(t, c), []byte(`"licenseNumber":"LRS-2027`), []byte(`"licenseNumber":"LRS-2028`), 1)
		put(t, dir, fmt.Sprintf("bad/%d.json", i), data)
		tampered++
	}
	foreign, err := Sign(sample(), ed25519.NewKeyFromSeed(bytes.Repeat([]byte("f"), 32)), issued)
	require.NoError(t, err)
	put(t, dir, "bad/foreign.json", foreign)
	out, err := verify("--did-doc", doc, "--status", list, "--expect-invalid", filepath.Join(dir, "bad"))
	require.NoError(t, err, "%d files: %s", tampered+1, out)
}
