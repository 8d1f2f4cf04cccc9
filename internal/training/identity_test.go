package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

func (sc *scene) undo(what groundhand.EntryID) groundhand.Withdrawal {
	sc.t.Helper()
	w, err := sc.desk.Withdraw(sc.ctx, sc.hr, sc.key(), WithdrawalForm{EntryID: what, Because: "two people after all"})
	require.NoError(sc.t, err)
	return w
}

func TestAMergeIsRefusedWhereItCannotBe(t *testing.T) {
	sc := newScene(t)
	merge := func(kept, gone groundhand.WorkerID) func() error {
		return func() error {
			return try(sc, sc.desk.Merge, MergeForm{KeptID: kept, GoneID: gone, Reason: "same person"})
		}
	}
	sc.refused(merge(sc.maren, sc.maren), "INVALID goneId")
	sc.refused(merge(sc.maren, "nobody"), "NOT_FOUND goneId")
	sc.refused(func() error { return try(sc, sc.desk.Merge, MergeForm{}) }, "INVALID keptId", "INVALID goneId", "INVALID reason")

	must(sc, sc.desk.Merge, MergeForm{KeptID: sc.maren, GoneID: sc.keahi, Reason: "same person"})
	sc.refused(merge(sc.maren, sc.keahi), "CONFLICT goneId")
	sc.refused(merge(sc.keahi, sc.maren), "CONFLICT goneId")
	sc.refused(merge(sc.keahi, sc.tomasz), "CONFLICT keptId")
	sc.refused(merge(sc.tomasz, sc.keahi), "CONFLICT goneId")
	must(sc, sc.desk.Merge, MergeForm{KeptID: sc.tomasz, GoneID: sc.maren, Reason: "same person"})
	assert.Equal(t, sc.tomasz, sc.store.Kept(sc.keahi), "a chain leads to its end")
}

func TestTwoPeopleInTwoCrewsAtOnceAreNotOne(t *testing.T) {
	sc := newScene(t)
	must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2025-05-01", "2025-06-01"))
	must(sc, sc.desk.JoinCrew, member("V2", sc.keahi, "2025-06-01", ""))
	sc.before = sc.entries()
	err := try(sc, sc.desk.Merge, MergeForm{KeptID: sc.maren, GoneID: sc.keahi, Reason: "same person"})
	assert.Equal(t, []string{"CONFLICT goneId"}, refusals(err))
	assert.ErrorContains(t, err, string(sc.maren))
	assert.ErrorContains(t, err, string(sc.keahi))
	assert.Equal(t, sc.before, sc.entries())
	must(sc, sc.desk.Merge, MergeForm{KeptID: sc.tomasz, GoneID: sc.keahi, Reason: "in no crew before"})
}

func TestANumberHasOneHolderADay(t *testing.T) {
	sc := newScene(t)
	number := func(who groundhand.WorkerID, from, to string) NumberForm {
		f := NumberForm{WorkerID: who, Number: "77", FromOn: groundhand.MustDate(from)}
		if to != "" {
			f.ToOn = groundhand.MustDate(to)
		}
		return f
	}
	must(sc, sc.desk.NumberWorker, number(sc.maren, "2024-01-01", "2024-12-31"))
	sc.refused(func() error { return try(sc, sc.desk.NumberWorker, number(sc.keahi, "2024-12-31", "")) }, "CONFLICT number")
	must(sc, sc.desk.NumberWorker, number(sc.keahi, "2025-01-01", ""))
	own := number(sc.keahi, "2025-01-01", "")
	own.Number = "1002"
	sc.refused(func() error { return try(sc, sc.desk.NumberWorker, own) }, "CONFLICT number")
}

// A change of name made a second person, who was merged; a wrong merge of two others was undone. Both without loss.
func TestNameChangeMergeAndUndoneMerge(t *testing.T) {
	sc := newScene(t)
	day := groundhand.MustDate
	ana := must(sc, sc.desk.AddWorker, workerForm("Ana-Lúcia Ferreira-Holm", "2001", groundhand.Qualified)).ID
	sc.practise(ana, "2025-02-10")
	must(sc, sc.desk.RenameWorker, NameForm{WorkerID: ana, Name: "Ana-Lúcia Brandvold", FromOn: day("2025-03-01")})
	form := workerForm("Ana-Lúcia Brandvold", "9001", groundhand.Qualified)
	form.FromOn = day("2025-03-03")
	second := must(sc, sc.desk.AddWorker, form).ID
	sc.practise(second, "2025-03-05")

	facts := func() (out []groundhand.Evidence) {
		for _, w := range []groundhand.WorkerID{ana, second, sc.keahi, sc.tomasz} {
			e, err := sc.store.Evidence(sc.ctx, []groundhand.WorkerID{w})
			require.NoError(t, err)
			out = append(out, e)
		}
		return out
	}
	before := facts()
	proposed := []rollcall.Duplicate{{A: ana, B: second, Why: []string{"both have one name"}}}
	may, err := sc.desk.roll.Duplicates(sc.ctx)
	require.NoError(t, err)
	assert.Equal(t, proposed, may, "proposed, and not merged by itself")
	merged := must(sc, sc.desk.Merge, MergeForm{KeptID: ana, GoneID: second, Reason: "one person after the change of name"})
	together := facts()
	assert.Len(t, together[0].Practices, 2, "the practice of both, each once")
	may, err = sc.desk.roll.Duplicates(sc.ctx)
	require.NoError(t, err)
	assert.Empty(t, may)
	assert.Equal(t, together[0], together[1])
	names, err := sc.store.NamesOn(sc.ctx, nil, day("2025-02-20"))
	require.NoError(t, err)
	assert.Equal(t, "Ana-Lúcia Ferreira-Holm", names[ana], "the name of that day")
	found, err := store.FindStanding[groundhand.Worker](sc.ctx, sc.store, store.ByNumber, []string{"9001"})
	require.NoError(t, err)
	require.Len(t, found, 1)
	assert.Equal(t, ana, found[0].ID)

	wrong := must(sc, sc.desk.Merge, MergeForm{KeptID: sc.keahi, GoneID: sc.tomasz, Reason: "thought to be one"})
	assert.NotEqual(t, together, facts())
	sc.undo(wrong.ID)
	assert.Equal(t, together, facts(), "the wrong merge is undone without a trace in the facts")
	sc.undo(merged.ID)
	assert.Equal(t, before, facts())
}
