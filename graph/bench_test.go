package graph_test

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"groundhand/graph"
	"groundhand/internal/access"
	"groundhand/internal/certificate"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
	"groundhand/internal/training"
	"groundhand/internal/watch"
)

const crewQuestion = `query($ask: CoverAsk!) { crewCover(ask: $ask) { verdict verdictUntil mayGoAloft { worker { id name } verdict with } mustStayDown { worker { id name } because }
	findings { code severity things } } }`

// bench is both ways to answer over one file of records.
type bench struct {
	service, byHand http.Handler
	token           string
	body            []byte
}

// regional is how many crews of five a regional company has; with twenty entries a person that is 6,000 entries.
const regional = 60

func newBench(b testing.TB, crews int) bench {
	zone, err := time.LoadLocation("Europe/Dublin")
	require.NoError(b, err)
	path := filepath.Join(b.TempDir(), "records.db")
	s := storetest.At(b, path, storetest.NewClock("2025-06-11T19:20:00+01:00"))
	fillCompany(b, s, crews)
	roll := rollcall.New(s, zone)
	door := access.NewDoor(s, counting{})
	_, token, err := door.AddAccount(context.Background(), "petra", groundhand.Dispatcher, "")
	require.NoError(b, err)
	root := &graph.Root{Store: s, Roll: roll, Desk: training.New(s, roll), Issuer: certificate.New(s, roll, certificate.Options{Name: "x"}), Door: door, Sweeper: watch.New(s, roll)}
	db, err := sql.Open("sqlite", "file:"+path+"?mode=ro&_pragma=cache_size(-16000)")
	require.NoError(b, err)
	db.SetMaxIdleConns(4)
	b.Cleanup(func() { require.NoError(b, db.Close()) })
	body, err := json.Marshal(form{"query": crewQuestion, "variables": form{"ask": form{"crew": "C007", "from": "2025-06-12T07:00:00+01:00", "to": "2025-06-12T15:30:00+01:00", "device": "A04", "aloft": 1,
		"methods": []string{"PAIR_KIT", "MANUAL_LOWERING"}, "near50V": "YES", "callPlan": "YES"}}})
	require.NoError(b, err)
	return bench{root.Handler(slog.New(slog.DiscardHandler)), handwritten{db, zone}, token, body}
}

// counting is chance that the token of a test may be made of.
type counting struct{}

func (counting) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = byte(i)
	}
	return len(b), nil
}

func (x bench) ask(t testing.TB, h http.Handler) []byte {
	req, err := http.NewRequest(http.MethodPost, "/graphql", bytes.NewReader(x.body))
	require.NoError(t, err)
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Authorization", "Bearer "+x.token)
	w := &recorder{header: http.Header{}}
	h.ServeHTTP(w, req)
	return w.body.Bytes()
}

func TestTheHandwrittenAnswerIsTheSame(t *testing.T) {
	x := newBench(t, 12)
	service := x.ask(t, x.service)
	require.Contains(t, string(service), `"verdict":"READY"`)
	require.Equal(t, string(x.ask(t, x.byHand)), string(service), "byte for byte")
}

// BenchmarkCrewQuestion asks whether a crew of five may be sent, of the service over GraphQL and of a handler written by hand for this one
// question, turn by turn in the same run. It prints how many times more work of the processor the service does (x-cpu) and how much
// longer it takes by the clock (x-time), the waits in which look-ups are gathered included.
func BenchmarkCrewQuestion(b *testing.B) {
	x := newBench(b, regional)
	require.Equal(b, string(x.ask(b, x.byHand)), string(x.ask(b, x.service)))
	var took, work [2]time.Duration
	b.ResetTimer()
	for b.Loop() {
		for i, h := range []http.Handler{x.service, x.byHand} {
			start, before := time.Now(), processorTime()
			for range 10 {
				x.ask(b, h)
			}
			took[i], work[i] = took[i]+time.Since(start), work[i]+processorTime()-before
		}
	}
	per := func(d time.Duration) float64 { return float64(d.Microseconds()) / float64(10*b.N) }
	b.ReportMetric(float64(work[0])/float64(work[1]), "x-cpu")
	b.ReportMetric(float64(took[0])/float64(took[1]), "x-time")
	b.ReportMetric(per(work[0]), "service-cpu-us")
	b.ReportMetric(per(work[1]), "by-hand-cpu-us")
	b.ReportMetric(per(took[0]), "service-us")
	b.ReportMetric(per(took[1]), "by-hand-us")
}

