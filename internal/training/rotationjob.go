package training

import (
	"cmp"
	"context"
	"encoding/json"
	"slices"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
	"groundhand/internal/store"
)

// StartRotation keeps what a rotation is asked for and leaves it to the planner, which works it out in the background. It books nothing.
// The problem is that of the moment; what is recorded later is looked at when the plan is adopted. A window that is longer than the shortest
// time a renewal is good for is planned in stages: each is a rotation of its own, asked for by the one before once that has its plan.
func (d *Desk) StartRotation(ctx context.Context, by groundhand.Account, key string, f RotationForm) (groundhand.RotationRequest, error) {
	a := act{name: "startRotation", may: access.PlanRotation, ahead: func(in *entering) error {
		posed, err := d.pose(ctx, kept[groundhand.RotationRequest](d.store, starting{f}).(starting).RotationForm, d.roll.RotationWhole)
		in.request = posed.request
		return err
	}}
	started, err := once(ctx, d, by, key, a, starting{f}, one[groundhand.RotationRequest])
	if err == nil {
		d.planner.wake()
	}
	return started, err
}

// starting is a form whose plan nobody waits for.
type starting struct{ RotationForm }

func (s starting) enter(in *entering) groundhand.RotationRequest {
	s.look(in)
	r := in.request
	r.ID, r.Recorded = entryID(in), in.told(Entry{}, When{At: in.now})
	add(in, r)
	result(in, r.ID)
	return r
}

// StopRotation ends a rotation that is being worked out and takes the best plan so far; one that has not begun is ended without a plan.
// It gives what came of it. What has ended already stays as it is.
func (d *Desk) StopRotation(ctx context.Context, by groundhand.Account, id groundhand.EntryID) (RotationJob, error) {
	if err := access.May(by, access.PlanRotation); err != nil {
		return RotationJob{}, err
	}
	if err := d.planner.stop(ctx, id, by); err != nil {
		return RotationJob{}, err
	}
	return d.RotationJob(ctx, id)
}

// RotationJob is a rotation that was asked for and how far it has come.
type RotationJob struct {
	Request  groundhand.RotationRequest
	Plan     *groundhand.Plan            // what came of it; nil: nothing yet, or it failed
	Failure  *groundhand.RotationFailure // why nothing came of it; nil: it did not fail
	UnderWay bool
	Progress rotation.Progress // while it is under way; a Round of 0 and Rounds of 0: it has only begun
}

// RotationJob gives a rotation by the id of its request.
func (d *Desk) RotationJob(ctx context.Context, id groundhand.EntryID) (RotationJob, error) {
	request, err := store.Get[groundhand.RotationRequest](ctx, d.store, id)
	if err != nil {
		return RotationJob{}, err
	}
	jobs, err := d.RotationJobs(ctx, []groundhand.RotationRequest{request})
	if err != nil {
		return RotationJob{}, err
	}
	return jobs[0], nil
}

// RotationJobs gives how far each of some requests has come.
func (d *Desk) RotationJobs(ctx context.Context, requests []groundhand.RotationRequest) ([]RotationJob, error) {
	ids := make([]groundhand.EntryID, len(requests))
	out := make([]RotationJob, len(requests))
	for i, r := range requests {
		ids[i], out[i].Request = r.ID, r
		out[i].Progress, out[i].UnderWay = d.planner.progressOf(r.ID) // before the plan is looked for: what ends between the two has one
	}
	plans, err := store.Find[groundhand.Plan](ctx, d.store, store.ByRequest, ids)
	if err != nil {
		return nil, err
	}
	failures, err := store.Find[groundhand.RotationFailure](ctx, d.store, store.ByRequest, ids)
	for i := range out {
		if at := slices.IndexFunc(plans, func(p groundhand.Plan) bool { return p.RequestID == ids[i] }); at >= 0 {
			out[i].Plan, out[i].UnderWay = &plans[at], false
		}
		if at := slices.IndexFunc(failures, func(f groundhand.RotationFailure) bool { return f.RequestID == ids[i] }); at >= 0 {
			out[i].Failure, out[i].UnderWay = &failures[at], false
		}
	}
	return out, err
}

// posed is a problem that is ready to be planned, with all that makes the plan come out the same again.
type posed struct {
	request groundhand.RotationRequest
	rest    rotation.Problem // of the request: this stage and those after it
	stage   rollcall.Stage   // what is planned now, without its plan
	keep    *rotation.Plan   // of which as little as possible is to change
}

// posing poses a problem, of a window of any length or not.
type posing func(context.Context, rollcall.RotationAsk) (rollcall.Posed, error)

// options are what steers the planner: all of it stands in the request, so that the plan comes out the same again.
func (p posed) options() rotation.Options {
	out := rotation.Options{Seed: uint64(p.request.Seed), Rounds: p.request.Rounds, Keep: p.keep}
	if p.request.StaggerMost > 0 {
		out.Stagger = &rotation.Stagger{Most: p.request.StaggerMost, Days: p.request.StaggerDays}
	}
	return out
}

