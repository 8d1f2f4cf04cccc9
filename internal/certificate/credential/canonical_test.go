package credential

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/piprate/json-gold/ld"
	"github.com/stretchr/testify/require"
)

// What the library lets through, or leaves out without a word, is refused here: with it, something would be shown that is not signed.
func TestNothingIsSignedThatMeansNothing(t *testing.T) {
	both := `"@context": ["` + credentialsV2 + `", "` + openBadges3 + `"]`
	for what, text := range map[string]string{
		"unknown term":                      `{` + both + `, "id": "urn:x", "type": "VerifiableCredential", "employeeNumber": "17"}`,
		"unknown absolute term":             `{` + both + `, "id": "urn:x", "type": "VerifiableCredential", "https://x.example/number": "17"}`,
		"unknown type":                      `{` + both + `, "id": "urn:x", "type": ["VerifiableCredential", "Membership"], "name": "x"}`,
		"unknown absolute type":             `{` + both + `, "id": "urn:x", "type": ["VerifiableCredential", "https://x.example/T"], "name": "x"}`,
		"relative id":                       `{` + both + `, "id": "17", "type": "VerifiableCredential", "name": "x"}`,
		"relative reference":                `{` + both + `, "id": "urn:x", "type": "VerifiableCredential", "issuer": "us"}`,
		"blank id":                          `{` + both + `, "id": "_:b", "type": "VerifiableCredential", "name": "x"}`,
		"id with a bracket":                 `{` + both + `, "id": "urn:x> <urn:y", "type": "VerifiableCredential", "name": "x"}`,
		"keyword for a term":                `{` + both + `, "@id": "urn:x", "@included": [{"name": "x"}], "name": "x"}`,
		"list where the vocabulary has one": `{` + both + `, "@id": "urn:x", "name": {"@list": ["x"]}}`,
		"language":                          `{` + both + `, "@id": "urn:x", "name": {"@value": "x", "@language": "en"}}`,
		"another datatype":                  `{` + both + `, "@id": "urn:x", "name": {"@value": "x", "@type": "https://x.example/T"}}`,
		"term of another type":              `{` + both + `, "id": "urn:x", "type": "Profile", "humanCode": "x"}`,
		"another context":                   `{"@context": "https://x.example/v1", "id": "urn:x", "name": "x"}`,
		"no context":                        `{"id": "urn:x", "name": "x"}`,
		"nothing":                           `{` + both + `}`,
		"an id alone":                       `{` + both + `, "id": "urn:x"}`,
	} {
		var document map[string]any
		require.NoError(t, json.Unmarshal([]byte(text), &document), what)
		got, err := ours().canonical(document)
		require.Error(t, err, "%s: %s", what, got)
	}
}

// The form in which each kind of character is signed; RDFC-1.0 (W3C, 21 May 2024) escapes four of these and leaves all others.
func TestTheCanonicalFormOfTexts(t *testing.T) {
	for text, want := range map[string]string{
		"a\"b": `"a\"b"`, `a\b`: `"a\\b"`, "a\nb": `"a\nb"`, "é": `"é"`, "e\u0301": "\"e\u0301\"", "𠮷": `"𠮷"`, "\u2028": "\"\u2028\"", "<&>": `"<&>"`, " a ": `" a "`,
	} {
		got, err := ours().canonical(map[string]any{"@context": credentialsV2, "id": "urn:x", "name": text})
		require.NoError(t, err)
		require.Equal(t, "<urn:x> <https://schema.org/name> "+want+" .\n", got)
	}
}

// The library takes some addresses for bad ones, and leaves out what is said with them when it gathers statements by itself. An entry of
// a status list could then be exchanged without breaking the signature.
func TestWhatTheLibraryTakesForABadAddressIsSignedAllTheSame(t *testing.T) {
	for _, host := range []string{"https://a--.example", "https://x.example/" + strings.Repeat("long/", 500)} {
		c := sample()
		c.Status.List = host + "/status/1"
		require.False(t, ld.IsURL(c.Status.List), host)
		data := string(signed(t, c))
		_, err := Read([]byte(data), published(webID, multikey(key)))
		require.NoError(t, err)
		_, err = Read([]byte(strings.ReplaceAll(data, "/status/1", "/status/2")), published(webID, multikey(key)))
		requireCode(t, Changed, err, host)
	}
}

// A document says the same whether a statement stands there once or twice, and in whatever order.
func TestStatementsAreASet(t *testing.T) {
	once := map[string]any{"@context": credentialsV2, "id": "urn:x", "type": "VerifiableCredential", "name": "x",
		"issuer": map[string]any{"id": "urn:y", "name": "y"}, "credentialSubject": map[string]any{"id": "urn:y", "name": "y"}}
	want := `<urn:x> <http://www.w3.org/1999/02/22-rdf-syntax-ns#type> <https://www.w3.org/2018/credentials#VerifiableCredential> .
<urn:x> <https://schema.org/name> "x" .
<urn:x> <https://www.w3.org/2018/credentials#credentialSubject> <urn:y> .
<urn:x> <https://www.w3.org/2018/credentials#issuer> <urn:y> .
<urn:y> <https://schema.org/name> "y" .
`
	got, err := ours().canonical(once)
	require.NoError(t, err)
	require.Equal(t, want, got)
	once["type"] = []any{"VerifiableCredential", "VerifiableCredential"}
	got, err = ours().canonical(once)
	require.NoError(t, err)
	require.Equal(t, want, got)
}
