package demo_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/competence"
	g "groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// The plot points about trucks, kits and people lent.

// job is the answer for a booked job, as everything is recorded on the evening of the demonstration.
func (c company) job(id g.JobID, w rollcall.Wish) readiness.Answer {
	c.Helper()
	a, err := c.roll.JobCover(c.ctx, id, w)
	require.NoError(c, err)
	return a.Answer
}

func found(a readiness.Answer, code readiness.Code) *readiness.Finding {
	i := slices.IndexFunc(a.Findings, func(f readiness.Finding) bool { return f.Code == code })
	if i < 0 {
		return nil
	}
	return &a.Findings[i]
}

func refusal(a readiness.Answer, id string) readiness.RefusedReason {
	for _, r := range a.Refused {
		if r.ID == id {
			return r.Reason
		}
	}
	return ""
}

// first is the place of the first fix that makes a change.
func first(a readiness.Answer, do readiness.Do, id string) int {
	return slices.IndexFunc(a.Fixes, func(f readiness.Fix) bool {
		return len(f.Changes) == 1 && f.Changes[0].Do == do && f.Changes[0].ID == id
	})
}

// P1, the changes: a drill before departure with somebody on an early shift, then somebody of the relief pool.
func TestTheLeastChangeIsADrillBeforeDeparture(t *testing.T) {
	c := played(t)
	a := c.job("J-0612-04", rollcall.Wish{Changes: &rollcall.Changes{Show: 20}})
	names := []string{"Tomasz Wieland", "Dario Pellgrove", "Callum Reyvers", "Yusuf Demirkol-Ash", "Leilani Crosswell", "Keahi Barrow", "Hamid Rostami-Gale"}
	who := c.who(names...)
	drill := a.Fixes[0]
	assert.Equal(t, readiness.DoDrill, drill.Changes[0].Do)
	assert.Equal(t, "05:00 PAIR_KIT F1 by "+string(who[0]), drill.Changes[0].ID)
	assert.Subset(t, []string{string(who[1]), string(who[2]), string(who[3])}, drill.Changes[0].People)
	assert.Greater(t, first(a, readiness.DoPerson, string(who[4])), 0, "Leilani comes after the drill")
	assert.Equal(t, readiness.LenderWorse, refusal(a, string(who[5])), "V1 would be left with one on the ground")
	assert.Equal(t, readiness.OnLeave, refusal(a, string(who[6])))
}

// P3.
func TestACrewOfExactlyTwoHangsOnBoth(t *testing.T) {
	c := played(t)
	all, err := c.roll.Company(c.ctx, g.MustDate("2025-06-10"))
	require.NoError(t, err)
	i := slices.IndexFunc(all.Crews, func(d rollcall.CrewDay) bool { return d.Crew.ID == "V2" })
	require.GreaterOrEqual(t, i, 0)
	assert.Equal(t, 2, all.Crews[i].Families[0].Rescuers)
	assert.True(t, all.Crews[i].Families[0].GroundCover)
	a, err := c.roll.Cover(c.ctx, rollcall.CoverQuestion{CrewID: "V2", DeviceID: "A04", FromAt: c.instant("2025-06-10 07:00"), ToAt: c.instant("2025-06-10 15:30"),
		Aloft: 1, Methods: []g.Method{g.PairKit}, Near50V: g.Yes, CallPlan: g.Yes, KitOnDevice: g.Yes, KitSuits: g.Yes})
	require.NoError(t, err)
	assert.Equal(t, readiness.Ready, a.Answer.Verdict)
	var hangs []g.WorkerID
	for _, h := range a.Answer.NMinus1.HangsOn {
		hangs = append(hangs, g.WorkerID(h.Person))
	}
	assert.Equal(t, c.who("Ifeoma Castellane", "Hana Sotomura"), hangs)
}