// pose makes the problem of a form from what is recorded.
func (d *Desk) pose(ctx context.Context, f RotationForm, pose posing) (posed, error) {
	ask := f.ask()
	if f.ReplanOf != "" && len(f.Slots) == 0 && f.Offer.EveryWeeks == 0 {
		var err error
		if ask.Slots, err = offeredAgain(ctx, d.store, f); err != nil {
			return posed{}, err
		}
	}
	out := posed{}
	found, err := pose(ctx, ask)
	if err != nil {
		return out, err
	}
	out.rest = full(found.Problem)
	out.stage = rollcall.FirstStage(out.rest, 1, out.rest.Name)
	if err := out.stage.Problem.Validate(); err != nil {
		return out, err
	}
	if out.request, err = f.request(out, found.LeftOut); err != nil {
		return out, err
	}
	out.keep, err = keepOf(ctx, d.store, out.request, out.stage.Problem)
	return out, err
}

// request is what is kept of a form and its problem, without id and author.
func (f RotationForm) request(posed posed, left []rollcall.SlotLeftOut) (groundhand.RotationRequest, error) {
	p := posed.rest
	out := groundhand.RotationRequest{Name: p.Name, Seed: f.Seed, Rounds: cmp.Or(f.Rounds, rotation.DefaultRounds(posed.stage.Problem)), LeftOut: "[]", BasePlanID: f.ReplanOf,
		StaggerMost: f.Stagger.Most, StaggerDays: f.Stagger.Days, StartOn: p.Start, EndOn: p.End}
	var err error
	if out.Problem, err = jsonOf(p); err != nil {
		return out, err
	}
	if len(left) > 0 {
		if out.LeftOut, err = jsonOf(left); err != nil {
			return out, err
		}
	}
	if out.Asked, err = jsonOf(f); err != nil || !f.Change.given() {
		return out, err
	}
	out.Change, err = jsonOf(f.Change)
	return out, err
}

// full writes lists of nothing as empty ones, as the form of the file asks.
func full(p rotation.Problem) rotation.Problem {
	p.Yards, p.Travel, p.Qualifications = orEmpty(p.Yards), orEmpty(p.Travel), orEmpty(p.Qualifications)
	p.Crews, p.Workers, p.Instructors, p.Slots = orEmpty(p.Crews), orEmpty(p.Workers), orEmpty(p.Instructors), orEmpty(p.Slots)
	return p
}

func orEmpty[T any](rows []T) []T {
	if rows == nil {
		return []T{}
	}
	return rows
}

func jsonOf(v any) (string, error) {
	text, err := json.Marshal(v)
	return string(text), err
}

// posedAgain is the problem of a request as it was posed then.
func posedAgain(ctx context.Context, s *store.Store, r groundhand.RotationRequest) (posed, error) {
	out := posed{request: r}
	var err error
	if out.rest, err = ReadRequest(r); err != nil {
		return out, err
	}
	number, err := stageOf(ctx, s, r)
	if err != nil {
		return out, err
	}
	out.stage = rollcall.FirstStage(out.rest, number, r.Name)
	out.keep, err = keepOf(ctx, s, r, out.stage.Problem)
	return out, err
}

// ReadRequest reads the problem of a request. Its window may be longer than that of a problem that can be planned in one go.
func ReadRequest(r groundhand.RotationRequest) (p rotation.Problem, err error) {
	err = json.Unmarshal([]byte(r.Problem), &p)
	return p, err
}

// stageOf is which stage of a rotation a request asks for, from 1.
func stageOf(ctx context.Context, s *store.Store, r groundhand.RotationRequest) (int, error) {
	number := 1
	for ; r.FollowsID != ""; number++ {
		var err error
		if r, err = store.Get[groundhand.RotationRequest](ctx, s, r.FollowsID); err != nil {
			return 0, err
		}
	}
	return number, nil
}

// plan is the plan that came of a request, without id and author.
func (p posed) plan(made rotation.Plan) (groundhand.Plan, error) {
	r := p.request
	out := groundhand.Plan{Problem: r.Problem, Seed: r.Seed, Rounds: r.Rounds, StartOn: p.stage.Problem.Start, EndOn: p.stage.Through,
		RequestID: r.ID, BasePlanID: r.BasePlanID, Change: r.Change}
	var err error
	if out.Result, err = jsonOf(made); err != nil || r.FollowsID == "" && p.last() {
		return out, err
	}
	out.Problem, err = jsonOf(full(p.stage.Problem))
	return out, err
}

// last says that nothing is left after this stage.
func (p posed) last() bool { return p.stage.Through >= p.rest.End }

