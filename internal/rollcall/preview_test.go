package rollcall_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// faultCrews is plot point P24 of the invented scenario on 2 December 2024: three crews of two, of whom four practised in July and two in October.
func faultCrews(t *testing.T) *town {
	w := newTown(t)
	w.clock.Set("2024-12-02T10:00:00Z")
	w.crew("S3", groundhand.FaultCrew, groundhand.List{"F1"}, "ann", "bob")
	w.crew("S4", groundhand.FaultCrew, groundhand.List{"F1"}, "cal", "dee")
	w.crew("S5", groundhand.FaultCrew, groundhand.List{"F3"}, "eva", "fin")
	for who, on := range map[groundhand.WorkerID]string{"ann": "2024-10-01", "bob": "2024-07-02", "cal": "2024-07-02", "dee": "2024-07-02"} {
		w.run(who, on, groundhand.LoneKit, groundhand.Lone, "F1")
	}
	w.run("eva", "2024-07-03", groundhand.LoneKit, groundhand.Lone, "F3")
	w.run("fin", "2024-10-02", groundhand.LoneKit, groundhand.Lone, "F3")
	for _, who := range []groundhand.WorkerID{"ann", "bob", "cal", "dee", "eva", "fin"} {
		w.firstAid(who, "2024-06-01")
	}
	return w
}

func r2() groundhand.RuleSet {
	for _, set := range rulebook.Shipped() {
		if set.ID == "R2" {
			return set
		}
	}
	panic("no R2 is shipped")
}

func (w *town) preview(ask rollcall.RuleProposalAsk) rollcall.RulePreview {
	w.t.Helper()
	got, err := w.roll.PreviewRules(w.ctx, ask)
	require.NoError(w.t, err)
	return got
}

// book puts a worker into a session on a day to renew lone rescue.
func (w *town) book(who groundhand.WorkerID, on string, family groundhand.FamilyID) groundhand.SessionID {
	w.t.Helper()
	told := w.told("2024-12-01")
	s := groundhand.Session{ID: groundhand.SessionID(w.id()), Recorded: told, YardID: "Y1", StartAt: w.at(on + " 09:00"), EndAt: w.at(on + " 12:00"),
		Methods: groundhand.List{"LONE_KIT"}, FamilyID: family, AssessorID: "gideon", Seats: 2}
	add(w, s)
	add(w, groundhand.Booking{ID: w.id(), Recorded: told, SessionID: s.ID, WorkerID: who, Renews: groundhand.List{"LONE_KIT"}})
	return s.ID
}

func TestStricterRulesArePreviewedWithTheDrillsThatPutItRight(t *testing.T) {
	w := faultCrews(t)
	ask := rollcall.RuleProposalAsk{RuleSetID: "R2", Body: r2().Body, EffectiveFrom: day("2025-03-01"), IsDefault: true}
	session := w.book("bob", "2025-02-04", "F1")
	w.book("eva", "2025-02-25", "F1") // another family: it puts nothing right
	got := w.preview(ask)
	assert.Equal(t, []groundhand.RuleSetID{"R1", "R2"}, []groundhand.RuleSetID{got.Before, got.Proposed})
	assert.Equal(t, []int{6, 4, 0, 0}, []int{got.People, got.Out, got.Back, got.StillOut})
	assert.Equal(t, []int{1, 3}, []int{got.DrillsBooked, got.DrillsToBook})
	require.Len(t, got.Crews, 3)
	bob := got.Crews[0].Out[0]
	assert.Equal(t, groundhand.WorkerID("bob"), bob.WorkerID)
	require.Len(t, bob.Lines, 1)
	assert.Equal(t, "2025-07-01 2025-01-01", bob.Lines[0].Before.LastGoodDay.String()+" "+bob.Lines[0].After.LastGoodDay.String())
	assert.Equal(t, []rollcall.PreviewDrill{{Asked: rulebook.Asked{Method: groundhand.LoneKit, Role: groundhand.Lone, FamilyID: "F1"}, By: day("2025-02-28"),
		SessionID: session, BookedOn: day("2025-02-04")}}, bob.Drills)

	for who, on := range map[groundhand.WorkerID]string{"bob": "2025-02-04", "cal": "2025-02-04", "dee": "2025-02-25"} {
		w.run(who, on, groundhand.LoneKit, groundhand.Lone, "F1")
	}
	w.run("eva", "2025-02-25", groundhand.LoneKit, groundhand.Lone, "F3")
	assert.Zero(t, w.preview(ask).Out, "after the drills of 4 and 25 February nobody is out")
}

