package training

import (
	"context"
	"slices"

	"groundhand/internal/access"
	"groundhand/internal/checklist"
	"groundhand/internal/groundhand"
)

// InspectionForm is a look at a device or a kit.
type InspectionForm struct {
	Entry
	When
	DeviceID  groundhand.DeviceID // of this device, or
	KitID     groundhand.KitID    // of this kit
	Kind      groundhand.InspectionKind
	Checklist string                     // id of the list used, see package checklist
	Lines     groundhand.InspectionLines // every line of the list, by its key
	Result    groundhand.InspectionResult
	Remarks   string // for a return: what was done
	// LoweringSeconds is how long the emergency lowering took from working height to ground, 1 to 3600; 0: not timed. For the monthly look at
	// a device only.
	LoweringSeconds int
}

const longestLowering = 3600 // seconds

// Inspect enters a look and what follows from it. Every line of the list is answered; a thing with a failed critical line is out of service,
// and the finder of a defect does not alone return it: all is refused otherwise. A look that finds nothing does not return anything.
func (d *Desk) Inspect(ctx context.Context, by groundhand.Account, key string, f InspectionForm) (groundhand.Inspection, error) {
	return once(ctx, d, by, key, act{name: "inspect", may: access.Inspect}, f, one[groundhand.Inspection])
}

func (f InspectionForm) check(c *fields) {
	f.Entry.check(c)
	f.happened(c)
	c.eitherID("deviceId", string(f.DeviceID), "kitId", string(f.KitID))
	oneOf(c, "kind", f.Kind, f.looks()...)
	oneOf(c, "result", f.Result, groundhand.InService, groundhand.OutOfService, groundhand.Returned)
	c.remark("remarks", f.Remarks)
	if f.Result == groundhand.Returned && f.Remarks == "" {
		c.wrong("remarks", "Say what was done before it was returned to service.")
	}
	f.checkLowering(c)
	if c.atMost("lines", len(f.Lines), mostSteps) {
		f.checkLines(c)
	}
}

func (f InspectionForm) checkLowering(c *fields) {
	c.number("loweringSeconds", f.LoweringSeconds, 0, longestLowering)
	timed := f.Kind == groundhand.DeviceMonthly && f.KitID == ""
	if f.LoweringSeconds != 0 && !timed {
		c.wrong("loweringSeconds", "Only the monthly look at a device times its emergency lowering.")
	}
	said := slices.ContainsFunc(f.Lines, func(l groundhand.InspectionLine) bool {
		return l.Line == checklist.LoweringTimed && l.Found == groundhand.StepYes
	})
	if timed && said && f.LoweringSeconds == 0 {
		c.wrong("loweringSeconds", "The list says that the lowering was timed; give the seconds.")
	}
}

// looks are the looks that the thing is given.
func (f InspectionForm) looks() []groundhand.InspectionKind {
	if f.of() == checklist.Kit {
		return []groundhand.InspectionKind{groundhand.WeeklyOutside, groundhand.MonthlyInside, groundhand.Yearly}
	}
	return []groundhand.InspectionKind{groundhand.DailyLowerControls, groundhand.DeviceWeekly, groundhand.DeviceMonthly, groundhand.Yearly}
}

func (f InspectionForm) of() checklist.Thing {
	if f.KitID != "" {
		return checklist.Kit
	}
	return checklist.Device
}

// lookedOn is the day of the look; while that is not given, today will do to look at the rest.
func (f InspectionForm) lookedOn(c *fields) groundhand.Date {
	if f.On == 0 && f.At == 0 {
		return c.today()
	}
	return f.day(c)
}

// list is the list that the form was filled in by, if it is one for this look that held by then. An older version is taken, because a pad
// of sheets lasts.
func (f InspectionForm) list(day groundhand.Date) (checklist.List, bool) {
	l, ok := checklist.ByID(f.Checklist)
	return l, ok && l.Kind == f.Kind && l.Of == f.of() && l.From <= day
}

// checkLines asks for an answer to every line of the list, once. Which line is critical is taken from the list, not from the form.
func (f InspectionForm) checkLines(c *fields) {
	list, ok := f.list(f.lookedOn(c))
	if !ok {
		f.refuseList(c)
	}
	seen, failed := map[string]bool{}, ""
	for i, line := range f.Lines {
		c.within("lines", i, func() {
			oneOf(c, "found", line.Found, groundhand.StepYes, groundhand.StepNo, groundhand.StepNotApplicable)
			if ok {
				checkLine(c, list, line, seen[line.Line])
			}
		})
		seen[line.Line] = true
		if asked, _ := list.Line(line.Line); ok && asked.Critical && line.Found == groundhand.StepNo {
			failed = line.Line
		}
	}
	for _, line := range list.Lines {
		if ok && !seen[line.Key] {
			c.wrong("lines", "The line %s of the list %s is not answered: %s", line.Key, list.ID, line.Words)
		}
	}
	if failed != "" && f.Result != groundhand.OutOfService {
		c.wrong("result", "The critical line %s was not in order; the result can only be out of service.", failed)
	}
}

// refuseList names the list that would do. A kind of look that the thing is not given is refused elsewhere.
func (f InspectionForm) refuseList(c *fields) {
	holds, any := checklist.For(f.Kind, f.of(), f.lookedOn(c))
	switch {
	case !slices.Contains(f.looks(), f.Kind):
	case any:
		c.wrong("checklist", "%s is no list for this look; on that day it is %s.", quoted(f.Checklist), holds.ID)
	default:
		c.wrong("checklist", "No list for this look holds on that day.")
	}
}

func checkLine(c *fields, list checklist.List, line groundhand.InspectionLine, again bool) {
	asked, known := list.Line(line.Line)
	switch {
	case !known:
		c.wrong("line", "%s is not on the list %s.", quoted(line.Line), list.ID)
	case again:
		c.wrong("line", "The line %s is answered twice.", line.Line)
	case asked.Critical && !asked.MayNotApply && line.Found == groundhand.StepNotApplicable:
		c.wrong("found", "The line %s is critical and always applies; answer yes or no.", line.Line)
	}
}

// lines are the answers with what the list calls critical.
func (f InspectionForm) lines(day groundhand.Date) groundhand.InspectionLines {
	list, _ := f.list(day)
	out := slices.Clone(f.Lines)
	for i := range out {
		asked, _ := list.Line(out[i].Line)
		out[i].Critical = asked.Critical
	}
	return out
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
		Checklist: f.Checklist, Lines: f.lines(f.lookedOn(&in.fields)), Result: f.Result, Remarks: f.Remarks, LoweringSeconds: f.LoweringSeconds,
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
	if in.by.WorkerID == "" {
		in.Add(groundhand.CodeForbidden, "result", "A return to service is somebody's by name; this account belongs to no worker.")
	}
	of := thing{i.DeviceID, i.KitID}
	in.notRetired(of, "")
	outs := in.outs(of, i.Recorded)
	if len(outs) == 0 {
		in.Add(groundhand.CodeConflict, "result", "This is not out of service, so it cannot be returned; enter in service instead.")
	}
	for _, out := range outs {
		if out.AuthorID == in.by.WorkerID && out.AuthorID != "" {
			in.breaks(groundhand.OwnReturn, out.AuthorID, groundhand.CodeConflict, "result", "Whoever found the defect does not alone return it to service; somebody else has to look.")
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
