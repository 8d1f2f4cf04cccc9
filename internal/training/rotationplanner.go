package training

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"sync"
	"time"

	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
	"groundhand/internal/store"
)

// Planner works out the rotations that were started, one at a time, in the order in which they were asked for. How far it is stands in
// memory alone: a rotation that was under way when the program ended is worked out again from its request, to the same plan.
type Planner struct {
	store *store.Store
	zone  *time.Location
	plan  planning
	woken chan struct{}

	mu      sync.Mutex
	now     *underWay
	givenUp map[groundhand.EntryID]bool // could be neither read nor written; tried again after a restart
}

// planning makes a plan, as rotation.Suggest does.
type planning func(context.Context, rotation.Problem, rotation.Options) (rotation.Plan, error)

// underWay is the rotation that is being worked out.
type underWay struct {
	id       groundhand.EntryID
	progress rotation.Progress
	cancel   context.CancelFunc
	stopped  bool // by somebody, not by the end of the program
	done     chan struct{}
}

func newPlanner(s *store.Store, zone *time.Location) *Planner {
	return &Planner{store: s, zone: zone, plan: rotation.Suggest, woken: make(chan struct{}, 1), givenUp: map[groundhand.EntryID]bool{}}
}

// Run works until the context ends. What was left open by an earlier run comes first.
func (p *Planner) Run(ctx context.Context, log *slog.Logger) {
	for ctx.Err() == nil {
		if err := p.WorkOff(ctx); err != nil && ctx.Err() == nil {
			log.ErrorContext(ctx, "the planner could not go on; what is open is taken up again after a restart or with the next rotation", "error", err)
		}
		select {
		case <-ctx.Done():
		case <-p.woken:
		}
	}
}

// wake says that there is something to work out.
func (p *Planner) wake() {
	select {
	case p.woken <- struct{}{}:
	default: // it is awake already
	}
}

// WorkOff works out everything that is open, and comes back when nothing is left or the context ends. A rotation that is under way at that
// moment stays open.
func (p *Planner) WorkOff(ctx context.Context) error {
	var all error
	for ctx.Err() == nil {
		id, left, err := p.next(ctx)
		if err != nil || !left {
			return errors.Join(all, err)
		}
		if err := p.workOut(ctx, id); err != nil {
			all = errors.Join(all, fmt.Errorf("rotation %s: %w", id, err))
			p.mu.Lock()
			p.givenUp[id] = true
			p.mu.Unlock()
		}
	}
	return all
}

func (p *Planner) next(ctx context.Context) (groundhand.EntryID, bool, error) {
	open, err := p.store.OpenRotations(ctx)
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, id := range open {
		if !p.givenUp[id] {
			return id, true, err
		}
	}
	return "", false, err
}

// workOut works one request out and writes what came of it. The error is one of reading or writing.
func (p *Planner) workOut(ctx context.Context, id groundhand.EntryID) error {
	within, cancel := context.WithCancel(ctx)
	defer cancel()
	job := &underWay{id: id, cancel: cancel, done: make(chan struct{})}
	p.mu.Lock()
	p.now = job
	p.mu.Unlock()
	defer func() {
		p.mu.Lock()
		p.now = nil
		p.mu.Unlock()
		close(job.done)
	}()
	request, err := store.Get[groundhand.RotationRequest](ctx, p.store, id)
	if err != nil {
		return err
	}
	end, err := p.endOf(ctx, within, job, request)
	if ctx.Err() != nil && !p.wasStopped(job) {
		return nil // the program ends; the request stays open
	}
	if err != nil {
		return err
	}
	return p.write(context.WithoutCancel(ctx), request, end)
}

// ending is what came of a request: a plan or a failure.
type ending struct {
	plan    *groundhand.Plan
	next    *groundhand.RotationRequest // for the stage after the plan; nil: none
	failure *groundhand.RotationFailure
}

// endOf plans within a context that somebody may end, and reads in one that only the program ends.
func (p *Planner) endOf(ctx, within context.Context, job *underWay, r groundhand.RotationRequest) (ending, error) {
	posed, err := posedAgain(ctx, p.store, r)
	if err != nil {
		return refusedOr(err, err)
	}
	options := posed.options()
	options.Report = func(at rotation.Progress) { p.note(job, at) }
	made, err := p.careful(within, posed.stage.Problem, options)
	if err != nil {
		return failureOf(err)
	}
	plan, err := posed.plan(made)
	if err != nil {
		return ending{}, err
	}
	if within.Err() != nil { // whoever stops a stage does not want the next one either
		plan.StoppedAfter = max(1, p.roundOf(job))
		return ending{plan: &plan}, nil
	}
	if posed.last() {
		return ending{plan: &plan}, nil
	}
	next, err := posed.next(made)
	return ending{plan: &plan, next: &next}, err
}

