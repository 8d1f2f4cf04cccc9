package access_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/access"
	gh "groundhand/internal/groundhand"
)

// The same table as the package's, written the other way round and by hand, so that a slip in one shows in the other.
// What only reaches the own crew or record is marked so.
var may = map[gh.Capacity]string{
	gh.Coordinator: `account own:self roster standing cover flags certificates plans sheets accounts entries
		drill evidence session plan adopt lend crews devices authority suspend lift extend accept
		issue export import sweep manage-accounts correct withdraw defect shift answer
		holds audit dispute:self ruling review propose approve hold event mapping keys read-keys`,
	gh.Dispatcher: `account own:self roster standing cover flags job lend unavailability correct withdraw
		defect shift answer decide dispute:self event`,
	gh.HR: `account own:self roster standing reasons certificates evidence workers unavailability export
		manage-accounts correct withdraw viewings holds dispute:self ruling merge hold retention erase mapping`,
	gh.Assessor:  `account own:self roster standing sheets drill assess defect correct withdraw dispute:self event`,
	gh.Inspector: `account own:self roster inspect devices defect correct withdraw dispute:self`,
	gh.Auditor:   `account own:self roster standing cover flags certificates plans sheets accounts entries viewings holds audit read-keys`,
	gh.CrewForeman: `account own:self roster sheets:own-crew standing:own-crew cover:own-crew flags:own-crew drill:own-crew
		inspect defect brief:own-crew answer:own-crew decide:own-crew correct:own-crew withdraw:own-crew
		dispute:self event`,
	gh.FieldWorker: `account own:self defect dispute:self`,
	gh.Program:     `account roster standing cover flags import sweep manage-accounts rules`,
}

var acts = map[string]access.Act{
	"account": access.ReadAccount, "own": access.ReadOwn, "roster": access.ReadRoster, "standing": access.ReadStanding, "cover": access.ReadCover, "reasons": access.ReadReasons,
	"flags": access.ReadFlags, "certificates": access.ReadCertificates, "plans": access.ReadPlans, "sheets": access.ReadRunSheets, "accounts": access.ReadAccounts, "entries": access.ReadEntries,
	"drill": access.RecordDrill, "assess": access.Assess, "evidence": access.RecordEvidence, "inspect": access.Inspect, "session": access.BookSession,
	"plan": access.PlanRotation, "adopt": access.AdoptPlan, "job": access.BookJob, "lend": access.LendWorkers, "workers": access.ManageWorkers,
	"crews": access.ManageCrews, "unavailability": access.ManageUnavailability, "devices": access.ManageDevices, "rules": access.ManageRules,
	"authority": access.GrantAuthority, "suspend": access.Suspend, "lift": access.Lift, "extend": access.Extend, "accept": access.AcceptProvisionally,
	"issue": access.IssueCertificate, "export": access.ExportCertificates, "import": access.Import, "sweep": access.Sweep,
	"manage-accounts": access.ManageAccounts, "correct": access.Correct, "withdraw": access.Withdraw,
	"defect": access.RaiseDefect, "brief": access.Brief, "shift": access.PlanShift, "answer": access.GiveAnswer, "decide": access.Decide,
	"viewings": access.ReadViewings, "holds": access.ReadHolds, "audit": access.Audit, "dispute": access.Dispute, "ruling": access.RuleOnDispute,
	"review": access.ReviewEntries, "propose": access.ProposeRules, "approve": access.ApproveRules, "merge": access.MergeWorkers, "hold": access.PlaceHold,
	"retention": access.SetRetention, "erase": access.Erase, "event": access.ReportEvent, "mapping": access.SaveMapping, "keys": access.KeepKeys, "read-keys": access.ReadKeys,
}

func TestEveryCapacityAgainstEveryAct(t *testing.T) {
	require.Len(t, may, len(gh.Capacities)+1)
	table := access.Table()
	require.Len(t, table, len(acts))
	for capacity, list := range may {
		reach := map[access.Act]string{}
		for _, word := range strings.Fields(list) {
			name, how, _ := strings.Cut(word, ":")
			require.Contains(t, acts, name)
			reach[acts[name]] = strings.ReplaceAll(how, "-", " ")
			if how == "" {
				reach[acts[name]] = "everybody"
			}
		}
		by := gh.Account{ID: "a", Capacity: capacity, WorkerID: "w"}
		for _, act := range acts {
			t.Run(string(capacity)+" "+string(act), func(t *testing.T) {
				err, want := access.May(by, act), reach[act]
				if want == "" {
					want = "nobody"
					require.ErrorIs(t, err, gh.CodeForbidden)
					assert.Contains(t, err.Error(), string(act))
					assert.Contains(t, err.Error(), string(capacity))
				} else {
					assert.NoError(t, err)
				}
				assert.Equal(t, want, access.ReachOf(by, act).String())
				assert.Equal(t, err == nil, contains(table[act], capacity))
			})
		}
	}
}

