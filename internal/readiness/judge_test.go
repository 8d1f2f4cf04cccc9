package readiness_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/readiness"
)

func TestJudgeOfAMorning(t *testing.T) {
	pairLead := capability("PAIR_KIT", readiness.Lead)
	second := capability("PAIR_KIT", readiness.Second)
	lone := capability("LONE_KIT", readiness.Lone)
	extended := lone
	extended.State = readiness.OnExtension
	otherFamily := pairLead
	otherFamily.Family = "F2"
	pole := capability("POLE_TOP", readiness.Lead)
	manualForbidden, loneOnly := allows("MANUAL", readiness.No), func(q *readiness.Question) {
		allows("PAIR_KIT", readiness.No)(q)
		allows("LONE_KIT", readiness.Yes)(q)
		allows("MANUAL", readiness.No)(q)
	}
	for _, c := range []struct {
		name     string
		changes  []change
		verdict  readiness.Verdict
		may      []string
		findings []string
	}{
		{"an ordinary morning", nil, readiness.Ready, who("ann", "ben", "cal", "dee"), nil},
		{"both rescuers in a two-person bucket",
			[]change{aloft(2), each(who("cal", "dee"), noCapability), each(who("cal", "dee"), staysLow)},
			readiness.NotReady, nil, who("NO_COVER BLOCK")},
		{"two seconds and no lead: not ready, but trained",
			[]change{each(who("ann", "ben", "cal", "dee"), practised(second))},
			readiness.NotReady, nil, who("NO_COVER BLOCK")},
		{"only apprentices with a leader's pass",
			[]change{each(who("ann", "ben", "cal", "dee"), func(p *readiness.Person) { p.Grade = "APPRENTICE_1" })},
			readiness.NotReady, nil, who("NO_COVER BLOCK")},
		{"an apprentice with a leader's pass counts as second",
			[]change{people("ann", "ben", "cal"), each(who("ben"), func(p *readiness.Person) { p.Grade = "APPRENTICE_1" }), each(who("cal"), noCapability)},
			readiness.Ready, who("cal"), nil},
		{"reach exactly enough", []change{func(q *readiness.Question) { q.Kit.RopeCM = number(6000) }},
			readiness.Ready, who("ann", "ben", "cal", "dee"), nil},
		{"reach one centimetre short", []change{func(q *readiness.Question) { q.Kit.RopeCM = number(5999) }},
			readiness.Conditional, who("ann", "ben", "cal", "dee"), who("KIT_REACH LINE")},
		{"a rescuer holds the stop sign",
			[]change{people("ann", "ben", "cal"), func(q *readiness.Question) { q.Job.Exclusive = []readiness.Duty{{Duty: "TRAFFIC", Person: "ann"}} }},
			readiness.NotReady, nil, who("NO_COVER BLOCK")},
		{"nobody is there to hold the stop sign",
			[]change{each(who("ann"), awayFrom("2026-06-01T00:00:00+01:00")),
				func(q *readiness.Question) { q.Job.Exclusive = []readiness.Duty{{Duty: "TRAFFIC", Person: "ann"}} }},
			readiness.Conditional, who("ben", "cal", "dee"), who("DUTY_UNHELD CONDITION")},
		{"unknown device family", []change{family("")},
			readiness.CannotTell, nil, who("CREW_BELOW_TWO UNKNOWN", "UNKNOWN_DECIDES UNKNOWN")},
		{"voltage unknown and one first aider", []change{near50V(readiness.Unknown), each(who("ann", "ben", "cal"), noFirstAid)},
			readiness.CannotTell, nil, who("FIRST_AID_SITE UNKNOWN", "UNKNOWN_DECIDES UNKNOWN")},
		{"voltage unknown and two first aiders", []change{near50V(readiness.Unknown), each(who("ann", "ben"), noFirstAid)},
			readiness.Ready, who("ann", "ben", "cal", "dee"), nil},
		{"both first aiders in the bucket", []change{aloft(2), each(who("ann", "ben"), noFirstAid), each(who("ann", "ben"), staysLow)},
			readiness.NotReady, nil, who("FIRST_AID_GROUND BLOCK", "NO_COVER BLOCK")},
		{"extension as lone rescuer", []change{people("ann", "ben"), loneOnly, each(who("ann", "ben"), practised(extended))},
			readiness.NotReady, nil, who("CREW_BELOW_TWO BLOCK", "NO_COVER BLOCK")},
		{"a leader of the pair method is nobody's lone rescuer", []change{people("ann", "ben"), loneOnly, each(who("ben"), practised(lone))},
			readiness.Ready, who("ann"), nil},
		{"held back from rescue: may go up, never counted below", []change{people("ann", "ben", "cal"), each(who("ann"), heldBack)},
			readiness.Ready, who("ann"), who("NOT_FOR_RESCUE_DUTY NOTE")},
		{"nobody aloft", []change{aloft(0), each(who("ann", "ben", "cal"), noCapability)},
			readiness.Ready, nil, who("CREW_BELOW_TWO NOTE")},
		{"nobody aloft, but first aid stays", []change{aloft(0), each(who("ann", "ben", "cal"), noFirstAid)},
			readiness.NotReady, nil, who("FIRST_AID_SITE BLOCK", "NO_COVER BLOCK")},
		{"one person alone", []change{people("ann")},
			readiness.NotReady, nil, who("CREW_BELOW_TWO BLOCK", "LONE_WORKER BLOCK", "NO_COVER BLOCK")},
		{"fewer able people than the buckets hold", []change{aloft(2), each(who("ann", "ben", "cal"), staysLow)},
			readiness.NotReady, nil, who("NO_COVER BLOCK", "TOO_FEW_ABLE_ALOFT BLOCK")},
		{"a bucket job where nobody can climb a pole", []change{allows("POLE_TOP", readiness.No), each(who("ann", "ben", "cal", "dee"), practised(pole))},
			readiness.NotReady, nil, who("NO_COVER BLOCK")},
		{"practice on another control family", []change{each(who("ann", "ben", "cal", "dee"), practised(otherFamily))},
			readiness.NotReady, nil, who("CREW_BELOW_TWO BLOCK", "NO_COVER BLOCK")},
		{"a method that does not go by family", []change{allows("POLE_TOP", readiness.Yes), family(""), each(who("ann", "ben", "cal", "dee"), practised(pole))},
			readiness.Ready, who("ann", "ben", "cal", "dee"), nil},
		{"no device", []change{func(q *readiness.Question) { q.Device = nil }},
			readiness.NotReady, nil, who("CREW_BELOW_TWO BLOCK", "KIT_REACH UNKNOWN", "NO_COVER BLOCK", "NO_DEVICE LINE")},
		{"no kit", []change{func(q *readiness.Question) { q.Kit = nil }},
			readiness.Conditional, who("ann", "ben", "cal", "dee"), who("NO_KIT LINE")},
		{"conditional without the kit, ready with it: look first", []change{func(q *readiness.Question) { q.Kit.OnDevice = readiness.Unknown }},
			readiness.CannotTell, nil, who("KIT_NOT_ON_DEVICE UNKNOWN", "UNKNOWN_DECIDES UNKNOWN")},
		{"lower controls not checked", []change{func(q *readiness.Question) { q.Device.LowerControlsChecked = readiness.No }},
			readiness.NotReady, nil, who("LOWER_CONTROLS_NOT_CHECKED LINE", "NO_COVER BLOCK")},
		{"nobody said to operate the lower controls", []change{manualForbidden, each(who("ann", "ben", "cal", "dee"), func(p *readiness.Person) { p.OperatesLower = readiness.No })},
			readiness.NotReady, nil, who("NO_COVER BLOCK")},
		{"no call plan", []change{func(q *readiness.Question) { q.Job.CallPlan = readiness.No }},
			readiness.Conditional, who("ann", "ben", "cal", "dee"), who("CALL_PLAN_MISSING CONDITION")},
		{"no call plan, and the rules ask for one", []change{func(q *readiness.Question) {
			q.Job.CallPlan, q.Rules.CallPlanMissing = readiness.No, readiness.NotReady
		}}, readiness.NotReady, nil, who("CALL_PLAN_MISSING BLOCK", "NO_COVER BLOCK")},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := judge(t, morning(c.changes...))
			assert.Equal(t, c.verdict, a.Verdict)
			assert.ElementsMatch(t, c.may, mayGo(a))
			assert.Equal(t, append([]string{}, c.findings...), codes(a))
		})
	}
}

