package web_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"slices"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate"
	"groundhand/internal/certificate/keyring"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
	"groundhand/internal/web"
)

// What is planted about the person of the certificates; names are invented.
const (
	worker   = "Planted Workersdottir"
	assessor = "Planted Assessorson"
	employer = "A planted contractor (invented)"
	house    = "https://training.halverra.example"
)

var coordinator = groundhand.Account{ID: "acc-1", Name: "coordinator", Capacity: groundhand.Coordinator}

// office is a small company in a real file on 11 June 2025, with a real folder of keys and the public check before it.
type office struct {
	testing.TB
	ctx    context.Context
	zone   *time.Location
	clock  *storetest.Clock
	store  *store.Store
	issuer *certificate.Issuer
	site   http.Handler
	log    *bytes.Buffer
}

func newOffice(t testing.TB) *office {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Dublin")
	require.NoError(t, err)
	ring, err := keyring.Open(t.TempDir() + "/keys")
	require.NoError(t, err)
	clock := storetest.NewClock("2025-06-11T19:00:00+01:00")
	s := storetest.New(t, clock)
	o := &office{TB: t, ctx: context.Background(), zone: zone, clock: clock, store: s, log: &bytes.Buffer{}}
	o.issuer = certificate.New(s, rollcall.New(s, zone), certificate.Options{Name: "The employer (invented)", Address: house, Keys: ring, Chance: rand.Reader})
	require.NoError(t, o.issuer.Begin(o.ctx))
	o.site = web.New(o.issuer, slog.New(slog.NewTextHandler(o.log, nil)), web.Options{Pages: 1 << 30, Files: 1 << 30, Lists: 1 << 30})
	account := coordinator
	account.RecordedAt = s.Now()
	add(o, account)
	for _, set := range rulebook.Shipped() {
		set.Recorded = o.told("2024-01-01")
		add(o, set)
	}
	add(o, groundhand.Yard{ID: "Y1", Recorded: o.told("2024-01-01"), Name: "Stenholt"})
	add(o, groundhand.Family{ID: "F1", Recorded: o.told("2024-01-01"), Name: "articulating, lever"})
	add(o, groundhand.Crew{ID: "V1", Recorded: o.told("2024-01-01"), Name: "V1", YardID: "Y1", Kind: groundhand.LineCrew, NormalSize: 3, Families: groundhand.List{"F1"}})
	o.hire("assessor", assessor)
	o.hire("worker", worker)
	o.run("assessor", "2025-01-10")
	add(o, groundhand.Authority{ID: o.id(), Recorded: o.told("2024-01-02"), AssessorID: "assessor", Methods: groundhand.List{"PAIR_KIT"}, FromOn: groundhand.MustDate("2024-01-02")})
	return o
}

func add[T any](o *office, rows ...T) {
	o.Helper()
	require.NoError(o, store.Add(o.ctx, o.store, rows...))
}

func (o *office) id() groundhand.EntryID { return groundhand.EntryID(o.store.NewID()) }

func (o *office) told(on string) groundhand.Recorded {
	day := groundhand.MustDate(on)
	return groundhand.Recorded{HappenedOn: day, RecordedAt: groundhand.InstantOf(day.End(o.zone)) - 60_000, Capacity: groundhand.Coordinator, CameBy: groundhand.TypedLive}
}

func (o *office) hire(id groundhand.WorkerID, name string) {
	o.Helper()
	since, from := o.told("2024-01-01"), groundhand.MustDate("2024-01-01")
	add(o, groundhand.Worker{ID: id, Recorded: since, Number: string(id)})
	add(o, groundhand.WorkerName{ID: o.id(), Recorded: since, WorkerID: id, Name: name})
	add(o, groundhand.Employment{ID: o.id(), Recorded: since, WorkerID: id, Employer: employer, Relation: groundhand.ResidentContractor, FromOn: from})
	add(o, groundhand.Grading{ID: o.id(), Recorded: since, WorkerID: id, Grade: groundhand.Qualified})
	add(o, groundhand.Membership{ID: o.id(), Recorded: since, CrewID: "V1", WorkerID: id, Part: groundhand.Member, Reason: groundhand.Permanent, FromOn: from})
}

// run is a complete run that somebody led.
func (o *office) run(who groundhand.WorkerID, on string) {
	o.Helper()
	told := o.told(on)
	run := groundhand.Run{ID: groundhand.RunID(o.id()), Recorded: told, Method: groundhand.PairKit, Scenario: groundhand.Unconscious, FamilyID: "F1", KitState: groundhand.AsFound,
		LoweringMeans: groundhand.PoweredLower, CasualtyKind: groundhand.Mannequin, WorkClothes: groundhand.Yes, StartedBy: groundhand.AtAlarm, Complete: true}
	add(o, run)
	add(o, groundhand.RunPart{ID: o.id(), Recorded: told, RunID: run.ID, WorkerID: who, Role: groundhand.Lead})
}

func (o *office) assess(who groundhand.WorkerID, on string) groundhand.EntryID {
	o.Helper()
	a := groundhand.Assessment{ID: o.id(), Recorded: o.told(on), WorkerID: who, Method: groundhand.PairKit, Role: groundhand.Lead, FamilyID: "F1", Result: groundhand.Pass, AssessorID: "assessor"}
	add(o, a)
	return a.ID
}

// issued is a certificate of the worker's assessment on a day, with its two files.
type issued struct {
	groundhand.Certificate
	page, signed []byte
}

func (o *office) issue(on string) issued {
	o.Helper()
	cert, err := o.issuer.Issue(o.ctx, coordinator, "certificate of "+on, o.assess("worker", on), "")
	require.NoError(o, err)
	var page bytes.Buffer
	require.NoError(o, o.issuer.Paper(o.ctx, coordinator, cert.ID, &page))
	signed, err := o.issuer.Signed(o.ctx, coordinator, cert.ID)
	require.NoError(o, err)
	return issued{cert, page.Bytes(), signed}
}

func (o *office) withdraw(cert issued) {
	o.Helper()
	w := groundhand.Withdrawal{ID: o.id(), Recorded: o.told("2025-06-11"), WithdrawsID: groundhand.EntryID(cert.ID)}
	o.clock.Advance(time.Second)
	w.RecordedAt = o.store.Now()
	add(o, w)
}

func (o *office) ask(method, path string, body []byte) *httptest.ResponseRecorder {
	o.Helper()
	var sent io.Reader
	if body != nil {
		sent = bytes.NewReader(body)
	}
	w := httptest.NewRecorder()
	o.site.ServeHTTP(w, httptest.NewRequest(method, path, sent))
	return w
}

func median(took []time.Duration) time.Duration {
	slices.Sort(took)
	return took[len(took)/2]
}
