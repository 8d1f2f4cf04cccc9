package credential

import (
	"errors"
	"os"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
)

// FuzzRead holds that without the key nobody can write a file that is accepted and says anything else than one that was signed.
func FuzzRead(f *testing.F) {
	whole, list := signed(f, sample()), list1(1, 9)
	plain := sample()
	plain.Status, plain.Role, plain.Assessor, plain.Achievement.Alignment = nil, "", "", nil
	bare := signed(f, plain)
	bits, err := SignStatusList(list, key, issued)
	require.NoError(f, err)
	example, err := os.ReadFile("testdata/example.json")
	require.NoError(f, err)
	for _, seed := range [][]byte{whole, bare, bits, example, []byte(w3cDocument), []byte(`{"@context":[],"proof":[]}`)} {
		f.Add(seed)
	}
	genuine := []Found{{sample(), multikey(key), issued}, {plain, multikey(key), issued}}
	f.Fuzz(func(t *testing.T, data []byte) {
		found, err := Read(data, published(webID, multikey(key)))
		if err == nil && !reflect.DeepEqual(found, genuine[0]) && !reflect.DeepEqual(found, genuine[1]) {
			t.Errorf("accepted %q", data)
		}
		read, listErr := ReadStatusList(data, published(webID, multikey(key)))
		if listErr == nil && !reflect.DeepEqual(read, list) {
			t.Errorf("accepted %q", data)
		}
		var r *Refusal
		if err != nil && !errors.As(err, &r) || listErr != nil && !errors.As(listErr, &r) {
			t.Errorf("not a refusal: %v, %v", err, listErr)
		}
		_, _ = ReadDocument(data)
	})
}

// FuzzSigned signs whatever is sound and means something, as a careless holder of the key might, and holds that what is then read could
// have been issued, and says the same when it is.
func FuzzSigned(f *testing.F) {
	for _, seed := range []Credential{sample(), everybody()[1], everybody()[2], everybody()[3]} {
		f.Add(signed(f, seed))
	}
	example, err := os.ReadFile("testdata/example.json")
	require.NoError(f, err)
	f.Add(example)
	f.Fuzz(func(t *testing.T, data []byte) {
		_, document, err := sound(data)
		if err != nil {
			return
		}
		delete(document, "proof")
		var proof *wireProof
		_, err = seal(document, &proof, []string{credentialsV2, openBadges3}, webID, key, issued)
		if err != nil {
			return // it means nothing
		}
		document["proof"] = proof
		found, err := Read(written(t, document), published(webID, multikey(key)))
		if err != nil {
			return
		}
		again, err := Read(signed(t, found.Credential), published(webID, multikey(key)))
		require.NoError(t, err)
		require.Equal(t, found, again)
	})
}
