package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// attempts gives the refused signatures that were noted.
func (sc *scene) attempts() []groundhand.RefusedAttempt {
	sc.t.Helper()
	all, err := store.All[groundhand.RefusedAttempt](sc.ctx, sc.store)
	require.NoError(sc.t, err)
	return all
}

// rules adopts the shipped rule sets, if they are not.
func (sc *scene) shippedRules() {
	sc.t.Helper()
	for _, r := range rulebook.Shipped() {
		must(sc, sc.desk.AddRuleSet, ShippedRules(r, "Alasdair Nwosu-Kerr"))
	}
}

// Story: an assessor enters a pass for herself on Fri 11 Oct 2024; it is refused and the attempt stays on record.
func TestAPassForSelfIsRefusedAndTheAttemptStaysOnRecord(t *testing.T) {
	sc := newScene(t)
	must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
	f := sc.pass(sc.gideon)
	f.On = groundhand.MustDate("2024-10-11")
	sc.refused(func() error { _, err := sc.desk.Assess(sc.ctx, sc.assessor, "own", f); return err }, "INVALID assessorId")
	sc.refused(func() error { _, err := sc.desk.Assess(sc.ctx, sc.assessor, "own", f); return err }, "INVALID assessorId")
	noted := sc.attempts()
	require.Len(t, noted, 1, "the same form sent again is noted once")
	a := noted[0]
	assert.Equal(t, []any{"assess", groundhand.SelfAssessment, sc.gideon, sc.gideon, groundhand.Assessor}, []any{a.Act, a.Rule, a.WorkerID, a.AuthorID, a.Capacity})
	assert.Equal(t, "Nobody assesses self; another assessor has to sign.", a.Message)
	assert.Equal(t, today, a.HappenedOn)

	sc.refused(func() error { _, err := sc.desk.Assess(sc.ctx, sc.assessor, "once more", f); return err }, "INVALID assessorId")
	assert.Len(t, sc.attempts(), 2, "with another key it was tried again")
}

