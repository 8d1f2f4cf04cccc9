package rollcall_test

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"runtime/metrics"
	"strconv"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

// BenchmarkCompany asks for one day of a company of 20,000 workers with 400,000 entries, and reads the same rows by hand for comparison.
// It prints how many times longer the answer takes than the bare reading, by the clock and in work of the processor, and the greatest memory of
// the runtime while it is made.
// GROUNDHAND_BENCH_WORKERS makes it smaller or larger.
func BenchmarkCompany(b *testing.B) {
	workers := 20_000
	if n, err := strconv.Atoi(os.Getenv("GROUNDHAND_BENCH_WORKERS")); err == nil {
		workers = n
	}
	path := filepath.Join(b.TempDir(), "records.db")
	s := storetest.At(b, path, storetest.NewClock("2025-06-11T06:00:00Z"))
	entries := fillCompany(b, s, workers)
	roll := rollcall.New(s, time.UTC)
	db, err := sql.Open("sqlite", "file:"+path+"?mode=ro")
	require.NoError(b, err)
	defer db.Close()
	var answer, scan, answerWork, scanWork time.Duration
	var peak uint64
	b.ResetTimer()
	for b.Loop() {
		took, work := timed(func() { scanByHand(b, db) })
		scan, scanWork = scan+took, scanWork+work
		debug.FreeOSMemory()
		stop := watchMemory()
		took, work = timed(func() {
			c, err := roll.Company(context.Background(), day("2025-06-11"))
			require.NoError(b, err)
			require.Len(b, c.Workers, workers)
		})
		answer, answerWork = answer+took, answerWork+work
		peak = max(peak, stop())
	}
	b.ReportMetric(float64(answer)/float64(scan), "x-scan")
	b.ReportMetric(float64(answerWork)/float64(scanWork), "x-scan-cpu")
	b.ReportMetric(float64(peak)/(1<<20), "peak-MB")
	b.ReportMetric(scan.Seconds()/float64(b.N), "scan-s")
	b.ReportMetric(float64(entries), "entries")
}

// timed gives how long something took by the clock, and how much work of the processor it was, which a busy machine does not change.
func timed(do func()) (took, work time.Duration) {
	start, before := time.Now(), processorTime()
	do()
	return time.Since(start), processorTime() - before
}

func processorTime() time.Duration {
	var use syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &use); err != nil {
		panic(err)
	}
	return time.Duration(use.Utime.Nano() + use.Stime.Nano())
}

// watchMemory samples what the runtime holds of the machine's memory until it is stopped, and gives the greatest sample in bytes.
func watchMemory() (stop func() uint64) {
	done, result := make(chan struct{}), make(chan uint64)
	go func() {
		var peak uint64
		sample := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
		tick := time.NewTicker(5 * time.Millisecond)
		defer tick.Stop()
		for {
			metrics.Read(sample)
			peak = max(peak, sample[0].Value.Uint64()-sample[1].Value.Uint64())
			select {
			case <-tick.C:
			case <-done:
				result <- peak
				return
			}
		}
	}()
	return func() uint64 { close(done); return <-result }
}

// scans read every row that a standing can rest on, with the columns that are read for an answer.
var scans = []string{
	"SELECT e.*, r.method, r.family_id, r.complete, r.theory, r.watched_by FROM run_parts e JOIN runs r ON r.id = e.run_id",
	"SELECT * FROM assessments", "SELECT * FROM outside_evidences", "SELECT * FROM unavailabilities", "SELECT * FROM gradings", "SELECT * FROM authorities",
}

func scanByHand(b *testing.B, db *sql.DB) {
	rows := 0
	for _, query := range scans {
		rows += scanRows(b, db, query)
	}
	require.NotZero(b, rows)
}

func scanRows(b *testing.B, db *sql.DB, query string) (n int) {
	rows, err := db.Query(query)
	require.NoError(b, err)
	defer rows.Close()
	columns, err := rows.Columns()
	require.NoError(b, err)
	into := make([]any, len(columns))
	for i := range into {
		into[i] = new(sql.NullString)
	}
	for rows.Next() {
		require.NoError(b, rows.Scan(into...))
		n++
	}
	require.NoError(b, rows.Err())
	return n
}

