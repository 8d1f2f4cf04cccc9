package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// reviews gives all reviews in the order in which they were recorded.
func (sc *scene) reviews() []groundhand.Review {
	sc.t.Helper()
	all, err := store.Standing[groundhand.Review](sc.ctx, sc.store)
	require.NoError(sc.t, err)
	return all
}

// sanna is an assessor with an account of her own, and the five people whom she passed.
type sanna struct {
	*scene
	sanna  groundhand.WorkerID
	as     groundhand.Account
	drill  Drill // the good practice that she leans on
	five   []groundhand.WorkerID
	passes []groundhand.Assessment
}

// fivePasses: on Mon 18 Nov 2024 she passes five people, leaning on a drill of her own of 5 Nov 2024 that was not hers. Her last one was in 2023.
func fivePasses(t *testing.T) *sanna {
	s := &sanna{scene: newScene(t)}
	s.shippedRules()
	s.sanna = s.worker("Sanna Kowalczyk-Reyes", "3001", groundhand.Qualified)
	s.as = s.account("sanna", groundhand.Assessor, s.sanna)
	must(s.scene, s.desk.GrantAuthority, s.authority(s.sanna))
	must(s.scene, s.desk.GrantAuthority, s.authority(s.gideon))
	s.practise(s.gideon, "2024-06-20")
	s.practise(s.sanna, "2023-10-17")
	s.drill = s.practise(s.sanna, "2024-11-05")
	extra := s.worker("Priya Nandakumar-Vell", "3002", groundhand.Qualified)
	s.five = []groundhand.WorkerID{s.maren, s.tomasz, s.keahi, s.henrike, extra}
	for _, who := range s.five {
		f := s.pass(who)
		f.On, f.AssessorID = groundhand.MustDate("2024-11-18"), s.sanna
		pass, err := s.desk.Assess(s.ctx, s.as, s.key(), f)
		require.NoError(t, err)
		s.passes = append(s.passes, pass)
	}
	return s
}

// notHers corrects the drill: it was another day than the sheet says, long before.
func (s *sanna) notHers() {
	s.t.Helper()
	must(s.scene, s.desk.RecordDrill, s.scene.drill(func(r *RunForm) {
		r.Entry = Entry{Replaces: groundhand.EntryID(s.drill.Runs[0].ID), Because: "the sheet had the wrong year", Kind: groundhand.Factual, AskedBy: s.maren}
		r.When, r.WatchedBy = When{On: groundhand.MustDate("2023-11-05")}, ""
		r.Parts = []PartForm{{WorkerID: s.sanna, Role: groundhand.Lead}}
	}))
}

// again has Gideon pass somebody on a later day.
func (s *sanna) again(who groundhand.WorkerID, on string) groundhand.Assessment {
	f := s.pass(who)
	f.On = groundhand.MustDate(on)
	return must(s.scene, s.desk.Assess, f)
}

// Story: five passes go to review in the step that puts the assessor's own practice right; four are run again, one is withdrawn.
func TestFivePassesGoToReviewInOneStep(t *testing.T) {
	s := fivePasses(t)
	require.Empty(t, s.reviews())
	s.notHers()
	open := s.reviews()
	require.Len(t, open, 5)
	cause := s.corrections(groundhand.EntryID(s.drill.Runs[0].ID))[0]
	for i, r := range open {
		assert.Equal(t, []any{s.passes[i].ID, groundhand.RestedOnCorrected, s.five[i], cause.RecordedAt}, []any{r.EntryID, r.Cause, r.WorkerID, r.RecordedAt})
		assert.Equal(t, s.henrike, r.AuthorID)
	}
	for i := range 4 {
		f := ReviewClosingForm{ReviewID: open[i].ID, Outcome: groundhand.ReviewRunAgain, Reason: "run again before Gideon", NewEntryID: s.again(s.five[i], "2024-12-19").ID}
		goesThrough(t, s.scene, s.desk.CloseReview, f)
	}
	before := s.rows()
	goesThrough(t, s.scene, s.desk.CloseReview, ReviewClosingForm{ReviewID: open[4].ID, Outcome: groundhand.ReviewWithdrawn, Reason: "no drill before January", AgreedBy: s.gideon})
	assert.Equal(t, before["withdrawals"]+1, s.rows()["withdrawals"])
	said := s.corrections(s.passes[4].ID)
	require.Len(t, said, 1)
	assert.Equal(t, []any{groundhand.ValidityMistaken, s.gideon, "no drill before January"}, []any{said[0].Kind, said[0].AgreedByID, said[0].Because})
	for _, r := range open {
		s.refused(func() error {
			return try(s.scene, s.desk.CloseReview, ReviewClosingForm{ReviewID: r.ID, Outcome: groundhand.ReviewStands, Reason: "twice"})
		}, s.whenHenrikeIsAbout(r)...)
	}
	assert.Len(t, s.reviews(), 5, "nothing more came of it")
}

