package rollcall_test

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
)

// The question of a client at the gate: are these named people good under the client's rules on a day.

func (w *town) under(set, on string, people ...groundhand.WorkerID) []rollcall.PersonUnderRules {
	w.t.Helper()
	got, err := w.roll.UnderRules(w.ctx, rollcall.UnderRulesQuestion{People: people, RuleSet: groundhand.RuleSetID(set), On: day(on)})
	require.NoError(w.t, err)
	require.Len(w.t, got, len(people))
	return got
}

func (w *town) employed(who groundhand.WorkerID, by, from, to string) {
	e := groundhand.Employment{ID: w.id(), Recorded: w.told(from), WorkerID: who, Employer: by, Relation: groundhand.ResidentContractor, FromOn: day(from)}
	if to != "" {
		e.ToOn = day(to)
	}
	add(w, e)
}

func (w *town) name(who groundhand.WorkerID, name, from string) {
	add(w, groundhand.WorkerName{ID: w.id(), Recorded: w.told(from), WorkerID: who, Name: name})
}

// Plot point P10: drilled on Friday 12 January 2024, Uche is good to the end of the month under the contractor's own rule and stands at the
// client's gate on the 14th with a last good day of the 11th.
func TestOneIsGoodForOneClientAndNotForAnother(t *testing.T) {
	w := newTown(t)
	w.crew("C2", groundhand.LineCrew, groundhand.List{"F1"}, "uche", "katya", "jun")
	w.name("uche", "Uche Ravenhall", "2024-01-01")
	w.employed("uche", "Another firm (invented)", "2023-01-01", "2023-12-31")
	w.employed("uche", "Aldersett Contractors (invented)", "2024-01-01", "")
	w.run("uche", "2024-01-12", groundhand.PairKit, groundhand.Lead, "F1")
	w.run("katya", "2024-06-12", groundhand.PairKit, groundhand.Second, "F1")
	for _, who := range []groundhand.WorkerID{"uche", "katya", "jun"} {
		w.firstAid(who, "2024-09-01")
	}
	own, client := w.under("R-X", "2025-01-14", "uche", "katya"), w.under("R-C", "2025-01-14", "uche", "katya")
	assert.True(t, own[0].Good)
	assert.Equal(t, "2025-01-31", own[0].GoodThrough.String())
	assert.Empty(t, rollcall.WhyNotGood(own[0]))
	assert.Equal(t, "Uche Ravenhall, Aldersett Contractors (invented), C2", own[0].Name+", "+own[0].Employer+", "+string(own[0].CrewID))

	assert.False(t, client[0].Good)
	assert.Zero(t, client[0].GoodThrough)
	assert.Equal(t, rollcall.BecauseOver, client[0].Because)
	assert.Equal(t, "kit, two on the ground, second, F1: last good day was Sat 11 Jan 2025", rollcall.WhyNotGood(client[0]))
	require.Len(t, client[0].Lines, 2, "the client asks for the method and for first aid")
	assert.True(t, client[0].Lines[1].Good(), "only the method is over")
	assert.True(t, client[1].Good)
	assert.Equal(t, "2025-06-11", client[1].GoodThrough.String(), "the earlier of the method and first aid")
}

