package training

import (
	"context"
	"time"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// longestShift is how long anybody is at work in one go, in the records.
const longestShift = 24 * time.Hour

// ShiftForm is when somebody is at work in a yard outside a crew.
type ShiftForm struct {
	Entry
	WorkerID groundhand.WorkerID
	YardID   groundhand.YardID
	FromAt   groundhand.Instant
	ToAt     groundhand.Instant // not included; at most 24 hours after FromAt
}

// PlanShift enters a shift. It is a Conflict when the worker has another one at the time.
func (d *Desk) PlanShift(ctx context.Context, by groundhand.Account, key string, f ShiftForm) (groundhand.Shift, error) {
	return once(ctx, d, by, key, act{name: "planShift", may: access.PlanShift}, f, one[groundhand.Shift])
}

func (f ShiftForm) check(c *fields) {
	f.Entry.check(c)
	c.id("workerId", string(f.WorkerID))
	c.id("yardId", string(f.YardID))
	c.span("fromAt", "toAt", f.FromAt, f.ToAt)
	if f.FromAt != 0 && f.ToAt > f.FromAt && f.ToAt.Time().Sub(f.FromAt.Time()) > longestShift {
		c.wrong("toAt", "A shift lasts at most 24 hours; plan one for each day.")
	}
}

func (f ShiftForm) enter(in *entering) groundhand.Shift {
	correct[groundhand.Shift](in, "shift", f.Entry)
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID))
	known[groundhand.Yard](in, "yard", at("yardId", f.YardID))
	s := groundhand.Shift{
		ID: entryID(in), Recorded: in.told(f.Entry, When{At: f.FromAt}), WorkerID: f.WorkerID, YardID: f.YardID, FromAt: f.FromAt, ToAt: f.ToAt,
	}
	in.oneShift(s)
	add(in, s)
	result(in, s.ID)
	return s
}

// oneShift refuses a shift that lies over another one of the same worker. The one may end when the other begins.
func (in *entering) oneShift(s groundhand.Shift) {
	theirs, err := store.FindStanding[groundhand.Shift](in.ctx, in.tx, store.ByWorker, []groundhand.WorkerID{s.WorkerID})
	if in.failed(err) {
		return
	}
	for _, other := range theirs {
		if other.ID != s.ReplacesID && other.FromAt < s.ToAt && s.FromAt < other.ToAt {
			in.Add(groundhand.CodeConflict, "fromAt", "This worker has a shift in %s from %s to %s; nobody is in two places.",
				other.YardID, in.clock(other.FromAt), in.clock(other.ToAt))
		}
	}
}
