package training

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// HoldForm keeps records from being erased, of one worker, crew, device or kit, until they are released.
type HoldForm struct {
	Entry
	When     // since when there is reason to; it may not lie ahead
	WorkerID groundhand.WorkerID
	CrewID   groundhand.CrewID
	DeviceID groundhand.DeviceID
	KitID    groundhand.KitID
	Reason   string
}

// PlaceHold enters a hold. It goes before every retention.
func (d *Desk) PlaceHold(ctx context.Context, by groundhand.Account, key string, f HoldForm) (groundhand.Hold, error) {
	return once(ctx, d, by, key, act{name: "placeHold", may: access.PlaceHold}, f, one[groundhand.Hold])
}

func (f HoldForm) check(c *fields) {
	f.Entry.check(c)
	f.happened(c)
	named := 0
	for _, n := range []struct{ field, id string }{
		{"workerId", string(f.WorkerID)}, {"crewId", string(f.CrewID)}, {"deviceId", string(f.DeviceID)}, {"kitId", string(f.KitID)},
	} {
		c.maybeID(n.field, n.id)
		if n.id != "" {
			named++
		}
	}
	if named != 1 {
		c.wrong("workerId", "Name one worker, crew, device or kit, and only one; each hold can then be released by itself.")
	}
	c.needed("reason", f.Reason)
}

func (f HoldForm) enter(in *entering) groundhand.Hold {
	correct[groundhand.Hold](in, "hold", f.Entry)
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID))
	known[groundhand.Crew](in, "crew", at("crewId", f.CrewID))
	known[groundhand.Device](in, "device", at("deviceId", f.DeviceID))
	known[groundhand.Kit](in, "kit", at("kitId", f.KitID))
	h := groundhand.Hold{ID: entryID(in), Recorded: in.told(f.Entry, f.When), WorkerID: f.WorkerID, CrewID: f.CrewID, DeviceID: f.DeviceID, KitID: f.KitID, Reason: f.Reason}
	add(in, h)
	result(in, h.ID)
	return h
}

// ReleaseForm ends a hold.
type ReleaseForm struct {
	Entry
	HoldID groundhand.EntryID
	Reason string
}

// Release enters that a hold is over. A release stands; whoever needs a hold again places another one.
func (d *Desk) Release(ctx context.Context, by groundhand.Account, key string, f ReleaseForm) (groundhand.Release, error) {
	return once(ctx, d, by, key, act{name: "release", may: access.PlaceHold}, f, one[groundhand.Release])
}

func (f ReleaseForm) check(c *fields) {
	f.Entry.check(c)
	f.Entry.notReplaced(c)
	c.id("holdId", string(f.HoldID))
	c.needed("reason", f.Reason)
}

func (f ReleaseForm) enter(in *entering) groundhand.Release {
	known[groundhand.Hold](in, "hold", at("holdId", f.HoldID))
	before, err := store.FindStanding[groundhand.Release](in.ctx, in.tx, store.ByHold, []groundhand.EntryID{f.HoldID})
	if !in.failed(err) && len(before) > 0 {
		in.Add(groundhand.CodeConflict, "holdId", "This hold was released on %s.", before[0].HappenedOn)
	}
	r := groundhand.Release{ID: entryID(in), Recorded: in.told(f.Entry, When{At: in.now}), HoldID: f.HoldID, Reason: f.Reason}
	add(in, r)
	result(in, r.ID)
	return r
}

// RetentionForm says how long records of a class are kept, from a day on. It is the employer's policy.
type RetentionForm struct {
	Entry
	Class  groundhand.RetentionClass
	After  groundhand.RetentionStart // from when the months count; training records count from the end of employment
	Months int                       // 0 to 1200
	Basis  string                    // on what ground
	From   groundhand.Date           // from this day on; up to five years ahead
}

const mostRetention = 1200 // months

// SetRetention enters a retention. The latest that has begun is in force.
func (d *Desk) SetRetention(ctx context.Context, by groundhand.Account, key string, f RetentionForm) (groundhand.Retention, error) {
	return once(ctx, d, by, key, act{name: "setRetention", may: access.SetRetention}, f, one[groundhand.Retention])
}

func (f RetentionForm) check(c *fields) {
	f.Entry.check(c)
	oneOf(c, "class", f.Class, groundhand.TrainingRecords, groundhand.InspectionRecords, groundhand.AnswerRecords, groundhand.NoticeRecords)
	oneOf(c, "after", f.After, groundhand.EmploymentEnded, groundhand.ItemRetired, groundhand.WhenRecorded)
	if f.Class == groundhand.TrainingRecords && f.After != "" && f.After != groundhand.EmploymentEnded {
		c.wrong("after", "Training records are needed as long as somebody is here; they count from the end of employment.")
	}
	c.number("months", f.Months, 0, mostRetention)
	c.needed("basis", f.Basis)
	c.dayGiven("from", f.From, c.horizon(mostHorizon))
}

func (f RetentionForm) enter(in *entering) groundhand.Retention {
	correct[groundhand.Retention](in, "retention", f.Entry)
	r := groundhand.Retention{ID: entryID(in), Recorded: in.told(f.Entry, When{On: f.From}), Class: f.Class, After: f.After, Months: f.Months, Basis: f.Basis}
	add(in, r)
	result(in, r.ID)
	return r
}
