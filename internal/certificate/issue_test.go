package certificate

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

func TestACertificateSaysWhatCompetenceSays(t *testing.T) {
	o := newOffice(t)
	pass, part := o.assess("lukasz", groundhand.Pass, "2025-05-20"), o.run("serban", groundhand.Second, "2025-06-02")
	for name, c := range map[string]struct {
		evidence groundhand.EntryID
		set      groundhand.RuleSetID
		who      groundhand.WorkerID
		kind     groundhand.EvidenceKind
		role     groundhand.Role
		on       string
	}{
		"a pass under our own rules of its day": {pass.ID, "", "lukasz", groundhand.PassedAssessment, groundhand.Lead, "2025-05-20"},
		"a pass under a client's":               {pass.ID, "R-C", "lukasz", groundhand.PassedAssessment, groundhand.Lead, "2025-05-20"},
		"a pass under the contractor's":         {pass.ID, "R-X", "lukasz", groundhand.PassedAssessment, groundhand.Lead, "2025-05-20"},
		"a part in a run":                       {part.ID, "", "serban", groundhand.PracticeRun, groundhand.Second, "2025-06-02"},
	} {
		t.Run(name, func(t *testing.T) {
			got := o.issue(c.evidence, c.set)
			said, err := o.issuer.roll.Standings(o.ctx, rollcall.StandingQuestion{Workers: []groundhand.WorkerID{c.who}, On: day(c.on), RuleSet: c.set,
				Lines: []rulebook.Asked{{Method: groundhand.PairKit, Role: c.role, FamilyID: "F1"}}})
			require.NoError(t, err)
			assert.Equal(t, said[0].LastGoodDay, got.LastGoodDay)
			assert.Equal(t, said[0].RuleSet, string(got.RuleSetID))
			assert.Equal(t, fmt.Sprint(c.who, c.kind, c.role, c.on, "F1", groundhand.PairKit),
				fmt.Sprint(got.WorkerID, got.EvidenceKind, got.Role, got.ShownOn, got.FamilyID, got.Method))
			assert.Equal(t, "Gideon Prewitt-Osei", got.AssessorName)
			assert.Equal(t, "A contractor (invented)", got.Employer)
			assert.Equal(t, "The employer (invented)", got.Issuer)
			assert.Equal(t, address+"/verify/"+got.CredentialID, got.CheckAddress)
			assert.Equal(t, "2025-06-11", got.HappenedOn.String())
			kept, err := store.Get[groundhand.Certificate](o.ctx, o.store, got.ID)
			require.NoError(t, err)
			assert.Equal(t, kept, got)
		})
	}
	all, err := store.All[groundhand.Certificate](o.ctx, o.store)
	require.NoError(t, err)
	var good []string
	for _, c := range all {
		good = append(good, string(c.RuleSetID)+" "+c.LastGoodDay.String())
	}
	assert.ElementsMatch(t, []string{"R2 2026-05-19", "R-C 2026-05-19", "R-X 2026-05-31", "R2 2026-06-01"}, good, "the day before a year later; the end of the month")
}

func TestNamesOfAllLettersGoThrough(t *testing.T) {
	o := newOffice(t)
	for _, c := range []groundhand.Certificate{o.issue(o.assess("lukasz", groundhand.Pass, "2025-05-20").ID, ""), o.issue(o.run("serban", groundhand.Lead, "2025-05-21").ID, "")} {
		assert.Contains(t, []string{"Łukasz Dąbrowa-Żeleński", "Șerban Őrségi Đorđević-Ş"}, c.PersonName)
	}
	assert.Equal(t, []string{"Łukasz Dąbrowa-Żeleński", "Șerban Őrségi Đorđević-Ş"}, o.export(Filter{}).column("recipient"))
}

func TestTheNameIsThatOfTheDayOfIssue(t *testing.T) {
	o := newOffice(t)
	pass := o.assess("lukasz", groundhand.Pass, "2025-05-20")
	add(o, groundhand.WorkerName{ID: o.id(), Recorded: o.told("2025-06-01"), WorkerID: "lukasz", Name: "Łukasz Wieland"})
	assert.Equal(t, "Łukasz Wieland", o.issue(pass.ID, "").PersonName)
}

