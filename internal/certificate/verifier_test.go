package certificate

import (
	"archive/zip"
	"bytes"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/certificate/keyring"
	"groundhand/internal/groundhand"
)

// The independent verifier (verify.mjs with its node_modules, other libraries and the full official contexts) is found by this name; the tests
// skip without it.
const verifierIn = "GROUNDHAND_VERIFIER"

// verifier runs it in the unpacked folder and gives its exit status with what it said.
func verifier(t *testing.T, dir string, args ...string) (int, string) {
	t.Helper()
	folder := os.Getenv(verifierIn)
	if folder == "" {
		t.Skipf("%s names no folder with the independent verifier", verifierIn)
	}
	cmd := exec.Command("node", append([]string{filepath.Join(folder, "verify.mjs")}, args...)...)
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	if err != nil {
		_, exited := err.(*exec.ExitError)
		require.True(t, exited, "%v: %s", err, out)
	}
	return cmd.ProcessState.ExitCode(), string(out)
}

// unpack writes an export into a folder of its own.
func unpack(t *testing.T, raw []byte) string {
	t.Helper()
	dir := t.TempDir()
	archive, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	require.NoError(t, err)
	require.NoError(t, os.CopyFS(dir, archive))
	return dir
}

// commandIn is the command that the note of an export tells to run, as words after the program.
func commandIn(t *testing.T, readme string) []string {
	t.Helper()
	found := regexp.MustCompile(`(?m)^  node PATH/verify\.mjs (.*)$`).FindStringSubmatch(readme)
	require.Len(t, found, 2, readme)
	return strings.Fields(found[1])
}

func TestAnExportIsAcceptedByTheIndependentVerifier(t *testing.T) {
	o := newOffice(t)
	parts := o.three()
	o.issue(o.assess("lukasz", groundhand.Pass, "2025-06-05").ID, "R-X")
	o.replace("2025-0002")
	o.withdraw("2025-0003")
	_, err := o.issuer.AnnounceKey(o.ctx, coordinator)
	require.NoError(t, err)
	_, err = o.issuer.ChangeKey(o.ctx, coordinator)
	require.NoError(t, err)
	o.issue(parts[0].ID, "R-C") // under another key
	got := o.export(Filter{})
	assert.Equal(t, []string{"2025-0001", "2025-0004", "2025-0005", "2025-0006"}, got.column("certificate_no"))
	assert.Equal(t, 2, got.left)
	dir := unpack(t, got.raw)
	args := commandIn(t, got.readme)
	assert.Subset(t, args, []string{"--manifest", "--expect", "8", "--status", "status/status-1.json", "--did-doc", "issuer/did.json", "--at", "2025-06-11T23:59:59+01:00", "."})
	status, said := verifier(t, dir, args...)
	assert.Zero(t, status, said)
	status, said = verifier(t, dir, append([]string{"--require-status"}, args...)...)
	assert.Zero(t, status, said)
}

func TestAnExportWithoutAPublicAddress(t *testing.T) {
	o := newOffice(t)
	o.keys = filepath.Join(t.TempDir(), "keys")
	o.issuer = o.sitDown(Options{Name: usual.Name})
	_, err := o.issuer.AnnounceKey(o.ctx, coordinator)
	require.NoError(t, err)
	_, err = o.issuer.ChangeKey(o.ctx, coordinator)
	require.NoError(t, err)
	cert := o.three()
	require.NotEmpty(t, cert)
	got := o.export(Filter{})
	assert.Len(t, got.files, 2*3+3)
	assert.Equal(t, []string{"", "", ""}, got.column("verify_url"))
	assert.Contains(t, got.readme, "cannot be withdrawn electronically")
	status, said := verifier(t, unpack(t, got.raw), commandIn(t, got.readme)...)
	assert.Zero(t, status, said)
	_, err = o.issuer.Document(o.ctx)
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
	_, err = o.issuer.StatusList(o.ctx, 1)
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
}

func TestWhatIsOverIsSaid(t *testing.T) {
	o := newOffice(t)
	o.three()
	o.clock.Set("2026-04-20T09:00:00+01:00")
	got := o.export(Filter{})
	assert.Equal(t, []string{"no longer current", "valid", "valid"}, got.column("status"))
	args := commandIn(t, got.readme)
	assert.Contains(t, args, "--allow-expired")
	status, said := verifier(t, unpack(t, got.raw), args...)
	assert.Zero(t, status, said)
}

// swap puts another content in the place of a file's.
func swap(t *testing.T, file string, change func(string) string) {
	t.Helper()
	was, err := os.ReadFile(file)
	require.NoError(t, err)
	now := change(string(was))
	require.NotEqual(t, string(was), now)
	require.NoError(t, os.WriteFile(file, []byte(now), 0o600))
}

