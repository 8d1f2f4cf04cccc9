package rollcall

import (
	"cmp"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rulebook"
)

// Looks says what counts of the looks that are made on the day of departure: the lower controls worked, the kit seen on this device, and
// the foreman's word that it suits everybody who goes up.
type Looks string

// The ways. Left out, looks are supposed for a day to come, when nobody can have made them, and are as recorded from that day on.
const (
	LooksByDay    Looks = ""
	LooksRecorded Looks = "RECORDED" // what nobody recorded is unknown
	LooksSupposed Looks = "SUPPOSED" // what nobody recorded will be made before departure and be good
)

// Look is one of the looks of the day.
type Look string

// The looks.
const (
	LookControls Look = "LOWER_CONTROLS" // full cycle from the lower controls
	LookKit      Look = "KIT_ON_DEVICE"  // the kit is on this device and can be reached
	LookSuits    Look = "KIT_SUITS"      // it suits everybody who goes up, with tools
)

// looksAt collects what a verdict supposes.
type looksAt struct {
	supposed bool
	made     []Look
}

func (f *coverFacts) looksAt(q CoverQuestion) *looksAt {
	ahead := f.roll.dayOf(q.FromAt) > f.roll.dayOf(f.now)
	return &looksAt{supposed: q.Looks == LooksSupposed || q.Looks == LooksByDay && ahead}
}

// or gives what is known, what was said on the spot, or, where that may be, yes as something still to be looked at.
func (l *looksAt) or(recorded readiness.YesNo, said groundhand.Answer, look Look) readiness.YesNo {
	switch {
	case said != "":
		return yesNo(said)
	case recorded != readiness.Unknown || !l.supposed:
		return recorded
	}
	if !slices.Contains(l.made, look) {
		l.made = append(l.made, look)
	}
	return readiness.Yes
}

// addGear puts device and kit into a question: the device told and the kit told or, without one, the kit that rides on it.
func (f *coverFacts) addGear(out *CoverAnswer, q CoverQuestion, asked rulebook.Inspections) error {
	looks := f.looksAt(q)
	device, kit, err := f.equipment(q, out.Question.Window, asked, looks)
	if err != nil {
		return err
	}
	out.Question.Device, out.Question.Kit, out.Looks = device, kit, looks.made
	out.Gear = f.gear.lines(out.Question, asked)
	return nil
}

// unknownDevice stands for a device that was not told.
const unknownDevice = "not told"

func (f *coverFacts) equipment(q CoverQuestion, w readiness.Window, asked rulebook.Inspections, looks *looksAt) (*readiness.Device, *readiness.Kit, error) {
	var p groundhand.Problems
	device, there := f.gear.device(q.DeviceID, w, asked)
	switch {
	case q.DeviceID == "":
		device = &readiness.Device{ID: unknownDevice, OutOfService: []readiness.Interval{}}
	case !there:
		p.Add(groundhand.CodeNotFound, "device", "There is no device %q.", string(q.DeviceID))
	default:
		device.LowerControlsChecked = looks.or(device.LowerControlsChecked, q.ControlsChecked, LookControls)
	}
	kit, err := f.kitOf(q, w, asked, looks)
	if err := p.Take("", err); err != nil {
		return nil, nil, err
	}
	return device, kit, p.Err()
}

func (f *coverFacts) kitOf(q CoverQuestion, w readiness.Window, asked rulebook.Inspections, looks *looksAt) (*readiness.Kit, error) {
	if q.DeviceID == "" && q.KitID == "" {
		return unknownKit(), nil // whatever device comes may bring one
	}
	id := cmp.Or(q.KitID, f.gear.kitOn(q.DeviceID, w.From))
	if id == "" {
		return nil, nil
	}
	kit, there := f.gear.kit(id, q.DeviceID, w, asked)
	if !there {
		return nil, groundhand.NotFound("kit", "There is no kit %q.", string(id))
	}
	briefed := f.briefed(q.JobID)
	if q.KitID != "" && looks.supposed && kit.OnDevice == readiness.No {
		kit.OnDevice = readiness.Unknown // it is meant to be put there before departure
	}
	if briefed.KitOnDevice == groundhand.Yes || briefed.KitOnDevice == groundhand.No {
		kit.OnDevice = yesNo(briefed.KitOnDevice)
	}
	kit.OnDevice = looks.or(kit.OnDevice, q.KitOnDevice, LookKit)
	kit.SuitsAll = looks.or(yesNo(briefed.KitSuits), q.KitSuits, LookSuits)
	return kit, nil
}

// unknownKit is a kit one knows nothing about.
func unknownKit() *readiness.Kit {
	return &readiness.Kit{ID: unknownDevice, OutOfService: []readiness.Interval{}}
}

// briefed is what the foreman answered last at the briefing of a job.
func (f *coverFacts) briefed(job groundhand.JobID) groundhand.Briefing {
	list := f.briefings[job]
	if job == "" || len(list) == 0 {
		return groundhand.Briefing{}
	}
	return list[len(list)-1]
}
