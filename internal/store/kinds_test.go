package store_test

import (
	"context"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

// kind is a vocabulary type with a table.
type kind struct {
	name  string // of the type
	table string
	// add draws a row with the id, adds it, reads it back and compares.
	roundTrip func(t *rapid.T, tx *store.Store, id string)
	// addOne adds a row with nothing drawn by chance.
	addOne func(t testing.TB, s *store.Store, id string)
	// zero is a row of the type.
	zero any
}

// kinds lists every type, each after those it refers to.
var kinds = []kind{
	of[gh.Worker]("workers"), of[gh.WorkerName]("worker_names"), of[gh.Employment]("employments"), of[gh.Grading]("gradings"),
	of[gh.Yard]("yards"), of[gh.Posting]("postings"), of[gh.Unavailability]("unavailabilities"),
	of[gh.UnavailabilityReason]("unavailability_reasons"), of[gh.Road]("roads"), of[gh.Crew]("crews"), of[gh.Membership]("memberships"),
	of[gh.Family]("families"), of[gh.Device]("devices"), of[gh.Kit]("kits"), of[gh.KitPlacing]("kit_placings"), of[gh.Inspection]("inspections"),
	of[gh.RotationRequest]("rotation_requests"), of[gh.RotationFailure]("rotation_failures"), of[gh.Plan]("plans"), of[gh.Adoption]("adoptions"), of[gh.Session]("sessions"), of[gh.Booking]("bookings"), of[gh.Run]("runs"),
	of[gh.RunPart]("run_parts"), of[gh.Assessment]("assessments"), of[gh.Authority]("authorities"), of[gh.OutsideEvidence]("outside_evidences"),
	of[gh.Suspension]("suspensions"), of[gh.Lifting]("liftings"), of[gh.Extension]("extensions"), of[gh.Provisional]("provisionals"),
	of[gh.RuleSet]("rule_sets"), of[gh.IssuerKey]("issuer_keys"), of[gh.KeyChange]("key_changes"), of[gh.Certificate]("certificates"), of[gh.Job]("jobs"), of[gh.Classing]("classings"), of[gh.Defect]("defects"),
	of[gh.Briefing]("briefings"), of[gh.Shift]("shifts"), of[gh.Reply]("replies"), of[gh.Decision]("decisions"), of[gh.Withdrawal]("withdrawals"),
	of[gh.Account]("accounts"), of[gh.Token]("tokens"), of[gh.Act]("acts"), of[gh.Flag]("flags"), of[gh.Clearing]("clearings"), of[gh.Sweep]("sweeps"),
	of[gh.Correction]("corrections"), of[gh.Dispute]("disputes"), of[gh.Ruling]("rulings"), of[gh.RefusedAttempt]("refused_attempts"),
	of[gh.AssessorFinding]("assessor_findings"), of[gh.Review]("reviews"), of[gh.ReviewClosing]("review_closings"),
	of[gh.RuleProposal]("rule_proposals"), of[gh.RuleApproval]("rule_approvals"), of[gh.WorkerNumber]("worker_numbers"), of[gh.Alias]("aliases"),
	of[gh.Merge]("merges"), of[gh.Hold]("holds"), of[gh.Release]("releases"), of[gh.Retention]("retentions"), of[gh.Erasure]("erasures"),
	of[gh.RealEvent]("real_events"), of[gh.ColumnMapping]("column_mappings"), of[gh.ImportRow]("import_rows"), of[gh.Viewing]("viewings"),
}

func of[T any](table string) kind {
	return kind{
		name:  reflect.TypeFor[T]().Name(),
		table: table,
		zero:  *new(T),
		addOne: func(t testing.TB, s *store.Store, id string) {
			require.NoError(t, store.Add(context.Background(), s, filled[T](fixed{}, id)), table)
		},
		roundTrip: func(t *rapid.T, tx *store.Store, id string) {
			want := filled[T](drawn{t}, id)
			require.NoError(t, store.Add(context.Background(), tx, want), table)
			require.Equal(t, want, readBack(t, tx, want, id), table)
		},
	}
}

func readBack[T any](t require.TestingT, tx *store.Store, want T, id string) T {
	ctx := context.Background()
	if act, ok := any(want).(gh.Act); ok {
		got, done, err := tx.ActDone(ctx, act.AccountID, act.Key)
		require.NoError(t, err)
		require.True(t, done)
		return any(got).(T)
	}
	got, err := store.Get[T](ctx, tx, gh.EntryID(id))
	require.NoError(t, err)
	return got
}

// chooser fills the fields that are not references.
type chooser interface {
	text(label string) string
	number(label string, least int64) int64
	among(label string, words []string) string
	yes(label string) bool
}

type fixed struct{}

func (fixed) text(label string) string              { return label }
func (fixed) number(_ string, least int64) int64    { return max(least, 3) }
func (fixed) among(_ string, words []string) string { return words[len(words)-1] }
func (fixed) yes(string) bool                       { return true }

type drawn struct{ t *rapid.T }

func (d drawn) text(label string) string { return rapid.String().Draw(d.t, label) }
func (d drawn) number(label string, least int64) int64 {
	return rapid.Int64Range(least, 1<<40).Draw(d.t, label)
}
func (d drawn) among(label string, words []string) string {
	return rapid.SampledFrom(words).Draw(d.t, label)
}
func (d drawn) yes(label string) bool { return rapid.Bool().Draw(d.t, label) }

// words are the enumerations, with the empty word where it may be left out.
var words = map[string][]string{
	"Capacity": {"COORDINATOR", "DISPATCHER", "HR", "ASSESSOR", "INSPECTOR", "AUDITOR", "FOREMAN", "WORKER", "PROGRAM"},
	"Origin":   {"TYPED_LIVE", "OFFLINE", "FROM_PAPER", "IMPORTED", "ELSEWHERE"}, "Relation": {"EMPLOYEE", "RESIDENT_CONTRACTOR", "VISITOR"},
	"Grade": {"QUALIFIED", "APPRENTICE", "GROUND", "OFFICE"}, "UnavailabilityKind": {"LEAVE", "SICK", "COURSE", "REST", "STANDBY", "NOT_FOR_RESCUE"},
	"CrewKind": {"LINE", "FAULT", "SUBSTATION", "RELIEF"}, "CrewPart": {"FOREMAN", "MEMBER"}, "MembershipReason": {"PERMANENT", "LOAN", "SPLIT", "STORM"},
	"InspectionKind":   {"DAILY_LOWER_CONTROLS", "WEEKLY_OUTSIDE", "MONTHLY_INSIDE", "YEARLY", "DEVICE_WEEKLY", "DEVICE_MONTHLY"},
	"InspectionResult": {"IN_SERVICE", "OUT_OF_SERVICE", "RETURNED"}, "AssessmentResult": {"PASS", "FAIL", "NOT_COMPLETED"},
	"EvidenceLevel": {"STATED", "COPY_SEEN", "ORIGINAL_SEEN", "ISSUER_CONFIRMED", "DEMONSTRATED_HERE"},
	"EvidenceKind":  {"PASSED_ASSESSMENT", "PRACTICE_RUN"}, "SiteKind": {"FIELD", "FIXED", "TRIMMERS"},
	"RuleText": {"", "GENERAL", "CONSTRUCTION"}, "DecisionKind": {"SENT", "SENT_CHANGED", "SENT_WITH_CONDITIONS", "NOT_SENT"},
	"DefectCause": {"DEFECT_FOUND", "REAL_USE", "SHOCK_LOAD", "ARC_OR_FLAME", "CHEMICALS", "DROPPED", "IMMERSED", "HISTORY_UNKNOWN", "WORKSHOP", "RETIRED"},
	"FlagKind":    {"PRACTICE_LAPSED", "LAST_GOOD_DAY_NEAR", "CREW_BELOW_TWO", "NO_GROUND_COVER"},
	"Role":        {"", "CALLER", "CASUALTY", "OBSERVER", "TIMEKEEPER", "LEAD", "SECOND", "LONE"}, "Answer": {"", "NO", "UNKNOWN", "YES"},
	"Method":   {"PAIR_KIT", "LONE_KIT", "MANUAL_LOWERING", "POLE_TOP", "SUBSTATION", "LOW_VOLTAGE_PANEL", "FIRST_AID", "FAMILIARISATION"},
	"Scenario": {"", "UNCONSCIOUS_IN_BUCKET", "HANGING_OUTSIDE", "PINNED", "HEAT_ILLNESS", "BUCKET_FIRE", "OTHER"},
	"KitState": {"", "AS_FOUND", "LAID_OUT", "NO_KIT"}, "CasualtyKind": {"", "MANNEQUIN", "PERSON", "NONE"},
	"LoweringMeans":   {"", "POWERED_LOWER_CONTROLS", "AUXILIARY_POWER", "HAND_PUMP", "GRAVITY_BLEED_DOWN", "SECOND_DEVICE", "NOT_RECORDED"},
	"StartConvention": {"", "ALARM", "FIRST_MOVE", "UNKNOWN"}, "StepAnswer": {"YES", "NO", "NOT_APPLICABLE"},
	"CorrectionKind": {"CLERICAL", "IDENTITY", "FACTUAL", "VALIDITY", "WITHDRAWAL"}, "RulingOutcome": {"UPHELD", "NOT_UPHELD"},
	"SigningRule": {"SELF_ASSESSMENT", "OWN_EXTENSION", "OWN_AUTHORITY", "OWN_SUSPENSION", "OWN_EVIDENCE", "OWN_DISPUTE", "OWN_PROPOSAL", "OWN_FINDING",
		"OWN_RETURN", "OTHER_NAME", "NO_AUTHORITY", "NOT_CURRENT", "NOT_ASSESSOR", "RECIPROCAL"},
	"ReviewCause":   {"ASSESSOR_FOUND_INVALID", "RESTED_ON_CORRECTED", "ANSWER_RESTED_ON_CORRECTED", "DISPUTED", "IMPLAUSIBLE"},
	"ReviewOutcome": {"STANDS", "RUN_AGAIN", "WITHDRAWN", "REPLACED"}, "ApprovalDecision": {"APPROVED", "NOT_APPROVED"},
	"RetentionClass": {"TRAINING", "INSPECTIONS", "ANSWERS", "NOTICES"}, "RetentionStart": {"EMPLOYMENT_ENDED", "ITEM_RETIRED", "RECORDED"},
	"KeyState":      {"ACTIVE", "RETIRED", "COMPROMISED"},
	"FailureCause":  {"PINS_CLASH", "STOPPED", "PROBLEM_REFUSED", "BROKE_DOWN"},
	"RealEventKind": {"REAL_RESCUE", "NEAR_MISS", "HURT_IN_DRILL"}, "ImportOutcome": {"TAKEN", "REFUSED", "DUPLICATE", "LEFT_OUT"},
}

// rowOf gives the id under which the first row of a table is found in the tests.
func rowOf(table string) string { return table + "-1" }

// refersTo gives the table that a reference leads to, by its field or its type.
var refersTo = map[string]string{
	"UnavailabilityID": "unavailabilities", "RunPartID": "run_parts", "SuspensionID": "suspensions", "PassID": "assessments",
	"WithdrawsID": "runs", "EvidenceID": "assessments", "DisputeID": "disputes", "ReviewID": "reviews", "ProposalID": "rule_proposals", "HoldID": "holds",
	"ReplacedID": "runs", "ByID": "run_parts", "EntryID": "runs", "CauseID": "disputes", "PutRightByID": "corrections", "NewEntryID": "assessments",
	"WorkerID": "workers", "YardID": "yards", "CrewID": "crews", "FamilyID": "families", "DeviceID": "devices", "KitID": "kits",
	"SessionID": "sessions", "RunID": "runs", "JobID": "jobs", "RuleSetID": "rule_sets", "FlagID": "flags", "PlanID": "plans",
	"RequestID": "rotation_requests", "FollowsID": "rotation_requests",
	"AccountID": "accounts", "ReplyID": "replies", "KeyID": "issuer_keys",
}

// filled gives a row with every field set; references lead to the first rows.
func filled[T any](c chooser, id string) T {
	var row T
	v := reflect.ValueOf(&row).Elem()
	fill(c, v)
	if f := v.FieldByName("ID"); f.IsValid() {
		f.SetString(id)
	}
	return tidy(any(row), id).(T)
}

func fill(c chooser, v reflect.Value) {
	for i := range v.NumField() {
		f, name := v.Field(i), v.Type().Field(i).Name
		switch typ := f.Type().Name(); {
		case name == "Recorded":
			fill(c, f)
		case name == "ReplacesID":
		case refersTo[name] != "":
			f.SetString(rowOf(refersTo[name]))
		case strings.HasSuffix(typ, "ID") && refersTo[typ] != "":
			f.SetString(rowOf(refersTo[typ]))
		case typ == "Date":
			f.SetInt(int64(gh.MustDate("1900-01-01")) + c.number(name, 0)%100_000)
		case typ == "Instant":
			f.SetInt(c.number(name, 1))
		case words[typ] != nil:
			f.SetString(c.among(name, words[typ]))
		case f.Kind() == reflect.String:
			f.SetString(c.text(name))
		case f.Kind() == reflect.Bool:
			f.SetBool(c.yes(name))
		case f.CanInt():
			f.SetInt(c.number(name, 0))
		case f.Kind() == reflect.Slice:
			fillList(c, f, name)
		}
	}
}

func fillList(c chooser, f reflect.Value, name string) {
	for range c.number(name, 0) % 3 {
		e := reflect.New(f.Type().Elem()).Elem()
		switch e.Kind() {
		case reflect.String:
			e.SetString(c.text(name))
		case reflect.Int:
			e.SetInt(c.number(name, 0))
		default:
			fill(c, e)
		}
		f.Set(reflect.Append(f, e))
	}
}

// tidy puts right what several fields must agree on.
func tidy(row any, id string) any {
	switch r := row.(type) {
	case gh.Worker:
		r.Number, r.AuthorID = id, gh.WorkerID(rowOf("workers"))
		return r
	case gh.Employment:
		r.FromOn, r.ToOn = sorted(r.FromOn, r.ToOn)
		return r
	case gh.Membership:
		r.FromOn, r.ToOn = sorted(r.FromOn, r.ToOn)
		r.FromAt, r.ToAt = min(r.FromAt, r.ToAt), max(r.FromAt, r.ToAt)
		return r
	case gh.Authority:
		r.FromOn, r.ToOn = sorted(r.FromOn, r.ToOn)
		return r
	case gh.Extension:
		r.FromOn, r.ToOn = sorted(r.FromOn, r.ToOn)
		return r
	case gh.RuleSet:
		r.EffectiveFrom, r.EffectiveThrough = sorted(r.EffectiveFrom, r.EffectiveThrough)
		return r
	case gh.RotationRequest:
		r.StartOn, r.EndOn = sorted(r.StartOn, r.EndOn)
		r.LeftOut, r.BasePlanID = "[]", "" // no plan is there before the first request
		return r
	case gh.RotationFailure:
		r.RequestID, r.Pins = gh.EntryID(firstOf(id, "rotation_requests")), "[]"
		return r
	case gh.Plan:
		r.StartOn, r.EndOn = sorted(r.StartOn, r.EndOn)
		r.RequestID = gh.EntryID(firstOf(id, "rotation_requests"))
		return r
	case gh.Unavailability:
		r.ToAt = r.FromAt + 1
		return r
	case gh.Session:
		r.EndAt = r.StartAt + 1
		return r
	case gh.Job:
		r.EndAt = r.StartAt + 1
		return r
	case gh.Road:
		r.ToYardID = gh.YardID("yards-2")
		return r
	case gh.KitPlacing:
		r.YardID = ""
		return r
	case gh.Inspection:
		r.DeviceID = ""
		return r
	case gh.Defect:
		r.DeviceID = ""
		return r
	case gh.Shift:
		r.ToAt = r.FromAt + 1
		return r
	case gh.Reply:
		r.Verdict, r.Question, r.Answer = "READY", "{}", "{}"
		return r
	case gh.Flag:
		r.WorkerID = ""
		return r
	case gh.Withdrawal:
		r.RecordedAt = 1 << 50 // after everything
		return r
	case gh.Token:
		r.Digest = id
		return r
	case gh.Act:
		r.Key = id
		return r
	case gh.Clearing:
		r.FlagID = gh.FlagID(firstOf(id, "flags"))
		return r
	}
	return tidyBelief(row, id)
}

// tidyBelief is tidy for the records that say what became of other records.
func tidyBelief(row any, id string) any {
	switch r := row.(type) {
	case gh.Provisional:
		r.FromOn, r.ToOn = sorted(r.FromOn, r.ToOn)
		r.EvidenceID = gh.EntryID(rowOf("outside_evidences"))
		return r
	case gh.AssessorFinding:
		r.FromOn, r.ToOn = sorted(r.FromOn, r.ToOn)
		return r
	case gh.WorkerNumber:
		r.FromOn, r.ToOn = sorted(r.FromOn, r.ToOn)
		r.Number = id
		return r
	case gh.Alias:
		r.FromOn, r.ToOn = sorted(r.FromOn, r.ToOn)
		return r
	case gh.RuleProposal:
		r.EffectiveFrom, r.EffectiveThrough = sorted(r.EffectiveFrom, r.EffectiveThrough)
		r.RuleSetID, r.Body = id, "{}"
		return r
	case gh.RuleApproval:
		r.ProposalID = gh.EntryID(firstOf(id, "rule_proposals"))
		if r.Decision == gh.NotApproved {
			r.RuleSetID = ""
		}
		return r
	case gh.Ruling:
		r.DisputeID = gh.EntryID(firstOf(id, "disputes"))
		return r
	case gh.ReviewClosing:
		r.ReviewID = gh.EntryID(firstOf(id, "reviews"))
		return r
	case gh.Merge:
		r.GoneID = "workers-2"
		return r
	case gh.Hold:
		r.CrewID, r.DeviceID, r.KitID = "", "", ""
		return r
	case gh.Release:
		r.HoldID = gh.EntryID(firstOf(id, "holds"))
		return r
	case gh.Erasure:
		r.Code = id
		return r
	case gh.IssuerKey:
		r.IssuerID = "did:web:" + r.IssuerID
		return r
	case gh.KeyChange:
		r.KeyID = firstOf(id, "issuer_keys")
		return r
	case gh.Certificate:
		return tidyCertificate(r, id)
	}
	return row
}

// tidyCertificate leaves a certificate signed whole or not at all, with an identifier and a place in a list of its own.
func tidyCertificate(c gh.Certificate, id string) gh.Certificate {
	if c.Signed == "" || c.IssuerID == "" {
		c.CredentialID, c.KeyID, c.IssuerID, c.Signed, c.StatusList, c.StatusIndex = "", "", "", "", 0, 0
		return c
	}
	n, err := strconv.Atoi(id[strings.LastIndex(id, "-")+1:])
	if err != nil {
		panic(err)
	}
	c.CredentialID, c.StatusList, c.StatusIndex = id, 1, n
	if strings.Contains(id, "id-") { // counted anew
		c.StatusList = 2
	}
	return c
}

// firstOf gives each row that ends another one, which it may do once, a row of its own to end.
func firstOf(id, table string) string {
	i := strings.LastIndexAny(id, "-") // workers-1, workersid-000001
	if at := strings.Index(id, "id-"); at >= 0 {
		i = at
	}
	return table + id[i:]
}

func sorted(a, b gh.Date) (gh.Date, gh.Date) { return min(a, b), max(a, b) }

// oneOfEach adds a first row of every kind.
func oneOfEach(t testing.TB, s *store.Store) {
	t.Helper()
	for _, k := range kinds {
		k.addOne(t, s, rowOf(k.table))
		if k.table == "yards" || k.table == "workers" {
			k.addOne(t, s, k.table+"-2")
		}
	}
}

func TestEveryKindComesBackAsItWent(t *testing.T) {
	if underRace {
		t.Skip("thousands of rows by one goroutine; .ci/run adds them without the detector")
	}
	s := storetest.New(t)
	oneOfEach(t, s)
	id := storetest.IDs()
	rapid.Check(t, func(rt *rapid.T) {
		n := id()
		require.NoError(rt, s.InTx(context.Background(), func(tx *store.Store) error {
			for _, k := range kinds {
				k.roundTrip(rt, tx, k.table+n)
			}
			return nil
		}))
	})
	intact(t, s) // what was read back by hand makes the leaf that was made when it was added
}

// The vocabulary's records are the structs with an ID or a Key of their own.
func TestEveryRecordOfTheVocabularyHasATable(t *testing.T) {
	have := map[string]bool{"Mark": true} // an argument of Dead
	for _, k := range kinds {
		have[k.name] = true
	}
	files, err := filepath.Glob("../groundhand/*.go")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	found := 0
	for _, name := range files {
		src, err := os.ReadFile(name)
		require.NoError(t, err)
		file, err := parser.ParseFile(token.NewFileSet(), name, src, 0)
		require.NoError(t, err)
		for name := range recordsIn(file) {
			found++
			assert.True(t, have[name], "%s has no table", name)
		}
	}
	assert.Equal(t, len(kinds)+1, found)
}

func recordsIn(file *ast.File) map[string]bool {
	out := map[string]bool{}
	ast.Inspect(file, func(n ast.Node) bool {
		spec, ok := n.(*ast.TypeSpec)
		if !ok {
			return true
		}
		if body, ok := spec.Type.(*ast.StructType); ok {
			for _, f := range body.Fields.List {
				for _, name := range f.Names {
					if name.Name == "ID" || name.Name == "Key" {
						out[spec.Name.Name] = true
					}
				}
			}
		}
		return true
	})
	return out
}
