package training

import (
	"testing"

	"groundhand/internal/groundhand"
)

// The assessor without authority stands for a story in which five people were assessed by somebody who could not: here it is refused on
// entry. Nobody assesses self, nobody approves the own extension: common practice, no source.
func TestAssessmentsAreRefused(t *testing.T) {
	form := func(change func(*scene, *AssessmentForm)) func(*scene) error {
		return func(sc *scene) error {
			must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
			f := sc.pass(sc.maren)
			change(sc, &f)
			return sc.after(func() error { return try(sc, sc.desk.Assess, f) })
		}
	}
	walk(t, []refusal{
		{"an assessor without any authority", func(sc *scene) error { return try(sc, sc.desk.Assess, sc.pass(sc.maren)) }, says("CONFLICT assessorId")},
		{"authority for another method", form(func(_ *scene, f *AssessmentForm) { f.Method, f.Role = groundhand.LoneKit, groundhand.Lone }), says("CONFLICT assessorId")},
		{"authority for another family", form(func(_ *scene, f *AssessmentForm) { f.FamilyID = "F3" }), says("CONFLICT assessorId")},
		{"authority from a later day", form(func(_ *scene, f *AssessmentForm) { f.On = groundhand.MustDate("2023-12-31") }), says("CONFLICT assessorId")},
		{"authority that has ended", func(sc *scene) error {
			f := sc.authority(sc.gideon)
			f.ToOn = groundhand.MustDate("2025-06-09")
			must(sc, sc.desk.GrantAuthority, f)
			return sc.after(func() error { return try(sc, sc.desk.Assess, sc.pass(sc.maren)) })
		}, says("CONFLICT assessorId")},
		{"authority that was withdrawn", func(sc *scene) error {
			a := must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
			must(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: a.ID, Because: "left the service"})
			return sc.after(func() error { return try(sc, sc.desk.Assess, sc.pass(sc.maren)) })
		}, says("CONFLICT assessorId")},
		{"the assessor assesses self", form(func(sc *scene, f *AssessmentForm) { f.WorkerID = sc.gideon }), says("INVALID assessorId")},
		{"an assessor signs for another", func(sc *scene) error {
			must(sc, sc.desk.GrantAuthority, sc.authority(sc.tomasz))
			f := sc.pass(sc.maren)
			f.AssessorID = sc.tomasz
			return sc.after(func() error { return try(sc, sc.desk.Assess, f) })
		}, says("FORBIDDEN assessorId")},
		{"a pass in spite of a critical step not done", form(func(_ *scene, f *AssessmentForm) {
			f.Steps = groundhand.CriticalSteps{{Step: "hazard check", Done: groundhand.StepNo}}
		}), says("INVALID result")},
		{"tomorrow", form(func(_ *scene, f *AssessmentForm) { f.On = today + 1 }), says("INVALID on")},
		{"a casualty is no rescuer", form(func(_ *scene, f *AssessmentForm) { f.Role = groundhand.Casualty }), says("INVALID role")},
		{"no control family for a method on a device", form(func(_ *scene, f *AssessmentForm) { f.FamilyID = "" }), says("INVALID familyId", "CONFLICT assessorId")},
		{"somebody else's part in the run", func(sc *scene) error {
			must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
			drill := must(sc, sc.desk.RecordDrill, sc.drill())
			f := sc.pass(sc.maren)
			f.RunPartID = drill.Parts[1].ID
			return sc.after(func() error { return try(sc, sc.desk.Assess, f) })
		}, says("CONFLICT runPartId")},
	})
}

