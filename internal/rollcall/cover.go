package rollcall

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rulebook"
)

// CoverQuestion asks whether a crew may be sent and who may go aloft.
type CoverQuestion struct {
	Name         string                // what the question calls itself; empty: the crew
	CrewID       groundhand.CrewID     // the crew as it is over the window; empty: only the people named
	People       []groundhand.WorkerID // people who join them
	Absent       []groundhand.WorkerID // people who will not be there
	FromAt, ToAt groundhand.Instant    // the window; ToAt is not in it
	JobID        groundhand.JobID      // the booked job, whose briefings count; empty: none
	DeviceID     groundhand.DeviceID   // empty: not told, so never ready
	KitID        groundhand.KitID      // empty: the one on the device
	Aloft        int                   // people aloft at a time, over all buckets
	Buckets      []int                 // people in each bucket; empty: one bucket
	Methods      []groundhand.Method   // methods the site allows; nil: those such a crew uses; empty: not told
	Near50V      groundhand.Answer     // empty: unknown
	SiteKind     groundhand.SiteKind   // empty: field
	RuleText     groundhand.RuleText   // empty: general
	HiresTrained groundhand.Answer     // asked of tree trimmers; empty: unknown
	CallPlan     groundhand.Answer     // empty: unknown
	RuleSetID    groundhand.RuleSetID  // empty: our own of that day
	PlannedAloft []groundhand.WorkerID
	Duties       groundhand.Duties
	AsKnownAt    groundhand.Instant // as known at this moment; zero: with everything that is known

	// What the foreman says on the spot; empty: as recorded.
	ControlsChecked, KitOnDevice, KitSuits groundhand.Answer
	// Looks says whether looks of the day of departure may be supposed.
	Looks Looks
	// Changes asks for the least change where the answer falls short; nil: nobody asks.
	Changes *Changes
}

// CoverAnswer is the answer with the complete question it was made from: a cover-question/1 file that gives the same answer anywhere.
type CoverAnswer struct {
	RuleSetID groundhand.RuleSetID // that judged
	Question  readiness.Question
	Answer    readiness.Answer
	Looks     []Look // looks that the verdict supposes will be made before departure, and be good
	Gear      []GearLine
	LeftOut   int // people, kits and devices too many to be weighed in a search for changes
	asked     CoverQuestion
	seen      *coverFacts
}

// longestWindow bounds what is asked at once: a storm deployment lasts days, not months.
const longestWindow = 31 * 24 * time.Hour

// mostBuckets is more than hang on any one device.
const mostBuckets = 16

// Check refuses what can be seen without the records, all at once.
func (q CoverQuestion) Check() error {
	var p groundhand.Problems
	switch {
	case q.FromAt == 0 || q.ToAt <= q.FromAt:
		p.Add(groundhand.CodeInvalid, "to", "The window ends before it starts.")
	case time.Duration(q.ToAt-q.FromAt)*time.Millisecond > longestWindow:
		p.Add(groundhand.CodeTooLarge, "to", "A window of more than 31 days is not judged in one go.")
	}
	if q.CrewID == "" && len(q.People) == 0 {
		p.Add(groundhand.CodeInvalid, "crew", "Name a crew or people.")
	}
	q.checkBuckets(&p)
	for i, m := range q.Methods {
		if !slices.Contains(groundhand.Methods, m) {
			p.Add(groundhand.CodeInvalid, fmt.Sprintf("methods[%d]", i), "The method %q is not one of %v.", m, groundhand.Methods)
		}
	}
	if q.Changes != nil {
		q.Changes.check(&p, q.FromAt)
	}
	return p.Err()
}

func (q CoverQuestion) checkBuckets(p *groundhand.Problems) {
	if q.Aloft < 0 {
		p.Add(groundhand.CodeInvalid, "aloft", "The number of people aloft cannot be negative.")
	}
	if len(q.Buckets) > mostBuckets {
		p.Add(groundhand.CodeTooLarge, "buckets", "No device carries more than %d buckets.", mostBuckets)
		return
	}
	sum := 0
	for i, n := range q.Buckets {
		if n < 0 {
			p.Add(groundhand.CodeInvalid, fmt.Sprintf("buckets[%d]", i), "The number of people in a bucket cannot be negative.")
		}
		sum += n
	}
	if len(q.Buckets) > 0 && sum != q.Aloft {
		p.Add(groundhand.CodeInvalid, "buckets", "The buckets hold %d people and %d are to be aloft; the numbers must agree.", sum, q.Aloft)
	}
}

