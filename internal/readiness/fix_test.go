package readiness_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// told writes a fix as "rung: DO id people, ...".
func told(fixes []readiness.Fix) []string {
	list := []string{}
	for _, f := range fixes {
		var changes []string
		for _, c := range f.Changes {
			changes = append(changes, strings.TrimSpace(fmt.Sprintf("%s %s %s", c.Do, c.ID, strings.Join(c.People, " "))))
		}
		list = append(list, fmt.Sprintf("%d: %s", f.Rung, strings.Join(changes, ", ")))
	}
	return list
}

func toldRefused(refused []readiness.Refused) []string {
	list := []string{}
	for _, r := range refused {
		list = append(list, fmt.Sprintf("%s %s %s", r.Kind, r.ID, r.Reason))
	}
	return list
}

// shortCrew is ann, who leads, and cal, who does not count: whoever goes up, nobody is below who does.
func shortCrew(changes ...change) readiness.Question {
	q := morning(append([]change{people("ann", "cal"), each(who("cal"), noCapability), allows("MANUAL", readiness.No)}, changes...)...)
	if q.Pool == nil {
		withPool(nil)(&q)
	}
	return q
}

func withPool(edit func(*readiness.Pool)) change {
	return func(q *readiness.Question) {
		q.Pool = &readiness.Pool{Target: readiness.Ready, MaxChanges: 2, MaxFixes: 10, Neighbours: who("Y2")}
		if edit != nil {
			edit(q.Pool)
		}
	}
}

func spare(id string, edits ...func(*readiness.PoolPerson)) readiness.PoolPerson {
	p := readiness.PoolPerson{Person: person(id), Place: readiness.Place{Yard: "Y1"}}
	p.Crew = ""
	for _, edit := range edits {
		edit(&p)
	}
	return p
}

func of(crew string) func(*readiness.PoolPerson) {
	return func(p *readiness.PoolPerson) { p.Crew = crew }
}

func in(yard string, minutes int) func(*readiness.PoolPerson) {
	return func(p *readiness.PoolPerson) { p.Yard, p.TravelMinutes = yard, minutes }
}

func away(why readiness.Why) func(*readiness.PoolPerson) {
	return func(p *readiness.PoolPerson) {
		awayFrom("2026-06-10T12:00:00+01:00")(&p.Person)
		p.Unavailable[0].Why = why
	}
}

func readyAt(instant string) func(*readiness.PoolPerson) {
	return func(p *readiness.PoolPerson) { p.ReadyAt = at(instant) }
}

func lending(id string, ids ...string) readiness.PoolCrew {
	q := morning(allows("MANUAL", readiness.No), func(q *readiness.Question) {
		q.Name, q.People = id, nil
		for _, p := range ids {
			q.People = append(q.People, person(p))
		}
	})
	return readiness.PoolCrew{ID: id, Question: &q}
}

