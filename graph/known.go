package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// What was known at a moment, and what has become of it since.

// knownBy asks the roll of what was known at a moment, or of everything known now.
func (r *Root) knownBy(ctx context.Context, at *groundhand.Instant, ask func(*rollcall.Roll) error) error {
	if at == nil {
		return ask(r.Roll)
	}
	return r.Roll.AsKnown(ctx, *at, ask)
}

// seenBy reads the records as they were at a moment, or as they are now.
func (r *Root) seenBy(ctx context.Context, at *groundhand.Instant, read func(*store.Store) error) error {
	if at == nil {
		return read(r.Store)
	}
	if *at <= 0 {
		return groundhand.Invalid("asKnownAt", "Say as known at which moment.")
	}
	return r.Store.InPast(ctx, *at, read)
}

func (q query) StandingTwice(ctx context.Context, ask generated.StandingAsk, then groundhand.Instant, now *groundhand.Instant) (*generated.StandingTwice, error) {
	question, err := q.standingQuestion(ctx, ask)
	if err != nil {
		return nil, err
	}
	t, err := q.Roll.StandingTwice(ctx, question, then, or(now))
	if err != nil {
		return nil, err
	}
	return &generated.StandingTwice{Then: firstStanding(t.Then), Now: firstStanding(t.Now), ThenAt: t.ThenAt, NowAt: t.NowAt, Same: t.Same,
		Differs: each(t.Differs, difference), LeftOut: t.LeftOut}, nil
}

func firstStanding(all []rollcall.WorkerStanding) *generated.Standing {
	if len(all) == 0 {
		return nil
	}
	out := standingOf(all[0])
	return &out
}

func (q query) CoverTwice(ctx context.Context, ask generated.CoverAsk, then groundhand.Instant, now *groundhand.Instant) (*generated.CoverTwice, error) {
	if err := q.mayAskCover(ctx, "ask", ask); err != nil {
		return nil, err
	}
	return coverTwice(q.Roll.CoverTwice(ctx, questionOf(ask), then, or(now)))
}

func (q query) JobCoverTwice(ctx context.Context, id string, absent []string, wish *generated.JobWish, then groundhand.Instant, now *groundhand.Instant) (*generated.CoverTwice, error) {
	j, err := q.jobAsked(ctx, id, absent, wish)
	if err != nil {
		return nil, err
	}
	asked := wishOf(or(wish))
	asked.Absent = named[groundhand.WorkerID](absent)
	return coverTwice(q.Roll.JobCoverTwice(ctx, j, asked, then, or(now)))
}

func coverTwice(t rollcall.Twice[rollcall.CoverAnswer], err error) (*generated.CoverTwice, error) {
	if err != nil {
		return nil, err
	}
	return &generated.CoverTwice{Then: coverOf(t.Then), Now: coverOf(t.Now), ThenAt: t.ThenAt, NowAt: t.NowAt, Same: t.Same,
		Differs: each(t.Differs, difference), LeftOut: t.LeftOut}, nil
}

func difference(d rollcall.Difference) generated.Difference {
	return generated.Difference{EntryID: string(d.EntryID), Kind: d.Kind, WorkerID: string(d.WorkerID), HappenedOn: someOrNil(d.HappenedOn),
		HappenedAt: someOrNil(d.HappenedAt), RecordedAt: d.RecordedAt, AuthorID: string(d.AuthorID), Capacity: d.Capacity, ReplacesID: string(d.ReplacesID),
		Because: d.Because, Marks: markList(d.Marks), Changed: d.Changed}
}

func markList(marks []rollcall.Mark) []rollcall.Mark { return append([]rollcall.Mark{}, marks...) }

func (q query) Marks(ctx context.Context, entries []string) ([]generated.EntryMarks, error) {
	if len(entries) > largestPage {
		return nil, groundhand.Invalid("entries", "Ask about at most %d entries at a time.", largestPage)
	}
	marks, err := q.Roll.Marks(ctx, named[groundhand.EntryID](entries))
	if err != nil {
		return nil, err
	}
	out := []generated.EntryMarks{}
	for _, id := range entries {
		if some := marks[groundhand.EntryID(id)]; len(some) > 0 {
			out = append(out, generated.EntryMarks{EntryID: id, Marks: some})
		}
	}
	return out, nil
}

func (q query) Extensions(ctx context.Context, on groundhand.Date) ([]generated.LiveExtension, error) {
	seen, err := crewsSeen(ctx, access.ReadStanding)
	if err != nil {
		return nil, err
	}
	all, err := q.Roll.Extensions(ctx, on)
	return each(only(all, func(x rollcall.LiveExtension) bool { return seen(x.CrewID) }), liveExtension), err
}

func (q query) Provisionals(ctx context.Context, on groundhand.Date) ([]generated.LiveProvisional, error) {
	seen, err := crewsSeen(ctx, access.ReadStanding)
	if err != nil {
		return nil, err
	}
	all, err := q.Roll.Provisionals(ctx, on)
	return each(only(all, func(x rollcall.LiveProvisional) bool { return seen(x.CrewID) }), liveProvisional), err
}

func (q query) LeaningCrews(ctx context.Context, on groundhand.Date) ([]generated.LeaningCrew, error) {
	seen, err := crewsSeen(ctx, access.ReadCover)
	if err != nil {
		return nil, err
	}
	all, err := q.Roll.LeaningCrews(ctx, on)
	return each(only(all, func(c rollcall.LeaningCrew) bool { return seen(c.Crew.ID) }), leaningCrew), err
}

func liveExtension(x rollcall.LiveExtension) generated.LiveExtension {
	return generated.LiveExtension{Extension: &x.Extension, CrewID: string(x.CrewID), Number: x.Number}
}

func liveProvisional(x rollcall.LiveProvisional) generated.LiveProvisional {
	return generated.LiveProvisional{Provisional: &x.Provisional, CrewID: string(x.CrewID), Number: x.Number, Evidence: x.Evidence}
}

func leaningCrew(c rollcall.LeaningCrew) generated.LeaningCrew {
	return generated.LeaningCrew{Crew: &c.Crew, Verdict: verdict(c.Verdict), Families: each(c.Families, leaningFamily), Caution: rollcall.Caution}
}

func leaningFamily(f rollcall.LeaningFamily) generated.LeaningFamily {
	return generated.LeaningFamily{FamilyID: string(f.FamilyID), Verdict: verdict(f.Verdict), LeansOn: each(f.Leans, leanOn)}
}

func leanOn(l rollcall.Lean) generated.LeansOn {
	return generated.LeansOn{WorkerID: l.WorkerID, State: string(l.State), Without: verdict(l.Without)}
}
