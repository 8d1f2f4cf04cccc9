package readiness_test

import (
	"slices"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// change is one difference from an ordinary morning.
type change func(*readiness.Question)

// morning is a crew of four for one person aloft, everybody a current leader of both bucket methods with first aid in date, on a device
// and with a kit that are in order: READY. Tests change what they are about.
func morning(changes ...change) readiness.Question {
	q := readiness.Question{
		Name:   "morning",
		Yard:   "Y1",
		Window: window("Europe/Dublin", "2026-06-10T07:00:00+01:00", "2026-06-10T15:30:00+01:00"),
		Job: readiness.Job{
			ID:        "J1",
			Buckets:   []readiness.Bucket{{ID: "B1", People: 1}},
			Methods:   map[string]readiness.YesNo{"PAIR_KIT": readiness.Yes, "LONE_KIT": readiness.No, "MANUAL": readiness.Yes, "POLE_TOP": readiness.No},
			Near50V:   readiness.Yes,
			Site:      readiness.Site{Kind: readiness.Field, RuleText: readiness.General},
			Exclusive: []readiness.Duty{},
			CallPlan:  readiness.Yes,
		},
		People: []readiness.Person{person("ann"), person("ben"), person("cal"), person("dee")},
		Device: &readiness.Device{ID: "D1", Family: "F1", LowerControlsChecked: readiness.Yes, EmergencyLowering: readiness.Yes,
			AnchorHeightCM: number(1400), OutOfService: []readiness.Interval{}},
		Kit:   kit(),
		Rules: rules(),
	}
	for _, c := range changes {
		c(&q)
	}
	return q
}

func number(n int) *int { return &n }

func window(zone, from, to string) readiness.Window {
	z, err := time.LoadLocation(zone)
	if err != nil {
		panic(err)
	}
	return readiness.Window{From: at(from), To: at(to), Zone: z}
}

func at(s string) groundhand.Instant {
	var i groundhand.Instant
	if err := i.UnmarshalText([]byte(s)); err != nil {
		panic(err)
	}
	return i
}

func day(s string) groundhand.Date { return groundhand.MustDate(s) }

func person(id string) readiness.Person {
	return readiness.Person{
		ID: id, Crew: "C1", Grade: "LINE", CanGoAloft: true, OperatesLower: readiness.Yes,
		Capabilities: []readiness.Capability{capability("PAIR_KIT", readiness.Lead), capability("MANUAL", readiness.Lead)},
		FirstAid:     []readiness.FirstAid{{From: readiness.Edge{Day: day("2025-01-01")}, Through: day("2027-12-31")}},
		NotForRescue: []readiness.Interval{},
		Unavailable:  []readiness.Absence{},
	}
}

func capability(method string, role readiness.Role) readiness.Capability {
	return readiness.Capability{Method: method, Role: role, Family: "F1", State: readiness.Current,
		From: readiness.Edge{Day: day("2025-01-01")}, Through: day("2027-12-31")}
}

func kit() *readiness.Kit {
	good := day("2027-12-31")
	return &readiness.Kit{ID: "K1", OnDevice: readiness.Yes, SuitsAll: readiness.Yes, Parts: number(4), RopeCM: number(6000), TailCM: number(400),
		RatedLoadKG: number(200), DueThrough: readiness.Due{Weekly: good, Monthly: good, Yearly: good},
		UseThrough: readiness.UseThrough{Never: true}, OutOfService: []readiness.Interval{}}
}

func rules() readiness.Rules {
	pair := []readiness.Role{readiness.Lead, readiness.Second}
	kitNeeds := []readiness.Need{readiness.NeedDevice, readiness.NeedLowerControls, readiness.NeedKit}
	return readiness.Rules{
		ID: "R1", Families: []string{"F1", "F2"}, CrewRescuers: 2, CallPlanMissing: readiness.Conditional,
		Methods: []readiness.Method{
			{ID: "PAIR_KIT", Roles: pair, Rescuers: 2, Needs: kitNeeds, PerFamily: true},
			{ID: "LONE_KIT", Roles: []readiness.Role{readiness.Lone}, Rescuers: 1, Needs: kitNeeds, PerFamily: true},
			{ID: "MANUAL", Roles: pair, Rescuers: 2, PerFamily: true, Conditional: true, AimMissed: "FIRST_AID_WITHIN_3_MIN",
				Needs: []readiness.Need{readiness.NeedDevice, readiness.NeedLowerControls, readiness.NeedEmergencyLowering}},
			{ID: "POLE_TOP", Roles: pair, Rescuers: 2, Needs: []readiness.Need{}},
		},
		States: map[readiness.State]readiness.StateRule{
			readiness.InGrace:     {Counts: readiness.CountsFull, NotRoles: []readiness.Role{}},
			readiness.OnExtension: {Counts: readiness.CountsConditional, Condition: "EXTENSION_IN_USE", NotRoles: []readiness.Role{readiness.Lone}},
			readiness.Provisional: {Counts: readiness.CountsNo, NotRoles: []readiness.Role{}},
		},
		GradeLimits: map[string][]readiness.Role{"APPRENTICE_1": {readiness.Lead, readiness.Lone}},
		FirstAid:    readiness.FirstAidNumbers{Field: 2, Trimmers: 1, Fixed: 1, Below50V: 1, Ground: 1},
	}
}

func aloft(n int) change {
	return func(q *readiness.Question) { q.Job.Buckets = []readiness.Bucket{{ID: "B1", People: n}} }
}

func allows(method string, y readiness.YesNo) change {
	return func(q *readiness.Question) { q.Job.Methods[method] = y }
}

func people(ids ...string) change {
	return func(q *readiness.Question) {
		q.People = slices.DeleteFunc(q.People, func(p readiness.Person) bool { return !slices.Contains(ids, p.ID) })
	}
}

func each(ids []string, edit func(*readiness.Person)) change {
	return func(q *readiness.Question) {
		for i := range q.People {
			if slices.Contains(ids, q.People[i].ID) {
				edit(&q.People[i])
			}
		}
	}
}

func who(ids ...string) []string { return ids }

func noCapability(p *readiness.Person) { p.Capabilities = []readiness.Capability{} }
func noFirstAid(p *readiness.Person)   { p.FirstAid = []readiness.FirstAid{} }
func staysLow(p *readiness.Person)     { p.CanGoAloft = false }
func heldBack(p *readiness.Person) {
	p.NotForRescue = []readiness.Interval{{From: readiness.Edge{Day: day("2026-01-01")}}}
}

func awayFrom(from string) func(*readiness.Person) {
	return func(p *readiness.Person) {
		p.Unavailable = []readiness.Absence{{Interval: readiness.Interval{From: readiness.Edge{At: at(from)}}, Why: readiness.WhyLeave}}
	}
}

func practised(list ...readiness.Capability) func(*readiness.Person) {
	return func(p *readiness.Person) { p.Capabilities = list }
}

func site(kind readiness.SiteKind, text readiness.RuleText, hires readiness.YesNo) change {
	return func(q *readiness.Question) {
		q.Job.Site = readiness.Site{Kind: kind, RuleText: text, NewHiresTrained: hires}
	}
}

func near50V(y readiness.YesNo) change { return func(q *readiness.Question) { q.Job.Near50V = y } }

func family(f string) change { return func(q *readiness.Question) { q.Device.Family = f } }

// codes lists the findings by code and severity, as "NO_COVER BLOCK".
func codes(a readiness.Answer) []string {
	list := []string{}
	for _, f := range a.Findings {
		list = append(list, string(f.Code)+" "+string(f.Severity))
	}
	return list
}

func finding(t *testing.T, a readiness.Answer, code readiness.Code) readiness.Finding {
	i := slices.IndexFunc(a.Findings, func(f readiness.Finding) bool { return f.Code == code })
	require.GreaterOrEqual(t, i, 0, "no finding %s", code)
	return a.Findings[i]
}

func mayGo(a readiness.Answer) []string {
	list := []string{}
	for _, p := range a.MayGoAloft {
		list = append(list, p.Person)
	}
	return list
}
