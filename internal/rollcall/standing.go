package rollcall

import (
	"context"
	"strconv"
	"strings"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
)

// Asked is one line asked of one person: a method, a role, and a family or whatever the family.
type Asked = rulebook.Asked

// StandingQuestion asks for standings.
type StandingQuestion struct {
	Workers   []groundhand.WorkerID
	On        groundhand.Date      // the day, at its close; zero with At zero: today
	At        groundhand.Instant   // or a moment
	AsKnownAt groundhand.Instant   // zero: with everything that is known
	RuleSet   groundhand.RuleSetID // empty: our own of that day
	Lines     []Asked              // nil: what the rule set asks of each worker in the crew of that day; nothing of who is in no crew
}

// WorkerStanding is the answer for one line of one worker.
type WorkerStanding struct {
	WorkerID groundhand.WorkerID
	Method   groundhand.Method
	Role     groundhand.Role
	FamilyID groundhand.FamilyID // empty: whatever the family
	competence.Answer
}

// Standings answers for every worker and line, in the order of the question.
func (r *Roll) Standings(ctx context.Context, ask StandingQuestion) ([]WorkerStanding, error) {
	facts, asked, err := r.questions(ctx, ask)
	if err != nil {
		return nil, err
	}
	book, err := competence.NewBook(facts)
	if err != nil {
		return nil, err
	}
	for i, q := range facts.Questions {
		if asked[i].Answer, err = book.Standing(q); err != nil {
			return nil, err
		}
	}
	return asked, nil
}

// Export gives the same questions with the facts they are answered from, as a standing-facts/1 file, so that anybody can recompute the
// answers.
func (r *Roll) Export(ctx context.Context, ask StandingQuestion) (competence.Facts, error) {
	facts, _, err := r.questions(ctx, ask)
	return facts, err
}

// questions loads the facts and writes the question of each line into them; the second list says whose each question is.
func (r *Roll) questions(ctx context.Context, ask StandingQuestion) (facts competence.Facts, asked []WorkerStanding, err error) {
	err = r.asOfNow(ctx, func(seen *Roll) error {
		facts, asked, err = seen.loadQuestions(ctx, ask)
		return err
	})
	return facts, asked, err
}

func (r *Roll) loadQuestions(ctx context.Context, ask StandingQuestion) (competence.Facts, []WorkerStanding, error) {
	sh, err := r.shelf(ctx)
	if err != nil {
		return competence.Facts{}, nil, err
	}
	if ask.On == 0 && ask.At == 0 {
		ask.On = r.Today()
	}
	asked, err := r.asked(ctx, sh, ask)
	if err != nil {
		return competence.Facts{}, nil, err
	}
	d := r.dossier(sh)
	if err := d.take(ctx, ask.Workers); err != nil {
		return competence.Facts{}, nil, err
	}
	facts := d.facts()
	facts.Questions = make([]competence.Question, len(asked))
	for i, w := range asked {
		q := question(w.WorkerID, rulebook.Asked{Method: w.Method, Role: w.Role, FamilyID: w.FamilyID})
		q.ID, q.On, q.At, q.AsKnownAt, q.RuleSet = "Q"+strconv.Itoa(i+1), ask.On, ask.At, ask.AsKnownAt, string(ask.RuleSet)
		if q.At != 0 {
			q.On = 0
		}
		facts.Questions[i] = q
	}
	return facts, asked, nil
}

// question is a line of somebody as the engine wants it asked.
func question(who groundhand.WorkerID, a rulebook.Asked) competence.Question {
	return competence.Question{Person: string(who), Method: string(a.Method), Role: strings.ToLower(string(a.Role)), Family: string(a.FamilyID)}
}

// asked lists what is asked of whom.
func (r *Roll) asked(ctx context.Context, sh shelf, ask StandingQuestion) ([]WorkerStanding, error) {
	lines := func(groundhand.WorkerID) []rulebook.Asked { return ask.Lines }
	if ask.Lines == nil {
		day := ask.On
		if ask.At != 0 {
			day = r.dayOf(ask.At)
		}
		l, err := r.lineUp(ctx, day)
		if err != nil {
			return nil, err
		}
		_, rules, err := sh.on(day, ask.RuleSet)
		if err != nil {
			return nil, err
		}
		lines = func(w groundhand.WorkerID) []rulebook.Asked { return l.askedOf(w, rules) }
	}
	var out []WorkerStanding
	for _, w := range ask.Workers {
		for _, a := range lines(w) {
			out = append(out, WorkerStanding{WorkerID: w, Method: a.Method, Role: a.Role, FamilyID: a.FamilyID})
		}
	}
	return out, nil
}

// Course gives the standing of every day of a period, both ends included, as spans without gap or overlap. An empty rule set means our
// own of each day.
func (r *Roll) Course(ctx context.Context, worker groundhand.WorkerID, method groundhand.Method, role groundhand.Role, family groundhand.FamilyID,
	from, through groundhand.Date, ruleSet groundhand.RuleSetID) ([]competence.Span, error) {
	if from > through {
		return nil, groundhand.Invalid("through", "The period ends on %s, before it starts on %s.", through, from)
	}
	sh, err := r.shelf(ctx)
	if err != nil {
		return nil, err
	}
	book, err := r.book(ctx, sh, []groundhand.WorkerID{worker})
	if err != nil {
		return nil, err
	}
	q := question(worker, rulebook.Asked{Method: method, Role: role, FamilyID: family})
	q.RuleSet = string(ruleSet)
	return book.Course(q, competence.Period{From: from, Through: through})
}
