package ledger_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/mod/sumdb/note"

	"groundhand/internal/ledger"
)

func keys(t *testing.T, seed byte, origin string) (signing, checking string) {
	t.Helper()
	signing, checking, err := ledger.MakeKey(rand.NewChaCha8([32]byte{seed}), origin)
	require.NoError(t, err)
	return signing, checking
}

func aCheckpoint() ledger.Checkpoint {
	var f ledger.Frontier
	f.Add(ledger.LeafHash([]byte("leaf")))
	return ledger.Checkpoint{Origin: "groundhand/log", Size: 1, Root: f.Root()}
}

func TestACheckpointIsReadAsItWasSigned(t *testing.T) {
	signing, checking := keys(t, 1, "groundhand/log")
	signed, err := ledger.Sign(aCheckpoint(), signing)
	require.NoError(t, err)
	lines := strings.Split(string(signed), "\n")
	require.Len(t, lines, 6) // the form of C2SP tlog-checkpoint and signed-note: three lines, an empty one, the signature
	assert.Equal(t, []string{"groundhand/log", "1"}, lines[:2])
	assert.Empty(t, lines[3])
	assert.True(t, strings.HasPrefix(lines[4], "— groundhand/log "))
	got, err := ledger.Open(signed, checking)
	require.NoError(t, err)
	assert.Equal(t, aCheckpoint(), got)
}

func TestWhatIsNoCheckpointOfThisKeyIsRefused(t *testing.T) {
	signing, checking := keys(t, 1, "groundhand/log")
	_, another := keys(t, 2, "groundhand/log")
	good, err := ledger.Sign(aCheckpoint(), signing)
	require.NoError(t, err)
	signer, err := note.NewSigner(signing)
	require.NoError(t, err)
	signed := func(text string) []byte {
		b, err := note.Sign(&note.Note{Text: text}, signer)
		require.NoError(t, err)
		return b
	}
	root := strings.Repeat("A", 43) + "="
	for name, c := range map[string]struct {
		signed []byte
		key    string
		want   error
	}{
		"another key":             {good, another, ledger.ErrOtherKey},
		"a text changed":          {[]byte(strings.Replace(string(good), "\n1\n", "\n2\n", 1)), checking, ledger.ErrOtherKey},
		"no signature":            {[]byte("groundhand/log\n1\n" + root + "\n"), checking, ledger.ErrNoCheckpoint},
		"nothing":                 {nil, checking, ledger.ErrNoCheckpoint},
		"no key":                  {good, "groundhand", ledger.ErrNoKey},
		"the signing key":         {good, signing, ledger.ErrNoKey},
		"signed but no size":      {signed("groundhand/log\nmany\n" + root + "\n"), checking, ledger.ErrNoCheckpoint},
		"a size below zero":       {signed("groundhand/log\n-1\n" + root + "\n"), checking, ledger.ErrNoCheckpoint},
		"a size with a zero":      {signed("groundhand/log\n01\n" + root + "\n"), checking, ledger.ErrNoCheckpoint},
		"a root that is too long": {signed("groundhand/log\n1\n" + root + root + "\n"), checking, ledger.ErrNoCheckpoint},
		"two lines":               {signed("groundhand/log\n1\n"), checking, ledger.ErrNoCheckpoint},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := ledger.Open(c.signed, c.key)
			assert.ErrorIs(t, err, c.want)
		})
	}
	_, err = ledger.Open(signed("groundhand/log\n1\n"+root+"\nand a line that means nothing here\n"), checking)
	assert.NoError(t, err, "C2SP tlog-checkpoint lets lines follow")
	_, err = ledger.Sign(ledger.Checkpoint{Origin: "other"}, signing)
	assert.ErrorIs(t, err, ledger.ErrNoKey)
}
