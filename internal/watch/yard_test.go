package watch_test

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
	"groundhand/internal/watch"
)

// yard is a small company in a real file, with the shipped rules, and a watch over it.
type yard struct {
	*testing.T
	ctx   context.Context
	path  string
	zone  *time.Location
	clock *storetest.Clock
	store *store.Store
	watch *watch.Sweeper
}

func newYard(t *testing.T, zone, moment string) *yard {
	t.Helper()
	w := emptyYard(t, zone, moment)
	w.rules()
	return w
}

// emptyYard has no rules, so that no day can be swept.
func emptyYard(t *testing.T, zone, moment string) *yard {
	t.Helper()
	clock := storetest.NewClock(moment)
	return openYard(t, zone, store.Options{Now: clock.Now}, clock)
}

func openYard(t *testing.T, zone string, o store.Options, clock *storetest.Clock) *yard {
	t.Helper()
	z, err := time.LoadLocation(zone)
	require.NoError(t, err)
	w := &yard{T: t, ctx: context.Background(), path: filepath.Join(t.TempDir(), "records.db"), zone: z, clock: clock}
	w.store = w.open(o)
	w.watch = watch.New(w.store, rollcall.New(w.store, z))
	add(w, groundhand.Yard{ID: "Y1", Recorded: w.told("2024-01-01"), Name: "Stenholt"})
	add(w, groundhand.Family{ID: "F1", Recorded: w.told("2024-01-01"), Name: "articulating, lever"})
	return w
}

func (w *yard) open(o store.Options) *store.Store {
	w.Helper()
	s, err := store.Open(w.path, o)
	require.NoError(w, err)
	w.Cleanup(func() { require.NoError(w, s.Close()) })
	return s
}

// second is another process over the same file.
func (w *yard) second() *watch.Sweeper {
	w.Helper()
	s := w.open(store.Options{Now: w.clock.Now})
	return watch.New(s, rollcall.New(s, w.zone))
}

func day(s string) groundhand.Date { return groundhand.MustDate(s) }

func add[T any](w *yard, rows ...T) {
	w.Helper()
	require.NoError(w, store.Add(w.ctx, w.store, rows...))
}

func (w *yard) id() groundhand.EntryID { return groundhand.EntryID(w.store.NewID()) }

func (w *yard) told(on string) groundhand.Recorded {
	return groundhand.Recorded{HappenedOn: day(on), RecordedAt: groundhand.InstantOf(day(on).End(w.zone)) - 1000, Capacity: groundhand.Coordinator, CameBy: groundhand.TypedLive}
}

func (w *yard) rules() {
	w.Helper()
	for _, set := range rulebook.Shipped() {
		set.Recorded = w.told("2024-01-01")
		add(w, set)
	}
}

// crew makes a line crew of qualified workers on one control family.
func (w *yard) crew(id groundhand.CrewID, members ...groundhand.WorkerID) {
	w.Helper()
	since := w.told("2024-01-01")
	add(w, groundhand.Crew{ID: id, Recorded: since, Name: string(id), YardID: "Y1", Kind: groundhand.LineCrew, NormalSize: 3, Families: groundhand.List{"F1"}})
	for _, m := range members {
		add(w, groundhand.Worker{ID: m, Recorded: since, Number: string(m)})
		add(w, groundhand.Grading{ID: w.id(), Recorded: since, WorkerID: m, Grade: groundhand.Qualified})
		add(w, groundhand.Membership{ID: w.id(), Recorded: since, CrewID: id, WorkerID: m, Part: groundhand.Member, Reason: groundhand.Permanent, FromOn: day("2024-01-01")})
	}
}

// practise enters complete runs on a bare day, one for each person, as lead of a pair.
func (w *yard) practise(on string, who ...groundhand.WorkerID) {
	w.Helper()
	for _, m := range who {
		told := w.told(on)
		run := groundhand.Run{ID: groundhand.RunID(w.id()), Recorded: told, Method: groundhand.PairKit, Scenario: groundhand.Unconscious, FamilyID: "F1",
			KitState: groundhand.AsFound, LoweringMeans: groundhand.PoweredLower, CasualtyKind: groundhand.Mannequin, WorkClothes: groundhand.Yes,
			StartedBy: groundhand.AtAlarm, Complete: true}
		add(w, run)
		add(w, groundhand.RunPart{ID: w.id(), Recorded: told, RunID: run.ID, WorkerID: m, Role: groundhand.Lead})
	}
}

func (w *yard) sweep(on string) watch.Result {
	w.Helper()
	got, err := w.watch.Sweep(w.ctx, day(on), true)
	require.NoError(w, err)
	return got
}

// said writes flags as "PRACTICE_LAPSED ann", sorted.
func said(flags []groundhand.Flag) []string {
	out := []string{}
	for _, f := range flags {
		out = append(out, fmt.Sprint(f.Kind, " ", f.WorkerID, f.CrewID))
	}
	slices.Sort(out)
	return out
}

func (w *yard) openFlags() []string {
	w.Helper()
	flags, err := w.store.OpenFlags(w.ctx)
	require.NoError(w, err)
	return said(flags)
}

// swept lists the days of all finished sweeps, in the order in which they were run.
func (w *yard) swept() []groundhand.Date {
	w.Helper()
	all, err := store.All[groundhand.Sweep](w.ctx, w.store)
	require.NoError(w, err)
	slices.SortStableFunc(all, func(a, b groundhand.Sweep) int { return int(a.FinishedAt - b.FinishedAt) })
	days := make([]groundhand.Date, len(all))
	for i, s := range all {
		days[i] = s.Day
	}
	return days
}

// from lists every day from one to another.
func from(first, last string) []groundhand.Date {
	var out []groundhand.Date
	for d := day(first); d <= day(last); d++ {
		out = append(out, d)
	}
	return out
}
