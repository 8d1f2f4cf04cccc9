package audit_test

import (
	"fmt"
	"math/big"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/audit"
	g "groundhand/internal/groundhand"
)

// The upper tails of the binomial distribution as its printed tables have them, to four places (n, p, P(X <= k-1) from the tables; from memory).
func TestTheTailIsThatOfThePrintedTables(t *testing.T) {
	for _, c := range []struct {
		n, k  int
		p     *big.Rat
		below string
	}{
		{10, 5, big.NewRat(1, 5), "0.9672"}, {20, 8, big.NewRat(1, 5), "0.9679"}, {5, 3, big.NewRat(1, 2), "0.5000"}, {10, 1, big.NewRat(1, 10), "0.3487"},
		{15, 4, big.NewRat(1, 5), "0.6482"},
	} {
		below := new(big.Rat).Sub(big.NewRat(1, 1), audit.Tail(c.n, c.k, c.p))
		assert.Equal(t, c.below, below.FloatString(4), "n=%d k=%d", c.n, c.k)
	}
	assert.Equal(t, "1", audit.Tail(7, 0, big.NewRat(1, 5)).RatString())
	assert.Equal(t, "1/78125", audit.Tail(7, 7, big.NewRat(1, 5)).RatString())
}

var start = time.Date(2024, 12, 10, 13, 0, 0, 0, time.UTC)

// day makes runs before one person, a given number of minutes apart, each with a part, a pass and times.
func day(minutes float64, times ...[]int) audit.Facts {
	f := audit.Facts{Zone: time.UTC, Yards: map[g.RunID]g.YardID{}, Roads: map[[2]g.YardID]int{}, Spoken: map[g.EntryID]bool{}}
	for i, seconds := range times {
		at := g.InstantOf(start.Add(time.Duration(float64(i) * minutes * float64(time.Minute))))
		told := g.Recorded{HappenedOn: g.MustDate("2024-12-10"), HappenedAt: at, RecordedAt: at}
		run := g.Run{ID: g.RunID(fmt.Sprint("r", i)), Recorded: told, Method: g.PairKit, WatchedBy: "boss", Marks: g.StageMarks{{Stage: g.S0}}}
		for k, s := range seconds {
			run.Marks = append(run.Marks, g.StageMark{Stage: g.Stage(k + 1), Seconds: s})
		}
		part := g.RunPart{ID: g.EntryID(fmt.Sprint("p", i)), Recorded: told, RunID: run.ID, WorkerID: g.WorkerID(fmt.Sprint("w", i)), Role: g.Lead}
		pass := g.Assessment{ID: g.EntryID(fmt.Sprint("a", i)), Recorded: told, WorkerID: part.WorkerID, AssessorID: "boss", RunPartID: part.ID, Result: g.Pass}
		f.Runs, f.Parts, f.Assessments = append(f.Runs, run), append(f.Parts, part), append(f.Assessments, pass)
	}
	return f
}

func kinds(findings []audit.Finding) []audit.FindingKind {
	var out []audit.FindingKind
	for _, f := range findings {
		out = append(out, f.Kind)
	}
	return out
}

func TestFourteenPassesInFiftyMinutesAllOnFives(t *testing.T) {
	times := make([][]int, 14)
	for i := range times {
		times[i] = []int{10 + 5*i, 20 + 5*i, 45 + 5*i}
	}
	got := audit.Screens(day(50./13, times...))
	require.Equal(t, []audit.FindingKind{audit.HeapedTimes, audit.TooManyRuns}, kinds(got))
	assert.Contains(t, got[0].Question, "42 of 42 times end on a five or a nought; read off a watch about 8 would, and so many or more less than once in a thousand million such sheets.")
	assert.Contains(t, got[1].Question, "14 runs with 14 passes began between 13:00 and 13:50, one every 3.8 minutes")
	assert.Len(t, got[1].Entries, 28, "runs and passes")
	assert.Len(t, got[1].Workers, 15)
}

func TestAnOrdinaryMorningRaisesNoQuestion(t *testing.T) {
	assert.Empty(t, audit.Screens(day(12, []int{8, 13, 21, 47}, []int{9, 12, 20, 51}, []int{7, 14, 23, 44}, []int{8, 12, 22, 46}, []int{10, 15, 21, 48})))
	assert.Empty(t, audit.Screens(day(3, []int{8}, []int{9}, []int{7})), "three runs say nothing about a throughput")
	assert.Empty(t, audit.Screens(audit.Facts{Zone: time.UTC}))
}

