package demo_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"groundhand/internal/access"
	"groundhand/internal/certificate"
	"groundhand/internal/certificate/keyring"
	"groundhand/internal/demo"
	g "groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
	"groundhand/internal/training"
)

// company is the company as it stands on the evening of the demonstration, open for reading.
type company struct {
	*testing.T
	ctx   context.Context
	store *store.Store
	roll  *rollcall.Roll
	zone  *time.Location
	cast  demo.Cast
}

const seed = 612

var (
	once   sync.Once
	script struct {
		path string
		cast demo.Cast
		err  error
		eves map[g.JobID]seenJob // what was answered about each job of the storm on the evening before
		port []byte              // what HR handed out for the client on the last evening of March
	}
)

// seenJob is what was answered about a job.
type seenJob struct {
	verdict  readiness.Verdict
	timeline []readiness.Stretch
}

// TestMain removes the company that the tests share.
func TestMain(m *testing.M) {
	status := m.Run()
	if script.path != "" {
		os.RemoveAll(filepath.Dir(script.path))
	}
	os.Exit(status)
}

// played plays the company once for all tests; they only read.
func played(t *testing.T) company {
	if underRace {
		t.Skip("eighteen months played without a second goroutine; .ci/run plays them without the detector")
	}
	t.Helper()
	zone, err := time.LoadLocation(demo.Zone)
	require.NoError(t, err)
	once.Do(func() {
		dir, err := os.MkdirTemp("", "groundhand-play-")
		require.NoError(t, err)
		script.path = filepath.Join(dir, "groundhand.db")
		script.cast, script.err = play(script.path, zone)
	})
	require.NoError(t, script.err)
	s, err := store.Open(script.path, store.Options{Now: func() time.Time { return demo.Evening(zone) }, ReadOnly: true})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return company{t, t.Context(), s, rollcall.New(s, zone), zone, script.cast}
}

func play(path string, zone *time.Location) (demo.Cast, error) {
	clock, ids := demo.NewClock(demo.Evening(zone)), &demo.IDs{}
	s, err := store.Open(path, store.Options{Now: clock.Now, NewID: ids.New})
	if err != nil {
		return demo.Cast{}, err
	}
	defer s.Close()
	eves := newEves(path, zone)
	roll := rollcall.New(s, zone)
	signs, err := signing(path)
	if err != nil {
		return demo.Cast{}, err
	}
	desk, issuer := training.New(s, roll), certificate.New(s, roll, signs)
	desk.MoveCertificates(issuer.Follow)
	cast, err := demo.Play(context.Background(), demo.Stage{Desk: desk, CertificateOf: roll.CertificateOf, Door: access.NewDoor(s, rand.Reader), OpenReview: roll.OpenReviewOf,
		Certificates: issuer, Clock: clock, IDs: ids, Zone: zone, Seed: seed, Told: func(int, int) { eves.look(clock.Now()) }})
	script.eves, script.port = eves.seen, eves.port
	return cast, errors.Join(err, eves.err)
}

// eves asks during the play, before the first act of a day of the storm that comes after its visitors, about the jobs of that day, as on
// the evening before.
type eves struct {
	path string
	zone *time.Location
	next g.Date
	seen map[g.JobID]seenJob
	port []byte
	err  error
}

func newEves(path string, zone *time.Location) *eves {
	return &eves{path: path, zone: zone, next: g.MustDate("2025-01-20"), seen: map[g.JobID]seenJob{}}
}

func (e *eves) look(now time.Time) {
	day := g.DateOf(now.In(e.zone))
	if e.err == nil && day == e.next && day <= g.MustDate("2025-01-26") {
		e.next++
		e.err = e.ask(day)
	}
	if e.err == nil && e.port == nil && day > g.MustDate("2025-03-31") {
		e.port, e.err = e.handOut(g.MustDate("2025-03-31"))
	}
}

// handOut exports as HR, towards the evening of a day, what was shown in March for the client.
func (e *eves) handOut(day g.Date) ([]byte, error) {
	eve := day.End(e.zone).Add(-7 * time.Hour)
	s, err := store.Open(e.path, store.Options{Now: func() time.Time { return eve }, ReadOnly: true})
	if err != nil {
		return nil, err
	}
	defer s.Close()
	signs, err := signing(e.path)
	if err != nil {
		return nil, err
	}
	accounts, err := store.All[g.Account](context.Background(), s)
	if err != nil {
		return nil, err
	}
	by := accounts[slices.IndexFunc(accounts, func(a g.Account) bool { return a.Capacity == g.HR && a.WorkerID != "" })]
	var out bytes.Buffer
	_, err = certificate.New(s, rollcall.New(s, e.zone), signs).Export(context.Background(), by,
		certificate.Filter{ShownFrom: g.MustDate("2025-03-01"), ShownThrough: day, Client: "client C, Dunmarrow Ports"}, &out, nil)
	return out.Bytes(), err
}

// signing is what certificates of the company are signed with; the keys lie beside the records.
func signing(path string) (certificate.Options, error) {
	keys, err := keyring.Open(filepath.Join(filepath.Dir(path), "keys"))
	return certificate.Options{Name: "Halverra Lines (invented)", Address: "https://records.halverra.example", Keys: keys, Chance: demo.Chance(seed)}, err
}

func (e *eves) ask(day g.Date) error {
	eve := day.Start(e.zone).Add(-2 * time.Hour)
	s, err := store.Open(e.path, store.Options{Now: func() time.Time { return eve }, ReadOnly: true})
	if err != nil {
		return err
	}
	defer s.Close()
	all, err := rollcall.New(s, e.zone).JobsCover(context.Background(), g.InstantOf(day.Start(e.zone)), g.InstantOf(day.End(e.zone)))
	for _, a := range all {
		if _, asked := e.seen[a.Job.ID]; !asked {
			e.seen[a.Job.ID] = seenJob{a.Answer.Verdict, a.Answer.Timeline}
		}
	}
	return err
}

func (c company) who(names ...string) []g.WorkerID {
	c.Helper()
	out := make([]g.WorkerID, len(names))
	for i, name := range names {
		require.Contains(c, c.cast.Workers, name)
		out[i] = c.cast.Workers[name]
	}
	return out
}
