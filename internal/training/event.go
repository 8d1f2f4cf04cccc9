package training

import (
	"context"
	"slices"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
)

// RealEventForm is a rescue that was no drill, a near miss, or a drill that hurt somebody. Nothing medical is kept.
type RealEventForm struct {
	Entry
	When     // the moment is needed; it may not lie ahead
	Kind     groundhand.RealEventKind
	CrewID   groundhand.CrewID // at least one of crew, device and kit
	DeviceID groundhand.DeviceID
	KitID    groundhand.KitID
	What     string
	// From the alarm, in seconds, up to a day; 0: not known.
	CasualtyDownSeconds int
	FirstAidSeconds     int
	Hold                bool // keep all records of crew, device and kit, whatever the retention says
}

const longestEvent = 24 * 60 * 60 // seconds

// ReportEvent enters an event and what follows from it at once: a kit that was used for real is out of service until somebody has looked at
// it, and what is held is not erased. Everybody who may report may have the records held; letting go of them is for others.
func (d *Desk) ReportEvent(ctx context.Context, by groundhand.Account, key string, f RealEventForm) (groundhand.RealEvent, error) {
	return once(ctx, d, by, key, act{name: "reportEvent", may: access.ReportEvent}, f, one[groundhand.RealEvent])
}

func (f RealEventForm) check(c *fields) {
	f.Entry.check(c)
	if f.At == 0 {
		c.wrong("at", "Give day and time.")
		c.day("on", f.On, c.today())
	} else {
		f.happened(c)
	}
	oneOf(c, "kind", f.Kind, groundhand.RealRescue, groundhand.NearMiss, groundhand.HurtInDrill)
	c.maybeID("crewId", string(f.CrewID))
	c.maybeID("deviceId", string(f.DeviceID))
	c.maybeID("kitId", string(f.KitID))
	if f.CrewID == "" && f.DeviceID == "" && f.KitID == "" {
		c.wrong("crewId", "Say which crew, device or kit it was.")
	}
	c.needed("what", f.What)
	c.number("casualtyDownSeconds", f.CasualtyDownSeconds, 0, longestEvent)
	c.number("firstAidSeconds", f.FirstAidSeconds, 0, longestEvent)
	if f.FirstAidSeconds != 0 && f.FirstAidSeconds < f.CasualtyDownSeconds {
		c.wrong("firstAidSeconds", "First aid does not begin before the casualty is down.")
	}
}

func (f RealEventForm) enter(in *entering) groundhand.RealEvent {
	_, corrects := correct[groundhand.RealEvent](in, "real event", f.Entry)
	known[groundhand.Crew](in, "crew", at("crewId", f.CrewID))
	known[groundhand.Device](in, "device", at("deviceId", f.DeviceID))
	known[groundhand.Kit](in, "kit", at("kitId", f.KitID))
	e := groundhand.RealEvent{ID: entryID(in), Recorded: in.told(f.Entry, f.When), Kind: f.Kind, CrewID: f.CrewID, DeviceID: f.DeviceID, KitID: f.KitID,
		What: f.What, CasualtyDownSeconds: f.CasualtyDownSeconds, FirstAidSeconds: f.FirstAidSeconds}
	add(in, e)
	if !corrects { // what followed from it stands by itself
		f.quarantine(in, e.Recorded)
		f.hold(in)
	}
	result(in, e.ID)
	return e
}

// quarantine takes a kit that was used for real out of service: from the event on or, when it was returned since by somebody who did not know
// of it, from now on.
func (f RealEventForm) quarantine(in *entering, told groundhand.Recorded) {
	of := thing{kit: f.KitID}
	if f.Kind != groundhand.RealRescue || f.KitID == "" || slices.ContainsFunc(about[groundhand.Defect](in, of), isRetired) {
		return
	}
	told.ReplacesID, told.Because = "", ""
	for _, look := range about[groundhand.Inspection](in, of) {
		if look.Result == groundhand.Returned && earlier(told, look.Recorded) {
			told.HappenedAt, told.HappenedOn = in.now, in.today()
		}
	}
	add(in, groundhand.Defect{ID: entryID(in), Recorded: told, KitID: f.KitID, Cause: groundhand.RealUse, Remarks: f.What})
}

func isRetired(d groundhand.Defect) bool { return d.Cause == groundhand.Retired }

// hold keeps the records of crew, device and kit, each by a hold of its own, so that each can be let go by itself.
func (f RealEventForm) hold(in *entering) {
	if !f.Hold {
		return
	}
	h := groundhand.Hold{Recorded: in.told(Entry{CameBy: f.CameBy}, When{At: in.now}), Reason: f.What}
	for _, on := range []groundhand.Hold{{CrewID: f.CrewID}, {DeviceID: f.DeviceID}, {KitID: f.KitID}} {
		if on == (groundhand.Hold{}) {
			continue
		}
		h.ID, h.CrewID, h.DeviceID, h.KitID = entryID(in), on.CrewID, on.DeviceID, on.KitID
		add(in, h)
	}
}
