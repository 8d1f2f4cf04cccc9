package keyring_test

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/ed25519"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"encoding/base64"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/certificate/keyring"
)

// chance gives the bytes of a known seed.
func chance(b byte) *bytes.Reader { return bytes.NewReader(bytes.Repeat([]byte{b}, ed25519.SeedSize)) }

func open(t *testing.T, dir string) *keyring.Ring {
	t.Helper()
	r, err := keyring.Open(dir)
	require.NoError(t, err)
	return r
}

// filled gives a folder with one key.
func filled(t *testing.T) (dir, multikey string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "keys")
	multikey, err := open(t, dir).Make(chance(1))
	require.NoError(t, err)
	return dir, multikey
}

func mode(t *testing.T, path string) fs.FileMode {
	t.Helper()
	info, err := os.Lstat(path)
	require.NoError(t, err)
	return info.Mode().Perm()
}

func TestAKeyIsMadeKeptAndReadAgain(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "deep", "keys")
	r := open(t, dir)
	multikey, err := r.Make(chance(7))
	require.NoError(t, err)
	want := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{7}, ed25519.SeedSize))
	assert.Equal(t, credential.Multikey(want.Public().(ed25519.PublicKey)), multikey)
	path := filepath.Join(dir, multikey+".pem")
	assert.EqualValues(t, 0o600, mode(t, path))
	assert.EqualValues(t, 0o700, mode(t, dir))
	for _, ring := range []*keyring.Ring{r, open(t, dir), open(t, dir+"/")} {
		key, err := ring.Private(multikey)
		require.NoError(t, err)
		assert.Equal(t, want, key)
		clear(key)
		key, err = ring.Private(multikey)
		require.NoError(t, err)
		assert.Equal(t, want, key, "what was handed out is not what is kept")
		held, err := ring.Held()
		require.NoError(t, err)
		assert.Equal(t, []string{multikey}, held)
	}
	// RFC 8410, section 10.3: a private key of 32 bytes in an OCTET STRING of its own, as any other program reads it
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	block, rest := pem.Decode(text)
	require.NotNil(t, block)
	assert.Empty(t, rest)
	assert.Equal(t, "PRIVATE KEY", block.Type)
	assert.Equal(t, "302e020100300506032b657004220420"+strings.Repeat("07", 32), hex.EncodeToString(block.Bytes))

	_, err = r.Make(chance(7))
	assert.ErrorIs(t, err, fs.ErrExist, "the same chance again")
	again, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, text, again)
	_, err = r.Make(bytes.NewReader(make([]byte, 31)))
	assert.ErrorContains(t, err, "chance")
	_, err = open(t, dir).Make(rand.Reader)
	require.NoError(t, err)
	held, err := r.Held()
	require.NoError(t, err)
	assert.Len(t, held, 2)
	assert.IsIncreasing(t, held)
}

func TestADestroyedKeyIsGone(t *testing.T) {
	dir, multikey := filled(t)
	r := open(t, dir)
	_, err := r.Private(multikey)
	require.NoError(t, err)
	require.NoError(t, r.Destroy(multikey))
	_, err = r.Private(multikey)
	assert.ErrorIs(t, err, keyring.ErrMissing, "nor is it in memory")
	assert.ErrorContains(t, err, multikey)
	assert.ErrorIs(t, r.Destroy(multikey), keyring.ErrMissing)
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, entries)
	_, err = r.Make(chance(1))
	assert.NoError(t, err)
}

func TestWhatIsNoKeyIsNotLookedFor(t *testing.T) {
	dir, multikey := filled(t)
	outside := filepath.Join(filepath.Dir(dir), "outside.pem")
	require.NoError(t, os.WriteFile(outside, []byte("x"), 0o600))
	r := open(t, dir)
	for _, name := range []string{"", "../outside", "..", "/etc/passwd", multikey + "\x00", multikey + ".pem", strings.ToLower(multikey), "did:key:" + multikey} {
		_, err := r.Private(name)
		assert.ErrorIs(t, err, keyring.ErrMissing, "%q", name)
		assert.ErrorIs(t, r.Destroy(name), keyring.ErrMissing, "%q", name)
	}
	assert.FileExists(t, outside)
}