func TestTheReachThatFallsShortIsToldInCentimetres(t *testing.T) {
	a := judge(t, morning(func(q *readiness.Question) { q.Kit.RopeCM = number(5999) }))
	f := finding(t, a, readiness.KitReach)
	assert.Equal(t, readiness.Values{"have_cm": number(1399), "need_cm": number(1400)}, f.Values)
	assert.Equal(t, []string{"PAIR_KIT"}, f.Things)
}

func TestAnUnknownThatChangesNothingDoesNotDecide(t *testing.T) {
	a := judge(t, morning(family(""), near50V(readiness.Unknown)))
	assert.Equal(t, []string{"device.family"}, finding(t, a, readiness.UnknownDecides).Things)
}

func TestTheWeeklyCheckRunsOutAtMidnightOfANightShift(t *testing.T) {
	a := judge(t, morning(func(q *readiness.Question) {
		q.Window = window("Europe/Dublin", "2026-06-10T18:00:00+01:00", "2026-06-11T06:00:00+01:00")
		q.Kit.DueThrough.Weekly = day("2026-06-10")
	}))
	assert.Equal(t, readiness.Conditional, a.Verdict)
	require.Len(t, a.Timeline, 2)
	assert.Equal(t, readiness.Ready, a.Timeline[0].Verdict)
	assert.Equal(t, readiness.Conditional, a.Timeline[1].Verdict)
	assert.Equal(t, "2026-06-11T00:00:00+01:00", moment(a.HoldsUntil.Verdict))
	assert.Equal(t, []readiness.Change{{Edge: readiness.EdgeEnd, Of: readiness.OfKitWeekly, ID: "K1"}}, a.HoldsUntil.Changes)
	assert.Equal(t, "MANUAL", *a.Choices[0].Method)
}