func processorTime() time.Duration {
	var use syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &use); err != nil {
		panic(err)
	}
	return time.Duration(use.Utime.Nano() + use.Stime.Nano())
}

// fillCompany writes crews of five: of each person ten parts in shared runs, four passes, three first-aid cards, two leaves and a grade.
func fillCompany(b testing.TB, s *store.Store, crews int) {
	ctx := context.Background()
	err := s.InTx(ctx, func(tx *store.Store) error {
		f := filling{b: b, tx: tx}
		f.ground()
		for c := range crews {
			f.crew(c)
		}
		return nil
	})
	require.NoError(b, err)
}

type filling struct {
	b  testing.TB
	tx *store.Store
}

func put[T any](f filling, rows ...T) {
	f.b.Helper()
	require.NoError(f.b, store.Add(context.Background(), f.tx, rows...))
}

func (f filling) id() groundhand.EntryID { return groundhand.EntryID(f.tx.NewID()) }

func (f filling) told(on groundhand.Date) groundhand.Recorded {
	return groundhand.Recorded{HappenedOn: on, RecordedAt: groundhand.InstantOf(on.Start(time.UTC).Add(17 * time.Hour)), AuthorID: "desk", Capacity: groundhand.Coordinator, CameBy: groundhand.TypedLive}
}

var founded = groundhand.MustDate("2023-01-02")

func (f filling) ground() {
	first := f.told(founded)
	first.AuthorID = ""
	put(f, groundhand.Worker{ID: "desk", Recorded: first, Number: "desk"})
	for _, set := range rulebook.Shipped() {
		set.Recorded, set.ApprovedBy = f.told(founded), "the safety manager"
		put(f, set)
	}
	put(f, groundhand.Yard{ID: "Y1", Recorded: f.told(founded), Name: "Varrow"})
	for _, id := range []groundhand.FamilyID{"F1", "F2", "F3", "F4"} {
		put(f, groundhand.Family{ID: id, Recorded: f.told(founded), Name: "family " + string(id)})
	}
	put(f, groundhand.Device{ID: "A04", Recorded: f.told(founded), FamilyID: "F1", YardID: "Y1", Type: "articulating", AnchorCM: 1000, EmergencyLow: groundhand.Yes})
	f.kit()
}

// kit is the kit on the device, both looked at as often as the rules ask: half a year of weekly looks, and two of monthly ones.
func (f filling) kit() {
	put(f, groundhand.Kit{ID: "K04", Recorded: f.told(founded), Parts: 4, RopeCM: 6000, TailCM: 400, RatedLoadKG: 140, InServiceOn: founded, RetiresOn: groundhand.MustDate("2033-05-01")})
	put(f, groundhand.KitPlacing{ID: f.id(), Recorded: f.told(founded), KitID: "K04", DeviceID: "A04"})
	look := func(on groundhand.Date, kind groundhand.InspectionKind, device groundhand.DeviceID, kit groundhand.KitID) {
		put(f, groundhand.Inspection{ID: f.id(), Recorded: f.told(on), DeviceID: device, KitID: kit, Kind: kind, Result: groundhand.InService})
	}
	last := groundhand.MustDate("2025-06-09")
	for k := range 26 {
		look(last.AddDays(-7*k), groundhand.WeeklyOutside, "", "K04")
	}
	for k := range 24 {
		look(last.AddDays(-30*k), groundhand.MonthlyInside, "", "K04")
		look(last.AddDays(-30*k), groundhand.DeviceMonthly, "A04", "")
	}
	look(last.AddDays(-150), groundhand.Yearly, "", "K04")
	look(last.AddDays(-150), groundhand.Yearly, "A04", "")
}

