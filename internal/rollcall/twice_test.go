package rollcall_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
)

// toldAt happened on a day and was recorded at a moment.
func (w *town) toldAt(on, recorded string) groundhand.Recorded {
	told := w.told(on)
	told.RecordedAt = w.at(recorded)
	return told
}

// nearMiss is plot point P22 of the invented scenario: after a near miss somebody enters that Jamie had been shown the lower controls of the
// device, on a day on which it stood in the workshop.
func nearMiss(t *testing.T) (w *town, claimed groundhand.RunPart) {
	w = newTown(t)
	add(w, groundhand.Yard{ID: "Y3", Recorded: w.told("2024-01-01"), Name: "Quillmere"}, groundhand.Yard{ID: "Y4", Recorded: w.told("2024-01-01"), Name: "Dray Hollow"})
	add(w, groundhand.Family{ID: "F4", Recorded: w.told("2024-01-01"), Name: "tracked"})
	add(w, groundhand.Device{ID: "E23", Recorded: w.told("2024-01-01"), FamilyID: "F4", YardID: "Y3"},
		groundhand.Device{ID: "E24", Recorded: w.told("2024-01-01"), FamilyID: "F4", YardID: "Y4"})
	add(w, groundhand.Crew{ID: "Q3", Recorded: w.told("2024-01-01"), Name: "Q3", YardID: "Y3", Kind: groundhand.LineCrew, NormalSize: 1, Families: groundhand.List{"F4"}})
	w.worker("jamie", groundhand.Qualified)
	w.join("jamie", "Q3", groundhand.Permanent, "2024-01-01", "")
	out := w.toldAt("2025-04-24", "2025-04-24 08:00")
	out.HappenedAt = out.RecordedAt
	back := w.toldAt("2025-04-30", "2025-04-30 16:00")
	back.HappenedAt, back.AuthorID = back.RecordedAt, "gideon"
	add(w, groundhand.Defect{ID: w.id(), Recorded: out, DeviceID: "E23", Cause: groundhand.Workshop})
	add(w, groundhand.Inspection{ID: w.id(), Recorded: back, DeviceID: "E23", Kind: groundhand.DeviceMonthly, Result: groundhand.Returned})
	event := w.toldAt("2025-05-03", "2025-05-03 22:30")
	event.HappenedAt = w.at("2025-05-03 21:40")
	add(w, groundhand.RealEvent{ID: w.id(), Recorded: event, Kind: groundhand.NearMiss, CrewID: "Q3", DeviceID: "E23", What: "the bucket stopped at 11 m"})

	claimed = w.runTold("jamie", w.toldAt("2025-04-28", "2025-05-05 08:12"), groundhand.Familiarisation, "", "F4")
	gone := w.toldAt("2025-05-16", "2025-05-16 09:00")
	gone.Because = "E23 was in the workshop"
	add(w, groundhand.Withdrawal{ID: w.id(), Recorded: gone, WithdrawsID: claimed.ID})
	return w, claimed
}

func familiar(on string) rollcall.StandingQuestion {
	return rollcall.StandingQuestion{Workers: []groundhand.WorkerID{"jamie"}, On: day(on), Lines: []rulebook.Asked{{Method: groundhand.Familiarisation, Role: groundhand.Lead, FamilyID: "F4"}}}
}

func TestWhatWasKnownOnTheNightOfTheNearMissAndAfter(t *testing.T) {
	w, claimed := nearMiss(t)
	for _, c := range []struct {
		known    string
		standing competence.Standing
		marks    []rollcall.Mark
	}{
		{"2025-05-03 23:59", competence.Never, nil},
		{"2025-05-06 12:00", competence.Current, []rollcall.Mark{rollcall.MarkLate, rollcall.MarkContradicted}},
		{"2025-05-20 12:00", competence.Never, []rollcall.Mark{rollcall.MarkLate, rollcall.MarkWithdrawn, rollcall.MarkContradicted}},
	} {
		require.NoError(t, w.roll.AsKnown(w.ctx, w.at(c.known), func(past *rollcall.Roll) error {
			got, err := past.Standings(w.ctx, familiar("2025-05-03"))
			require.NoError(t, err)
			assert.Equal(t, c.standing, got[0].Standing, c.known)
			marks, err := past.Marks(w.ctx, []groundhand.EntryID{claimed.ID})
			require.NoError(t, err)
			assert.Equal(t, c.marks, marks[claimed.ID], c.known)
			return nil
		}))
	}
}