// next is the request for the stage after this one, without id; to be asked for where this is not the last.
func (p posed) next(made rotation.Plan) (groundhand.RotationRequest, error) {
	done := p.stage
	done.Plan = made
	rest := full(rollcall.AfterStage(p.rest, done))
	out := p.request
	out.FollowsID, out.LeftOut, out.StartOn = p.request.ID, "[]", rest.Start
	var err error
	out.Problem, err = jsonOf(rest)
	return out, err
}

// offeredAgain are the slots of the older plan that lie in the new window and have not become sessions: those come from the records.
func offeredAgain(ctx context.Context, s *store.Store, f RotationForm) ([]rotation.Slot, error) {
	_, problem, _, err := planWith(ctx, s, f.ReplanOf)
	if err != nil {
		return nil, err
	}
	became, err := becameOf(ctx, s, f.ReplanOf)
	if err != nil {
		return nil, err
	}
	ids := make([]string, len(problem.Slots))
	for i, slot := range problem.Slots {
		ids[i] = slot.ID
	}
	booked, err := store.Find[groundhand.Session](ctx, s, store.ByID, ids)
	for _, session := range booked {
		became[string(session.ID)] = []string{string(session.ID)}
	}
	return slices.DeleteFunc(problem.Slots, func(slot rotation.Slot) bool {
		_, is := became[slot.ID]
		return is || slot.Date < f.StartOn || slot.Date > f.EndOn
	}), err
}

// becameOf gives the sessions that each adopted slot of a plan became: the first, and those that corrected it, also where it was called off
// later.
func becameOf(ctx context.Context, s *store.Store, plan groundhand.PlanID) (map[string][]string, error) {
	sessions, err := store.Find[groundhand.Session](ctx, s, store.ByPlan, []groundhand.PlanID{plan})
	out := map[string][]string{}
	for _, session := range sessions {
		if session.Slot != "" {
			out[session.Slot] = append(out[session.Slot], string(session.ID))
		}
	}
	return out, err
}

// keepOf is the older plan of a request in the names of its problem: a slot that was adopted goes by the id of its session. What the problem
// no longer knows is left out. The problem holds at most one of the sessions that a slot became, so what is moved or adopted later changes
// nothing, and it comes out the same whenever the request is worked out again.
func keepOf(ctx context.Context, s *store.Store, r groundhand.RotationRequest, p rotation.Problem) (*rotation.Plan, error) {
	if r.BasePlanID == "" {
		return nil, nil
	}
	_, _, made, err := planWith(ctx, s, r.BasePlanID)
	if err != nil {
		return nil, err
	}
	became, err := becameOf(ctx, s, r.BasePlanID)
	return keepIn(p, made, became), err
}

func keepIn(p rotation.Problem, made rotation.Plan, became map[string][]string) *rotation.Plan {
	slots, workers := map[string]bool{}, map[string]bool{}
	for _, slot := range p.Slots {
		slots[slot.ID] = true
	}
	for _, w := range p.Workers {
		workers[w.ID] = true
	}
	out := &rotation.Plan{Problem: p.Name}
	for _, held := range made.Sessions {
		if at := slices.IndexFunc(became[held.Slot], func(id string) bool { return slots[id] }); at >= 0 && !slots[held.Slot] {
			held.Slot = became[held.Slot][at]
		}
		held.Attend = slices.DeleteFunc(slices.Clone(held.Attend), func(a rotation.Attendee) bool { return !workers[a.Worker] })
		if slots[held.Slot] && len(held.Attend) > 0 {
			out.Sessions = append(out.Sessions, held)
		}
	}
	return out
}

// planWith gives a plan with its problem and what it says, read.
func planWith(ctx context.Context, s *store.Store, id groundhand.PlanID) (groundhand.Plan, rotation.Problem, rotation.Plan, error) {
	p, err := store.Get[groundhand.Plan](ctx, s, id)
	if err != nil {
		return p, rotation.Problem{}, rotation.Plan{}, err
	}
	problem, made, err := ReadPlan(p)
	return p, problem, made, err
}

// ReadPlan reads the problem of a plan and what the plan says.
func ReadPlan(p groundhand.Plan) (rotation.Problem, rotation.Plan, error) {
	problem, err := rotation.Decode([]byte(p.Problem))
	if err != nil {
		return problem, rotation.Plan{}, err
	}
	plan, _, err := rotation.DecodePlan([]byte(p.Result))
	if err != nil {
		return problem, plan, err
	}
	var told rotation.Plan // what stands in the file beside the sessions and their figures
	err = json.Unmarshal([]byte(p.Result), &told)
	plan.Bound, plan.ProvedLevels, plan.NotKeptCurrent, plan.SlotsSetAside = told.Bound, told.ProvedLevels, told.NotKeptCurrent, told.SlotsSetAside
	return problem, plan, err
}