// careful is planning that gives what breaks in it as an error: one rotation must not take the service along, again after every restart.
func (p *Planner) careful(ctx context.Context, problem rotation.Problem, o rotation.Options) (made rotation.Plan, err error) {
	defer func() {
		if broke := recover(); broke != nil {
			slog.ErrorContext(ctx, "the planner broke down", "because", broke, "where", string(debug.Stack()))
			err = errBroke
		}
	}()
	return p.plan(ctx, problem, o)
}

var errBroke = errors.New("the planner broke down over this problem; tell those who look after the program, and try other slots meanwhile")

// failureOf is the end of a request for which there is no plan.
func failureOf(err error) (ending, error) {
	var clash *rotation.PinClash
	if !errors.As(err, &clash) {
		return refusedOr(err, nil)
	}
	pins, err := jsonOf(clash.Named)
	end := failed(groundhand.PinsClash, "")
	end.failure.Pins, end.failure.Proved = pins, clash.Proved
	return end, err
}

// refusedOr ends a request whose problem is refused, with the words of the refusal. Any other error is given back as said: nil when the
// planner itself failed, which ends the request too.
func refusedOr(err, otherwise error) (ending, error) {
	if len(groundhand.Refusals(err)) > 0 {
		return failed(groundhand.ProblemRefused, err.Error()), nil
	}
	return failed(groundhand.BrokeDown, err.Error()), otherwise
}

func failed(cause groundhand.FailureCause, detail string) ending {
	return ending{failure: &groundhand.RotationFailure{Cause: cause, Pins: "[]", Detail: detail}}
}

// write keeps what came of a request, in the name of whoever asked for it, unless something came of it already.
func (p *Planner) write(ctx context.Context, r groundhand.RotationRequest, end ending) error {
	return p.store.InTx(ctx, func(tx *store.Store) error {
		over, err := ended(ctx, tx, r.ID)
		if err != nil || over {
			return err
		}
		told := r.Recorded
		told.HappenedAt, told.RecordedAt = tx.Now(), tx.Now()
		told.HappenedOn = groundhand.DateOf(tx.Now().In(p.zone))
		if end.plan != nil {
			end.plan.ID, end.plan.Recorded = groundhand.PlanID(tx.NewID()), told
			if err := store.Add(ctx, tx, *end.plan); err != nil || end.next == nil {
				return err
			}
			end.next.ID, end.next.Recorded = groundhand.EntryID(tx.NewID()), told
			return store.Add(ctx, tx, *end.next)
		}
		end.failure.ID, end.failure.Recorded, end.failure.RequestID = groundhand.EntryID(tx.NewID()), told, r.ID
		return store.Add(ctx, tx, *end.failure)
	})
}

// ended says whether a plan or a failure came of a request.
func ended(ctx context.Context, s *store.Store, id groundhand.EntryID) (bool, error) {
	ids := []groundhand.EntryID{id}
	plans, err := store.Count[groundhand.Plan](ctx, s, store.ByRequest, []string{string(id)})
	if err != nil || plans > 0 {
		return plans > 0, err
	}
	failures, err := store.Find[groundhand.RotationFailure](ctx, s, store.ByRequest, ids)
	return len(failures) > 0, err
}

// stop ends a request: the one under way with the best plan so far, which is waited for; one that waits without a plan.
func (p *Planner) stop(ctx context.Context, id groundhand.EntryID, by groundhand.Account) error {
	request, err := store.Get[groundhand.RotationRequest](ctx, p.store, id)
	if err != nil {
		return err
	}
	if job := p.stopNow(id); job != nil {
		select {
		case <-job.done:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	request.AuthorID, request.Capacity, request.CameBy = by.WorkerID, by.Capacity, groundhand.TypedLive
	err = p.write(ctx, request, failed(groundhand.StoppedEarly, "It was stopped before it had begun."))
	p.stopNow(id) // had it begun meanwhile, nothing is kept of it
	return err
}

func (p *Planner) stopNow(id groundhand.EntryID) *underWay {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.now == nil || p.now.id != id {
		return nil
	}
	p.now.stopped = true
	p.now.cancel()
	return p.now
}

func (p *Planner) wasStopped(job *underWay) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return job.stopped
}

func (p *Planner) note(job *underWay, at rotation.Progress) {
	p.mu.Lock()
	defer p.mu.Unlock()
	job.progress = at
}

func (p *Planner) roundOf(job *underWay) int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return job.progress.Round
}

// progressOf says how far a request has come, if it is under way.
func (p *Planner) progressOf(id groundhand.EntryID) (rotation.Progress, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.now == nil || p.now.id != id {
		return rotation.Progress{}, false
	}
	return p.now.progress, true
}
