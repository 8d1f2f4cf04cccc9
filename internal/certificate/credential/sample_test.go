package credential

import (
	"crypto/ed25519"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

const webID = "did:web:training.larkspur-ridge.example"

// keyOf is a key that a test can have again.
func keyOf(letter string) ed25519.PrivateKey {
	return ed25519.NewKeyFromSeed([]byte(strings.Repeat(letter, ed25519.SeedSize)))
}

func public(key ed25519.PrivateKey) ed25519.PublicKey { return key.Public().(ed25519.PublicKey) }

func multikey(key ed25519.PrivateKey) string { return Multikey(public(key)) }

var (
	key     = keyOf("a")
	issued  = time.Date(2027, time.March, 1, 9, 30, 0, 0, time.UTC)
	prairie = time.FixedZone("", -6*3600)
)

// sample is an invented certificate with everything that one can have.
func sample() Credential {
	return Credential{
		ID: "urn:uuid:7b0a5f3e-6c1d-4b86-9a2f-3d5c8e417f60", Name: "Bucket rescue, two on the ground",
		IssuerID: webID, IssuerName: "Larkspur Ridge Line Services (invented)", IssuerURL: "https://larkspur-ridge.example/",
		ValidFrom: issued, ValidUntil: time.Date(2028, time.February, 29, 23, 59, 59, 0, prairie),
		Status: &Status{"https://training.larkspur-ridge.example/status/1", 48213},
		Person: "Rowan Aldersea", Number: "LRS-2027-000318",
		ShownFrom: time.Date(2027, time.March, 1, 0, 0, 0, 0, prairie), ShownThrough: time.Date(2027, time.March, 1, 23, 59, 59, 0, prairie),
		Role: "lead rescuer", Assessor: "Imre Castellan",
		Achievement: Achievement{
			ID: "urn:uuid:e2b7c4d9-5a18-5f63-8d07-91b3f6a0c25e", Type: TypePassed, Name: "Bucket rescue, two on the ground",
			Description: "Employer on the day: Larkspur Ridge\nCaution: local rules come first.", Code: "PAIR_KIT", Version: "r-1",
			Criteria:  "Rescue method: two on the ground\nHow shown: practical assessment passed",
			Alignment: []Alignment{{"Training", "29 CFR 1910.269", "1910.269(a)(2)", "https://rules.example/1910.269"}},
		},
		OutcomeID: "urn:uuid:3c9e2a70-1f4b-8d8e-b7a5-60c2d9e8f113", Outcome: Completed,
	}
}

// published knows the document of one issuer.
func published(id string, keys ...string) Documents {
	return func(issuer string) (Document, error) {
		if issuer != id {
			return Document{}, groundhand.NotFound("", "no such issuer")
		}
		return Document{id, keys}, nil
	}
}

func signed(t testing.TB, c Credential) []byte {
	t.Helper()
	b, err := Sign(c, key, issued)
	require.NoError(t, err)
	return b
}

// requireCode asks for a refusal of one kind.
func requireCode(t testing.TB, code RefusalCode, err error, what ...any) {
	t.Helper()
	var r *Refusal
	require.ErrorAs(t, err, &r, what...)
	require.Equal(t, string(code), string(r.Code), append([]any{r.Text}, what...)...)
	require.NotEmpty(t, r.Text)
}