// The instants are those of the tz database: Dublin sets its clock back at 02:00 on 25 October 2026, Santiago has no 00:00 on
// 6 September 2026, Havana has 00:00 twice on 1 November 2026.
func TestADayBeginsAtItsFirstInstantWhereTheClockChanges(t *testing.T) {
	for _, c := range []struct{ name, zone, from, to, last, until string }{
		{"clock set back later in the night", "Europe/Dublin", "2026-10-24T18:00:00+01:00", "2026-10-25T06:00:00Z", "2026-10-24", "2026-10-25T00:00:00+01:00"},
		{"midnight skipped", "America/Santiago", "2026-09-05T18:00:00-04:00", "2026-09-06T06:00:00-03:00", "2026-09-05", "2026-09-06T01:00:00-03:00"},
		{"midnight twice: the first", "America/Havana", "2026-10-31T20:00:00-04:00", "2026-11-01T06:00:00-05:00", "2026-10-31", "2026-11-01T00:00:00-04:00"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := judge(t, morning(func(q *readiness.Question) {
				q.Window = window(c.zone, c.from, c.to)
				for i := range q.People {
					q.People[i].FirstAid[0].Through = day(c.last)
				}
			}))
			assert.Equal(t, c.until, moment(a.HoldsUntil.Verdict))
			require.NotNil(t, a.HoldsUntil.Then)
			assert.Equal(t, readiness.NotReady, *a.HoldsUntil.Then)
		})
	}
}

