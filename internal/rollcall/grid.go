package rollcall

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rulebook"
)

// KindOfJob is a kind of job in the trade's words, as far as rescue goes: how many are aloft and by which methods the site lets them be
// brought down.
type KindOfJob struct {
	Kind    JobKind
	Words   string
	Aloft   int
	Methods []groundhand.Method
}

// JobKind names a kind of job.
type JobKind string

// The kinds.
const (
	OneAloft     JobKind = "ONE_ALOFT"
	TwoAloft     JobKind = "TWO_ALOFT"
	OneAloftLone JobKind = "ONE_ALOFT_LONE"
	ManualOnly   JobKind = "MANUAL_ONLY"
)

// KindsOfJob lists the kinds, common practice, no source.
var KindsOfJob = []KindOfJob{
	{OneAloft, "one aloft, two below with the kit", 1, []groundhand.Method{groundhand.PairKit}},
	{TwoAloft, "two aloft, two below with the kit", 2, []groundhand.Method{groundhand.PairKit}},
	{OneAloftLone, "one aloft, crew of two, one below with the kit", 1, []groundhand.Method{groundhand.LoneKit}},
	{ManualOnly, "one aloft, no room for the kit, manual lowering only", 1, []groundhand.Method{groundhand.ManualLowering}},
}

// GridQuestion asks which crews could do which kinds of job on which devices.
type GridQuestion struct {
	FromAt, UntilAt groundhand.Instant    // UntilAt is not in it
	YardID          groundhand.YardID     // crews of this yard; empty: of every yard
	Crews           []groundhand.CrewID   // only these; empty: all that are sent out
	Devices         []groundhand.DeviceID // empty: for each crew those of its yard that are in service when the window starts
	Kinds           []JobKind             // empty: all
	Looks           Looks                 // left out: looks of the day are supposed, because no crew has been sent yet
	RuleSetID       groundhand.RuleSetID  // empty: our own of that day
	AsKnownAt       groundhand.Instant    // as known at this moment; zero: with everything that is known
}

// Grid is the answers, a row for each crew, and what one change would unlock most.
type Grid struct {
	FromAt, UntilAt groundhand.Instant
	RuleSetID       groundhand.RuleSetID
	Kinds           []KindOfJob
	Rows            []GridRow // in order of crew
	Unlocks         []Unlock  // at most five, most cells first
	LeftOut         int       // changes too many to be tried
}

// GridRow is one crew, with its cells in order of device and kind.
type GridRow struct {
	Crew     groundhand.Crew
	Relation groundhand.Relation // what most of its people are to the company
	Members  []groundhand.WorkerID
	Booked   []groundhand.JobID // work booked for it in the window: the cells are about instead, not besides
	Cells    []GridCell
}

// GridCell is whether a crew could do a kind of job on a device until the end of the window.
type GridCell struct {
	CellID
	Verdict    readiness.Verdict
	HoldsUntil groundhand.Instant    // the verdict of the start holds until then
	Then       *readiness.Verdict    // and is this after it; nil: it holds to the end
	Aloft      []groundhand.WorkerID // first choice; empty when there is none all through
	Conditions []readiness.Condition // to be accepted or done
	Looks      []Look                // supposed
	Findings   []readiness.Finding   // why
	Refused    error                 // coded: this cell could not be judged and is CANNOT_TELL
}

// CellID says which cell.
type CellID struct {
	CrewID   groundhand.CrewID
	DeviceID groundhand.DeviceID
	Kind     JobKind
}

// mostCells is how many cells are answered at once.
const mostCells = 20_000

// Check refuses what can be seen without the records, all at once.
func (q GridQuestion) Check() error {
	var p groundhand.Problems
	window := CoverQuestion{CrewID: "any", FromAt: q.FromAt, ToAt: q.UntilAt}
	for _, e := range groundhand.Refusals(window.Check()) {
		p.Add(e.Code, "until", "%s", e.Message)
	}
	for i, k := range q.Kinds {
		if !slices.ContainsFunc(KindsOfJob, func(known KindOfJob) bool { return known.Kind == k }) {
			p.Add(groundhand.CodeInvalid, fmt.Sprintf("kinds[%d]", i), "There is no kind of job %q.", string(k))
		}
	}
	return p.Err()
}

func (q GridQuestion) kinds() []KindOfJob {
	if len(q.Kinds) == 0 {
		return KindsOfJob
	}
	var out []KindOfJob
	for _, k := range KindsOfJob {
		if slices.Contains(q.Kinds, k.Kind) {
			out = append(out, k)
		}
	}
	return out
}