// Each reason there is, and that nothing but current is good.
func TestEachReasonForWhichSomebodyIsNotGood(t *testing.T) {
	w := newTown(t)
	names := []groundhand.WorkerID{"good", "susp", "linh", "long", "over", "grac", "exte", "pape", "theo", "neve"}
	w.crew("V1", groundhand.LineCrew, groundhand.List{"F1"}, names...)
	w.worker("desk", groundhand.Office)
	monthAfter := rulebook.Shipped()[1]
	monthAfter.ID, monthAfter.IsDefault, monthAfter.Recorded, monthAfter.ApprovedBy = "R-M", false, w.told("2024-01-01"), "the safety manager"
	monthAfter.Body = monthRules(t, monthAfter.Body)
	add(w, monthAfter)
	pair := func(who groundhand.WorkerID, on string, role groundhand.Role) {
		w.run(who, on, groundhand.PairKit, role, "F1")
	}
	for _, who := range []groundhand.WorkerID{"good", "susp", "linh", "long"} {
		pair(who, "2024-09-02", groundhand.Lead)
	}
	add(w, groundhand.Suspension{ID: w.id(), Recorded: w.told("2025-01-15"), WorkerID: "susp", Method: groundhand.PairKit, Cause: "critical step missed"})
	add(w, groundhand.Grading{ID: w.id(), Recorded: w.told("2024-02-01"), WorkerID: "linh", Grade: groundhand.Apprentice, Year: 1})
	w.away("long", groundhand.Sick, "2024-09-20 00:00", "2025-05-20 00:00")
	pair("over", "2024-01-12", groundhand.Second)
	pair("grac", "2024-05-07", groundhand.Second)
	pair("exte", "2024-06-06", groundhand.Second)
	add(w, groundhand.Extension{ID: w.id(), Recorded: w.told("2025-06-02"), WorkerID: "exte", Method: groundhand.PairKit, FromOn: day("2025-06-06"), ToOn: day("2025-06-27"),
		ApproverID: "henrike", Basis: "the ground is closed"})
	add(w, groundhand.Provisional{ID: w.id(), Recorded: w.told("2025-06-02"), WorkerID: "pape", Method: groundhand.PairKit, Role: groundhand.Second, FamilyID: "F1",
		FromOn: day("2025-06-02"), ToOn: day("2025-06-30"), Basis: "copy seen"})
	theory := w.assess("theo", "2025-03-03", groundhand.PairKit, groundhand.Second, "F1")
	right := theory
	right.ID, right.ReplacesID, right.Because, right.Theory, right.RecordedAt = w.id(), theory.ID, "was in the classroom", true, theory.RecordedAt+5000
	add(w, right)

	second := []rollcall.Asked{{Method: groundhand.PairKit, Role: groundhand.Second, FamilyID: "F1"}}
	lead := []rollcall.Asked{{Method: groundhand.PairKit, Role: groundhand.Lead, FamilyID: "F1"}}
	because := func(who groundhand.WorkerID, set string, lines []rollcall.Asked) (rollcall.NotGood, string) {
		got, err := w.roll.UnderRules(w.ctx, rollcall.UnderRulesQuestion{People: []groundhand.WorkerID{who}, RuleSet: groundhand.RuleSetID(set), On: day("2025-06-11"), Lines: lines})
		require.NoError(t, err)
		assert.Equal(t, got[0].Because == "", got[0].Good, who)
		return got[0].Because, rollcall.WhyNotGood(got[0])
	}
	seen := map[rollcall.NotGood]bool{}
	for _, c := range []struct {
		who   groundhand.WorkerID
		set   string
		lines []rollcall.Asked
		want  rollcall.NotGood
		words string
	}{
		{"good", "R2", second, "", ""},
		{"susp", "R2", second, rollcall.BecauseSuspended, "kit, two on the ground, second, F1: suspended: a failed step or a suspension is open, and a new pass lifts it; by the evidence alone the last good day is Mon 1 Sep 2025"},
		{"linh", "R2", lead, rollcall.BecauseGrade, "kit, two on the ground, lead, F1: the rules bar this apprentice year, or the grade is not known"},
		{"linh", "R2", second, "", ""},
		{"long", "R2", second, rollcall.BecauseAbsence, "kit, two on the ground, second, F1: held by the absence rule, until a run that somebody watches; by the evidence alone the last good day is Mon 1 Sep 2025"},
		{"over", "R2", second, rollcall.BecauseOver, "kit, two on the ground, second, F1: last good day was Sat 11 Jan 2025"},
		{"grac", "R-M", second, rollcall.BecauseGrace, "kit, two on the ground, second, F1: in the month after the month due; by the evidence alone the last good day is Sat 31 May 2025"},
		{"exte", "R2", second, rollcall.BecauseExtended, "kit, two on the ground, second, F1: past the last good day, on an extension; by the evidence alone the last good day is Thu 5 Jun 2025"},
		{"exte", "R-C", second, rollcall.BecauseOver, "kit, two on the ground, second, F1: last good day was Thu 5 Jun 2025"},
		{"pape", "R2", second, rollcall.BecauseOnPaper, "kit, two on the ground, second, F1: accepted on paper for a time; nothing was shown here yet"},
		{"theo", "R2", second, rollcall.BecauseNoCredit, "kit, two on the ground, second, F1: what is on record of this method does not count under these rules"},
		{"neve", "R2", second, rollcall.BecauseNever, "kit, two on the ground, second, F1: never practised this method"},
		{"desk", "R2", nil, rollcall.BecauseNotKnown, "nothing is known of this person in these rules: cannot tell, so not good"},
		{"good", "R2", []rollcall.Asked{{Method: groundhand.PairKit, Role: groundhand.Second}}, rollcall.BecauseNotKnown,
			"kit, two on the ground, second: nothing is known of this person in these rules: cannot tell, so not good (the rules go by control family, and none was named)"},
	} {
		got, words := because(c.who, c.set, c.lines)
		assert.Equal(t, c.want, got, "%s %s", c.who, c.set)
		assert.Equal(t, c.words, words, "%s %s", c.who, c.set)
		seen[got] = true
	}
	assert.Len(t, seen, len(rollcall.NotGoodReasons)+1, "every reason occurs, and good")
}