func TestWhatGetsNoCertificate(t *testing.T) {
	o := newOffice(t)
	fail := o.assess("lukasz", groundhand.Fail, "2025-03-03")
	withdrawn := o.assess("serban", groundhand.Pass, "2025-03-03")
	o.withdraw(withdrawn.ID)
	casualty, old, good := o.run("serban", groundhand.Casualty, "2025-03-03"), o.run("gideon", groundhand.Lead, "2024-06-03"), o.run("serban", groundhand.Lead, "2025-04-04")
	broken := o.run("serban", groundhand.Lead, "2025-04-05")
	o.withdraw(groundhand.EntryID(broken.RunID))
	o.worker("nameless", "")
	o.worker("script", "李小龍")
	nameless, script := o.run("nameless", groundhand.Lead, "2025-04-04"), o.run("script", groundhand.Lead, "2025-04-04")
	for _, set := range rulebook.Shipped() {
		if set.ID == "R2" {
			set.ID, set.IsDefault, set.Recorded = "R-P", false, o.told("2025-01-01")
			set.Body = strings.ReplaceAll(set.Body, `["assessed_pass", "drill_run"]`, `["assessed_pass"]`)
			add(o, set)
		}
	}
	for name, c := range map[string]struct {
		by       groundhand.Account
		key      string
		evidence groundhand.EntryID
		set      groundhand.RuleSetID
		code     groundhand.Code
		field    string
		says     string
	}{
		"a fail":                                {coordinator, "k", fail.ID, "", groundhand.CodeInvalid, "evidence", "not passed"},
		"what nobody recorded":                  {coordinator, "k", "nothing", "", groundhand.CodeNotFound, "evidence", "nothing"},
		"an empty id":                           {coordinator, "k", "", "", groundhand.CodeNotFound, "evidence", ""},
		"a run in whose place a part is wanted": {coordinator, "k", groundhand.EntryID(good.RunID), "", groundhand.CodeNotFound, "evidence", ""},
		"a pass withdrawn":                      {coordinator, "k", withdrawn.ID, "", groundhand.CodeNotFound, "evidence", "stands"},
		"a part in a run withdrawn whole":       {coordinator, "k", broken.ID, "", groundhand.CodeInvalid, "evidence", "withdrawn"},
		"the casualty":                          {coordinator, "k", casualty.ID, "", groundhand.CodeInvalid, "evidence", "rescuer"},
		"practice under rules that want a pass": {coordinator, "k", good.ID, "R-P", groundhand.CodeInvalid, "evidence", "kind not accepted"},
		"a rule set that nobody has":            {coordinator, "k", good.ID, "R-Z", groundhand.CodeNotFound, "ruleSet", "R-Z"},
		"before any rule set of ours":           {coordinator, "k", o.run("serban", groundhand.Lead, "2023-04-04").ID, "", groundhand.CodeInvalid, "ruleSet", "no rule set"},
		"a person without a name":               {coordinator, "k", nameless.ID, "", groundhand.CodeInvalid, "person", "filled in"},
		"letters that the printer has not":      {coordinator, "k", script.ID, "", groundhand.CodeInvalid, "person", "李"},
		"no key":                                {coordinator, "", good.ID, "", groundhand.CodeInvalid, "key", ""},
		"a key without end":                     {coordinator, strings.Repeat("k", 201), good.ID, "", groundhand.CodeInvalid, "key", ""},
		"a dispatcher":                          {dispatcher, "k", good.ID, "", groundhand.CodeForbidden, "", "DISPATCHER"},
		"HR, who may export but not issue":      {hr, "k", good.ID, "", groundhand.CodeForbidden, "", "HR"},
		"nobody":                                {groundhand.Account{}, "k", good.ID, "", groundhand.CodeUnauthenticated, "", ""},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := o.issuer.Issue(o.ctx, c.by, c.key, c.evidence, c.set)
			refused := groundhand.Refusals(err)
			require.NotEmpty(t, refused, err)
			assert.Equal(t, c.code, refused[0].Code)
			assert.Equal(t, c.field, refused[0].Field)
			assert.Contains(t, refused[0].Message, c.says)
			assert.Empty(t, got)
		})
	}
	all, err := store.All[groundhand.Certificate](o.ctx, o.store)
	require.NoError(t, err)
	assert.Empty(t, all)
	acts, err := store.All[groundhand.Act](o.ctx, o.store)
	require.NoError(t, err)
	assert.Empty(t, acts)
	assert.Equal(t, "2025-0001", string(o.issue(good.ID, "").ID), "a refusal takes no number")
	_, err = o.issuer.Issue(o.ctx, coordinator, "old", old.ID, "")
	assert.ErrorIs(t, err, groundhand.CodeConflict)
	assert.ErrorContains(t, err, "would never have been valid")
}