// Ask is the whole question behind a cell: near energised parts, in the field, with the call for help planned.
func (q GridQuestion) Ask(id CellID) CoverQuestion {
	out := CoverQuestion{Name: fmt.Sprintf("%s on %s: %s", id.CrewID, id.DeviceID, id.Kind), CrewID: id.CrewID, DeviceID: id.DeviceID, FromAt: q.FromAt, ToAt: q.UntilAt,
		Near50V: groundhand.Yes, CallPlan: groundhand.Yes, Looks: cmp.Or(q.Looks, LooksSupposed), RuleSetID: q.RuleSetID}
	for _, k := range KindsOfJob {
		if k.Kind == id.Kind {
			out.Aloft, out.Methods = k.Aloft, k.Methods
		}
	}
	return out
}

// Grid answers for every cell, and looks for the one change that unlocks most cells. It is a count over answers: nobody is ranked, and no
// change is made.
func (r *Roll) Grid(ctx context.Context, q GridQuestion) (out Grid, err error) {
	if err := q.Check(); err != nil {
		return Grid{}, err
	}
	err = r.knownBy(ctx, q.AsKnownAt, func(seen *Roll) error {
		out, err = seen.grid(ctx, q)
		return err
	})
	return out, err
}

func (r *Roll) grid(ctx context.Context, q GridQuestion) (Grid, error) {
	s := &storm{ask: q, kinds: q.kinds()}
	if err := r.asOfNow(ctx, func(seen *Roll) error { return s.load(ctx, seen) }); err != nil {
		return Grid{}, err
	}
	if err := s.fill(ctx); err != nil {
		return Grid{}, err
	}
	out := Grid{FromAt: q.FromAt, UntilAt: q.UntilAt, RuleSetID: s.set.ID, Kinds: s.kinds}
	for i := range s.rows {
		out.Rows = append(out.Rows, s.rows[i].GridRow)
	}
	var err error
	out.Unlocks, out.LeftOut, err = s.unlocks(ctx)
	return out, err
}

// storm is a grid being filled.
type storm struct {
	*coverFacts
	ask     GridQuestion
	kinds   []KindOfJob
	set     groundhand.RuleSet
	rules   rulebook.Rules
	members map[groundhand.CrewID][]groundhand.WorkerID // who is in a crew at some moment of the window
	rows    []stormRow
}

type stormRow struct {
	GridRow
	devices []groundhand.DeviceID
	cells   []stormCell // as Cells
}

// stormCell is a cell with the question and the answer behind it.
type stormCell struct {
	question readiness.Question
	answer   readiness.Answer
}

// load reads everything in a number of queries that does not depend on crews, devices or kinds.
func (s *storm) load(ctx context.Context, r *Roll) error {
	f := &coverFacts{roll: r, now: r.store.Now(), around: &around{to: s.ask.UntilAt}}
	s.coverFacts = f
	var err error
	if f.shelf, err = r.shelf(ctx); err != nil {
		return err
	}
	if err = f.loadFamilies(ctx); err != nil {
		return err
	}
	if s.set, s.rules, err = f.shelf.on(r.dayOf(s.ask.FromAt), s.ask.RuleSetID); err != nil {
		return err
	}
	s.rules.Cover = f.coverRules(s.set.ID, s.rules)
	if f.muster, err = r.everybody(ctx, r.dayOf(s.ask.FromAt), r.lastDay(s.ask.UntilAt)); err != nil {
		return err
	}
	if f.gear, err = r.allPlaces(ctx); err != nil {
		return err
	}
	if err := s.chooseRows(ctx); err != nil {
		return err
	}
	devices, kits := s.gearInSight()
	if err := f.gear.loadState(ctx, devices, kits, r.start(r.dayOf(s.ask.FromAt))); err != nil {
		return err
	}
	if err := s.chooseColumns(); err != nil {
		return err
	}
	if err := f.loadWork(ctx, CoverQuestion{FromAt: s.ask.FromAt}); err != nil {
		return err
	}
	return s.loadPeople(ctx)
}

// loadPeople reads the records of the crews asked about and of the relief pools of their yards.
func (s *storm) loadPeople(ctx context.Context) error {
	var workers []groundhand.WorkerID
	for _, row := range s.rows {
		workers = append(workers, row.Members...)
	}
	for _, pool := range s.pools() {
		workers = append(workers, s.members[pool.ID]...)
	}
	workers = unique(workers)
	relations, err := s.roll.relationsOn(ctx, workers, s.roll.dayOf(s.ask.FromAt))
	if err != nil {
		return err
	}
	for i := range s.rows {
		row := &s.rows[i]
		row.Relation = mostly(row.Members, relations)
		for _, j := range s.jobsOf(row.Crew.ID, s.window()) {
			row.Booked = append(row.Booked, j.ID)
		}
	}
	s.roster, err = s.roll.roster(ctx, s.shelf, workers, s.roll.start(s.roll.dayOf(s.ask.FromAt)), s.ask.UntilAt)
	return err
}

