package store_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

func ids[T any](rows []T, id func(T) string) []string {
	out := []string{}
	for _, r := range rows {
		out = append(out, id(r))
	}
	return out
}

// withBasics gives a store with worker ann, yard Y and crew V1.
func withBasics(t *testing.T) *store.Store {
	s := storetest.New(t)
	require.NoError(t, store.Add(ctx, s, aWorker(s, "ann"), aWorker(s, "ben")))
	require.NoError(t, store.Add(ctx, s, aYard(s, "Y")))
	require.NoError(t, store.Add(ctx, s, gh.Crew{ID: "V1", Recorded: storetest.Told(s, day), YardID: "Y", Kind: gh.LineCrew}))
	return s
}

func TestJobsAndSessionsOverlapWhenTheyShareAMoment(t *testing.T) {
	s := withBasics(t)
	add := func(id string, from, to gh.Instant) {
		later(t, s, func(tx *store.Store) gh.Job {
			return gh.Job{ID: gh.JobID(id), Recorded: storetest.Told(tx, day), CrewID: "V1", StartAt: from, EndAt: to, SiteKind: gh.FieldSite}
		})
		later(t, s, func(tx *store.Store) gh.Session {
			return gh.Session{ID: gh.SessionID(id), Recorded: storetest.Told(tx, day), YardID: "Y", StartAt: from, EndAt: to}
		})
	}
	add("before", 50, 100)
	add("into", 50, 101)
	add("inside", 120, 130)
	add("around", 50, 250)
	add("out of", 199, 250)
	add("after", 200, 250)
	add("void", 120, 130)
	_, err := s.KindOf(ctx, "void")
	assert.ErrorIs(t, err, gh.CodeConflict, "a job and a session of one name")
	later(t, s, func(tx *store.Store) gh.Job {
		return gh.Job{ID: "void 2", Recorded: storetest.Told(tx, day), CrewID: "V1", StartAt: 150, EndAt: 151, SiteKind: gh.FieldSite}
	})
	aWithdrawal(t, s, "w", "void 2")

	jobs, err := s.JobsBetween(ctx, 100, 200)
	require.NoError(t, err)
	assert.Equal(t, []string{"into", "inside", "around", "out of", "void"}, ids(jobs, func(j gh.Job) string { return string(j.ID) }))
	sessions, err := s.SessionsBetween(ctx, 100, 200)
	require.NoError(t, err)
	assert.Equal(t, []string{"into", "inside", "around", "out of", "void"}, ids(sessions, func(j gh.Session) string { return string(j.ID) }))
}

func TestAWithdrawalOfAnIDThatTwoRecordsHaveIsRefused(t *testing.T) {
	s := withBasics(t)
	require.NoError(t, store.Add(ctx, s, aYard(s, "V1")))
	s.Now()
	err := s.InTx(ctx, func(tx *store.Store) error {
		return store.Add(ctx, tx, gh.Withdrawal{ID: "w", Recorded: storetest.Told(tx, day), WithdrawsID: "V1"})
	})
	assert.ErrorIs(t, err, gh.CodeConflict)
}

func TestMembershipsHoldThroughTheirLastDay(t *testing.T) {
	s := withBasics(t)
	add := func(id string, from, to string) {
		m := gh.Membership{ID: gh.EntryID(id), Recorded: storetest.Told(s, day), CrewID: "V1", WorkerID: "ann", Part: gh.Member, Reason: gh.Loan, FromOn: gh.MustDate(from)}
		if to != "" {
			m.ToOn = gh.MustDate(to)
		}
		require.NoError(t, store.Add(ctx, s, m))
	}
	add("1 ended the day before", "2025-05-01", "2025-05-31")
	add("2 ends on the first day", "2025-05-01", "2025-06-01")
	add("3 open", "2025-01-01", "")
	add("4 begins on the last day", "2025-06-03", "2025-06-09")
	add("5 begins after", "2025-06-04", "")
	got, err := s.MembershipsOn(ctx, gh.MustDate("2025-06-01"), gh.MustDate("2025-06-03"))
	require.NoError(t, err)
	assert.Equal(t, []string{"2 ends on the first day", "3 open", "4 begins on the last day"}, ids(got, func(m gh.Membership) string { return string(m.ID) }))
}

