package credential

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
)

// members reads a file loosely, for changing it.
func members(t testing.TB, data []byte) map[string]any {
	t.Helper()
	var m map[string]any
	require.NoError(t, json.Unmarshal(data, &m))
	return m
}

func written(t testing.TB, m map[string]any) []byte {
	t.Helper()
	b, err := encode(m)
	require.NoError(t, err)
	return b
}

// at walks to a member: names, and numbers of items as "0".
func at(m any, path ...string) map[string]any {
	for _, step := range path {
		if list, ok := m.([]any); ok {
			m = list[step[0]-'0']
			continue
		}
		m = m.(map[string]any)[step]
	}
	return m.(map[string]any)
}

// changes are all ways to change one place of a JSON tree: each is applied, tried and taken back.
func changes(v any, path string, set func(any), try func(what string)) {
	change := func(what string, to any) {
		set(to)
		try(path + " " + what)
		set(v)
	}
	switch v := v.(type) {
	case string:
		change("is longer", v+"x")
		change("has another letter", another(v))
		change("is a number", 7)
		change("is null", nil)
		change("is empty", "")
	case bool:
		change("is turned round", !v)
	case []any:
		change("is empty", []any{})
		change("has its first item twice", append([]any{v[0]}, v...))
		change("has one more", append(slices.Clone(v), "https://www.w3.org/ns/credentials/examples/v2"))
		if len(v) > 1 {
			turned := slices.Clone(v)
			slices.Reverse(turned)
			change("is turned round", turned)
		}
		for i := range v {
			changes(v[i], fmt.Sprintf("%s[%d]", path, i), func(to any) { v[i] = to }, try)
		}
	case map[string]any:
		change("is a list of itself", []any{v})
		for _, name := range slices.Sorted(maps.Keys(v)) {
			kept := v[name]
			delete(v, name)
			try(path + "." + name + " removed")
			v[name] = kept
			changes(kept, path+"."+name, func(to any) { v[name] = to }, try)
		}
		for name, value := range map[string]any{"name": "Somebody else", "description": "more", "id": "urn:uuid:00000000-0000-4000-8000-000000000000",
			"favouriteColour": "green", "https://schema.org/name": "x", "@id": "urn:x", "@type": "x", "@graph": []any{}, "@context": map[string]any{"name": "urn:x"},
			"awardedDate": "2027-03-01T00:00:00Z", "": "x"} {
			if _, there := v[name]; !there {
				v[name] = value
				try(path + "." + name + " added")
				delete(v, name)
			}
		}
	}
}

// another is a text of the same kind that says something else.
func another(s string) string {
	b := []byte(s)
	for i := len(b) - 1; i >= 0; i-- {
		switch c := b[i]; {
		case c >= '0' && c < '9', c >= 'a' && c < 'f', c >= 'A' && c < 'Z':
			b[i]++
			return string(b)
		case c == '9', c >= 'f' && c <= 'z':
			b[i]--
			return string(b)
		}
	}
	return s + "a"
}

// Every single change to every place of a signed file is refused, even with the signer's key at hand to look it up.
func TestNoChangeIsAccepted(t *testing.T) {
	tampered(t, signed(t, sample()), 400, func(data []byte) error {
		_, err := Read(data, published(webID, multikey(key)))
		return err
	})
	own := sample()
	own.IssuerID = KeyIssuer(public(key))
	tampered(t, signed(t, own), 400, func(data []byte) error {
		_, err := Read(data, nil)
		return err
	})
}

func TestNoChangeToAStatusListIsAccepted(t *testing.T) {
	list, err := SignStatusList(list1(3, 5), key, issued)
	require.NoError(t, err)
	tampered(t, list, 100, func(data []byte) error {
		_, err := ReadStatusList(data, published(webID, multikey(key)))
		return err
	})
}

func tampered(t *testing.T, data []byte, least int, read func([]byte) error) {
	t.Helper()
	m := members(t, data)
	require.NoError(t, read(written(t, m)), "the order of the members does not matter")
	tries := 0
	changes(m, "", func(any) {}, func(what string) {
		if what == " is a list of itself" {
			return // cannot be set at the root
		}
		tries++
		var r *Refusal
		require.ErrorAs(t, read(written(t, m)), &r, what)
	})
	require.NoError(t, read(written(t, m)), "every change was taken back")
	require.Greater(t, tries, least)
}

// tampering is what was done to a file, and why it is refused.
type tampering struct {
	what string
	code RefusalCode
	data []byte
}

func TestWhyAFileIsRefused(t *testing.T) {
	for _, c := range spoiled(t) {
		_, err := Read(c.data, published(webID, multikey(key)))
		requireCode(t, c.code, err, c.what)
	}
}

