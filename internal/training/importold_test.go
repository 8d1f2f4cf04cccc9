package training

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"groundhand/internal/exchange"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// An old spreadsheet as people keep it: 412 rows, of which 29 have days that can be read in two ways and 12 are copies of other rows; with
// headings of its own, ticks, blanks and remarks over merged cells. The figures are those of the invented company's plot.

// oldHeadings are the headings of the old spreadsheet; Signed and Remarks are no columns of ours.
var oldHeadings = []string{"Date of drill", "Staff No.", "Employee", "Technique", "Position", "Completed", "Signed", "Remarks"}

var oldMapping = []string{"date", "number", "name", "method", "role", "complete", "", ""}

// An oldRow is a row of the old spreadsheet; a day that is no text is a date cell where the form of the file has such.
type oldRow struct {
	day   groundhand.Date
	typed string // the day as typed; empty: a date cell
	cells []string
}

func oldRows() []oldRow {
	people := [][2]string{{"1002", "Maren Oduya"}, {"1003", "Tomasz Wieland"}, {"1004", "Keahi Barrow"}, {"1005", "Gideon Prewitt-Osei"}}
	first := groundhand.MustDate("2023-01-01")
	rest := func(i int) []string {
		p := people[i%4]
		return []string{p[0], p[1], "Pair kit", "lead", "yes", []string{"Y", ""}[i%2], []string{"", "", "wet  rope ", "=A1"}[i%4]}
	}
	var out []oldRow
	for i := range 371 {
		day := first.AddDays(i / 4)
		typed := ""
		if i%3 == 0 {
			typed = day.String()
		}
		out = append(out, oldRow{day, typed, rest(i)})
	}
	for i := range 29 {
		out = append(out, oldRow{0, fmt.Sprintf("%02d/%02d/23", 1+i%12, 1+i%11), rest(i)})
	}
	return append(out, out[:12]...)
}

func oldCSV(t *testing.T) []byte {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	require.NoError(t, w.Write(oldHeadings))
	for _, r := range oldRows() {
		require.NoError(t, w.Write(append([]string{r.shown()}, r.cells...)))
	}
	w.Flush()
	require.NoError(t, w.Error())
	return out.Bytes()
}

// shown is the day as it stands in a file of text.
func (r oldRow) shown() string {
	if r.typed == "" {
		return r.day.String()
	}
	return r.typed
}

func oldWorkbook(t *testing.T) []byte {
	f := excelize.NewFile()
	set := func(col, row int, v any) {
		at, err := excelize.CoordinatesToCellName(col, row)
		require.NoError(t, err)
		require.NoError(t, f.SetCellValue("Sheet1", at, v))
	}
	for i, h := range oldHeadings {
		set(1+i, 1, h)
	}
	for i, r := range oldRows() {
		if r.typed != "" {
			set(1, 2+i, r.typed)
		} else {
			set(1, 2+i, r.day.Start(time.UTC))
		}
		for j, c := range r.cells {
			if c != "" {
				set(2+j, 2+i, c)
			}
		}
	}
	// Merging keeps only the first text, so these are ranges in which the others are blank.
	require.NoError(t, f.MergeCell("Sheet1", "H2", "H3"))
	require.NoError(t, f.MergeCell("Sheet1", "G98", "H98"))
	var out bytes.Buffer
	require.NoError(t, f.Write(&out))
	return out.Bytes()
}

