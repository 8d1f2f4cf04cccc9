package graph_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
	_ "time/tzdata" // zones are found on a machine without them

	"github.com/stretchr/testify/require"
	"github.com/vektah/gqlparser/v2"
	"github.com/vektah/gqlparser/v2/ast"

	"groundhand/graph"
	"groundhand/internal/access"
	"groundhand/internal/certificate"
	"groundhand/internal/certificate/keyring"
	"groundhand/internal/checklist"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
	"groundhand/internal/training"
	"groundhand/internal/watch"
)

// scene is a small invented company on Wednesday 11 June 2025, 19:20 in Dublin, made and asked over HTTP alone.
type scene struct {
	t      testing.TB
	store  *store.Store
	door   *access.Door
	root   *graph.Root
	server *httptest.Server
	log    *bytes.Buffer
	token  map[groundhand.Capacity]string
	id     map[string]string // of workers, by first name; of other entries, by a word
	keys   *atomic.Int64
	clock  *storetest.Clock
}

// second is another coordinator, for what takes two people.
const second groundhand.Capacity = "SECOND"

const now = "2025-06-11T19:20:00+01:00"

type form = map[string]any

// newScene gives every test a company of its own: a copy of one that was set up once.
func newScene(t testing.TB) *scene {
	t.Helper()
	made := template(t)
	path := filepath.Join(t.TempDir(), "records.db")
	for end, content := range templateFiles {
		require.NoError(t, os.WriteFile(path+end, content, 0o600))
	}
	s := &scene{t: t, token: made.token, id: made.id, keys: made.keys}
	s.clock = storetest.NewClock(now)
	s.open(path, s.clock, 50_000)
	require.NoError(t, s.root.Issuer.Begin(t.Context()))
	t.Cleanup(func() {
		s.server.Close()
		require.NoError(t, s.store.Close())
	})
	return s
}

var (
	templateOnce  sync.Once
	templateScene *scene
	templateFiles = map[string][]byte{}
)

func template(t testing.TB) *scene {
	templateOnce.Do(func() {
		path := filepath.Join(t.TempDir(), "template.db")
		s := &scene{t: t, token: map[groundhand.Capacity]string{}, id: map[string]string{}, keys: new(atomic.Int64)}
		s.open(path, storetest.NewClock("2025-06-11T19:00:00+01:00"), 0)
		s.found()
		s.server.Close()
		require.NoError(t, s.store.Close())
		for _, end := range []string{"", "-wal"} { // the log may hold what is not in the file yet
			content, err := os.ReadFile(path + end)
			if !errors.Is(err, fs.ErrNotExist) {
				require.NoError(t, err)
				templateFiles[end] = content
			}
		}
		templateScene = s
	})
	require.NotNil(t, templateScene, "the company could not be set up")
	return templateScene
}

// open wires the service over a file, with ids that count on from a number.
func (s *scene) open(path string, clock *storetest.Clock, from int64) {
	s.t.Helper()
	zone, err := time.LoadLocation("Europe/Dublin")
	require.NoError(s.t, err)
	var made atomic.Int64
	made.Store(from)
	s.store, err = store.Open(path, store.Options{Now: clock.Now, NewID: func() string { return fmt.Sprintf("id-%06d", made.Add(1)) }})
	require.NoError(s.t, err)
	roll := rollcall.New(s.store, zone)
	ring, err := keyring.Open(path + ".keys")
	require.NoError(s.t, err)
	s.door, s.log = access.NewDoor(s.store, rand.Reader), &bytes.Buffer{}
	root := &graph.Root{Store: s.store, Roll: roll, Desk: training.New(s.store, roll), Issuer: certificate.New(s.store, roll, certificate.Options{Name: "Halverra Lines", Address: "https://halverra.example", Keys: ring, Chance: rand.Reader}),
		Door: s.door, Sweeper: watch.New(s.store, roll)}
	root.Desk.MoveCertificates(root.Issuer.Follow)
	s.root = root
	s.server = httptest.NewServer(root.Handler(slog.New(slog.NewTextHandler(s.log, nil))))
}

