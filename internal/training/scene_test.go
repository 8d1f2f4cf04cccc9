package training

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// scene is a small company on Wednesday 11 June 2025, 19:20 in Dublin. All names are invented.
type scene struct {
	t     *testing.T
	ctx   context.Context
	store *store.Store
	desk  *Desk
	zone  *time.Location
	// accounts; see who for the one that hands in a form
	coordinator, hr, assessor, inspector, dispatcher groundhand.Account
	// workers
	maren, tomasz, keahi, gideon, henrike groundhand.WorkerID
	keys                                  int
	before                                int64 // entries before the form that is to be refused
}

var today = groundhand.MustDate("2025-06-11")

// newScene gives every test a company of its own: a copy of one that was set up once.
func newScene(t *testing.T) *scene {
	t.Helper()
	sc := *template(t)
	path := filepath.Join(t.TempDir(), "records.db")
	for end, content := range templateFiles {
		require.NoError(t, os.WriteFile(path+end, content, 0o600))
	}
	sc.t, sc.ctx = t, t.Context()
	sc.open(path, 20, 1000)
	t.Cleanup(func() { require.NoError(t, sc.store.Close()) })
	return &sc
}

var (
	templateOnce  sync.Once
	templateScene *scene
	templateFiles = map[string][]byte{}
)

func template(t *testing.T) *scene {
	templateOnce.Do(func() {
		zone, err := time.LoadLocation("Europe/Dublin")
		require.NoError(t, err)
		path := filepath.Join(t.TempDir(), "template.db")
		sc := &scene{t: t, ctx: t.Context(), zone: zone}
		sc.open(path, 19, 0)
		sc.hr = sc.account("hr", groundhand.HR, "")
		sc.coordinator = sc.account("first", groundhand.Coordinator, "")
		sc.places()
		sc.henrike = sc.worker("Henrike Amadi-Solbakk", "1001", groundhand.Office)
		sc.maren = sc.worker("Maren Oduya", "1002", groundhand.Qualified)
		sc.tomasz = sc.worker("Tomasz Wieland", "1003", groundhand.Qualified)
		sc.keahi = sc.worker("Keahi Barrow", "1004", groundhand.Qualified)
		sc.gideon = sc.worker("Gideon Prewitt-Osei", "1005", groundhand.Qualified)
		sc.coordinator = sc.account("henrike", groundhand.Coordinator, sc.henrike)
		sc.assessor = sc.account("gideon", groundhand.Assessor, sc.gideon)
		sc.inspector = sc.account("lorcan", groundhand.Inspector, sc.tomasz)
		sc.dispatcher = sc.account("petra", groundhand.Dispatcher, "")
		require.NoError(t, sc.store.Close())
		for _, end := range []string{"", "-wal"} { // the log may hold what is not in the file yet
			content, err := os.ReadFile(path + end)
			if !errors.Is(err, fs.ErrNotExist) {
				require.NoError(t, err)
				templateFiles[end] = content
			}
		}
		templateScene = sc
	})
	return templateScene
}

// open opens the records with the clock at rest, some minutes past seven, and ids that count on from a number.
func (sc *scene) open(path string, minute int, from int64) {
	sc.t.Helper()
	now := time.Date(2025, time.June, 11, 19, minute, 0, 0, sc.zone)
	var made atomic.Int64
	made.Store(from)
	s, err := store.Open(path, store.Options{
		Now: func() time.Time { return now }, NewID: func() string { return fmt.Sprintf("id-%06d", made.Add(1)) },
	})
	require.NoError(sc.t, err)
	sc.store, sc.desk = s, New(s, rollcall.New(s, sc.zone))
}

func (sc *scene) account(name string, c groundhand.Capacity, w groundhand.WorkerID) groundhand.Account {
	sc.t.Helper()
	a := groundhand.Account{ID: groundhand.AccountID(sc.store.NewID()), RecordedAt: sc.store.Now(), Name: name, Capacity: c, WorkerID: w}
	require.NoError(sc.t, store.Add(sc.ctx, sc.store, a))
	return a
}

