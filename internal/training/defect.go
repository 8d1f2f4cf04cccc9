package training

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// DefectForm takes a device or a kit out of service outside any inspection.
type DefectForm struct {
	Entry
	When                          // the moment is needed; it may not lie ahead
	DeviceID  groundhand.DeviceID // this device, or
	KitID     groundhand.KitID    // this kit
	Cause     groundhand.DefectCause
	Separated bool // tagged, taken off the truck and put in the marked place
	Remarks   string
}

// RaiseDefect enters a defect. The thing is out of service from the moment of the entry until somebody else than the finder returns it;
// a thing that is retired is never returned, which is why only those who manage devices retire one. Common practice, no source.
func (d *Desk) RaiseDefect(ctx context.Context, by groundhand.Account, key string, f DefectForm) (groundhand.Defect, error) {
	return once(ctx, d, by, key, act{name: "raiseDefect", may: access.RaiseDefect}, f, one[groundhand.Defect])
}

func (f DefectForm) check(c *fields) {
	f.Entry.check(c)
	if f.At == 0 {
		c.wrong("at", "Give day and time; it is out of service from then on.")
		c.day("on", f.On, c.today())
	} else {
		f.happened(c)
	}
	c.eitherID("deviceId", string(f.DeviceID), "kitId", string(f.KitID))
	oneOf(c, "cause", f.Cause, groundhand.DefectCauses...)
	c.remark("remarks", f.Remarks)
}

func (f DefectForm) enter(in *entering) groundhand.Defect {
	of := thing{f.DeviceID, f.KitID}
	old, corrects := correct[groundhand.Defect](in, "defect", f.Entry)
	known[groundhand.Device](in, "device", at("deviceId", f.DeviceID))
	known[groundhand.Kit](in, "kit", at("kitId", f.KitID))
	made := groundhand.Defect{
		ID: entryID(in), Recorded: in.told(f.Entry, f.When), DeviceID: f.DeviceID, KitID: f.KitID, Cause: f.Cause, Separated: f.Separated, Remarks: f.Remarks,
	}
	if f.Cause == groundhand.Retired {
		in.refuseOr("cause", access.May(in.by, access.ManageDevices))
	}
	in.notRetired(of, f.Replaces)
	switch {
	case !corrects:
		in.notReturnedSince(of, made.Recorded, "at")
	case (thing{old.DeviceID, old.KitID}) != of || old.Cause == groundhand.Retired && f.Cause != groundhand.Retired || earlier(made.Recorded, old.Recorded):
		in.mayTakeBack("replaces", old.AuthorID)
		in.notReturnedSince(of, made.Recorded, "at")
	}
	add(in, made)
	result(in, made.ID)
	return made
}

// thing is a device or a kit.
type thing struct {
	device groundhand.DeviceID
	kit    groundhand.KitID
}

// field is where a form names the thing.
func (t thing) field() string {
	if t.kit != "" {
		return "kitId"
	}
	return "deviceId"
}

// about gives what stands recorded about a thing.
func about[T any](in *entering, t thing) []T {
	by, key := store.ByDevice, string(t.device)
	if t.kit != "" {
		by, key = store.ByKit, string(t.kit)
	}
	found, err := store.FindStanding[T](in.ctx, in.tx, by, []string{key})
	in.failed(err)
	return found
}

// notRetired refuses what is said of a thing that is retired; a correction may speak of the very entry that retired it.
func (in *entering) notRetired(of thing, replaces groundhand.EntryID) {
	for _, d := range about[groundhand.Defect](in, of) {
		if d.Cause == groundhand.Retired && d.ID != replaces {
			in.Add(groundhand.CodeConflict, of.field(), "This is retired since %s; a retired thing never returns.", d.HappenedOn)
			return
		}
	}
}

// notReturnedSince refuses to say of an earlier moment that something was out of service, when it was returned after that: the return did
// not know of it, and would settle it unseen.
func (in *entering) notReturnedSince(of thing, out groundhand.Recorded, field string) {
	for _, look := range about[groundhand.Inspection](in, of) {
		if look.Result == groundhand.Returned && look.ID != out.ReplacesID && earlier(out, look.Recorded) {
			in.Add(groundhand.CodeConflict, field, "This was returned to service on %s, after that. Say from when on it is out of service again.", look.HappenedOn)
			return
		}
	}
}

// outs are the entries that keep a thing out of service at the moment of another entry: what took it out and was not settled by a return
// after it. What that entry replaces does not count.
func (in *entering) outs(of thing, now groundhand.Recorded) []groundhand.Recorded {
	var out, back []groundhand.Recorded
	for _, look := range about[groundhand.Inspection](in, of) {
		switch {
		case look.ID == now.ReplacesID || earlier(now, look.Recorded):
		case look.Result == groundhand.OutOfService:
			out = append(out, look.Recorded)
		case look.Result == groundhand.Returned:
			back = append(back, look.Recorded)
		}
	}
	for _, d := range about[groundhand.Defect](in, of) {
		if !earlier(now, d.Recorded) {
			out = append(out, d.Recorded)
		}
	}
	return unsettled(out, back)
}

func unsettled(out, back []groundhand.Recorded) []groundhand.Recorded {
	var open []groundhand.Recorded
	for _, o := range out {
		settled := false
		for _, b := range back {
			settled = settled || !earlier(b, o)
		}
		if !settled {
			open = append(open, o)
		}
	}
	return open
}

// mayTakeBack refuses an act by which something would be in service again without a look: it is for those who manage devices, and not for
// the finder alone. Otherwise a withdrawal would be the easy way around a return.
func (in *entering) mayTakeBack(field string, finder groundhand.WorkerID) {
	in.refuseOr(field, access.May(in.by, access.ManageDevices))
	if finder != "" && finder == in.by.WorkerID {
		in.breaks(groundhand.OwnReturn, finder, groundhand.CodeConflict, field, "Whoever found the defect does not alone take it back; somebody else has to look.")
	}
}