func TestUnavailableFromTheStartUntilTheEnd(t *testing.T) {
	s := withBasics(t)
	add := func(id gh.EntryID, w gh.WorkerID, from, to gh.Instant) {
		require.NoError(t, store.Add(ctx, s, gh.Unavailability{ID: id, Recorded: storetest.Told(s, day), WorkerID: w, Kind: gh.Leave, FromAt: from, ToAt: to}))
	}
	add("1", "ann", 50, 100)
	add("2", "ann", 50, 101)
	add("3", "ben", 50, 0)
	add("4", "ann", 199, 201)
	add("5", "ann", 200, 0)
	ask := func(workers []gh.WorkerID) []string {
		got, err := s.UnavailableBetween(ctx, workers, 100, 200)
		require.NoError(t, err)
		return ids(got, func(u gh.Unavailability) string { return string(u.ID) })
	}
	assert.Equal(t, []string{"2", "3", "4"}, ask(nil))
	assert.Equal(t, []string{"2", "4"}, ask([]gh.WorkerID{"ann"}))
	assert.Empty(t, ask([]gh.WorkerID{}))
}

func TestNamesAreThoseOfTheDay(t *testing.T) {
	s := withBasics(t)
	name := func(id gh.EntryID, w gh.WorkerID, from, name string) {
		later(t, s, func(tx *store.Store) gh.WorkerName {
			return gh.WorkerName{ID: id, Recorded: storetest.Told(tx, gh.MustDate(from)), WorkerID: w, Name: name}
		})
	}
	name("1", "ann", "2025-03-01", "Ana Okonjo-Moor")
	name("2", "ann", "2020-01-01", "Ana Ferreira-Moor") // told later
	name("3", "ben", "2025-05-01", "Ben, mistyped")
	name("4", "ben", "2025-05-01", "Ben Tallis")
	name("5", "ann", "2025-03-02", "withdrawn")
	aWithdrawal(t, s, "w", "5")
	on := func(day string, workers []gh.WorkerID) map[gh.WorkerID]string {
		got, err := s.NamesOn(ctx, workers, gh.MustDate(day))
		require.NoError(t, err)
		return got
	}
	assert.Equal(t, map[gh.WorkerID]string{"ann": "Ana Ferreira-Moor"}, on("2025-02-28", nil))
	assert.Equal(t, map[gh.WorkerID]string{"ann": "Ana Okonjo-Moor", "ben": "Ben Tallis"}, on("2025-06-01", nil))
	assert.Equal(t, map[gh.WorkerID]string{"ben": "Ben Tallis"}, on("2025-06-01", []gh.WorkerID{"ben"}))
	assert.Empty(t, on("2019-12-31", nil))
}

func TestFlagsAreOpenUntilCleared(t *testing.T) {
	s := withBasics(t)
	for _, id := range []gh.FlagID{"f1", "f2"} {
		require.NoError(t, store.Add(ctx, s, gh.Flag{ID: id, Kind: gh.PracticeLapsed, WorkerID: "ann", RaisedOn: day, RaisedAt: 1}))
	}
	require.NoError(t, store.Add(ctx, s, gh.Clearing{ID: "c", FlagID: "f1", ClearedOn: day, ClearedAt: 2}))
	open, err := s.OpenFlags(ctx)
	require.NoError(t, err)
	assert.Equal(t, []string{"f2"}, ids(open, func(f gh.Flag) string { return string(f.ID) }))
}

func TestSweepsAreKnownByTheirDay(t *testing.T) {
	s := storetest.New(t)
	_, swept, err := s.LastSweep(ctx)
	require.NoError(t, err)
	assert.False(t, swept)
	for i, d := range []string{"2025-06-05", "2025-06-03", "2025-06-03", "2025-06-01"} {
		require.NoError(t, store.Add(ctx, s, gh.Sweep{ID: gh.EntryID(d + string(rune('a'+i))), Day: gh.MustDate(d), StartedAt: 1, FinishedAt: gh.Instant(10 - i)}))
	}
	last, swept, err := s.LastSweep(ctx)
	require.NoError(t, err)
	assert.True(t, swept)
	assert.Equal(t, gh.MustDate("2025-06-05"), last.Day)
	days, err := s.SweptDays(ctx, gh.MustDate("2025-06-01"), gh.MustDate("2025-06-04"))
	require.NoError(t, err)
	assert.Equal(t, []gh.Date{gh.MustDate("2025-06-01"), gh.MustDate("2025-06-03")}, days)
}

