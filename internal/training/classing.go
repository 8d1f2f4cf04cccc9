package training

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// ClassingForm says what became known of a device after it was entered. At least one of the three is given; the others stay as they were.
type ClassingForm struct {
	Entry
	When
	DeviceID     groundhand.DeviceID
	FamilyID     groundhand.FamilyID // empty: as before
	AnchorCM     int                 // 0: as before; at most 20000
	EmergencyLow groundhand.Answer   // empty: as before
}

// ClassDevice enters what is known of a device from a moment on. Until its control family is known, nobody can be practised on it.
func (d *Desk) ClassDevice(ctx context.Context, by groundhand.Account, key string, f ClassingForm) (groundhand.Classing, error) {
	return once(ctx, d, by, key, act{name: "classDevice", may: access.ManageDevices}, f, one[groundhand.Classing])
}

func (f ClassingForm) check(c *fields) {
	f.Entry.check(c)
	f.happened(c)
	c.id("deviceId", string(f.DeviceID))
	c.maybeID("familyId", string(f.FamilyID))
	c.number("anchorCm", f.AnchorCM, 0, mostHeightCM)
	c.answer("emergencyLow", f.EmergencyLow)
	if f.FamilyID == "" && f.AnchorCM == 0 && f.EmergencyLow == "" {
		c.wrong("familyId", "Say what became known: the control family, the height of the anchor, or whether there is an emergency lowering.")
	}
}

func (f ClassingForm) enter(in *entering) groundhand.Classing {
	correct[groundhand.Classing](in, "classing", f.Entry)
	known[groundhand.Device](in, "device", at("deviceId", f.DeviceID))
	known[groundhand.Family](in, "control family", at("familyId", f.FamilyID))
	made := groundhand.Classing{
		ID: entryID(in), Recorded: in.told(f.Entry, f.When), DeviceID: f.DeviceID, FamilyID: f.FamilyID, AnchorCM: f.AnchorCM, EmergencyLow: f.EmergencyLow,
	}
	add(in, made)
	result(in, made.ID)
	return made
}

// familyOf is the control family of what was used on a day: that of the device where one is named, as far as it was known by then. The two
// may not contradict each other.
func (in *entering) familyOf(family groundhand.FamilyID, device groundhand.DeviceID, day groundhand.Date) groundhand.FamilyID {
	known[groundhand.Family](in, "control family", at("familyId", family))
	d, ok := fetch[groundhand.Device](in, "device", at("deviceId", device))
	if !ok {
		return family
	}
	classings, err := store.FindStanding[groundhand.Classing](in.ctx, in.tx, store.ByDevice, []groundhand.DeviceID{device})
	if in.failed(err) {
		return family
	}
	its := classedBy(d, classings, day)
	if its == "" || its == family {
		return family
	}
	if family != "" {
		in.Add(groundhand.CodeConflict, "familyId", "Device %s is of control family %s, not %s.", d.ID, its, quoted(string(family)))
	}
	return its
}

// classedBy is the control family of a device as it was known on a day; empty while nobody had said.
func classedBy(d groundhand.Device, classings []groundhand.Classing, day groundhand.Date) groundhand.FamilyID {
	family, last := d.FamilyID, groundhand.Recorded{}
	for _, c := range classings {
		if c.DeviceID == d.ID && c.FamilyID != "" && c.HappenedOn <= day && !earlier(c.Recorded, last) {
			family, last = c.FamilyID, c.Recorded
		}
	}
	return family
}

// earlier says whether one entry happened before another, as far as both say it: by the day, by the moment, else by when it was told.
func earlier(a, b groundhand.Recorded) bool {
	if a.HappenedOn != b.HappenedOn {
		return a.HappenedOn < b.HappenedOn
	}
	if a.HappenedAt != 0 && b.HappenedAt != 0 && a.HappenedAt != b.HappenedAt {
		return a.HappenedAt < b.HappenedAt
	}
	return a.RecordedAt < b.RecordedAt
}
