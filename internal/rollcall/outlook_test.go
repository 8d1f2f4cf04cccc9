package rollcall_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
)

func (w *town) outlook(on string, days int) []rollcall.CrewOutlook {
	w.t.Helper()
	got, err := w.roll.Outlook(w.ctx, day(on), days)
	require.NoError(w.t, err)
	return got
}

// outlookOf is the only control family of one crew.
func (w *town) outlookOf(crew groundhand.CrewID, on string, days int) rollcall.FamilyOutlook {
	w.t.Helper()
	for _, c := range w.outlook(on, days) {
		if c.Crew.ID == crew {
			require.NoError(w.t, c.Refused)
			require.Len(w.t, c.Families, 1)
			return c.Families[0]
		}
	}
	require.Failf(w.t, "no such crew", "%s", crew)
	return rollcall.FamilyOutlook{}
}

func (w *town) bad(f rollcall.FamilyOutlook) string {
	if f.FirstBad == nil {
		return "none"
	}
	return fmt.Sprint(f.FirstBad.At.In(w.zone).Format("2006-01-02 15:04"), " ", f.FirstBad.Verdict, " ", f.FirstBad.Changes)
}

// ann practised on 3 February 2025: good for twelve months, the day before. First aid of 10 January 2025 is good through 9 January 2026. cal
// alone of three holds no practice. One aloft leaves two below, so cal goes up, and ann and bob stay down: on them it hangs.
func TestUntilWhenACrewCanBeSentIfNobodyDrills(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	w.run("ann", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	w.run("bob", "2024-09-15", groundhand.PairKit, groundhand.Lead, "F1")
	f := w.outlookOf("V1", "2025-06-10", 120)
	assert.Equal(t, readiness.Ready, f.Verdict)
	assert.Equal(t, []groundhand.WorkerID{"cal"}, f.MayGoAloft)
	assert.False(t, *f.NMinus1.Secure)
	assert.Equal(t, []readiness.Absent{{Person: "ann", Without: readiness.NotReady}, {Person: "bob", Without: readiness.NotReady}, {Person: "cal", Without: readiness.NotReady}},
		f.NMinus1.HangsOn, "without cal one of the two would be aloft")
	assert.Equal(t, "2025-09-15 00:00 NOT_READY [{END CAPABILITY bob}]", w.bad(f))
	assert.Equal(t, day("2025-09-15"), f.FirstBad.Day)
	assert.Empty(t, f.Leans)
	assert.False(t, f.Swap)

	// 10 June and 96 days is 14 September, his last good day; one day more shows the bad one.
	assert.Equal(t, "none", w.bad(w.outlookOf("V1", "2025-06-10", 96)))
	assert.NotEqual(t, "none", w.bad(w.outlookOf("V1", "2025-06-10", 97)))

	w.run("bob", "2025-05-02", groundhand.PairKit, groundhand.Lead, "F1")
	assert.Equal(t, "2026-01-10 00:00 NOT_READY [{END FIRST_AID ann} {END FIRST_AID bob} {END FIRST_AID cal}]", w.bad(w.outlookOf("V1", "2025-06-10", 400)))
}

func TestLeaveCountsOnTheDayAndNotAhead(t *testing.T) {
	w := goodLine(t)
	w.away("ann", groundhand.Leave, "2025-06-20 00:00", "2025-06-30 00:00")
	w.away("bob", groundhand.Leave, "2025-06-20 12:00", "2025-06-30 00:00")
	f := w.outlookOf("V1", "2025-06-10", 60)
	assert.Equal(t, "READY none", fmt.Sprint(f.Verdict, " ", w.bad(f)))

	f = w.outlookOf("V1", "2025-06-20", 60)
	assert.Equal(t, readiness.NotReady, f.Verdict)
	assert.Equal(t, "2025-06-20 07:00 NOT_READY []", w.bad(f), "the usual hours begin with two people there, one of them aloft")
	require.NotEmpty(t, f.MustStayDown)
	assert.Equal(t, readiness.BecauseAbsent, f.MustStayDown[0].Because)

	w.away("cal", groundhand.NotForRescue, "2025-06-10 00:00", "2025-07-10 00:00")
	assert.Equal(t, "READY none", fmt.Sprint(w.outlookOf("V1", "2025-06-10", 60).Verdict, " ", w.bad(w.outlookOf("V1", "2025-06-10", 60))), "cal may go up")
	w.away("bob", groundhand.NotForRescue, "2025-06-16 00:00", "2025-07-10 00:00")
	assert.Equal(t, "2025-06-16 00:00 NOT_READY [{START NOT_FOR_RESCUE bob}]", w.bad(w.outlookOf("V1", "2025-06-10", 60)), "a restriction lasts as recorded")
}

// james' extension and linh's acceptance on paper: three people, one aloft, two wanted below.
func TestACrewThatLeansOnAnExtension(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	w.run("ann", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	w.run("bob", "2024-05-20", groundhand.PairKit, groundhand.Lead, "F1")
	assert.Equal(t, readiness.NotReady, w.outlookOf("V1", "2025-06-10", 5).Verdict)
	add(w, groundhand.Extension{ID: w.id(), Recorded: w.told("2025-05-15"), WorkerID: "bob", Method: groundhand.PairKit, Role: groundhand.Second, FamilyID: "F1", FromOn: day("2025-05-20"),
		ToOn: day("2025-07-01"), ApproverID: "henrike", Basis: "yard closed"})
	f := w.outlookOf("V1", "2025-06-10", 60)
	assert.Equal(t, readiness.Conditional, f.Verdict)
	assert.Equal(t, []rollcall.Lean{{WorkerID: "bob", State: readiness.OnExtension, Without: readiness.NotReady}}, f.Leans)
	assert.Contains(t, f.Conditions, readiness.Condition{Code: "EXTENSION_IN_USE", Things: []string{"bob"}})
	assert.Equal(t, "2025-07-02 00:00 NOT_READY [{END CAPABILITY bob}]", w.bad(f))

	w.run("cal", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	f = w.outlookOf("V1", "2025-06-10", 60)
	assert.Equal(t, readiness.Ready, f.Verdict, "bob goes up")
	assert.Empty(t, f.Leans, "it is there and not needed")
}

// cal, the only one who may go up, works below only from July on.
func TestAGradeOfALaterDayDoesNotCountToday(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal")
	w.current("F1", "ann", "bob")
	later := w.told("2025-06-01")
	later.HappenedOn = day("2025-07-01")
	add(w, groundhand.Grading{ID: w.id(), Recorded: later, WorkerID: "cal", Grade: groundhand.Ground})
	f := w.outlookOf("V1", "2025-06-10", 60)
	assert.Equal(t, readiness.Ready, f.Verdict)
	assert.Equal(t, []groundhand.WorkerID{"cal"}, f.MayGoAloft)
	assert.NotNil(t, f.FirstBad)
}

func TestWhomTheCompanyViewOrdersFirst(t *testing.T) {
	w := newTown(t)
	for i, on := range map[string]string{"A": "2025-02-03", "B": "2024-12-10", "C": "2025-02-03"} {
		names := []groundhand.WorkerID{groundhand.WorkerID("a" + i), groundhand.WorkerID("b" + i), groundhand.WorkerID("c" + i)}
		families := groundhand.List{"F1"}
		if i == "C" {
			families = nil
		}
		w.crew(groundhand.CrewID(i), groundhand.LineCrew, families, names...)
		for _, n := range names {
			w.firstAid(n, "2025-02-03")
			for _, f := range []groundhand.FamilyID{"F1", "F3"} {
				w.run(n, on, groundhand.PairKit, groundhand.Lead, f)
			}
		}
	}
	w.crew("D", groundhand.LineCrew, groundhand.List{"F1"})
	w.crew("RELIEF", groundhand.ReliefPool, groundhand.List{"F1"}, "viggo")
	add(w, groundhand.Employment{ID: w.id(), Recorded: w.told("2025-01-02"), WorkerID: "aB", Employer: "mutual aid (invented)", Relation: groundhand.Visitor, FromOn: day("2025-01-02")},
		groundhand.Employment{ID: w.id(), Recorded: w.told("2025-01-02"), WorkerID: "bB", Employer: "mutual aid (invented)", Relation: groundhand.Visitor, FromOn: day("2025-01-02")})
	var got []string
	for _, c := range w.outlook("2025-06-10", 400) {
		got = append(got, fmt.Sprint(c.Crew.ID, " ", c.Verdict(), " ", c.Relation))
	}
	assert.Equal(t, []string{"D NOT_READY EMPLOYEE", "C CANNOT_TELL EMPLOYEE", "B READY VISITOR", "A READY EMPLOYEE"}, got,
		"nobody in D; C has no family, so its device could be one that nobody knows; B lapses first")
	d := w.outlook("2025-06-10", 1)[0]
	assert.Empty(t, d.Members)
	assert.Equal(t, "2025-06-10 07:00 NOT_READY []", w.bad(d.Families[0]))
}

// Sixty-five people are more than is judged in one go.
func TestACrewThatCannotBeJudgedHidesNobody(t *testing.T) {
	w := goodLine(t)
	var many []groundhand.WorkerID
	for i := range 65 {
		many = append(many, groundhand.WorkerID(fmt.Sprintf("m%02d", i)))
	}
	w.crew("HUGE", groundhand.LineCrew, groundhand.List{"F1"}, many...)
	got := w.outlook("2025-06-10", 30)
	require.Len(t, got, 2)
	assert.Equal(t, groundhand.CrewID("HUGE"), got[0].Crew.ID)
	assert.ErrorIs(t, got[0].Refused, groundhand.CodeTooLarge)
	assert.Equal(t, readiness.CannotTell, got[0].Verdict())
	assert.Equal(t, readiness.Ready, got[1].Verdict())
}

// A fault crew is asked about the whole local day. The clocks of Dublin go forward at one o'clock on 30 March 2025, so that day has 23 hours.
// Six months from 1 October, the day before, is 31 March under the rules from March on.
func TestAFaultCrewOnTheNightTheClocksChange(t *testing.T) {
	w := newTown(t)
	w.crew("S3", groundhand.FaultCrew, groundhand.List{"F1"}, "james", "dilnoza")
	for _, who := range []groundhand.WorkerID{"james", "dilnoza"} {
		w.run(who, "2024-10-01", groundhand.LoneKit, groundhand.Lone, "F1")
		w.firstAid(who, "2025-01-10")
	}
	f := w.outlookOf("S3", "2025-03-30", 10)
	assert.Equal(t, readiness.Ready, f.Verdict)
	assert.Equal(t, "2025-04-01 00:00 NOT_READY [{END CAPABILITY dilnoza} {END CAPABILITY james}]", w.bad(f))
	w.away("james", groundhand.Sick, "2025-03-30 02:30", "2025-03-31 00:00")
	f = w.outlookOf("S3", "2025-03-30", 10)
	assert.Equal(t, "2025-03-30 02:30 NOT_READY [{START UNAVAILABLE james}]", w.bad(f))
	assert.Equal(t, "2025-03-30T01:30:00Z", f.FirstBad.At.String())
}

// Somebody must come down at noon: bob leaves then, ann comes.
func TestReadyOnlyByChangingWhoIsAloft(t *testing.T) {
	w := goodLine(t)
	w.crew("V2", groundhand.LineCrew, groundhand.List{"F1"}, "dee", "eve", "fay", "gil")
	for _, who := range []groundhand.WorkerID{"dee", "eve", "fay", "gil"} {
		w.firstAid(who, "2025-01-10")
	}
	w.current("F1", "dee", "eve", "fay")
	w.away("dee", groundhand.Course, "2025-06-10 12:00", "2025-06-11 00:00")
	w.away("gil", groundhand.Course, "2025-06-10 00:00", "2025-06-10 12:00")
	f := w.outlookOf("V2", "2025-06-10", 10)
	assert.Equal(t, readiness.Conditional, f.Verdict)
	assert.True(t, f.Swap, "until noon gil is away: two of dee, eve and fay below; from noon gil goes up, for nobody else may")
	assert.Nil(t, f.FirstBad)
}

// What the company view says of the day is what the company says.
func TestTheOutlookOfADayIsTheCompanyOfThatDay(t *testing.T) {
	w := eventful(t)
	w.manyCrews(0, 4)
	w.away("a-001", groundhand.Leave, "2025-06-10 10:00", "2025-06-12 00:00")
	for _, on := range []string{"2025-03-01", "2025-06-10", "2025-06-11", "2026-02-02"} {
		company, err := w.roll.Company(w.ctx, day(on))
		require.NoError(t, err)
		want := map[string]rollcall.FamilyDay{}
		for _, c := range company.Crews {
			for _, f := range c.Families {
				want[fmt.Sprint(c.Crew.ID, f.FamilyID)] = f
			}
		}
		n := 0
		for _, c := range w.outlook(on, 200) {
			require.NoError(t, c.Refused)
			for _, f := range c.Families {
				assert.Equal(t, want[fmt.Sprint(c.Crew.ID, f.FamilyID)], f.FamilyDay)
				n++
			}
		}
		assert.Equal(t, len(want), n)
	}
}

func TestTheOutlookIsTheSameWhicheverWayItIsCut(t *testing.T) {
	w := eventful(t)
	w.manyCrews(0, 4)
	whole := map[string]string{}
	for _, c := range w.outlook("2025-06-10", 400) {
		for _, f := range c.Families {
			whole[fmt.Sprint(c.Crew.ID, f.FamilyID)] = w.bad(f)
		}
	}
	for _, days := range []int{1, 20, 90, 250, 399} {
		for _, c := range w.outlook("2025-06-10", days) {
			for _, f := range c.Families {
				want := whole[fmt.Sprint(c.Crew.ID, f.FamilyID)]
				if got := w.bad(f); got != "none" {
					assert.Equal(t, want, got)
				} else if want != "none" {
					assert.Greater(t, want[:10], day("2025-06-10").AddDays(days).String())
				}
			}
		}
	}
}

func TestAnOutlookIsBounded(t *testing.T) {
	w := newTown(t)
	for _, days := range []int{0, -1, 401} {
		_, err := w.roll.Outlook(w.ctx, day("2025-06-10"), days)
		assert.ErrorIs(t, err, groundhand.CodeInvalid)
	}
	assert.Empty(t, w.outlook("2025-06-10", 400))
	_, err := w.roll.Outlook(w.ctx, day("2023-06-10"), 10)
	assert.ErrorIs(t, err, groundhand.CodeNotFound, "no rules then")
}

func TestStatementsOfAnOutlookDoNotGrowWithTheCrews(t *testing.T) {
	w := newTown(t)
	w.run("gideon", "2024-09-12", groundhand.PairKit, groundhand.Lead, "F1")
	w.manyCrews(0, 3)
	ask := func() { w.outlook("2025-06-10", 200) }
	few := w.statements(ask)
	w.manyCrews(3, 30)
	assert.Equal(t, few, w.statements(ask))
	t.Logf("outlook %d statements", few)
}

// Sixty-four people whose first aid is renewed every day for 400 days: more begins and ends than is judged in one go, so the stretch is halved,
// and the bad moment of its second half is found all the same.
func TestAStretchThatIsTooMuchIsHalved(t *testing.T) {
	w := goodLine(t)
	q := w.cover(w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30")).Question
	q.Window.To = w.at("2026-07-15 00:00")
	q.Device.OutOfService, q.Kit.OutOfService = nil, nil
	q.Kit.DueThrough = readiness.Due{Weekly: day("2027-01-01"), Monthly: day("2027-01-01"), Yearly: day("2027-01-01")}
	q.People[0].CanGoAloft, q.People[1].CanGoAloft = false, false
	for i := range q.People {
		for j := range q.People[i].Capabilities {
			q.People[i].Capabilities[j].Through = day("2026-05-01")
		}
		q.People[i].FirstAid[0].Through = day("2026-08-01")
	}
	for i := range 61 {
		p := readiness.Person{ID: fmt.Sprintf("m%02d", i), Grade: "GROUND", OperatesLower: readiness.No}
		for d := range 400 {
			on := day("2025-06-10").AddDays(d)
			p.FirstAid = append(p.FirstAid, readiness.FirstAid{From: readiness.Edge{Day: on}, Through: on})
		}
		q.People = append(q.People, p)
	}
	_, err := readiness.Judge(q)
	require.ErrorIs(t, err, groundhand.CodeTooLarge)
	bad, err := rollcall.FirstBad(q)
	require.NoError(t, err)
	require.NotNil(t, bad)
	assert.Equal(t, "2026-05-02 NOT_READY", fmt.Sprint(bad.Day, " ", bad.Verdict))
	assert.Contains(t, bad.Changes, readiness.Change{Edge: readiness.EdgeEnd, Of: readiness.OfCapability, ID: "ann"})
}