// spoiled are the kinds of tampering that the agreed format lists, and some more.
func spoiled(t *testing.T) []tampering {
	t.Helper()
	text := string(signed(t, sample()))
	foreign, err := Sign(sample(), keyOf("f"), issued)
	require.NoError(t, err)
	replace := func(old, fresh string) []byte {
		require.Contains(t, text, old)
		return []byte(strings.Replace(text, old, fresh, 1))
	}
	edit := func(change func(m map[string]any)) []byte {
		m := members(t, []byte(text))
		change(m)
		return written(t, m)
	}
	subject := "credentialSubject"
	return []tampering{
		{"name of the person", Changed, replace("Rowan Aldersea", "Rowan Alderses")},
		{"assessor", Changed, replace("Imre Castellan", "Imre Castellas")},
		{"number", Changed, replace("LRS-2027-000318", "LRS-2027-000319")},
		{"last moment", Changed, replace("2028-02-29T23", "2028-02-28T23")},
		{"another offset of the same moment", Changed, replace("2028-02-29T23:59:59-06:00", "2028-03-01T05:59:59Z")},
		{"day shown", Changed, replace(`"activityStartDate":"2027-03-01`, `"activityStartDate":"2027-02-01`)},
		{"narrative", Changed, replace("practical assessment passed", "practical assessment praised")},
		{"kind", Changed, replace(`"Certification"`, `"CertificateOfCompletion"`)},
		{"outcome", OtherKind, replace(`"status":"Completed"`, `"status":"Failed"`)},
		{"place in the list", Changed, []byte(strings.ReplaceAll(text, "48213", "48214"))},
		{"place in the list, in one of two places", OtherKind, replace(`"statusListIndex":"48213"`, `"statusListIndex":"48214"`)},
		{"place in the list with letters", OtherKind, []byte(strings.ReplaceAll(text, `48213"`, `48213abc"`))},
		{"place in the list as a number", NotACredential, replace(`"statusListIndex":"48213"`, `"statusListIndex":48213`)},
		{"beyond the list", OtherKind, []byte(strings.ReplaceAll(text, "48213", "131072"))},
		{"another list", Changed, []byte(strings.ReplaceAll(text, "/status/1", "/status/2"))},
		{"purpose of the list", OtherKind, replace(`"revocation"`, `"suspension"`)},
		{"status removed", Changed, edit(func(m map[string]any) { delete(m, "credentialStatus") })},
		{"name of the issuer", Changed, replace("Line Services", "Lane Services")},
		{"id of the issuer", UnknownIssuer, []byte(strings.ReplaceAll(text, webID, "did:web:other.example"))},
		{"id of the issuer, but not of its key", UnknownKey, replace(`"id":"`+webID, `"id":"did:web:other.example`)},
		{"id", Changed, replace("7b0a5f3e", "7b0a5f3f")},
		{"known property added", OtherKind, edit(func(m map[string]any) { m["description"] = "More." })},
		{"known optional property added", Changed, edit(func(m map[string]any) { at(m, subject, "identifier", "0")["salt"] = "5f2c" })},
		{"unknown property added", OtherKind, edit(func(m map[string]any) { at(m, subject)["employeeNumber"] = "17" })},
		{"result added", Changed, edit(func(m map[string]any) {
			s := at(m, subject)
			s["result"] = append(s["result"].([]any), map[string]any{"type": []any{"Result"}, "resultDescription": "urn:uuid:x", "value": "1 min"})
		})},
		{"identity added", Changed, edit(func(m map[string]any) {
			s := at(m, subject)
			s["identifier"] = append(s["identifier"].([]any), map[string]any{"type": "IdentityObject", "hashed": true, "identityHash": "sha256$00", "identityType": "emailAddress"})
		})},
		{"more identities than fit", OtherKind, edit(func(m map[string]any) {
			s := at(m, subject)
			s["identifier"] = slices.Repeat(s["identifier"].([]any), 9)
		})},
		{"inline context added", OtherKind, edit(func(m map[string]any) { m["@context"] = append(m["@context"].([]any), map[string]any{"role": "urn:x"}) })},
		{"inline context inside", OtherKind, edit(func(m map[string]any) { at(m, subject)["@context"] = map[string]any{"role": "urn:x"} })},
		{"contexts swapped", OtherKind, edit(func(m map[string]any) { slices.Reverse(m["@context"].([]any)) })},
		{"one context", OtherKind, edit(func(m map[string]any) { m["@context"] = credentialsV2 })},
		{"type of a list", OtherKind, edit(func(m map[string]any) { m["type"] = []any{typeCredential, typeStatusList} })},
		{"alias of the type", OtherKind, replace(`"OpenBadgeCredential"`, `"AchievementCredential"`)},
		{"proof removed", NotSigned, edit(func(m map[string]any) { delete(m, "proof") })},
		{"proof emptied", OtherKind, edit(func(m map[string]any) { m["proof"] = map[string]any{} })},
		{"two proofs", OtherKind, edit(func(m map[string]any) { m["proof"] = []any{m["proof"], m["proof"]} })},
		{"proof truncated", Changed, edit(func(m map[string]any) {
			p := at(m, "proof")
			p["proofValue"] = p["proofValue"].(string)[:60]
		})},
		{"proof of another purpose", OtherKind, replace(`"proofPurpose":"assertionMethod"`, `"proofPurpose":"authentication"`)},
		{"proof of another suite", OtherKind, replace("eddsa-rdfc-2022", "eddsa-jcs-2022")},
		{"moment of the proof", Changed, edit(func(m map[string]any) { at(m, "proof")["created"] = "2027-03-01T09:30:01Z" })},
		{"proof with a challenge", OtherKind, edit(func(m map[string]any) { at(m, "proof")["challenge"] = "x" })},
		{"proof of another file", Changed, edit(func(m map[string]any) {
			other := sample()
			other.Person = "Somebody else"
			m["proof"] = members(t, signed(t, other))["proof"]
		})},
		{"foreign key", UnknownKey, foreign},
		{"borrowed key id", Changed, []byte(strings.Replace(string(foreign), multikey(keyOf("f")), multikey(key), 1))},
		{"key id without an issuer", UnknownKey, edit(func(m map[string]any) { at(m, "proof")["verificationMethod"] = multikey(key) })},
		{"name twice", NotACredential, replace(`"licenseNumber"`, `"licenseNumber":"LRS-2027-000001","licenseNumber"`)},
		{"name twice, written otherwise", NotACredential, replace(`"licenseNumber"`, `"licenseN\u0075mber":"LRS-2027-000001","licenseNumber"`)},
		{"name in other letters", OtherKind, replace(`"licenseNumber"`, `"LicenseNumber"`)},
		{"statement smuggled in through an id", OtherKind, replace(`"id":"urn:uuid:7b0a`, `"id":"urn:x> <urn:y> <urn:z> .\n<urn:uuid:7b0a`)},
		{"blank id", OtherKind, replace(`"id":"urn:uuid:7b0a5f3e-6c1d-4b86-9a2f-3d5c8e417f60"`, `"id":"_:c14n0"`)},
		{"id of a keyword", OtherKind, replace(`"id":"urn:uuid:7b0a5f3e-6c1d-4b86-9a2f-3d5c8e417f60"`, `"id":"@type"`)},
	}
}

