package certificate

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/rand"
	"encoding/csv"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/keyring"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

// office is a small company in a real file on 11 June 2025, 19:00 in Dublin. Gideon assesses and is current himself. Names are invented.
type office struct {
	testing.TB
	ctx    context.Context
	zone   *time.Location
	clock  *storetest.Clock
	store  *store.Store
	keys   string // folder
	issuer *Issuer
}

const minute = time.Minute

const address = "https://training.halverra.example"

// sitDown opens the issuer as the service does when it starts, over the folder of keys.
func (o *office) sitDown(with Options) *Issuer {
	o.Helper()
	ring, err := keyring.Open(o.keys)
	require.NoError(o, err)
	with.Keys, with.Chance = ring, rand.Reader
	issuer := New(o.store, rollcall.New(o.store, o.zone), with)
	require.NoError(o, issuer.Begin(o.ctx))
	return issuer
}

// loseKeys is a disk gone bad: the service starts again without the files.
func (o *office) loseKeys() {
	o.Helper()
	require.NoError(o, os.RemoveAll(o.keys))
	o.issuer = o.sitDown(usual)
}

var usual = Options{Name: "The employer (invented)", Address: address}

var (
	coordinator = groundhand.Account{ID: "acc-1", Name: "coordinator", Capacity: groundhand.Coordinator}
	hr          = groundhand.Account{ID: "acc-2", Name: "hr", Capacity: groundhand.HR}
	dispatcher  = groundhand.Account{ID: "acc-3", Name: "dispatcher", Capacity: groundhand.Dispatcher}
)

func newOffice(t testing.TB) *office {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Dublin")
	require.NoError(t, err)
	clock := storetest.NewClock("2025-06-11T19:00:00+01:00")
	s := storetest.New(t, clock)
	o := &office{TB: t, ctx: context.Background(), zone: zone, clock: clock, store: s, keys: filepath.Join(t.TempDir(), "keys")}
	o.issuer = o.sitDown(usual)
	for _, a := range []groundhand.Account{coordinator, hr, dispatcher} {
		a.RecordedAt = s.Now()
		add(o, a)
	}
	for _, set := range rulebook.Shipped() {
		set.Recorded = o.told("2024-01-01")
		add(o, set)
	}
	add(o, groundhand.Yard{ID: "Y1", Recorded: o.told("2024-01-01"), Name: "Stenholt"})
	add(o, groundhand.Family{ID: "F1", Recorded: o.told("2024-01-01"), Name: "articulating, lever"})
	add(o, groundhand.Crew{ID: "V1", Recorded: o.told("2024-01-01"), Name: "V1", YardID: "Y1", Kind: groundhand.LineCrew, NormalSize: 3, Families: groundhand.List{"F1"}})
	o.worker("gideon", "Gideon Prewitt-Osei")
	o.run("gideon", groundhand.Lead, "2025-01-10")
	add(o, groundhand.Authority{ID: o.id(), Recorded: o.told("2024-01-02"), AssessorID: "gideon", Methods: groundhand.List{"PAIR_KIT"}, FromOn: day("2024-01-02")})
	o.worker("lukasz", "Łukasz Dąbrowa-Żeleński")
	o.worker("serban", "Șerban Őrségi Đorđević-Ş")
	return o
}

func day(s string) groundhand.Date { return groundhand.MustDate(s) }

func add[T any](o *office, rows ...T) {
	o.Helper()
	require.NoError(o, store.Add(o.ctx, o.store, rows...))
}

func (o *office) id() groundhand.EntryID { return groundhand.EntryID(o.store.NewID()) }

// told happened on a day and was recorded in its last minute.
func (o *office) told(on string) groundhand.Recorded {
	return groundhand.Recorded{HappenedOn: day(on), RecordedAt: groundhand.InstantOf(day(on).End(o.zone)) - 60_000, Capacity: groundhand.Coordinator, CameBy: groundhand.TypedLive}
}

