package graph_test

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"
)

// mustData is what a reply holds when nothing was refused.
func mustData(t *testing.T, r reply) []byte {
	t.Helper()
	require.Empty(t, r.Errors, r.body)
	data, err := json.Marshal(r.Data)
	require.NoError(t, err)
	return data
}

// rootFrom works a root out from a leaf and the hashes beside its way up, as RFC 9162 section 2.1.3.2 has it; the hashes of
// RFC 6962 are the same.
func rootFrom(t *testing.T, proof map[string]any) string {
	bytes := func(text any) []byte {
		raw, err := base64.StdEncoding.DecodeString(text.(string))
		require.NoError(t, err)
		return raw
	}
	inner := func(left, right []byte) []byte {
		sum := sha256.Sum256(append(append([]byte{1}, left...), right...))
		return sum[:]
	}
	fn, sn, r := int(proof["leaf"].(float64)), int(proof["size"].(float64))-1, bytes(proof["leafHash"])
	for _, step := range proof["proof"].([]any) {
		if fn%2 == 1 || fn == sn {
			r = inner(bytes(step), r)
			for fn%2 == 0 && fn != 0 {
				fn, sn = fn>>1, sn>>1
			}
		} else {
			r = inner(r, bytes(step))
		}
		fn, sn = fn>>1, sn>>1
	}
	return base64.StdEncoding.EncodeToString(r)
}