func contains(list []gh.Capacity, c gh.Capacity) bool {
	for _, have := range list {
		if have == c {
			return true
		}
	}
	return false
}

func TestReasonsAreForHRAlone(t *testing.T) {
	assert.Equal(t, []gh.Capacity{gh.HR}, access.Table()[access.ReadReasons])
}

// A coordinator who could add an account of HR could read health reasons with its token.
func TestAccountsOfHRAreAddedByHR(t *testing.T) {
	as := func(c gh.Capacity) gh.Account { return gh.Account{ID: "a", Capacity: c, WorkerID: "w"} }
	for _, c := range gh.Capacities {
		t.Run(string(c), func(t *testing.T) {
			assert.Equal(t, c != gh.HR, access.MayAddAccount(as(gh.Coordinator), c) == nil, "by the coordinator")
			assert.Equal(t, c == gh.HR, access.MayAddAccount(as(gh.HR), c) == nil, "by HR")
			assert.NoError(t, access.MayAddAccount(gh.Account{Capacity: gh.Program}, c), "on the machine itself")
			assert.ErrorIs(t, access.MayAddAccount(as(gh.Dispatcher), c), gh.CodeForbidden)
			assert.ErrorIs(t, access.MayAddAccount(gh.Account{}, c), gh.CodeUnauthenticated)
		})
	}
}

func TestAnAuditorChangesNothing(t *testing.T) {
	for act, list := range access.Table() {
		if contains(list, gh.Auditor) {
			assert.True(t, strings.HasPrefix(string(act), "read ") || act == access.Audit, act)
		}
	}
}

func TestWithoutAnAccountNothing(t *testing.T) {
	for _, act := range acts {
		assert.ErrorIs(t, access.May(gh.Account{}, act), gh.CodeUnauthenticated)
		assert.ErrorIs(t, access.May(gh.Account{Capacity: gh.HR}, act), gh.CodeUnauthenticated)
		assert.ErrorIs(t, access.May(gh.Account{ID: "a", Capacity: "BOSS", WorkerID: "w"}, act), gh.CodeForbidden)
	}
	assert.ErrorIs(t, access.May(gh.Account{ID: "a", Capacity: gh.Coordinator, WorkerID: "w"}, "an act nobody named"), gh.CodeForbidden)
}

func TestAnAccountWithoutAWorkerReachesNoOwnRecord(t *testing.T) {
	for _, c := range gh.Capacities {
		assert.ErrorIs(t, access.May(gh.Account{ID: "a", Capacity: c}, access.ReadOwn), gh.CodeForbidden, c)
	}
	assert.ErrorIs(t, access.May(gh.Account{ID: "a", Capacity: gh.CrewForeman}, access.ReadCover), gh.CodeForbidden)
}

func TestEveryActIsInTheTable(t *testing.T) {
	file, err := parser.ParseFile(token.NewFileSet(), "act.go", nil, 0)
	require.NoError(t, err)
	n := 0
	ast.Inspect(file, func(node ast.Node) bool {
		if spec, ok := node.(*ast.ValueSpec); ok {
			if typ, ok := spec.Type.(*ast.Ident); ok && typ.Name == "Act" {
				n++
			}
		}
		return true
	})
	assert.Equal(t, n, len(access.Table()))
	assert.Len(t, acts, n)
}