// The same for what is no sound JSON to begin with.
func TestWhatIsNoSoundJSONIsRefused(t *testing.T) {
	text := string(signed(t, sample()))
	for what, data := range map[string]string{
		"nothing": "", "null": "null", "a list": "[" + text + "]", "a number": "1", "a text": `"x"`, "half of it": text[:len(text)/2],
		"something after": text + "{}", "a mark before": "\ufeff" + text, "deep": strings.Repeat(`{"a":`, 1000), "deep lists": strings.Repeat("[", 100_000),
		"too large":               text + strings.Repeat(" ", Largest),
		"bytes that are not UTF8": strings.Replace(text, "Aldersea", "Alders\xe9a", 1),
		"half a surrogate":        strings.Replace(text, "Aldersea", `Alders\ud800a`, 1),
		"replacement character":   strings.Replace(text, "Aldersea", "Alders\ufffda", 1),
		"an escaped control":      strings.Replace(text, "Aldersea", `Alders\u0008a`, 1),
		"delete":                  strings.Replace(text, "Aldersea", "Alders\u007fa", 1),
		"a tab":                   strings.Replace(text, "Aldersea", `Alders\ta`, 1),
		"a control in a name":     strings.Replace(text, `"role"`, `"ro\u0000le"`, 1),
		"a null":                  strings.Replace(text, `"lead rescuer"`, "null", 1),
	} {
		_, err := Read([]byte(data), published(webID, multikey(key)))
		requireCode(t, NotACredential, err, what)
		_, err = ReadStatusList([]byte(data), published(webID, multikey(key)))
		requireCode(t, NotACredential, err, what)
	}
}

// A refusal is shown to whoever sent the file, so a file cannot make it long.
func TestARefusalStaysShort(t *testing.T) {
	long := strings.Repeat("ø", Largest/3)
	data := strings.Replace(string(signed(t, sample())), "urn:uuid:7b0a", long, 1)
	_, err := Read([]byte(data), published(webID, multikey(key)))
	requireCode(t, OtherKind, err)
	require.Less(t, len(err.Error()), 500)
	require.True(t, utf8.ValidString(err.Error()))
	_, err = Read([]byte(strings.ReplaceAll(string(signed(t, sample())), webID, "did:web:"+strings.Repeat("a", Largest/3))), published(webID, multikey(key)))
	requireCode(t, UnknownIssuer, err)
	require.Less(t, len(err.Error()), 500)
}