// 29 CFR 1910.269(b)(1)(i): at a field location with two or more employees, two trained persons; for line-clearance tree trimmers who are
// not qualified employees one, if all new hires are trained within three months. (b)(1)(ii) is for fixed sites. 29 CFR 1926.951 has the
// same numbers and no trimmers' exception. How many must be on the ground is the employer's own rule.
func TestFirstAidersAskedFor(t *testing.T) {
	for _, c := range []struct {
		name string
		site change
		one  readiness.Verdict // with one first aider
		two  readiness.Verdict // with two
	}{
		{"field", site(readiness.Field, readiness.General, readiness.Unknown), readiness.NotReady, readiness.Ready},
		{"trimmers, every new hire trained", site(readiness.Trimmers, readiness.General, readiness.Yes), readiness.Ready, readiness.Ready},
		{"trimmers, new hires not trained", site(readiness.Trimmers, readiness.General, readiness.No), readiness.NotReady, readiness.Ready},
		{"trimmers, not known whether trained", site(readiness.Trimmers, readiness.General, readiness.Unknown), readiness.CannotTell, readiness.Ready},
		{"trimmers under the construction text", site(readiness.Trimmers, readiness.Construction, readiness.Yes), readiness.NotReady, readiness.Ready},
		{"field under the construction text", site(readiness.Field, readiness.Construction, readiness.Unknown), readiness.NotReady, readiness.Ready},
		{"fixed", site(readiness.Fixed, readiness.General, readiness.Unknown), readiness.Ready, readiness.Ready},
	} {
		t.Run(c.name, func(t *testing.T) {
			one := judge(t, morning(c.site, each(who("ann", "ben", "cal"), noFirstAid)))
			assert.Equal(t, c.one, one.Verdict)
			if c.one == readiness.Ready {
				assert.Equal(t, []readiness.Down{{Person: "dee", Because: readiness.BecauseNoCover}}, one.MustStayDown, "the first aider stays down")
			}
			assert.Equal(t, c.two, judge(t, morning(c.site, each(who("ann", "ben"), noFirstAid))).Verdict)
		})
	}
}

// OSHA letter 4 Jun 1996: the four minutes are not an absolute limit, so they are a note and never a reason.
func TestTheMinutesOfAFixedSiteAreANoteOnly(t *testing.T) {
	a := judge(t, morning(site(readiness.Fixed, readiness.General, readiness.Unknown), func(q *readiness.Question) { q.Job.Site.ReachMinutes = number(9) }))
	assert.Equal(t, readiness.Ready, a.Verdict)
	assert.Equal(t, readiness.Finding{Code: readiness.FourMinutes, Severity: readiness.SeverityNote, Things: []string{},
		Values: readiness.Values{"minutes": number(9)}}, finding(t, a, readiness.FourMinutes))
}

func TestWhyPeopleMustStayDown(t *testing.T) {
	a := judge(t, morning(
		func(q *readiness.Question) { q.People = append(q.People, person("eve"), person("fay"), person("gus")) },
		each(who("eve"), awayFrom("2026-06-10T12:00:00+01:00")), each(who("fay"), staysLow),
		func(q *readiness.Question) { q.Job.Exclusive = []readiness.Duty{{Duty: "TRAFFIC", Person: "gus"}} }))
	assert.Equal(t, []readiness.Down{{Person: "eve", Because: readiness.BecauseAbsent}, {Person: "fay", Because: readiness.BecauseNotAble},
		{Person: "gus", Because: readiness.BecauseExclusiveDuty}}, a.MustStayDown)
}

func TestSomethingBetterThatHangsOnAnUnknownCannotBeTold(t *testing.T) {
	noKit := func(q *readiness.Question) { q.Kit = nil }
	pole := each(who("dee"), practised(capability("POLE_TOP", readiness.Lead)))
	poleTwo := each(who("ann"), func(p *readiness.Person) {
		p.Capabilities = append(p.Capabilities, capability("POLE_TOP", readiness.Second))
	})
	without := judge(t, morning(noKit, allows("POLE_TOP", readiness.Unknown), people("ann", "ben", "cal"), poleTwo))
	with := judge(t, morning(noKit, allows("POLE_TOP", readiness.Unknown), pole, poleTwo))
	assert.Equal(t, readiness.Conditional, without.Verdict)
	assert.Equal(t, readiness.CannotTell, with.Verdict)
	assert.Equal(t, []string{"job.methods.POLE_TOP"}, finding(t, with, readiness.UnknownDecides).Things)
}

