package audit_test

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/audit"
	g "groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

var (
	ctx     = context.Background()
	auditor = g.Account{ID: "acc", Capacity: g.Auditor}
)

// yardDay is a small yard in which one pass was given, and a second one told late.
func yardDay(t *testing.T) (*store.Store, *audit.Auditor, *storetest.Clock) {
	t.Helper()
	clock := storetest.NewClock("2025-05-01T08:00:00Z")
	s := storetest.New(t, clock)
	told := func(on string) g.Recorded {
		return g.Recorded{HappenedOn: g.MustDate(on), RecordedAt: s.Now(), AuthorID: "BOSS", Capacity: g.Coordinator, CameBy: g.TypedLive}
	}
	add(t, s, g.Worker{ID: "BOSS", Recorded: g.Recorded{HappenedOn: g.MustDate("2025-01-01"), RecordedAt: s.Now(), Capacity: g.Program, CameBy: g.TypedLive}, Number: "1"})
	clock.Advance(time.Second)
	add(t, s, g.Worker{ID: "ANN", Recorded: told("2025-01-01"), Number: "2"})
	add(t, s, g.WorkerName{ID: "N1", Recorded: told("2025-01-01"), WorkerID: "ANN", Name: "Ann Øyen"})
	add(t, s, g.Yard{ID: "Y", Recorded: told("2025-01-01"), Name: "Yard"})
	add(t, s, g.Crew{ID: "C", Recorded: told("2025-01-01"), Name: "Crew", YardID: "Y", Kind: g.LineCrew, NormalSize: 3, Families: g.List{"F1"}})
	add(t, s, g.Family{ID: "F1", Recorded: told("2025-01-01"), Name: "levers"})
	add(t, s, g.Membership{ID: "M1", Recorded: told("2025-01-01"), CrewID: "C", WorkerID: "ANN", Part: g.Member, Reason: g.Permanent, FromOn: g.MustDate("2025-01-01")})
	rules := rulebook.Shipped()[1]
	rules.Recorded = told("2025-01-01")
	rules.EffectiveFrom, rules.ApprovedBy = g.MustDate("2025-01-01"), "somebody"
	add(t, s, rules)
	add(t, s, g.Unavailability{ID: "U1", Recorded: told("2025-02-01"), WorkerID: "ANN", Kind: g.Leave, FromAt: 1738368000000, ToAt: 1738454400000})
	add(t, s, g.UnavailabilityReason{ID: "UR1", Recorded: told("2025-02-01"), UnavailabilityID: "U1", Reason: "a matter of health"})
	add(t, s, g.Authority{ID: "AU1", Recorded: told("2025-01-01"), AssessorID: "BOSS", Methods: g.List{"PAIR_KIT"}, FromOn: g.MustDate("2025-01-01"), Basis: "appointed"})
	pass(t, s, "A1", told("2025-05-01"))
	clock.Set("2025-05-20T08:00:00Z")
	pass(t, s, "A2", told("2025-05-02"))
	clock.Set("2025-06-01T08:00:00Z")
	return s, audit.New(s, rollcall.New(s, time.UTC)), clock
}

func pass(t *testing.T, s *store.Store, id g.EntryID, told g.Recorded) {
	add(t, s, g.Assessment{ID: id, Recorded: told, WorkerID: "ANN", Method: g.PairKit, Role: g.Lead, FamilyID: "F1", Result: g.Pass, AssessorID: "BOSS"})
}

func add[T any](t *testing.T, s *store.Store, row T) {
	t.Helper()
	require.NoError(t, store.Add(ctx, s, row))
}

func TestASampleSaysWhatLiesBehindEachPass(t *testing.T) {
	_, a, _ := yardDay(t)
	got, err := a.Sample(ctx, auditor, audit.SampleAsk{Seed: 7, N: 5, From: g.MustDate("2025-05-01"), Through: g.MustDate("2025-05-31")})
	require.NoError(t, err)
	require.Len(t, got.Passes, 2, "more are asked for than there are")
	words := map[g.EntryID]string{}
	for _, p := range got.Passes {
		words[p.ID] = p.Words()
		assert.True(t, p.LeafFits)
		assert.Len(t, p.Authorities, 1)
	}
	assert.Equal(t, map[g.EntryID]string{"A1": "clean", "A2": "late"}, words)
	again, err := a.Sample(ctx, auditor, got.SampleAsk)
	require.NoError(t, err)
	assert.Equal(t, got, again)
}