// What is wrong with a folder is said with what to do, when it is opened and, should it come later, when a key is needed.
func TestAFolderThatOthersCanGetAtIsRefused(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(t *testing.T, dir, file string)
		says  string // DIR and FILE stand for the paths
	}{
		"others may read a key":         {func(t *testing.T, _, file string) { require.NoError(t, os.Chmod(file, 0o604)) }, "chmod 600 FILE"},
		"a group may write a key":       {func(t *testing.T, _, file string) { require.NoError(t, os.Chmod(file, 0o620)) }, "chmod 600 FILE"},
		"a group may run a key":         {func(t *testing.T, _, file string) { require.NoError(t, os.Chmod(file, 0o610)) }, "chmod 600 FILE"},
		"a group may write the folder":  {func(t *testing.T, dir, _ string) { require.NoError(t, os.Chmod(dir, 0o770)) }, "chmod 700 DIR"},
		"others may write the folder":   {func(t *testing.T, dir, _ string) { require.NoError(t, os.Chmod(dir, 0o702)) }, "chmod 700 DIR"},
		"a key is a link":               {func(t *testing.T, _, file string) { toLink(t, file) }, "FILE is a symbolic link"},
		"the folder is a link":          {func(t *testing.T, dir, _ string) { toLink(t, dir) }, "folder of keys DIR is a symbolic link"},
		"the folder is a file":          {func(t *testing.T, dir, _ string) { toFile(t, dir) }, "DIR is no folder"},
		"a key is a folder":             {func(t *testing.T, _, file string) { toFolder(t, file) }, "FILE is no file"},
		"a key of another account":      {func(t *testing.T, _, file string) { giveAway(t, file) }, "FILE belongs to another account"},
		"a folder of another account":   {func(t *testing.T, dir, _ string) { giveAway(t, dir) }, "folder of keys DIR belongs to another account"},
		"a key that is cut off":         {func(t *testing.T, _, file string) { cutOff(t, file, 40) }, "FILE is damaged"},
		"a key that is empty":           {func(t *testing.T, _, file string) { cutOff(t, file, 0) }, "FILE is damaged"},
		"a key with one letter changed": {func(t *testing.T, _, file string) { replace(t, file, "MC4CAQAw", "MC4CAQBw") }, "FILE is damaged"},
		"another key in its place":      {func(t *testing.T, _, file string) { replace(t, file, "AQEBAQEB", "AQEBAQEC") }, "FILE is not named after its key"},
		"two keys in a file":            {func(t *testing.T, _, file string) { twice(t, file) }, "FILE is damaged"},
		"a file that is huge":           {func(t *testing.T, _, file string) { huge(t, file) }, "FILE is damaged"},
		"a key of another kind":         {func(t *testing.T, _, file string) { ecdsaKey(t, file) }, "FILE holds a key that is not Ed25519"},
	} {
		t.Run(name, func(t *testing.T) {
			dir, multikey := filled(t)
			file := filepath.Join(dir, multikey+".pem")
			before := open(t, dir)
			secret := secretsOf(t, file)
			c.spoil(t, dir, file)
			want := strings.NewReplacer("DIR", dir, "FILE", file).Replace(c.says)
			_, err := keyring.Open(dir)
			require.ErrorContains(t, err, want)
			silent(t, err, secret)
			_, err = before.Private(multikey)
			require.ErrorContains(t, err, want, "it was not in memory yet")
			silent(t, err, secret)
		})
	}
}

func TestACopyOfAKeyIsLookedAtToo(t *testing.T) {
	dir, multikey := filled(t)
	text, err := os.ReadFile(filepath.Join(dir, multikey+".pem"))
	require.NoError(t, err)
	copied := filepath.Join(dir, multikey+".bak")
	require.NoError(t, os.WriteFile(copied, text, 0o600))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "lost+found"), 0o700))
	r := open(t, dir)
	held, err := r.Held()
	require.NoError(t, err)
	assert.Equal(t, []string{multikey}, held)
	require.NoError(t, os.Chmod(copied, 0o640))
	_, err = keyring.Open(dir)
	assert.ErrorContains(t, err, "chmod 600 "+copied)
}

