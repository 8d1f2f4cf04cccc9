package rollcall

import (
	"slices"
	"time"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// Usual hours of crews that work by day, common practice, no source. The shifts of fault crews are not recorded, so they are asked about
// the whole local day.
const (
	dayShiftFrom = 7 * time.Hour
	dayShiftTo   = 15*time.Hour + 30*time.Minute
)

func (d *companyDay) hours(c groundhand.Crew) readiness.Window {
	w := readiness.Window{From: d.from, To: d.to, Zone: d.roll.zone}
	if c.Kind != groundhand.FaultCrew {
		w.From, w.To = d.clock(dayShiftFrom), d.clock(dayShiftTo)
	}
	return w
}

// clock is a time of day by the wall clock. Seven in the morning lies after every change of the clock.
func (d *companyDay) clock(at time.Duration) groundhand.Instant {
	y, m, day := d.on.Civil()
	return groundhand.InstantOf(time.Date(y, m, day, 0, int(at/time.Minute), 0, 0, d.roll.zone))
}

// crewDay judges a crew for each of its control families, on a device of that family that is in service.
func (c loadedChunk) crewDay(crew groundhand.Crew) (CrewDay, error) {
	out := CrewDay{Crew: crew, Members: c.day.lineUp.members[crew.ID]}
	for _, family := range familiesOf(crew) {
		q, err := c.question(crew, family)
		if err != nil {
			return out, err
		}
		day, err := familyDay(q)
		if err != nil {
			return out, err
		}
		day.FamilyID = groundhand.FamilyID(family)
		out.Families = append(out.Families, day)
	}
	return out, nil
}

// familiesOf lists the control families of a crew; one without a name for a crew that has none.
func familiesOf(crew groundhand.Crew) []string {
	if len(crew.Families) == 0 {
		return []string{""}
	}
	return crew.Families
}

// question asks for a plain day's work: one person aloft near energised parts, in the field, with a call plan.
func (c loadedChunk) question(crew groundhand.Crew, family string) (readiness.Question, error) {
	ask := CoverQuestion{CrewID: crew.ID, Aloft: 1, Near50V: groundhand.Yes, CallPlan: groundhand.Yes}
	q := readiness.Question{Name: ask.name(), Yard: string(crew.YardID), Window: c.day.hours(crew), Job: ask.job(crew, c.day.cover), Rules: c.day.cover,
		People: []readiness.Person{}}
	q.Device, q.Kit = goodGear(family)
	count := c.roster.counting(c.day.rules, "", familiesAsked(q.Device, c.day.cover), q.Window.From, q.Window.To)
	for _, who := range c.day.lineUp.members[crew.ID] {
		p, err := count.person(who, crew.ID)
		if err != nil {
			return q, err
		}
		q.People = append(q.People, p)
	}
	return q, nil
}

// goodGear is a device of a family and a kit of which everything is good: what is asked about is the people.
func goodGear(family string) (*readiness.Device, *readiness.Kit) {
	one, none := 1, 0
	device := &readiness.Device{ID: "of family " + family, Family: family, LowerControlsChecked: readiness.Yes, EmergencyLowering: readiness.Yes, AnchorHeightCM: &one,
		OutOfService: []readiness.Interval{}}
	return device, &readiness.Kit{ID: "any kit", OnDevice: readiness.Yes, SuitsAll: readiness.Yes, Parts: &one, RopeCM: &one, TailCM: &none, RatedLoadKG: known(mostLoad),
		DueThrough: readiness.Due{Weekly: lastDay, Monthly: lastDay, Yearly: lastDay}, UseThrough: readiness.UseThrough{Never: true}, OutOfService: []readiness.Interval{}}
}

// mostLoad is more than a rule set may ask of a kit, kilograms.
const mostLoad = 100_000

// familyDay judges. When first aid alone stands in the way, the crew still has ground cover: that is asked again with first aid given.
func familyDay(q readiness.Question) (FamilyDay, error) {
	a, err := readiness.Judge(q)
	if err != nil {
		return FamilyDay{}, err
	}
	return familyDayOf(q, a)
}

// familyDayOf reads it off an answer.
func familyDayOf(q readiness.Question, a readiness.Answer) (out FamilyDay, err error) {
	out = FamilyDay{Rescuers: rescuersOf(q, a), Least: q.Rules.CrewRescuers, Verdict: a.Verdict, Findings: a.Findings, GroundCover: len(a.Choices) > 0}
	for _, p := range a.MayGoAloft {
		out.MayGoAloft = append(out.MayGoAloft, groundhand.WorkerID(p.Person))
	}
	if !out.GroundCover && slices.ContainsFunc(a.Findings, aboutFirstAid) {
		a, err = readiness.Judge(withFirstAid(q))
		out.GroundCover = len(a.Choices) > 0
	}
	return out, err
}

func aboutFirstAid(f readiness.Finding) bool {
	return f.Code == readiness.FirstAidSite || f.Code == readiness.FirstAidGround
}

func withFirstAid(q readiness.Question) readiness.Question {
	people := slices.Clone(q.People)
	given := readiness.FirstAid{From: readiness.Edge{At: q.Window.From}, Through: groundhand.DateOf(q.Window.To.In(q.Window.Zone))}
	for i := range people {
		people[i].FirstAid = []readiness.FirstAid{given}
	}
	q.People = people
	return q
}

// rescuersOf is the smallest number of rescuers over the hours: readiness counts where they are too few; otherwise those who count and
// are there all the time, and never fewer than the card was found to be met with.
func rescuersOf(q readiness.Question, a readiness.Answer) int {
	for _, f := range a.Findings {
		if count := f.Values["count"]; f.Code == readiness.CrewBelowTwo && count != nil {
			return *count
		}
	}
	n := 0
	for _, p := range q.People {
		if counts(p, q.Rules) && len(p.NotForRescue) == 0 && !away(p, q.Window) {
			n++
		}
	}
	return max(n, q.Rules.CrewRescuers)
}

func away(p readiness.Person, w readiness.Window) bool {
	return slices.ContainsFunc(p.Unavailable, func(x readiness.Absence) bool { return overlaps(x.Interval, w) })
}

func overlaps(i readiness.Interval, w readiness.Window) bool {
	return i.From.At < w.To && (i.To == 0 || w.From < i.To)
}

// counts says whether somebody counts for some role of some method, with a condition or without.
func counts(p readiness.Person, rules readiness.Rules) bool {
	limited := rules.GradeLimits[p.Grade]
	return slices.ContainsFunc(p.Capabilities, func(held readiness.Capability) bool { return countsAs(held.Role, held.State, limited, rules) })
}

// countsAs says whether a role held in a state lets somebody whose grade bars some roles count in any.
func countsAs(held readiness.Role, s readiness.State, limited []readiness.Role, rules readiness.Rules) bool {
	return slices.ContainsFunc(rolesFilled(held), func(role readiness.Role) bool { return !slices.Contains(limited, role) && stateCounts(s, role, rules) })
}

// rolesFilled: a lead stands in for a second.
func rolesFilled(r readiness.Role) []readiness.Role {
	if r == readiness.Lead {
		return []readiness.Role{readiness.Lead, readiness.Second}
	}
	return []readiness.Role{r}
}

func stateCounts(s readiness.State, role readiness.Role, rules readiness.Rules) bool {
	rule, there := rules.States[s]
	return s == readiness.Current || there && rule.Counts != readiness.CountsNo && !slices.Contains(rule.NotRoles, role)
}