// account adds an account as the command line on the machine does.
func (s *scene) account(name string, c groundhand.Capacity, worker string) string {
	s.t.Helper()
	_, token, err := s.door.AddAccount(context.Background(), name, c, groundhand.WorkerID(s.id[worker]))
	require.NoError(s.t, err)
	return token
}

// found founds the company: two yards, two control families, two crews of three, an assessor with authority, and a year of practice.
func (s *scene) found() {
	s.token[groundhand.HR] = s.account("first hr", groundhand.HR, "")
	s.token[groundhand.Coordinator] = s.account("first coordinator", groundhand.Coordinator, "")
	since := form{"on": "2024-01-01"}
	s.make("addYard", with(since, form{"id": "VARROW", "name": "Varrow"}))
	s.make("addYard", with(since, form{"id": "STENHOLT", "name": "Stenholt"}))
	s.make("addFamily", with(since, form{"id": "F1", "name": "articulating, lever"}))
	s.make("addFamily", with(since, form{"id": "F3", "name": "telescopic, lever"}))
	s.make("addDevice", with(since, deviceForm("A04")))
	s.make("addKit", with(since, form{"id": "K04", "parts": 4, "ropeCm": 6000, "tailCm": 400, "ratedLoadKg": 140, "inServiceOn": "2023-05-02", "retiresOn": "2033-05-01"}))
	for i, name := range []string{"Henrike", "Gideon", "Maren", "Tomasz", "Keahi", "Linh", "Dov", "Aoife"} {
		s.id[name] = s.make("addWorker", workerForm(name, fmt.Sprint(1001+i)))
	}
	s.id["lorcan"] = s.make("addWorker", with(workerForm("Lorcan", "1100"), form{"grade": "OFFICE"}))
	for c, worker := range map[groundhand.Capacity]string{groundhand.Coordinator: "Henrike", groundhand.Dispatcher: "Henrike", groundhand.HR: "Henrike",
		groundhand.Assessor: "Gideon", groundhand.Inspector: "lorcan", groundhand.Auditor: "lorcan", groundhand.CrewForeman: "Maren", groundhand.FieldWorker: "Tomasz"} {
		s.token[c] = s.account(string(c), c, worker)
	}
	s.token[second] = s.account("second coordinator", groundhand.Coordinator, "lorcan")
	s.equip("A04", "K04")
	s.make("addCrew", with(since, crewForm("V1")))
	s.make("addCrew", with(since, crewForm("V2")))
	for i, name := range []string{"Maren", "Tomasz", "Keahi"} {
		s.id["membership "+name] = s.make("joinCrew", member("V1", s.id[name], i == 0))
	}
	for i, name := range []string{"Linh", "Dov", "Aoife"} {
		s.make("joinCrew", member("V2", s.id[name], i == 0))
	}
	program := groundhand.Account{Capacity: groundhand.Program}
	for _, set := range rulebook.Shipped() {
		_, err := s.root.Desk.AddRuleSet(context.Background(), program, s.key(), training.ShippedRules(set, "the safety manager"))
		require.NoError(s.t, err)
	}
	s.make("grantAuthority", with(since, form{"assessorId": s.id["Gideon"], "methods": []string{"PAIR_KIT", "LONE_KIT", "MANUAL_LOWERING"}, "fromOn": "2024-01-01", "toOn": "2026-12-31"}))
	s.practise("Gideon", "Maren", "Tomasz", "Keahi", "Linh", "Dov")
}

// practise records a drill in which each leads once, and a first-aid card.
func (s *scene) practise(names ...string) {
	for i, name := range names {
		other := names[(i+1)%len(names)]
		run := runForm(s.id[name], s.id[other])
		s.make("recordDrill", form{"runs": []form{run}})
		s.make("recordOutside", form{"on": "2025-01-10", "workerId": s.id[name], "method": "FIRST_AID", "role": "LEAD", "issuer": "a first-aid school (invented)", "level": "ORIGINAL_SEEN", "checkerId": s.id["Henrike"]})
	}
}

