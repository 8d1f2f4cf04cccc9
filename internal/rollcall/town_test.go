package rollcall_test

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

// town is a small company written by hand, day by day, in a real file.
type town struct {
	t     *testing.T
	ctx   context.Context
	clock *storetest.Clock
	store *store.Store
	roll  *rollcall.Roll
	zone  *time.Location
}

// newTown has a yard, two control families with a device each, the shipped rules, and Gideon: a qualified assessor at a desk, current in
// everything by runs of his own, with authority over everything. It is built once; each town begins as a copy.
func newTown(t *testing.T) *town {
	t.Helper()
	founded.Do(func() { found(t) })
	path := filepath.Join(t.TempDir(), "town.db")
	require.NoError(t, os.WriteFile(path, foundation.file, 0o600))
	w := townAt(t, path)
	t.Cleanup(func() { require.NoError(t, w.store.Close()) })
	for w.store.NewID() != foundation.lastID { // go on counting where the foundation stopped
	}
	return w
}

var (
	founded    sync.Once
	foundation struct {
		file   []byte
		lastID string
	}
)

func townAt(t *testing.T, path string) *town {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Dublin")
	require.NoError(t, err)
	clock := storetest.NewClock("2025-06-11T19:20:00+01:00")
	s, err := store.Open(path, storetest.Options(clock))
	require.NoError(t, err)
	return &town{t: t, ctx: context.Background(), clock: clock, store: s, roll: rollcall.New(s, zone), zone: zone}
}

func found(t *testing.T) {
	path := filepath.Join(t.TempDir(), "foundation.db")
	w := townAt(t, path)
	w.worker("henrike", "")
	for _, set := range rulebook.Shipped() {
		set.Recorded = w.told("2024-01-01")
		set.ApprovedBy = "the safety manager"
		add(w, set)
	}
	add(w, groundhand.Yard{ID: "Y1", Recorded: w.told("2024-01-01"), Name: "Stenholt"}, groundhand.Yard{ID: "Y2", Recorded: w.told("2024-01-01"), Name: "Varrow"})
	for _, f := range []groundhand.FamilyID{"F1", "F3"} {
		add(w, groundhand.Family{ID: f, Recorded: w.told("2024-01-01"), Name: "family " + string(f)})
	}
	w.device("A05", "F1")
	w.device("T18", "F3")
	w.worker("gideon", groundhand.Qualified)
	add(w, groundhand.Authority{ID: w.id(), Recorded: w.told("2024-01-02"), AssessorID: "gideon", Methods: groundhand.List{"PAIR_KIT", "LONE_KIT", "MANUAL_LOWERING"},
		FromOn: day("2024-01-02")})
	foundation.lastID = w.store.NewID()
	require.NoError(t, w.store.Close()) // writes everything back into the one file
	var err error
	foundation.file, err = os.ReadFile(path)
	require.NoError(t, err)
}

func day(s string) groundhand.Date { return groundhand.MustDate(s) }

func (w *town) id() groundhand.EntryID { return groundhand.EntryID(w.store.NewID()) }

func add[T any](w *town, rows ...T) {
	w.t.Helper()
	require.NoError(w.t, store.Add(w.ctx, w.store, rows...))
}

// at is a moment on the town's clock, "2025-03-08 18:00".
func (w *town) at(s string) groundhand.Instant {
	w.t.Helper()
	at, err := time.ParseInLocation("2006-01-02 15:04", s, w.zone)
	require.NoError(w.t, err)
	return groundhand.InstantOf(at)
}

// told happened on a day and was recorded at five that afternoon.
func (w *town) told(on string) groundhand.Recorded {
	r := groundhand.Recorded{HappenedOn: day(on), RecordedAt: w.at(on + " 17:00"), Capacity: groundhand.Coordinator, CameBy: groundhand.TypedLive}
	if w.roll != nil && w.hasHenrike() {
		r.AuthorID = "henrike"
	}
	return r
}

func (w *town) hasHenrike() bool {
	n, err := store.Count[groundhand.Worker](w.ctx, w.store, store.ByID, []string{"henrike"})
	require.NoError(w.t, err)
	return n > 0
}

func (w *town) worker(id groundhand.WorkerID, grade groundhand.Grade) {
	w.t.Helper()
	add(w, groundhand.Worker{ID: id, Recorded: w.told("2024-01-01"), Number: string(id)})
	if grade != "" {
		add(w, groundhand.Grading{ID: w.id(), Recorded: w.told("2024-01-01"), WorkerID: id, Grade: grade})
	}
}

func (w *town) device(id groundhand.DeviceID, family groundhand.FamilyID) {
	w.t.Helper()
	add(w, groundhand.Device{ID: id, Recorded: w.told("2024-01-01"), FamilyID: family, YardID: "Y1", Type: "articulating", AnchorCM: 1200, EmergencyLow: groundhand.Yes})
	w.equip(id, groundhand.KitID("K-"+id))
}

