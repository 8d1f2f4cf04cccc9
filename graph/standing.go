package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
)

// longestCourse bounds a course, in days.
const longestCourse = 3660

func (q query) Standing(ctx context.Context, ask generated.StandingAsk) (*generated.Standing, error) {
	question, err := q.standingQuestion(ctx, ask)
	if err != nil {
		return nil, err
	}
	answers, err := q.Roll.Standings(ctx, question)
	if err != nil || len(answers) == 0 {
		return nil, err
	}
	out := standingOf(answers[0])
	return &out, nil
}

func (q query) StandingFacts(ctx context.Context, ask generated.StandingAsk) (*string, error) {
	question, err := q.standingQuestion(ctx, ask)
	if err != nil {
		return nil, err
	}
	facts, err := q.Roll.Export(ctx, question)
	if err != nil {
		return nil, err
	}
	text, err := facts.Encode()
	if err != nil {
		return nil, err
	}
	return someOrNil(string(text)), q.saw(ctx, "standingFacts", question.Workers...)
}

func (q query) Course(ctx context.Context, ask generated.StandingAsk, from, through groundhand.Date) ([]generated.StandingSpan, error) {
	if _, _, err := q.days(from, through, longestCourse); err != nil {
		return nil, err
	}
	question, err := q.standingQuestion(ctx, ask)
	if err != nil {
		return nil, err
	}
	spans, err := q.Roll.Course(ctx, question.Workers[0], ask.Method, ask.Role, groundhand.FamilyID(or(ask.Family)), from, through, question.RuleSet)
	out := make([]generated.StandingSpan, len(spans))
	for i, s := range spans {
		out[i] = generated.StandingSpan{From: s.From, Through: s.Through, Standing: word(s.Standing), Line: s.Line, LastGoodDay: someOrNil(s.LastGoodDay)}
	}
	return out, err
}

// standingQuestion converts what is asked, refuses an unknown worker, and looks whether the account may ask it.
func (q query) standingQuestion(ctx context.Context, ask generated.StandingAsk) (rollcall.StandingQuestion, error) {
	id := groundhand.WorkerID(ask.Worker)
	out := rollcall.StandingQuestion{
		Workers: []groundhand.WorkerID{id}, On: or(ask.On), At: or(ask.At), AsKnownAt: or(ask.AsKnownAt),
		RuleSet: groundhand.RuleSetID(or(ask.RuleSet)),
		Lines:   []rulebook.Asked{{Method: ask.Method, Role: ask.Role, FamilyID: groundhand.FamilyID(or(ask.Family))}},
	}
	if out.On != 0 && out.At != 0 {
		return out, groundhand.Invalid("ask.at", "Give a day or a moment, not both.")
	}
	if _, err := get[groundhand.Worker](ctx, q.Store, ask.Worker); err != nil {
		return out, atField("ask.worker", err)
	}
	return out, mayReadStanding(ctx, id)
}

func standingOf(s rollcall.WorkerStanding) generated.Standing {
	refused := make([]generated.RefusedEntry, len(s.Refused))
	for i, r := range s.Refused {
		refused[i] = generated.RefusedEntry{Entry: r.Entry, Code: string(r.Code)}
	}
	return generated.Standing{
		WorkerID: s.WorkerID, Method: s.Method, Role: someOrNil(s.Role), FamilyID: string(s.FamilyID), Day: s.Day, Standing: word(s.Standing), Note: string(s.Note),
		RuleSetID: s.RuleSet, Line: s.Line, LastGoodDay: someOrNil(s.LastGoodDay), RestsOn: append([]string{}, s.RestsOn...), Refused: refused,
		ChangesOn: someOrNil(s.ChangesOn),
	}
}

type standing struct{ *Root }

// Standing looks up whose it is.
func (r *Root) Standing() generated.StandingResolver { return standing{r} }

func (standing) Worker(ctx context.Context, s *generated.Standing) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, s.WorkerID)
}

func word(s competence.Standing) generated.StandingWord { return generated.StandingWord(s) }