// monthRules turns the pair lines of a rule set to the convention of a base month, which alone knows a month of grace.
func monthRules(t *testing.T, body string) string {
	var rules map[string]any
	require.NoError(t, json.Unmarshal([]byte(body), &rules))
	for _, l := range rules["lines"].([]any) {
		if line := l.(map[string]any); line["method"] == "PAIR_KIT" {
			line["last_good_day"] = "BASE_MONTH"
		}
	}
	text, err := json.Marshal(rules)
	require.NoError(t, err)
	return string(text)
}

// Of several lines the weightiest reason speaks, and one line that is not met is enough.
func TestTheWeightiestReasonSpeaks(t *testing.T) {
	w := lineCrew(t, "ann", "bob")
	w.crew("V2", groundhand.LineCrew, groundhand.List{"F1", "F3"}, "cal", "dee", "eve")
	w.run("cal", "2025-02-03", groundhand.PairKit, groundhand.Second, "F1")
	w.run("cal", "2024-02-03", groundhand.PairKit, groundhand.Second, "F3")
	got := w.under("R-C", "2025-06-11", "cal")[0]
	require.Len(t, got.Lines, 3)
	assert.Equal(t, []rollcall.NotGood{"", rollcall.BecauseOver, rollcall.BecauseNever}, []rollcall.NotGood{got.Lines[0].Because, got.Lines[1].Because, got.Lines[2].Because})
	assert.Equal(t, rollcall.BecauseOver, got.Because)
	assert.Contains(t, rollcall.WhyNotGood(got), "F3")
	assert.False(t, got.Good)
}

