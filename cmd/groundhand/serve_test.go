package main

import (
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate"
	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// One honest day of the whole program over a file of its own: an account is added as on the command line, the service starts on a free
// port of loopback, catches up with the watch, answers one question, is told to stop, and leaves nothing running.
func TestTheWholeProgramStartsAnswersAndStops(t *testing.T) {
	before := len(running())
	records := recordsFlags{DB: filepath.Join(t.TempDir(), "records.db"), Zone: "Europe/Dublin"}
	approveRules(t, records)
	token := printedToken(t, &accountAddCmd{recordsFlags: records, Name: "petra", Role: "COORDINATOR"})

	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	h, err := records.begin(certificate.Options{Name: "Halverra Lines"})
	require.NoError(t, err)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	served := make(chan error, 1)
	go func() { served <- h.keep(ctx, listeners{house: listener}, slog.New(slog.DiscardHandler)) }()

	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	address := "http://" + listener.Addr().String()
	assert.Contains(t, post(t, client, address, token, `{ me { name capacity } }`), `{"me":{"name":"petra","capacity":"COORDINATOR"}}`)
	assert.Contains(t, post(t, client, address, "", `{ me { name } }`), "UNAUTHENTICATED")
	yesterdayOrToday := waitForSweep(t, client, address, token)
	assert.NotEmpty(t, yesterdayOrToday, "the watch caught up by itself")

	stop()
	select {
	case err := <-served:
		require.NoError(t, err)
	case <-time.After(time.Minute): // a bound, not a measure
		t.Fatal("the service does not stop")
	}
	_, err = net.Dial("tcp", listener.Addr().String())
	require.Error(t, err, "nobody listens any more")
	nothingRuns(t, before)

	again, err := records.open()
	require.NoError(t, err, "the records can be opened again")
	require.NoError(t, again.close())
}

// nothingRuns waits until no more goroutines run than before; the last ones need a moment to go.
func nothingRuns(t *testing.T, before int) {
	t.Helper()
	for range 300 {
		if len(running()) <= before {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Errorf("something goes on running:\n%s", strings.Join(running(), "\n\n"))
}

// running lists the stacks of all goroutines but the mapper's janitors of prepared statements, which it never ends.
func running() []string {
	stacks := make([]byte, 1<<20)
	all := strings.Split(string(stacks[:runtime.Stack(stacks, true)]), "\n\n")
	return slices.DeleteFunc(all, func(stack string) bool { return strings.Contains(stack, "gorm/internal/lru") })
}

// approveRules takes over the shipped rules, without which nothing is asked of anybody.
func approveRules(t *testing.T, records recordsFlags) {
	t.Helper()
	h, err := records.begin(certificate.Options{})
	require.NoError(t, err)
	for _, set := range rulebook.Shipped() {
		set.Recorded = groundhand.Recorded{HappenedOn: set.EffectiveFrom, RecordedAt: h.records.Now(), Capacity: groundhand.Coordinator, CameBy: groundhand.TypedLive}
		set.ApprovedBy = "the safety manager"
		require.NoError(t, store.Add(t.Context(), h.records, set))
	}
	require.NoError(t, h.close())
}

// printedToken runs the command and reads the token that it shows once.
func printedToken(t *testing.T, c *accountAddCmd) string {
	t.Helper()
	out := printed(t, func() { require.NoError(t, c.Run()) })
	token := regexp.MustCompile(`gh_[A-Za-z0-9_-]{43}`).FindString(out)
	require.NotEmpty(t, token, out)
	return token
}

// printed is what is written to the standard output meanwhile.
func printed(t *testing.T, do func()) string {
	t.Helper()
	r, w, err := os.Pipe()
	require.NoError(t, err)
	outside := os.Stdout
	os.Stdout = w
	do()
	os.Stdout = outside
	require.NoError(t, w.Close())
	text, err := io.ReadAll(r)
	require.NoError(t, err)
	require.NoError(t, r.Close())
	return string(text)
}

func post(t *testing.T, client *http.Client, address, token, query string) string {
	t.Helper()
	body, err := json.Marshal(map[string]string{"query": query})
	require.NoError(t, err)
	req, err := http.NewRequest(http.MethodPost, address+"/graphql", strings.NewReader(string(body)))
	require.NoError(t, err)
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Authorization", "Bearer "+token)
	res, err := client.Do(req)
	require.NoError(t, err)
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return string(text)
}

// waitForSweep asks until the watch, which runs beside the service, has swept the day that is due.
func waitForSweep(t *testing.T, client *http.Client, address, token string) string {
	t.Helper()
	swept := regexp.MustCompile(`"day":"([0-9-]+)","byHand":false`)
	var found []string
	require.Eventually(t, func() bool {
		found = swept.FindStringSubmatch(post(t, client, address, token, `{ sweeps { edges { node { day byHand } } } }`))
		return len(found) == 2
	}, time.Minute, 20*time.Millisecond)
	return found[1]
}
