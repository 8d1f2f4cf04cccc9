package credential

import (
	"encoding/json"
	"testing"

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

// The form in which each kind of character is signed; RDFC-1.0 (W3C, 21 May 2024), section 5.2, escapes four and leaves all others.
func TestTheCanonicalFormOfTexts(t *testing.T) {
	for text, want := range map[string]string{
		"a\"b": `"a\"b"`, `a\b`: `"a\\b"`, "a\nb": `"a\nb"`, "é": `"é"`, "e\u0301": "\"e\u0301\"", "𠮷": `"𠮷"`, "\u2028": "\"\u2028\"", "<&>": `"<&>"`, " a ": `" a "`,
	} {
		got, err := ours().canonical(map[string]any{"@context": credentialsV2, "id": "urn:x", "name": text})
		require.NoError(t, err)
		require.Equal(t, "<urn:x> <https://schema.org/name> "+want+" .\n", got)
	}
}
