package rollcall_test

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
)

// A company in which most kinds of entries occur: passes by an assessor, a fail, a suspension that was lifted, an extension, a provisional,
// leave, an apprentice, a correction, withdrawals and a loan.
func eventful(t *testing.T) *town {
	w := lineCrew(t, "ann", "bob", "cal", "linh")
	w.crew("S3", groundhand.FaultCrew, groundhand.List{"F1", "F3"}, "james", "dilnoza")
	add(w, groundhand.Grading{ID: w.id(), Recorded: w.told("2024-02-01"), WorkerID: "linh", Grade: groundhand.Apprentice, Year: 2})
	for _, f := range []groundhand.FamilyID{"F1", "F3"} {
		w.run("gideon", "2024-09-12", groundhand.PairKit, groundhand.Lead, f)
		w.run("gideon", "2024-09-12", groundhand.LoneKit, groundhand.Lone, f)
		w.assess("james", "2025-02-20", groundhand.LoneKit, groundhand.Lone, f)
	}
	pass := w.assess("ann", "2025-02-03", groundhand.PairKit, groundhand.Lead, "F1")
	add(w, groundhand.Suspension{ID: "SUS", Recorded: w.told("2025-01-15"), WorkerID: "ann", Method: groundhand.PairKit, Cause: "critical step missed"})
	add(w, groundhand.Lifting{ID: w.id(), Recorded: w.told("2025-02-04"), WorkerID: "ann", SuspensionID: "SUS", PassID: pass.ID})
	w.run("bob", "2024-06-06", groundhand.PairKit, groundhand.Lead, "F1")
	add(w, groundhand.Extension{ID: w.id(), Recorded: w.told("2025-06-02"), WorkerID: "bob", Method: groundhand.PairKit, FromOn: day("2025-06-06"), ToOn: day("2025-06-27"),
		ApproverID: "henrike", Basis: "the ground is closed"})
	add(w, groundhand.Provisional{ID: w.id(), Recorded: w.told("2025-06-02"), WorkerID: "cal", Method: groundhand.PairKit, Role: groundhand.Second, FamilyID: "F1",
		FromOn: day("2025-06-02"), ToOn: day("2025-06-30"), Basis: "copy seen"})
	part := w.run("linh", "2025-03-03", groundhand.PairKit, groundhand.Lead, "F1")
	right := part
	right.ID, right.ReplacesID, right.Because, right.Role = w.id(), part.ID, "was second", groundhand.Second
	right.RecordedAt += 5
	add(w, right)
	gone := w.run("dilnoza", "2025-03-03", groundhand.LoneKit, groundhand.Lone, "F1")
	add(w, groundhand.Withdrawal{ID: w.id(), Recorded: w.told("2025-05-16"), WithdrawsID: groundhand.EntryID(gone.RunID)})
	w.away("dilnoza", groundhand.Sick, "2025-05-19 00:00", "2025-05-22 00:00")
	for _, who := range []groundhand.WorkerID{"james", "dilnoza"} {
		w.firstAid(who, "2025-01-10")
	}
	told := w.told("2025-06-11")
	told.HappenedOn, told.HappenedAt, told.RecordedAt = 0, w.at("2025-06-11 09:30")+250, w.at("2025-06-11 10:00")
	w.runTold("dilnoza", told, groundhand.LoneKit, groundhand.Lone, "F1")
	return w
}

var everybody = []groundhand.WorkerID{"ann", "bob", "cal", "linh", "james", "dilnoza", "gideon"}

// standings gives the answers of the service and the file they can be recomputed from.
func standings(t *testing.T, w *town) (competence.Answers, []byte) {
	ask := rollcall.StandingQuestion{Workers: everybody, On: day("2025-06-11")}
	got, err := w.roll.Standings(w.ctx, ask)
	require.NoError(t, err)
	facts, err := w.roll.Export(w.ctx, ask)
	require.NoError(t, err)
	text, err := facts.Encode()
	require.NoError(t, err)
	answers := competence.Answers{Facts: facts.Name}
	for _, s := range got {
		answers.Answers = append(answers.Answers, s.Answer)
	}
	return answers, text
}

func TestStandingsAreRecomputedFromTheirFile(t *testing.T) {
	w := eventful(t)
	answers, file := standings(t, w)
	seen := map[competence.Standing]bool{}
	for _, a := range answers.Answers {
		seen[a.Standing] = true
	}
	assert.Subset(t, seen, map[competence.Standing]bool{competence.Current: true, competence.OnExtension: true, competence.OnPaper: true, competence.Never: true})
	want, err := answers.Encode()
	require.NoError(t, err)
	again, err := competence.AnswerFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(again))
	assert.NotContains(t, string(file), "SICK", "the file does not tell sickness from leave")
}

// questions of crews and moments, one of them across the moment of a drill.
func (w *town) questions() []rollcall.CoverQuestion {
	night := w.shift("S3", "2025-06-11 06:00", "2025-06-12 06:00")
	unknown := w.shift("V1", "2025-06-10 07:00", "2025-06-10 15:30")
	unknown.DeviceID = ""
	two := w.shift("V1", "2025-06-26 07:00", "2025-06-28 15:30")
	two.Aloft, two.Absent, two.Duties = 1, []groundhand.WorkerID{"cal"}, groundhand.Duties{{Duty: "TRAFFIC", WorkerID: "cal"}}
	return []rollcall.CoverQuestion{w.shift("V1", "2025-06-11 07:00", "2025-06-11 15:30"), night, unknown, two, w.shift("S3", "2025-02-28 18:00", "2025-03-01 06:00")}
}

func TestCoverIsRecomputedFromItsFile(t *testing.T) {
	w := eventful(t)
	for _, q := range w.questions() {
		a := w.cover(q)
		want, err := json.Marshal(a.Answer)
		require.NoError(t, err)
		got, err := json.Marshal(recomputed(t, a.Question))
		require.NoError(t, err)
		assert.JSONEq(t, string(want), string(got))
	}
}

// recomputed answers the file of a question.
func recomputed(t *testing.T, q readiness.Question) readiness.Answer {
	t.Helper()
	file, err := json.Marshal(q)
	require.NoError(t, err)
	read, err := readiness.Decode(file)
	require.NoError(t, err)
	again, err := readiness.Judge(read)
	require.NoError(t, err)
	return again
}

// The independent references judge the same files, where they are at hand: standing_oracle.py and cover_oracle.py.
func TestTheReferencesAgree(t *testing.T) {
	shared := os.Getenv("GROUNDHAND_SHARED")
	if shared == "" {
		t.Skip("GROUNDHAND_SHARED names no folder with the references")
	}
	w := eventful(t)
	dir := t.TempDir()
	write := func(name string, text []byte) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, text, 0o600))
		return path
	}
	compare := func(script, question, answer string) {
		out, err := exec.Command("python3", filepath.Join(shared, script), question, answer).CombinedOutput()
		assert.NoError(t, err, string(out))
	}
	answers, file := standings(t, w)
	text, err := answers.Encode()
	require.NoError(t, err)
	compare("standing/compare.py", write("facts.json", file), write("answers.json", text))
	questions := w.questions()
	for i := range questions {
		asked := questions[i]
		asked.Changes = &rollcall.Changes{Most: 1}
		questions = append(questions, asked)
	}
	for _, q := range questions {
		a := w.cover(q)
		question, err := json.Marshal(a.Question)
		require.NoError(t, err)
		answer, err := json.Marshal(a.Answer)
		require.NoError(t, err)
		compare("cover/compare.py", write("question.json", question), write("answer.json", answer))
	}
}
