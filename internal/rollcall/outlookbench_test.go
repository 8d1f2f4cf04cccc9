package rollcall_test

import (
	"context"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
	"groundhand/internal/store/storetest"
)

// BenchmarkOutlook looks 400 days ahead for 2,000 crews of five. It prints what the whole takes, what the engines take of it (courses of
// everybody and verdicts, two chunks at once), and how many times longer the verdicts take than a loop written by hand for exactly this
// plain question, which must agree. GROUNDHAND_BENCH_WORKERS makes the company smaller or larger.
func BenchmarkOutlook(b *testing.B) {
	workers, ctx := 10_000, context.Background()
	if n, err := strconv.Atoi(os.Getenv("GROUNDHAND_BENCH_WORKERS")); err == nil {
		workers = n
	}
	s := storetest.At(b, filepath.Join(b.TempDir(), "records.db"), storetest.NewClock("2025-06-11T06:00:00Z"))
	fillCompany(b, s, workers)
	roll := rollcall.New(s, time.UTC)
	parts, err := roll.OutlookParts(ctx, day("2025-06-11"), 400)
	require.NoError(b, err)
	asked, err := parts.Questions()
	require.NoError(b, err)
	var whole, engines, engineWork, verdicts, byHand time.Duration
	b.ResetTimer()
	for b.Loop() {
		took, _ := timed(func() {
			crews, err := roll.Outlook(ctx, day("2025-06-11"), 400)
			require.NoError(b, err)
			require.Len(b, crews, workers/5)
		})
		whole += took
		took, work := timed(func() {
			crews, err := parts.Answer()
			require.NoError(b, err)
			require.Equal(b, workers/5, crews)
		})
		engines, engineWork = engines+took, engineWork+work
		judged, want := make([]rollcall.FamilyOutlook, len(asked)), make([]handOutlook, len(asked))
		_, work = timed(func() {
			for i, a := range asked {
				judged[i], err = a.Judge()
				require.NoError(b, err)
			}
		})
		verdicts += work
		_, work = timed(func() {
			for i, a := range asked {
				want[i] = byHandOutlook(a.Day, a.Ahead)
			}
		})
		byHand += work
		for i := range asked {
			require.Equal(b, want[i], handOf(judged[i]), i)
		}
	}
	n := float64(b.N)
	b.ReportMetric(whole.Seconds()/n, "whole-s")
	b.ReportMetric(engines.Seconds()/n, "engines-s")
	b.ReportMetric(engineWork.Seconds()/n, "engines-cpu-s")
	b.ReportMetric(verdicts.Seconds()/n, "verdicts-cpu-s")
	b.ReportMetric(byHand.Seconds()/n, "by-hand-cpu-s")
	b.ReportMetric(float64(verdicts)/float64(byHand), "x-by-hand")
}

// handOutlook is what the reference answers: is the crew ready on the day, on how many people does it hang, and which is the first bad moment.
type handOutlook struct {
	ready bool
	hangs int
	bad   groundhand.Instant
}

func handOf(f rollcall.FamilyOutlook) handOutlook {
	out := handOutlook{ready: f.Verdict == readiness.Ready, hangs: len(f.NMinus1.HangsOn)}
	if f.FirstBad != nil {
		out.bad = f.FirstBad.At
	}
	return out
}

// handSpans is somebody's days as a lead or second of the pair method and in first aid, in UTC.
type handSpans struct {
	lead, any, aid [][2]groundhand.Instant
	away           [][2]groundhand.Instant
}

func handStart(d groundhand.Date) groundhand.Instant { return groundhand.InstantOf(d.Start(time.UTC)) }

func spansOf(p readiness.Person) handSpans {
	var out handSpans
	for _, c := range p.Capabilities {
		if c.Method != "PAIR_KIT" || c.State != readiness.Current {
			continue
		}
		span := [2]groundhand.Instant{handStart(c.From.Day), handStart(c.Through + 1)}
		if c.Role == readiness.Lead {
			out.lead = append(out.lead, span)
		}
		out.any = append(out.any, span)
	}
	for _, a := range p.FirstAid {
		out.aid = append(out.aid, [2]groundhand.Instant{handStart(a.From.Day), handStart(a.Through + 1)})
	}
	for _, u := range p.Unavailable {
		out.away = append(out.away, [2]groundhand.Instant{u.From.At, u.To})
	}
	return out
}

func handIn(spans [][2]groundhand.Instant, t groundhand.Instant) bool {
	for _, s := range spans {
		if s[0] <= t && t < s[1] {
			return true
		}
	}
	return false
}

// handMoment is who of up to eight people leads, seconds, helps and is there, as bits.
type handMoment struct{ lead, any, aid, there uint8 }

func handAt(people []handSpans, t groundhand.Instant) handMoment {
	var m handMoment
	for i, p := range people {
		if handIn(p.away, t) {
			continue
		}
		bit := uint8(1) << i
		m.there |= bit
		if handIn(p.lead, t) {
			m.lead |= bit
		}
		if handIn(p.any, t) {
			m.any |= bit
		}
		if handIn(p.aid, t) {
			m.aid |= bit
		}
	}
	return m
}

func bits(n uint8) (c int) {
	for ; n != 0; n &= n - 1 {
		c++
	}
	return c
}

// ok: one aloft; of the rest two first aiders on site, one below, a lead and another who leads or seconds below.
func (m handMoment) ok(up uint8) bool {
	ground := m.there &^ up
	return m.there&up != 0 && bits(m.aid) >= 2 && m.aid&ground != 0 && m.lead&ground != 0 && bits(m.any&ground) >= 2 && bits(m.any) >= 2
}

func byHandOutlook(q, ahead readiness.Question) handOutlook {
	people := make([]handSpans, len(q.People))
	for i, p := range q.People {
		people[i] = spansOf(p)
	}
	one := handAt(people, q.Window.From) // nothing of this company changes inside the hours of a day
	out := handOutlook{ready: handReady(one, len(people))}
	for i := range people {
		gone := uint8(1) << i
		less := handMoment{one.lead &^ gone, one.any &^ gone, one.aid &^ gone, one.there &^ gone}
		if out.ready && one.there&gone != 0 && !handReady(less, len(people)) {
			out.hangs++
		}
	}
	if !out.ready {
		out.bad = q.Window.From
		return out
	}
	for i, p := range ahead.People {
		people[i] = spansOf(p)
	}
	out.bad = handFirstBad(people, ahead.Window)
	return out
}

func handReady(m handMoment, people int) bool {
	for i := range people {
		if m.ok(1 << i) {
			return true
		}
	}
	return false
}

// handFirstBad tries every end and beginning of a span, in any order.
func handFirstBad(people []handSpans, w readiness.Window) (first groundhand.Instant) {
	try := func(t groundhand.Instant) {
		if w.From <= t && t < w.To && (first == 0 || t < first) && !handReady(handAt(people, t), len(people)) {
			first = t
		}
	}
	try(w.From)
	for _, p := range people {
		for _, spans := range [][][2]groundhand.Instant{p.lead, p.any, p.aid} {
			for _, s := range spans {
				try(s[0])
				try(s[1])
			}
		}
	}
	return first
}