// worker is a member of V1 since 2024.
func (o *office) worker(id groundhand.WorkerID, name string) {
	o.Helper()
	since := o.told("2024-01-01")
	add(o, groundhand.Worker{ID: id, Recorded: since, Number: string(id)})
	if name != "" {
		add(o, groundhand.WorkerName{ID: o.id(), Recorded: since, WorkerID: id, Name: name})
	}
	add(o, groundhand.Employment{ID: o.id(), Recorded: since, WorkerID: id, Employer: "A contractor (invented)", Relation: groundhand.ResidentContractor, FromOn: day("2024-01-01")})
	add(o, groundhand.Grading{ID: o.id(), Recorded: since, WorkerID: id, Grade: groundhand.Qualified})
	add(o, groundhand.Membership{ID: o.id(), Recorded: since, CrewID: "V1", WorkerID: id, Part: groundhand.Member, Reason: groundhand.Permanent, FromOn: day("2024-01-01")})
}

// run is one person's part in a complete run watched by Gideon.
func (o *office) run(who groundhand.WorkerID, role groundhand.Role, on string) groundhand.RunPart {
	o.Helper()
	told := o.told(on)
	run := groundhand.Run{ID: groundhand.RunID(o.id()), Recorded: told, Method: groundhand.PairKit, Scenario: groundhand.Unconscious, FamilyID: "F1",
		KitState: groundhand.AsFound, LoweringMeans: groundhand.PoweredLower, CasualtyKind: groundhand.Mannequin, WorkClothes: groundhand.Yes,
		StartedBy: groundhand.AtAlarm, Complete: true}
	if who != "gideon" {
		run.WatchedBy = "gideon"
	}
	add(o, run)
	part := groundhand.RunPart{ID: o.id(), Recorded: told, RunID: run.ID, WorkerID: who, Role: role}
	add(o, part)
	return part
}

func (o *office) assess(who groundhand.WorkerID, result groundhand.AssessmentResult, on string) groundhand.Assessment {
	o.Helper()
	a := groundhand.Assessment{ID: o.id(), Recorded: o.told(on), WorkerID: who, Method: groundhand.PairKit, Role: groundhand.Lead, FamilyID: "F1", Result: result, AssessorID: "gideon"}
	add(o, a)
	return a
}

func (o *office) withdraw(id groundhand.EntryID) groundhand.EntryID {
	o.Helper()
	o.clock.Advance(time.Second) // it is told after what it withdraws
	w := groundhand.Withdrawal{ID: o.id(), Recorded: o.told("2025-06-11"), WithdrawsID: id}
	w.RecordedAt = o.store.Now()
	add(o, w)
	return w.ID
}

// issue has the coordinator issue with a key of its own.
func (o *office) issue(evidence groundhand.EntryID, set groundhand.RuleSetID) groundhand.Certificate {
	o.Helper()
	cert, err := o.issuer.Issue(o.ctx, coordinator, "key of "+string(evidence)+string(set), evidence, set)
	require.NoError(o, err)
	return cert
}

// bundle is an export taken apart.
type bundle struct {
	raw     []byte
	n, left int
	files   []string
	rows    []map[string]string // of the list, by the names of its columns
	readme  string
}

func (o *office) export(f Filter) bundle {
	o.Helper()
	var raw bytes.Buffer
	done, err := o.issuer.Export(o.ctx, hr, f, &raw, nil)
	require.NoError(o, err)
	b := bundle{raw: raw.Bytes(), n: done.Certificates, left: done.LeftOut}
	archive, err := zip.NewReader(bytes.NewReader(b.raw), int64(len(b.raw)))
	require.NoError(o, err)
	for _, f := range archive.File {
		b.files = append(b.files, f.Name)
		switch f.Name {
		case "manifest.csv":
			b.rows = readList(o, f)
		case "README.txt":
			b.readme = string(contentOf(o, f))
		}
	}
	return b
}

func contentOf(o *office, f *zip.File) []byte {
	o.Helper()
	r, err := f.Open()
	require.NoError(o, err)
	text, err := io.ReadAll(r)
	require.NoError(o, err)
	return text
}

func readList(o *office, f *zip.File) []map[string]string {
	o.Helper()
	table, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(string(contentOf(o, f)), "\ufeff"))).ReadAll()
	require.NoError(o, err)
	var rows []map[string]string
	for _, cells := range table[1:] {
		row := map[string]string{}
		for i, name := range table[0] {
			row[name] = cells[i]
		}
		rows = append(rows, row)
	}
	return rows
}

// column lists one column of an export's list.
func (b bundle) column(name string) []string {
	out := []string{}
	for _, row := range b.rows {
		out = append(out, row[name])
	}
	return out
}
