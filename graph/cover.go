package graph

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// caution stands beside every verdict.
const caution = "This rests on the records alone; kit and device inspections are not weighed in it. Look at the kit and the lower controls on the device, " +
	"hold the job briefing, and ask again whenever people or trucks change. Local rules, the maker's instructions and licensed practice come first."

type job struct{ *Root }

// Job looks up a job's crew and yard.
func (r *Root) Job() generated.JobResolver { return job{r} }

func (job) Crew(ctx context.Context, j *groundhand.Job) (*groundhand.Crew, error) {
	return one(ctx, load(ctx).crew, j.CrewID)
}

func (job) Yard(ctx context.Context, j *groundhand.Job) (*groundhand.Yard, error) {
	return one(ctx, load(ctx).yard, j.YardID)
}

func (job) Methods(_ context.Context, j *groundhand.Job) ([]string, error) { return j.Methods, nil }

func (q query) Jobs(ctx context.Context, from, through groundhand.Date) ([]groundhand.Job, error) {
	start, end, err := q.days(from, through, 62)
	if err != nil {
		return nil, err
	}
	seen, err := crewsSeen(ctx, access.ReadCover)
	if err != nil {
		return nil, err
	}
	jobs, err := q.Store.JobsBetween(ctx, start, end)
	return listed(slices.DeleteFunc(jobs, func(j groundhand.Job) bool { return !seen(j.CrewID) }), err)
}

func (q query) CrewCover(ctx context.Context, ask generated.CoverAsk) (*generated.Cover, error) {
	if err := q.mayAskCover(ctx, ask); err != nil {
		return nil, err
	}
	answer, err := q.Roll.Cover(ctx, rollcall.CoverQuestion{
		CrewID: groundhand.CrewID(or(ask.Crew)), People: named[groundhand.WorkerID](ask.People), Absent: named[groundhand.WorkerID](ask.Absent),
		FromAt: ask.From, ToAt: ask.To, DeviceID: groundhand.DeviceID(or(ask.Device)), Aloft: or(ask.Aloft), Methods: ask.Methods,
		Near50V: or(ask.Near50v), SiteKind: or(ask.SiteKind), CallPlan: or(ask.CallPlan), RuleSetID: groundhand.RuleSetID(or(ask.RuleSet)),
		PlannedAloft: named[groundhand.WorkerID](ask.PlannedAloft),
	})
	if err != nil {
		return nil, atField("ask", err)
	}
	return coverOf(answer), nil
}

// mayAskCover is nil when the viewer may ask about the crew, and about everybody named beside it, all of whom must be known.
func (q query) mayAskCover(ctx context.Context, ask generated.CoverAsk) error {
	if crew := groundhand.CrewID(or(ask.Crew)); crew != "" {
		if err := mayCrew(ctx, access.ReadCover, crew); err != nil {
			return err
		}
	}
	for _, who := range ask.People {
		if err := mayAbout(ctx, access.ReadCover, groundhand.WorkerID(who)); err != nil {
			return err
		}
	}
	var p groundhand.Problems
	for field, ids := range map[string][]string{"ask.absent": ask.Absent, "ask.people": ask.People, "ask.plannedAloft": ask.PlannedAloft} {
		if err := p.Take("", q.unknownWorkers(ctx, field, ids)); err != nil {
			return err
		}
	}
	return p.Err()
}

// unknownWorkers refuses ids that nobody has, each under its own path.
func (r *Root) unknownWorkers(ctx context.Context, field string, ids []string) error {
	found, err := store.Find[groundhand.Worker](ctx, r.Store, store.ByID, ids)
	if err != nil || len(found) == len(ids) {
		return err
	}
	there := map[string]bool{}
	for _, w := range found {
		there[string(w.ID)] = true
	}
	var p groundhand.Problems
	for i, id := range ids {
		if !there[id] {
			p.Add(groundhand.CodeNotFound, fmt.Sprintf("%s[%d]", field, i), "There is no worker %q.", id)
		}
	}
	return p.Err()
}

func (q query) JobCover(ctx context.Context, id string, absent []string) (*generated.Cover, error) {
	j, err := store.Get[groundhand.Job](ctx, q.Store, id)
	if err != nil {
		return nil, atField("job", err)
	}
	if err := mayCrew(ctx, access.ReadCover, j.CrewID); err != nil {
		return nil, err
	}
	if err := q.unknownWorkers(ctx, "absent", absent); err != nil {
		return nil, err
	}
	answer, err := q.Roll.JobCover(ctx, j.ID, rollcall.Wish{Absent: named[groundhand.WorkerID](absent)})
	if err != nil {
		return nil, err
	}
	return coverOf(answer), nil
}

func (q query) CoverOn(ctx context.Context, day groundhand.Date, yard *string) ([]generated.JobCover, error) {
	start, end, err := q.days(day, day, 1)
	if err != nil {
		return nil, err
	}
	seen, err := crewsSeen(ctx, access.ReadCover)
	if err != nil {
		return nil, err
	}
	answers, err := q.Roll.JobsCover(ctx, start, end)
	if err != nil {
		return nil, err
	}
	out := []generated.JobCover{}
	for _, a := range answers {
		if !seen(a.Job.CrewID) || yard != nil && groundhand.YardID(*yard) != a.Job.YardID {
			continue
		}
		out = append(out, jobCover(a))
	}
	slices.SortStableFunc(out, func(a, b generated.JobCover) int { return cmp.Compare(urgency(a), urgency(b)) })
	return out, nil
}