// Who is in no crew is asked for every way of bringing somebody down that is on record, as far as the rules have a line for it.
func TestWhoIsInNoCrewIsAskedForWhatIsOnRecord(t *testing.T) {
	w := newTown(t)
	w.worker("roz", groundhand.Qualified)
	assert.Equal(t, rollcall.BecauseNotKnown, w.under("R-C", "2025-06-11", "roz")[0].Because, "nothing is on record")
	w.run("roz", "2025-02-03", groundhand.PairKit, groundhand.Second, "F3")
	w.run("roz", "2025-02-03", groundhand.PairKit, groundhand.Second, "F1")
	w.run("roz", "2025-03-03", groundhand.PairKit, groundhand.Second, "F1")
	w.run("roz", "2025-02-03", groundhand.LoneKit, groundhand.Casualty, "F1")
	w.run("roz", "2025-02-03", groundhand.PoleTop, groundhand.Lead, "F1")
	gone := w.run("roz", "2023-02-03", groundhand.LoneKit, groundhand.Lone, "F1")
	w.run("roz", "2025-07-01", groundhand.LoneKit, groundhand.Lone, "F3") // after the day
	w.firstAid("roz", "2025-02-03")
	lines := func(set string) (out []string) {
		for _, l := range w.under(set, "2025-06-11", "roz")[0].Lines {
			out = append(out, fmt.Sprintf("%s %s %s %s", l.Method, l.Role, l.FamilyID, l.Because))
		}
		return out
	}
	assert.Equal(t, []string{"PAIR_KIT SECOND F1 ", "PAIR_KIT SECOND F3 ", "LONE_KIT LONE F1 LAST_GOOD_DAY_OVER"}, lines("R-C"))
	add(w, groundhand.Withdrawal{ID: w.id(), Recorded: w.told("2025-05-16"), WithdrawsID: groundhand.EntryID(gone.RunID)})
	assert.Equal(t, []string{"PAIR_KIT SECOND F1 ", "PAIR_KIT SECOND F3 "}, lines("R-C"), "what was withdrawn is not on record")
	assert.True(t, w.under("R-C", "2025-06-11", "roz")[0].Good)
	habit := w.under("R0", "2025-06-11", "roz")[0].Lines
	require.Len(t, habit, 1, "rules that do not go by family ask once")
	assert.Empty(t, habit[0].FamilyID)
	loan := w.id()
	add(w, groundhand.Crew{ID: "V9", Recorded: w.told("2024-01-01"), Name: "V9", YardID: "Y1", Kind: groundhand.LineCrew, NormalSize: 5, Families: groundhand.List{"F1"}},
		groundhand.Crew{ID: "V8", Recorded: w.told("2024-01-01"), Name: "V8", YardID: "Y1", Kind: groundhand.LineCrew, NormalSize: 5, Families: groundhand.List{"F1"}})
	add(w, groundhand.Membership{ID: loan, Recorded: w.told("2025-06-11"), CrewID: "V9", WorkerID: "roz", Part: groundhand.Member, Reason: groundhand.Loan, FromOn: day("2025-06-11"), ToOn: day("2025-06-11")})
	assert.Equal(t, []string{"PAIR_KIT SECOND F1 ", "FIRST_AID SECOND  "}, lines("R-C"), "lent to a crew that day: what is asked in that crew")
}

func TestEverythingWrongWithTheQuestionIsRefusedTogether(t *testing.T) {
	w := lineCrew(t, "ann", "bob")
	early := rulebook.Shipped()[3]
	early.ID, early.EffectiveFrom, early.EffectiveThrough, early.Recorded = "R-E", day("2024-03-01"), day("2024-12-31"), w.told("2024-03-01")
	add(w, early)
	problems := func(ask rollcall.UnderRulesQuestion) (out []string) {
		_, err := w.roll.UnderRules(w.ctx, ask)
		for _, e := range groundhand.Refusals(err) {
			out = append(out, string(e.Code)+" "+e.Field)
		}
		return out
	}
	four := []groundhand.WorkerID{"ann", "nobody", "bob", "ann"}
	assert.Equal(t, []string{"NOT_FOUND ruleSet", "NOT_FOUND people[1]", "INVALID people[3]"}, problems(rollcall.UnderRulesQuestion{People: four, RuleSet: "R-Q", On: day("2025-06-11")}))
	assert.Equal(t, []string{"INVALID ruleSet", "NOT_FOUND people[1]", "INVALID people[3]"}, problems(rollcall.UnderRulesQuestion{People: four, RuleSet: "R-E", On: day("2025-01-01")}))
	assert.Equal(t, []string{"INVALID ruleSet"}, problems(rollcall.UnderRulesQuestion{People: four[:1], RuleSet: "R-E", On: day("2024-02-29")}))
	assert.Empty(t, problems(rollcall.UnderRulesQuestion{People: four[:1], RuleSet: "R-E", On: day("2024-12-31")}))
	assert.Equal(t, []string{"INVALID on", "INVALID ruleSet", "INVALID people"}, problems(rollcall.UnderRulesQuestion{}))
	assert.Equal(t, []string{"INVALID lines[0].method", "INVALID lines[0].role", "NOT_FOUND lines[0].family", "INVALID lines[2]", "NOT_FOUND people[0]"},
		problems(rollcall.UnderRulesQuestion{People: four[1:2], RuleSet: "R-C", On: day("2025-06-11"), Lines: []rollcall.Asked{{Method: "X", Role: groundhand.Casualty, FamilyID: "F9"},
			{Method: groundhand.FirstAid, Role: groundhand.Second}, {Method: groundhand.FirstAid, Role: groundhand.Second}}}))
	assert.Equal(t, []string{"INVALID lines"}, problems(rollcall.UnderRulesQuestion{People: four[:1], RuleSet: "R-C", On: day("2025-06-11"), Lines: []rollcall.Asked{}}))
	many := make([]groundhand.WorkerID, rollcall.MostPeopleUnderRules+1)
	assert.Equal(t, []string{"NOT_FOUND ruleSet", "TOO_LARGE people"}, problems(rollcall.UnderRulesQuestion{People: many, RuleSet: "R-Q", On: day("2025-06-11")}))
	assert.Equal(t, []string{"INVALID asKnownAt"}, problems(rollcall.UnderRulesQuestion{People: four[:1], RuleSet: "R-C", On: day("2025-06-11"), AsKnownAt: -1}))
	add(w, groundhand.Withdrawal{ID: w.id(), Recorded: w.told("2025-06-01"), WithdrawsID: "R-E"})
	assert.Equal(t, []string{"NOT_FOUND ruleSet"}, problems(rollcall.UnderRulesQuestion{People: four[:1], RuleSet: "R-E", On: day("2024-06-11")}), "what was withdrawn does not stand")
}