func TestNoCertificateWhileSuspended(t *testing.T) {
	o := newOffice(t)
	before, part := o.run("serban", groundhand.Lead, "2025-03-10"), o.run("serban", groundhand.Lead, "2025-04-04")
	hold := groundhand.Suspension{ID: o.id(), Recorded: o.told("2025-06-01"), WorkerID: "serban", Method: groundhand.PairKit, Cause: "under review"}
	add(o, hold)
	_, err := o.issuer.Issue(o.ctx, coordinator, "k", part.ID, "")
	assert.ErrorIs(t, err, groundhand.CodeConflict)
	assert.NotContains(t, err.Error(), hold.Cause)
	o.withdraw(hold.ID)
	o.issue(part.ID, "")

	add(o, groundhand.Suspension{ID: o.id(), Recorded: o.told("2025-03-09"), WorkerID: "serban", Method: groundhand.PairKit, Cause: "found later"})
	_, err = o.issuer.Issue(o.ctx, coordinator, "k", before.ID, "")
	assert.ErrorIs(t, err, groundhand.CodeInvalid, "suspended on the day itself")
}

func TestAKeyDoesOneThing(t *testing.T) {
	o := newOffice(t)
	first, other := o.assess("lukasz", groundhand.Pass, "2025-05-20"), o.run("serban", groundhand.Lead, "2025-05-21")
	made, err := o.issuer.Issue(o.ctx, coordinator, "k1", first.ID, "")
	require.NoError(t, err)
	again, err := o.issuer.Issue(o.ctx, coordinator, "k1", first.ID, "")
	require.NoError(t, err)
	assert.Equal(t, made, again)

	for _, c := range []struct {
		evidence groundhand.EntryID
		set      groundhand.RuleSetID
	}{{other.ID, ""}, {first.ID, "R-C"}} {
		_, err = o.issuer.Issue(o.ctx, coordinator, "k1", c.evidence, c.set)
		assert.ErrorIs(t, err, groundhand.CodeConflict)
		assert.Equal(t, "key", groundhand.Refusals(err)[0].Field)
	}
	o.withdraw(first.ID)
	again, err = o.issuer.Issue(o.ctx, coordinator, "k1", first.ID, "")
	require.NoError(t, err, "what was done was done, whatever came after")
	assert.Equal(t, made.ID, again.ID)
}

func TestOnePieceOfEvidenceGetsOneCertificate(t *testing.T) {
	o := newOffice(t)
	pass := o.assess("lukasz", groundhand.Pass, "2025-05-20")
	first := o.issue(pass.ID, "")
	for _, set := range []groundhand.RuleSetID{"", "R2"} {
		_, err := o.issuer.Issue(o.ctx, coordinator, "another key"+string(set), pass.ID, set)
		assert.ErrorIs(t, err, groundhand.CodeConflict)
		assert.Contains(t, err.Error(), string(first.ID))
	}
	assert.NotEqual(t, first.ID, o.issue(pass.ID, "R-C").ID, "another rule set is another statement")
	o.withdraw(groundhand.EntryID(first.ID))
	anew, err := o.issuer.Issue(o.ctx, coordinator, "anew", pass.ID, "")
	require.NoError(t, err, "a certificate that was withdrawn can be issued anew")
	assert.Equal(t, "2025-0003", string(anew.ID))
}

func TestNumbersHaveNoGapsInAYear(t *testing.T) {
	o := newOffice(t)
	parts := make([]groundhand.RunPart, 24)
	for i := range parts {
		who := groundhand.WorkerID(fmt.Sprintf("w%02d", i))
		o.worker(who, fmt.Sprintf("Worker Number %d", i))
		parts[i] = o.run(who, groundhand.Lead, "2025-05-05")
	}
	var group sync.WaitGroup
	numbers := make([]string, len(parts))
	for who := range 8 {
		group.Go(func() {
			for i := who; i < len(parts); i += 8 {
				_, err := o.issuer.Issue(o.ctx, coordinator, fmt.Sprint("refused ", i), "nothing", "")
				assert.ErrorIs(t, err, groundhand.CodeNotFound)
				cert, err := o.issuer.Issue(o.ctx, coordinator, fmt.Sprint("key ", i), parts[i].ID, "")
				assert.NoError(t, err)
				numbers[i] = string(cert.ID)
			}
		})
	}
	group.Wait()
	slices.Sort(numbers)
	for i, n := range numbers {
		assert.Equal(t, fmt.Sprintf("2025-%04d", i+1), n)
	}
	o.clock.Set("2026-01-01T00:30:00Z")
	assert.Equal(t, "2026-0001", string(o.issue(parts[0].ID, "R-C").ID), "each year begins anew, by the local day")
}