func (sc *scene) places() {
	sc.t.Helper()
	since := When{On: groundhand.MustDate("2024-01-01")}
	must(sc, sc.desk.AddYard, YardForm{When: since, ID: "VARROW", Name: "Varrow"})
	must(sc, sc.desk.AddYard, YardForm{When: since, ID: "STENHOLT", Name: "Stenholt"})
	must(sc, sc.desk.AddFamily, FamilyForm{When: since, ID: "F1", Name: "articulating, lever"})
	must(sc, sc.desk.AddFamily, FamilyForm{When: since, ID: "F3", Name: "telescopic, lever"})
	must(sc, sc.desk.AddDevice, device("A04"))
	must(sc, sc.desk.AddKit, kit("K04"))
	must(sc, sc.desk.AddCrew, crew("V1"))
	must(sc, sc.desk.AddCrew, crew("V2"))
}

func device(id groundhand.DeviceID) DeviceForm {
	return DeviceForm{
		When: When{On: groundhand.MustDate("2024-01-01")}, ID: id, FamilyID: "F1", YardID: "VARROW", Type: "articulating",
		PlatformCM: 1300, AnchorCM: 1000, EmergencyLow: groundhand.Yes,
	}
}

func kit(id groundhand.KitID) KitForm {
	return KitForm{
		When: When{On: groundhand.MustDate("2024-01-01")}, ID: id, Parts: 4, RopeCM: 6000, TailCM: 400, RatedLoadKG: 140,
		InServiceOn: groundhand.MustDate("2023-05-02"), RetiresOn: groundhand.MustDate("2033-05-01"),
	}
}

func crew(id groundhand.CrewID) CrewForm {
	return CrewForm{
		When: When{On: groundhand.MustDate("2024-01-01")}, ID: id, Name: "crew " + string(id), YardID: "VARROW", Kind: groundhand.LineCrew,
		NormalSize: 4, Families: groundhand.List{"F1"},
	}
}

func (sc *scene) worker(name, number string, g groundhand.Grade) groundhand.WorkerID {
	sc.t.Helper()
	return must(sc, sc.desk.AddWorker, workerForm(name, number, g)).ID
}

func workerForm(name, number string, g groundhand.Grade) WorkerForm {
	return WorkerForm{
		FromOn: groundhand.MustDate("2024-01-01"), Name: name, Number: number, Employer: "Halverra Lines", Relation: groundhand.Employee,
		Grade: g, YardID: "VARROW",
	}
}

func (sc *scene) key() string {
	sc.keys++
	return fmt.Sprintf("key-%d", sc.keys)
}

// method is a method of the desk.
type method[F, T any] func(context.Context, groundhand.Account, string, F) (T, error)

// who is the account whose work it is to hand in a form.
func (sc *scene) who(form any) groundhand.Account {
	switch form.(type) {
	case WorkerForm, NameForm, GradeForm, PostForm, EmployForm, UnavailableForm, NumberForm, AliasForm, MergeForm, HoldForm, ReleaseForm, RetentionForm, ErasureForm:
		return sc.hr
	case AssessmentForm:
		return sc.assessor
	case InspectionForm:
		return sc.inspector
	case JobForm, DecisionForm:
		return sc.dispatcher
	case RuleSetForm:
		return groundhand.Account{Capacity: groundhand.Program}
	}
	return sc.coordinator
}

// must does an act that has to go through.
func must[F, T any](sc *scene, do method[F, T], f F) T {
	sc.t.Helper()
	out, err := do(sc.ctx, sc.who(f), sc.key(), f)
	require.NoError(sc.t, err)
	return out
}

// try does an act and gives its refusal.
func try[F, T any](sc *scene, do method[F, T], f F) error {
	_, err := do(sc.ctx, sc.who(f), sc.key(), f)
	return err
}

// refused asserts that nothing was written and that the refusals are exactly these, as "CODE field".
func (sc *scene) refused(do func() error, want ...string) {
	sc.t.Helper()
	sc.before = sc.entries()
	err := do()
	require.Error(sc.t, err)
	assert.ElementsMatch(sc.t, want, refusals(err), err.Error())
	assert.Equal(sc.t, sc.before, sc.entries(), "a refused form leaves nothing behind")
}