// Two ids that were merged are one person: found by either, and named twice by both.
func TestAMergedPersonIsOnePerson(t *testing.T) {
	w := lineCrew(t, "ana", "bob")
	w.worker("anna", groundhand.Qualified)
	w.name("ana", "Ana-Lucia Ferreira-Moor", "2024-01-01")
	w.run("anna", "2025-02-03", groundhand.PairKit, groundhand.Second, "F1")
	second := []rollcall.Asked{{Method: groundhand.PairKit, Role: groundhand.Second, FamilyID: "F1"}}
	ask := rollcall.UnderRulesQuestion{People: []groundhand.WorkerID{"ana"}, RuleSet: "R-C", On: day("2025-06-11"), Lines: second}
	apart, err := w.roll.UnderRules(w.ctx, ask)
	require.NoError(t, err)
	assert.False(t, apart[0].Good)
	add(w, groundhand.Merge{ID: w.id(), Recorded: w.told("2025-06-01"), KeptID: "ana", GoneID: "anna", Reason: "entered twice"})
	for _, id := range []groundhand.WorkerID{"ana", "anna"} {
		ask.People = []groundhand.WorkerID{id}
		got, err := w.roll.UnderRules(w.ctx, ask)
		require.NoError(t, err)
		assert.True(t, got[0].Good, id)
		assert.Equal(t, "ana Ana-Lucia Ferreira-Moor V1", string(got[0].WorkerID)+" "+got[0].Name+" "+string(got[0].CrewID))
	}
	ask.People = []groundhand.WorkerID{"anna", "bob", "ana"}
	_, err = w.roll.UnderRules(w.ctx, ask)
	refusals := groundhand.Refusals(err)
	require.Len(t, refusals, 1)
	assert.Equal(t, "people[2]: This person is named already, as people[0]; name everybody once.", refusals[0].Error())
}

// As known before a late entry, the answer is that of the day on which nobody knew it; so are name, crew and rules.
func TestUnderRulesAsKnownAtAMoment(t *testing.T) {
	w := lineCrew(t, "ann", "bob")
	told := w.told("2025-06-10")
	told.HappenedOn = day("2025-06-02")
	w.runTold("ann", told, groundhand.PairKit, groundhand.Second, "F1")
	renamed := w.told("2025-06-10")
	renamed.HappenedOn = day("2025-06-01")
	w.name("ann", "Ann Before", "2024-01-01")
	add(w, groundhand.WorkerName{ID: w.id(), Recorded: renamed, WorkerID: "ann", Name: "Ann After"})
	ask := rollcall.UnderRulesQuestion{People: []groundhand.WorkerID{"ann"}, RuleSet: "R-C", On: day("2025-06-05"), Lines: []rollcall.Asked{{Method: groundhand.PairKit, Role: groundhand.Second, FamilyID: "F1"}}}
	now, err := w.roll.UnderRules(w.ctx, ask)
	require.NoError(t, err)
	ask.AsKnownAt = w.at("2025-06-10 16:59")
	then, err := w.roll.UnderRules(w.ctx, ask)
	require.NoError(t, err)
	assert.True(t, now[0].Good)
	assert.Equal(t, "Ann After", now[0].Name)
	assert.Equal(t, rollcall.BecauseNever, then[0].Because)
	assert.Equal(t, "Ann Before", then[0].Name)
	ask.AsKnownAt = w.at("2023-06-10 16:59")
	_, err = w.roll.UnderRules(w.ctx, ask)
	assert.Len(t, groundhand.Refusals(err), 3, "no such rules, family and person were known then")
}

