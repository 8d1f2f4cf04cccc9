package rollcall_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

func (w *town) extend(who groundhand.WorkerID, from, to string) groundhand.Extension {
	w.t.Helper()
	x := groundhand.Extension{ID: w.id(), Recorded: w.told(from), WorkerID: who, Method: groundhand.PairKit, FromOn: day(from), ToOn: day(to), ApproverID: "gideon",
		Basis: "the ground was closed by snow", Conditions: "not as lone rescuer"}
	add(w, x)
	return x
}

// As in plot point P12 of the invented scenario: snow, an extension, and what hangs on it.
func TestExtensionsAreNumberedAndSaidToCarryACrew(t *testing.T) {
	w := newTown(t)
	w.crew("Q2", groundhand.LineCrew, groundhand.List{"F1"}, "ann", "bob", "conrad")
	for _, who := range []groundhand.WorkerID{"ann", "bob", "conrad"} {
		w.firstAid(who, "2024-06-01")
	}
	w.run("ann", "2024-11-01", groundhand.PairKit, groundhand.Lead, "F1")
	w.run("bob", "2024-01-10", groundhand.PairKit, groundhand.Lead, "F1")
	w.run("conrad", "2024-01-10", groundhand.PairKit, groundhand.Lead, "F1")
	w.extend("conrad", "2024-02-01", "2024-02-05")
	gone := w.extend("conrad", "2024-03-01", "2024-03-05")
	told := w.told("2024-03-02")
	add(w, groundhand.Withdrawal{ID: w.id(), Recorded: told, WithdrawsID: gone.ID})
	live := w.extend("conrad", "2025-01-09", "2025-01-29")
	w.extend("bob", "2025-01-09", "2025-01-20")

	got, err := w.roll.Extensions(w.ctx, day("2025-01-15"))
	require.NoError(t, err)
	require.Len(t, got, 2)
	assert.Equal(t, groundhand.WorkerID("bob"), got[0].WorkerID, "ends first")
	assert.Equal(t, live, got[1].Extension)
	assert.Equal(t, groundhand.CrewID("Q2"), got[1].CrewID)
	assert.Equal(t, 2, got[1].Number, "what was withdrawn is not counted")

	leaning, err := w.roll.LeaningCrews(w.ctx, day("2025-01-15"))
	require.NoError(t, err)
	require.Len(t, leaning, 1)
	assert.Equal(t, groundhand.CrewID("Q2"), leaning[0].Crew.ID)
	assert.GreaterOrEqual(t, leaning[0].Verdict, readiness.Conditional)
	for _, lean := range leaning[0].Families[0].Leans {
		assert.Less(t, lean.Without, leaning[0].Verdict)
	}
	after, err := w.roll.LeaningCrews(w.ctx, day("2025-01-30"))
	require.NoError(t, err)
	assert.Empty(t, after, "a crew that is not ready leans on nobody")
}

func TestProvisionalsShowTheEvidenceTheyRestOn(t *testing.T) {
	w := newTown(t)
	w.worker("vera", groundhand.Qualified)
	card := groundhand.OutsideEvidence{ID: w.id(), Recorded: w.told("2025-01-20"), WorkerID: "vera", Method: groundhand.PairKit, Role: groundhand.Lead, FamilyID: "F1",
		Issuer: "a contractor (invented)", Level: groundhand.CopySeen, CheckerID: "henrike"}
	add(w, card)
	x := groundhand.Provisional{ID: w.id(), Recorded: w.told("2025-01-20"), WorkerID: "vera", Method: groundhand.PairKit, Role: groundhand.Lead, FamilyID: "F1",
		FromOn: day("2025-01-20"), ToOn: day("2025-01-26"), Basis: "storm week", ApproverID: "henrike", EvidenceID: card.ID}
	add(w, x)
	got, err := w.roll.Provisionals(w.ctx, day("2025-01-26"))
	require.NoError(t, err)
	require.Len(t, got, 1)
	assert.Equal(t, x, got[0].Provisional)
	assert.Equal(t, &card, got[0].Evidence)
	assert.Equal(t, 1, got[0].Number)
	got, err = w.roll.Provisionals(w.ctx, day("2025-01-27"))
	require.NoError(t, err)
	assert.Empty(t, got)
}
