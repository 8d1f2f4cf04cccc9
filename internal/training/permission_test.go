package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// Every act is refused to those whose work it is not, before anything of the form is looked at.
func TestActsAreKeptApart(t *testing.T) {
	sc := newScene(t)
	auditor, worker := sc.account("auditor", groundhand.Auditor, ""), sc.account("keahi", groundhand.FieldWorker, sc.keahi)
	nobody := groundhand.Account{}
	before := sc.rows()
	for name, do := range map[string]func(by groundhand.Account) error{
		"AddYard":             tryAs(sc, sc.desk.AddYard),
		"AddRoad":             tryAs(sc, sc.desk.AddRoad),
		"AddFamily":           tryAs(sc, sc.desk.AddFamily),
		"AddDevice":           tryAs(sc, sc.desk.AddDevice),
		"AddKit":              tryAs(sc, sc.desk.AddKit),
		"PlaceKit":            tryAs(sc, sc.desk.PlaceKit),
		"AddWorker":           tryAs(sc, sc.desk.AddWorker),
		"RenameWorker":        tryAs(sc, sc.desk.RenameWorker),
		"GradeWorker":         tryAs(sc, sc.desk.GradeWorker),
		"PostWorker":          tryAs(sc, sc.desk.PostWorker),
		"EmployWorker":        tryAs(sc, sc.desk.EmployWorker),
		"AddCrew":             tryAs(sc, sc.desk.AddCrew),
		"JoinCrew":            tryAs(sc, sc.desk.JoinCrew),
		"SetUnavailable":      tryAs(sc, sc.desk.SetUnavailable),
		"GrantAuthority":      tryAs(sc, sc.desk.GrantAuthority),
		"BookSession":         tryAs(sc, sc.desk.BookSession),
		"BookSeat":            tryAs(sc, sc.desk.BookSeat),
		"RecordDrill":         tryAs(sc, sc.desk.RecordDrill),
		"CorrectPart":         tryAs(sc, sc.desk.CorrectPart),
		"Assess":              tryAs(sc, sc.desk.Assess),
		"RecordOutside":       tryAs(sc, sc.desk.RecordOutside),
		"Suspend":             tryAs(sc, sc.desk.Suspend),
		"Lift":                tryAs(sc, sc.desk.Lift),
		"Extend":              tryAs(sc, sc.desk.Extend),
		"AcceptProvisionally": tryAs(sc, sc.desk.AcceptProvisionally),
		"Inspect":             tryAs(sc, sc.desk.Inspect),
		"AddRuleSet":          tryAs(sc, sc.desk.AddRuleSet),
		"BookJob":             tryAs(sc, sc.desk.BookJob),
		"ClassDevice":         tryAs(sc, sc.desk.ClassDevice),
		"Brief":               tryAs(sc, sc.desk.Brief),
		"PlanShift":           tryAs(sc, sc.desk.PlanShift),
		"Decide":              tryAs(sc, sc.desk.Decide),
		"Withdraw":            tryAs(sc, sc.desk.Withdraw),
		"RuleOnDispute":       tryAs(sc, sc.desk.RuleOnDispute),
		"FindAssessorInvalid": tryAs(sc, sc.desk.FindAssessorInvalid),
		"OpenReview":          tryAs(sc, sc.desk.OpenReview),
		"CloseReview":         tryAs(sc, sc.desk.CloseReview),
		"ProposeRules":        tryAs(sc, sc.desk.ProposeRules),
		"DecideOnRules":       tryAs(sc, sc.desk.DecideOnRules),
		"NumberWorker":        tryAs(sc, sc.desk.NumberWorker),
		"AddAlias":            tryAs(sc, sc.desk.AddAlias),
		"Merge":               tryAs(sc, sc.desk.Merge),
		"PlaceHold":           tryAs(sc, sc.desk.PlaceHold),
		"Release":             tryAs(sc, sc.desk.Release),
		"SetRetention":        tryAs(sc, sc.desk.SetRetention),
		"Erase":               tryAs(sc, sc.desk.Erase),
		"ReportEvent":         tryAs(sc, sc.desk.ReportEvent),
		"SuggestRotation":     tryAs(sc, sc.desk.SuggestRotation),
		"AdoptPlan":           tryAs(sc, sc.desk.AdoptPlan),
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, says("FORBIDDEN"), refusals(do(auditor)))
			assert.Equal(t, says("FORBIDDEN"), refusals(do(worker)))
			assert.Equal(t, says("UNAUTHENTICATED"), refusals(do(nobody)))
		})
	}
	assert.Equal(t, before, sc.rows())
}