func TestEverythingThatIsWrongIsSaidAtOnce(t *testing.T) {
	dir, one := filled(t)
	r := open(t, dir)
	two, err := r.Make(chance(2))
	require.NoError(t, err)
	for _, k := range []string{one, two} {
		require.NoError(t, os.Chmod(filepath.Join(dir, k+".pem"), 0o644))
	}
	_, err = keyring.Open(dir)
	assert.ErrorContains(t, err, one)
	assert.ErrorContains(t, err, two)
	_, err = keyring.Open("")
	assert.Error(t, err)
}

// Somebody prints a ring, or an error, into the journal of the machine.
func TestAPrintedRingShowsNoKey(t *testing.T) {
	dir, multikey := filled(t)
	r := open(t, dir)
	_, err := r.Private(multikey)
	require.NoError(t, err)
	var out bytes.Buffer
	for _, verb := range []string{"%v", "%+v", "%#v", "%s", "%q", "%d", "%x"} {
		fmt.Fprintf(&out, verb+verb, r, struct{ R *keyring.Ring }{r})
	}
	slog.New(slog.NewTextHandler(&out, nil)).Info("keys", "ring", r)
	slog.New(slog.NewJSONHandler(&out, nil)).Info("keys", "ring", r)
	silent(t, errors.New(out.String()), secretsOf(t, filepath.Join(dir, multikey+".pem")))
}

// secretsOf gives the seed of a key in the ways in which it might be printed.
func secretsOf(t *testing.T, file string) []string {
	t.Helper()
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	block, _ := pem.Decode(text)
	seed := block.Bytes[len(block.Bytes)-ed25519.SeedSize:]
	listed := strings.Trim(fmt.Sprint(seed), "[]")
	return []string{string(seed), hex.EncodeToString(seed), base64.StdEncoding.EncodeToString(block.Bytes)[40:], listed[:20], "1, 1, 1, 1", "0x1, 0x1, 0x1"}
}

func silent(t *testing.T, err error, secrets []string) {
	t.Helper()
	for _, s := range secrets {
		assert.NotContains(t, err.Error(), s)
	}
}

func toLink(t *testing.T, path string) {
	moved := filepath.Join(t.TempDir(), "elsewhere")
	require.NoError(t, os.Rename(path, moved))
	require.NoError(t, os.Symlink(moved, path))
}

func toFile(t *testing.T, path string) {
	require.NoError(t, os.RemoveAll(path))
	require.NoError(t, os.WriteFile(path, nil, 0o600))
}

func toFolder(t *testing.T, path string) {
	require.NoError(t, os.Remove(path))
	require.NoError(t, os.Mkdir(path, 0o700))
}

func giveAway(t *testing.T, path string) {
	if os.Geteuid() != 0 {
		t.Skip("only root gives a file to another account")
	}
	require.NoError(t, os.Chown(path, 65534, 65534))
}

func cutOff(t *testing.T, file string, at int64) { require.NoError(t, os.Truncate(file, at)) }

func replace(t *testing.T, file, old, now string) {
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Contains(t, string(text), old)
	require.NoError(t, os.WriteFile(file, []byte(strings.Replace(string(text), old, now, 1)), 0o600))
}

func twice(t *testing.T, file string) {
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(file, append(text, text...), 0o600))
}

func huge(t *testing.T, file string) {
	f, err := os.OpenFile(file, os.O_APPEND|os.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = f.WriteString(strings.Repeat("\n", 1<<20))
	require.NoError(t, errors.Join(err, f.Close()))
}

func ecdsaKey(t *testing.T, file string) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	der, err := x509.MarshalPKCS8PrivateKey(key)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(file, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der}), 0o600))
}

// The program died while it destroyed a key: what is left of it is no damaged key, for which a backup should be put back, and goes with the next start.
func TestACrashWhileAKeyIsDestroyed(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.Chmod(dir, 0o700))
	ring, err := keyring.Open(dir)
	require.NoError(t, err)
	key, err := ring.Make(rand.Reader)
	require.NoError(t, err)
	path := filepath.Join(dir, key)
	require.NoError(t, os.Rename(path+".pem", path+".gone"))
	require.NoError(t, os.WriteFile(path+".gone", make([]byte, 120), 0o600))
	_, err = keyring.Open(dir)
	require.NoError(t, err)
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, left)
	assert.ErrorIs(t, ring.Destroy(key), keyring.ErrMissing)
}