func TestEverySignatureThatIsRefusedIsNoted(t *testing.T) {
	outside := func(sc *scene) OutsideForm {
		return OutsideForm{When: When{On: today}, WorkerID: sc.maren, Method: groundhand.FirstAid, Role: groundhand.Lead, Issuer: "first-aid school",
			Level: groundhand.OriginalSeen, CheckerID: sc.maren}
	}
	extension := func(sc *scene) ExtensionForm {
		return ExtensionForm{When: When{On: today}, WorkerID: sc.maren, Method: groundhand.PairKit, FamilyID: "F1", FromOn: today, ToOn: today + 21,
			ApproverID: sc.maren, Basis: "the ground is closed by snow"}
	}
	accept := func(sc *scene) ProvisionalForm {
		return ProvisionalForm{When: When{On: today}, WorkerID: sc.maren, Method: groundhand.PairKit, Role: groundhand.Lead, FamilyID: "F1", FromOn: today,
			ToOn: today + 5, Basis: "storm intake", ApproverID: sc.maren}
	}
	for _, c := range []struct {
		name string
		do   func(*scene) error
		rule groundhand.SigningRule
		who  func(*scene) groundhand.WorkerID
	}{
		{"an assessor without authority", func(sc *scene) error { return try(sc, sc.desk.Assess, sc.pass(sc.maren)) }, groundhand.NoAuthority, maren},
		{"an assessor in another's name", func(sc *scene) error {
			must(sc, sc.desk.GrantAuthority, sc.authority(sc.tomasz))
			f := sc.pass(sc.maren)
			f.AssessorID = sc.tomasz
			return try(sc, sc.desk.Assess, f)
		}, groundhand.OtherName, maren},
		{"a foreman who assesses", func(sc *scene) error {
			_, err := sc.desk.Assess(sc.ctx, sc.account("maren", groundhand.CrewForeman, sc.maren), "k", sc.pass(sc.keahi))
			return err
		}, groundhand.NotAssessor, func(sc *scene) groundhand.WorkerID { return sc.keahi }},
		{"the own authority", func(sc *scene) error { return try(sc, sc.desk.GrantAuthority, sc.authority(sc.henrike)) }, groundhand.OwnAuthority, henrike},
		{"the own extension", func(sc *scene) error { return try(sc, sc.desk.Extend, extension(sc)) }, groundhand.OwnExtension, maren},
		{"an extension for oneself", func(sc *scene) error {
			f := extension(sc)
			f.WorkerID, f.ApproverID = sc.henrike, sc.gideon
			return try(sc, sc.desk.Extend, f)
		}, groundhand.OwnExtension, henrike},
		{"the own acceptance", func(sc *scene) error { return try(sc, sc.desk.AcceptProvisionally, accept(sc)) }, groundhand.OwnExtension, maren},
		{"the own evidence", func(sc *scene) error { return try(sc, sc.desk.RecordOutside, outside(sc)) }, groundhand.OwnEvidence, maren},
		{"the own suspension", func(sc *scene) error {
			must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
			s := must(sc, sc.desk.Suspend, SuspensionForm{When: When{On: groundhand.MustDate("2025-06-09")}, WorkerID: sc.henrike, Method: groundhand.PairKit, Cause: "hazard check missed"})
			pass := must(sc, sc.desk.Assess, sc.pass(sc.henrike))
			return try(sc, sc.desk.Lift, LiftingForm{When: When{On: today}, SuspensionID: s.ID, PassID: pass.ID})
		}, groundhand.OwnSuspension, henrike},
		{"the own fail, withdrawn", func(sc *scene) error {
			must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
			f := sc.pass(sc.maren)
			f.Result = groundhand.Fail
			fail := must(sc, sc.desk.Assess, f)
			_, err := sc.desk.Withdraw(sc.ctx, sc.account("maren", groundhand.Coordinator, sc.maren), "k", WithdrawalForm{EntryID: fail.ID, Because: "unfair"})
			return err
		}, groundhand.SelfAssessment, maren},
		{"the own pass, brought back", func(sc *scene) error {
			must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
			gone := must(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: must(sc, sc.desk.Assess, sc.pass(sc.maren)).ID, Because: "another sheet"})
			_, err := sc.desk.Withdraw(sc.ctx, sc.account("maren", groundhand.Coordinator, sc.maren), "k", WithdrawalForm{EntryID: gone.ID, Because: "mine"})
			return err
		}, groundhand.SelfAssessment, maren},
		{"another assessor's fail, withdrawn", func(sc *scene) error {
			must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
			f := sc.pass(sc.maren)
			f.Result = groundhand.Fail
			fail := must(sc, sc.desk.Assess, f)
			_, err := sc.desk.Withdraw(sc.ctx, sc.account("keahi", groundhand.Assessor, sc.keahi), "k", WithdrawalForm{EntryID: fail.ID, Because: "a friend"})
			return err
		}, groundhand.OtherName, maren},
		{"another assessor's fail, made a pass", func(sc *scene) error {
			must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
			must(sc, sc.desk.GrantAuthority, sc.authority(sc.keahi))
			f := sc.pass(sc.maren)
			f.Result = groundhand.Fail
			fail := must(sc, sc.desk.Assess, f)
			f.Entry, f.Result, f.AssessorID = Entry{Replaces: fail.ID, Because: "a friend"}, groundhand.Pass, sc.keahi
			_, err := sc.desk.Assess(sc.ctx, sc.account("keahi", groundhand.Assessor, sc.keahi), "k", f)
			return err
		}, groundhand.OtherName, maren},
		{"the own suspension, withdrawn", func(sc *scene) error {
			s := must(sc, sc.desk.Suspend, SuspensionForm{When: When{On: today}, WorkerID: sc.maren, Method: groundhand.PairKit, Cause: "hazard check missed"})
			_, err := sc.desk.Withdraw(sc.ctx, sc.account("maren", groundhand.Coordinator, sc.maren), "k", WithdrawalForm{EntryID: s.ID, Because: "unfair"})
			return err
		}, groundhand.OwnSuspension, maren},
		{"the own fail, given to another of the same name", func(sc *scene) error {
			must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
			f := sc.pass(sc.maren)
			f.Result = groundhand.Fail
			fail := must(sc, sc.desk.Assess, f)
			f.WorkerID = sc.keahi
			f.Entry = Entry{Replaces: fail.ID, Because: "it was he", Kind: groundhand.IdentityMistaken, AgreedBy: sc.gideon}
			_, err := sc.desk.Assess(sc.ctx, sc.account("maren", groundhand.HR, sc.maren), "k", f)
			return err
		}, groundhand.SelfAssessment, maren},
		{"agreement to the own correction", func(sc *scene) error {
			old := must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2025-06-01", ""))
			return try(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: old.ID, Because: "typing", Kind: groundhand.ValidityMistaken, AgreedBy: sc.henrike})
		}, groundhand.OtherName, henrike},
	} {
		t.Run(c.name, func(t *testing.T) {
			sc := newScene(t)
			require.Error(t, c.do(sc))
			noted := sc.attempts()
			require.Len(t, noted, 1)
			assert.Equal(t, []any{c.rule, c.who(sc)}, []any{noted[0].Rule, noted[0].WorkerID})
			assert.NotEmpty(t, noted[0].Message)
		})
	}
}