// entries counts what is in the log besides refused signatures and accounts: every row has its entry there.
func (sc *scene) entries() int64 {
	sc.t.Helper()
	log, err := sc.store.Checkpoint(sc.ctx)
	require.NoError(sc.t, err)
	noted, err := store.Count[groundhand.RefusedAttempt](sc.ctx, sc.store, "", nil)
	require.NoError(sc.t, err)
	accounts, err := store.Count[groundhand.Account](sc.ctx, sc.store, "", nil) // opened as they are needed
	require.NoError(sc.t, err)
	return log.Size - int64(noted+accounts)
}

func refusals(err error) []string {
	var out []string
	for _, e := range groundhand.Refusals(err) {
		out = append(out, strings.TrimSpace(string(e.Code)+" "+e.Field))
	}
	slices.Sort(out)
	return out
}

// rows counts what is recorded, by kind.
func (sc *scene) rows() map[string]int {
	sc.t.Helper()
	out := map[string]int{}
	count := func(name string, n int, err error) {
		require.NoError(sc.t, err)
		out[name] = n
	}
	for name, of := range counters {
		n, err := of(sc.ctx, sc.store)
		count(name, n, err)
	}
	return out
}

func counter[T any](ctx context.Context, s *store.Store) (int, error) {
	return store.Count[T](ctx, s, "", nil)
}

var counters = map[string]func(context.Context, *store.Store) (int, error){
	"workers": counter[groundhand.Worker], "names": counter[groundhand.WorkerName], "employments": counter[groundhand.Employment],
	"gradings": counter[groundhand.Grading], "postings": counter[groundhand.Posting], "absences": counter[groundhand.Unavailability],
	"reasons": counter[groundhand.UnavailabilityReason], "yards": counter[groundhand.Yard], "roads": counter[groundhand.Road],
	"crews": counter[groundhand.Crew], "memberships": counter[groundhand.Membership], "families": counter[groundhand.Family],
	"devices": counter[groundhand.Device], "kits": counter[groundhand.Kit], "placings": counter[groundhand.KitPlacing],
	"inspections": counter[groundhand.Inspection], "sessions": counter[groundhand.Session], "bookings": counter[groundhand.Booking],
	"runs": counter[groundhand.Run], "parts": counter[groundhand.RunPart], "assessments": counter[groundhand.Assessment],
	"authorities": counter[groundhand.Authority], "outside": counter[groundhand.OutsideEvidence], "suspensions": counter[groundhand.Suspension],
	"liftings": counter[groundhand.Lifting], "extensions": counter[groundhand.Extension], "provisionals": counter[groundhand.Provisional],
	"rules": counter[groundhand.RuleSet], "jobs": counter[groundhand.Job], "withdrawals": counter[groundhand.Withdrawal],
	"classings": counter[groundhand.Classing], "defects": counter[groundhand.Defect], "briefings": counter[groundhand.Briefing],
	"shifts": counter[groundhand.Shift], "replies": counter[groundhand.Reply], "decisions": counter[groundhand.Decision],
	"corrections": counter[groundhand.Correction], "reviews": counter[groundhand.Review], "closings": counter[groundhand.ReviewClosing],
	"disputes": counter[groundhand.Dispute], "rulings": counter[groundhand.Ruling], "findings": counter[groundhand.AssessorFinding],
	"proposals": counter[groundhand.RuleProposal], "approvals": counter[groundhand.RuleApproval], "events": counter[groundhand.RealEvent],
	"numbers": counter[groundhand.WorkerNumber], "aliases": counter[groundhand.Alias], "merges": counter[groundhand.Merge],
	"releases": counter[groundhand.Release], "retentions": counter[groundhand.Retention], "erasures": counter[groundhand.Erasure],
	"holds": counter[groundhand.Hold], "requests": counter[groundhand.RotationRequest], "failures": counter[groundhand.RotationFailure],
	"plans": counter[groundhand.Plan], "adoptions": counter[groundhand.Adoption], "acts": counter[groundhand.Act],
}

// at is a moment of a day in Dublin.
func (sc *scene) moment(day string, hour, minute int) groundhand.Instant {
	y, m, d := groundhand.MustDate(day).Civil()
	return groundhand.InstantOf(time.Date(y, m, d, hour, minute, 0, 0, sc.zone))
}

