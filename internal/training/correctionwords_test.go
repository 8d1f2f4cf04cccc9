package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// corrections gives what was said about the correction of an entry.
func (sc *scene) corrections(id groundhand.EntryID) []groundhand.Correction {
	sc.t.Helper()
	found, err := store.Find[groundhand.Correction](sc.ctx, sc.store, store.ByCorrected, []groundhand.EntryID{id})
	require.NoError(sc.t, err)
	return found
}

func TestACorrectionSaysWhatKindWhoAskedAndWhoAgreed(t *testing.T) {
	sc := newScene(t)
	old := must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2025-06-01", ""))
	f := member("V1", sc.maren, "2025-06-01", "2025-06-30")
	f.Entry = Entry{Replaces: old.ID, Because: "leaves at the end of June", Kind: groundhand.Clerical, AskedBy: sc.maren, AgreedBy: sc.keahi}
	now := goesThrough(t, sc, sc.desk.JoinCrew, f)
	said := sc.corrections(old.ID)
	require.Len(t, said, 1, "also when the form is sent twice")
	assert.Equal(t, groundhand.Correction{ID: said[0].ID, Recorded: said[0].Recorded, ReplacedID: old.ID, ByID: now.ID, Kind: groundhand.Clerical,
		AskedByID: sc.maren, AgreedByID: sc.keahi}, said[0])
	assert.Equal(t, "leaves at the end of June", said[0].Because)
	assert.Equal(t, now.RecordedAt, said[0].RecordedAt, "in one step")
	assert.Equal(t, today, said[0].HappenedOn, "it is corrected today, whenever the entry begins")
	assert.Empty(t, said[0].ReplacesID)

	gone := goesThrough(t, sc, sc.desk.Withdraw, WithdrawalForm{EntryID: now.ID, Because: "never came"})
	said = sc.corrections(now.ID)
	require.Len(t, said, 1)
	assert.Equal(t, []any{gone.ID, groundhand.TakenBack, sc.henrike, groundhand.WorkerID("")}, []any{said[0].ByID, said[0].Kind, said[0].AskedByID, said[0].AgreedByID})
}

func TestLeftOutACorrectionIsFactualAndAskedForByItsAuthor(t *testing.T) {
	sc := newScene(t)
	old := must(sc, sc.desk.RecordDrill, sc.drill())
	must(sc, sc.desk.RecordDrill, sc.drill(func(r *RunForm) {
		r.Replaces, r.Because, r.Parts = groundhand.EntryID(old.Runs[0].ID), "it was after dark", r.Parts[:2]
		r.Dark = true
	}))
	for _, id := range []groundhand.EntryID{groundhand.EntryID(old.Runs[0].ID), old.Parts[0].ID, old.Parts[1].ID, old.Parts[2].ID} {
		said := sc.corrections(id)
		require.Len(t, said, 1, "the run and everybody in it, whoever was taken out of it too")
		assert.Equal(t, []any{groundhand.Factual, sc.henrike, "it was after dark"}, []any{said[0].Kind, said[0].AskedByID, said[0].Because})
	}
}

func TestWhatIsSaidOfACorrectionIsRefused(t *testing.T) {
	form := func(change func(*scene, *Entry)) func(*scene) error {
		return func(sc *scene) error {
			old := must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2025-06-01", ""))
			f := member("V1", sc.maren, "2025-06-01", "2025-06-30")
			f.Entry = Entry{Replaces: old.ID, Because: "typing"}
			change(sc, &f.Entry)
			return sc.after(func() error { return try(sc, sc.desk.JoinCrew, f) })
		}
	}
	withdraw := func(f WithdrawalForm) func(*scene) error {
		return func(sc *scene) error {
			f := f
			f.EntryID, f.Because = must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2025-06-01", "")).ID, "typing"
			return sc.after(func() error { return try(sc, sc.desk.Withdraw, f) })
		}
	}
	walk(t, []refusal{
		{"a kind that does not exist", form(func(_ *scene, e *Entry) { e.Kind = "WHIM" }), says("INVALID kind")},
		{"a correction is no withdrawal", form(func(_ *scene, e *Entry) { e.Kind = groundhand.TakenBack }), says("INVALID kind")},
		{"of the person, and nobody agreed", form(func(_ *scene, e *Entry) { e.Kind = groundhand.IdentityMistaken }), says("INVALID agreedBy")},
		{"of validity, and nobody agreed", form(func(_ *scene, e *Entry) { e.Kind = groundhand.ValidityMistaken }), says("INVALID agreedBy")},
		{"the author agreed", form(func(sc *scene, e *Entry) { e.Kind, e.AgreedBy = groundhand.ValidityMistaken, sc.henrike }), says("FORBIDDEN agreedBy")},
		{"the author agreed, though nobody had to", form(func(sc *scene, e *Entry) { e.AgreedBy = sc.henrike }), says("FORBIDDEN agreedBy")},
		{"people whom nobody knows", form(func(_ *scene, e *Entry) { e.AskedBy, e.AgreedBy = "w8", "w9" }), says("NOT_FOUND askedBy", "NOT_FOUND agreedBy")},
		{"people who are no ids", form(func(_ *scene, e *Entry) { e.AskedBy, e.AgreedBy = "w w", "\x00" }), says("INVALID askedBy", "INVALID agreedBy")},
		{"nothing is corrected", form(func(_ *scene, e *Entry) { *e = Entry{Kind: groundhand.Clerical} }), says("INVALID replaces", "CONFLICT fromOn")},
		{"a withdrawal of a kind that does not exist", withdraw(WithdrawalForm{Kind: "WHIM"}), says("INVALID kind")},
		{"a withdrawal for validity, and nobody agreed", withdraw(WithdrawalForm{Kind: groundhand.ValidityMistaken}), says("INVALID agreedBy")},
	})
}

