package graph

import (
	"cmp"
	"context"
	"encoding/json"
	"slices"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
	"groundhand/internal/training"
)

type answerGiven struct{ *Root }

// AnswerGiven looks up what an answer that was given was about, and what was decided upon it.
func (r *Root) AnswerGiven() generated.AnswerGivenResolver { return answerGiven{r} }

func (answerGiven) Crew(ctx context.Context, a *groundhand.Reply) (*groundhand.Crew, error) {
	return oneOrNone(ctx, load(ctx).crew, a.CrewID)
}

func (answerGiven) Job(ctx context.Context, a *groundhand.Reply) (*groundhand.Job, error) {
	return oneOrNone(ctx, load(ctx).job, a.JobID)
}

func (answerGiven) Verdict(_ context.Context, a *groundhand.Reply) (generated.Verdict, error) {
	return generated.Verdict(a.Verdict), nil
}

func (answerGiven) Question(ctx context.Context, a *groundhand.Reply) (*string, error) {
	return textOf(ctx, a, a.Question)
}

func (answerGiven) Answer(ctx context.Context, a *groundhand.Reply) (*string, error) {
	return textOf(ctx, a, a.Answer)
}

// textOf gives a text of an answer to those who may read it: one that searched for changes tells of other crews.
func textOf(ctx context.Context, a *groundhand.Reply, text string) (*string, error) {
	var asked struct{ Pool json.RawMessage }
	if err := json.Unmarshal([]byte(a.Question), &asked); err != nil {
		return nil, err
	}
	searched := len(asked.Pool) > 0 && string(asked.Pool) != "null"
	if err := maySearch(ctx, "", searched); err != nil {
		return nil, err
	}
	return &text, nil
}

func (answerGiven) LooksToMake(_ context.Context, a *groundhand.Reply) ([]generated.LookToMake, error) {
	return looksToMake(named[rollcall.Look](a.Looks)), nil
}

func (answerGiven) RestsOn(_ context.Context, a *groundhand.Reply) ([]string, error) {
	return listed(a.RestsOn, nil)
}

func (answerGiven) Decisions(ctx context.Context, a *groundhand.Reply) ([]groundhand.Decision, error) {
	return load(ctx).decisions.Load(ctx, a.ID)
}

func (answerGiven) Caution(context.Context, *groundhand.Reply) (string, error) {
	return rollcall.Caution, nil
}

func (q query) AnswerGiven(ctx context.Context, id string) (*groundhand.Reply, error) {
	a, err := get[groundhand.Reply](ctx, q.Store, id)
	if err != nil {
		return nil, err
	}
	return a, mayCrew(ctx, access.ReadCover, a.CrewID)
}

func (q query) AnswersGiven(ctx context.Context, first *int, after *string) (*generated.AnswerGivenConnection, error) {
	if access.ReachOf(viewer(ctx), access.ReadCover) != access.Everybody {
		return q.ownAnswers(ctx, first, after)
	}
	edges, info, err := page(ctx, q.Store, first, after, answerEdge)
	return &generated.AnswerGivenConnection{Edges: edges, PageInfo: info}, err
}

func answerEdge(a groundhand.Reply) (generated.AnswerGivenEdge, string) {
	return generated.AnswerGivenEdge{Cursor: string(a.ID), Node: &a}, string(a.ID)
}

// ownAnswers cuts a page out of the answers about the crews that the account leads.
func (q query) ownAnswers(ctx context.Context, first *int, after *string) (*generated.AnswerGivenConnection, error) {
	circle, err := load(ctx).circle()
	if err != nil {
		return nil, err
	}
	own, err := store.FindStanding[groundhand.Reply](ctx, q.Store, store.ByCrew, circle.Crews())
	if err != nil {
		return nil, err
	}
	slices.SortFunc(own, func(a, b groundhand.Reply) int { return cmp.Compare(a.ID, b.ID) })
	edges, info, err := cut(own, first, after, answerEdge)
	return &generated.AnswerGivenConnection{Edges: edges, PageInfo: info}, err
}

func (m mutation) GiveAnswer(ctx context.Context, key string, form generated.AnswerForm) (*groundhand.Reply, error) {
	f, err := replyForm(form)
	if err != nil {
		return nil, err
	}
	if err := maySearch(ctx, "changes", f.Changes); err != nil {
		return nil, err
	}
	return made(m.Desk.GiveAnswer(ctx, viewer(ctx), key, f))
}

// replyForm takes either a job or a question.
func replyForm(form generated.AnswerForm) (training.ReplyForm, error) {
	f := training.ReplyForm{Entry: training.Entry{CameBy: or(form.CameBy)}, JobID: groundhand.JobID(or(form.JobID)), Absent: form.Absent, Changes: form.Changes != nil}
	if form.Changes != nil {
		f.Search = *changesOf(form.Changes)
	}
	var p groundhand.Problems
	switch {
	case (f.JobID == "") == (form.Ask == nil):
		p.Add(groundhand.CodeInvalid, "jobId", "Give either jobId or ask, and not both.")
	case form.Ask != nil && len(form.Absent) > 0:
		p.Add(groundhand.CodeInvalid, "absent", "Say in the question itself who is absent.")
	}
	if form.Ask != nil {
		f.Ask = questionOf(*form.Ask)
		if f.Ask.Changes != nil {
			p.Add(groundhand.CodeInvalid, "ask.changes", "Give changes beside the question, not in it.")
		}
	}
	return f, p.Err()
}
