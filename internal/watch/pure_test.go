package watch

import (
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

func TestDueDays(t *testing.T) {
	dublin, err := time.LoadLocation("Europe/Dublin")
	require.NoError(t, err)
	for name, c := range map[string]struct{ now, last, want string }{
		"nothing before ten past three":              {"2025-06-12T03:09:59+01:00", "2025-06-11", ""},
		"the day at ten past three":                  {"2025-06-12T03:10:00+01:00", "2025-06-11", "2025-06-12"},
		"nothing when the day was swept":             {"2025-06-12T23:59:59+01:00", "2025-06-12", ""},
		"every day missed, in order":                 {"2025-06-12T12:00:00+01:00", "2025-06-08", "2025-06-09 2025-06-10 2025-06-11 2025-06-12"},
		"the day before is missed, today not due":    {"2025-06-12T01:00:00+01:00", "2025-06-10", "2025-06-11"},
		"the first start looks at the day due alone": {"2025-06-12T12:00:00+01:00", "", "2025-06-12"},
		"and before its hour at the day before":      {"2025-06-12T03:00:00+01:00", "", "2025-06-11"},
		"a clock set back makes nothing due":         {"2025-06-10T12:00:00+01:00", "2025-06-12", ""},
		"over the end of a year":                     {"2026-01-01T09:00:00Z", "2025-12-30", "2025-12-31 2026-01-01"},
	} {
		t.Run(name, func(t *testing.T) {
			now, err := time.Parse(time.RFC3339, c.now)
			require.NoError(t, err)
			var last groundhand.Date
			require.NoError(t, last.UnmarshalText([]byte(c.last)))
			assert.Equal(t, c.want, words(due(now, dublin, last)))
		})
	}
}

func words(days []groundhand.Date) (out string) {
	for i, d := range days {
		if i > 0 {
			out += " "
		}
		out += d.String()
	}
	return out
}

func TestDifference(t *testing.T) {
	lapsed := func(who, why string) groundhand.Flag {
		return groundhand.Flag{Kind: groundhand.PracticeLapsed, WorkerID: groundhand.WorkerID(who), Detail: why}
	}
	short := groundhand.Flag{Kind: groundhand.CrewBelowTwo, CrewID: "V1", Detail: "x"}
	bare := groundhand.Flag{Kind: groundhand.NoGroundCover, CrewID: "V1", Detail: "x"}
	raised := func(f groundhand.Flag) groundhand.Flag {
		f.ID, f.RaisedOn = "flag", groundhand.MustDate("2025-06-01")
		return f
	}
	for name, c := range map[string]struct{ found, open, raised, cleared []groundhand.Flag }{
		"nothing and nothing":                       {},
		"what is new is raised":                     {found: []groundhand.Flag{short, bare}, raised: []groundhand.Flag{short, bare}},
		"what is open is not raised again":          {found: []groundhand.Flag{short}, open: []groundhand.Flag{raised(short)}},
		"what is gone is cleared":                   {open: []groundhand.Flag{raised(short)}, cleared: []groundhand.Flag{raised(short)}},
		"another kind about the same crew is new":   {found: []groundhand.Flag{bare}, open: []groundhand.Flag{raised(short)}, raised: []groundhand.Flag{bare}, cleared: []groundhand.Flag{raised(short)}},
		"the same kind about another worker":        {found: []groundhand.Flag{lapsed("a", "x"), lapsed("b", "x")}, open: []groundhand.Flag{raised(lapsed("a", "x"))}, raised: []groundhand.Flag{lapsed("b", "x")}},
		"other reasons clear the old and tell anew": {found: []groundhand.Flag{lapsed("a", "F3")}, open: []groundhand.Flag{raised(lapsed("a", "F1"))}, raised: []groundhand.Flag{lapsed("a", "F3")}, cleared: []groundhand.Flag{raised(lapsed("a", "F1"))}},
	} {
		t.Run(name, func(t *testing.T) {
			up, down := difference(c.found, c.open)
			assert.Equal(t, c.raised, up)
			assert.Equal(t, c.cleared, down)
		})
	}
}

func TestASweepThatWasOvertakenWritesNothing(t *testing.T) {
	ctx, s := t.Context(), storetest.New(t)
	today := groundhand.DateOf(s.Now().Time())
	require.NoError(t, store.Add(ctx, s, groundhand.Sweep{ID: "other", Day: today, StartedAt: s.Now(), FinishedAt: s.Now()}))
	settle := func(before groundhand.Sweep) error {
		return s.InTx(ctx, func(tx *store.Store) error {
			r := Result{Sweep: groundhand.Sweep{Day: today, StartedAt: tx.Now()}}
			return r.settle(ctx, tx, nil, before)
		})
	}
	require.ErrorIs(t, settle(groundhand.Sweep{}), errOvertaken, "the other finished after this one began to look")
	n, err := store.Count[groundhand.Sweep](ctx, s, store.ByID, []string{"id-000001"})
	require.NoError(t, err)
	assert.Zero(t, n)
	assert.NoError(t, settle(groundhand.Sweep{ID: "other"}), "looking again, it is not")
}

func line(s competence.Standing, last, changes string) rollcall.LineDay {
	l := rollcall.LineDay{Asked: rulebook.Asked{Method: groundhand.PairKit, Role: groundhand.Second, FamilyID: "F1"}, Standing: s, Line: "R2-pair-second"}
	if last != "" {
		l.LastGoodDay = groundhand.MustDate(last)
	}
	if changes != "" {
		l.ChangesOn = groundhand.MustDate(changes)
	}
	return l
}

func TestFindings(t *testing.T) {
	const pair = `{"method":"PAIR_KIT","role":"SECOND","family":"F1",`
	aid := line(competence.Never, "", "")
	aid.Method = groundhand.FirstAid
	for name, c := range map[string]struct {
		workers []rollcall.LineDay
		crews   []rollcall.FamilyDay
		want    []groundhand.Flag
	}{
		"who lapsed": {workers: []rollcall.LineDay{line(competence.Lapsed, "2025-05-30", "")},
			want: []groundhand.Flag{{Kind: groundhand.PracticeLapsed, WorkerID: "ann", Detail: `[` + pair + `"standing":"LAPSED","last_good_day":"2025-05-30","line":"R2-pair-second"}]`}}},
		"who never practised": {workers: []rollcall.LineDay{line(competence.Never, "", "")},
			want: []groundhand.Flag{{Kind: groundhand.PracticeLapsed, WorkerID: "ann", Detail: `[` + pair + `"standing":"NEVER","line":"R2-pair-second"}]`}}},
		"the last day within the lead time": {workers: []rollcall.LineDay{line(competence.Current, "2025-07-31", "2025-08-01")},
			want: []groundhand.Flag{{Kind: groundhand.LastGoodDayNear, WorkerID: "ann", Detail: `[` + pair + `"standing":"CURRENT","last_good_day":"2025-07-31","good_through":"2025-07-31","line":"R2-pair-second"}]`}}},
		"a day after the lead time":          {workers: []rollcall.LineDay{line(competence.Current, "2025-08-01", "2025-08-02")}},
		"an extension is near its own end":   {workers: []rollcall.LineDay{line(competence.OnExtension, "2025-05-01", "2025-06-11")}, want: []groundhand.Flag{{Kind: groundhand.LastGoodDayNear, WorkerID: "ann", Detail: `[` + pair + `"standing":"ON_EXTENSION","last_good_day":"2025-05-01","good_through":"2025-06-10","line":"R2-pair-second"}]`}}},
		"first aid is no aerial practice":    {workers: []rollcall.LineDay{aid}},
		"a crew with enough and cover":       {crews: []rollcall.FamilyDay{{FamilyID: "F1", Rescuers: 2, Least: 2, GroundCover: true, Verdict: readiness.Ready}}},
		"first aid alone missing is no flag": {crews: []rollcall.FamilyDay{{FamilyID: "F1", Rescuers: 2, Least: 2, GroundCover: true, Verdict: readiness.NotReady}}},
		"fewer than two, on one family of two": {crews: []rollcall.FamilyDay{{FamilyID: "F1", Rescuers: 2, Least: 2, GroundCover: true}, {FamilyID: "F3", Rescuers: 0, Least: 2, GroundCover: true}},
			want: []groundhand.Flag{{Kind: groundhand.CrewBelowTwo, CrewID: "V1", Detail: `[{"family":"F3","rescuers":0,"least":2}]`}}},
		"enough people and no choice of who goes": {crews: []rollcall.FamilyDay{{FamilyID: "F1", Rescuers: 2, Least: 2}},
			want: []groundhand.Flag{{Kind: groundhand.NoGroundCover, CrewID: "V1", Detail: `[{"family":"F1"}]`}}},
	} {
		t.Run(name, func(t *testing.T) {
			day := rollcall.Company{On: groundhand.MustDate("2025-06-01"), LeadDays: 60}
			if c.workers != nil {
				day.Workers = []rollcall.WorkerDay{{WorkerID: "ann", CrewID: "V1", Lines: c.workers}}
			}
			if c.crews != nil {
				day.Crews = []rollcall.CrewDay{{Crew: groundhand.Crew{ID: "V1"}, Families: c.crews}}
			}
			assert.Equal(t, c.want, findings(day))
		})
	}
}
