package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// reply keeps an answer about a crew as if it had been given.
func (sc *scene) reply(verdict string, crew groundhand.CrewID, job groundhand.JobID) groundhand.ReplyID {
	sc.t.Helper()
	sets, err := store.FindStanding[groundhand.RuleSet](sc.ctx, sc.store, store.ByID, []string{"R-C"})
	require.NoError(sc.t, err)
	if len(sets) == 0 {
		for _, r := range rulebook.Shipped() {
			if r.ID == "R-C" {
				must(sc, sc.desk.AddRuleSet, ShippedRules(r, "Alasdair Nwosu-Kerr"))
			}
		}
	}
	r := groundhand.Reply{
		ID:       groundhand.ReplyID(sc.store.NewID()),
		Recorded: groundhand.Recorded{HappenedOn: today, HappenedAt: sc.store.Now(), RecordedAt: sc.store.Now(), Capacity: groundhand.Dispatcher, CameBy: groundhand.TypedLive},
		CrewID:   crew, JobID: job, RuleSetID: "R-C", Verdict: verdict, Question: "{}", Answer: "{}",
	}
	require.NoError(sc.t, store.Add(sc.ctx, sc.store, r))
	return r.ID
}

func TestWhatIsDecidedUponAnAnswer(t *testing.T) {
	for _, c := range []struct {
		name    string
		verdict string
		decided groundhand.DecisionKind
		remarks string
		want    []string // empty: it goes through
	}{
		{"a ready crew is sent", "READY", groundhand.Sent, "", nil},
		{"a conditional one too", "CONDITIONAL", groundhand.Sent, "", nil},
		{"one that is not ready is not", "NOT_READY", groundhand.Sent, "", says("CONFLICT decided")},
		{"nor one of which nobody can tell", "CANNOT_TELL", groundhand.Sent, "", says("CONFLICT decided")},
		{"unless somebody accepted it by name", "NOT_READY", groundhand.Sent, "Alasdair Nwosu-Kerr accepted it", nil},
		{"a change is named", "NOT_READY", groundhand.SentChanged, "", says("INVALID remarks")},
		{"and then they go", "NOT_READY", groundhand.SentChanged, "Keahi joins", nil},
		{"conditions are named", "CONDITIONAL", groundhand.SentConditions, "", says("INVALID remarks")},
		{"and then they go with them", "CONDITIONAL", groundhand.SentConditions, "manual lowering only", nil},
		{"staying has a reason", "READY", groundhand.NotSent, "", says("INVALID remarks")},
		{"whatever it is", "READY", groundhand.NotSent, "the wind is over the limit", nil},
		{"a decision that does not exist", "READY", "MAYBE", "", says("INVALID decided")},
	} {
		t.Run(c.name, func(t *testing.T) {
			sc := newScene(t)
			f := DecisionForm{ReplyID: sc.reply(c.verdict, "V1", ""), Decided: c.decided, Remarks: c.remarks}
			if len(c.want) > 0 {
				sc.refused(func() error { return try(sc, sc.desk.Decide, f) }, c.want...)
				return
			}
			made := goesThrough(t, sc, sc.desk.Decide, f)
			assert.Equal(t, made.RecordedAt, made.HappenedAt)
		})
	}
}

func TestDecisionsAreRefused(t *testing.T) {
	sc := newScene(t)
	sc.refused(func() error { return try(sc, sc.desk.Decide, DecisionForm{ReplyID: "r9", Decided: groundhand.Sent}) }, "NOT_FOUND answerId")
	sc.refused(func() error { return try(sc, sc.desk.Decide, DecisionForm{ReplyID: "r 9", Remarks: "\x00"}) }, "INVALID answerId", "INVALID decided", "INVALID remarks")
	reply := sc.reply("READY", "V1", "")
	first := must(sc, sc.desk.Decide, DecisionForm{ReplyID: reply, Decided: groundhand.Sent})
	other := DecisionForm{Entry: Entry{Replaces: first.ID, Because: "typing"}, ReplyID: sc.reply("READY", "V1", ""), Decided: groundhand.Sent}
	sc.refused(func() error { return try(sc, sc.desk.Decide, other) }, "CONFLICT replaces")
	other.ReplyID, other.Decided, other.Remarks = reply, groundhand.NotSent, "the truck broke down"
	must(sc, sc.desk.Decide, other)
	for _, by := range []groundhand.Account{sc.coordinator, sc.hr, sc.inspector, sc.assessor} {
		sc.refused(func() error { _, err := sc.desk.Decide(sc.ctx, by, sc.key(), other); return err }, "FORBIDDEN")
	}
}

func TestAForemanDecidesForTheOwnCrewOfTheDay(t *testing.T) {
	sc := newScene(t)
	own := sc.led("V1", sc.maren)
	lent := member("V2", sc.keahi, "2025-06-12", "2025-06-12")
	lent.Part, lent.Reason = groundhand.Foreman, groundhand.Loan
	must(sc, sc.desk.JoinCrew, lent)
	deputy := sc.account("deputy", groundhand.CrewForeman, sc.keahi)
	tomorrow := must(sc, sc.desk.BookJob, sc.job(func(f *JobForm) { f.CrewID = "V2" }))
	decide := func(by groundhand.Account, reply groundhand.ReplyID) func() error {
		return func() error {
			_, err := sc.desk.Decide(sc.ctx, by, sc.key(), DecisionForm{ReplyID: reply, Decided: groundhand.Sent})
			return err
		}
	}
	require.NoError(t, decide(own, sc.reply("READY", "V1", ""))())
	of := sc.reply("READY", "V2", tomorrow.ID)
	require.NoError(t, decide(deputy, of)(), "foreman on the day of the job")
	sc.refused(decide(own, of), "FORBIDDEN answerId")
	sc.refused(decide(deputy, sc.reply("READY", "V2", "")), "FORBIDDEN answerId")
	sc.refused(decide(own, sc.reply("READY", "", "")), "FORBIDDEN answerId")

	moved := sc.job(func(f *JobForm) {
		f.CrewID, f.Place, f.Replaces, f.Because = "V2", "Bog Lane", groundhand.EntryID(tomorrow.ID), "moved"
	})
	must(sc, sc.desk.BookJob, moved)
	made, err := sc.desk.Decide(sc.ctx, deputy, sc.key(), DecisionForm{ReplyID: of, Decided: groundhand.NotSent, Remarks: "wind"})
	require.NoError(t, err, "an answer stays decided upon when its job is corrected")
	sc.refused(func() error {
		_, err := sc.desk.Withdraw(sc.ctx, own, sc.key(), WithdrawalForm{EntryID: made.ID, Because: "typing"})
		return err
	}, "FORBIDDEN entryId")
	_, err = sc.desk.Withdraw(sc.ctx, deputy, sc.key(), WithdrawalForm{EntryID: made.ID, Because: "typing"})
	require.NoError(t, err)
	sc.refused(func() error {
		_, err := sc.desk.Withdraw(sc.ctx, sc.dispatcher, sc.key(), WithdrawalForm{EntryID: groundhand.EntryID(of), Because: "it was wrong"})
		return err
	}, "FORBIDDEN entryId")
}
