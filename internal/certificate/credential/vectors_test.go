package credential

import (
	"crypto/ed25519"
	"crypto/sha256"
	"crypto/sha512"
	"encoding/hex"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The key pair, document and values of W3C Data Integrity EdDSA Cryptosuites v1.0 (Recommendation, 15 May 2025), appendix B.
const (
	w3cPublic = "z6MkrJVnaZkeFzdQyMZu1cgjg7k1pZZ6pvBQ7XJPt4swbTQ2"
	w3cSecret = "z3u2en7t5LR2WtQH5PfFqMqwVHBeXouLzo6haApm8XHqvjxq"
	w3cSeed   = "c96ef9ea10c5e414c471723aff9de72c35fa5b70fae97e8832ecac7d2e2b8ed6"

	w3cDocument = `{"@context": ["https://www.w3.org/ns/credentials/v2", "https://www.w3.org/ns/credentials/examples/v2"],
		"id": "urn:uuid:58172aac-d8ba-11ed-83dd-0b3aef56cc33", "type": ["VerifiableCredential", "AlumniCredential"],
		"name": "Alumni Credential", "description": "A minimum viable example of an Alumni Credential.",
		"issuer": "https://vc.example/issuers/5678", "validFrom": "2023-01-01T00:00:00Z",
		"credentialSubject": {"id": "did:example:abcdefgh", "alumniOf": "The School of Examples"}}`

	w3cCanonicalDocument = `<did:example:abcdefgh> <https://www.w3.org/ns/credentials/examples#alumniOf> "The School of Examples" .
<urn:uuid:58172aac-d8ba-11ed-83dd-0b3aef56cc33> <http://www.w3.org/1999/02/22-rdf-syntax-ns#type> <https://www.w3.org/2018/credentials#VerifiableCredential> .
<urn:uuid:58172aac-d8ba-11ed-83dd-0b3aef56cc33> <http://www.w3.org/1999/02/22-rdf-syntax-ns#type> <https://www.w3.org/ns/credentials/examples#AlumniCredential> .
<urn:uuid:58172aac-d8ba-11ed-83dd-0b3aef56cc33> <https://schema.org/description> "A minimum viable example of an Alumni Credential." .
<urn:uuid:58172aac-d8ba-11ed-83dd-0b3aef56cc33> <https://schema.org/name> "Alumni Credential" .
<urn:uuid:58172aac-d8ba-11ed-83dd-0b3aef56cc33> <https://www.w3.org/2018/credentials#credentialSubject> <did:example:abcdefgh> .
<urn:uuid:58172aac-d8ba-11ed-83dd-0b3aef56cc33> <https://www.w3.org/2018/credentials#issuer> <https://vc.example/issuers/5678> .
<urn:uuid:58172aac-d8ba-11ed-83dd-0b3aef56cc33> <https://www.w3.org/2018/credentials#validFrom> "2023-01-01T00:00:00Z"^^<http://www.w3.org/2001/XMLSchema#dateTime> .
`
	w3cCanonicalOptions = `_:c14n0 <http://purl.org/dc/terms/created> "2023-02-24T23:36:38Z"^^<http://www.w3.org/2001/XMLSchema#dateTime> .
_:c14n0 <http://www.w3.org/1999/02/22-rdf-syntax-ns#type> <https://w3id.org/security#DataIntegrityProof> .
_:c14n0 <https://w3id.org/security#cryptosuite> "eddsa-rdfc-2022"^^<https://w3id.org/security#cryptosuiteString> .
_:c14n0 <https://w3id.org/security#proofPurpose> <https://w3id.org/security#assertionMethod> .
_:c14n0 <https://w3id.org/security#verificationMethod> <did:key:z6MkrJVnaZkeFzdQyMZu1cgjg7k1pZZ6pvBQ7XJPt4swbTQ2#z6MkrJVnaZkeFzdQyMZu1cgjg7k1pZZ6pvBQ7XJPt4swbTQ2> .
`
	w3cHashDocument  = "517744132ae165a5349155bef0bb0cf2258fff99dfe1dbd914b938d775a36017"
	w3cHashOptions   = "bea7b7acfbad0126b135104024a5f1733e705108f42d59668b05c0c50004c6b0"
	w3cSignature     = "4d8e53c2d5b3f2a7891753eb16ca993325bdb0d3cfc5be1093d0a18426f5ef8578cadc0fd4b5f4dd0d1ce0aefd15ab120b7a894d0eb094ffda4e6553cd1ed50d"
	w3cProofValue    = "z2YwC8z3ap7yx1nZYCg4L3j3ApHsF8kgPdSb5xoS1VR7vPG3F561B52hYnQF9iseabecm3ijx4K1FBTQsCZahKZme"
	w3cHashDocument2 = "03f59e5b04ab575b1172cb684f22eede72f0e9033e0b5c67d0e2506768d6ce11"
	w3cSignature2    = "20b1a944960b75ca69ba070af4820de6e6acae1afe827d8c566c0f7b932d1bd3abde3222b3095088051439a8b4e7a5356c7ba6d246774f875ebb6ddee1577003"
	w3cProofValue2   = "zeuuS9pi2ZR8Q41bFFJKS9weSWkwa7pRcxHTHzxjDEHtVSZp3D9Rm3JdzT82EQpmXMb9wvfFJLuDPeSXZaRX1q1c"
	examples         = "https://www.w3.org/ns/credentials/examples#"
	examplesContext  = "https://www.w3.org/ns/credentials/examples/v2" // github.com/w3c/vc-data-model, contexts/credentials/examples/v2
	examplesTerms    = `{"@context": {"@vocab": "` + examples + `"}}`
	w3cMethod        = "did:key:" + w3cPublic + "#" + w3cPublic
)

func unhex(t *testing.T, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(s)
	require.NoError(t, err)
	return b
}

// Appendix B.1 (examples 7 to 17), step by step: our reduced context gives what the whole one gives.
func TestTheFirstVectorOfTheSuite(t *testing.T) {
	v := newVocabulary(map[string][]byte{credentialsV2: credentialsV2Terms, examplesContext: []byte(examplesTerms)})
	v.iris[examples+"alumniOf"], v.iris[examples+"AlumniCredential"] = true, true
	var document map[string]any
	require.NoError(t, json.Unmarshal([]byte(w3cDocument), &document))
	text, err := v.canonical(document)
	require.NoError(t, err)
	require.Equal(t, w3cCanonicalDocument, text)

	proof := wireProof{Type: proofType, Suite: proofSuite, Created: "2023-02-24T23:36:38Z", Purpose: proofPurpose, Method: w3cMethod,
		Value: "is no part of the options"}
	options, err := proof.options([]string{credentialsV2, examplesContext})
	require.NoError(t, err)
	text, err = v.canonical(options)
	require.NoError(t, err)
	require.Equal(t, w3cCanonicalOptions, text)

	data, err := v.digest(document, options)
	require.NoError(t, err)
	require.Equal(t, w3cHashOptions+w3cHashDocument, hex.EncodeToString(data))
	signature := ed25519.Sign(ed25519.NewKeyFromSeed(unhex(t, w3cSeed)), data)
	require.Equal(t, w3cSignature, hex.EncodeToString(signature))
	require.Equal(t, w3cProofValue, encode58(signature))
	again, ok := decode58(w3cProofValue, ed25519.SignatureSize)
	require.True(t, ok)
	require.Equal(t, signature, again)
}

// The canonical texts of the vector hash to what it says, without any of our code.
func TestTheHashesOfTheFirstVector(t *testing.T) {
	document, options := sha256.Sum256([]byte(w3cCanonicalDocument)), sha256.Sum256([]byte(w3cCanonicalOptions))
	require.Equal(t, w3cHashDocument, hex.EncodeToString(document[:]))
	require.Equal(t, w3cHashOptions, hex.EncodeToString(options[:]))
}

// Appendix B.2 (examples 18 to 28) is about a document in another vocabulary; its signature is checked over the hashes that it names.
func TestTheSecondVectorOfTheSuite(t *testing.T) {
	pub, err := ParseMultikey(w3cPublic)
	require.NoError(t, err)
	data := unhex(t, w3cHashOptions+w3cHashDocument2)
	signature, ok := decode58(w3cProofValue2, ed25519.SignatureSize)
	require.True(t, ok)
	require.Equal(t, w3cSignature2, hex.EncodeToString(signature))
	require.True(t, ed25519.Verify(pub, data, signature))
	require.Equal(t, w3cProofValue2, encode58(ed25519.Sign(ed25519.NewKeyFromSeed(unhex(t, w3cSeed)), data)))
	require.False(t, ed25519.Verify(pub, unhex(t, w3cHashDocument2+w3cHashOptions), signature), "the options come first")
}

// The issuer of the signed vector is an address and its key a did:key: one who binds keys to issuers has to refuse it.
func TestTheSignedVectorIsNotOneOfOurs(t *testing.T) {
	signed := strings.Replace(w3cDocument, `"issuer"`, `"proof": {"type": "DataIntegrityProof", "cryptosuite": "eddsa-rdfc-2022",
		"created": "2023-02-24T23:36:38Z", "verificationMethod": "`+w3cMethod+`", "proofPurpose": "assertionMethod",
		"proofValue": "`+w3cProofValue+`"}, "issuer"`, 1)
	_, err := Read([]byte(signed), published("https://vc.example/issuers/5678", w3cPublic))
	requireCode(t, OtherKind, err)
}

// Section 2.1.1 of the suites: the header of a public key is 0xed01, and every other is refused, that of a private key first.
func TestHeadersOfKeys(t *testing.T) {
	pub, err := ParseMultikey(w3cPublic)
	require.NoError(t, err)
	require.Equal(t, "b00d8d938e7f773d51565aad36a623f5344f7f5d1960f9cf3e8e12620ea2810f", hex.EncodeToString(pub))
	require.Equal(t, w3cPublic, Multikey(pub))
	require.Equal(t, w3cPublic, Multikey(public(ed25519.NewKeyFromSeed(unhex(t, w3cSeed)))))
	require.Equal(t, "did:key:"+w3cPublic, KeyIssuer(pub))
	secret, ok := decode58(w3cSecret, 34)
	require.True(t, ok)
	require.Equal(t, "8026"+w3cSeed, hex.EncodeToString(secret))
	for name, s := range map[string]string{
		"a private key": w3cSecret, "another curve": encode58(append([]byte{0x80, 0x24}, pub...)), "no header": encode58(pub),
		"too short": encode58(append([]byte{0xed, 0x01}, pub[:31]...)), "too long": encode58(append([]byte{0xed, 0x01, 0}, pub...)),
		"nothing": "", "no digits": "z", "another base": "u" + w3cPublic[1:], "no such digit": w3cPublic[:47] + "0", "space": w3cPublic + " ",
		"a leading zero": "z1" + w3cPublic[1:], "very long": "z" + strings.Repeat("6", 1<<16),
	} {
		_, err := ParseMultikey(s)
		require.Error(t, err, name)
	}
}

// RFC 8032, section 7.1: the signatures of the standard library are the ones of the standard.
func TestEd25519(t *testing.T) {
	abc := sha512.Sum512([]byte("abc"))
	for name, v := range map[string]struct{ secret, public, message, signature string }{
		"1": {"9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60", "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
			"e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"},
		"2": {"4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb", "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
			"92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"},
		"3": {"c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7", "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "af82",
			"6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"},
		"SHA(abc)": {"833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42", "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
			hex.EncodeToString(abc[:]),
			"dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b58909351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704"},
	} {
		private := ed25519.NewKeyFromSeed(unhex(t, v.secret))
		require.Equal(t, v.public, hex.EncodeToString(public(private)), name)
		require.Equal(t, v.signature, hex.EncodeToString(ed25519.Sign(private, unhex(t, v.message))), name)
		require.True(t, ed25519.Verify(public(private), unhex(t, v.message), unhex(t, v.signature)), name)
	}
}