// P6.
func TestAnotherTruckNeedsItsControlsMet(t *testing.T) {
	c := played(t)
	jobs := 0
	for day := g.MustDate("2024-11-05"); day <= g.MustDate("2024-11-22"); day++ {
		id := g.JobID("J-" + day.String()[5:7] + day.String()[8:] + "-Q1")
		if day == g.MustDate("2024-11-12") {
			continue // on this day they run on it
		}
		if _, err := store.Get[g.Job](c.ctx, c.store, id); err != nil {
			continue // the end of a week
		}
		jobs++
		want := readiness.NotReady
		if day > g.MustDate("2024-11-12") {
			want = readiness.Ready
		}
		assert.Equal(t, want, c.job(id, rollcall.Wish{}).Verdict, day)
	}
	assert.Equal(t, 13, jobs)
	own, err := c.roll.Cover(c.ctx, rollcall.CoverQuestion{CrewID: "Q1", DeviceID: "A08", FromAt: c.instant("2024-11-14 07:00"), ToAt: c.instant("2024-11-14 15:30"),
		Aloft: 1, Methods: []g.Method{g.PairKit}, Near50V: g.Yes, CallPlan: g.Yes, KitOnDevice: g.Yes, KitSuits: g.Yes})
	require.NoError(t, err)
	assert.NotNil(t, found(own.Answer, readiness.DeviceOutOfService), "in the workshop")
	met := c.ask(on("2024-11-13"), g.Familiarisation, g.Second, "F4", "Sunniva Ekdahl-Rix", "Bashir Omondi-Clay", "Rosalind Taumata-Fenn", "Luca Ferrantino-Ware")
	for _, s := range met {
		assert.Equal(t, competence.Current, s.Standing)
	}
}

// P10.
func TestTwoRuleSetsDisagreeAboutOneMan(t *testing.T) {
	c := played(t)
	under := func(set g.RuleSetID) []string {
		q := on("2025-01-14")
		q.RuleSet = set
		return words(c.ask(q, g.PairKit, g.Lead, "F3", "Uche Ravenhall"))
	}
	assert.Equal(t, []string{"CURRENT 2025-01-31"}, under("R-X"), "good to the end of the month by the contractor's own rules")
	assert.Equal(t, []string{"LAPSED 2025-01-11"}, under("R-C"), "and out by the client's")
}

// P13.
func TestALoanThatBreaksTheLenderIsRefused(t *testing.T) {
	c := played(t)
	lender, jonas := c.job("J-0424-S2", rollcall.Wish{}), c.who("Jonas Abernethie-Sow")
	assert.Equal(t, readiness.Ready, lender.Verdict)
	assert.Equal(t, readiness.NotReady, c.job("J-0424-S2", rollcall.Wish{Absent: jonas}).Verdict)
	a := c.job("J-0424-S1", rollcall.Wish{Looks: rollcall.LooksSupposed, Changes: &rollcall.Changes{}})
	assert.Equal(t, readiness.NotReady, a.Verdict)
	assert.Equal(t, readiness.LenderWorse, refusal(a, string(jonas[0])))
	assert.Equal(t, -1, first(a, readiness.DoPerson, string(jonas[0])))
}

// P14.
func TestAWornStrapLeavesLoweringByHand(t *testing.T) {
	c := played(t)
	a := c.job("J-0403-D1", rollcall.Wish{Looks: rollcall.LooksSupposed, Changes: &rollcall.Changes{Show: 20}})
	assert.Equal(t, readiness.Conditional, a.Verdict)
	require.NotNil(t, found(a, readiness.KitOutOfService))
	assert.Equal(t, []string{"PAIR_KIT"}, found(a, readiness.KitOutOfService).Things)
	require.Len(t, a.Conditions, 1)
	assert.Equal(t, readiness.MethodMissesAim, a.Conditions[0].Code)
	assert.Positive(t, first(a, readiness.DoKit, "K29"), "the spare of Quillmere")
	assert.Equal(t, readiness.TooFar, refusal(a, "K23"), "away with T20")
	assert.Equal(t, readiness.Ready, c.job("J-0120-D1", rollcall.Wish{}).Verdict, "the same crew with its kit whole")
}

// P15.
func TestARopeTooShortStrikesTheKit(t *testing.T) {
	c := played(t)
	a := c.job("J-0506-S2", rollcall.Wish{})
	assert.Equal(t, readiness.Conditional, a.Verdict)
	reach := found(a, readiness.KitReach)
	require.NotNil(t, reach)
	assert.Equal(t, []int{1025, 1300}, []int{*reach.Values["have_cm"], *reach.Values["need_cm"]})
	assert.Equal(t, []string{"PAIR_KIT"}, reach.Things)
}