func TestImportOldSpreadsheet(t *testing.T) {
	if underRace {
		t.Skip("hundreds of rows, one after another; .ci/run reads them without the detector")
	}
	forms := map[string]struct {
		make func(t *testing.T) []byte
		tab  string
	}{"old.csv": {oldCSV, ""}, "old.xlsx": {oldWorkbook, "Sheet1"}}
	for name, form := range forms {
		t.Run(name, func(t *testing.T) {
			sc, body := newScene(t), form.make(t)
			old := func() ImportFile { return ImportFile{Name: name, Kind: exchange.Drills, Body: bytes.NewReader(body)} }

			foreign := sc.preview(old())
			assert.NotEmpty(t, foreign.Refusals, "headings that are not ours are not guessed at")
			assert.Zero(t, foreign.Rows)
			assert.Equal(t, oldMapping, foreign.Columns.Proposal.Meanings(), "%+v", foreign.Columns.Proposal)
			must(sc, sc.desk.SaveMapping, MappingForm{Title: "Old drill book", Headings: foreign.Columns.Proposal.Headings, Columns: foreign.Columns.Proposal.Meanings()})

			p := sc.preview(old())
			assert.Equal(t, []int{412, 371, 29, 12}, []int{p.Rows, len(p.New), len(p.Refusals), len(p.Known)})
			assert.Equal(t, "Old drill book", p.Columns.Title)
			for _, r := range p.Refusals {
				assert.Equal(t, "date", r.Column)
			}
			done := sc.imports(old(), Accept{Clean: true})
			assert.Equal(t, []int{371, 12}, []int{done.Written, done.Known})
			sc.keptOld(name, form.tab, done.Preview.Columns.Digest)

			again := sc.preview(old())
			assert.Empty(t, again.New)
			assert.Len(t, again.Known, 371+12)
			assert.Equal(t, sc.store.Now()/1000, again.Earlier/1000, "it is said that this very file was here before")
			done = sc.imports(old(), Accept{Clean: true})
			assert.Equal(t, []int{0, 371 + 12}, []int{done.Written, done.Known})
		})
	}
}

// keptOld expects every row to the letter, with what became of it.
func (sc *scene) keptOld(name, tab, digest string) {
	sc.t.Helper()
	kept, err := store.Find[groundhand.ImportRow](sc.ctx, sc.store, store.ByDigest, []string{digest})
	require.NoError(sc.t, err)
	require.Len(sc.t, kept, 412)
	people := map[string]groundhand.WorkerID{"1002": sc.maren, "1003": sc.tomasz, "1004": sc.keahi, "1005": sc.gideon}
	counts := map[groundhand.ImportOutcome]int{}
	for _, k := range kept {
		counts[k.Outcome]++
		row := oldRows()[k.RowNumber-2]
		want := append([]string{row.shown()}, row.cells...)
		for want[len(want)-1] == "" {
			want = want[:len(want)-1]
		}
		assert.Equal(sc.t, want, []string(k.Cells), "row %d", k.RowNumber)
		assert.Equal(sc.t, oldHeadings, []string(k.Headings))
		assert.Equal(sc.t, []string{name, tab}, []string{k.FileName, k.Sheet})
		assert.Equal(sc.t, people[row.cells[0]], k.WorkerID)
		assert.Equal(sc.t, groundhand.Imported, k.CameBy)
		sc.keptBecause(k)
	}
	assert.Equal(sc.t, map[groundhand.ImportOutcome]int{groundhand.RowTaken: 371, groundhand.RowRefused: 29, groundhand.RowDuplicate: 12}, counts)
}

// keptBecause expects a row that was taken, or says what was taken, to lead to its entry, and any other to say why.
func (sc *scene) keptBecause(k groundhand.ImportRow) {
	sc.t.Helper()
	if k.Outcome == groundhand.RowRefused {
		assert.Contains(sc.t, k.Problem, "A date: This is no day that can be read in only one way.")
		assert.Empty(sc.t, k.EntryID)
		return
	}
	part, err := store.Get[groundhand.RunPart](sc.ctx, sc.store, k.EntryID)
	require.NoError(sc.t, err)
	assert.Equal(sc.t, k.WorkerID, part.WorkerID)
	assert.Equal(sc.t, k.Cells[0], part.HappenedOn.String())
	assert.Equal(sc.t, k.Outcome == groundhand.RowDuplicate, k.Problem != "")
}