func TestBothAnswersStandSideBySideWithWhatMadeThemDiffer(t *testing.T) {
	w, claimed := nearMiss(t)
	got, err := w.roll.StandingTwice(w.ctx, familiar("2025-05-03"), w.at("2025-05-03 23:59"), w.at("2025-05-06 12:00"))
	require.NoError(t, err)
	assert.False(t, got.Same)
	assert.Equal(t, []competence.Standing{competence.Never, competence.Current}, []competence.Standing{got.Then[0].Standing, got.Now[0].Standing})
	require.Len(t, got.Differs, 1)
	assert.Equal(t, claimed.ID, got.Differs[0].EntryID)
	assert.True(t, got.Differs[0].Changed)
	assert.Equal(t, []rollcall.Mark{rollcall.MarkLate, rollcall.MarkContradicted}, got.Differs[0].Marks)

	got, err = w.roll.StandingTwice(w.ctx, familiar("2025-05-03"), w.at("2025-05-03 23:59"), 0)
	require.NoError(t, err)
	assert.True(t, got.Same, "what was claimed in between has been taken back")
	require.Len(t, got.Differs, 2)
	assert.Equal(t, "withdrawals", got.Differs[1].Kind)
	assert.Equal(t, claimed.ID, got.Differs[1].ReplacesID)
	assert.Equal(t, "E23 was in the workshop", got.Differs[1].Because)
	assert.True(t, got.Differs[0].Changed && got.Differs[1].Changed, "there and back")

	_, err = w.roll.StandingTwice(w.ctx, familiar("2025-05-03"), w.at("2025-05-06 12:00"), w.at("2025-05-03 12:00"))
	assert.ErrorIs(t, err, groundhand.CodeInvalid)
}

func TestCoverTwiceNamesTheEntryAndNotTheReasonOfAnAbsence(t *testing.T) {
	w := stenholt(t)
	q := w.shift("S3", "2024-11-04 08:00", "2024-11-04 16:00")
	sick := groundhand.Unavailability{ID: w.id(), Recorded: w.toldAt("2024-11-04", "2024-11-04 06:30"), WorkerID: "james", Kind: groundhand.Sick, FromAt: w.at("2024-11-04 00:00")}
	sick.Because = "a broken wrist"
	add(w, sick)
	w.run("dilnoza", "2024-11-05", groundhand.LoneKit, groundhand.Lone, "F1") // later than asked about
	got, err := w.roll.CoverTwice(w.ctx, q, w.at("2024-11-03 18:00"), 0)
	require.NoError(t, err)
	assert.False(t, got.Same)
	assert.Equal(t, []readiness.Verdict{readiness.Ready, readiness.NotReady}, []readiness.Verdict{got.Then.Answer.Verdict, got.Now.Answer.Verdict})
	require.Len(t, got.Differs, 2)
	assert.Equal(t, sick.ID, got.Differs[0].EntryID)
	assert.Empty(t, got.Differs[0].Because)
	assert.True(t, got.Differs[0].Changed)
	assert.False(t, got.Differs[1].Changed)

	q.AsKnownAt = w.at("2024-11-03 18:00")
	assert.Equal(t, readiness.Ready, w.cover(q).Answer.Verdict)
}

func TestAnAnswerAsKnownNeverChangesWhenMoreIsRecorded(t *testing.T) {
	w := stenholt(t)
	q := w.shift("S3", "2024-11-04 08:00", "2024-11-04 16:00")
	q.AsKnownAt = w.at("2024-11-04 07:00")
	before := w.cover(q)
	for i, later := range []func(told groundhand.Recorded){
		func(told groundhand.Recorded) {
			add(w, groundhand.Unavailability{ID: w.id(), Recorded: told, WorkerID: "james", Kind: groundhand.Leave, FromAt: w.at("2024-11-01 00:00")})
		},
		func(told groundhand.Recorded) {
			add(w, groundhand.Defect{ID: w.id(), Recorded: told, DeviceID: "A05", Cause: groundhand.DefectFound})
		},
		func(told groundhand.Recorded) {
			add(w, groundhand.Suspension{ID: w.id(), Recorded: told, WorkerID: "dilnoza", Method: groundhand.PairKit, Cause: "hazards"})
		},
		func(told groundhand.Recorded) { w.runTold("dilnoza", told, groundhand.LoneKit, groundhand.Lone, "F1") },
	} {
		later(w.toldAt("2024-11-01", fmt.Sprintf("2024-11-05 0%d:00", i+1)))
		got := w.cover(q)
		assert.Equal(t, before.Answer, got.Answer)
		assert.Equal(t, before.Question, got.Question)
	}
}

// The engine itself leaves out of the facts what was recorded later; the records as they stood then must give it the same facts.
func TestTheEngineAndTheRecordsAgreeOnWhatWasKnown(t *testing.T) {
	w := stenholt(t)
	for seed := range 30 {
		w.addAny(anyEntry().Example(seed))
	}
	ask := rollcall.StandingQuestion{Workers: []groundhand.WorkerID{"james", "dilnoza"}, On: day("2024-11-20"), Lines: []rulebook.Asked{
		{Method: groundhand.PairKit, Role: groundhand.Second, FamilyID: "F1"}, {Method: groundhand.LoneKit, Role: groundhand.Lone, FamilyID: "F1"}}}
	seen := map[competence.Standing]bool{}
	for hour := 0; hour <= 500; hour += 20 {
		byEngine := ask
		byEngine.AsKnownAt = w.at("2024-11-01 00:00") + groundhand.Instant(hour)*3600_000
		want, err := w.roll.Standings(w.ctx, byEngine)
		require.NoError(t, err)
		for i := range want { // the records of then do not even hold what was not yet known
			want[i].Refused = slices.DeleteFunc(want[i].Refused, func(x competence.Refusal) bool { return x.Code == competence.NotYetKnown })
			seen[want[i].Standing] = true
		}
		require.NoError(t, w.roll.AsKnown(w.ctx, byEngine.AsKnownAt, func(past *rollcall.Roll) error {
			got, err := past.Standings(w.ctx, ask)
			require.Equal(t, want, got)
			return err
		}))
	}
	assert.GreaterOrEqual(t, len(seen), 3, "the entries drawn make a difference")
}

