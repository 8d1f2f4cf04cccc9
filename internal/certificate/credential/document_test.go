package credential

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// The did:web method: a port is written %3A, a host is a name, and without a path the document lies under /.well-known.
func TestTheIssuerOfAnAddress(t *testing.T) {
	for address, want := range map[string]string{
		"https://training.larkspur-ridge.example": webID, "https://Training.Larkspur-Ridge.EXAMPLE/": webID, "https://training.larkspur-ridge.example:443": webID,
		"https://host.example:8443": "did:web:host.example%3A8443", "https://localhost:3000/": "did:web:localhost%3A3000", "https://xn--strae-oqa.example": "did:web:xn--strae-oqa.example",
	} {
		id, err := WebIssuer(address)
		require.NoError(t, err, address)
		require.Equal(t, want, id)
		require.Regexp(t, issuerID, id)
	}
	for _, address := range []string{
		"", "training.example", "http://training.example", "https://", "https://training.example/a", "https://training.example//", "https://training.example?x",
		"https://training.example/?", "https://training.example#x", "https://training.example/#", "https://me@training.example", "https://me:pw@training.example", "https://192.0.2.1", "https://[2001:db8::1]:8443",
		"https://training.example:", "https://training.example:0", "https://training.example:65536", "https://training.example:08443", "https://straße.example",
		"https://a..b", "https://-a.example", "https://a_b.example", "https://a.example.", "https://1.2", "https://a b.example", "https://a%3Ab.example", "ftp://a.example", "https:a.example",
		"https://a.example\n", "javascript:alert(1)",
	} {
		id, err := WebIssuer(address)
		require.Error(t, err, "%q gave %q", address, id)
		require.ErrorIs(t, err, groundhand.CodeInvalid, address)
	}
}

func TestADocumentIsReadAsItIsWritten(t *testing.T) {
	d := Document{webID, []string{multikey(keyOf("a")), multikey(keyOf("b"))}}
	data, err := WriteDocument(d)
	require.NoError(t, err)
	again, err := ReadDocument(data)
	require.NoError(t, err)
	require.Equal(t, d, again)
	data, err = WriteDocument(Document{ID: webID})
	require.NoError(t, err)
	require.Contains(t, string(data), `"verificationMethod":[],"assertionMethod":[]`)
}

// A resolver that is widely used stops at 8,192 bytes, which is some twenty keys.
func TestADocumentStaysSmallEnoughToBeRead(t *testing.T) {
	d := Document{ID: webID}
	for i := 0; ; i++ {
		d.Keys = append(d.Keys, multikey(keyOf(string(rune('A'+i)))))
		data, err := WriteDocument(d)
		if err != nil {
			require.ErrorIs(t, err, groundhand.CodeTooLarge)
			require.Greater(t, i, 15)
			return
		}
		require.Less(t, len(data), 8192)
	}
}

func TestADocumentIsNotWrittenWrongly(t *testing.T) {
	_, err := WriteDocument(Document{"nobody", []string{w3cSecret, multikey(key), multikey(key)}})
	require.Equal(t, []string{"id", "keys", "keys"}, fields(err))
}

// A key counts when it is under verificationMethod and assertionMethod alike, belongs to the issuer, and has no end: verifiers are
// expected to refuse every proof of a key that has one (W3C Controlled Identifiers 1.0).
func TestWhichKeysOfADocumentCount(t *testing.T) {
	mine := multikey(key)
	method := fmt.Sprintf(`{"id":"%s#%s","type":"Multikey","controller":"%s","publicKeyMultibase":"%s"}`, webID, mine, webID, mine)
	document := func(method, assertion string) string {
		return fmt.Sprintf(`{"@context":[{"@version":1.1}],"id":"%s","service":[{"n":1}],"verificationMethod":[17,%s],"assertionMethod":[%s]}`, webID, method, assertion)
	}
	may := fmt.Sprintf(`"%s#%s"`, webID, mine)
	d, err := ReadDocument([]byte(document(method+","+method, may+`,{"id":"x"}`)))
	require.NoError(t, err)
	require.Equal(t, Document{webID, []string{mine}}, d)
	for what, text := range map[string]string{
		"not for signing":     document(method, ""),
		"somebody else's":     document(strings.Replace(method, `"controller":"did:web:training`, `"controller":"did:web:other`, 1), may),
		"of another kind":     document(strings.Replace(method, "Multikey", "JsonWebKey", 1), may),
		"under another name":  document(strings.Replace(method, "#"+mine, "#key-1", 1), may),
		"revoked":             document(strings.Replace(method, `"type"`, `"revoked":"2027-01-01T00:00:00Z","type"`, 1), may),
		"with an end":         document(strings.Replace(method, `"type"`, `"expires":"2099-01-01T00:00:00Z","type"`, 1), may),
		"a private key":       document(strings.Replace(method, `"publicKeyMultibase":"`+mine, `"publicKeyMultibase":"`+w3cSecret, 1), may),
		"missing, only named": document("{}", may),
	} {
		d, err := ReadDocument([]byte(text))
		require.NoError(t, err, what)
		require.Empty(t, d.Keys, what)
	}
	for what, text := range map[string]string{
		"a name twice": strings.Replace(document(method, may), `"id"`, `"id":"did:web:other.example","id"`, 1), "no id": "{}", "a list": "[]", "nothing": "",
		"another id": `{"id":"x"}`, "not UTF-8": `{"id":"did:web:a` + "\xff" + `"}`, "too large": document(method, may) + strings.Repeat(" ", 8192),
	} {
		_, err := ReadDocument([]byte(text))
		require.NotEmpty(t, groundhand.Refusals(err), what)
	}
}