// What a preview says of everybody's standing is what is so after the import.
func TestImportStandings(t *testing.T) {
	sc := newScene(t)
	must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
	sc.rules()
	must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2024-02-01", ""))
	files := map[string]func() ImportFile{
		"drills": file(exchange.Drills, drillsHead,
			"2025-04-03,1002,,pair kit,lead,F1,,,yes,1005,,,", "2025-04-03,1003,,pair kit,second,F1,,,yes,1005,,,", "03/04/25,1004,,pair kit,lead,F1,,,yes,1005,,,"),
		"assessments": file(exchange.Assessments, passesHead,
			"2025-05-03,1002,,pair kit,lead,F1,pass,1005,", "2025-05-04,1003,,pair kit,second,F1,fail,1005,hazard check"),
		"crews":  file(exchange.Crews, crewsHead, "V2,,,,1003,,foreman,permanent,2024-05-01,"),
		"people": file(exchange.People, peopleHead, "2001,Ifeoma Brandt,Halverra Lines,employee,qualified,,VARROW,2023-01-02"),
	}
	for _, name := range []string{"drills", "assessments", "crews", "people"} {
		t.Run(name, func(t *testing.T) {
			before := sc.stands(sc.preview(files[name]()).Standings)
			p := sc.preview(files[name]())
			require.Empty(t, p.Unjudged)
			assert.Equal(t, today, p.Judged)
			if name != "people" { // of whom nothing is asked before they are in a crew
				require.NotEmpty(t, p.Standings)
			}
			changed := 0
			for i, c := range p.Standings {
				assert.Equal(t, before[i], c.Before, "before: %s %s", c.Name, c.Method)
				if c.Changed() {
					changed++
				}
			}
			assert.Equal(t, name == "drills" || name == "assessments", changed > 0)
			sc.imports(files[name](), Accept{Clean: true})
			after := sc.stands(p.Standings)
			for i, c := range p.Standings {
				assert.Equal(t, after[i], c.After, "after: %s %s", c.Name, c.Method)
				assert.NotEmpty(t, c.Name)
			}
		})
	}
}

// stands asks the records for the same lines.
func (sc *scene) stands(changes []StandingChange) []Stand {
	sc.t.Helper()
	var out []Stand
	for _, c := range changes {
		found, err := sc.desk.roll.Standings(sc.ctx, standingQuestion(c))
		require.NoError(sc.t, err)
		require.Len(sc.t, found, 1)
		out = append(out, standOf(found[0].Answer))
	}
	return out
}

func (sc *scene) rules() {
	sc.t.Helper()
	for _, set := range rulebook.Shipped() {
		must(sc, sc.desk.AddRuleSet, ShippedRules(set, "Alasdair Nwosu-Kerr"))
	}
}

// A company may read in its records before it has rules: the rows are looked at all the same.
func TestImportWithoutRules(t *testing.T) {
	sc := newScene(t)
	p := sc.preview(table(exchange.Drills, drillsHead, "2025-04-03,1002,,pair kit,lead,F1,,,yes,1005,,,"))
	assert.Equal(t, []int{2}, p.New)
	assert.Empty(t, p.Standings)
	assert.Contains(t, p.Unjudged, "rule set")
}

func TestImportKeepsWhatWasLeftOut(t *testing.T) {
	sc := newScene(t)
	mixed := file(exchange.Drills, drillsHead,
		"2024-04-03,1002,,pair kit,lead,F1,,,yes,,,,",
		"2024-04-05,1004,,pair kit,lead,F1,,,yes,,,,",
		"03/04/24,1003,,pair kit,lead,F1,,,yes,,,,",
		"2024-04-03, 1002,,pair kit,LEAD,F1,,,YES,,,,",
		"2024-04-05,999,,pair kit,lead,F1,,,yes,,,,")
	outcomes := func(accept Accept) []string {
		digest := sc.imports(mixed(), accept).Preview.Columns.Digest
		kept, err := store.Find[groundhand.ImportRow](sc.ctx, sc.store, store.ByDigest, []string{digest})
		require.NoError(t, err)
		var out []string
		for _, k := range kept[len(kept)-5:] {
			out = append(out, fmt.Sprint(k.RowNumber, " ", k.Outcome))
		}
		return out
	}
	assert.Equal(t, []string{"2 TAKEN", "3 LEFT_OUT", "4 REFUSED", "5 DUPLICATE", "6 LEFT_OUT"}, outcomes(Accept{Rows: []int{2}}))
	assert.Equal(t, []string{"2 DUPLICATE", "3 TAKEN", "4 REFUSED", "5 DUPLICATE", "6 REFUSED"}, outcomes(Accept{Clean: true}))
}

func TestImportCleanOfNothing(t *testing.T) {
	sc := newScene(t)
	bad := file(exchange.Drills, drillsHead, "03/04/24,1003,,pair kit,lead,F1,,,yes,,,,")
	sc.refused(func() error {
		_, err := sc.desk.Import(sc.ctx, sc.coordinator, sc.key(), bad(), Accept{Clean: true})
		return err
	}, "INVALID rows[2].date")
}

func standingQuestion(c StandingChange) rollcall.StandingQuestion {
	return rollcall.StandingQuestion{Workers: []groundhand.WorkerID{c.WorkerID}, On: today,
		Lines: []rollcall.Asked{{Method: c.Method, Role: c.Role, FamilyID: c.FamilyID}}}
}