// Ids are made by the service and a correction names what stands: so no entry corrects itself, and no line of corrections comes back to
// where it began. What has a name of its own is not corrected under that name either.
func TestCorrectionsMakeNoLoop(t *testing.T) {
	sc := newScene(t)
	first := must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2025-06-01", ""))
	line := []groundhand.EntryID{first.ID}
	f := member("V1", sc.maren, "2025-06-01", "2025-06-30")
	for range 4 {
		f.Replaces, f.Because = line[len(line)-1], "typing"
		line = append(line, must(sc, sc.desk.JoinCrew, f).ID)
	}
	for _, id := range line[:4] {
		f.Replaces = id
		sc.refused(func() error { return try(sc, sc.desk.JoinCrew, f) }, "CONFLICT replaces", "CONFLICT fromOn")
	}
	k := kit("K04")
	k.Replaces, k.Because = "K04", "typing"
	sc.refused(func() error { return try(sc, sc.desk.AddKit, k) }, "CONFLICT id", "INVALID replaces")
}

func TestHRCorrectsWhomAnEntryIsAboutAndNothingOfIt(t *testing.T) {
	sc := newScene(t)
	must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
	drill := must(sc, sc.desk.RecordDrill, sc.drill())
	f := sc.pass(sc.maren)
	f.RunPartID, f.Coaching = drill.Parts[0].ID, "look up first"
	pass := must(sc, sc.desk.Assess, f)
	who := Entry{Replaces: drill.Parts[0].ID, Because: "two of one name", Kind: groundhand.IdentityMistaken, AskedBy: sc.maren, AgreedBy: sc.gideon}

	part := PartCorrection{Entry: who, RunID: drill.Runs[0].ID, PartForm: PartForm{WorkerID: sc.henrike, Role: groundhand.Lead}}
	worse := part
	worse.CriticalFail = true
	sc.refused(func() error { _, err := sc.desk.CorrectPart(sc.ctx, sc.hr, "p0", worse); return err }, "FORBIDDEN replaces")
	fixed, err := sc.desk.CorrectPart(sc.ctx, sc.hr, "p1", part)
	require.NoError(t, err)
	assert.Equal(t, sc.henrike, fixed.WorkerID)

	f.Entry, f.WorkerID, f.RunPartID = who, sc.henrike, fixed.ID
	f.Replaces = pass.ID
	for name, change := range map[string]func(*AssessmentForm){
		"the result": func(f *AssessmentForm) { f.Result = groundhand.Fail },
		"the day":    func(f *AssessmentForm) { f.On++ },
		"the words":  func(f *AssessmentForm) { f.Coaching = "" },
		"the role":   func(f *AssessmentForm) { f.Role, f.RunPartID = groundhand.Second, "" },
		"the steps": func(f *AssessmentForm) {
			f.Steps = groundhand.CriticalSteps{{Step: "hazard check", Done: groundhand.StepYes}}
		},
		"the assessor": func(f *AssessmentForm) { f.AssessorID = sc.tomasz },
	} {
		other := f
		change(&other)
		sc.refused(func() error { _, err := sc.desk.Assess(sc.ctx, sc.hr, name, other); return err }, "FORBIDDEN replaces")
	}
	again, err := sc.desk.Assess(sc.ctx, sc.hr, "a1", f)
	require.NoError(t, err)
	assert.Equal(t, []any{sc.henrike, sc.gideon, groundhand.Pass}, []any{again.WorkerID, again.AssessorID, again.Result})
	assert.Equal(t, groundhand.HR, again.Capacity)

	f.Replaces, f.Kind, f.AgreedBy = again.ID, groundhand.Factual, ""
	sc.refused(func() error { _, err := sc.desk.Assess(sc.ctx, sc.hr, "a2", f); return err }, "FORBIDDEN")
	f.Entry = Entry{}
	sc.refused(func() error { _, err := sc.desk.Assess(sc.ctx, sc.hr, "a3", f); return err }, "FORBIDDEN")
}
