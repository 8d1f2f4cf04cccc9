package demo_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/audit"
	"groundhand/internal/competence"
	g "groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// The plot points about records that deserve belief.

// P12.
func TestAnExtensionMakesACrewConditionalAndEndsOnItsDay(t *testing.T) {
	c := played(t)
	ext, err := store.FindStanding[g.Extension](c.ctx, c.store, store.ByWorker, c.who(onT19...))
	require.NoError(t, err)
	require.Len(t, ext, 5)
	for _, e := range ext {
		assert.Equal(t, "Wed 29 Jan 2025", e.ToOn.Words())
		assert.Equal(t, c.who("Alasdair Nwosu-Kerr")[0], e.ApproverID)
		assert.Equal(t, "not as lone rescuer", e.Conditions)
	}
	live, err := c.roll.Extensions(c.ctx, g.MustDate("2025-01-20"))
	require.NoError(t, err)
	assert.Len(t, live, 5)

	assert.Equal(t, readiness.Conditional, c.job("J-0115-Q2", rollcall.Wish{}).Verdict)
	ended := c.job("J-0130-Q2", rollcall.Wish{})
	assert.Equal(t, readiness.NotReady, ended.Verdict)
	states := words(c.ask(on("2025-01-30"), g.PairKit, g.Lead, "F3", onT19...))
	assert.Equal(t, "LAPSED", states[1][:6], "Conrad has not drilled")
	for i, s := range states {
		assert.True(t, i == 1 || s[:7] == "CURRENT", s)
	}
}

var onT19 = []string{"Grainne Haverkamp", "Conrad Tsosie-Wynn", "Sunniva Ekdahl-Rix", "Bashir Omondi-Clay", "Rosalind Taumata-Fenn"}

// P16.
func TestARealRescueQuarantinesTheKitAndHoldsTheRecords(t *testing.T) {
	c := played(t)
	events, err := store.FindStanding[g.RealEvent](c.ctx, c.store, store.ByCrew, []g.CrewID{"Q2"})
	require.NoError(t, err)
	require.Len(t, events, 1)
	assert.Equal(t, []int{161, 178}, []int{events[0].CasualtyDownSeconds, events[0].FirstAidSeconds})
	defects, err := store.FindStanding[g.Defect](c.ctx, c.store, store.ByKit, []g.KitID{"K16"})
	require.NoError(t, err)
	require.Len(t, defects, 1)
	assert.Equal(t, g.RealUse, defects[0].Cause)
	holds, err := store.FindStanding[g.Hold](c.ctx, c.store, store.ByCrew, []g.CrewID{"Q2"})
	require.NoError(t, err)
	assert.Len(t, holds, 1)
	away, err := c.store.UnavailableBetween(c.ctx, c.who("Anders Mwangi-Bly", "Shreya Pillai-Ross"), c.instant("2024-09-18 08:00"), c.instant("2024-09-18 09:00"))
	require.NoError(t, err)
	assert.Len(t, away, 2)
	outOn := func(day string) bool {
		next, err := c.roll.Cover(c.ctx, rollcall.CoverQuestion{CrewID: "Q2", DeviceID: "A07", KitID: "K16", RuleSetID: "R1", FromAt: c.instant(day + " 07:00"),
			ToAt: c.instant(day + " 15:00"), Aloft: 1, Methods: []g.Method{g.PairKit}, Near50V: g.Yes, CallPlan: g.Yes, KitSuits: g.Yes})
		require.NoError(t, err)
		return slices.ContainsFunc(next.Answer.Findings, func(f readiness.Finding) bool { return f.Code == readiness.KitOutOfService })
	}
	assert.True(t, outOn("2024-09-18"), "the kit waits to be looked through")
	assert.False(t, outOn("2024-09-25"), "it was looked through whole")
}

// P19.
func TestAPassForSelfIsRefusedAndNoted(t *testing.T) {
	c := played(t)
	refused, err := store.All[g.RefusedAttempt](c.ctx, c.store)
	require.NoError(t, err)
	i := slices.IndexFunc(refused, func(r g.RefusedAttempt) bool { return r.Rule == g.SelfAssessment })
	require.GreaterOrEqual(t, i, 0)
	grainne := c.who("Grainne Haverkamp")[0]
	assert.Equal(t, grainne, refused[i].AuthorID)
	assert.Equal(t, grainne, refused[i].WorkerID)
	assert.Equal(t, "2024-10-11", g.DateOf(refused[i].RecordedAt.In(c.zone)).String())
	assert.Equal(t, []string{"CURRENT 2025-10-21"}, words(c.ask(on("2024-11-04"), g.PairKit, g.Lead, "F1", "Grainne Haverkamp")))
}

