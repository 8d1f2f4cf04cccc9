package rollcall

import (
	"context"
	"slices"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/store"
)

// AsKnown asks questions of what was recorded by a moment, that moment included: for the roll given to do it is that moment, and nothing
// told later is seen. Use only the roll given to do.
func (r *Roll) AsKnown(ctx context.Context, at groundhand.Instant, do func(past *Roll) error) error {
	if at <= 0 {
		return groundhand.Invalid("asKnownAt", "Say as known at which moment.")
	}
	return r.store.InPast(ctx, at, func(s *store.Store) error { return do(&Roll{s, r.zone}) })
}

// knownBy asks as known at a moment; none: with everything that is known.
func (r *Roll) knownBy(ctx context.Context, at groundhand.Instant, do func(seen *Roll) error) error {
	if at == 0 {
		return do(r)
	}
	return r.AsKnown(ctx, at, do)
}

// Twice is one question answered as known at two moments, and what was recorded in between that bears on it.
type Twice[T any] struct {
	Then, Now     T
	ThenAt, NowAt groundhand.Instant
	Same          bool         // both answers say the same
	Differs       []Difference // in recorded order
	LeftOut       int          // moments of recording that were not looked at one by one, the latest ones
}

// Difference is an entry recorded between the two moments that bears on the question.
type Difference struct {
	EntryID                groundhand.EntryID
	Kind                   string // as the table is called: "run_parts", "withdrawals"
	WorkerID               groundhand.WorkerID
	HappenedOn             groundhand.Date
	HappenedAt, RecordedAt groundhand.Instant
	AuthorID               groundhand.WorkerID
	Capacity               groundhand.Capacity
	ReplacesID             groundhand.EntryID // what it corrects or withdraws; empty: nothing
	Because                string             // of a correction or withdrawal; never of an absence
	Marks                  []Mark
	Changed                bool // the answer changed at the moment at which it was recorded
}

// mostSteps bounds how many moments of recording the question is asked at one by one.
const mostSteps = 200

// StandingTwice answers for standings as known at two moments; a zero now means all that is known at present.
func (r *Roll) StandingTwice(ctx context.Context, ask StandingQuestion, then, now groundhand.Instant) (Twice[[]WorkerStanding], error) {
	if ask.AsKnownAt != 0 {
		return Twice[[]WorkerStanding]{}, groundhand.Invalid("asKnownAt", "Both moments are given beside the question.")
	}
	if ask.On == 0 && ask.At == 0 {
		ask.On = r.Today()
	}
	return twice(ctx, r, then, now, inquiryOf[[]WorkerStanding]{
		ask:   func(past *Roll) ([]WorkerStanding, error) { return past.Standings(ctx, ask) },
		same:  sameStandings,
		bears: func(seen *Roll, _ []WorkerStanding, b *bearing) error { return seen.bearOnStandings(ctx, ask, b) },
	})
}

// CoverTwice answers about cover as known at two moments; a zero now means all that is known at present. Changes are not searched.
func (r *Roll) CoverTwice(ctx context.Context, q CoverQuestion, then, now groundhand.Instant) (Twice[CoverAnswer], error) {
	q.Changes, q.AsKnownAt = nil, 0
	return r.coverTwice(ctx, then, now, func(past *Roll) (CoverAnswer, error) { return past.Cover(ctx, q) })
}

// JobCoverTwice is CoverTwice of a booked job, as it was booked by each moment.
func (r *Roll) JobCoverTwice(ctx context.Context, id groundhand.JobID, w Wish, then, now groundhand.Instant) (Twice[CoverAnswer], error) {
	w.Changes, w.AsKnownAt = nil, 0
	return r.coverTwice(ctx, then, now, func(past *Roll) (CoverAnswer, error) { return past.JobCover(ctx, id, w) })
}

func (r *Roll) coverTwice(ctx context.Context, then, now groundhand.Instant, ask func(*Roll) (CoverAnswer, error)) (Twice[CoverAnswer], error) {
	return twice(ctx, r, then, now, inquiryOf[CoverAnswer]{ask: ask, same: sameCover,
		bears: func(seen *Roll, a CoverAnswer, b *bearing) error { return seen.bearOnCover(ctx, a, b) }})
}

// inquiryOf is a question that can be asked of any knowledge.
type inquiryOf[T any] struct {
	ask   func(*Roll) (T, error)
	same  func(a, b T) bool
	bears func(seen *Roll, answer T, b *bearing) error // gathers what bears on the answer
}