// whenHenrikeIsAbout: the coordinator is one of the five, and does not decide on her own entry.
func (s *sanna) whenHenrikeIsAbout(r groundhand.Review) []string {
	if r.WorkerID == s.henrike {
		return says("CONFLICT reviewId", "FORBIDDEN outcome")
	}
	return says("CONFLICT reviewId")
}

// Whom an invalid assessor passed may be an assessor too: what they signed falls with it.
func TestTheCertificateOfALostPassGoesToReviewWithIt(t *testing.T) {
	s := fivePasses(t)
	cert := s.certificate("2024-0001", s.passes[2])
	s.notHers()
	open := s.reviews()
	require.Len(t, open, 6)
	assert.Equal(t, groundhand.EntryID(cert.ID), open[5].EntryID)
	assert.Equal(t, []any{groundhand.RestedOnCorrected, open[2].CauseID, s.five[2]}, []any{open[5].Cause, open[5].CauseID, open[5].WorkerID})
}

func TestTheCascadeGoesOnToWhomTheyPassed(t *testing.T) {
	s := fivePasses(t)
	must(s.scene, s.desk.GrantAuthority, s.authority(s.maren))
	maren := s.account("maren", groundhand.Assessor, s.maren)
	f := s.pass(s.gideon)
	f.On, f.AssessorID = groundhand.MustDate("2025-02-03"), s.maren
	second, err := s.desk.Assess(s.ctx, maren, s.key(), f)
	require.NoError(t, err)
	s.notHers()
	open := s.reviews()
	require.Len(t, open, 6)
	assert.Equal(t, second.ID, open[5].EntryID)
}

func TestACorrectionThatTakesNothingAwayOpensNothing(t *testing.T) {
	s := fivePasses(t)
	must(s.scene, s.desk.RecordDrill, s.scene.drill(func(r *RunForm) {
		r.Entry = Entry{Replaces: groundhand.EntryID(s.drill.Runs[0].ID), Because: "it rained", Kind: groundhand.Clerical}
		r.When, r.WatchedBy, r.Weather = When{On: groundhand.MustDate("2024-11-05")}, "", "rain"
		r.Parts = []PartForm{{WorkerID: s.sanna, Role: groundhand.Lead}}
	}))
	assert.Empty(t, s.reviews(), "her practice is as good as before")
}

func TestAnAuthorityTakenBackPutsItsPassesIntoReview(t *testing.T) {
	s := fivePasses(t)
	given, err := store.FindStanding[groundhand.Authority](s.ctx, s.store, store.ByAssessor, []groundhand.WorkerID{s.sanna})
	require.NoError(t, err)
	gone := must(s.scene, s.desk.Withdraw, WithdrawalForm{EntryID: given[0].ID, Because: "never appointed", Kind: groundhand.ValidityMistaken, AgreedBy: s.gideon})
	require.Len(t, s.reviews(), 5)
	must(s.scene, s.desk.Withdraw, WithdrawalForm{EntryID: gone.ID, Because: "she was"})
	assert.Len(t, s.reviews(), 5, "giving back takes nothing away")
}

func TestAFindingPutsEveryPassOfThoseDaysIntoReview(t *testing.T) {
	s := fivePasses(t)
	f := FindingForm{AssessorID: s.sanna, FromOn: groundhand.MustDate("2024-11-01"), ToOn: groundhand.MustDate("2024-11-30"), Reason: "own practice not good"}
	found := goesThrough(t, s.scene, s.desk.FindAssessorInvalid, f)
	require.Len(t, found.Reviews, 5)
	for i, r := range found.Reviews {
		assert.Equal(t, []any{s.passes[i].ID, groundhand.AssessorFoundInvalid, found.Finding.ID}, []any{r.EntryID, r.Cause, r.CauseID})
	}
	f.ToOn = groundhand.MustDate("2024-11-17")
	assert.Empty(t, must(s.scene, s.desk.FindAssessorInvalid, f).Reviews, "nothing was signed by then")

	must(s.scene, s.desk.CloseReview, ReviewClosingForm{ReviewID: found.Reviews[0].ID, Outcome: groundhand.ReviewStands, Reason: "the drill was hers after all"})
	s.refused(func() error {
		_, err := s.desk.Withdraw(s.ctx, s.account("sanna too", groundhand.Coordinator, s.sanna), "w", WithdrawalForm{EntryID: found.Finding.ID, Because: "not so"})
		return err
	}, "FORBIDDEN entryId")
	must(s.scene, s.desk.Withdraw, WithdrawalForm{EntryID: found.Finding.ID, Because: "it was another assessor"})
	assert.Len(t, s.reviews(), 1, "the open reviews go with it, the closed one stays")
}

