package main

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/web"
)

// counter is a small house that has given out one certificate under its public address.
type counter struct {
	*testing.T
	flags issuingFlags
	cert  groundhand.Certificate
}

func newCounter(t *testing.T) *counter {
	t.Helper()
	c := &counter{T: t, flags: issuingFlags{recordsFlags: recordsFlags{DB: filepath.Join(t.TempDir(), "records.db"), Zone: "Europe/Dublin"},
		Issuer: "Halverra Lines (invented)", Public: "https://training.halverra.example"}}
	approveRules(t, c.flags.recordsFlags)
	for name, role := range map[string]string{"petra": "COORDINATOR", "hanne": "HR"} {
		printedToken(t, &accountAddCmd{recordsFlags: c.flags.recordsFlags, Name: name, Role: role})
	}
	h, err := c.flags.beginIssuing()
	require.NoError(t, err)
	require.NoError(t, h.readyToSign(t.Context(), slog.New(slog.DiscardHandler)))
	c.cert = c.certified(h)
	require.NoError(t, h.close())
	return c
}

// certified gives a certificate for a run of ten days ago.
func (c *counter) certified(h *house) groundhand.Certificate {
	c.Helper()
	shown := h.roll.Today().AddDays(-10)
	told := groundhand.Recorded{HappenedOn: shown, RecordedAt: h.records.Now(), Capacity: groundhand.Coordinator, CameBy: groundhand.TypedLive}
	c.put(h, groundhand.Worker{ID: "w", Recorded: told, Number: "4711"}, groundhand.WorkerName{ID: "n", Recorded: told, WorkerID: "w", Name: "Łukasz Dąbrowa"},
		groundhand.Grading{ID: "g", Recorded: told, WorkerID: "w", Grade: groundhand.Qualified}, groundhand.Family{ID: "F1", Recorded: told, Name: "articulating, lever"},
		groundhand.Run{ID: "r", Recorded: told, Method: groundhand.PairKit, Scenario: groundhand.Unconscious, FamilyID: "F1", KitState: groundhand.AsFound,
			LoweringMeans: groundhand.PoweredLower, CasualtyKind: groundhand.Mannequin, WorkClothes: groundhand.Yes, StartedBy: groundhand.AtAlarm, Complete: true},
		groundhand.RunPart{ID: "p", Recorded: told, RunID: "r", WorkerID: "w", Role: groundhand.Second})
	by, err := accountNamed(c.Context(), h.records, "petra")
	require.NoError(c, err)
	cert, err := h.certificates.Issue(c.Context(), by, "k", "p", "R-X")
	require.NoError(c, err)
	return cert
}

func (c *counter) put(h *house, rows ...any) {
	c.Helper()
	for _, row := range rows {
		var err error
		switch r := row.(type) {
		case groundhand.Worker:
			err = store.Add(c.Context(), h.records, r)
		case groundhand.WorkerName:
			err = store.Add(c.Context(), h.records, r)
		case groundhand.Grading:
			err = store.Add(c.Context(), h.records, r)
		case groundhand.Family:
			err = store.Add(c.Context(), h.records, r)
		case groundhand.Run:
			err = store.Add(c.Context(), h.records, r)
		case groundhand.RunPart:
			err = store.Add(c.Context(), h.records, r)
		}
		require.NoError(c, err)
	}
}

// says runs a command and gives what it printed.
func (c *counter) says(run func() error) string {
	c.Helper()
	return printed(c.T, func() { require.NoError(c, run()) })
}

// folder digests every file beside the records.
func (c *counter) folder() map[string][sha256.Size]byte {
	c.Helper()
	out := map[string][sha256.Size]byte{}
	require.NoError(c, filepath.WalkDir(filepath.Dir(c.flags.DB), func(path string, entry os.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		content, err := os.ReadFile(path)
		if strings.HasSuffix(path, "-shm") || strings.HasSuffix(path, "-wal") && len(content) == 0 {
			return err // what a reader of SQLite leaves lying, with nothing in it
		}
		out[path] = sha256.Sum256(content)
		return err
	}))
	return out
}

var multikey = regexp.MustCompile(`z6Mk[1-9A-HJ-NP-Za-km-z]{44}`)

func TestKeysOnTheCommandLine(t *testing.T) {
	c := newCounter(t)
	list := func() string { return c.says((&keyListCmd{c.flags}).Run) }
	first := multikey.FindString(list())
	assert.Regexp(t, first+` +signs +\d{4}-\d\d-\d\d +1 +there +did:web:training.halverra.example`, list())
	announced := c.says((&keyAnnounceCmd{c.flags, "petra"}).Run)
	assert.Contains(t, list(), "announced, does not sign yet")
	second := multikey.FindString(announced)
	assert.Contains(t, c.says((&keyChangeCmd{c.flags, "petra"}).Run), second+" signs from now on")
	assert.Regexp(t, first+` +retired, what it signed is good +\S+ +1 +none`, list())

	before := c.folder()
	said := c.says((&keyStolenCmd{issuingFlags: c.flags, Key: first, As: "petra", Because: "an old disk was sold", Rehearse: true}).Run)
	assert.Contains(t, said, "Certificates issued anew: 1. Withdrawn, because they could not be: 0.")
	assert.Equal(t, before, c.folder(), "a rehearsal leaves everything as it was")
	said = c.says((&keyStolenCmd{issuingFlags: c.flags, Key: first, As: "petra", Because: "an old disk was sold"}).Run)
	assert.Contains(t, said, "Certificates issued anew: 1.")
	assert.Regexp(t, first+` +stolen, nothing under it is good`, list())
	private, err := filepath.Glob(filepath.Join(c.flags.keysFolder(), "*.pem"))
	require.NoError(t, err)
	assert.Equal(t, []string{filepath.Join(c.flags.keysFolder(), second+".pem")}, private)

	err = (&keyStolenCmd{issuingFlags: c.flags, Key: second, As: "hanne", Because: "x"}).Run()
	assert.Equal(t, exitFaulty, exitStatus(io.Discard, err), "HR keeps no keys")
}

