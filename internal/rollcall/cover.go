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
	CrewID       groundhand.CrewID     // the crew as it is on the day on which the window starts; empty: only the people named
	People       []groundhand.WorkerID // people who join them
	Absent       []groundhand.WorkerID // people who will not be there
	FromAt, ToAt groundhand.Instant    // the window; ToAt is not in it
	DeviceID     groundhand.DeviceID   // empty: not told, so never ready
	Aloft        int                   // people aloft at a time
	Methods      []groundhand.Method   // methods the site allows; nil: those such a crew uses; empty: not told
	Near50V      groundhand.Answer     // empty: unknown
	SiteKind     groundhand.SiteKind   // empty: field
	CallPlan     groundhand.Answer     // empty: unknown
	RuleSetID    groundhand.RuleSetID  // empty: our own of that day
	PlannedAloft []groundhand.WorkerID
	Duties       groundhand.Duties
}

// CoverAnswer is the answer with the complete question it was made from: a cover-question/1 file that gives the same answer anywhere.
type CoverAnswer struct {
	RuleSetID groundhand.RuleSetID // that judged
	Question  readiness.Question
	Answer    readiness.Answer
}

// longestWindow bounds what is asked at once: a storm deployment lasts days, not months.
const longestWindow = 31 * 24 * time.Hour

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
	if q.Aloft < 0 {
		p.Add(groundhand.CodeInvalid, "aloft", "The number of people aloft cannot be negative.")
	}
	for i, m := range q.Methods {
		if !slices.Contains(groundhand.Methods, m) {
			p.Add(groundhand.CodeInvalid, fmt.Sprintf("methods[%d]", i), "The method %q is not one of %v.", m, groundhand.Methods)
		}
	}
	return p.Err()
}

// Cover answers one question.
func (r *Roll) Cover(ctx context.Context, q CoverQuestion) (CoverAnswer, error) {
	f, err := r.coverFacts(ctx, []CoverQuestion{q})
	if err != nil {
		return CoverAnswer{}, err
	}
	return f.answer(q)
}

func (f *coverFacts) answer(q CoverQuestion) (CoverAnswer, error) {
	question, set, err := f.question(q)
	if err != nil {
		return CoverAnswer{}, err
	}
	answer, err := readiness.Judge(question)
	return CoverAnswer{set, question, answer}, err
}

// question writes the complete question out of the records.
func (f *coverFacts) question(q CoverQuestion) (readiness.Question, groundhand.RuleSetID, error) {
	if err := q.Check(); err != nil {
		return readiness.Question{}, "", err
	}
	day := f.roll.dayOf(q.FromAt)
	set, rules, err := f.shelf.on(day, q.RuleSetID)
	if err != nil {
		return readiness.Question{}, "", err
	}
	crew, people, err := f.people(q)
	if err != nil {
		return readiness.Question{}, "", err
	}
	device, err := f.deviceOf(q.DeviceID)
	if err != nil {
		return readiness.Question{}, "", err
	}
	rules.Cover = f.coverRules(set.ID, rules)
	out := readiness.Question{
		Name: q.name(), Yard: string(crew.YardID), Window: readiness.Window{From: q.FromAt, To: q.ToAt, Zone: f.roll.zone},
		Job: q.job(crew, rules.Cover), Device: device, Rules: rules.Cover, People: []readiness.Person{},
	}
	c := f.roster.counting(rules, q.RuleSetID, familiesAsked(device, rules.Cover), q.FromAt, q.ToAt)
	for _, who := range people {
		p, err := c.person(who, f.lineUps[day].of[who])
		if err != nil {
			return out, "", err
		}
		if slices.Contains(q.Absent, who) {
			p.Unavailable = append(p.Unavailable, readiness.Absence{
				Interval: readiness.Interval{From: readiness.Edge{At: q.FromAt}, To: q.ToAt}, Why: readiness.WhyOther})
		}
		out.People = append(out.People, p)
	}
	return out, set.ID, nil
}

// people lists who is asked about, in order of id. Who is absent stays in the question as absent: a duty of theirs still has to be held.
func (f *coverFacts) people(q CoverQuestion) (groundhand.Crew, []groundhand.WorkerID, error) {
	var crew groundhand.Crew
	people := slices.Clone(q.People)
	if q.CrewID != "" {
		l := f.lineUps[f.roll.dayOf(q.FromAt)]
		var err error
		if crew, err = l.crew(q.CrewID); err != nil {
			return crew, nil, err
		}
		people = append(people, l.members[q.CrewID]...)
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

// unknownDevice stands for a device that was not told.
const unknownDevice = "not told"

func (f *coverFacts) deviceOf(id groundhand.DeviceID) (*readiness.Device, error) {
	if id == "" {
		return &readiness.Device{ID: unknownDevice, OutOfService: []readiness.Interval{}}, nil
	}
	d, there := f.devices[id]
	if !there {
		return nil, groundhand.NotFound("device", "There is no device %q.", id)
	}
	return f.roll.device(d, f.looks[id]), nil
}

func (q CoverQuestion) name() string {
	if q.Name != "" {
		return q.Name
	}
	return "crew " + string(q.CrewID)
}

func (q CoverQuestion) job(crew groundhand.Crew, rules readiness.Rules) readiness.Job {
	j := readiness.Job{
		ID: q.name(), Buckets: []readiness.Bucket{{ID: "B1", People: q.Aloft}}, Methods: q.allowed(crew, rules), Near50V: yesNo(q.Near50V),
		Site: readiness.Site{Kind: readiness.Field, RuleText: readiness.General}, CallPlan: yesNo(q.CallPlan), Exclusive: []readiness.Duty{},
	}
	if q.SiteKind != "" {
		j.Site.Kind = readiness.SiteKind(strings.ToLower(string(q.SiteKind)))
	}
	for _, d := range q.Duties {
		j.Exclusive = append(j.Exclusive, readiness.Duty{Duty: d.Duty, Person: string(d.WorkerID)})
	}
	for _, w := range q.PlannedAloft {
		j.PlannedAloft = append(j.PlannedAloft, string(w))
	}
	return j
}

// allowed says of every method of the rules whether the site allows it. Not told is unknown; without a site it is what such a crew uses:
// two people have only one below, who rescues alone.
func (q CoverQuestion) allowed(crew groundhand.Crew, rules readiness.Rules) map[string]readiness.YesNo {
	out := map[string]readiness.YesNo{}
	for _, m := range rules.Methods {
		method := groundhand.Method(m.ID)
		switch {
		case q.Methods == nil && crew.ID != "":
			out[m.ID] = yesIf((method == groundhand.LoneKit) == (crew.NormalSize <= 2))
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