func TestStatementsUnderRulesDoNotGrowWithThePeople(t *testing.T) {
	if underRace {
		t.Skip("minutes under the race detector, with nothing side by side; run without it in .ci/run")
	}
	w := newTown(t)
	w.run("gideon", "2024-09-12", groundhand.PairKit, groundhand.Lead, "F1")
	w.manyCrews(0, 30)
	var all []groundhand.WorkerID
	for i := range 30 {
		for _, letter := range []string{"a", "b", "c"} {
			all = append(all, groundhand.WorkerID(fmt.Sprintf("%s-%03d", letter, i)))
		}
	}
	few := w.statements(func() { w.under("R-C", "2025-06-10", all[:3]...) })
	assert.Equal(t, few, w.statements(func() { w.under("R-C", "2025-06-10", all...) }))
	t.Logf("%d statements", few)
}

// The answers hold line by line against those of the file, recomputed here and, where it is at hand, by the independent reference.
func TestPeopleUnderRulesAreRecomputedFromTheirFile(t *testing.T) {
	shared := os.Getenv("GROUNDHAND_SHARED")
	w := eventful(t)
	w.worker("roz", groundhand.Qualified)
	w.run("roz", "2025-02-03", groundhand.PairKit, groundhand.Second, "F3")
	people := append(slices.Clone(everybody), "roz", "henrike")
	lines := 0
	for _, set := range []groundhand.RuleSetID{"R0", "R1", "R-C", "R-X"} {
		for _, known := range []groundhand.Instant{0, w.at("2025-05-01 12:00")} {
			for _, asked := range [][]rollcall.Asked{nil, {{Method: groundhand.PairKit, Role: groundhand.Lead, FamilyID: "F1"}, {Method: groundhand.LoneKit, Role: groundhand.Lone, FamilyID: "F3"}, {Method: groundhand.FirstAid, Role: groundhand.Second}}} {
				ask := rollcall.UnderRulesQuestion{People: people, RuleSet: set, On: day("2025-06-11"), AsKnownAt: known, Lines: asked}
				lines += w.recomputedUnderRules(ask, shared)
			}
		}
	}
	assert.Greater(t, lines, 250)
	if shared == "" {
		t.Log("GROUNDHAND_SHARED names no folder with the reference; recomputed by the engine's file form alone")
	}
}

func (w *town) recomputedUnderRules(ask rollcall.UnderRulesQuestion, shared string) int {
	got, err := w.roll.UnderRules(w.ctx, ask)
	require.NoError(w.t, err)
	facts, err := w.roll.UnderRulesFacts(w.ctx, ask)
	require.NoError(w.t, err)
	file, err := facts.Encode()
	require.NoError(w.t, err)
	answers := competence.Answers{Facts: facts.Name}
	for _, p := range got {
		current := len(p.Lines) > 0
		for _, l := range p.Lines {
			assert.Equal(w.t, l.Standing == competence.Current, l.Good(), "only what is current is good")
			current = current && l.Good()
			answers.Answers = append(answers.Answers, l.Answer)
		}
		assert.Equal(w.t, current, p.Good, p.WorkerID)
	}
	want, err := answers.Encode()
	require.NoError(w.t, err)
	again, err := competence.AnswerFile(file)
	require.NoError(w.t, err)
	assert.Equal(w.t, string(want), string(again))
	assert.NotContains(w.t, string(file), "SICK")
	if shared != "" {
		dir := w.t.TempDir()
		asked, answered := filepath.Join(dir, "facts.json"), filepath.Join(dir, "answers.json")
		require.NoError(w.t, os.WriteFile(asked, file, 0o600))
		require.NoError(w.t, os.WriteFile(answered, want, 0o600))
		out, err := exec.Command("python3", filepath.Join(shared, "standing/compare.py"), asked, answered).CombinedOutput()
		assert.NoError(w.t, err, string(out))
	}
	return len(answers.Answers)
}
