package readiness_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// crews draws questions: two to five people with spans that begin and end in or near a night, duties, a device and a kit. With unknowns
// it leaves some answers open.
func crews(t *rapid.T, least int, unknowns bool) readiness.Question {
	d := dice{t, unknowns}
	q := morning(aloft(rapid.IntRange(least, 2).Draw(t, "aloft")))
	q.Window = window("Europe/Dublin", "2026-06-10T18:00:00+01:00", "2026-06-11T06:00:00+01:00")
	q.People = nil
	for i := range rapid.IntRange(2, 5).Draw(t, "people") {
		q.People = append(q.People, d.person(fmt.Sprintf("p%d", i)))
	}
	for _, m := range []string{"PAIR_KIT", "LONE_KIT", "MANUAL", "POLE_TOP"} {
		q.Job.Methods[m] = d.yesNo(m)
	}
	q.Job.Near50V, q.Job.CallPlan = d.yesNo("near 50 V"), d.mostly("call plan")
	q.Job.Site = readiness.Site{Kind: rapid.SampledFrom([]readiness.SiteKind{readiness.Field, readiness.Fixed, readiness.Trimmers}).Draw(t, "site"),
		RuleText: rapid.SampledFrom([]readiness.RuleText{readiness.General, readiness.Construction}).Draw(t, "text"), NewHiresTrained: d.yesNo("hires")}
	if d.rarely("a duty") {
		q.Job.Exclusive = []readiness.Duty{{Duty: "TRAFFIC", Person: "p0"}}
	}
	q.Device.LowerControlsChecked, q.Device.EmergencyLowering = d.mostly("lower controls"), d.mostly("emergency lowering")
	if unknowns && d.rarely("family unknown") {
		q.Device.Family = ""
	}
	q.Kit.OnDevice, q.Kit.DueThrough.Weekly = d.mostly("on device"), d.through("weekly")
	if d.rarely("out of service") {
		q.Kit.OutOfService = []readiness.Interval{d.interval("kit out")}
	}
	return q
}

type dice struct {
	*rapid.T
	unknowns bool
}

func (d dice) rarely(what string) bool { return rapid.IntRange(0, 4).Draw(d.T, what) == 0 }

func (d dice) yesNo(what string) readiness.YesNo {
	choice := []readiness.YesNo{readiness.Yes, readiness.No}
	if d.unknowns {
		choice = append(choice, readiness.Unknown)
	}
	return rapid.SampledFrom(choice).Draw(d.T, what)
}

func (d dice) mostly(what string) readiness.YesNo {
	if !d.rarely(what + " asked") {
		return readiness.Yes
	}
	return d.yesNo(what)
}

func (d dice) through(what string) groundhand.Date {
	return rapid.SampledFrom([]groundhand.Date{day("2026-06-09"), day("2026-06-10"), day("2026-12-31"), day("2026-12-31")}).Draw(d.T, what)
}

func (d dice) interval(what string) readiness.Interval {
	start := at("2026-06-10T16:00:00+01:00")
	from := start + groundhand.Instant(rapid.IntRange(0, 14).Draw(d.T, what+" from"))*3_600_000
	return readiness.Interval{From: readiness.Edge{At: from}, To: from + groundhand.Instant(rapid.IntRange(1, 6).Draw(d.T, what+" hours"))*3_600_000}
}

func (d dice) person(id string) readiness.Person {
	p := person(id)
	p.Grade = rapid.SampledFrom([]string{"LINE", "LINE", "APPRENTICE_1"}).Draw(d.T, "grade")
	p.CanGoAloft, p.OperatesLower = !d.rarely("stays low"), d.mostly("operates lower")
	p.Capabilities = nil
	for _, c := range []readiness.Capability{capability("PAIR_KIT", readiness.Lead), capability("PAIR_KIT", readiness.Second),
		capability("LONE_KIT", readiness.Lone), capability("MANUAL", readiness.Lead), capability("POLE_TOP", readiness.Second)} {
		if rapid.Bool().Draw(d.T, "has "+c.Method) {
			c.Through = d.through("through")
			c.State = rapid.SampledFrom([]readiness.State{readiness.Current, readiness.Current, readiness.InGrace, readiness.OnExtension, readiness.Provisional}).Draw(d.T, "state")
			p.Capabilities = append(p.Capabilities, c)
		}
	}
	p.FirstAid[0].Through = d.through("first aid")
	if d.rarely("held back") {
		p.NotForRescue = []readiness.Interval{d.interval("held")}
	}
	if d.rarely("away") {
		p.Unavailable = []readiness.Absence{{Interval: d.interval("away"), Why: readiness.WhyRest}}
	}
	return p
}

func good(id string) readiness.Person {
	p := person(id)
	p.Capabilities = append(p.Capabilities, capability("LONE_KIT", readiness.Lone), capability("POLE_TOP", readiness.Lead))
	return p
}

func ask(t *rapid.T, q readiness.Question) readiness.Answer {
	a, err := readiness.Judge(q)
	require.NoError(t, err)
	return a
}

func TestAGoodPersonMoreIsNeverWorseWithSomebodyAloft(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := crews(t, 1, false)
		before := ask(t, q).Verdict
		q.People = append(q.People, good("zoe"))
		require.GreaterOrEqual(t, ask(t, q).Verdict, before)
	})
}