func TestATamperedExportIsRefusedByTheIndependentVerifier(t *testing.T) {
	o := newOffice(t)
	o.three()
	got := o.export(Filter{})
	args := commandIn(t, got.readme)
	o.withdraw("2025-0002")
	after := unpack(t, o.export(Filter{}).raw)
	for name, tamper := range map[string]func(t *testing.T, dir string){
		"another name in a signed file": func(t *testing.T, dir string) {
			swap(t, filepath.Join(dir, "credentials/2025-0001.json"), func(s string) string { return strings.Replace(s, "Łukasz", "Tomasz", 1) })
		},
		"another last good day in a signed file": func(t *testing.T, dir string) {
			swap(t, filepath.Join(dir, "credentials/2025-0001.json"), func(s string) string { return strings.Replace(s, "2026-04-09", "2027-04-09", 1) })
		},
		"two pages changed for one another": func(t *testing.T, dir string) {
			one, other, free := filepath.Join(dir, "certificates/2025-0001.pdf"), filepath.Join(dir, "certificates/2025-0002.pdf"), filepath.Join(dir, "free")
			require.NoError(t, os.Rename(one, free))
			require.NoError(t, os.Rename(other, one))
			require.NoError(t, os.Rename(free, other))
		},
		"another digest in the list": func(t *testing.T, dir string) {
			digest := regexp.MustCompile(`[0-9a-f]{64}`)
			swap(t, filepath.Join(dir, "manifest.csv"), func(s string) string { return strings.Replace(s, digest.FindString(s), strings.Repeat("0", 64), 1) })
		},
		"a file more": func(t *testing.T, dir string) {
			text, err := os.ReadFile(filepath.Join(dir, "credentials/2025-0001.json"))
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(filepath.Join(dir, "credentials/2025-0099.json"), text, 0o600))
		},
		"a file less": func(t *testing.T, dir string) {
			require.NoError(t, os.Remove(filepath.Join(dir, "credentials/2025-0001.json")))
		},
		"a place cleared in the list of what was withdrawn": func(t *testing.T, dir string) {
			clean, err := os.ReadFile(filepath.Join(dir, "status/status-1.json"))
			require.NoError(t, err)
			set, err := os.ReadFile(filepath.Join(after, "status/status-1.json"))
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(filepath.Join(dir, "status/status-1.json"), []byte(strings.Replace(string(set), encodedIn(t, set), encodedIn(t, clean), 1)), 0o600))
		},
		"signed by somebody else in our name": func(t *testing.T, dir string) { foreign(t, o, filepath.Join(dir, "credentials/2025-0001.json")) },
		"keys of somebody else in the document": func(t *testing.T, dir string) {
			ours := o.active()
			swap(t, filepath.Join(dir, "issuer/did.json"), func(s string) string {
				return strings.ReplaceAll(s, ours, "z6MkrJVnaZkeFzdQyMZu1cgjg7k1pZZ6pvBQ7XJPt4swbTQ2")
			})
		},
	} {
		t.Run(name, func(t *testing.T) {
			dir := unpack(t, got.raw)
			tamper(t, dir)
			status, said := verifier(t, dir, args...)
			assert.Equal(t, 1, status, said)
		})
	}
	t.Run("the list of today shows what was withdrawn since", func(t *testing.T) {
		dir := unpack(t, got.raw)
		list, err := os.ReadFile(filepath.Join(after, "status/status-1.json"))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, "status/status-1.json"), list, 0o600))
		status, said := verifier(t, dir, args...)
		assert.Equal(t, 1, status, said)
		assert.Contains(t, said, "revoked")
	})
	t.Run("untouched", func(t *testing.T) {
		status, said := verifier(t, unpack(t, got.raw), args...)
		assert.Zero(t, status, said)
	})
}

func encodedIn(t *testing.T, list []byte) string {
	t.Helper()
	var l struct {
		Subject struct {
			Encoded string `json:"encodedList"`
		} `json:"credentialSubject"`
	}
	require.NoError(t, json.Unmarshal(list, &l))
	require.NotEmpty(t, l.Subject.Encoded)
	return l.Subject.Encoded
}

// foreign signs what a file says with a key of another house.
func foreign(t *testing.T, o *office, file string) {
	t.Helper()
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	found, err := credential.Read(text, o.documents)
	require.NoError(t, err)
	ring, err := keyring.Open(filepath.Join(t.TempDir(), "keys"))
	require.NoError(t, err)
	id, err := ring.Make(rand.Reader)
	require.NoError(t, err)
	key, err := ring.Private(id)
	require.NoError(t, err)
	signed, err := credential.Sign(found.Credential, key, found.Created)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(file, signed, 0o600), fmt.Sprint("under ", id))
}
