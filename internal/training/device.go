package training

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
)

// FamilyForm is a new control family.
type FamilyForm struct {
	Entry
	When
	ID   groundhand.FamilyID
	Name string
}

// AddFamily enters a control family.
func (d *Desk) AddFamily(ctx context.Context, by groundhand.Account, key string, f FamilyForm) (groundhand.Family, error) {
	return once(ctx, d, by, key, act{name: "addFamily", may: access.ManageDevices}, f, one[groundhand.Family])
}

func (f FamilyForm) check(c *fields) {
	f.Entry.check(c)
	f.Entry.notReplaced(c)
	f.happened(c)
	c.id("id", string(f.ID))
	c.name("name", f.Name)
}

func (f FamilyForm) enter(in *entering) groundhand.Family {
	in.unused(string(f.ID))
	family := groundhand.Family{ID: f.ID, Recorded: in.told(f.Entry, f.When), Name: f.Name}
	add(in, family)
	result(in, family.ID)
	return family
}

// DeviceForm is a new aerial device.
type DeviceForm struct {
	Entry
	When
	ID           groundhand.DeviceID
	FamilyID     groundhand.FamilyID // empty: not known yet, see ClassDevice
	YardID       groundhand.YardID
	Type         string
	PlatformCM   int               // 1 to 20000
	AnchorCM     int               // 0: not known
	EmergencyLow groundhand.Answer // empty: unknown
}

// AddDevice enters a device. One without a control family, as hired in from elsewhere, is met by nobody: every question about it is
// answered "cannot tell" until it is classed.
func (d *Desk) AddDevice(ctx context.Context, by groundhand.Account, key string, f DeviceForm) (groundhand.Device, error) {
	return once(ctx, d, by, key, act{name: "addDevice", may: access.ManageDevices}, f, one[groundhand.Device])
}

func (f DeviceForm) check(c *fields) {
	f.Entry.check(c)
	f.Entry.notReplaced(c)
	f.happened(c)
	c.id("id", string(f.ID))
	c.maybeID("familyId", string(f.FamilyID))
	c.id("yardId", string(f.YardID))
	c.words("type", f.Type)
	c.number("platformCm", f.PlatformCM, 1, mostHeightCM)
	c.number("anchorCm", f.AnchorCM, 0, mostHeightCM)
	c.answer("emergencyLow", f.EmergencyLow)
}

func (f DeviceForm) enter(in *entering) groundhand.Device {
	in.unused(string(f.ID))
	known[groundhand.Family](in, "control family", at("familyId", f.FamilyID))
	known[groundhand.Yard](in, "yard", at("yardId", f.YardID))
	device := groundhand.Device{
		ID: f.ID, Recorded: in.told(f.Entry, f.When), FamilyID: f.FamilyID, YardID: f.YardID, Type: f.Type,
		PlatformCM: f.PlatformCM, AnchorCM: f.AnchorCM, EmergencyLow: orUnknown(f.EmergencyLow),
	}
	add(in, device)
	result(in, device.ID)
	return device
}

// KitForm is a new rescue kit.
type KitForm struct {
	Entry
	When
	ID          groundhand.KitID
	Parts       int // parts of line, 1 to 8
	RopeCM      int // 1 to 50000
	TailCM      int // 0 to the rope length
	RatedLoadKG int // as labelled, 0 to 1000; 0: not readable
	InServiceOn groundhand.Date
	RetiresOn   groundhand.Date // last day of use; empty: none set
}

// AddKit enters a kit.
func (d *Desk) AddKit(ctx context.Context, by groundhand.Account, key string, f KitForm) (groundhand.Kit, error) {
	return once(ctx, d, by, key, act{name: "addKit", may: access.ManageDevices}, f, one[groundhand.Kit])
}

func (f KitForm) check(c *fields) {
	f.Entry.check(c)
	f.Entry.notReplaced(c)
	f.happened(c)
	c.id("id", string(f.ID))
	c.number("parts", f.Parts, 1, 8)
	c.number("ropeCm", f.RopeCM, 1, mostRopeCM)
	c.number("tailCm", f.TailCM, 0, max(0, min(f.RopeCM, mostRopeCM)))
	c.number("ratedLoadKg", f.RatedLoadKG, 0, mostKG)
	c.dayGiven("inServiceOn", f.InServiceOn, c.horizon(mostHorizon))
	c.day("retiresOn", f.RetiresOn, c.horizon(mostService))
	if f.RetiresOn != 0 && f.RetiresOn < f.InServiceOn {
		c.wrong("retiresOn", "It retires on %s, before it comes into service on %s.", f.RetiresOn, f.InServiceOn)
	}
}

func (f KitForm) enter(in *entering) groundhand.Kit {
	in.unused(string(f.ID))
	kit := groundhand.Kit{
		ID: f.ID, Recorded: in.told(f.Entry, f.When), Parts: f.Parts, RopeCM: f.RopeCM, TailCM: f.TailCM,
		RatedLoadKG: f.RatedLoadKG, InServiceOn: f.InServiceOn, RetiresOn: f.RetiresOn,
	}
	add(in, kit)
	result(in, kit.ID)
	return kit
}

// PlaceForm says where a kit is from a moment on: on a device or in a yard's store.
type PlaceForm struct {
	Entry
	When
	KitID    groundhand.KitID
	DeviceID groundhand.DeviceID // on this device, or
	YardID   groundhand.YardID   // in this yard
}

// PlaceKit enters where a kit is from now on.
func (d *Desk) PlaceKit(ctx context.Context, by groundhand.Account, key string, f PlaceForm) (groundhand.KitPlacing, error) {
	return once(ctx, d, by, key, act{name: "placeKit", may: access.ManageDevices}, f, one[groundhand.KitPlacing])
}

func (f PlaceForm) check(c *fields) {
	f.Entry.check(c)
	f.happened(c)
	c.id("kitId", string(f.KitID))
	c.eitherID("deviceId", string(f.DeviceID), "yardId", string(f.YardID))
}

// eitherID asks for exactly one of two ids.
func (c *fields) eitherID(oneField, oneID, otherField, otherID string) {
	c.maybeID(oneField, oneID)
	c.maybeID(otherField, otherID)
	if (oneID == "") == (otherID == "") {
		c.wrong(oneField, "Give either %s or %s, and not both.", oneField, otherField)
	}
}

func (f PlaceForm) enter(in *entering) groundhand.KitPlacing {
	correct[groundhand.KitPlacing](in, "placing", f.Entry)
	known[groundhand.Kit](in, "kit", at("kitId", f.KitID))
	known[groundhand.Device](in, "device", at("deviceId", f.DeviceID))
	known[groundhand.Yard](in, "yard", at("yardId", f.YardID))
	p := groundhand.KitPlacing{ID: entryID(in), Recorded: in.told(f.Entry, f.When), KitID: f.KitID, DeviceID: f.DeviceID, YardID: f.YardID}
	add(in, p)
	result(in, p.ID)
	return p
}