func TestTheSameSplitsTwice(t *testing.T) {
	got := audit.Screens(day(12, []int{8, 13, 21, 47}, []int{9, 13, 21, 47}, []int{8, 13, 21, 47}))
	require.Equal(t, []audit.FindingKind{audit.SameSplits}, kinds(got))
	assert.Equal(t, []g.EntryID{"r0", "r2", "a0", "a2"}, got[0].Entries)
	assert.Empty(t, audit.Screens(day(12, []int{8, 13}, []int{8, 13})), "two marks alike are chance")
}

func TestTwoYardsNearerThanTheRoad(t *testing.T) {
	f := day(40, []int{8}, []int{9})
	f.Parts[1].WorkerID = f.Parts[0].WorkerID
	f.Yards = map[g.RunID]g.YardID{"r0": "VARROW", "r1": "HOLLOW"}
	f.Roads = map[[2]g.YardID]int{{"VARROW", "HOLLOW"}: 95, {"HOLLOW", "VARROW"}: 95}
	got := audit.Screens(f)
	require.Equal(t, []audit.FindingKind{audit.TooFast}, kinds(got))
	assert.Contains(t, got[0].Question, "at yard HOLLOW 40 minutes later; the road takes 95")
	f.Roads = nil
	assert.Empty(t, audit.Screens(f), "forty minutes, and nobody knows the road")
	f.Runs[1].HappenedAt = f.Runs[0].HappenedAt
	assert.Contains(t, audit.Screens(f)[0].Question, "0 minutes later; nobody entered how long the road takes")
	f = day(40, []int{8}, []int{9})
	f.Parts[1].WorkerID = f.Parts[0].WorkerID
	f.Yards = map[g.RunID]g.YardID{"r0": "VARROW", "r1": "HOLLOW"}
	f.Roads = map[[2]g.YardID]int{{"VARROW", "HOLLOW"}: 40}
	assert.Empty(t, audit.Screens(f), "forty minutes are enough for a road of forty")
}

func TestPeopleWhoAssessEachOtherAreShown(t *testing.T) {
	f := day(12, []int{8}, []int{9})
	f.Assessments[0].AssessorID, f.Assessments[1].AssessorID = "w1", "w0"
	assert.Equal(t, []audit.FindingKind{audit.OneAnother}, kinds(audit.Screens(f)))
	f.Assessments[1].HappenedOn++
	assert.Empty(t, audit.Screens(f), "not on one day")
}

func TestWhatAnotherEntrySpeaksAgainst(t *testing.T) {
	f := day(12, []int{8}, []int{9})
	f.Spoken = map[g.EntryID]bool{"r0": true, "p0": true, "p1": true}
	got := audit.Screens(f)
	require.Equal(t, []audit.FindingKind{audit.Contradicted, audit.Contradicted}, kinds(got))
	assert.Equal(t, []g.EntryID{"r0", "a0"}, got[0].Entries, "the run stands for its part")
	assert.Equal(t, []g.EntryID{"p1"}, got[1].Entries)
}

// More passes never take one out of the running: of two samples with one seed the smaller is the beginning of the larger, whatever the order of the records.
func TestADrawDependsOnSeedAndIdsAlone(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		ids := rapid.SliceOfNDistinct(rapid.StringN(1, 8, -1), 1, 30, rapid.ID).Draw(rt, "ids")
		seed := rapid.Int64().Draw(rt, "seed")
		passes := make([]g.Assessment, len(ids))
		for i, id := range ids {
			passes[i].ID = g.EntryID(id)
		}
		all := audit.Draw(seed, len(ids), passes)
		n := rapid.IntRange(1, len(ids)).Draw(rt, "n")
		shuffled := rapid.Permutation(passes).Draw(rt, "order")
		require.Equal(rt, all[:n], audit.Draw(seed, n, shuffled))
	})
	// SHA-256 of "1:E1", by sha256sum: printf 1:E1 | sha256sum
	one := audit.Draw(1, 1, []g.Assessment{{ID: "E1"}})
	assert.Equal(t, shaOfOneE1, one[0].Digest)
}

const shaOfOneE1 = "f9cd124b2f1053f1fc34b28a6f8f8868ae6a3b747af3b762ab58e1d240d7e9a7"
