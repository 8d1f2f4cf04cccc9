package training

import (
	"context"
	"slices"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
)

// InspectionForm is a look at a device or a kit.
type InspectionForm struct {
	Entry
	When
	DeviceID  groundhand.DeviceID // of this device, or
	KitID     groundhand.KitID    // of this kit
	Kind      groundhand.InspectionKind
	Checklist string // version of the checklist used
	Lines     groundhand.InspectionLines
	Result    groundhand.InspectionResult
	Remarks   string
}

// Inspect enters a look and what follows from it. A thing with a failed critical line is out of service, and the finder of a defect
// does not alone return it: both are refused otherwise.
func (d *Desk) Inspect(ctx context.Context, by groundhand.Account, key string, f InspectionForm) (groundhand.Inspection, error) {
	return once(ctx, d, by, key, act{name: "inspect", may: access.Inspect}, f, one[groundhand.Inspection])
}

func (f InspectionForm) check(c *fields) {
	f.Entry.check(c)
	f.happened(c)
	c.eitherID("deviceId", string(f.DeviceID), "kitId", string(f.KitID))
	f.checkKind(c)
	c.words("checklist", f.Checklist)
	oneOf(c, "result", f.Result, groundhand.InService, groundhand.OutOfService, groundhand.Returned)
	c.remark("remarks", f.Remarks)
	f.checkLines(c)
}

// looksAt are the looks that a thing is given.
var (
	looksAtDevice = []groundhand.InspectionKind{groundhand.DailyLowerControls, groundhand.DeviceWeekly, groundhand.DeviceMonthly, groundhand.Yearly}
	looksAtKit    = []groundhand.InspectionKind{groundhand.WeeklyOutside, groundhand.MonthlyInside, groundhand.Yearly}
)

func (f InspectionForm) checkKind(c *fields) {
	if f.KitID != "" {
		oneOf(c, "kind", f.Kind, looksAtKit...)
		return
	}
	oneOf(c, "kind", f.Kind, looksAtDevice...)
}

func (f InspectionForm) checkLines(c *fields) {
	if !c.atMost("lines", len(f.Lines), mostSteps) {
		return
	}
	for i, line := range f.Lines {
		c.within("lines", i, func() {
			c.name("line", line.Line)
			oneOf(c, "found", line.Found, groundhand.StepYes, groundhand.StepNo, groundhand.StepNotApplicable)
		})
		if line.Critical && line.Found == groundhand.StepNo && f.Result != groundhand.OutOfService {
			c.wrong("result", "The critical line %s was not in order; the result can only be out of service.", quoted(line.Line))
		}
	}
}

// inspectorKinds are the looks of a named inspector; a crew makes the others itself. Common practice, no source.
var inspectorKinds = []groundhand.InspectionKind{groundhand.MonthlyInside, groundhand.DeviceMonthly, groundhand.Yearly}

// mayLook keeps a foreman to the looks of a crew: what puts a thing back into service, and the looks inside, are an inspector's.
func (f InspectionForm) mayLook(in *entering) {
	if in.by.Capacity != groundhand.CrewForeman {
		return
	}
	if slices.Contains(inspectorKinds, f.Kind) {
		in.Add(groundhand.CodeForbidden, "kind", "A foreman makes the daily and the weekly looks; this one is an inspector's.")
	}
	if f.Result == groundhand.Returned {
		in.Add(groundhand.CodeForbidden, "result", "Only an inspector returns something to service.")
	}
}

func (f InspectionForm) enter(in *entering) groundhand.Inspection {
	f.mayLook(in)
	old, corrects := correct[groundhand.Inspection](in, "inspection", f.Entry)
	known[groundhand.Device](in, "device", at("deviceId", f.DeviceID))
	known[groundhand.Kit](in, "kit", at("kitId", f.KitID))
	i := groundhand.Inspection{
		ID: entryID(in), Recorded: in.told(f.Entry, f.When), DeviceID: f.DeviceID, KitID: f.KitID, Kind: f.Kind,
		Checklist: f.Checklist, Lines: f.Lines, Result: f.Result, Remarks: f.Remarks,
	}
	if corrects {
		same := i.Result == old.Result && i.DeviceID == old.DeviceID && i.KitID == old.KitID && !earlier(i.Recorded, old.Recorded)
		in.mayUndoLook("replaces", old, same)
	}
	in.follows(i)
	add(in, i)
	result(in, i.ID)
	return i
}

// follows holds the result of a look against what is known of the thing.
func (in *entering) follows(i groundhand.Inspection) {
	switch i.Result {
	case groundhand.Returned:
		in.returnedByAnother(i)
	case groundhand.OutOfService:
		if i.ReplacesID == "" {
			in.notReturnedSince(thing{i.DeviceID, i.KitID}, i.Recorded, "result")
		}
	}
}

// returnedByAnother refuses a return to service of what is not out of it or is retired, and one by whoever took it out.
func (in *entering) returnedByAnother(i groundhand.Inspection) {
	of := thing{i.DeviceID, i.KitID}
	in.notRetired(of, "")
	outs := in.outs(of, i.Recorded)
	if len(outs) == 0 {
		in.Add(groundhand.CodeConflict, "result", "This is not out of service, so it cannot be returned; enter in service instead.")
	}
	for _, out := range outs {
		if out.AuthorID == in.by.WorkerID && out.AuthorID != "" {
			in.Add(groundhand.CodeConflict, "result", "Whoever found the defect does not alone return it to service; somebody else has to look.")
			return
		}
	}
}

// mayUndoLook keeps a foreman to the looks of a crew, and lets what was found be taken back only as a return would be.
func (in *entering) mayUndoLook(field string, old groundhand.Inspection, stillOut bool) {
	if in.by.Capacity == groundhand.CrewForeman && (slices.Contains(inspectorKinds, old.Kind) || old.Result == groundhand.Returned) {
		in.Add(groundhand.CodeForbidden, field, "That was an inspector's look; an inspector corrects it.")
	}
	if old.Result == groundhand.OutOfService && !stillOut {
		in.mayTakeBack(field, old.AuthorID)
	}
}