func TestFixesOfAShortCrew(t *testing.T) {
	later := readiness.LaterWindow{ID: "late", From: at("2026-06-10T09:00:00+01:00"), To: at("2026-06-10T12:00:00+01:00")}
	drill := readiness.PoolDrill{ID: "drill", Assessor: "tom", Authorised: readiness.Yes, AssessorFreeFrom: at("2026-06-10T05:00:00+01:00"), AssessorFreeTo: at("2026-06-10T09:00:00+01:00"),
		Method: "PAIR_KIT", Family: "F1", Role: readiness.Second, Start: at("2026-06-10T06:15:00+01:00"), Minutes: 45, Seats: 2, MinPeople: 1, People: who("cal", "dan")}
	too := drill
	too.ID, too.Start = "too late", at("2026-06-10T08:00:00+01:00")
	card := func(n int) change { return func(q *readiness.Question) { q.Rules.CrewRescuers = n } }
	for _, c := range []struct {
		name    string
		changes []change
		fixes   []string
		refused []string
	}{
		{"nothing is offered", nil, who(), who()},
		{"somebody of the same yard before a neighbour, the nearer neighbour first",
			[]change{withPool(func(p *readiness.Pool) {
				p.People = []readiness.PoolPerson{spare("far", in("Y2", 40)), spare("near", in("Y2", 10)), spare("zoe"), spare("out", in("Y9", 0))}
			})},
			who("4: PERSON zoe", "5: PERSON near", "5: PERSON far"), who("PERSON out TOO_FAR")},
		{"one loan is fine, two from the same crew are not",
			[]change{card(3), withPool(func(p *readiness.Pool) {
				p.Crews = []readiness.PoolCrew{lending("V1", "x", "y", "v", "w"), {ID: "V2"}}
				p.People = []readiness.PoolPerson{spare("x", of("V1")), spare("y", of("V1")), spare("z", of("V2"))}
			})},
			who("4: PERSON x, PERSON z", "4: PERSON y, PERSON z"), who()},
		{"a crew that is worse off does not lend", []change{withPool(func(p *readiness.Pool) {
			p.Crews = []readiness.PoolCrew{lending("V1", "x", "y", "v")}
			p.People = []readiness.PoolPerson{spare("x", of("V1"))}
		})}, who(), who("PERSON x LENDER_WORSE")},
		{"who is away or held back does not come", []change{withPool(func(p *readiness.Pool) {
			p.People = []readiness.PoolPerson{spare("a", away(readiness.WhyLeave)), spare("b", away(readiness.WhyRest)), spare("c", away(readiness.WhyPlaced)), spare("d", away(readiness.WhyOther)),
				spare("e", func(p *readiness.PoolPerson) { heldBack(&p.Person) }), spare("f", readyAt("2026-06-10T07:30:00+01:00"))}
		})}, who(), who("PERSON a ON_LEAVE", "PERSON b AT_REST", "PERSON c PLACED", "PERSON d UNAVAILABLE", "PERSON e NOT_FOR_RESCUE_DUTY", "PERSON f TOO_LATE")},
		{"who comes later comes with the later window", []change{withPool(func(p *readiness.Pool) {
			p.People, p.LaterWindows = []readiness.PoolPerson{spare("f", readyAt("2026-06-10T07:30:00+01:00"))}, []readiness.LaterWindow{later}
		})}, who("6: PERSON f, LATER late"), who()},
		{"a drill before departure, with no more people than it takes", []change{withPool(func(p *readiness.Pool) {
			p.Drills = []readiness.PoolDrill{drill, too}
		}), func(q *readiness.Question) { q.People = append(q.People, person("dan")) }, each(who("dan"), noCapability)},
			who("3: DRILL drill cal", "3: DRILL drill dan"), who("DRILL too late ENDS_AFTER_DEPARTURE")},
		{"a drill of two that one place is left for", []change{withPool(func(p *readiness.Pool) {
			two := drill
			two.MinPeople = 2
			p.Drills = []readiness.PoolDrill{two}
		})}, who(), who("DRILL drill TOO_FEW_PEOPLE")},
		{"another way with nobody aloft", []change{withPool(func(p *readiness.Pool) {
			p.OtherWays = []readiness.OtherWay{{ID: "from the ground", Job: readiness.JobChange{Buckets: []readiness.Bucket{}}}}
			p.LaterWindows = []readiness.LaterWindow{later}
		})}, who("7: OTHER_WAY from the ground"), who("LATER late NO_HELP")},
		{"what is in a fix beyond those listed is no refusal", []change{withPool(func(p *readiness.Pool) {
			p.MaxFixes, p.People = 1, []readiness.PoolPerson{spare("x"), spare("y")}
		})}, who("4: PERSON x"), who()},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := judge(t, shortCrew(c.changes...))
			assert.Equal(t, append(c.fixes, "8: DO_NOT_SEND"), told(a.Fixes))
			assert.ElementsMatch(t, c.refused, toldRefused(a.Refused))
		})
	}
}

func TestWithoutAPoolOnlyStayingIsLeft(t *testing.T) {
	q := shortCrew()
	q.Pool = nil
	a := judge(t, q)
	assert.Equal(t, who("8: DO_NOT_SEND"), told(a.Fixes))
	assert.Nil(t, a.Fixes[0].Verdict)
	assert.Empty(t, judge(t, morning()).Fixes)
}

