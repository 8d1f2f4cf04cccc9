package runsheet

import (
	"encoding/json"
	"fmt"
	"strings"

	"groundhand/internal/groundhand"
)

// SheetFormat is the name of the JSON form of a Sheet.
const SheetFormat = "drill-sheet/1"

// Sheet is the order of the runs. Bound holds, level by level, a figure below which no sheet can come; each speaks of sheets that are no
// worse than this one at the levels before it.
type Sheet struct {
	Problem      string  `json:"problem"`
	Runs         []Run   `json:"runs"`
	Objective    Figures `json:"objective"`
	Bound        Figures `json:"bound"`
	ProvedLevels int     `json:"proved_levels"` // leading levels where figure and bound are equal
}

// Run is one timed run: a pair run with a lead and a second, or a lone run. Without a timekeeper the instructor keeps the time.
type Run struct {
	Lead       string
	Second     string
	Lone       string
	Timekeeper string
}

// Figures are the six figures of a sheet, smaller is better, compared in this order.
type Figures struct {
	Runs             int `json:"runs"`
	RepeatPairs      int `json:"repeat_pairs"`      // pair runs beyond the first of each couple
	PairCost         int `json:"pair_cost"`         // for each pair run, how often the two were paired before, and two more if not of one crew
	BackToBack       int `json:"back_to_back"`      // times that the same person leads or rescues alone in two runs in a row
	WaitSquares      int `json:"wait_squares"`      // squares of the stretches of runs that somebody who rescues spends waiting, in all
	TimekeeperSpread int `json:"timekeeper_spread"` // most turns at keeping the time less fewest, over everybody present
}

// notOfOneCrew is what a pair run of two crews costs beside the times they were paired before.
const notOfOneCrew = 2

// Levels lists the figures in the order in which they count.
func (f Figures) Levels() [6]int {
	return [6]int{f.Runs, f.RepeatPairs, f.PairCost, f.BackToBack, f.WaitSquares, f.TimekeeperSpread}
}

// LevelNames are the names of the figures in the order of Levels.
var LevelNames = [6]string{"runs", "repeat_pairs", "pair_cost", "back_to_back", "wait_squares", "timekeeper_spread"}

func figuresOf(v [6]int) Figures { return Figures{v[0], v[1], v[2], v[3], v[4], v[5]} }

// Less says that f is better: smaller at the first level where they differ.
func (f Figures) Less(than Figures) bool {
	a, b := f.Levels(), than.Levels()
	for i := range a {
		if a[i] != b[i] {
			return a[i] < b[i]
		}
	}
	return false
}

// MarshalJSON writes the drill-sheet/1 form.
func (s Sheet) MarshalJSON() ([]byte, error) {
	type plain Sheet
	if s.Runs == nil {
		s.Runs = []Run{}
	}
	return json.Marshal(struct {
		Format string `json:"format"`
		plain
	}{SheetFormat, plain(s)})
}

// MarshalJSON writes a pair run or a lone run; nobody keeping the time is null.
func (r Run) MarshalJSON() ([]byte, error) {
	var timekeeper *string
	if r.Timekeeper != "" {
		timekeeper = &r.Timekeeper
	}
	if r.Lone != "" {
		return json.Marshal(struct {
			Lone       string  `json:"lone"`
			Timekeeper *string `json:"timekeeper"`
		}{r.Lone, timekeeper})
	}
	return json.Marshal(struct {
		Lead       string  `json:"lead"`
		Second     string  `json:"second"`
		Timekeeper *string `json:"timekeeper"`
	}{r.Lead, r.Second, timekeeper})
}

// NoSheet says why no sheet gives everybody what he needs.
type NoSheet struct {
	MaxRuns   int
	PairRuns  int    // fewest pair runs that are needed
	LoneRuns  int    // fewest lone runs that are needed
	NoPartner string // the only one present, who needs a partner; empty: it is the number of runs that does not fit
}

func (e *NoSheet) Error() string {
	var says []string
	if e.NoPartner != "" {
		says = append(says, fmt.Sprintf("people: %s needs a run with a lead and a second, and nobody else is present; call a helper", e.NoPartner))
	}
	if needed := e.PairRuns + e.LoneRuns; needed > e.MaxRuns {
		says = append(says, fmt.Sprintf("max_runs: %d pair runs and %d lone runs are needed, %d in all, and there is time for %d; allow more or invite fewer people",
			e.PairRuns, e.LoneRuns, needed, e.MaxRuns))
	}
	return strings.Join(says, "\n")
}

// Unwrap makes errors.Is(err, groundhand.CodeConflict) true.
func (e *NoSheet) Unwrap() error { return groundhand.CodeConflict }
