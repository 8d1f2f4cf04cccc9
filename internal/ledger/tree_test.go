package ledger_test

import (
	"encoding/hex"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/mod/sumdb/tlog"
	"pgregory.net/rapid"

	"groundhand/internal/ledger"
)

// The leaves, roots and proofs of the tests of the reference implementation of certificate transparency (RFC 6962), as published in
// testonly/constants.go and the proof tests of transparency-dev/merkle.
var (
	ctLeaves = []string{"", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"}
	ctRoots  = []string{
		"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
		"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
		"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
		"aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
		"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
		"4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
		"76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
		"ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
		"5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
	}
	ctInclusion = map[[2]int64][]string{ // leaf, size
		{0, 8}: {"96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7", "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"},
		{5, 8}: {"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b", "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
			"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7"},
	}
	ctConsistency = map[[2]int64][]string{ // older size, size
		{1, 1}: nil,
		{1, 8}: {"96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7", "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"},
		{6, 8}: {"0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a", "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
			"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7"},
		{2, 5}: {"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e", "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"},
	}
)

func unhex(t require.TestingT, s string) []byte {
	b, err := hex.DecodeString(s)
	require.NoError(t, err)
	return b
}

// stored keeps the hashes of a log in the order of tlog.
type stored []ledger.Hash

func (s stored) ReadHashes(indexes []int64) ([]ledger.Hash, error) {
	out := make([]ledger.Hash, len(indexes))
	for i, index := range indexes {
		if index >= int64(len(s)) {
			return nil, fmt.Errorf("there is no hash %d", index)
		}
		out[i] = s[index]
	}
	return out, nil
}

func hexes(hashes []ledger.Hash) (out []string) {
	for _, h := range hashes {
		out = append(out, hex.EncodeToString(h[:]))
	}
	return out
}

func TestTheTreeIsThatOfRFC6962(t *testing.T) {
	var f ledger.Frontier
	var all stored
	root := func() string { r := f.Root(); return hex.EncodeToString(r[:]) }
	assert.Equal(t, ctRoots[0], root(), "the empty log")
	for i, leaf := range ctLeaves {
		all = append(all, f.Add(ledger.LeafHash(unhex(t, leaf)))...)
		assert.Equal(t, ctRoots[i+1], root(), "%d leaves", i+1)
	}
	for of, want := range ctInclusion {
		proof, err := ledger.Include(of[0], unhex(t, ctLeaves[of[0]]), of[1], all)
		require.NoError(t, err)
		assert.Equal(t, want, hexes(proof.Proof), "leaf %v", of)
		assert.NoError(t, proof.Check())
		proof.Record = append(proof.Record, 'x')
		assert.ErrorIs(t, proof.Check(), ledger.ErrNotProven)
	}
	for of, want := range ctConsistency {
		proof, err := ledger.Continue(of[0], of[1], all)
		require.NoError(t, err)
		assert.Equal(t, want, hexes(proof), "sizes %v", of)
	}
}

func TestEveryProofHoldsAndNoOtherDoes(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		size := rapid.Int64Range(1, 70).Draw(rt, "size")
		var f ledger.Frontier
		var all stored
		roots := []ledger.Hash{f.Root()}
		for n := range size {
			for i, h := range f.Add(ledger.LeafHash(fmt.Appendf(nil, "leaf %d", n))) {
				require.Equal(rt, ledger.Place{Leaf: n, Level: i}, ledger.PlaceOf(int64(len(all))), "hashes are stored with the leaf that completes them")
				all = append(all, h)
			}
			roots = append(roots, f.Root())
		}
		edge, err := ledger.Edge(size, all)
		require.NoError(rt, err)
		require.Equal(rt, f.Root(), edge.Root())
		edge.Add(tlog.Hash{})
		f.Add(tlog.Hash{})
		require.Equal(rt, f.Root(), edge.Root(), "a frontier that was read goes on as the one that was kept")

		older := rapid.Int64Range(0, size).Draw(rt, "older")
		then := ledger.Checkpoint{Origin: "log", Size: older, Root: roots[older]}
		now := ledger.Checkpoint{Origin: "log", Size: size, Root: roots[size]}
		proof, err := ledger.Continue(older, size, all)
		require.NoError(rt, err)
		require.NoError(rt, ledger.CheckContinued(proof, then, now))
		if older > 0 {
			then.Root[3] ^= 1
			require.ErrorIs(rt, ledger.CheckContinued(proof, then, now), ledger.ErrNotProven)
			then.Root[3] ^= 1
		}
		then.Origin = "another"
		require.ErrorIs(rt, ledger.CheckContinued(proof, then, now), ledger.ErrNotProven)
	})
}