func (sc *scene) authority(who groundhand.WorkerID) AuthorityForm {
	return AuthorityForm{
		When: When{On: groundhand.MustDate("2024-01-01")}, AssessorID: who, Methods: groundhand.List{"PAIR_KIT"}, Families: groundhand.List{"F1"},
		FromOn: groundhand.MustDate("2024-01-01"), ToOn: groundhand.MustDate("2025-12-31"), Basis: "appointed",
	}
}

func (sc *scene) pass(who groundhand.WorkerID) AssessmentForm {
	return AssessmentForm{
		When: When{On: groundhand.MustDate("2025-06-10")}, WorkerID: who, Method: groundhand.PairKit, Role: groundhand.Lead, FamilyID: "F1",
		Result: groundhand.Pass, AssessorID: sc.gideon,
	}
}

func (sc *scene) run() RunForm {
	return RunForm{
		When: When{At: sc.moment("2025-06-10", 9, 0)}, Method: groundhand.PairKit, Scenario: groundhand.Unconscious, DeviceID: "A04", KitID: "K04",
		KitState: groundhand.AsFound, LoweringMeans: groundhand.PoweredLower, HeightCM: 900, CasualtyKind: groundhand.Mannequin, CasualtyKG: 80,
		GroundCount: 2, StartedBy: groundhand.AtAlarm, Complete: true, WatchedBy: sc.gideon,
		Marks: groundhand.StageMarks{{Stage: groundhand.S0}, {Stage: groundhand.S7, Seconds: 95}, {Stage: groundhand.S8, Seconds: 104}},
		Parts: []PartForm{{WorkerID: sc.maren, Role: groundhand.Lead}, {WorkerID: sc.tomasz, Role: groundhand.Second}, {WorkerID: sc.keahi, Role: groundhand.Observer}},
	}
}

func (sc *scene) drill(change ...func(*RunForm)) DrillForm {
	run := sc.run()
	for _, c := range change {
		c(&run)
	}
	return DrillForm{Runs: []RunForm{run}}
}

// practise gives somebody a good drill as lead with the kit on F1.
func (sc *scene) practise(who groundhand.WorkerID, day string) Drill {
	sc.t.Helper()
	return must(sc, sc.desk.RecordDrill, sc.drill(func(r *RunForm) {
		r.When, r.WatchedBy = When{On: groundhand.MustDate(day)}, ""
		r.Parts = []PartForm{{WorkerID: who, Role: groundhand.Lead}}
	}))
}

func (sc *scene) session(change ...func(*SessionForm)) SessionForm {
	f := SessionForm{
		YardID: "VARROW", StartAt: sc.moment("2025-06-24", 8, 0), EndAt: sc.moment("2025-06-24", 12, 0), Methods: groundhand.List{"PAIR_KIT"},
		DeviceID: "A04", KitID: "K04", AssessorID: sc.gideon, Announced: true, Seats: 6, MaxRuns: 8,
		Bookings: []SeatForm{{WorkerID: sc.maren, Renews: groundhand.List{"PAIR_KIT"}}, {WorkerID: sc.tomasz}},
	}
	for _, c := range change {
		c(&f)
	}
	return f
}

func (sc *scene) job(change ...func(*JobForm)) JobForm {
	f := JobForm{
		CrewID: "V1", StartAt: sc.moment("2025-06-12", 6, 0), EndAt: sc.moment("2025-06-12", 14, 0), DeviceID: "A04", KitID: "K04", Aloft: 2,
		Methods: groundhand.List{"PAIR_KIT", "MANUAL_LOWERING"}, Near50V: groundhand.Yes, SiteKind: groundhand.FieldSite, CallPlan: groundhand.Yes,
		Place: "Mill Lane", PlannedAloft: groundhand.List{string(sc.maren)}, Duties: groundhand.Duties{{Duty: "traffic", WorkerID: sc.keahi}},
	}
	for _, c := range change {
		c(&f)
	}
	return f
}

func member(crew groundhand.CrewID, who groundhand.WorkerID, from, to string) MembershipForm {
	f := MembershipForm{CrewID: crew, WorkerID: who, Part: groundhand.Member, Reason: groundhand.Permanent, FromOn: groundhand.MustDate(from)}
	if to != "" {
		f.ToOn = groundhand.MustDate(to)
	}
	return f
}

// after counts anew: what came before was let through.
func (sc *scene) after(do func() error) error {
	sc.before = sc.entries()
	return do()
}