// equip puts a kit on a device, and has both looked at as the rules ask, the weekly look two days ago.
func (s *scene) equip(device, kit string) {
	s.t.Helper()
	s.make("placeKit", form{"on": "2025-06-01", "kitId": kit, "deviceId": device})
	s.make("inspect", lookForm("kitId", kit, "WEEKLY_OUTSIDE", "kit-outside-1", "2025-06-09"))
	s.make("inspect", lookForm("kitId", kit, "MONTHLY_INSIDE", "kit-inside-1", "2025-06-02"))
	s.make("inspect", lookForm("kitId", kit, "YEARLY", "kit-yearly-1", "2025-01-10"))
	s.make("inspect", with(lookForm("deviceId", device, "DEVICE_MONTHLY", "device-monthly-1", "2025-06-02"), form{"loweringSeconds": 62}))
	s.make("inspect", lookForm("deviceId", device, "YEARLY", "device-yearly-1", "2025-01-10"))
}

// lookForm is a look at which everything was in order.
func lookForm(of, id, kind, list, on string) form {
	return form{"on": on, of: id, "kind": kind, "checklist": list, "lines": sheet(list), "result": "IN_SERVICE"}
}

// sheet is a list with every line in order.
func sheet(id string) []form {
	var out []form
	for _, l := range checklist.Answered(id, nil) {
		out = append(out, form{"line": l.Line, "found": string(l.Found)})
	}
	return out
}

func with(forms ...form) form {
	out := form{}
	for _, f := range forms {
		for k, v := range f {
			out[k] = v
		}
	}
	return out
}

func workerForm(name, number string) form {
	return form{"fromOn": "2024-01-01", "name": name + " Oduya-Prewitt", "number": number, "employer": "Halverra Lines", "relation": "EMPLOYEE", "grade": "QUALIFIED", "yardId": "VARROW"}
}

func deviceForm(id string) form {
	return form{"id": id, "familyId": "F1", "yardId": "VARROW", "type": "articulating", "platformCm": 1300, "anchorCm": 1000, "emergencyLow": "YES"}
}

func crewForm(id string) form {
	return form{"id": id, "name": "crew " + id, "yardId": "VARROW", "kind": "LINE", "normalSize": 3, "families": []string{"F1"}}
}

func member(crew, worker string, foreman bool) form {
	part := "MEMBER"
	if foreman {
		part = "FOREMAN"
	}
	return form{"crewId": crew, "workerId": worker, "part": part, "reason": "PERMANENT", "fromOn": "2024-01-01"}
}

func runForm(lead, second string) form {
	return form{"on": "2025-03-10", "method": "PAIR_KIT", "scenario": "UNCONSCIOUS_IN_BUCKET", "deviceId": "A04", "kitId": "K04", "kitState": "AS_FOUND",
		"loweringMeans": "POWERED_LOWER_CONTROLS", "heightCm": 900, "casualtyKind": "MANNEQUIN", "casualtyKg": 80, "groundCount": 2, "startedBy": "ALARM", "complete": true,
		"marks": []form{{"stage": "S0", "seconds": 0}, {"stage": "S7", "seconds": 95}}, "parts": []form{{"workerId": lead, "role": "LEAD"}, {"workerId": second, "role": "SECOND"}}}
}

// schema is the contract, parsed from its own file.
var schema = sync.OnceValue(func() *ast.Schema {
	text, err := os.ReadFile("../schema.graphql")
	if err != nil {
		panic(err)
	}
	return gqlparser.MustLoadSchema(&ast.Source{Name: "schema.graphql", Input: string(text)})
})

// reply is what the service answers.
type reply struct {
	Data   map[string]json.RawMessage
	Errors []struct {
		Message    string
		Path       []any
		Extensions struct {
			Code     string
			Problems []struct{ Code, Field, Message string }
		}
	}
	status int
	body   string
}

// codes are the codes of a reply's errors.
func (r reply) codes() []string {
	out := []string{}
	for _, e := range r.Errors {
		out = append(out, e.Extensions.Code)
	}
	return out
}

// problems are the refused fields of a reply, as "CODE field".
func (r reply) problems() []string {
	out := []string{}
	for _, e := range r.Errors {
		for _, p := range e.Extensions.Problems {
			out = append(out, strings.TrimSpace(p.Code+" "+p.Field))
		}
	}
	return out
}

