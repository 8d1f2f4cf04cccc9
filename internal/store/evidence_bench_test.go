package store_test

import (
	"database/sql"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

// The company of the benchmark: 20 entries each, 400,000 in all, of which one in a hundred practices was corrected and withdrawn.
const (
	benchWorkers   = 20_000
	benchPortion   = 1_000
	benchPractices = 12
	benchPasses    = 4
	benchOutside   = 2
	benchEntries   = benchWorkers * (benchPractices + benchPasses + benchOutside + 2)
)

// BenchmarkEvidence reads the company's evidence in portions of 1,000 workers, and the same rows by hand through database/sql in
// one go, unordered, without looking for corrections. The ratio is what order, snapshot, corrections, withdrawals and gorm cost.
func BenchmarkEvidence(b *testing.B) {
	path := filepath.Join(b.TempDir(), "records.db")
	s := storetest.At(b, path)
	workers := recordCompany(b, s)
	db, err := sql.Open("sqlite", path)
	require.NoError(b, err)
	defer db.Close()
	db.SetMaxOpenConns(1)
	_, err = db.Exec("PRAGMA cache_size = -16000")
	require.NoError(b, err)

	var ours, byHand time.Duration
	for b.Loop() {
		start := time.Now()
		n := 0
		for i := 0; i < len(workers); i += benchPortion {
			e, err := s.Evidence(ctx, workers[i:i+benchPortion])
			require.NoError(b, err)
			n += len(e.Practices) + len(e.Assessments) + len(e.Outside) + len(e.Gradings) + len(e.Unavailabilities)
		}
		ours += time.Since(start)
		start = time.Now()
		m := scanByHand(b, db)
		byHand += time.Since(start)
		require.Equal(b, m, n)
		require.GreaterOrEqual(b, n, benchEntries)
	}
	b.ReportMetric(ours.Seconds()/float64(b.N), "s/evidence")
	b.ReportMetric(byHand.Seconds()/float64(b.N), "s/by-hand")
	b.ReportMetric(float64(ours)/float64(byHand), "ratio")
}

func recordCompany(b *testing.B, s *store.Store) []gh.WorkerID {
	require.NoError(b, store.Add(ctx, s, gh.Family{ID: "F1", Recorded: storetest.Told(s, day)}))
	var ids []gh.WorkerID
	for start := 0; start < benchWorkers; start += benchPortion {
		var c company
		require.NoError(b, s.InTx(ctx, func(tx *store.Store) error {
			for i := start; i < start+benchPortion; i++ {
				c.hire(tx, gh.WorkerID(fmt.Sprintf("w%05d", i)))
			}
			return c.add(tx)
		}))
		for _, w := range c.workers {
			ids = append(ids, w.ID)
		}
		require.NoError(b, s.InTx(ctx, func(tx *store.Store) error { return c.undo(tx) }))
	}
	return ids
}

type company struct {
	workers  []gh.Worker
	runs     []gh.Run
	parts    []gh.RunPart
	passes   []gh.Assessment
	outside  []gh.OutsideEvidence
	grades   []gh.Grading
	absences []gh.Unavailability
}

func (c *company) hire(tx *store.Store, w gh.WorkerID) {
	told := storetest.Told(tx, day)
	c.workers = append(c.workers, gh.Worker{ID: w, Recorded: told})
	for range benchPractices {
		run := gh.Run{ID: gh.RunID(tx.NewID()), Recorded: told, Method: gh.PairKit, FamilyID: "F1", Complete: true}
		c.runs = append(c.runs, run)
		c.parts = append(c.parts, gh.RunPart{ID: gh.EntryID(tx.NewID()), Recorded: told, RunID: run.ID, WorkerID: w, Role: gh.Lead})
	}
	for range benchPasses {
		c.passes = append(c.passes, gh.Assessment{ID: gh.EntryID(tx.NewID()), Recorded: told, WorkerID: w, Method: gh.PairKit, Role: gh.Lead,
			FamilyID: "F1", Result: gh.Pass, AssessorID: w, Steps: gh.CriticalSteps{{Step: "help called", Done: gh.StepYes}}})
	}
	for range benchOutside {
		c.outside = append(c.outside, gh.OutsideEvidence{ID: gh.EntryID(tx.NewID()), Recorded: told, WorkerID: w, Method: gh.FirstAid, Level: gh.CopySeen})
	}
	c.grades = append(c.grades, gh.Grading{ID: gh.EntryID(tx.NewID()), Recorded: told, WorkerID: w, Grade: gh.Qualified})
	c.absences = append(c.absences, gh.Unavailability{ID: gh.EntryID(tx.NewID()), Recorded: told, WorkerID: w, Kind: gh.Leave, FromAt: 1, ToAt: 2})
}

func (c *company) add(tx *store.Store) error {
	for _, add := range []func() error{
		func() error { return store.Add(ctx, tx, c.workers...) }, func() error { return store.Add(ctx, tx, c.runs...) },
		func() error { return store.Add(ctx, tx, c.parts...) }, func() error { return store.Add(ctx, tx, c.passes...) },
		func() error { return store.Add(ctx, tx, c.outside...) }, func() error { return store.Add(ctx, tx, c.grades...) },
		func() error { return store.Add(ctx, tx, c.absences...) },
	} {
		if err := add(); err != nil {
			return err
		}
	}
	return nil
}

// undo corrects one practice in a hundred and withdraws another.
func (c *company) undo(tx *store.Store) error {
	var corrections []gh.RunPart
	var withdrawals []gh.Withdrawal
	told := storetest.Told(tx, day)
	for i := 0; i < len(c.parts); i += 100 {
		part := c.parts[i]
		part.ID, part.Recorded, part.ReplacesID = gh.EntryID(tx.NewID()), told, part.ID
		part.ReplacesID = c.parts[i].ID
		corrections = append(corrections, part)
		withdrawals = append(withdrawals, gh.Withdrawal{ID: gh.EntryID(tx.NewID()), Recorded: told, WithdrawsID: c.parts[i+1].ID})
	}
	if err := store.Add(ctx, tx, corrections...); err != nil {
		return err
	}
	return store.Add(ctx, tx, withdrawals...)
}

const told = "e.id, e.happened_on, e.happened_at, e.recorded_at, e.author_id, e.capacity, e.came_by, e.replaces_id, e.because, "

func toldCells(r *gh.Recorded) []any {
	return []any{&r.HappenedOn, &r.HappenedAt, &r.RecordedAt, &r.AuthorID, &r.Capacity, &r.CameBy, &r.ReplacesID, &r.Because}
}

func scanByHand(b *testing.B, db *sql.DB) int {
	var p gh.Practice
	practices := scanOf(b, db, "SELECT "+told+"e.run_id, e.worker_id, e.role, e.critical_fail, r.method, r.family_id, r.complete, r.theory, r.watched_by FROM run_parts e JOIN runs r ON r.id = e.run_id",
		&p, append(append([]any{&p.ID}, toldCells(&p.Recorded)...), &p.RunID, &p.WorkerID, &p.Role, &p.CriticalFail, &p.Method, &p.FamilyID, &p.Complete, &p.Theory, &p.WatchedBy))
	var a gh.Assessment
	passes := scanOf(b, db, "SELECT "+told+"e.worker_id, e.method, e.role, e.family_id, e.result, e.assessor_id, e.run_part_id, e.theory, e.steps, e.coaching, e.next_step FROM assessments e",
		&a, append(append([]any{&a.ID}, toldCells(&a.Recorded)...), &a.WorkerID, &a.Method, &a.Role, &a.FamilyID, &a.Result, &a.AssessorID, &a.RunPartID, &a.Theory, &a.Steps, &a.Coaching, &a.NextStep))
	var o gh.OutsideEvidence
	outside := scanOf(b, db, "SELECT "+told+"e.worker_id, e.method, e.role, e.family_id, e.issuer, e.level, e.checker_id FROM outside_evidences e",
		&o, append(append([]any{&o.ID}, toldCells(&o.Recorded)...), &o.WorkerID, &o.Method, &o.Role, &o.FamilyID, &o.Issuer, &o.Level, &o.CheckerID))
	var g gh.Grading
	grades := scanOf(b, db, "SELECT "+told+"e.worker_id, e.grade, e.year FROM gradings e",
		&g, append(append([]any{&g.ID}, toldCells(&g.Recorded)...), &g.WorkerID, &g.Grade, &g.Year))
	var u gh.Unavailability
	absences := scanOf(b, db, "SELECT "+told+"e.worker_id, e.kind, e.from_at, e.to_at FROM unavailabilities e",
		&u, append(append([]any{&u.ID}, toldCells(&u.Recorded)...), &u.WorkerID, &u.Kind, &u.FromAt, &u.ToAt))
	return practices + passes + outside + grades + absences
}

func scanOf[T any](b *testing.B, db *sql.DB, query string, row *T, cells []any) int {
	rows, err := db.Query(query)
	require.NoError(b, err)
	defer rows.Close()
	var all []T
	for rows.Next() {
		require.NoError(b, rows.Scan(cells...))
		all = append(all, *row)
	}
	require.NoError(b, rows.Err())
	return len(all)
}