func TestWhoMayUndoWhat(t *testing.T) {
	as := func(c gh.Capacity) gh.Account { return gh.Account{ID: "a", Capacity: c, WorkerID: "w"} }
	cases := []struct {
		name string
		by   gh.Capacity
		act  access.Act
		kind string
		ok   bool
	}{
		{"an assessor corrects an assessment", gh.Assessor, access.Correct, "assessments", true},
		{"the coordinator never corrects an assessment", gh.Coordinator, access.Correct, "assessments", false},
		{"but withdraws one whose assessor had no authority", gh.Coordinator, access.Withdraw, "assessments", true},
		{"the coordinator withdraws a withdrawal", gh.Coordinator, access.Withdraw, "withdrawals", true},
		{"others do not", gh.Assessor, access.Withdraw, "withdrawals", false},
		{"nobody corrects a withdrawal", gh.Coordinator, access.Correct, "withdrawals", false},
		{"HR corrects identity", gh.HR, access.Correct, "worker_names", true},
		{"HR does not correct results", gh.HR, access.Correct, "assessments", false},
		{"the coordinator does not correct identity", gh.Coordinator, access.Correct, "worker_names", false},
		{"nor a health reason", gh.Coordinator, access.Withdraw, "unavailability_reasons", false},
		{"a dispatcher corrects an absence", gh.Dispatcher, access.Correct, "unavailabilities", true},
		{"and no health reason", gh.Dispatcher, access.Withdraw, "unavailability_reasons", false},
		{"a dispatcher withdraws a job", gh.Dispatcher, access.Withdraw, "jobs", true},
		{"a dispatcher does not withdraw a drill", gh.Dispatcher, access.Withdraw, "run_parts", false},
		{"an inspector corrects an inspection", gh.Inspector, access.Correct, "inspections", true},
		{"a foreman corrects a drill", gh.CrewForeman, access.Correct, "run_parts", true},
		{"a foreman corrects the daily look", gh.CrewForeman, access.Correct, "inspections", true},
		{"and the briefing", gh.CrewForeman, access.Correct, "briefings", true},
		{"nobody else corrects a briefing", gh.Coordinator, access.Correct, "briefings", false},
		{"a dispatcher corrects a decision", gh.Dispatcher, access.Correct, "decisions", true},
		{"the coordinator does not decide, nor undo what was decided", gh.Coordinator, access.Withdraw, "decisions", false},
		{"an answer that was given stays given", gh.Dispatcher, access.Withdraw, "replies", false},
		{"who may raise a defect may not take it back", gh.FieldWorker, access.Withdraw, "defects", false},
		{"a dispatcher does not class a device", gh.Dispatcher, access.Correct, "classings", false},
		{"an auditor undoes nothing", gh.Auditor, access.Withdraw, "run_parts", false},
		{"a coordinator withdraws a rule set", gh.Coordinator, access.Withdraw, "rule_sets", true},
		{"the program adopts rules and undoes none", gh.Program, access.Withdraw, "rule_sets", false},
		{"a coordinator withdraws a finding about an assessor", gh.Coordinator, access.Withdraw, "assessor_findings", true},
		{"an assessor withdraws none", gh.Assessor, access.Withdraw, "assessor_findings", false},
		{"a ruling stands", gh.HR, access.Withdraw, "rulings", false},
		{"so does the end of a review", gh.Coordinator, access.Withdraw, "review_closings", false},
		{"HR undoes a merge", gh.HR, access.Withdraw, "merges", true},
		{"the coordinator does not", gh.Coordinator, access.Withdraw, "merges", false},
		{"a hold is released, also by withdrawing it, by those who place holds", gh.HR, access.Withdraw, "holds", true},
		{"nobody else lets go of a hold", gh.Dispatcher, access.Withdraw, "holds", false},
		{"a decision on rules stays", gh.Coordinator, access.Withdraw, "rule_approvals", false},
		{"a correction stays", gh.Coordinator, access.Withdraw, "corrections", false},
		{"a refused attempt stays", gh.Coordinator, access.Withdraw, "refused_attempts", false},
		{"erased names stay erased", gh.HR, access.Withdraw, "erasures", false},
		{"a kept row of a file stays", gh.Coordinator, access.Withdraw, "import_rows", false},
		{"the coordinator takes back a certificate", gh.Coordinator, access.Withdraw, "certificates", true},
		{"a key that was announced stays so", gh.Coordinator, access.Withdraw, "issuer_keys", false},
		{"and what became of a key", gh.Coordinator, access.Withdraw, "key_changes", false},
		{"neither is corrected", gh.Coordinator, access.Correct, "key_changes", false},
		{"an account is no entry", gh.Coordinator, access.Withdraw, "accounts", false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			err := access.MayUndo(as(c.by), c.act, c.kind)
			if c.ok {
				assert.NoError(t, err)
			} else {
				assert.ErrorIs(t, err, gh.CodeForbidden)
			}
		})
	}
}

func TestWhoMaySayWhomAnEntryIsAbout(t *testing.T) {
	as := func(c gh.Capacity) gh.Account { return gh.Account{ID: "a", Capacity: c, WorkerID: "w"} }
	for _, kind := range []string{"assessments", "run_parts", "worker_names", "employments"} {
		assert.NoError(t, access.MayIdentify(as(gh.HR), kind), kind)
	}
	for _, kind := range []string{"runs", "inspections", "authorities", "outside_evidence", "suspensions", "accounts", ""} {
		assert.ErrorIs(t, access.MayIdentify(as(gh.HR), kind), gh.CodeForbidden, kind)
	}
	assert.NoError(t, access.MayIdentify(as(gh.Assessor), "assessments"), "who corrects it anyhow")
	assert.ErrorIs(t, access.MayIdentify(as(gh.Coordinator), "assessments"), gh.CodeForbidden)
	assert.ErrorIs(t, access.MayIdentify(as(gh.Auditor), "run_parts"), gh.CodeForbidden)
	assert.ErrorIs(t, access.MayIdentify(gh.Account{}, "run_parts"), gh.CodeUnauthenticated)
}