// ask sends a query under a token.
func (s *scene) ask(token, query string, variables form) reply {
	s.t.Helper()
	body, err := json.Marshal(form{"query": query, "variables": variables})
	require.NoError(s.t, err)
	return s.send(token, http.MethodPost, "/graphql", "application/json", bytes.NewReader(body))
}

func (s *scene) send(token, method, path, kind string, body io.Reader) reply {
	s.t.Helper()
	req, err := http.NewRequest(method, s.server.URL+path, body)
	require.NoError(s.t, err)
	if kind != "" {
		req.Header.Set("Content-Type", kind)
	}
	if token != "" {
		req.Header.Set("Authorization", "Bearer "+token)
	}
	res, err := s.server.Client().Do(req)
	require.NoError(s.t, err)
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	require.NoError(s.t, err)
	r := reply{status: res.StatusCode, body: string(text)}
	_ = json.Unmarshal(text, &r) // pages and files are no JSON
	return r
}

// get asks a question that must be answered whole, and gives one field of it.
func (s *scene) get(who groundhand.Capacity, query string) any {
	s.t.Helper()
	r := s.ask(s.token[who], query, nil)
	require.Empty(s.t, r.Errors, r.body)
	require.Len(s.t, r.Data, 1, r.body)
	for _, raw := range r.Data {
		var v any
		require.NoError(s.t, json.Unmarshal(raw, &v))
		return v
	}
	return nil
}

// author is whose work each form is; what is not named here is the coordinator's.
var author = map[string]groundhand.Capacity{"addWorker": groundhand.HR, "renameWorker": groundhand.HR, "gradeWorker": groundhand.HR, "postWorker": groundhand.HR,
	"employWorker": groundhand.HR, "setUnavailable": groundhand.HR, "assess": groundhand.Assessor, "inspect": groundhand.Inspector, "bookJob": groundhand.Dispatcher,
	"brief": groundhand.CrewForeman, "giveAnswer": groundhand.Dispatcher, "decide": groundhand.Dispatcher,
	"disputeEntry": groundhand.FieldWorker, "numberWorker": groundhand.HR, "addAlias": groundhand.HR, "mergeWorkers": groundhand.HR, "setRetention": groundhand.HR, "eraseNames": groundhand.HR,
	"ruleOnDispute": second, "decideOnRules": second}

func (s *scene) who(field string) string {
	if c := author[field]; c != "" {
		return s.token[c]
	}
	return s.token[groundhand.Coordinator]
}

func (s *scene) key() string { return fmt.Sprintf("key-%d", s.keys.Add(1)) }

// change hands in a form under a key and asks for some fields of what it made.
func (s *scene) change(token, field, key string, f form, fields string) reply {
	s.t.Helper()
	arg := schema().Mutation.Fields.ForName(field).Arguments.ForName("form").Type.Name()
	return s.ask(token, fmt.Sprintf("mutation($key: String!, $form: %s!) { %s(key: $key, form: $form) { %s } }", arg, field, fields), form{"key": key, "form": f})
}

// wrapped says where the id of what a form made lies when it is not the thing itself.
var wrapped = map[string]string{"bookSession": "session { id }", "recordDrill": "runs { id }", "placeKit": "deviceId", "gradeWorker": "grade", "employWorker": "employer", "adoptPlan": "plan { id }",
	"findAssessorInvalid": "finding { id }", "decideOnRules": "approval { id }"}

// make hands in a form that must be taken, and gives the first id in the answer.
func (s *scene) make(field string, f form) string {
	s.t.Helper()
	fields := wrapped[field]
	if fields == "" {
		fields = "id"
	}
	r := s.change(s.who(field), field, s.key(), f, fields)
	require.Empty(s.t, r.Errors, "%s: %s", field, r.body)
	var v any
	require.NoError(s.t, json.Unmarshal(r.Data[field], &v))
	return firstText(v)
}

func firstText(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case []any:
		return firstText(v[0])
	case map[string]any:
		for _, inner := range v {
			return firstText(inner)
		}
	}
	return ""
}

// upload sends a query with a file, as the multipart request of GraphQL.
func (s *scene) upload(token, query string, variables form, file io.Reader) reply {
	s.t.Helper()
	body, kind := multipartBody(s.t, query, variables, file)
	return s.send(token, http.MethodPost, "/graphql", kind, body)
}