// What the preview says must be what the standings say once the rules are entered.
func TestAPreviewIsWhatTheStandingsSayAfterwards(t *testing.T) {
	w := faultCrews(t)
	w.crew("V9", groundhand.LineCrew, groundhand.List{"F1"}, "gus", "hal", "ida") // who is out under both
	proposed := r2()
	proposed.ID, proposed.Recorded, proposed.EffectiveFrom = "R3", w.told("2024-12-02"), day("2025-02-01")
	before, err := w.roll.Company(w.ctx, day("2025-02-01"))
	require.NoError(t, err)
	got := w.preview(rollcall.RuleProposalAsk{RuleSetID: "R3", Body: proposed.Body, EffectiveFrom: proposed.EffectiveFrom, IsDefault: true})
	sets, err := store.All[groundhand.RuleSet](w.ctx, w.store)
	require.NoError(t, err)
	for _, set := range sets {
		assert.NotEqual(t, proposed.ID, set.ID, "nothing is saved")
	}

	add(w, proposed)
	after, err := w.roll.Company(w.ctx, day("2025-02-01"))
	require.NoError(t, err)
	require.Equal(t, groundhand.RuleSetID("R3"), after.RuleSetID)
	out, still := map[groundhand.WorkerID]bool{}, map[groundhand.WorkerID]bool{}
	for _, c := range got.Crews {
		for _, p := range c.Out {
			out[p.WorkerID] = true
			for _, line := range p.Lines {
				assert.Contains(t, linesOf(after, p.WorkerID), *line.After)
				assert.Contains(t, linesOf(before, p.WorkerID), *line.Before)
			}
		}
		for _, p := range c.StillOut {
			still[p.WorkerID] = true
			assert.Len(t, p.Drills, 2, "lone or paired rescue, and first aid")
		}
	}
	for i, x := range after.Workers {
		assert.Equal(t, bad(x), out[x.WorkerID] || still[x.WorkerID], x.WorkerID)
		assert.Equal(t, !bad(before.Workers[i]) && bad(x), out[x.WorkerID], x.WorkerID)
	}
	assert.Len(t, still, 3)
	assert.NotEmpty(t, out)
	assert.Equal(t, got, w.preview(rollcall.RuleProposalAsk{RuleSetID: "R3"}), "the rule set itself is previewed against the rules without it")
}

func linesOf(c rollcall.Company, who groundhand.WorkerID) []rollcall.LineDay {
	for _, x := range c.Workers {
		if x.WorkerID == who {
			return x.Lines
		}
	}
	return nil
}

func bad(w rollcall.WorkerDay) bool {
	for _, l := range w.Lines {
		if !l.Holds() {
			return true
		}
	}
	return false
}

func TestProposalsThatCannotBePreviewed(t *testing.T) {
	w := newTown(t)
	for name, c := range map[string]struct {
		ask   rollcall.RuleProposalAsk
		code  groundhand.Code
		field string
	}{
		"nothing named":        {rollcall.RuleProposalAsk{}, groundhand.CodeInvalid, "body"},
		"no first day":         {rollcall.RuleProposalAsk{Body: r2().Body}, groundhand.CodeInvalid, "effectiveFrom"},
		"unreadable":           {rollcall.RuleProposalAsk{Body: "{", EffectiveFrom: day("2025-03-01")}, groundhand.CodeInvalid, "body"},
		"an unknown rule set":  {rollcall.RuleProposalAsk{RuleSetID: "R77"}, groundhand.CodeNotFound, "ruleSetId"},
		"a day before it":      {rollcall.RuleProposalAsk{RuleSetID: "R2", On: day("2025-02-01")}, groundhand.CodeInvalid, "on"},
		"before all our rules": {rollcall.RuleProposalAsk{Body: r2().Body, EffectiveFrom: day("2020-03-01")}, groundhand.CodeNotFound, "ruleSet"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := w.roll.PreviewRules(w.ctx, c.ask)
			assert.ErrorIs(t, err, c.code)
			require.NotEmpty(t, groundhand.Refusals(err))
			assert.Equal(t, c.field, groundhand.Refusals(err)[0].Field)
		})
	}
}