func TestFindingsAreRefused(t *testing.T) {
	form := func(change func(*FindingForm)) func(*scene) error {
		return func(sc *scene) error {
			f := FindingForm{AssessorID: sc.gideon, FromOn: today - 30, ToOn: today, Reason: "not appointed"}
			change(&f)
			return try(sc, sc.desk.FindAssessorInvalid, f)
		}
	}
	walk(t, []refusal{
		{"of nobody", form(func(f *FindingForm) { f.AssessorID = "" }), says("INVALID assessorId")},
		{"of somebody unknown", form(func(f *FindingForm) { f.AssessorID = "w9" }), says("NOT_FOUND assessorId")},
		{"about days ahead", form(func(f *FindingForm) { f.ToOn = today + 1 }), says("INVALID toOn")},
		{"about days that end before they begin", form(func(f *FindingForm) { f.ToOn = today - 31 }), says("INVALID toOn")},
		{"about days without end", form(func(f *FindingForm) { f.ToOn = 0 }), says("INVALID toOn")},
		{"without a reason", form(func(f *FindingForm) { f.Reason = "" }), says("INVALID reason")},
		{"in the place of another", form(func(f *FindingForm) { f.Replaces, f.Because = "e1", "typing" }), says("INVALID replaces")},
	})
}

func TestReviewsAreClosedOnlyByWhatTheRecordsShow(t *testing.T) {
	s := fivePasses(t)
	s.notHers()
	open := s.reviews()
	closing := func(change func(*ReviewClosingForm)) func() error {
		f := ReviewClosingForm{ReviewID: open[0].ID, Outcome: groundhand.ReviewRunAgain, Reason: "run again"}
		change(&f)
		return func() error { return try(s.scene, s.desk.CloseReview, f) }
	}
	runAgain := func(id groundhand.EntryID) func() error {
		return closing(func(f *ReviewClosingForm) { f.NewEntryID = id })
	}
	other := s.again(s.tomasz, "2024-12-19")
	earlier := s.again(s.maren, "2024-11-11")
	fail := s.pass(s.maren)
	fail.Result = groundhand.Fail
	failed := must(s.scene, s.desk.Assess, fail)
	s.refused(runAgain(""), "INVALID newEntryId")
	s.refused(runAgain("e9"), "NOT_FOUND newEntryId")
	s.refused(runAgain(other.ID), "CONFLICT newEntryId")
	s.refused(runAgain(earlier.ID), "CONFLICT newEntryId")
	s.refused(runAgain(failed.ID), "CONFLICT newEntryId")
	s.refused(runAgain(s.passes[0].ID), "CONFLICT newEntryId")
	s.refused(closing(func(f *ReviewClosingForm) { f.Outcome, f.NewEntryID = groundhand.ReviewReplaced, other.ID }), "CONFLICT newEntryId")
	s.refused(closing(func(f *ReviewClosingForm) { f.Outcome, f.NewEntryID = groundhand.ReviewReplaced, s.passes[0].ID }), "CONFLICT newEntryId")
	s.refused(closing(func(f *ReviewClosingForm) { f.Outcome = "FORGOTTEN" }), "INVALID outcome")
	s.refused(closing(func(f *ReviewClosingForm) { f.Outcome = groundhand.ReviewWithdrawn }), "INVALID agreedBy")
	s.refused(closing(func(f *ReviewClosingForm) { f.Outcome, f.AgreedBy = groundhand.ReviewWithdrawn, s.henrike }), "FORBIDDEN agreedBy")
	s.refused(closing(func(f *ReviewClosingForm) { f.Outcome, f.NewEntryID = groundhand.ReviewStands, other.ID }), "INVALID newEntryId")
	s.refused(closing(func(f *ReviewClosingForm) { f.ReviewID, f.NewEntryID = "r9", other.ID }), "NOT_FOUND reviewId")
	s.refused(func() error {
		return try(s.scene, s.desk.Withdraw, WithdrawalForm{EntryID: open[0].ID, Because: "no need"})
	}, "CONFLICT entryId")

	self := s.account("sanna too", groundhand.Coordinator, s.sanna)
	s.refused(func() error {
		_, err := s.desk.CloseReview(s.ctx, self, "own", ReviewClosingForm{ReviewID: open[0].ID, Outcome: groundhand.ReviewStands, Reason: "I was good"})
		return err
	}, "FORBIDDEN outcome")
	noted := s.attempts()
	assert.Equal(t, groundhand.OwnFinding, noted[len(noted)-1].Rule)
	s.refused(func() error {
		_, err := s.desk.CloseReview(s.ctx, s.account("nobody", groundhand.Coordinator, ""), "n", ReviewClosingForm{ReviewID: open[0].ID, Outcome: groundhand.ReviewStands, Reason: "so"})
		return err
	}, "FORBIDDEN outcome")
}