// equip puts a new kit on a device: 60 m in four parts, so 14 m of reach. Both are looked at as often as the rules ask, until the end of 2025.
func (w *town) equip(device groundhand.DeviceID, kit groundhand.KitID) {
	w.t.Helper()
	told := w.told("2024-01-01")
	add(w, groundhand.Kit{ID: kit, Recorded: told, Parts: 4, RopeCM: 6000, TailCM: 400, RatedLoadKG: 200, InServiceOn: day("2024-01-01")})
	add(w, groundhand.KitPlacing{ID: w.id(), Recorded: told, KitID: kit, DeviceID: device})
	var looks []groundhand.Inspection
	look := func(on groundhand.Date, d groundhand.DeviceID, k groundhand.KitID, kind groundhand.InspectionKind) {
		at := told
		at.HappenedOn = on
		looks = append(looks, groundhand.Inspection{ID: w.id(), Recorded: at, DeviceID: d, KitID: k, Kind: kind, Result: groundhand.InService})
	}
	for week := range 110 {
		look(day("2024-01-01")+groundhand.Date(7*week), "", kit, groundhand.WeeklyOutside)
	}
	for month := range 26 {
		look(day("2024-01-01").AddMonths(month), "", kit, groundhand.MonthlyInside)
		look(day("2024-01-01").AddMonths(month), device, "", groundhand.DeviceMonthly)
	}
	for year := range 2 {
		look(day("2024-01-01").AddMonths(12*year), "", kit, groundhand.Yearly)
		look(day("2024-01-01").AddMonths(12*year), device, "", groundhand.Yearly)
	}
	add(w, looks...)
}

// crew makes a crew of qualified workers from the first day on.
func (w *town) crew(id groundhand.CrewID, kind groundhand.CrewKind, families groundhand.List, members ...groundhand.WorkerID) {
	w.t.Helper()
	add(w, groundhand.Crew{ID: id, Recorded: w.told("2024-01-01"), Name: string(id), YardID: "Y1", Kind: kind, NormalSize: len(members), Families: families})
	for _, m := range members {
		w.worker(m, groundhand.Qualified)
		w.join(m, id, groundhand.Permanent, "2024-01-01", "")
	}
}

func (w *town) join(who groundhand.WorkerID, crew groundhand.CrewID, why groundhand.MembershipReason, from, to string) groundhand.EntryID {
	w.t.Helper()
	m := groundhand.Membership{ID: w.id(), Recorded: w.told(from), CrewID: crew, WorkerID: who, Part: groundhand.Member, Reason: why, FromOn: day(from)}
	if to != "" {
		m.ToOn = day(to)
	}
	add(w, m)
	return m.ID
}

// run is a complete practice run of one person on a bare day.
func (w *town) run(who groundhand.WorkerID, on string, m groundhand.Method, role groundhand.Role, family groundhand.FamilyID) groundhand.RunPart {
	w.t.Helper()
	return w.runTold(who, w.told(on), m, role, family)
}

func (w *town) runTold(who groundhand.WorkerID, told groundhand.Recorded, m groundhand.Method, role groundhand.Role, family groundhand.FamilyID) groundhand.RunPart {
	w.t.Helper()
	run := groundhand.Run{ID: groundhand.RunID(w.id()), Recorded: told, Method: m, Scenario: groundhand.Unconscious, FamilyID: family, KitState: groundhand.AsFound,
		LoweringMeans: groundhand.PoweredLower, CasualtyKind: groundhand.Mannequin, WorkClothes: groundhand.Yes, StartedBy: groundhand.AtAlarm, Complete: true}
	add(w, run)
	part := groundhand.RunPart{ID: w.id(), Recorded: told, RunID: run.ID, WorkerID: who, Role: role}
	add(w, part)
	return part
}

// firstAid is an outside card of which the original was seen.
func (w *town) firstAid(who groundhand.WorkerID, on string) {
	w.t.Helper()
	add(w, groundhand.OutsideEvidence{ID: w.id(), Recorded: w.told(on), WorkerID: who, Method: groundhand.FirstAid, Issuer: "a first-aid school (invented)",
		Level: groundhand.OriginalSeen, CheckerID: "henrike"})
}

func (w *town) assess(who groundhand.WorkerID, on string, m groundhand.Method, role groundhand.Role, family groundhand.FamilyID) groundhand.Assessment {
	w.t.Helper()
	a := groundhand.Assessment{ID: w.id(), Recorded: w.told(on), WorkerID: who, Method: m, Role: role, FamilyID: family, Result: groundhand.Pass, AssessorID: "gideon"}
	add(w, a)
	return a
}

func (w *town) away(who groundhand.WorkerID, kind groundhand.UnavailabilityKind, from, to string) {
	w.t.Helper()
	u := groundhand.Unavailability{ID: w.id(), Recorded: w.told(from[:10]), WorkerID: who, Kind: kind, FromAt: w.at(from)}
	if to != "" {
		u.ToAt = w.at(to)
	}
	add(w, u)
}