func maren(sc *scene) groundhand.WorkerID   { return sc.maren }
func henrike(sc *scene) groundhand.WorkerID { return sc.henrike }

func TestAnAttemptAboutNobodyKnownIsNotedToo(t *testing.T) {
	sc := newScene(t)
	f := sc.pass("nobody")
	f.AssessorID = "nobody"
	require.Error(t, try(sc, sc.desk.Assess, f))
	for _, a := range sc.attempts() {
		assert.Empty(t, a.WorkerID)
	}
	assert.NotEmpty(t, sc.attempts())
}

func TestWhatIsRefusedForAnotherReasonIsNoAttempt(t *testing.T) {
	sc := newScene(t)
	require.Error(t, try(sc, sc.desk.AddYard, YardForm{}))
	require.Error(t, try(sc, sc.desk.JoinCrew, member("V9", "nobody", "2025-06-12", "")))
	assert.Empty(t, sc.attempts())
}

// Whose own practice is known not to be good cannot pass others; the rule is the engine's, by our own rules of that day.
func TestAnAssessorPassesOthersOnlyWithOwnPracticeGood(t *testing.T) {
	assess := func(change func(*AssessmentForm)) func(*scene) error {
		return func(sc *scene) error {
			f := sc.pass(sc.maren)
			change(&f)
			return try(sc, sc.desk.Assess, f)
		}
	}
	asIs := func(*AssessmentForm) {}
	for _, c := range []struct {
		name    string
		drills  []string // of the assessor
		do      func(*scene) error
		refused bool
	}{
		{"a drill three months ago", []string{"2025-03-10"}, assess(asIs), false},
		{"no drill at all", nil, assess(asIs), true},
		{"a drill on that very day, which was not over", []string{"2025-06-10"}, assess(asIs), true},
		{"the last good day", []string{"2024-06-11"}, assess(asIs), false},
		{"one day after it", []string{"2024-06-10"}, assess(asIs), true},
		{"a fail is taken from anybody with authority", nil, assess(func(f *AssessmentForm) { f.Result = groundhand.Fail }), false},
		{"theory gives nothing anyhow", nil, assess(func(f *AssessmentForm) { f.Theory = true }), false},
		{"old books whose assessor nobody has recorded", nil, assess(func(f *AssessmentForm) { f.CameBy = groundhand.Imported }), false},
		{"old books whose assessor is known to be out", []string{"2024-03-01"}, assess(func(f *AssessmentForm) { f.CameBy = groundhand.Imported }), true},
	} {
		t.Run(c.name, func(t *testing.T) {
			sc := newScene(t)
			sc.shippedRules()
			must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
			for _, day := range c.drills {
				sc.practise(sc.gideon, day)
			}
			if !c.refused {
				require.NoError(t, c.do(sc))
				assert.Empty(t, sc.attempts())
				return
			}
			sc.refused(func() error { return c.do(sc) }, "CONFLICT assessorId")
			noted := sc.attempts()
			require.Len(t, noted, 1)
			assert.Equal(t, groundhand.NotCurrent, noted[0].Rule)
		})
	}
}

func TestWithoutRulesNobodyIsKnownNotToBeCurrent(t *testing.T) {
	sc := newScene(t)
	must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
	must(sc, sc.desk.Assess, sc.pass(sc.maren))
}