func TestPermissionsBeyondPracticeAreRefused(t *testing.T) {
	extension := func(change func(*scene, *ExtensionForm)) func(*scene) error {
		return func(sc *scene) error {
			f := ExtensionForm{
				When: When{On: today}, WorkerID: sc.maren, Method: groundhand.PairKit, FamilyID: "F1", FromOn: today, ToOn: today + 21,
				ApproverID: sc.henrike, Basis: "the ground is closed by snow",
			}
			change(sc, &f)
			return try(sc, sc.desk.Extend, f)
		}
	}
	accept := func(change func(*scene, *ProvisionalForm)) func(*scene) error {
		return func(sc *scene) error {
			f := ProvisionalForm{
				When: When{On: today}, WorkerID: sc.maren, Method: groundhand.PairKit, Role: groundhand.Lead, FamilyID: "F1", FromOn: today,
				ToOn: today + 5, Basis: "storm intake", ApproverID: sc.henrike,
			}
			change(sc, &f)
			return try(sc, sc.desk.AcceptProvisionally, f)
		}
	}
	outside := func(change func(*scene, *OutsideForm)) func(*scene) error {
		return func(sc *scene) error {
			f := OutsideForm{
				When: When{On: today}, WorkerID: sc.maren, Method: groundhand.FirstAid, Role: groundhand.Lead, Issuer: "first-aid school",
				Level: groundhand.OriginalSeen, CheckerID: sc.henrike,
			}
			change(sc, &f)
			return try(sc, sc.desk.RecordOutside, f)
		}
	}
	walk(t, []refusal{
		{"an extension approved by the one who has it", extension(func(sc *scene, f *ExtensionForm) { f.ApproverID = sc.maren }), says("INVALID approverId")},
		{"an extension without end", extension(func(_ *scene, f *ExtensionForm) { f.ToOn = 0 }), says("INVALID toOn")},
		{"an extension that ends before it begins", extension(func(_ *scene, f *ExtensionForm) { f.ToOn = today - 1 }), says("INVALID toOn")},
		{"an extension without a reason or an approver", extension(func(_ *scene, f *ExtensionForm) { f.Basis, f.ApproverID = "", "" }), says("INVALID basis", "INVALID approverId")},
		{"an extension granted tomorrow", extension(func(_ *scene, f *ExtensionForm) { f.On = today + 1 }), says("INVALID on")},
		{"acceptance on paper without end", accept(func(_ *scene, f *ProvisionalForm) { f.ToOn = 0 }), says("INVALID toOn")},
		{"an extension of the author", extension(func(sc *scene, f *ExtensionForm) { f.WorkerID, f.ApproverID = sc.henrike, sc.gideon }), says("FORBIDDEN workerId")},
		{"acceptance on paper of self", accept(func(sc *scene, f *ProvisionalForm) { f.WorkerID, f.ApproverID = sc.henrike, sc.gideon }), says("FORBIDDEN workerId")},
		{"acceptance on paper approved by whom it accepts", accept(func(sc *scene, f *ProvisionalForm) { f.ApproverID = sc.maren }), says("INVALID approverId")},
		{"acceptance on paper that nobody approved", accept(func(_ *scene, f *ProvisionalForm) { f.ApproverID = "" }), says("INVALID approverId")},
		{"acceptance on somebody else's evidence", func(sc *scene) error {
			e := must(sc, sc.desk.RecordOutside, OutsideForm{When: When{On: today}, WorkerID: sc.tomasz, Method: groundhand.FirstAid, Role: groundhand.Lead,
				Issuer: "first-aid school", Level: groundhand.Stated})
			return sc.after(func() error { return accept(func(_ *scene, f *ProvisionalForm) { f.EvidenceID = e.ID })(sc) })
		}, says("CONFLICT evidenceId")},
		{"outside evidence that nobody looked at", outside(func(_ *scene, f *OutsideForm) { f.CheckerID = "" }), says("INVALID checkerId")},
		{"outside evidence checked by its holder", outside(func(sc *scene, f *OutsideForm) { f.CheckerID = sc.maren }), says("INVALID checkerId")},
		{"outside evidence without an issuer", outside(func(_ *scene, f *OutsideForm) { f.Issuer = "" }), says("INVALID issuer")},
		{"authority granted to self", func(sc *scene) error { return try(sc, sc.desk.GrantAuthority, sc.authority(sc.henrike)) }, says("FORBIDDEN assessorId")},
		{"authority for nothing", func(sc *scene) error {
			f := sc.authority(sc.gideon)
			f.Methods = nil
			return try(sc, sc.desk.GrantAuthority, f)
		}, says("INVALID methods")},
		{"a suspension without a cause", func(sc *scene) error {
			return try(sc, sc.desk.Suspend, SuspensionForm{When: When{On: today}, WorkerID: sc.maren, Method: groundhand.PairKit})
		}, says("INVALID cause")},
	})
}

func TestLiftingsAreRefused(t *testing.T) {
	lift := func(change func(sc *scene, pass *AssessmentForm)) func(*scene) error {
		return func(sc *scene) error {
			must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
			s := must(sc, sc.desk.Suspend, SuspensionForm{When: When{On: groundhand.MustDate("2025-06-09")}, WorkerID: sc.maren, Method: groundhand.PairKit, Cause: "hazard check missed"})
			f := sc.pass(sc.maren)
			change(sc, &f)
			pass := must(sc, sc.desk.Assess, f)
			return sc.after(func() error {
				return try(sc, sc.desk.Lift, LiftingForm{When: When{On: today}, SuspensionID: s.ID, PassID: pass.ID})
			})
		}
	}
	walk(t, []refusal{
		{"on a fail", lift(func(_ *scene, f *AssessmentForm) { f.Result = groundhand.Fail }), says("CONFLICT passId")},
		{"on a pass of somebody else", lift(func(sc *scene, f *AssessmentForm) { f.WorkerID = sc.tomasz }), says("CONFLICT passId")},
		{"on a pass before the suspension", lift(func(_ *scene, f *AssessmentForm) { f.On = groundhand.MustDate("2025-06-08") }), says("CONFLICT passId")},
		{"on nothing", func(sc *scene) error {
			return try(sc, sc.desk.Lift, LiftingForm{When: When{On: today}, SuspensionID: "s9", PassID: "p9"})
		}, says("NOT_FOUND suspensionId", "NOT_FOUND passId")},
	})
}