func TestAnAuditIsForAuditorsAndRefusesWhatItCannotDo(t *testing.T) {
	_, a, _ := yardDay(t)
	_, err := a.Sample(ctx, g.Account{ID: "x", Capacity: g.Dispatcher}, audit.SampleAsk{Seed: 1, N: 1, From: 1, Through: 1})
	assert.Equal(t, g.CodeForbidden, g.Refusals(err)[0].Code)
	_, err = a.Sample(ctx, auditor, audit.SampleAsk{Seed: 1})
	fields := []string{}
	for _, r := range g.Refusals(err) {
		fields = append(fields, r.Field)
	}
	assert.Equal(t, []string{"n", "from", "through"}, fields)
	assert.ErrorContains(t, a.Pack(ctx, auditor, audit.PackAsk{CrewID: "C", From: g.MustDate("2025-05-02"), Through: g.MustDate("2025-05-01"), AsKnownAt: 1 << 60}, io.Discard), "lies ahead")
	assert.ErrorContains(t, a.Pack(ctx, auditor, audit.PackAsk{CrewID: "NONE", From: g.MustDate("2025-05-01"), Through: g.MustDate("2025-05-02")}, io.Discard), "NONE")
}

func packOf(t *testing.T, a *audit.Auditor, known g.Instant) ([]byte, map[string]string) {
	t.Helper()
	var file bytes.Buffer
	require.NoError(t, a.Pack(ctx, auditor, audit.PackAsk{CrewID: "C", From: g.MustDate("2025-05-01"), Through: g.MustDate("2025-05-31"), AsKnownAt: known}, &file))
	archive, err := zip.NewReader(bytes.NewReader(file.Bytes()), int64(file.Len()))
	require.NoError(t, err)
	files := map[string]string{}
	for _, f := range archive.File {
		r, err := f.Open()
		require.NoError(t, err)
		content, err := io.ReadAll(r)
		require.NoError(t, err)
		files[f.Name] = string(content)
	}
	return file.Bytes(), files
}

func TestAPackIsTheSameForTheSameAskAndHoldsWhatWasKnown(t *testing.T) {
	_, a, _ := yardDay(t)
	first, files := packOf(t, a, 0)
	second, _ := packOf(t, a, 0)
	assert.Equal(t, first, second)
	assert.Equal(t, 2, strings.Count(files["entries/assessments.jsonl"], "\n"))
	for name, content := range files {
		assert.NotContains(t, content, "matter of health", name)
		if name != "names.json" {
			assert.NotContains(t, content, "Øyen", name)
		}
	}
	assert.Contains(t, files["names.json"], "Ann Øyen")
	assert.Contains(t, files["README.txt"], "does not say that a law is met")
	assert.Contains(t, files["rules/"+string(rulebook.Shipped()[1].ID)+".json"], "lines")

	known, _ := time.Parse(time.RFC3339, "2025-05-10T00:00:00Z")
	_, then := packOf(t, a, g.InstantOf(known))
	assert.Equal(t, 1, strings.Count(then["entries/assessments.jsonl"], "\n"), "the second was told on the 20th")
	assert.NotContains(t, then["standings.json"], `"A2"`)
}

// check follows the page of the pack and nothing else: it knows SHA-256 and no code of ours.
func check(files map[string]string) error {
	for _, line := range strings.Split(strings.TrimSpace(files["SHA256SUMS"]), "\n") {
		sum, name, _ := strings.Cut(line, "  ")
		if got := sha256.Sum256([]byte(files[name])); hex.EncodeToString(got[:]) != sum {
			return fmt.Errorf("%s was changed", name)
		}
	}
	checkpoint := strings.Split(files["log/checkpoint.txt"], "\n")
	size, err := strconv.ParseInt(checkpoint[1], 10, 64)
	if err != nil {
		return err
	}
	lines := map[string]int{}
	for _, line := range strings.Split(strings.TrimSpace(files["log/leaves.jsonl"]), "\n") {
		var leaf struct {
			Kind, ID string
			Line     int
			Leaf     int64
			Proof    []string
		}
		if err := json.Unmarshal([]byte(line), &leaf); err != nil {
			return err
		}
		lines[leaf.Kind]++
		record := strings.Split(files["entries/"+leaf.Kind+".jsonl"], "\n")[leaf.Line-1]
		if !strings.Contains(record, strconv.Quote(leaf.ID)) {
			return fmt.Errorf("line %d of %s is not %s", leaf.Line, leaf.Kind, leaf.ID)
		}
		if root := rootOf(record, leaf.Leaf, size-1, leaf.Proof); root != checkpoint[2] {
			return fmt.Errorf("%s %s is not in the log", leaf.Kind, leaf.ID)
		}
	}
	for name, content := range files {
		kind, isEntries := strings.CutPrefix(strings.TrimSuffix(name, ".jsonl"), "entries/")
		if isEntries && strings.Count(content, "\n") != lines[kind] {
			return fmt.Errorf("%s holds lines that no leaf is named for", name)
		}
	}
	return nil
}