func TestKnowingLessNeverMakesReady(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := crews(t, 0, true)
		more := ask(t, q).Verdict
		forget(t, &q)
		switch less := ask(t, q).Verdict; less {
		case readiness.Ready, readiness.NotReady:
			require.Equal(t, less, more)
		case readiness.Conditional:
			require.GreaterOrEqual(t, more, less)
		}
	})
}

// forget makes one answer unknown.
func forget(t *rapid.T, q *readiness.Question) {
	p := &q.People[rapid.IntRange(0, len(q.People)-1).Draw(t, "whose")]
	answers := []func(){
		func() { q.Job.Near50V = readiness.Unknown }, func() { q.Job.CallPlan = readiness.Unknown },
		func() { q.Job.Site.NewHiresTrained = readiness.Unknown }, func() { q.Job.Methods["PAIR_KIT"] = readiness.Unknown },
		func() { q.Job.Methods["POLE_TOP"] = readiness.Unknown }, func() { q.Device.Family = "" },
		func() { q.Device.LowerControlsChecked = readiness.Unknown }, func() { q.Device.EmergencyLowering = readiness.Unknown },
		func() { q.Kit.OnDevice = readiness.Unknown }, func() { q.Kit.DueThrough.Weekly = 0 },
		func() { q.Kit.RopeCM = nil }, func() { q.Kit.UseThrough = readiness.UseThrough{} }, func() { p.OperatesLower = readiness.Unknown },
	}
	rapid.SampledFrom(answers).Draw(t, "forgotten")()
}

func TestAShorterWindowIsNeverWorse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := crews(t, 0, true)
		whole := ask(t, q).Verdict
		minutes := func(what string) groundhand.Instant {
			return groundhand.Instant(rapid.IntRange(0, 300).Draw(t, what)) * 60_000
		}
		q.Window.From += minutes("later")
		q.Window.To -= minutes("earlier")
		require.GreaterOrEqual(t, ask(t, q).Verdict, whole)
	})
}

func TestTheOrderOfListsMeansNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := crews(t, 0, true)
		want := ask(t, q)
		q.People = slices.Clone(q.People)
		for i := range q.People {
			q.People[i].Capabilities = rapid.Permutation(q.People[i].Capabilities).Draw(t, "capabilities")
		}
		q.People = rapid.Permutation(q.People).Draw(t, "people")
		q.Rules.Families = rapid.Permutation(q.Rules.Families).Draw(t, "families")
		require.Equal(t, want, ask(t, q))
	})
}

func TestTheTimelineHasNoGapAndPartsEverybody(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := crews(t, 1, true)
		a := ask(t, q)
		next, worst := q.Window.From, readiness.Ready
		for _, s := range a.Timeline {
			require.Equal(t, next, s.From.At)
			require.Less(t, s.From.At, s.To.At)
			partition(t, q, s.MayGoAloft, s.MustStayDown)
			next, worst = s.To.At, min(worst, s.Verdict)
		}
		require.Equal(t, q.Window.To, next)
		require.LessOrEqual(t, a.Verdict, worst)
		down := []string{}
		for _, p := range a.MustStayDown {
			down = append(down, p.Person)
		}
		partition(t, q, mayGo(a), down)
	})
}

func partition(t *rapid.T, q readiness.Question, may, down []string) {
	everybody := []string{}
	for _, p := range q.People {
		everybody = append(everybody, p.ID)
	}
	require.ElementsMatch(t, everybody, append(slices.Clone(may), down...))
}

// The loss of a person is asked again in full, without any short cut. A duty of theirs would have to be given to nobody, so such people
// are left out.
func TestTheLossOfAPersonIsWhatJudgeSaysWithoutThem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := crews(t, 0, true)
		a := ask(t, q)
		if a.NMinus1.Secure == nil {
			return
		}
		for _, p := range q.People {
			if slices.ContainsFunc(q.Job.Exclusive, func(d readiness.Duty) bool { return d.Person == p.ID }) {
				continue
			}
			rest := q
			rest.People = slices.DeleteFunc(slices.Clone(q.People), func(o readiness.Person) bool { return o.ID == p.ID })
			without := ask(t, rest).Verdict
			i := slices.IndexFunc(a.NMinus1.HangsOn, func(h readiness.Absent) bool { return h.Person == p.ID })
			require.Equal(t, without < a.Verdict, i >= 0, p.ID)
			if i >= 0 {
				require.Equal(t, without, a.NMinus1.HangsOn[i].Without)
			}
		}
	})
}

func BenchmarkJudgeACrewOfSix(b *testing.B) {
	q := morning(aloft(2), func(q *readiness.Question) { q.People = append(q.People, person("eve"), person("fay")) })
	b.ReportAllocs()
	for b.Loop() {
		if _, err := readiness.Judge(q); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkJudgeACrewOfTenOfWhomLittleIsKnown(b *testing.B) {
	q := morning(aloft(2))
	for i := range 6 {
		q.People = append(q.People, good(fmt.Sprintf("x%d", i)))
	}
	for i := range q.People {
		q.People[i].OperatesLower = readiness.Unknown
	}
	q.Kit.OnDevice, q.Device.Family = readiness.Unknown, ""
	b.ReportAllocs()
	for b.Loop() {
		if _, err := readiness.Judge(q); err != nil {
			b.Fatal(err)
		}
	}
}