// tryAs hands in an empty form.
func tryAs[F, T any](sc *scene, do method[F, T]) func(groundhand.Account) error {
	return func(by groundhand.Account) error {
		var empty F
		_, err := do(sc.ctx, by, sc.key(), empty)
		return err
	}
}

func TestDispatcherLendsButDoesNotMoveForGood(t *testing.T) {
	sc := newScene(t)
	loan := member("V1", sc.maren, "2025-06-12", "2025-06-12")
	loan.Reason = groundhand.Loan
	_, err := sc.desk.JoinCrew(sc.ctx, sc.dispatcher, "k1", loan)
	require.NoError(t, err)
	_, err = sc.desk.JoinCrew(sc.ctx, sc.dispatcher, "k2", member("V2", sc.tomasz, "2025-06-12", ""))
	assert.ErrorIs(t, err, groundhand.CodeForbidden)

	home := must(sc, sc.desk.JoinCrew, member("V2", sc.tomasz, "2025-06-12", ""))
	sc.refused(func() error {
		f := member("V1", sc.tomasz, "2025-06-12", "2025-06-13")
		f.Reason, f.Replaces, f.Because = groundhand.Loan, home.ID, "typing"
		_, err := sc.desk.JoinCrew(sc.ctx, sc.dispatcher, "k3", f)
		return err
	}, "FORBIDDEN replaces")
	sc.refused(func() error {
		_, err := sc.desk.Withdraw(sc.ctx, sc.dispatcher, "k4", WithdrawalForm{EntryID: home.ID, Because: "typing"})
		return err
	}, "FORBIDDEN entryId")
}

func TestForemanRecordsDrillsOfTheOwnCrew(t *testing.T) {
	sc := newScene(t)
	lead := member("V1", sc.maren, "2024-01-01", "")
	lead.Part = groundhand.Foreman
	must(sc, sc.desk.JoinCrew, lead)
	must(sc, sc.desk.JoinCrew, member("V1", sc.tomasz, "2024-01-01", ""))
	must(sc, sc.desk.JoinCrew, member("V2", sc.keahi, "2024-01-01", ""))
	foreman := sc.account("maren", groundhand.CrewForeman, sc.maren)

	own := sc.drill(func(r *RunForm) { r.Parts = r.Parts[:2] })
	drill, err := sc.desk.RecordDrill(sc.ctx, foreman, "own", own)
	require.NoError(t, err)
	sc.refused(func() error { _, err := sc.desk.RecordDrill(sc.ctx, foreman, "other", sc.drill()); return err }, "FORBIDDEN runs[0].parts[2].workerId")

	_, err = sc.desk.Withdraw(sc.ctx, foreman, "w", WithdrawalForm{EntryID: drill.Parts[1].ID, Because: "he was not there"})
	require.NoError(t, err)
	others := must(sc, sc.desk.RecordDrill, sc.drill())
	sc.refused(func() error {
		_, err := sc.desk.Withdraw(sc.ctx, foreman, "w2", WithdrawalForm{EntryID: others.Parts[2].ID, Because: "typing"})
		return err
	}, "FORBIDDEN entryId")
	sc.refused(func() error {
		f := sc.drill(func(r *RunForm) {
			r.Parts = r.Parts[:2]
			r.Replaces, r.Because = groundhand.EntryID(others.Runs[0].ID), "typing"
		})
		_, err := sc.desk.RecordDrill(sc.ctx, foreman, "c", f)
		return err
	}, "FORBIDDEN runs[0].replaces")
}

func TestReasonsOfAbsenceStandApart(t *testing.T) {
	sc := newScene(t)
	leave := must(sc, sc.desk.SetUnavailable, UnavailableForm{
		WorkerID: sc.maren, Kind: groundhand.NotForRescue, FromAt: sc.moment("2025-06-12", 0, 0), ToAt: sc.moment("2025-07-12", 0, 0), Reason: "shoulder",
	})
	assert.Equal(t, 1, sc.rows()["reasons"])
	assert.NotContains(t, leave.Because, "shoulder")
}