// jobCover says of a job that cannot be judged why not: one such job must not hide the others.
func jobCover(a rollcall.JobAnswer) generated.JobCover {
	if a.Refused != nil {
		return generated.JobCover{Job: &a.Job, Why: a.Refused.Error()}
	}
	return generated.JobCover{Job: &a.Job, Cover: coverOf(a.CoverAnswer)}
}

// urgency orders a list of jobs: what must be looked at first stands first, and that is what nobody could judge.
func urgency(j generated.JobCover) int {
	if j.Cover == nil {
		return 0
	}
	return 1 + slices.Index([]generated.Verdict{generated.VerdictNotReady, generated.VerdictCannotTell, generated.VerdictConditional, generated.VerdictReady}, j.Cover.Verdict)
}

// coverOf puts an answer into the contract's words. It converts only.
func coverOf(a rollcall.CoverAnswer) *generated.Cover {
	return &generated.Cover{
		Verdict: verdict(a.Answer.Verdict), RuleSetID: string(a.RuleSetID),
		VerdictUntil: a.Answer.HoldsUntil.Verdict.At, Then: verdictOrNil(a.Answer.HoldsUntil.Then), ListsUntil: a.Answer.HoldsUntil.Lists.At,
		Changes: changes(a.Answer.HoldsUntil.Changes), MayGoAloft: mayGoAloft(a.Answer.MayGoAloft), MustStayDown: mustStayDown(a.Answer.MustStayDown), Choices: choices(a.Answer.Choices),
		Timeline: stretches(a.Answer.Timeline), Planned: planned(a.Answer.Planned), Findings: findings(a.Answer.Findings),
		Conditions: conditions(a.Answer.Conditions), Asked: a.Question, Caution: caution,
	}
}

type cover struct{ *Root }

// Cover writes out the question, which few ask to see.
func (r *Root) Cover() generated.CoverResolver { return cover{r} }

func (cover) Question(_ context.Context, c *generated.Cover) (string, error) {
	text, err := json.MarshalIndent(c.Asked, "", " ")
	return string(text), err
}

func verdict(v readiness.Verdict) generated.Verdict { return generated.Verdict(v.String()) }

func verdictOrNil(v *readiness.Verdict) *generated.Verdict {
	if v == nil {
		return nil
	}
	return someOrNil(verdict(*v))
}

func mayGoAloft(list []readiness.Aloft) []generated.MayGoAloft {
	out := make([]generated.MayGoAloft, len(list))
	for i, a := range list {
		out[i] = generated.MayGoAloft{WorkerID: groundhand.WorkerID(a.Person), Verdict: verdict(a.Class), With: a.With}
	}
	return out
}

func mustStayDown(list []readiness.Down) []generated.MustStayDown {
	out := make([]generated.MustStayDown, len(list))
	for i, d := range list {
		out[i] = generated.MustStayDown{WorkerID: groundhand.WorkerID(d.Person), Because: string(d.Because)}
	}
	return out
}

type (
	aloft struct{ *Root }
	down  struct{ *Root }
)

// MayGoAloft looks up who it is.
func (r *Root) MayGoAloft() generated.MayGoAloftResolver { return aloft{r} }

// MustStayDown looks up who it is.
func (r *Root) MustStayDown() generated.MustStayDownResolver { return down{r} }

func (aloft) Worker(ctx context.Context, a *generated.MayGoAloft) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, a.WorkerID)
}

func (down) Worker(ctx context.Context, d *generated.MustStayDown) (*groundhand.Worker, error) {
	return one(ctx, load(ctx).worker, d.WorkerID)
}

func changes(list []readiness.Change) []generated.CoverChange {
	out := make([]generated.CoverChange, len(list))
	for i, c := range list {
		out[i] = generated.CoverChange{Edge: string(c.Edge), Of: string(c.Of), ID: c.ID}
	}
	return out
}

func choices(list []readiness.Choice) []generated.AloftChoice {
	out := make([]generated.AloftChoice, len(list))
	for i, c := range list {
		roles := make([]generated.GroundRole, len(c.Roles))
		for k, r := range c.Roles {
			roles[k] = generated.GroundRole{Role: string(r.Role), Worker: r.Person}
		}
		out[i] = generated.AloftChoice{Aloft: c.Aloft, Verdict: verdict(c.Class), Method: or(c.Method), Roles: roles, Conditions: conditions(c.Conditions)}
	}
	return out
}

func stretches(list []readiness.Stretch) []generated.CoverStretch {
	out := make([]generated.CoverStretch, len(list))
	for i, s := range list {
		out[i] = generated.CoverStretch{From: s.From.At, To: s.To.At, Verdict: verdict(s.Verdict), MayGoAloft: s.MayGoAloft, MustStayDown: s.MustStayDown}
	}
	return out
}

func planned(p *readiness.Planned) string {
	switch {
	case p == nil:
		return ""
	case !p.Permitted:
		return "NOT_PERMITTED"
	}
	return p.Class.String()
}

func findings(list []readiness.Finding) []generated.Finding {
	out := make([]generated.Finding, len(list))
	for i, f := range list {
		values := []generated.FindingValue{}
		for _, name := range slices.Sorted(maps.Keys(f.Values)) {
			values = append(values, generated.FindingValue{Name: name, Value: f.Values[name]})
		}
		out[i] = generated.Finding{Code: string(f.Code), Severity: string(f.Severity), Things: append([]string{}, f.Things...), Values: values}
	}
	return out
}

func conditions(list []readiness.Condition) []generated.Condition {
	out := make([]generated.Condition, len(list))
	for i, c := range list {
		out[i] = generated.Condition{Code: string(c.Code), Things: append([]string{}, c.Things...)}
	}
	return out
}