func (s *storm) window() CoverQuestion {
	return CoverQuestion{FromAt: s.ask.FromAt, ToAt: s.ask.UntilAt}
}

// chooseRows lists the crews asked about and who is in each. Unless it is asked about by name, a crew that was made for a time and that
// nobody is in is left out.
func (s *storm) chooseRows(ctx context.Context) error {
	s.members = map[groundhand.CrewID][]groundhand.WorkerID{}
	for who := range s.muster.of {
		for _, stay := range s.muster.stays(who, s.ask.FromAt, s.ask.UntilAt) {
			s.members[stay.crew] = append(s.members[stay.crew], who)
		}
	}
	var p groundhand.Problems
	for i, id := range s.ask.Crews {
		if _, there := s.muster.crews[id]; !there {
			p.Add(groundhand.CodeNotFound, fmt.Sprintf("crews[%d]", i), "There is no crew %q.", string(id))
		}
	}
	l := lineUp{crews: maps.Clone(s.muster.crews), members: s.members}
	if len(s.ask.Crews) == 0 {
		if err := s.roll.dissolve(ctx, l); err != nil {
			return err
		}
	}
	for _, c := range l.sentOut() {
		named := len(s.ask.Crews) == 0 || slices.Contains(s.ask.Crews, c.ID)
		if named && (s.ask.YardID == "" || c.YardID == s.ask.YardID) {
			people := s.members[c.ID]
			slices.Sort(people)
			s.rows = append(s.rows, stormRow{GridRow: GridRow{Crew: c, Members: slices.Compact(people)}})
		}
	}
	return p.Err()
}

// pools are the relief pools of the yards of the crews asked about, in order of id.
func (s *storm) pools() []groundhand.Crew {
	var out []groundhand.Crew
	for _, c := range s.muster.crews {
		if c.Kind == groundhand.ReliefPool && slices.ContainsFunc(s.rows, func(r stormRow) bool { return r.Crew.YardID == c.YardID }) {
			out = append(out, c)
		}
	}
	slices.SortFunc(out, func(a, b groundhand.Crew) int { return cmp.Compare(a.ID, b.ID) })
	return out
}

// gearInSight is the devices named or of the yards asked about, and the kits on them and in those yards.
func (s *storm) gearInSight() (devices []groundhand.DeviceID, kits []groundhand.KitID) {
	yards := map[groundhand.YardID]bool{}
	for _, row := range s.rows {
		yards[row.Crew.YardID] = true
	}
	for _, id := range s.ask.Devices {
		yards[s.gear.devices[id].YardID] = true
	}
	for id, d := range s.gear.devices {
		if yards[d.YardID] {
			devices = append(devices, id)
		}
	}
	for id := range s.gear.kits {
		if yards[s.gear.yardOf(id, s.ask.FromAt)] {
			kits = append(kits, id)
		}
	}
	return devices, kits
}

// chooseColumns gives each crew its devices, and refuses more cells than are answered at once.
func (s *storm) chooseColumns() error {
	var p groundhand.Problems
	for i, id := range s.ask.Devices {
		if _, there := s.gear.devices[id]; !there {
			p.Add(groundhand.CodeNotFound, fmt.Sprintf("devices[%d]", i), "There is no device %q.", string(id))
		}
	}
	ofYard := map[groundhand.YardID][]groundhand.DeviceID{}
	cells := 0
	for i := range s.rows {
		row := &s.rows[i]
		yard := row.Crew.YardID
		if row.devices = slices.Sorted(slices.Values(unique(s.ask.Devices))); len(s.ask.Devices) == 0 {
			if _, known := ofYard[yard]; !known {
				ofYard[yard] = s.inService(yard)
			}
			row.devices = ofYard[yard]
		}
		cells += len(row.devices) * len(s.kinds)
	}
	if cells > mostCells {
		p.Add(groundhand.CodeTooLarge, "crews", "This would be %d answers and at most %d are given at once; ask about fewer crews, devices or kinds.", cells, mostCells)
	}
	return p.Err()
}

func (s *storm) inService(yard groundhand.YardID) []groundhand.DeviceID {
	var out []groundhand.DeviceID
	for id, d := range s.gear.devices {
		if d.YardID == yard && !s.outNow(id) {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	return out
}

// outNow says whether a device is out of service when the window starts.
func (s *storm) outNow(id groundhand.DeviceID) bool {
	d, _ := s.gear.device(id, s.span(), s.rules.Inspections)
	return s.gear.covers(d.OutOfService, s.ask.FromAt)
}

func (s *storm) span() readiness.Window {
	return readiness.Window{From: s.ask.FromAt, To: s.ask.UntilAt, Zone: s.roll.zone}
}