// P20, the reviews.
func TestFivePassesGoToReviewInOneStep(t *testing.T) {
	c := played(t)
	reviews, err := store.FindStanding[g.Review](c.ctx, c.store, store.ByWorker,
		c.who("Fiachra Dunmoor", "Amara Villeneuve-Oke", "Kofi Starling-Byrd", "Ines Barroso-Lind", "Chidi Eastmarch"))
	require.NoError(t, err)
	reviews = slices.DeleteFunc(reviews, func(r g.Review) bool { return g.DateOf(r.RecordedAt.In(c.zone)) != g.MustDate("2024-12-02") })
	require.Len(t, reviews, 5)
	outcomes := map[g.ReviewOutcome]int{}
	for _, r := range reviews {
		assert.Equal(t, reviews[0].RecordedAt, r.RecordedAt)
		closed, err := store.FindStanding[g.ReviewClosing](c.ctx, c.store, store.ByReview, []g.EntryID{r.ID})
		require.NoError(t, err)
		require.Len(t, closed, 1, r.WorkerID)
		outcomes[closed[0].Outcome]++
	}
	assert.Equal(t, map[g.ReviewOutcome]int{g.ReviewRunAgain: 4, g.ReviewWithdrawn: 1}, outcomes)
}

// P21.
func TestFourteenPassesInFiftyMinutesAreAskedAbout(t *testing.T) {
	c := played(t)
	findings, err := audit.New(c.store, c.roll).Screens(c.ctx, c.cast.Account(g.Auditor), g.MustDate("2024-12-10"), g.MustDate("2024-12-10"))
	require.NoError(t, err)
	kinds := map[string]int{}
	for _, f := range findings {
		kinds[string(f.Kind)] = max(kinds[string(f.Kind)], len(f.Entries))
		if f.Kind == audit.TooManyRuns {
			assert.Contains(t, f.Question, "14 runs with 14 passes")
		}
		assert.NotEmpty(t, f.Question)
	}
	assert.GreaterOrEqual(t, kinds[string(audit.TooManyRuns)], 14)
	assert.GreaterOrEqual(t, kinds[string(audit.HeapedTimes)], 14)
	again, err := store.All[g.Assessment](c.ctx, c.store)
	require.NoError(t, err)
	again = slices.DeleteFunc(again, func(a g.Assessment) bool {
		return a.HappenedOn != g.MustDate("2025-02-04") || a.Result != g.Pass || a.FamilyID != "F4"
	})
	assert.GreaterOrEqual(t, len(again), 10)
}

// P22.
func TestWhatWasKnownOfANearMiss(t *testing.T) {
	c := played(t)
	familiar := func(moment string) competence.Standing {
		q := on("2025-05-03")
		q.AsKnownAt = c.instant(moment)
		return c.ask(q, g.Familiarisation, g.Second, "F4", "Jamie Tallis")[0].Standing
	}
	assert.Equal(t, competence.Never, familiar("2025-05-03 21:40"))
	assert.Equal(t, competence.Current, familiar("2025-05-06 12:00"))
	assert.Equal(t, competence.Never, familiar("2025-05-20 12:00"))

	parts, err := store.Find[g.RunPart](c.ctx, c.store, store.ByWorker, c.who("Jamie Tallis"))
	require.NoError(t, err)
	i := slices.IndexFunc(parts, func(p g.RunPart) bool { return p.HappenedOn == g.MustDate("2025-04-28") })
	require.GreaterOrEqual(t, i, 0)
	require.NoError(t, c.roll.AsKnown(c.ctx, c.instant("2025-05-06 12:00"), func(past *rollcall.Roll) error {
		marks, err := past.Marks(c.ctx, []g.EntryID{parts[i].ID})
		assert.Contains(t, marks[parts[i].ID], rollcall.MarkLate)
		assert.Contains(t, marks[parts[i].ID], rollcall.MarkContradicted)
		assert.NotContains(t, marks[parts[i].ID], rollcall.MarkWithdrawn)
		return err
	}))
}

// P24.
func TestTheNewRulesWouldHavePutFourOfSixOut(t *testing.T) {
	c := played(t)
	proposals, err := store.All[g.RuleProposal](c.ctx, c.store)
	require.NoError(t, err)
	require.Len(t, proposals, 1)
	six := c.who("Astrid Munkelby", "Jamal Forrester-Iyo", "Pavel Dragutin-Moss", "Siobhan Marsh-Adeyi", "James Tallis", "Dilnoza Rahmonova-Pike")
	out := func(moment string) (newly, anyway []g.WorkerID) {
		require.NoError(t, c.roll.AsKnown(c.ctx, c.instant(moment), func(past *rollcall.Roll) error {
			p, err := past.PreviewRules(c.ctx, rollcall.RuleProposalAsk{Body: proposals[0].Body, RuleSetID: "R2", EffectiveFrom: g.MustDate("2025-03-01"), IsDefault: true})
			require.NoError(t, err)
			for _, crew := range p.Crews {
				newly, anyway = append(newly, among(six, crew.Out)...), append(anyway, among(six, crew.StillOut)...)
			}
			return nil
		}))
		return newly, anyway
	}
	newly, anyway := out("2024-12-02 14:00")
	assert.Len(t, append(newly, anyway...), 4, "of six")
	assert.Equal(t, c.who("Dilnoza Rahmonova-Pike"), anyway, "she has never rescued alone, and the old rules ask it too")
	newly, _ = out("2025-02-28 18:00")
	assert.Empty(t, newly, "after the drills of 4 and 25 February")
}