func twice[T any](ctx context.Context, r *Roll, then, now groundhand.Instant, q inquiryOf[T]) (Twice[T], error) {
	if now == 0 {
		now = r.store.Now()
	}
	out := Twice[T]{ThenAt: then, NowAt: now}
	if then <= 0 || then > now {
		return out, groundhand.Invalid("then", "The earlier moment comes first.")
	}
	b := newBearing()
	look := func(at groundhand.Instant, into *T) error {
		return r.AsKnown(ctx, at, func(past *Roll) (err error) {
			if *into, err = q.ask(past); err != nil {
				return err
			}
			return q.bears(past, *into, b)
		})
	}
	if err := look(then, &out.Then); err != nil {
		return out, err
	}
	if err := look(now, &out.Now); err != nil {
		return out, err
	}
	out.Same = q.same(out.Then, out.Now)
	return out, out.step(ctx, r, q, b)
}

// step asks again at each moment at which something that bears on the question was recorded.
func (t *Twice[T]) step(ctx context.Context, r *Roll, q inquiryOf[T], b *bearing) error {
	var between []noted
	var marks map[groundhand.EntryID][]Mark
	err := r.AsKnown(ctx, t.NowAt, func(past *Roll) (err error) {
		if between, err = past.recordedBetween(ctx, b, t.ThenAt, t.NowAt); err == nil {
			marks, err = past.marksOf(ctx, between)
		}
		return err
	})
	if err != nil {
		return err
	}
	changed, left, err := t.changes(ctx, r, q, momentsOf(between))
	if err != nil {
		return err
	}
	t.LeftOut = left
	for _, e := range between {
		d := differenceOf(e)
		d.Marks, d.Changed = marks[e.id], changed[e.RecordedAt]
		t.Differs = append(t.Differs, d)
	}
	return nil
}

// changes finds the moments at which the answer became another one.
func (t *Twice[T]) changes(ctx context.Context, r *Roll, q inquiryOf[T], moments []groundhand.Instant) (map[groundhand.Instant]bool, int, error) {
	left := max(0, len(moments)-mostSteps)
	before, changed := t.Then, map[groundhand.Instant]bool{}
	for _, at := range moments[:len(moments)-left] {
		var answer T
		if err := r.AsKnown(ctx, at, func(past *Roll) (err error) { answer, err = q.ask(past); return err }); err != nil {
			return nil, left, err
		}
		changed[at] = !q.same(before, answer)
		before = answer
	}
	return changed, left, nil
}

func momentsOf(entries []noted) []groundhand.Instant {
	var out []groundhand.Instant
	for _, e := range entries {
		out = append(out, e.RecordedAt)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func differenceOf(e noted) Difference {
	d := Difference{EntryID: e.id, Kind: e.kind, WorkerID: e.worker, HappenedOn: e.HappenedOn, HappenedAt: e.HappenedAt, RecordedAt: e.RecordedAt,
		AuthorID: e.AuthorID, Capacity: e.Capacity, ReplacesID: e.ReplacesID, Because: e.Because}
	if e.kind == withdrawalKind.name {
		d.ReplacesID = e.names
	}
	if e.kind == unavailabilities {
		d.Because = "" // may tell of health
	}
	return d
}

func sameStandings(a, b []WorkerStanding) bool {
	return slices.EqualFunc(a, b, func(x, y WorkerStanding) bool {
		return x.WorkerID == y.WorkerID && x.Method == y.Method && x.Role == y.Role && x.FamilyID == y.FamilyID && sameStanding(x.Answer, y.Answer)
	})
}

func sameStanding(a, b competence.Answer) bool {
	return a.Standing == b.Standing && a.Note == b.Note && a.RuleSet == b.RuleSet && a.Line == b.Line && a.LastGoodDay == b.LastGoodDay && slices.Equal(a.RestsOn, b.RestsOn)
}

// sameCover compares what somebody would act on: the verdict, who may go aloft and who must stay down, and every reason.
func sameCover(a, b CoverAnswer) bool {
	x, y := a.Answer, b.Answer
	return a.RuleSetID == b.RuleSetID && x.Verdict == y.Verdict && equal(x.MayGoAloft, y.MayGoAloft) && equal(x.MustStayDown, y.MustStayDown) &&
		equal(x.Findings, y.Findings) && equal(x.Conditions, y.Conditions) && equal(x.NMinus1, y.NMinus1) && sameVerdicts(x.Timeline, y.Timeline)
}

func sameVerdicts(a, b []readiness.Stretch) bool {
	return slices.EqualFunc(a, b, func(x, y readiness.Stretch) bool { return x.From == y.From && x.Verdict == y.Verdict })
}