// One of the four who are there is current: whoever goes up, at most one who counts is below, and the card asks for two.
func TestThreeLapsedAndOneIll(t *testing.T) {
	a := judged(t, "e1-P1-three-lapsed-one-ill")
	assert.Equal(t, readiness.NotReady, a.Verdict)
	assert.Equal(t, []string{"CREW_BELOW_TWO BLOCK", "NO_COVER BLOCK"}, codes(a))
	assert.Equal(t, readiness.Values{"count": number(1), "least": number(2)}, finding(t, a, readiness.CrewBelowTwo).Values)
}

func TestOneMayGoUpAndTheOtherMayNot(t *testing.T) {
	a := judged(t, "e3-P4-dilnoza-up-james-down")
	assert.Equal(t, readiness.Ready, a.Verdict)
	assert.Equal(t, []string{"dilnoza"}, mayGo(a))
	assert.Equal(t, []readiness.Down{{Person: "james", Because: readiness.BecauseNoCover}}, a.MustStayDown)
	require.NotNil(t, a.NMinus1.Secure)
	assert.False(t, *a.NMinus1.Secure)
	assert.Equal(t, []readiness.Absent{{Person: "dilnoza", Without: readiness.NotReady}, {Person: "james", Without: readiness.NotReady}}, a.NMinus1.HangsOn)
}

func TestReadyUntilMidnightOnly(t *testing.T) {
	a := judged(t, "e4-P7-card-dies-at-midnight")
	assert.Equal(t, readiness.NotReady, a.Verdict)
	assert.Equal(t, "2025-03-09T00:00:00+00:00", moment(a.HoldsUntil.Verdict))
	assert.Equal(t, readiness.NotReady, *a.HoldsUntil.Then)
	assert.Equal(t, []readiness.Change{{Edge: readiness.EdgeEnd, Of: readiness.OfFirstAid, ID: "pavel"}}, a.HoldsUntil.Changes)
}

func TestASwapIsConditional(t *testing.T) {
	a := judged(t, "e7-swap-at-midnight")
	assert.Equal(t, readiness.Conditional, a.Verdict)
	assert.Equal(t, []readiness.Condition{{Code: readiness.SwapAloft, Things: []string{}}}, a.Conditions)
}

func moment(t readiness.LocalTime) string {
	b, _ := t.MarshalText()
	return string(b)
}

// Only eve could lead: whether she operates the lower controls decides, and the same unknown about the others does not.
func TestTheUnknownAnswerOfTheOnlyLeaderDecides(t *testing.T) {
	unsure := func(p *readiness.Person) { p.OperatesLower = readiness.Unknown }
	a := judge(t, morning(func(q *readiness.Question) { q.People = append(q.People, person("eve")) },
		each(who("ann", "ben", "cal", "dee"), practised(capability("PAIR_KIT", readiness.Second))),
		each(who("ann", "ben", "eve"), unsure)))
	assert.Equal(t, readiness.CannotTell, a.Verdict)
	assert.Equal(t, []string{"person.eve.operates_lower"}, finding(t, a, readiness.UnknownDecides).Things)
}

func TestPeopleWhoAreAlikeDecideAlike(t *testing.T) {
	unsure := func(p *readiness.Person) { p.OperatesLower = readiness.Unknown }
	a := judge(t, morning(each(who("ann", "ben", "cal", "dee"), unsure)))
	assert.Equal(t, readiness.CannotTell, a.Verdict)
	assert.Equal(t, []string{"person.ann.operates_lower", "person.ben.operates_lower", "person.cal.operates_lower", "person.dee.operates_lower"},
		finding(t, a, readiness.UnknownDecides).Things)
}