// checkHolders refuses a duty whose holder is not among the people asked about. A duty of somebody absent still has to be held.
func (q CoverQuestion) checkHolders(p *groundhand.Problems, people []groundhand.WorkerID) {
	for i, d := range q.Duties {
		if !slices.Contains(people, d.WorkerID) {
			p.Add(groundhand.CodeInvalid, fmt.Sprintf("duties[%d].workerId", i), "Whoever has this duty is not among the people asked about.")
		}
	}
}

// Cover answers one question.
func (r *Roll) Cover(ctx context.Context, q CoverQuestion) (out CoverAnswer, err error) {
	err = r.knownBy(ctx, q.AsKnownAt, func(seen *Roll) error {
		f, err := seen.coverFacts(ctx, []CoverQuestion{q})
		if err == nil {
			out, err = f.answer(ctx, q)
		}
		return err
	})
	return out, err
}

func (f *coverFacts) answer(ctx context.Context, q CoverQuestion) (CoverAnswer, error) {
	out, err := f.question(q)
	if err != nil {
		return CoverAnswer{}, err
	}
	if q.Changes != nil {
		if err := f.addPool(&out, q); err != nil {
			return CoverAnswer{}, err
		}
	}
	out.Answer, err = readiness.JudgeWithin(ctx, out.Question)
	return out, err
}

// question writes the complete question out of the records.
func (f *coverFacts) question(q CoverQuestion) (CoverAnswer, error) {
	out := CoverAnswer{asked: q, seen: f}
	if err := q.Check(); err != nil {
		return out, err
	}
	set, rules, err := f.shelf.on(f.roll.dayOf(q.FromAt), q.RuleSetID)
	if err != nil {
		return out, err
	}
	var p groundhand.Problems // an unknown crew does not hide an unknown kit
	crew, people, err := f.people(q)
	if err := p.Take("", err); err != nil {
		return out, err
	}
	q.checkHolders(&p, people)
	rules.Cover = f.coverRules(set.ID, rules)
	out.RuleSetID = set.ID
	out.Question = readiness.Question{
		Name: q.name(), Yard: string(crew.YardID), Window: readiness.Window{From: q.FromAt, To: q.ToAt, Zone: f.roll.zone},
		Job: q.job(crew, rules.Cover), Rules: rules.Cover, People: []readiness.Person{},
	}
	if err := p.Take("", f.addGear(&out, q, rules.Inspections)); err != nil {
		return out, err
	}
	if p.Any() {
		return out, p.Err()
	}
	c := f.counting(q, rules, out.Question.Device)
	for _, who := range people {
		p, err := f.member(c, who, q)
		if err != nil {
			return out, err
		}
		out.Question.People = append(out.Question.People, p)
	}
	return out, nil
}

// counting looks as far as the question does. Where changes are searched, another device or a later window may be one.
func (f *coverFacts) counting(q CoverQuestion, rules rulebook.Rules, device *readiness.Device) counting {
	if q.Changes == nil {
		return f.roster.counting(rules, q.RuleSetID, familiesAsked(device, rules.Cover), q.FromAt, q.ToAt)
	}
	return f.roster.counting(rules, q.RuleSetID, rules.Cover.Families, q.FromAt, f.around.to)
}

// member is somebody asked about: absent while in another crew, unless they were named to join.
func (f *coverFacts) member(c counting, who groundhand.WorkerID, q CoverQuestion) (readiness.Person, error) {
	p, err := c.person(who, f.muster.at(who, q.FromAt))
	if err != nil {
		return p, err
	}
	if q.CrewID != "" && !slices.Contains(q.People, who) {
		p.Unavailable = append(p.Unavailable, f.muster.elsewhere(who, q.CrewID, q.FromAt, q.ToAt)...)
	}
	if slices.Contains(q.Absent, who) {
		p.Unavailable = append(p.Unavailable, readiness.Absence{
			Interval: readiness.Interval{From: readiness.Edge{At: q.FromAt}, To: q.ToAt}, Why: readiness.WhyOther})
	}
	return p, nil
}

