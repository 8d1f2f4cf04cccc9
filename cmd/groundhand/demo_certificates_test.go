package main

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate"
	"groundhand/internal/certificate/credential"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

const stand = 28 // certificates on the evening of the demonstration: 1 of a pass of 2024, 13 for the client, 14 since May

// handedOut looks at the export that was left beside the records.
func handedOut(t *testing.T, dir string) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, certificatesName))
	require.NoError(t, err)
	files := unpacked(t, data)
	assert.Len(t, files, 4+2*stand)
	for _, name := range []string{"README.txt", "manifest.csv", "issuer/did.json", "status/status-1.json"} {
		assert.Contains(t, files, name)
	}
	assert.Equal(t, stand, strings.Count(files["manifest.csv"], "https://records.halverra.example/verify/"))
	again := t.TempDir()
	playedOnly(t, again)
	for _, name := range []string{certificatesName, packName} {
		first, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		second, err := os.ReadFile(filepath.Join(again, name))
		require.NoError(t, err)
		assert.True(t, bytes.Equal(first, second), "another play gives the same %s, keys and all", name)
	}
	judged(t, dir, files)
}

// playedOnly plays into a folder and exports, without the questions of the evening.
func playedOnly(t *testing.T, dir string) {
	t.Helper()
	stage, h, err := openStage(dir)
	require.NoError(t, err)
	cast, err := h.play(t.Context(), stage)
	require.NoError(t, err)
	out, err := h.handOut(t.Context(), cast)
	require.NoError(t, err)
	require.NoError(t, out.keep(dir))
	require.NoError(t, h.close())
}

func unpacked(t *testing.T, data []byte) map[string]string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	out := map[string]string{}
	for _, file := range z.File {
		r, err := file.Open()
		require.NoError(t, err)
		content, err := io.ReadAll(r)
		require.NoError(t, err)
		require.NoError(t, r.Close())
		out[file.Name] = string(content)
	}
	return out
}

// verifier is a general verifier of Verifiable Credentials that shares nothing with this program.
type verifier struct {
	*testing.T
	script string
	at     string
}

// judged asks the verifier about the export as it is, and about copies in which somebody changed something.
func judged(t *testing.T, dir string, files map[string]string) {
	folder, node := os.Getenv("GROUNDHAND_VERIFIER"), ""
	if folder != "" {
		node, _ = exec.LookPath("node")
	}
	if node == "" {
		t.Log("not asked of another verifier: GROUNDHAND_VERIFIER names no folder, or there is no node")
		return
	}
	t.Run("asked of another verifier", func(t *testing.T) {
		_, h, err := openStage(dir)
		require.NoError(t, err)
		t.Cleanup(func() { require.NoError(t, h.close()) })
		v := verifier{t, filepath.Join(folder, "verify.mjs"), h.records.Now().In(h.roll.Zone()).Format("2006-01-02T15:04:05Z07:00")}
		status, said := v.export(files)
		require.Zero(t, status, said)
		v.tamperedWith(files)
		v.takenBack(files, h)
	})
}

// export runs the verifier over an export, told what has to be in it.
func (v verifier) export(files map[string]string) (status int, said string) {
	v.Helper()
	return v.run(files, "--manifest", "manifest.csv", "--expect", strconv.Itoa(2*stand), ".")
}

func (v verifier) run(files map[string]string, args ...string) (status int, said string) {
	v.Helper()
	dir := v.TempDir()
	for name, content := range files {
		require.NoError(v, os.MkdirAll(filepath.Join(dir, filepath.Dir(name)), 0o755))
		require.NoError(v, os.WriteFile(filepath.Join(dir, name), []byte(content), 0o644))
	}
	cmd := exec.CommandContext(v.Context(), "node", append([]string{v.script, "--did-doc", "issuer/did.json", "--status", "status/status-1.json",
		"--require-status", "--at", v.at}, args...)...)
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	var failed *exec.ExitError
	if errors.As(err, &failed) {
		return failed.ExitCode(), string(out)
	}
	require.NoError(v, err)
	return 0, string(out)
}

// The certificates that are tampered with: two people's.
const (
	one     = "2025-0020"
	another = "2025-0021"
)

func (v verifier) tamperedWith(files map[string]string) {
	json, pdf := func(n string) string { return "credentials/" + n + ".json" }, func(n string) string { return "certificates/" + n + ".pdf" }
	foreign := foreignKey(v.T, files["issuer/did.json"])
	for _, c := range []struct {
		what   string
		change func(map[string]string)
		found  string // by the verifier
	}{
		{"a name", func(f map[string]string) {
			f[json(one)] = strings.Replace(f[json(one)], `"identityHash":"`, `"identityHash":"X`, 1)
		}, "INVALID " + json(one)},
		{"the signed file of another", func(f map[string]string) { f[json(one)] = f[json(another)] }, json(one) + " has another id"},
		{"the page of another", func(f map[string]string) { f[pdf(one)] = f[pdf(another)] }, pdf(one) + " does not carry the credential"},
		{"a digest in the list", func(f map[string]string) { f["manifest.csv"] = otherDigest(f["manifest.csv"]) }, "does not have the listed SHA-256"},
		{"a file more", func(f map[string]string) { f["certificates/letter.pdf"] = f[pdf(one)] }, "letter.pdf is in the export but not in the manifest"},
		{"the key of somebody else", func(f map[string]string) { f["issuer/did.json"] = foreign }, "INVALID " + json(one)},
	} {
		copied := maps.Clone(files)
		c.change(copied)
		assert.NotEqual(v, files, copied, c.what)
		status, said := v.export(copied)
		assert.Equal(v, 1, status, c.what)
		assert.Contains(v, said, c.found, c.what)
	}
}

// takenBack shows the signed files of what was withdrawn and replaced, which are in no export, beside one that stands.
func (v verifier) takenBack(files map[string]string, h *house) {
	certs, err := store.All[groundhand.Certificate](v.Context(), h.records)
	require.NoError(v, err)
	states, err := h.certificates.States(v.Context(), certs)
	require.NoError(v, err)
	seen := map[certificate.State]int{}
	for _, cert := range certs {
		if seen[states[cert.ID]]++; states[cert.ID] == certificate.Valid && seen[certificate.Valid] > 1 {
			continue
		}
		shown := map[string]string{"issuer/did.json": files["issuer/did.json"], "status/status-1.json": files["status/status-1.json"], "shown.json": cert.Signed}
		status, said := v.run(shown, "shown.json")
		if states[cert.ID] == certificate.Valid {
			assert.Zero(v, status, said)
			continue
		}
		assert.Equal(v, 1, status, said)
		assert.Contains(v, said, "revoked", cert.ID)
	}
	assert.Equal(v, map[certificate.State]int{certificate.Valid: stand, certificate.Replaced: 2, certificate.Withdrawn: 1}, seen)
}

// otherDigest changes one digit of the last digest in a list.
func otherDigest(list string) string {
	at := strings.LastIndex(list, ",https://") - 1
	digit := "0"
	if list[at:at+1] == digit {
		digit = "1"
	}
	return list[:at] + digit + list[at+1:]
}

// foreignKey is a document that names the same issuer and another key.
func foreignKey(t *testing.T, document string) string {
	t.Helper()
	doc, err := credential.ReadDocument([]byte(document))
	require.NoError(t, err)
	public := make([]byte, 32)
	public[0] = 1
	doc.Keys = []string{credential.Multikey(public)}
	out, err := credential.WriteDocument(doc)
	require.NoError(t, err)
	return string(out)
}
