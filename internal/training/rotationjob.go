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
// The problem is that of the moment; what is recorded later is looked at when the plan is adopted.
func (d *Desk) StartRotation(ctx context.Context, by groundhand.Account, key string, f RotationForm) (groundhand.RotationRequest, error) {
	a := act{name: "startRotation", may: access.PlanRotation, ahead: func(in *entering) error {
		posed, err := d.pose(ctx, kept[groundhand.RotationRequest](d.store, starting{f}).(starting).RotationForm)
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
	problem rotation.Problem
	keep    *rotation.Plan // of which as little as possible is to change
}

func (p posed) options() rotation.Options {
	return rotation.Options{Seed: uint64(p.request.Seed), Rounds: p.request.Rounds}
}

// pose makes the problem of a form from what is recorded.
func (d *Desk) pose(ctx context.Context, f RotationForm) (posed, error) {
	ask := f.ask()
	if f.ReplanOf != "" && len(f.Slots) == 0 && f.Offer.EveryWeeks == 0 {
		var err error
		if ask.Slots, err = offeredAgain(ctx, d.store, f); err != nil {
			return posed{}, err
		}
	}
	out := posed{}
	found, err := d.roll.RotationPosed(ctx, ask)
	if err != nil {
		return out, err
	}
	out.problem = found.Problem
	if out.request, err = f.request(found); err != nil {
		return out, err
	}
	out.keep, err = keepOf(ctx, d.store, out.request, out.problem)
	return out, err
}

// request is what is kept of a form and its problem, without id and author.
func (f RotationForm) request(found rollcall.Posed) (groundhand.RotationRequest, error) {
	p := found.Problem
	out := groundhand.RotationRequest{Name: p.Name, Seed: f.Seed, Rounds: cmp.Or(f.Rounds, rotation.DefaultRounds(p)), LeftOut: "[]", BasePlanID: f.ReplanOf,
		StaggerMost: f.Stagger.Most, StaggerDays: f.Stagger.Days, StartOn: p.Start, EndOn: p.End}
	var err error
	if out.Problem, err = jsonOf(p); err != nil {
		return out, err
	}
	if len(found.LeftOut) > 0 {
		if out.LeftOut, err = jsonOf(found.LeftOut); err != nil {
			return out, err
		}
	}
	if out.Asked, err = jsonOf(f); err != nil || !f.Change.given() {
		return out, err
	}
	out.Change, err = jsonOf(f.Change)
	return out, err
}

func jsonOf(v any) (string, error) {
	text, err := json.Marshal(v)
	return string(text), err
}

// posedAgain is the problem of a request as it was posed then.
func posedAgain(ctx context.Context, s *store.Store, r groundhand.RotationRequest) (posed, error) {
	out := posed{request: r}
	var err error
	if out.problem, err = rotation.Decode([]byte(r.Problem)); err != nil {
		return out, err
	}
	out.keep, err = keepOf(ctx, s, r, out.problem)
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
		became[string(session.ID)] = string(session.ID)
	}
	return slices.DeleteFunc(problem.Slots, func(slot rotation.Slot) bool {
		_, is := became[slot.ID]
		return is || slot.Date < f.StartOn || slot.Date > f.EndOn
	}), err
}

// becameOf gives the session that each adopted slot of a plan became, also where it was called off later.
func becameOf(ctx context.Context, s *store.Store, plan groundhand.PlanID) (map[string]string, error) {
	sessions, err := store.Find[groundhand.Session](ctx, s, store.ByPlan, []groundhand.PlanID{plan})
	out := map[string]string{}
	for _, session := range sessions { // in recorded order: a correction comes after what it corrects
		if session.Slot != "" {
			out[session.Slot] = string(session.ID)
		}
	}
	return out, err
}

// keepOf is the older plan of a request in the names of its problem: a slot that was adopted goes by the id of its session. What the problem
// no longer knows is left out. It rests on what is never changed, so it comes out the same whenever the request is worked out again.
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

func keepIn(p rotation.Problem, made rotation.Plan, became map[string]string) *rotation.Plan {
	slots, workers := map[string]bool{}, map[string]bool{}
	for _, slot := range p.Slots {
		slots[slot.ID] = true
	}
	for _, w := range p.Workers {
		workers[w.ID] = true
	}
	out := &rotation.Plan{Problem: p.Name}
	for _, held := range made.Sessions {
		if !slots[held.Slot] {
			held.Slot = became[held.Slot]
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
	return problem, plan, err
}