func TestAFolderThatOthersCanReadIsRefused(t *testing.T) {
	c := newCounter(t)
	key, err := filepath.Glob(filepath.Join(c.flags.keysFolder(), "*.pem"))
	require.NoError(t, err)
	require.Len(t, key, 1)
	require.NoError(t, os.Chmod(key[0], 0o644))
	for name, run := range map[string]func() error{
		"serve":  (&serveCmd{issuingFlags: c.flags, Addr: "127.0.0.1:0"}).Run,
		"list":   (&keyListCmd{c.flags}).Run,
		"export": (&exportCmd{issuingFlags: c.flags, As: "hanne", Out: filepath.Join(t.TempDir(), "x.zip")}).Run,
	} {
		err := run()
		assert.ErrorContains(t, err, "chmod", name)
		assert.Equal(t, exitFaulty, exitStatus(io.Discard, err), name)
	}
}

func TestAnExportIsWrittenWholeOrNotAtAll(t *testing.T) {
	c := newCounter(t)
	month := c.cert.ShownOn.String()[:7]
	out := filepath.Join(t.TempDir(), "x.zip")
	run := func(e exportCmd) error {
		e.issuingFlags, e.Out = c.flags, out
		if e.As == "" {
			e.As = "hanne"
		}
		return e.Run()
	}
	said := c.says(func() error {
		return run(exportCmd{Month: month, Person: []string{"4711"}, Client: "R-X", Number: []string{string(c.cert.ID)}})
	})
	assert.Contains(t, said, "Certificates written to "+out+": 1.")
	files, err := zip.OpenReader(out)
	require.NoError(t, err)
	var names []string
	for _, f := range files.File {
		names = append(names, f.Name)
	}
	require.NoError(t, files.Close())
	number := string(c.cert.ID)
	assert.ElementsMatch(t, []string{"README.txt", "manifest.csv", "issuer/did.json", "status/status-1.json", "certificates/" + number + ".pdf", "credentials/" + number + ".json"}, names)
	require.NoError(t, os.Remove(out))
	for name, e := range map[string]struct {
		cmd  exportCmd
		says []string
	}{
		"no month":              {exportCmd{Month: "2025-13"}, []string{"--month"}},
		"a month and a day":     {exportCmd{Month: month, From: "2025-01-01"}, []string{"not both"}},
		"everything wrong":      {exportCmd{From: "x", Through: "y", Person: []string{"1", "2"}}, []string{"--from", "--through", `"1"`, `"2"`}},
		"who has no rules here": {exportCmd{Client: "Nobody", Employer: "No one", Crew: "V9"}, []string{`"Nobody"`, `"No one"`, `"V9"`}},
		"an account of nobody":  {exportCmd{As: "otto"}, []string{`"otto"`}},
	} {
		err := run(e.cmd)
		assert.Equal(t, exitFaulty, exitStatus(io.Discard, err), name)
		for _, part := range e.says {
			assert.ErrorContains(t, err, part, name)
		}
		left, err := os.ReadDir(filepath.Dir(out))
		require.NoError(t, err)
		assert.Empty(t, left, name)
	}
}

// The public door opens the check of certificates and nothing else.
func TestTheWorldSeesTheCheckAndNothingElse(t *testing.T) {
	c := newCounter(t)
	h, err := c.flags.beginIssuing()
	require.NoError(t, err)
	log := slog.New(slog.DiscardHandler)
	doors, err := (&serveCmd{issuingFlags: c.flags, Addr: "127.0.0.1:0", PublicAddr: "127.0.0.1:0"}).listen()
	require.NoError(t, err)
	doors.pages = web.New(h.certificates, log, web.Options{Now: time.Now})
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- h.keep(ctx, doors, log) }()
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	get := func(door net.Listener, path string) (int, string) {
		reply, err := client.Get("http://" + door.Addr().String() + path)
		require.NoError(t, err)
		defer reply.Body.Close()
		text, err := io.ReadAll(reply.Body)
		require.NoError(t, err)
		return reply.StatusCode, string(text)
	}
	status, page := get(doors.public, "/verify/"+c.cert.CredentialID)
	assert.Equal(t, http.StatusOK, status)
	assert.Contains(t, page, string(c.cert.ID))
	assert.NotContains(t, page, "Dąbrowa")
	for path, want := range map[string]int{"/status/1": 200, "/.well-known/did.json": 200, "/status/2": 404, "/graphql": 404, "/certificates.zip": 404, "/": 404} {
		status, _ := get(doors.public, path)
		assert.Equal(t, want, status, path)
	}
	status, _ = get(doors.house, "/verify/"+c.cert.CredentialID)
	assert.Equal(t, http.StatusNotFound, status, "the inner door has no public page")
	stop()
	require.NoError(t, <-done)
}