func rootOf(record string, n, m int64, proof []string) string {
	h := sha256.Sum256(append([]byte{0}, record...))
	for _, hexed := range proof {
		p, _ := hex.DecodeString(hexed)
		if n%2 == 1 || n == m {
			h = sha256.Sum256(append(append([]byte{1}, p...), h[:]...))
			for n%2 == 0 && n != 0 {
				n, m = n/2, m/2
			}
		} else {
			h = sha256.Sum256(append(append([]byte{1}, h[:]...), p...))
		}
		n, m = n/2, m/2
	}
	if m != 0 {
		return "the proof is too short"
	}
	return base64.StdEncoding.EncodeToString(h[:])
}

func TestAPackIsCheckedByItsOwnPageAlone(t *testing.T) {
	_, a, _ := yardDay(t)
	_, files := packOf(t, a, 0)
	require.NoError(t, check(files))
	require.Greater(t, strings.Count(files["log/leaves.jsonl"], "\n"), 4)

	changed := strings.Replace(files["entries/assessments.jsonl"], "PASS", "FAIL", 1)
	require.NotEqual(t, changed, files["entries/assessments.jsonl"])
	old := sha256.Sum256([]byte(files["entries/assessments.jsonl"]))
	fresh := sha256.Sum256([]byte(changed))
	files["entries/assessments.jsonl"] = changed
	assert.EqualError(t, check(files), "entries/assessments.jsonl was changed")
	files["SHA256SUMS"] = strings.Replace(files["SHA256SUMS"], hex.EncodeToString(old[:]), hex.EncodeToString(fresh[:]), 1)
	assert.ErrorContains(t, check(files), "is not in the log", "also when the sums are made to fit")
}

func TestALineSlippedIntoAPackIsFound(t *testing.T) {
	_, a, _ := yardDay(t)
	_, files := packOf(t, a, 0)
	old := sha256.Sum256([]byte(files["entries/assessments.jsonl"]))
	files["entries/assessments.jsonl"] += `{"entry":{"id":"A9"},"kind":"assessments"}` + "\n"
	fresh := sha256.Sum256([]byte(files["entries/assessments.jsonl"]))
	files["SHA256SUMS"] = strings.Replace(files["SHA256SUMS"], hex.EncodeToString(old[:]), hex.EncodeToString(fresh[:]), 1)
	assert.ErrorContains(t, check(files), "no leaf is named for")
}

func TestTheTrailAndWhoLooked(t *testing.T) {
	s, a, _ := yardDay(t)
	add(t, s, g.Account{ID: "acc", RecordedAt: s.Now(), Name: "M", Capacity: g.Auditor})
	add(t, s, g.Viewing{ID: "V1", AccountID: "acc", ViewedAt: s.Now(), Question: "workerRecord", Workers: g.List{"ANN"}})
	add(t, s, g.RefusedAttempt{ID: "R1", Recorded: g.Recorded{HappenedOn: g.MustDate("2025-06-01"), RecordedAt: s.Now(), AuthorID: "BOSS", Capacity: g.Assessor, CameBy: g.TypedLive},
		Act: "assess", Rule: g.SelfAssessment, WorkerID: "BOSS", Message: "Nobody assesses self."})
	trail, err := a.Trail(ctx, auditor, 1)
	require.NoError(t, err)
	late := []g.EntryID{}
	for _, e := range trail.Late {
		late = append(late, e.ID)
	}
	assert.Equal(t, []g.EntryID{"A2"}, late)
	assert.Equal(t, []audit.AuthorTrail{{AuthorID: "BOSS", LateEntries: 1, Refused: 1}}, trail.Authors)
	later, err := a.Trail(ctx, auditor, s.Now()+1)
	require.NoError(t, err)
	assert.Empty(t, later.Late)

	seen, err := a.Viewings(ctx, auditor, "ANN", 1)
	require.NoError(t, err)
	require.Len(t, seen, 1)
	assert.Equal(t, "workerRecord", seen[0].Question)
	none, err := a.Viewings(ctx, auditor, "BOSS", 1)
	require.NoError(t, err)
	assert.Empty(t, none)
	_, err = a.Viewings(ctx, g.Account{ID: "x", Capacity: g.Dispatcher}, "", 1)
	assert.Error(t, err)
}