func TestCertificateNumbersHaveNoGaps(t *testing.T) {
	s := withBasics(t)
	_, err := s.NextCertificateNumber(ctx, 2025)
	require.ErrorContains(t, err, "outside a transaction")
	issue := func(year int, then error) (id gh.CertificateID) {
		err := s.InTx(ctx, func(tx *store.Store) error {
			var err error
			id, err = tx.NextCertificateNumber(ctx, year)
			require.NoError(t, err)
			require.NoError(t, store.Add(ctx, tx, gh.Certificate{ID: id, Recorded: storetest.Told(tx, day), WorkerID: "ann", EvidenceID: "e", EvidenceKind: gh.PracticeRun}))
			return then
		})
		require.ErrorIs(t, err, then)
		return id
	}
	assert.Equal(t, gh.CertificateID("2025-0001"), issue(2025, nil))
	assert.Equal(t, gh.CertificateID("2025-0002"), issue(2025, errStop))
	assert.Equal(t, gh.CertificateID("2025-0002"), issue(2025, nil))
	assert.Equal(t, gh.CertificateID("2026-0001"), issue(2026, nil))
	require.NoError(t, store.Add(ctx, s, gh.Certificate{ID: "2025-9999", Recorded: storetest.Told(s, day), WorkerID: "ann", EvidenceID: "e", EvidenceKind: gh.PracticeRun}))
	assert.Equal(t, gh.CertificateID("2025-10000"), issue(2025, nil))
	assert.Equal(t, gh.CertificateID("2025-10001"), issue(2025, nil))
}

func TestPagesGoThroughEverythingOnce(t *testing.T) {
	s := withBasics(t)
	for _, id := range []gh.EntryID{"3", "1", "2", "5", "4"} {
		require.NoError(t, store.Add(ctx, s, gh.Grading{ID: id, Recorded: storetest.Told(s, day), WorkerID: map[bool]gh.WorkerID{true: "ben", false: "ann"}[id == "2"], Grade: gh.Ground}))
	}
	page := func(p store.PageOf) ([]string, bool) {
		rows, more, err := store.Page[gh.Grading](ctx, s, p)
		require.NoError(t, err)
		return ids(rows, func(g gh.Grading) string { return string(g.ID) }), more
	}
	check := func(p store.PageOf, want []string, wantMore bool) {
		t.Helper()
		got, more := page(p)
		assert.Equal(t, want, got)
		assert.Equal(t, wantMore, more)
	}
	check(store.PageOf{First: 2}, []string{"1", "2"}, true)
	check(store.PageOf{First: 2, After: "2"}, []string{"3", "4"}, true)
	check(store.PageOf{First: 2, After: "4"}, []string{"5"}, false)
	check(store.PageOf{First: 5}, []string{"1", "2", "3", "4", "5"}, false)
	check(store.PageOf{First: 0}, []string{}, true)
	check(store.PageOf{First: -1}, []string{}, true)
	check(store.PageOf{First: 3, By: store.ByWorker, Keys: []string{"ann"}}, []string{"1", "3", "4"}, true)
	check(store.PageOf{First: 3, By: store.ByWorker}, []string{}, false)
	n, err := store.Count[gh.Grading](ctx, s, store.ByWorker, []string{"ann"})
	require.NoError(t, err)
	assert.Equal(t, 4, n)
	_, _, err = store.Page[gh.Grading](ctx, s, store.PageOf{First: 1, By: store.ByKit})
	assert.ErrorContains(t, err, "not found by")
}

func TestFindKeepsTheRecordedOrder(t *testing.T) {
	clock := storetest.NewClock(storetest.Start)
	s := storetest.New(t, clock)
	for _, id := range []gh.YardID{"b", "c", "a"} {
		require.NoError(t, store.Add(ctx, s, aYard(s, id)))
		clock.Advance(time.Minute)
	}
	all, err := store.All[gh.Yard](ctx, s)
	require.NoError(t, err)
	assert.Equal(t, []gh.YardID{"b", "c", "a"}, yardIDs(all))
	found, err := store.Find[gh.Yard](ctx, s, store.ByID, []gh.YardID{"a", "x", "b", "b"})
	require.NoError(t, err)
	assert.Equal(t, []gh.YardID{"b", "a"}, yardIDs(found))
	none, err := store.Find[gh.Yard](ctx, s, store.ByID, []gh.YardID{})
	require.NoError(t, err)
	assert.Empty(t, none)
	_, err = store.Get[gh.Yard](ctx, s, gh.YardID(`x' OR 1=1 --`))
	assert.ErrorIs(t, err, gh.CodeNotFound)
	kind, err := s.KindOf(ctx, "a")
	require.NoError(t, err)
	assert.Equal(t, "yards", kind)
}