func among(who []g.WorkerID, people []rollcall.PersonPreview) (out []g.WorkerID) {
	for _, p := range people {
		if slices.Contains(who, p.WorkerID) {
			out = append(out, p.WorkerID)
		}
	}
	return out
}

// P25.
func TestThePassOfTheYoungerTallisMoves(t *testing.T) {
	c := played(t)
	certs, err := store.All[g.Certificate](c.ctx, c.store)
	require.NoError(t, err)
	both := map[g.WorkerID]g.Certificate{}
	for _, cert := range certs {
		if cert.ShownOn == g.MustDate("2024-10-22") && cert.FamilyID == "F2" {
			both[cert.WorkerID] = cert
		}
	}
	senior, junior := c.who("James Tallis")[0], c.who("Jamie Tallis")[0]
	require.Len(t, both, 2)
	assert.Equal(t, g.EntryID(both[senior].ID), both[junior].ReplacesID)
	pass, err := store.Get[g.Assessment](c.ctx, c.store, both[junior].EvidenceID)
	require.NoError(t, err)
	assert.Equal(t, both[senior].EvidenceID, pass.ReplacesID)
	assert.Equal(t, pass.RecordedAt, both[junior].RecordedAt, "in one step with the pass")
	reviews, err := store.FindStanding[g.Review](c.ctx, c.store, store.ByEntry, []g.CertificateID{both[senior].ID})
	require.NoError(t, err)
	require.Len(t, reviews, 1)
	closed, err := store.FindStanding[g.ReviewClosing](c.ctx, c.store, store.ByReview, []g.EntryID{reviews[0].ID})
	require.NoError(t, err)
	require.Len(t, closed, 1)
	assert.Equal(t, g.EntryID(both[junior].ID), closed[0].NewEntryID)
	before, after := on("2024-10-30"), on("2024-10-30")
	before.AsKnownAt = c.instant("2024-10-30 12:00")
	before.RuleSet, after.RuleSet = "R1", "R1"
	assert.Equal(t, competence.Current, c.ask(before, g.PairKit, g.Lead, "F2", "James Tallis")[0].Standing)
	assert.Equal(t, competence.Never, c.ask(after, g.PairKit, g.Lead, "F2", "James Tallis")[0].Standing)
	assert.Equal(t, competence.Current, c.ask(after, g.PairKit, g.Lead, "F2", "Jamie Tallis")[0].Standing)
}

// P26.
func TestANewNameIsOnePersonAndAWrongMergeIsUndone(t *testing.T) {
	c := played(t)
	names, err := c.store.NamesOn(c.ctx, c.who("Ana-Lúcia Ferreira-Moor", "Owen Pryderi-Nash", "Viggo Tandberg-Eze"), g.MustDate("2025-06-11"))
	require.NoError(t, err)
	assert.Equal(t, map[g.WorkerID]string{c.who("Ana-Lúcia Ferreira-Moor")[0]: "Ana-Lúcia Okonjo-Moor", c.who("Owen Pryderi-Nash")[0]: "Owen Pryderi-Nash",
		c.who("Viggo Tandberg-Eze")[0]: "Viggo Tandberg-Eze"}, names)
	merges, err := store.Standing[g.Merge](c.ctx, c.store)
	require.NoError(t, err)
	assert.Len(t, merges, 1)
	workers, err := store.Standing[g.Worker](c.ctx, c.store)
	require.NoError(t, err)
	assert.False(t, slices.ContainsFunc(workers, func(w g.Worker) bool { return w.Number == "9117" }), "the second person is the first one")
	assert.Equal(t, c.who("Ana-Lúcia Ferreira-Moor")[0], merges[0].KeptID)
}

// P34.
func TestTheAuditorsSampleIsCleanButForOneLateEntry(t *testing.T) {
	c := played(t)
	sample, err := audit.New(c.store, c.roll).Sample(c.ctx, c.cast.Account(g.Auditor), audit.SampleAsk{Seed: auditSeed, N: 25,
		From: g.MustDate("2024-01-01"), Through: g.MustDate("2025-06-10")})
	require.NoError(t, err)
	require.Len(t, sample.Passes, 25)
	clean, late := 0, 0
	for _, p := range sample.Passes {
		switch {
		case len(p.Marks) == 0:
			clean++
		case slices.Contains(p.Marks, rollcall.MarkLate):
			late++
		}
	}
	assert.Equal(t, []int{24, 1}, []int{clean, late})
	v, err := c.store.Verify(c.ctx, nil)
	require.NoError(t, err)
	assert.Nil(t, v.Misfit)
}

const auditSeed = 1
