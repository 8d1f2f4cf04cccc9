package training

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/exchange"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// someDrills makes files of drills in which good rows, copies, parts of one run and rows of every kind of refusal meet.
var someDrills = rapid.Custom(func(t *rapid.T) string {
	of := func(words ...string) string { return rapid.SampledFrom(words).Draw(t, "cell") }
	lines := []string{drillsHead}
	for range rapid.IntRange(1, 8).Draw(t, "rows") {
		lines = append(lines, strings.Join([]string{
			of("2025-04-03", "2025-04-03", "2025-04-04", "2024-03-01", "2024-03-02", "03/04/24", "2026-01-01"), of("1002", "1003", "1004", "1002", "1004", "999"), of("", "", "Maren Oduya"),
			of("pair kit", "pair kit", "lone kit", "Pair-Kit"), of("lead", "lead", "second", "lone", "observer"), of("F1", "F1", "F3", ""), of("", "", "", "A04", "X1"), of("", "", "r"),
			of("yes", "yes", "yes", "no", "Y"), of("1005", "1005", "", "1003"), of("", "0"), of("", "95"), of("", "104", "104", "9"),
		}, ","))
	}
	return strings.Join(lines, "\n")
})

// Whatever stands in a file: each row is new, known or refused; an import does what its preview said, of the rows and of the standings;
// every row is kept with what became of it; and a second time nothing is new.
func TestImportLaws(t *testing.T) {
	if underRace {
		t.Skip("hundreds of rows, one after another; .ci/run reads them without the detector")
	}
	sc := newScene(t)
	sc.rules()
	must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2024-02-01", ""))
	must(sc, sc.desk.JoinCrew, member("V2", sc.tomasz, "2024-02-01", ""))
	taken := 0
	for i := range 40 {
		body := someDrills.Example(i)
		p := sc.preview(table(exchange.Drills, body))
		sc.eachRowOnce(p)
		out, err := sc.desk.Import(sc.ctx, sc.coordinator, sc.key(), table(exchange.Drills, body), Accept{Clean: true})
		assert.Equal(t, []any{p.New, p.Known, p.Refusals}, []any{out.Preview.New, out.Preview.Known, out.Preview.Refusals}, body)
		if len(p.New)+len(p.Known) == 0 {
			require.Error(t, err)
			continue
		}
		require.NoError(t, err, body)
		taken += out.Written
		for j, stand := range sc.stands(p.Standings) {
			assert.Equal(t, p.Standings[j].After, stand, body)
		}
		sc.keptOnce(p, body)
		again := sc.preview(table(exchange.Drills, body))
		assert.Empty(t, again.New, body)
		assert.Equal(t, cells(p), cells(again), body)
		for _, c := range again.Standings {
			assert.False(t, c.Changed(), body)
		}
	}
	assert.Greater(t, taken, 20, "the files are not all refused")
}

func (sc *scene) eachRowOnce(p ImportPreview) {
	sc.t.Helper()
	seen := map[int]int{}
	for _, row := range p.New {
		seen[row]++
	}
	for _, k := range p.Known {
		seen[k.Row]++
	}
	refused := map[int]bool{}
	for _, r := range p.Refusals {
		refused[r.Row] = true
	}
	for row := range refused {
		seen[row]++
	}
	assert.Len(sc.t, seen, p.Rows)
	for row, n := range seen {
		assert.Equal(sc.t, 1, n, "row %d", row)
	}
}

// keptOnce expects the rows of a file to be kept in the way its preview said.
func (sc *scene) keptOnce(p ImportPreview, body string) {
	sc.t.Helper()
	kept, err := store.Find[groundhand.ImportRow](sc.ctx, sc.store, store.ByDigest, []string{p.Columns.Digest})
	require.NoError(sc.t, err)
	require.Len(sc.t, kept, p.Rows)
	count := map[groundhand.ImportOutcome]int{}
	for i, k := range kept {
		count[k.Outcome]++
		assert.Equal(sc.t, strings.TrimRight(strings.Split(body, "\n")[i+1], ","), strings.Join(k.Cells, ","))
	}
	assert.Equal(sc.t, fmt.Sprint(len(p.New), len(p.Known), 0), fmt.Sprint(count[groundhand.RowTaken], count[groundhand.RowDuplicate], count[groundhand.RowLeftOut]))
}