func TestAPassWithdrawnBeforeIsNotWithdrawnAgain(t *testing.T) {
	s := fivePasses(t)
	s.notHers()
	must(s.scene, s.desk.Withdraw, WithdrawalForm{EntryID: s.passes[0].ID, Because: "no drill before January"})
	before := s.rows()["withdrawals"]
	must(s.scene, s.desk.CloseReview, ReviewClosingForm{ReviewID: s.reviews()[0].ID, Outcome: groundhand.ReviewWithdrawn, Reason: "was taken back"})
	assert.Equal(t, before, s.rows()["withdrawals"])
}

// Story: a pass of the younger of two men of one name is credited to the elder on Tue 22 Oct 2024, with a certificate; on 5 Nov it is put right.
func TestAPassOfAnotherOfTheSameNameMovesWithItsCertificate(t *testing.T) {
	sc := newScene(t)
	sc.shippedRules()
	must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
	sc.practise(sc.gideon, "2024-06-20")
	senior, junior := sc.worker("James Tallis", "4001", groundhand.Qualified), sc.worker("James Tallis", "4002", groundhand.Qualified)
	f := sc.pass(senior)
	f.On = groundhand.MustDate("2024-10-22")
	wrong := must(sc, sc.desk.Assess, f)
	cert := sc.certificate("2024-0044", wrong)
	job := must(sc, sc.desk.BookJob, sc.job())
	reply := sc.restingReply(job.ID, wrong.ID)
	elsewhere := sc.restingReply(job.ID, "another-entry")

	f.Entry = Entry{Replaces: wrong.ID, Because: "two men of one name", Kind: groundhand.IdentityMistaken, AskedBy: senior, AgreedBy: sc.henrike}
	f.WorkerID = junior
	right := must(sc, sc.desk.Assess, f)
	open := sc.reviews()
	require.Len(t, open, 2)
	assert.Equal(t, []any{groundhand.EntryID(cert.ID), groundhand.RestedOnCorrected, senior}, []any{open[0].EntryID, open[0].Cause, open[0].WorkerID})
	assert.Equal(t, []any{groundhand.EntryID(reply), groundhand.AnswerRestedOnCorrected}, []any{open[1].EntryID, open[1].Cause})
	assert.NotEqual(t, groundhand.EntryID(elsewhere), open[1].EntryID)
	assert.Equal(t, sc.corrections(wrong.ID)[0].ID, open[0].CauseID)

	closing := ReviewClosingForm{ReviewID: open[0].ID, Outcome: groundhand.ReviewReplaced, Reason: "issued anew", NewEntryID: "2024-0044"}
	sc.refused(func() error { return try(sc, sc.desk.CloseReview, closing) }, "CONFLICT newEntryId")
	fresh := sc.certificate("2024-0045", right)
	closing.NewEntryID = groundhand.EntryID(fresh.ID)
	must(sc, sc.desk.CloseReview, closing)
	kept, err := store.Get[groundhand.Certificate](sc.ctx, sc.store, cert.ID)
	require.NoError(t, err)
	assert.Equal(t, cert, kept, "the certificate stays as printed")

	f.Entry = Entry{Replaces: right.ID, Because: "typing"}
	f.Coaching = "look up first"
	must(sc, sc.desk.Assess, f)
	open = sc.reviews()
	require.Len(t, open, 4, "what rests on either of the line is looked at again")
	assert.ElementsMatch(t, []groundhand.EntryID{groundhand.EntryID(cert.ID), groundhand.EntryID(fresh.ID)}, []groundhand.EntryID{open[2].EntryID, open[3].EntryID})
}