func (f filling) crew(c int) {
	crew := groundhand.CrewID(fmt.Sprintf("C%03d", c))
	put(f, groundhand.Crew{ID: crew, Recorded: f.told(founded), Name: string(crew), YardID: "Y1", Kind: groundhand.LineCrew, NormalSize: 5, Families: groundhand.List{"F1"}})
	for i := range 5 {
		f.person(c*5+i, crew)
	}
	for k := range 10 {
		on := f.told(founded.AddDays(30 + 85*k + c%60))
		run := groundhand.Run{ID: groundhand.RunID(fmt.Sprintf("R%s-%d", crew, k)), Recorded: on, Method: groundhand.PairKit, Scenario: groundhand.Unconscious, FamilyID: "F1", KitState: groundhand.AsFound,
			LoweringMeans: groundhand.PoweredLower, CasualtyKind: groundhand.Mannequin, WorkClothes: groundhand.Yes, StartedBy: groundhand.AtAlarm, Complete: true, WatchedBy: assessorOf(c * 5)}
		put(f, run)
		for i := range 5 {
			role := []groundhand.Role{groundhand.Lead, groundhand.Second, groundhand.Casualty, groundhand.Caller, groundhand.Timekeeper}[(i+k)%5]
			put(f, groundhand.RunPart{ID: f.id(), Recorded: on, RunID: run.ID, WorkerID: person(c*5 + i), Role: role})
		}
	}
}

func person(i int) groundhand.WorkerID { return groundhand.WorkerID(fmt.Sprintf("W%05d", i)) }

// assessorOf is one person among sixty, who assesses the others.
func assessorOf(i int) groundhand.WorkerID { return person(i / 60 * 60) }

func (f filling) person(i int, crew groundhand.CrewID) {
	who := person(i)
	put(f, groundhand.Worker{ID: who, Recorded: f.told(founded), Number: string(who)})
	put(f, groundhand.WorkerName{ID: f.id(), Recorded: f.told(founded), WorkerID: who, Name: "Maren Oduya " + string(who)})
	put(f, groundhand.Grading{ID: f.id(), Recorded: f.told(founded), WorkerID: who, Grade: groundhand.Qualified})
	put(f, groundhand.Membership{ID: f.id(), Recorded: f.told(founded), CrewID: crew, WorkerID: who, Part: groundhand.Member, Reason: groundhand.Permanent, FromOn: founded})
	if who == assessorOf(i) {
		put(f, groundhand.Authority{ID: f.id(), Recorded: f.told(founded), AssessorID: who, Methods: groundhand.List{"PAIR_KIT", "LONE_KIT"}, FromOn: founded})
	}
	for k := range 4 {
		put(f, groundhand.Assessment{ID: f.id(), Recorded: f.told(founded.AddDays(150 + 200*k + i%60)), WorkerID: who, Method: groundhand.PairKit, Role: groundhand.Lead, FamilyID: "F1", Result: groundhand.Pass,
			AssessorID: assessorOf(i)})
	}
	for k := range 3 {
		put(f, groundhand.OutsideEvidence{ID: f.id(), Recorded: f.told(founded.AddDays(60 + 300*k + i%50)), WorkerID: who, Method: groundhand.FirstAid, Issuer: "a school", Level: groundhand.OriginalSeen, CheckerID: "desk"})
	}
	for k := range 2 {
		on := founded.AddDays(180 + 360*k + i%30)
		put(f, groundhand.Unavailability{ID: f.id(), Recorded: f.told(on), WorkerID: who, Kind: groundhand.Leave, FromAt: groundhand.InstantOf(on.Start(time.UTC)), ToAt: groundhand.InstantOf(on.AddDays(14).Start(time.UTC))})
	}
}