// people lists who is asked about, in order of id. Who is absent stays in the question as absent: a duty of theirs still has to be held.
func (f *coverFacts) people(q CoverQuestion) (groundhand.Crew, []groundhand.WorkerID, error) {
	var crew groundhand.Crew
	people := slices.Clone(q.People)
	if q.CrewID != "" {
		var err error
		if crew, err = f.muster.crew(q.CrewID); err != nil {
			return crew, nil, err
		}
		people = append(people, f.muster.in(q.CrewID, q.FromAt, q.ToAt)...)
	}
	slices.Sort(people)
	return crew, slices.Compact(people), nil
}

// coverRules fills in what the rule set leaves to the company: its own name and the control families there are.
func (f *coverFacts) coverRules(id groundhand.RuleSetID, rules rulebook.Rules) readiness.Rules {
	out := rules.Cover
	out.ID = string(id)
	if len(out.Families) == 0 {
		out.Families = f.families
	}
	return out
}

// familiesAsked is the family of the device or, where that is not known, every family: only so can the answer be "cannot tell".
func familiesAsked(d *readiness.Device, rules readiness.Rules) []string {
	if d.Family != "" {
		return []string{d.Family}
	}
	return rules.Families
}

func (q CoverQuestion) name() string {
	if q.Name != "" {
		return q.Name
	}
	return "crew " + string(q.CrewID)
}

func (q CoverQuestion) job(crew groundhand.Crew, rules readiness.Rules) readiness.Job {
	j := readiness.Job{
		ID: q.name(), Buckets: q.buckets(), Methods: q.allowed(crew, rules), Near50V: yesNo(q.Near50V),
		Site: readiness.Site{Kind: readiness.Field, RuleText: readiness.General, NewHiresTrained: yesNo(q.HiresTrained)}, CallPlan: yesNo(q.CallPlan), Exclusive: []readiness.Duty{},
	}
	if q.SiteKind != "" {
		j.Site.Kind = readiness.SiteKind(strings.ToLower(string(q.SiteKind)))
	}
	if q.RuleText != "" {
		j.Site.RuleText = readiness.RuleText(strings.ToLower(string(q.RuleText)))
	}
	for _, d := range q.Duties {
		j.Exclusive = append(j.Exclusive, readiness.Duty{Duty: d.Duty, Person: string(d.WorkerID)})
	}
	for _, w := range q.PlannedAloft {
		j.PlannedAloft = append(j.PlannedAloft, string(w))
	}
	return j
}

// buckets are all on the one device asked about.
func (q CoverQuestion) buckets() []readiness.Bucket {
	if len(q.Buckets) == 0 {
		return []readiness.Bucket{{ID: "B1", People: q.Aloft}}
	}
	out := make([]readiness.Bucket, len(q.Buckets))
	for i, n := range q.Buckets {
		out[i] = readiness.Bucket{ID: fmt.Sprintf("B%d", i+1), People: n}
	}
	return out
}

// allowed says of every method of the rules whether the site allows it. Not told is unknown; without a site it is what such a crew uses:
// two people have only one below, who rescues alone.
func (q CoverQuestion) allowed(crew groundhand.Crew, rules readiness.Rules) map[string]readiness.YesNo {
	out := map[string]readiness.YesNo{}
	for _, m := range rules.Methods {
		method := groundhand.Method(m.ID)
		switch {
		case q.Methods == nil && crew.ID != "":
			out[m.ID] = yesIf((method == groundhand.LoneKit) == (crew.NormalSize <= 2) && method != groundhand.PoleTop)
		case len(q.Methods) > 0:
			out[m.ID] = yesIf(slices.Contains(q.Methods, method))
		default:
			out[m.ID] = readiness.Unknown
		}
	}
	return out
}

func yesIf(b bool) readiness.YesNo {
	if b {
		return readiness.Yes
	}
	return readiness.No
}