func (sc *scene) certificate(id groundhand.CertificateID, pass groundhand.Assessment) groundhand.Certificate {
	sc.t.Helper()
	var c groundhand.Certificate
	require.NoError(sc.t, sc.store.InTx(sc.ctx, func(tx *store.Store) error {
		c = groundhand.Certificate{ID: id, WorkerID: pass.WorkerID, PersonName: "James Tallis", Employer: "Halverra Lines", Method: pass.Method, Role: pass.Role,
			FamilyID: pass.FamilyID, EvidenceID: pass.ID, EvidenceKind: groundhand.PassedAssessment, ShownOn: pass.HappenedOn, LastGoodDay: pass.HappenedOn + 300,
			RuleSetID: "R1", Issuer: "Halverra Lines", AssessorName: "Gideon Prewitt-Osei", CheckAddress: "http://127.0.0.1/",
			Recorded: groundhand.Recorded{HappenedOn: today, RecordedAt: tx.Now(), Capacity: groundhand.Coordinator, CameBy: groundhand.TypedLive}}
		return store.Add(sc.ctx, tx, c)
	}))
	return c
}

// restingReply keeps an answer about a job that rested on an entry.
func (sc *scene) restingReply(job groundhand.JobID, on groundhand.EntryID) groundhand.ReplyID {
	sc.t.Helper()
	id := groundhand.ReplyID(sc.store.NewID())
	require.NoError(sc.t, sc.store.InTx(sc.ctx, func(tx *store.Store) error {
		return store.Add(sc.ctx, tx, groundhand.Reply{ID: id, CrewID: "V1", JobID: job, RuleSetID: "R1", Verdict: "READY", Question: "{}", Answer: "{}", RestsOn: groundhand.List{string(on)},
			Recorded: groundhand.Recorded{HappenedOn: today, HappenedAt: tx.Now(), RecordedAt: tx.Now(), Capacity: groundhand.Dispatcher, CameBy: groundhand.TypedLive}})
	}))
	return id
}

func TestACorrectionOpensABoundedNumberOfReviews(t *testing.T) {
	all := make([]groundhand.Review, 5)
	for i := range all {
		all[i] = groundhand.Review{EntryID: groundhand.EntryID(rune('a' + i)), WorkerID: "w"}
	}
	assert.Len(t, bounded(all, 5, "c"), 5)
	few := bounded(all, 3, "c")
	require.Len(t, few, 3)
	assert.Equal(t, groundhand.EntryID("b"), few[1].EntryID)
	assert.Equal(t, groundhand.Review{EntryID: "c"}, few[2], "the last one says that there is more")
}

func TestReviewsOpenedByHand(t *testing.T) {
	sc := newScene(t)
	drill := must(sc, sc.desk.RecordDrill, sc.drill())
	f := ReviewForm{EntryID: drill.Parts[0].ID, Cause: groundhand.Implausible, Reason: "two yards at once?"}
	r := goesThrough(t, sc, sc.desk.OpenReview, f)
	assert.Equal(t, []any{sc.maren, f.Reason, f.EntryID}, []any{r.WorkerID, r.Because, r.CauseID})
	sc.refused(func() error { return try(sc, sc.desk.OpenReview, f) }, "CONFLICT entryId")
	f.Cause = groundhand.Disputed
	sc.refused(func() error { return try(sc, sc.desk.OpenReview, f) }, "CONFLICT cause")
	f.Cause = groundhand.AssessorFoundInvalid
	sc.refused(func() error { return try(sc, sc.desk.OpenReview, f) }, "INVALID cause")
	f = ReviewForm{EntryID: "e9", Cause: groundhand.Implausible, Reason: "?"}
	sc.refused(func() error { return try(sc, sc.desk.OpenReview, f) }, "NOT_FOUND entryId")
	f.EntryID = "e 9'; --"
	sc.refused(func() error { return try(sc, sc.desk.OpenReview, f) }, "INVALID entryId")
	must(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: drill.Parts[1].ID, Because: "not there"})
	f.EntryID = drill.Parts[1].ID
	sc.refused(func() error { return try(sc, sc.desk.OpenReview, f) }, "CONFLICT entryId")
	f.EntryID = sc.corrections(drill.Parts[1].ID)[0].ID
	sc.refused(func() error { return try(sc, sc.desk.OpenReview, f) }, "CONFLICT entryId")
	must(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: r.ID, Because: "it was another day"})
	assert.Empty(t, sc.reviews())
}