// P28.
func TestADispatcherSeesThatSomebodyIsHeldBackAndNotWhy(t *testing.T) {
	c := played(t)
	rosalind := c.who("Rosalind Taumata-Fenn")
	held := found(c.job("J-0408-Q1", rollcall.Wish{}), readiness.NotForRescueDuty)
	require.NotNil(t, held)
	assert.Equal(t, string(rosalind[0]), held.Things[0])
	away, err := c.store.UnavailableBetween(c.ctx, rosalind, c.instant("2025-03-24 00:00"), c.instant("2025-05-03 00:00"))
	require.NoError(t, err)
	i := slices.IndexFunc(away, func(u g.Unavailability) bool { return u.Kind == g.NotForRescue })
	require.GreaterOrEqual(t, i, 0)
	assert.Equal(t, "2025-05-03 00:00", away[i].ToAt.In(c.zone).Format("2006-01-02 15:04"), "through 2 May")
	reasons, err := store.All[g.UnavailabilityReason](c.ctx, c.store)
	require.NoError(t, err)
	assert.True(t, slices.ContainsFunc(reasons, func(r g.UnavailabilityReason) bool { return r.UnavailabilityID == away[i].ID }), "kept apart, for HR")
}

// P30.
func TestAHiredTruckThatNobodyKnows(t *testing.T) {
	c := played(t)
	a := c.job("J-0609-S1", rollcall.Wish{KitSuits: g.Yes})
	assert.Equal(t, readiness.CannotTell, a.Verdict)
	require.NotNil(t, found(a, readiness.UnknownDecides))
	assert.Contains(t, found(a, readiness.UnknownDecides).Things, "device.family")
	classed, err := c.roll.Cover(c.ctx, rollcall.CoverQuestion{CrewID: "S1", DeviceID: "H31", FromAt: c.instant("2025-06-10 07:45"), ToAt: c.instant("2025-06-10 08:55"),
		Aloft: 1, Methods: []g.Method{g.PairKit}, Near50V: g.Yes, CallPlan: g.Yes, KitSuits: g.Yes})
	require.NoError(t, err)
	assert.Equal(t, readiness.NotReady, classed.Answer.Verdict, "classed, and nobody of S1 has run on it")
	assert.Equal(t, readiness.Ready, c.job("J-0611-S1", rollcall.Wish{}).Verdict)
}

// What was a crew for a week alone is nobody's business afterwards.
func TestCrewsThatNobodyIsInAreNotLookedAt(t *testing.T) {
	c := played(t)
	var ids []g.CrewID
	all, err := c.roll.Company(c.ctx, g.MustDate("2025-06-11"))
	require.NoError(t, err)
	for _, d := range all.Crews {
		ids = append(ids, d.Crew.ID)
	}
	assert.Equal(t, []g.CrewID{"C1", "C2", "C3", "D1", "Q1", "Q2", "Q3", "S1", "S2", "S3", "V1", "V2", "V3", "V4", "V5", "V6"}, ids)
	ahead, err := c.roll.LookAhead(c.ctx, g.MustDate("2025-06-11"), 30)
	require.NoError(t, err)
	for _, b := range ahead.FirstBadDays {
		assert.Contains(t, ids, b.CrewID)
	}
}

// The play stays small enough to be played in every run of the tests.
func TestThePlayIsBounded(t *testing.T) {
	c := played(t)
	acts, err := store.All[g.Act](c.ctx, c.store)
	require.NoError(t, err)
	t.Log(len(acts), "acts")
	assert.Less(t, len(acts), 12000)
	looks, err := store.All[g.Inspection](c.ctx, c.store)
	require.NoError(t, err)
	perKind := map[g.InspectionKind]int{}
	for _, l := range looks {
		perKind[l.Kind]++
		if l.Kind == g.DeviceMonthly {
			assert.True(t, 150 <= l.LoweringSeconds && l.LoweringSeconds <= 280, "%s: %d s", l.DeviceID, l.LoweringSeconds)
		}
	}
	t.Log(perKind)
	assert.Greater(t, perKind[g.DeviceMonthly], 28*17)
	assert.Greater(t, perKind[g.MonthlyInside], 560)
}