// fillCompany makes crews of five with twenty entries a person: ten parts in shared runs, four passes, three first-aid cards, two leaves
// and a grade.
func fillCompany(b *testing.B, s *store.Store, workers int) (entries int) {
	ctx := context.Background()
	told := func(on string) groundhand.Recorded {
		d := day(on)
		return groundhand.Recorded{HappenedOn: d, RecordedAt: groundhand.InstantOf(d.Start(time.UTC).Add(17 * time.Hour)), AuthorID: "desk", Capacity: groundhand.Coordinator,
			CameBy: groundhand.TypedLive}
	}
	put := func(err error) { require.NoError(b, err) }
	first := told("2023-01-02")
	first.AuthorID = ""
	put(store.Add(ctx, s, groundhand.Worker{ID: "desk", Recorded: first, Number: "desk"}))
	for _, set := range rulebook.Shipped() {
		set.Recorded = told("2023-01-02")
		put(store.Add(ctx, s, set))
	}
	put(store.Add(ctx, s, groundhand.Yard{ID: "Y1", Recorded: told("2023-01-02"), Name: "Y1"}))
	put(store.Add(ctx, s, groundhand.Family{ID: "F1", Recorded: told("2023-01-02"), Name: "F1"}, groundhand.Family{ID: "F3", Recorded: told("2023-01-02"), Name: "F3"}))
	id := func() groundhand.EntryID { return groundhand.EntryID(s.NewID()) }
	var people []groundhand.Worker
	var crews []groundhand.Crew
	var memberships []groundhand.Membership
	var runs []groundhand.Run
	var parts []groundhand.RunPart
	var passes []groundhand.Assessment
	var cards []groundhand.OutsideEvidence
	var leaves []groundhand.Unavailability
	var grades []groundhand.Grading
	var authorities []groundhand.Authority
	assessor := func(i int) groundhand.WorkerID { return groundhand.WorkerID(fmt.Sprintf("W%05d", i/200*200)) }
	for i := range workers {
		who, crew := groundhand.WorkerID(fmt.Sprintf("W%05d", i)), groundhand.CrewID(fmt.Sprintf("C%04d", i/5))
		people = append(people, groundhand.Worker{ID: who, Recorded: told("2023-01-02"), Number: string(who)})
		grades = append(grades, groundhand.Grading{ID: id(), Recorded: told("2023-01-02"), WorkerID: who, Grade: groundhand.Qualified})
		if i%5 == 0 {
			crews = append(crews, groundhand.Crew{ID: crew, Recorded: told("2023-01-02"), Name: string(crew), YardID: "Y1", Kind: groundhand.LineCrew, NormalSize: 5,
				Families: groundhand.List{"F1"}})
		}
		if i%200 == 0 {
			authorities = append(authorities, groundhand.Authority{ID: id(), Recorded: told("2023-01-02"), AssessorID: who, Methods: groundhand.List{"PAIR_KIT", "LONE_KIT"}, FromOn: day("2023-01-02")})
		}
		memberships = append(memberships, groundhand.Membership{ID: id(), Recorded: told("2023-01-02"), CrewID: crew, WorkerID: who, Part: groundhand.Member, Reason: groundhand.Permanent,
			FromOn: day("2023-01-02")})
		for k := range 10 {
			on := told(day("2023-02-01").AddDays(85*k + i/5%60).String())
			if i%5 == 0 {
				runs = append(runs, groundhand.Run{ID: groundhand.RunID(fmt.Sprintf("R%s-%d", crew, k)), Recorded: on, Method: groundhand.PairKit, Scenario: groundhand.Unconscious, FamilyID: "F1",
					KitState: groundhand.AsFound, LoweringMeans: groundhand.PoweredLower, CasualtyKind: groundhand.Mannequin, WorkClothes: groundhand.Yes, StartedBy: groundhand.AtAlarm, Complete: true,
					WatchedBy: assessor(i)})
			}
			role := []groundhand.Role{groundhand.Lead, groundhand.Second, groundhand.Casualty, groundhand.Caller, groundhand.Timekeeper}[(i+k)%5]
			parts = append(parts, groundhand.RunPart{ID: id(), Recorded: on, RunID: groundhand.RunID(fmt.Sprintf("R%s-%d", crew, k)), WorkerID: who, Role: role})
		}
		for k := range 4 {
			passes = append(passes, groundhand.Assessment{ID: id(), Recorded: told(day("2023-06-01").AddDays(200*k + i%60).String()), WorkerID: who, Method: groundhand.PairKit,
				Role: groundhand.Lead, FamilyID: "F1", Result: groundhand.Pass, AssessorID: assessor(i)})
		}
		for k := range 3 {
			cards = append(cards, groundhand.OutsideEvidence{ID: id(), Recorded: told(day("2023-03-01").AddDays(300*k + i%50).String()), WorkerID: who, Method: groundhand.FirstAid,
				Issuer: "a school", Level: groundhand.OriginalSeen, CheckerID: "desk"})
		}
		for k := range 2 {
			on := day("2023-07-01").AddDays(360*k + i%30)
			leaves = append(leaves, groundhand.Unavailability{ID: id(), Recorded: told(on.String()), WorkerID: who, Kind: groundhand.Leave,
				FromAt: groundhand.InstantOf(on.Start(time.UTC)), ToAt: groundhand.InstantOf(on.AddDays(14).Start(time.UTC))})
		}
	}
	put(s.InTx(ctx, func(tx *store.Store) error {
		for _, fill := range []func() error{
			func() error { return store.Add(ctx, tx, people...) }, func() error { return store.Add(ctx, tx, crews...) },
			func() error { return store.Add(ctx, tx, memberships...) }, func() error { return store.Add(ctx, tx, runs...) },
			func() error { return store.Add(ctx, tx, parts...) }, func() error { return store.Add(ctx, tx, passes...) },
			func() error { return store.Add(ctx, tx, cards...) }, func() error { return store.Add(ctx, tx, leaves...) },
			func() error { return store.Add(ctx, tx, grades...) }, func() error { return store.Add(ctx, tx, authorities...) },
		} {
			if err := fill(); err != nil {
				return err
			}
		}
		return nil
	}))
	return len(parts) + len(passes) + len(cards) + len(leaves) + len(grades)
}