func TestOnlyThePlanMissesTheTarget(t *testing.T) {
	q := morning(people("ann", "ben", "cal", "dee"), each(who("cal", "dee"), noCapability), withPool(func(p *readiness.Pool) {
		p.MaxFixes, p.People = 1, []readiness.PoolPerson{spare("zoe", in("Y9", 0))}
	}))
	q.Job.PlannedAloft = who("ann")
	a := judge(t, q)
	assert.Equal(t, who("1: ALOFT  cal", "1: ALOFT  dee"), told(a.Fixes), "every choice that does, whatever the most fixes")
	assert.Empty(t, a.Refused, "the pool is not asked")
}

// The drill makes dario and yusuf current, or leilani comes; keahi's crew would be left with one.
func TestThreeLapsedAndOneIllCanBePutRight(t *testing.T) {
	a := judged(t, "e1-P1-three-lapsed-one-ill")
	assert.Equal(t, who("3: DRILL DR-A04-0500 dario yusuf", "4: PERSON leilani", "8: DO_NOT_SEND"), told(a.Fixes))
	assert.Equal(t, who("DEVICE T17 NO_HELP", "DRILL DR-T17-0730 ENDS_AFTER_DEPARTURE", "PERSON hamid ON_LEAVE", "PERSON keahi LENDER_WORSE"), toldRefused(a.Refused))
	assert.Equal(t, who("callum", "dario"), a.Fixes[0].Aloft)
	assert.Equal(t, readiness.NotReady, *a.Refused[3].After)
}

func TestAWornStrapIsPutRightFromTheNeighbouringYard(t *testing.T) {
	a := judged(t, "e5-P14-worn-strap")
	assert.Equal(t, who("5: KIT K29", "8: DO_NOT_SEND"), told(a.Fixes))
	assert.Equal(t, 70, a.Fixes[0].TravelMinutes)
	assert.Equal(t, who("KIT K23 TOO_FAR"), toldRefused(a.Refused))
}

func TestAFixThatNeedsAChangeAloftNamesNobody(t *testing.T) {
	q := morning(people("ann", "ben", "cal"), allows("MANUAL", readiness.No), each(who("ann", "ben"), noCapability), each(who("cal"), staysLow),
		each(who("ann"), awayFrom("2026-06-10T12:00:00+01:00")), withPool(func(p *readiness.Pool) {
			p.Target, p.People = readiness.Conditional, []readiness.PoolPerson{spare("zoe", func(p *readiness.PoolPerson) { p.CanGoAloft = false })}
		}))
	q.People[1].Unavailable = []readiness.Absence{{Interval: readiness.Interval{To: at("2026-06-10T12:00:00+01:00")}, Why: readiness.WhyOther}}
	a := judge(t, q)
	require.Equal(t, who("4: PERSON zoe", "8: DO_NOT_SEND"), told(a.Fixes))
	assert.Equal(t, readiness.Conditional, *a.Fixes[0].Verdict)
	assert.Nil(t, a.Fixes[0].Aloft)
}

func TestASearchStopsWhenItIsNoLongerWanted(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	_, err := readiness.JudgeWithin(ctx, crowded(200, 3))
	assert.ErrorIs(t, err, context.Canceled)
}

func TestMoreThanCanBeTriedIsRefused(t *testing.T) {
	everybody := []string{}
	q := shortCrew()
	for i := range 30 {
		p := person(fmt.Sprintf("l%d", i))
		noCapability(&p)
		q.People = append(q.People, p)
		everybody = append(everybody, p.ID)
	}
	withPool(func(p *readiness.Pool) {
		p.Drills = []readiness.PoolDrill{{ID: "d", Assessor: "tom", Authorised: readiness.Yes, AssessorFreeFrom: 1, AssessorFreeTo: q.Window.To, Method: "PAIR_KIT", Family: "F2",
			Role: readiness.Lead, Start: q.Window.From - 7_200_000, Seats: 12, People: everybody}}
	})(&q)
	_, err := readiness.Judge(q)
	assert.ErrorIs(t, err, groundhand.CodeTooLarge)
}