func multipartBody(t testing.TB, query string, variables form, file io.Reader) (io.Reader, string) {
	t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	operations, err := json.Marshal(form{"query": query, "variables": with(variables, form{"file": nil})})
	require.NoError(t, err)
	require.NoError(t, w.WriteField("operations", string(operations)))
	require.NoError(t, w.WriteField("map", `{"0": ["variables.file"]}`))
	part, err := w.CreateFormFile("0", "people.csv")
	require.NoError(t, err)
	_, err = io.Copy(part, file)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	return &body, w.FormDataContentType()
}

// rows counts what is recorded, by table.
func (s *scene) rows() map[string]int {
	s.t.Helper()
	out := map[string]int{}
	for name, count := range counters {
		n, err := count(context.Background(), s.store)
		require.NoError(s.t, err)
		out[name] = n
	}
	return out
}

func counter[T any](ctx context.Context, s *store.Store) (int, error) {
	return store.Count[T](ctx, s, "", nil)
}

var counters = map[string]func(context.Context, *store.Store) (int, error){
	"requests": counter[groundhand.RotationRequest], "failures": counter[groundhand.RotationFailure],
	"workers": counter[groundhand.Worker], "names": counter[groundhand.WorkerName], "employments": counter[groundhand.Employment],
	"gradings": counter[groundhand.Grading], "postings": counter[groundhand.Posting], "absences": counter[groundhand.Unavailability],
	"reasons": counter[groundhand.UnavailabilityReason], "yards": counter[groundhand.Yard], "roads": counter[groundhand.Road],
	"crews": counter[groundhand.Crew], "memberships": counter[groundhand.Membership], "families": counter[groundhand.Family],
	"devices": counter[groundhand.Device], "kits": counter[groundhand.Kit], "placings": counter[groundhand.KitPlacing],
	"inspections": counter[groundhand.Inspection], "sessions": counter[groundhand.Session], "bookings": counter[groundhand.Booking],
	"runs": counter[groundhand.Run], "parts": counter[groundhand.RunPart], "assessments": counter[groundhand.Assessment],
	"authorities": counter[groundhand.Authority], "outside": counter[groundhand.OutsideEvidence], "suspensions": counter[groundhand.Suspension],
	"liftings": counter[groundhand.Lifting], "extensions": counter[groundhand.Extension], "provisionals": counter[groundhand.Provisional],
	"rules": counter[groundhand.RuleSet], "jobs": counter[groundhand.Job], "withdrawals": counter[groundhand.Withdrawal],
	"plans": counter[groundhand.Plan], "adoptions": counter[groundhand.Adoption], "acts": counter[groundhand.Act], "accounts": counter[groundhand.Account],
	"tokens": counter[groundhand.Token], "flags": counter[groundhand.Flag], "clearings": counter[groundhand.Clearing], "sweeps": counter[groundhand.Sweep],
	"certificates": counter[groundhand.Certificate],
	"classings":    counter[groundhand.Classing], "defects": counter[groundhand.Defect], "briefings": counter[groundhand.Briefing], "shifts": counter[groundhand.Shift],
	"numbers": counter[groundhand.WorkerNumber], "aliases": counter[groundhand.Alias], "merges": counter[groundhand.Merge], "mappings": counter[groundhand.ColumnMapping],
	"holds": counter[groundhand.Hold], "releases": counter[groundhand.Release], "retentions": counter[groundhand.Retention], "erasures": counter[groundhand.Erasure],
	"disputes": counter[groundhand.Dispute], "rulings": counter[groundhand.Ruling], "findings": counter[groundhand.AssessorFinding],
	"reviews": counter[groundhand.Review], "closings": counter[groundhand.ReviewClosing], "corrections": counter[groundhand.Correction],
	"proposals": counter[groundhand.RuleProposal], "approvals": counter[groundhand.RuleApproval], "events": counter[groundhand.RealEvent],
	"replies": counter[groundhand.Reply], "decisions": counter[groundhand.Decision],
}

func addRow[T any](s *scene, row T) error { return store.Add(context.Background(), s.store, row) }
