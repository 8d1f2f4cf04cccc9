package training

import (
	"context"
	"errors"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// DrillForm records runs that were made, in a booked session or outside one.
type DrillForm struct {
	SessionID groundhand.SessionID // empty: outside a booked session
	Runs      []RunForm            // 1 to 100
}

// RunForm is one run with the people in it. A correction of a run states it whole, people included: whoever is not named any more is
// withdrawn from it.
type RunForm struct {
	Entry
	When
	Method        groundhand.Method
	Scenario      groundhand.Scenario
	FamilyID      groundhand.FamilyID // empty: that of the device
	DeviceID      groundhand.DeviceID
	KitID         groundhand.KitID
	Announced     bool
	KitState      groundhand.KitState
	LoweringMeans groundhand.LoweringMeans
	HeightCM      int
	OutreachCM    int
	CasualtyKind  groundhand.CasualtyKind
	CasualtyKG    int // of a mannequin only: a person's weight is never stored
	WorkClothes   groundhand.Answer
	Dark          bool
	Weather       string
	GroundCount   int
	StartedBy     groundhand.StartConvention
	Marks         groundhand.StageMarks
	Complete      bool
	Stopped       bool
	Theory        bool
	WatchedBy     groundhand.WorkerID
	Remarks       string
	Steps         groundhand.CriticalSteps
	Parts         []PartForm // 1 to 30
}

// PartForm is one person's part in a run.
type PartForm struct {
	WorkerID     groundhand.WorkerID
	Role         groundhand.Role
	CriticalFail bool
}

// Drill is what was recorded: the runs in the order of the form, and the parts of all of them.
type Drill struct {
	Runs  []groundhand.Run
	Parts []groundhand.RunPart
}

// RecordDrill enters runs and who took which part in them.
func (d *Desk) RecordDrill(ctx context.Context, by groundhand.Account, key string, f DrillForm) (Drill, error) {
	return once(ctx, d, by, key, act{name: "recordDrill", may: access.RecordDrill}, f, drillAgain)
}

func (f DrillForm) check(c *fields) {
	c.maybeID("sessionId", string(f.SessionID))
	if len(f.Runs) == 0 {
		c.wrong("runs", "Give at least one run.")
	}
	if !c.atMost("runs", len(f.Runs), mostRuns) {
		return
	}
	for i, r := range f.Runs {
		c.within("runs", i, func() { r.check(c) })
	}
}

func (r RunForm) check(c *fields) {
	r.Entry.check(c)
	r.happened(c)
	c.method("method", r.Method)
	c.maybeID("kitId", string(r.KitID))
	c.maybeID("deviceId", string(r.DeviceID))
	c.maybeID("familyId", string(r.FamilyID))
	if r.DeviceID == "" {
		c.familyNeeded("familyId", r.Method, r.FamilyID, r.origin())
	}
	r.checkCircumstances(c)
	r.checkCourse(c)
	r.checkParts(c)
}

// checkCircumstances looks at the facts without which a time means nothing.
func (r RunForm) checkCircumstances(c *fields) {
	noneOr(c, "scenario", r.Scenario, groundhand.Unconscious, groundhand.HangingOutside, groundhand.Pinned, groundhand.HeatIllness, groundhand.BucketFire, groundhand.OtherScenario)
	noneOr(c, "kitState", r.KitState, groundhand.AsFound, groundhand.LaidOut, groundhand.NoKit)
	noneOr(c, "loweringMeans", r.LoweringMeans, groundhand.PoweredLower, groundhand.AuxiliaryPower, groundhand.HandPump, groundhand.BleedDown, groundhand.SecondDevice, groundhand.NotRecorded)
	c.number("heightCm", r.HeightCM, 0, mostHeightCM)
	c.number("outreachCm", r.OutreachCM, 0, mostHeightCM)
	noneOr(c, "casualtyKind", r.CasualtyKind, groundhand.Mannequin, groundhand.PersonDown, groundhand.NoCasualty)
	c.number("casualtyKg", r.CasualtyKG, 0, mostKG)
	if r.CasualtyKG != 0 && r.CasualtyKind != groundhand.Mannequin {
		c.wrong("casualtyKg", "Give a mass for a mannequin only; a person's weight is not kept.")
	}
	c.answer("workClothes", r.WorkClothes)
	c.words("weather", r.Weather)
	c.number("groundCount", r.GroundCount, 0, mostParts)
}

// checkCourse looks at what was seen of the run itself.
func (r RunForm) checkCourse(c *fields) {
	noneOr(c, "startedBy", r.StartedBy, groundhand.AtAlarm, groundhand.AtFirstMove, groundhand.StartUnknown)
	c.take("", r.Marks.Check("marks"))
	if r.Complete && r.Stopped {
		c.wrong("complete", "A run that was stopped for safety is not complete.")
	}
	c.maybeID("watchedBy", string(r.WatchedBy))
	c.remark("remarks", r.Remarks)
	c.steps("steps", r.Steps)
}

func (r RunForm) checkParts(c *fields) {
	if len(r.Parts) == 0 {
		c.wrong("parts", "Say who took part.")
	}
	if !c.atMost("parts", len(r.Parts), mostParts) {
		return
	}
	for i, p := range r.Parts {
		c.within("parts", i, func() {
			p.check(c)
			p.fits(c, r.Method, r.WatchedBy)
		})
		for _, before := range r.Parts[:i] {
			c.within("parts", i, func() { p.beside(c, r.Method, before) })
		}
	}
}

func (p PartForm) check(c *fields) {
	c.id("workerId", string(p.WorkerID))
	oneOf(c, "role", p.Role, groundhand.Roles...)
	if p.CriticalFail && !p.Role.Rescues() {
		c.wrong("criticalFail", "Only a rescuer can fail a critical step.")
	}
}

// fits looks at a rescuer's part beside the facts of the run.
func (p PartForm) fits(c *fields, m groundhand.Method, watchedBy groundhand.WorkerID) {
	if !p.Role.Rescues() {
		return
	}
	c.rescueRole("role", m, p.Role)
	if p.WorkerID != "" && p.WorkerID == watchedBy {
		c.wrong("workerId", "Whoever watched the run was not one of its rescuers.")
	}
}

// beside refuses what two people of one run cannot both be.
func (p PartForm) beside(c *fields, m groundhand.Method, other PartForm) {
	if p.WorkerID == other.WorkerID && p.WorkerID != "" {
		c.wrong("workerId", "This worker is in the run twice; one person has one part.")
	}
	if !p.Role.Rescues() || !other.Role.Rescues() || m == groundhand.FirstAid || m == groundhand.Familiarisation {
		return // several people may be shown something, or practise first aid, side by side
	}
	switch {
	case p.Role == other.Role && (p.Role != groundhand.Second || m == groundhand.PairKit):
		c.wrong("role", "A run has one %s; somebody has that part already.", p.Role)
	case (p.Role == groundhand.Lone) != (other.Role == groundhand.Lone):
		c.wrong("role", "A lone rescuer has no other rescuer beside.")
	}
}

func (f DrillForm) enter(in *entering) Drill {
	session, _ := fetch[groundhand.Session](in, "session", at("sessionId", f.SessionID))
	var out Drill
	for i, r := range f.Runs {
		in.within("runs", i, func() { r.enter(in, session, f.SessionID, &out) })
	}
	add(in, out.Runs...)
	add(in, out.Parts...)
	for _, run := range out.Runs {
		result(in, run.ID)
	}
	for _, part := range out.Parts {
		result(in, part.ID)
	}
	return out
}

func (r RunForm) enter(in *entering, session groundhand.Session, id groundhand.SessionID, out *Drill) {
	old, corrects := correct[groundhand.Run](in, "run", r.Entry)
	known[groundhand.Kit](in, "kit", at("kitId", r.KitID))
	known[groundhand.Worker](in, "worker", r.people()...)
	run := r.run(in)
	run.SessionID = id
	if run.FamilyID == "" && r.DeviceID != "" && exists[groundhand.Device](in, string(r.DeviceID)) {
		in.familyNeeded("familyId", r.Method, "", r.origin()) // a device that nobody has classed yet
	}
	if session.ID != "" {
		in.insideSession(r.When, session)
	}
	for i, p := range r.Parts {
		in.mayAbout(access.RecordDrill, index("parts", i)+".workerId", p.WorkerID, run.HappenedOn)
	}
	parts := r.parts(in, run)
	if corrects {
		in.replaceParts(old.ID, r.Entry, run.Recorded, parts)
	}
	out.Runs = append(out.Runs, run)
	out.Parts = append(out.Parts, parts...)
}

func (r RunForm) people() []ref {
	out := []ref{at("watchedBy", r.WatchedBy)}
	for i, p := range r.Parts {
		out = append(out, at(index("parts", i)+".workerId", p.WorkerID))
	}
	return out
}

func (r RunForm) run(in *entering) groundhand.Run {
	return groundhand.Run{
		ID: groundhand.RunID(in.tx.NewID()), Recorded: in.told(r.Entry, r.When), Method: r.Method, Scenario: r.Scenario,
		FamilyID: in.familyOf(r.FamilyID, r.DeviceID, r.day(&in.fields)), DeviceID: r.DeviceID, KitID: r.KitID, Announced: r.Announced, KitState: r.KitState,
		LoweringMeans: r.LoweringMeans, HeightCM: r.HeightCM, OutreachCM: r.OutreachCM, CasualtyKind: r.CasualtyKind,
		CasualtyKG: r.CasualtyKG, WorkClothes: r.WorkClothes, Dark: r.Dark, Weather: r.Weather, GroundCount: r.GroundCount,
		StartedBy: r.StartedBy, Marks: r.Marks, Complete: r.Complete, Stopped: r.Stopped, Theory: r.Theory, WatchedBy: r.WatchedBy,
		Remarks: r.Remarks, Steps: r.Steps,
	}
}

func (r RunForm) parts(in *entering, run groundhand.Run) []groundhand.RunPart {
	told := run.Recorded
	told.ReplacesID, told.Because = "", ""
	out := make([]groundhand.RunPart, len(r.Parts))
	for i, p := range r.Parts {
		out[i] = groundhand.RunPart{ID: entryID(in), Recorded: told, RunID: run.ID, WorkerID: p.WorkerID, Role: p.Role, CriticalFail: p.CriticalFail}
	}
	return out
}

// insideSession refuses a run on a day on which its session was not held. The minute is left free: a drill may run over.
func (in *entering) insideSession(w When, s groundhand.Session) {
	day, first, last := w.day(&in.fields), When{At: s.StartAt}.day(&in.fields), When{At: s.EndAt}.day(&in.fields)
	if day < first || day > last {
		in.Add(groundhand.CodeConflict, "on", "The session is on %s, the run on %s; record it without the session or with the day of the session.", first, day)
	}
}

// replaceParts makes the parts of a corrected run correct those of the old one, person by person, and withdraws whoever is not in the
// run any more.
func (in *entering) replaceParts(old groundhand.RunID, e Entry, told groundhand.Recorded, parts []groundhand.RunPart) {
	before, err := store.FindStanding[groundhand.RunPart](in.ctx, in.tx, store.ByRun, []groundhand.RunID{old})
	if in.failed(err) {
		return
	}
	for _, was := range before {
		in.mayAbout(access.RecordDrill, "replaces", was.WorkerID, was.HappenedOn)
		in.correcting(was.ID, e.words())
		if i := partOf(parts, was.WorkerID); i >= 0 {
			parts[i].ReplacesID, parts[i].Because = was.ID, told.Because
			continue
		}
		gone := told
		gone.ReplacesID = ""
		add(in, groundhand.Withdrawal{ID: entryID(in), Recorded: gone, WithdrawsID: was.ID})
	}
}

func partOf(parts []groundhand.RunPart, w groundhand.WorkerID) int {
	for i, p := range parts {
		if p.WorkerID == w {
			return i
		}
	}
	return -1
}

func drillAgain(ctx context.Context, s *store.Store, ids []string) (Drill, error) {
	var out Drill
	for _, id := range ids {
		run, err := store.Get[groundhand.Run](ctx, s, id)
		if errors.Is(err, groundhand.CodeNotFound) {
			break // the runs come first, the parts after them
		}
		if err != nil {
			return out, err
		}
		out.Runs = append(out.Runs, run)
	}
	var err error
	out.Parts, err = manyAgain[groundhand.RunPart](ctx, s, ids[len(out.Runs):])
	return out, err
}

// PartCorrection corrects one person's part in a run, or, without Replaces, adds somebody who was forgotten.
type PartCorrection struct {
	Entry
	RunID groundhand.RunID
	PartForm
}

// CorrectPart enters one person's part in a run that is recorded; the parts of the others stay as they are. HR may correct whose part it
// was, and nothing else of it.
func (d *Desk) CorrectPart(ctx context.Context, by groundhand.Account, key string, f PartCorrection) (groundhand.RunPart, error) {
	a := act{name: "correctPart", may: access.RecordDrill}
	if f.identifies(by) {
		a.may = access.Correct
	}
	return once(ctx, d, by, key, a, f, one[groundhand.RunPart])
}

func (f PartCorrection) check(c *fields) {
	f.Entry.check(c)
	c.id("runId", string(f.RunID))
	f.PartForm.check(c)
}

func (f PartCorrection) enter(in *entering) groundhand.RunPart {
	old, corrects := correct[groundhand.RunPart](in, "part in a run", f.Entry)
	if corrects && old.RunID != f.RunID {
		in.Add(groundhand.CodeConflict, "replaces", "That part belongs to another run.")
	}
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID))
	identifies := f.identifies(in.by)
	if corrects && !identifies {
		in.mayAbout(access.RecordDrill, "replaces", old.WorkerID, old.HappenedOn)
	}
	p := groundhand.RunPart{ID: entryID(in), RunID: f.RunID, WorkerID: f.WorkerID, Role: f.Role, CriticalFail: f.CriticalFail}
	if run, ok := fetch[groundhand.Run](in, "run", at("runId", f.RunID)); ok {
		p.Recorded = in.told(f.Entry, When{run.HappenedOn, run.HappenedAt})
		if !identifies {
			in.mayAbout(access.RecordDrill, "workerId", f.WorkerID, run.HappenedOn)
		}
		in.fitsRun(f, run)
	}
	if identifies {
		in.onlyWho(!corrects || sameButWho(old, p))
	}
	add(in, p)
	result(in, p.ID)
	return p
}

// fitsRun looks at a part beside the other parts of its run.
func (in *entering) fitsRun(f PartCorrection, run groundhand.Run) {
	f.PartForm.fits(&in.fields, run.Method, run.WatchedBy)
	others, err := store.FindStanding[groundhand.RunPart](in.ctx, in.tx, store.ByRun, []groundhand.RunID{run.ID})
	if in.failed(err) {
		return
	}
	for _, o := range others {
		if o.ID != f.Replaces {
			f.PartForm.beside(&in.fields, run.Method, PartForm{o.WorkerID, o.Role, o.CriticalFail})
		}
	}
}