// drawn is an entry about somebody of the crew, with both its days.
type drawn struct {
	what          int
	who           groundhand.WorkerID
	day           int // after 1 September
	told, goneFor int // hours after 1 November, and after that
}

func anyEntry() *rapid.Generator[drawn] {
	return rapid.Custom(func(t *rapid.T) drawn {
		return drawn{rapid.IntRange(0, 3).Draw(t, "what"), rapid.SampledFrom([]groundhand.WorkerID{"james", "dilnoza"}).Draw(t, "who"),
			rapid.IntRange(0, 60).Draw(t, "day"), rapid.IntRange(0, 400).Draw(t, "told"), rapid.IntRange(1, 100).Draw(t, "gone")}
	})
}

func (w *town) addAny(d drawn) {
	w.t.Helper()
	told := w.told("2024-09-01")
	told.HappenedOn, told.RecordedAt = day("2024-09-01").AddDays(d.day), w.at("2024-11-01 00:00")+groundhand.Instant(d.told)*3600_000
	switch d.what {
	case 0:
		w.runTold(d.who, told, groundhand.PairKit, groundhand.Second, "F1")
	case 1:
		part := w.runTold(d.who, told, groundhand.LoneKit, groundhand.Lone, "F1")
		told.RecordedAt += groundhand.Instant(d.goneFor) * 3600_000
		add(w, groundhand.Withdrawal{ID: w.id(), Recorded: told, WithdrawsID: part.ID})
	case 2:
		s := groundhand.Suspension{ID: w.id(), Recorded: told, WorkerID: d.who, Method: groundhand.PairKit}
		add(w, s)
		told.RecordedAt += groundhand.Instant(d.goneFor) * 3600_000
		add(w, groundhand.Withdrawal{ID: w.id(), Recorded: told, WithdrawsID: s.ID})
	case 3:
		add(w, groundhand.Extension{ID: w.id(), Recorded: told, WorkerID: d.who, Method: groundhand.LoneKit, FromOn: told.HappenedOn, ToOn: told.HappenedOn + 30, ApproverID: "gideon"})
	}
}

// Everything else that can be asked is asked of the same records of then, several questions at a time.
func TestEveryQuestionCanBeAskedAsKnown(t *testing.T) {
	w := stenholt(t)
	on, at := day("2024-11-04"), w.at("2024-11-03 18:00")
	w.crew("V9", groundhand.LineCrew, groundhand.List{"F1"}, "gus", "hal", "ida")
	type answers struct {
		company rollcall.Company
		outlook []rollcall.CrewOutlook
		ahead   rollcall.LookAhead
		grid    rollcall.Grid
		leaning []rollcall.LeaningCrew
	}
	ask := func() (out answers) {
		require.NoError(t, w.roll.AsKnown(w.ctx, at, func(past *rollcall.Roll) (err error) {
			if out.company, err = past.Company(w.ctx, on); err != nil {
				return err
			}
			if out.outlook, err = past.Outlook(w.ctx, on, 60); err != nil {
				return err
			}
			if out.ahead, err = past.LookAhead(w.ctx, on, 60); err != nil {
				return err
			}
			if out.grid, err = past.Grid(w.ctx, rollcall.GridQuestion{FromAt: w.at("2024-11-04 08:00"), UntilAt: w.at("2024-11-04 16:00")}); err != nil {
				return err
			}
			out.leaning, err = past.LeaningCrews(w.ctx, on)
			return err
		}))
		return out
	}
	before := ask()
	w.extend("gus", "2024-11-04", "2024-11-20")
	add(w, groundhand.Suspension{ID: w.id(), Recorded: w.told("2024-11-04"), WorkerID: "james", Method: groundhand.LoneKit})
	assert.Equal(t, before.company, ask().company)
	assert.Equal(t, before.outlook, ask().outlook)
	assert.Equal(t, before.ahead, ask().ahead)
	assert.Equal(t, verdicts(before.grid), verdicts(ask().grid))
	now, err := w.roll.Company(w.ctx, on)
	require.NoError(t, err)
	assert.NotEqual(t, before.company, now)
}

func rollcallLone(who groundhand.WorkerID) rollcall.StandingQuestion {
	return rollcall.StandingQuestion{Workers: []groundhand.WorkerID{who}, On: day("2024-11-03"), Lines: []rulebook.Asked{{Method: groundhand.LoneKit, Role: groundhand.Lone, FamilyID: "F1"}}}
}
