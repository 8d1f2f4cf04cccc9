package training

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/exchange"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

func table(kind exchange.Kind, lines ...string) ImportFile {
	return ImportFile{Name: string(kind) + ".csv", Kind: kind, Body: strings.NewReader(strings.Join(lines, "\n"))}
}

// file gives the same file as often as it is asked for.
func file(kind exchange.Kind, lines ...string) func() ImportFile {
	return func() ImportFile { return table(kind, lines...) }
}

func (sc *scene) preview(f ImportFile) ImportPreview {
	sc.t.Helper()
	before := sc.rows()
	p, err := sc.desk.Preview(sc.ctx, sc.coordinator, f)
	require.NoError(sc.t, err)
	assert.Equal(sc.t, before, sc.rows(), "a preview keeps nothing")
	return p
}

func (sc *scene) imports(f ImportFile, accept Accept) Imported {
	sc.t.Helper()
	out, err := sc.desk.Import(sc.ctx, sc.coordinator, sc.key(), f, accept)
	require.NoError(sc.t, err, "%+v", out.Preview.Refusals)
	return out
}

// places of refusals, as letter, row and code.
func cells(p ImportPreview) []string {
	var out []string
	for _, r := range p.Refusals {
		out = append(out, fmt.Sprintf("%s%d %s", r.Letter, r.Row, r.Code))
	}
	return out
}

const (
	peopleHead = "number,name,employer,relation,grade,year,yard,from"
	crewsHead  = "crew,yard,kind,normal size,number,name,part,reason,from,to"
	drillsHead = "date,number,name,method,role,family,device,run,complete,watched by,s0,s7,s8"
	passesHead = "date,number,name,method,role,family,result,assessor,failed step"
)

func TestImportPeople(t *testing.T) {
	sc := newScene(t)
	people := file(exchange.People, peopleHead,
		"00123,Ifeoma Brandt,Halverra Lines,employee,qualified,,VARROW,2023-01-02",
		"2001,Linh Abara,Halverra Lines,employee,apprentice,3,STENHOLT,2023-01-02")
	p := sc.preview(people())
	assert.Equal(t, ImportPreview{Name: "people.csv", Kind: exchange.People, Rows: 2, New: []int{2, 3}}, ImportPreview{Name: p.Name, Kind: p.Kind, Rows: p.Rows, New: p.New, Known: p.Known, Refusals: p.Refusals})

	assert.Equal(t, 2, sc.imports(people(), Accept{All: true}).Written)
	found, err := store.Find[groundhand.Worker](sc.ctx, sc.store, store.ByNumber, []string{"00123"})
	require.NoError(t, err)
	require.Len(t, found, 1)
	assert.Equal(t, groundhand.Imported, found[0].CameBy)
	assert.Equal(t, groundhand.MustDate("2023-01-02"), found[0].HappenedOn)
	assert.Equal(t, sc.henrike, found[0].AuthorID)
	sc.nothingNew(people, 2)
}

// nothingNew imports a file again, under another key, and expects that only the act is written.
func (sc *scene) nothingNew(f func() ImportFile, known int) {
	sc.t.Helper()
	before := sc.rows()
	out := sc.imports(f(), Accept{All: true})
	assert.Equal(sc.t, 0, out.Written)
	assert.Equal(sc.t, known, out.Known)
	after := sc.rows()
	assert.Equal(sc.t, before["acts"]+1, after["acts"])
	before["acts"], after["acts"] = 0, 0
	assert.Equal(sc.t, before, after)
}

func TestImportCrews(t *testing.T) {
	sc := newScene(t)
	crews := file(exchange.Crews, crewsHead,
		"V1,,,,1002,Maren Oduya,foreman,permanent,2024-02-01,",
		"S9,STENHOLT,fault,3,1003,,member,permanent,2024-02-01,",
		"S9,,,,1004,,member,permanent,2024-02-01,2024-12-31",
		"V1,,,,1004,,member,loan,2024-03-01,2024-03-31")
	sc.preview(crews())
	out := sc.imports(crews(), Accept{All: true})
	assert.Equal(t, 4, out.Written)
	crew, err := store.Get[groundhand.Crew](sc.ctx, sc.store, groundhand.CrewID("S9"))
	require.NoError(t, err)
	assert.Equal(t, groundhand.FaultCrew, crew.Kind)
	assert.Equal(t, groundhand.Imported, crew.CameBy)
	sc.nothingNew(crews, 4)
}

func TestImportDrills(t *testing.T) {
	sc := newScene(t)
	drills := file(exchange.Drills, drillsHead,
		"2024-04-03,1002,Maren Oduya,pair kit,lead,,A04,a,yes,1005,0,95,104",
		"2024-04-03,1003,,pair kit,second,,A04,a,yes,1005,0,95,104",
		"2024-04-03,1002,,pair kit,lead,F1,A04,b,yes,1005,,,",
		"2024-04-03,1002,,pair kit,lead,F1,A04,c,yes,1005,,,",
		"2023-09-01,1004,,lone kit,lone,,,,yes,,,,")
	assert.Equal(t, []int{2, 3, 4, 5, 6}, sc.preview(drills()).New)
	before := sc.rows()
	sc.imports(drills(), Accept{All: true})
	after := sc.rows()
	assert.Equal(t, before["runs"]+4, after["runs"], "rows with one reference are one run, rows without are runs of their own")
	assert.Equal(t, before["parts"]+5, after["parts"])

	parts, err := store.Find[groundhand.RunPart](sc.ctx, sc.store, store.ByWorker, []groundhand.WorkerID{sc.tomasz})
	require.NoError(t, err)
	require.Len(t, parts, 1)
	run, err := store.Get[groundhand.Run](sc.ctx, sc.store, parts[0].RunID)
	require.NoError(t, err)
	assert.Equal(t, groundhand.FamilyID("F1"), run.FamilyID, "the family of the device")
	assert.Equal(t, groundhand.StageMarks{{Stage: 0}, {Stage: 7, Seconds: 95}, {Stage: 8, Seconds: 104}}, run.Marks)
	assert.Equal(t, sc.gideon, run.WatchedBy)
	assert.True(t, run.Complete)
	assert.Equal(t, groundhand.Imported, parts[0].CameBy)
	sc.nothingNew(drills, 5)
}

func TestImportAssessments(t *testing.T) {
	sc := newScene(t)
	must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
	passes := file(exchange.Assessments, passesHead,
		"2024-04-03,1002,Maren Oduya,pair kit,lead,F1,pass,1005,",
		"2024-04-04,1003,,pair kit,second,F1,fail,1005,hazard check")
	assert.Equal(t, []int{2, 3}, sc.preview(passes()).New)
	sc.imports(passes(), Accept{All: true})
	found, err := store.Find[groundhand.Assessment](sc.ctx, sc.store, store.ByWorker, []groundhand.WorkerID{sc.tomasz})
	require.NoError(t, err)
	require.Len(t, found, 1)
	assert.True(t, found[0].Critical())
	sc.nothingNew(passes, 2)
}

// Every rule of the forms holds for a row too, and every refusal stands at its cell.
func TestImportRules(t *testing.T) {
	sc := newScene(t)
	must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
	must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2024-02-01", ""))
	cases := []struct {
		name string
		file ImportFile
		want []string
	}{
		{"a day in more than one reading", table(exchange.Drills, drillsHead, "03/04/24,1002,,pair kit,lead,F1,,,yes,,,,"), []string{"A2 INVALID"}},
		{"a drill that lies ahead", table(exchange.Drills, drillsHead, "2025-06-12,1002,,pair kit,lead,F1,,,yes,,,,"), []string{"A2 INVALID"}},
		{"a person, a device and a family nobody knows", table(exchange.Drills, drillsHead, "2025-06-10,999,,pair kit,lead,F9,X99,,yes,998,,,"),
			[]string{"B2 NOT_FOUND", "J2 NOT_FOUND", "F2 NOT_FOUND", "G2 NOT_FOUND"}},
		{"a device of another family", table(exchange.Drills, drillsHead, "2025-06-10,1002,,pair kit,lead,F3,A04,,yes,,,,"), []string{"F2 CONFLICT"}},
		{"a name that is not the number's", table(exchange.Drills, drillsHead, "2025-06-10,1002,Tomasz Wieland,pair kit,lead,F1,,,yes,,,,"), []string{"C2 CONFLICT"}},
		{"a role that the method has not", table(exchange.Drills, drillsHead, "2025-06-10,1002,,pair kit,lone,F1,,,yes,,,,"), []string{"E2 INVALID"}},
		{"marks that decrease", table(exchange.Drills, drillsHead, "2025-06-10,1002,,pair kit,lead,F1,,,yes,,9,8,7"), []string{"L2 INVALID", "M2 INVALID"}},
		{"a rescuer who watched", table(exchange.Drills, drillsHead, "2025-06-10,1002,,pair kit,lead,F1,,,yes,1002,,,"), []string{"B2 INVALID"}},
		{"two leads in one run, and rows that tell it differently", table(exchange.Drills, drillsHead,
			"2025-06-10,1002,,pair kit,lead,F1,,r,yes,,,,", "2025-06-10,1003,,pair kit,lead,F1,,r,no,,,,"), []string{"H2 CONFLICT", "I3 CONFLICT", "E3 INVALID"}},
		{"an assessment of self", table(exchange.Assessments, passesHead, "2025-06-10,1005,,pair kit,lead,F1,pass,1005,"), []string{"H2 INVALID"}},
		{"an assessor without authority that day", table(exchange.Assessments, passesHead, "2025-06-10,1002,,pair kit,lead,F3,pass,1005,", "2023-12-31,1002,,pair kit,lead,F1,pass,1005,"),
			[]string{"H2 CONFLICT", "H3 CONFLICT"}},
		{"a pass with a step that failed", table(exchange.Assessments, passesHead, "2025-06-10,1002,,pair kit,lead,F1,pass,1005,hazard check"), []string{"G2 INVALID"}},
		{"a person in two places", table(exchange.Crews, crewsHead, "V2,,,,1002,,member,permanent,2024-05-01,"), []string{"I2 CONFLICT"}},
		{"a person in two places by the file alone", table(exchange.Crews, crewsHead, "V2,,,,1003,,member,permanent,2024-05-01,", "V1,,,,1003,,member,permanent,2024-06-01,"), []string{"I3 CONFLICT"}},
		{"a membership that ends before it begins", table(exchange.Crews, crewsHead, "V2,,,,1003,,member,permanent,2024-05-02,2024-05-01"), []string{"J2 INVALID"}},
		{"a loan without an end", table(exchange.Crews, crewsHead, "V2,,,,1003,,member,loan,2024-05-02,"), []string{"J2 INVALID"}},
		{"a crew that is not known and not described", table(exchange.Crews, crewsHead, "Z1,,,,1003,,member,permanent,2024-05-02,"), []string{"A2 NOT_FOUND"}},
		{"a crew described otherwise", table(exchange.Crews, crewsHead, "V1,STENHOLT,fault,2,1003,,member,permanent,2024-05-02,"), []string{"B2 CONFLICT", "C2 CONFLICT", "D2 CONFLICT"}},
		{"a staff number that somebody has", table(exchange.People, peopleHead, "1002,Another One,E,employee,ground,,VARROW,2024-01-01"), []string{"A2 CONFLICT"}},
		{"one staff number twice in the file", table(exchange.People, peopleHead, "7,One,E,employee,ground,,VARROW,2024-01-01", "7,Two,E,employee,ground,,VARROW,2024-01-01"), []string{"A3 CONFLICT"}},
		{"an apprentice without a year in a yard nobody knows", table(exchange.People, peopleHead, "7,One,E,employee,apprentice,,NOWHERE,2024-01-01"), []string{"F2 INVALID", "G2 NOT_FOUND"}},
		{"headings that do not fit", table(exchange.People, "number,name,shoe size", "7,One,44"), []string{"C1 INVALID", "1 INVALID", "1 INVALID", "1 INVALID", "1 INVALID", "1 INVALID"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			body := new(bytes.Buffer)
			_, err := body.ReadFrom(c.file.Body)
			require.NoError(t, err)
			again := ImportFile{Name: c.file.Name, Kind: c.file.Kind, Body: bytes.NewReader(body.Bytes())}
			c.file.Body = bytes.NewReader(body.Bytes())
			p := sc.preview(c.file)
			assert.ElementsMatch(t, c.want, cells(p), "%+v", p.Refusals)

			before := sc.rows()
			out, err := sc.desk.Import(sc.ctx, sc.coordinator, sc.key(), again, Accept{All: true})
			require.Error(t, err)
			assert.Len(t, groundhand.Refusals(err), len(p.Refusals))
			assert.Zero(t, out.Written)
			assert.Equal(t, p.New, out.Preview.New, "the import says what the preview said")
			assert.Equal(t, cells(p), cells(out.Preview))
			assert.Equal(t, before, sc.rows(), "nothing is written")
		})
	}
}

func TestImportAccept(t *testing.T) {
	sc := newScene(t)
	mixed := file(exchange.Drills, drillsHead,
		"2024-04-03,1002,,pair kit,lead,F1,,,yes,,,,",
		"03/04/24,1003,,pair kit,lead,F1,,,yes,,,,",
		"2024-04-03,1002,,pair kit,LEAD,F1,,,YES,,,,",
		"2024-04-05,1004,,pair kit,lead,F1,,,yes,,,,",
		"2024-04-05,999,,pair kit,lead,F1,,,yes,,,,")
	p := sc.preview(mixed())
	assert.Equal(t, []int{2, 5}, p.New)
	assert.Equal(t, []KnownRow{{Row: 4, SameAs: 2}}, p.Known)
	assert.Equal(t, []string{"A3 INVALID", "B6 NOT_FOUND"}, cells(p))

	refused := func(accept Accept, want ...string) {
		t.Helper()
		sc.refused(func() error {
			_, err := sc.desk.Import(sc.ctx, sc.coordinator, sc.key(), mixed(), accept)
			return err
		}, want...)
	}
	t.Run("one bad row among the accepted and nothing is written", func(t *testing.T) {
		refused(Accept{All: true}, "INVALID rows[3].date", "NOT_FOUND rows[6].number")
		refused(Accept{Rows: []int{2, 3, 5}}, "INVALID rows[3].date")
		refused(Accept{Rows: []int{2, 6}}, "NOT_FOUND rows[6].number")
	})
	t.Run("rows that the file has not", func(t *testing.T) {
		refused(Accept{Rows: []int{2, 1, 99}}, "INVALID accept[1]", "INVALID accept[2]")
		refused(Accept{}, "INVALID accept")
		refused(Accept{All: true, Rows: []int{2}}, "INVALID accept")
	})
	t.Run("the good rows alone", func(t *testing.T) {
		before := sc.rows()
		out := sc.imports(mixed(), Accept{Rows: p.New})
		assert.Equal(t, 2, out.Written)
		assert.Equal(t, before["parts"]+2, sc.rows()["parts"])
		again := sc.preview(mixed())
		assert.Empty(t, again.New)
		assert.Equal(t, []KnownRow{{2, 0}, {4, 2}, {5, 0}}, again.Known)
	})
	t.Run("a repetition is taken where the row it repeats is not", func(t *testing.T) {
		fresh := file(exchange.Drills, drillsHead, "2024-05-03,1002,,pair kit,lead,F1,,,yes,,,,", "2024-05-03,1002,,pair kit,lead,F1,,,yes,,,,")
		assert.Equal(t, 1, sc.imports(fresh(), Accept{Rows: []int{3}}).Written)
	})
}

func TestImportKey(t *testing.T) {
	sc := newScene(t)
	one := file(exchange.Drills, drillsHead, "2024-04-03,1002,,pair kit,lead,F1,,,yes,,,,")
	first, err := sc.desk.Import(sc.ctx, sc.coordinator, "k", one(), Accept{All: true})
	require.NoError(t, err)
	before := sc.rows()
	again, err := sc.desk.Import(sc.ctx, sc.coordinator, "k", one(), Accept{All: true})
	require.NoError(t, err)
	assert.Equal(t, first.Written, again.Written, "the same key gives the first answer")
	assert.Equal(t, before, sc.rows())
	_, err = sc.desk.Import(sc.ctx, sc.coordinator, "k", one(), Accept{Rows: []int{2}})
	assert.ErrorIs(t, err, groundhand.CodeConflict)
	_, err = sc.desk.Import(sc.ctx, sc.coordinator, "", one(), Accept{All: true})
	assert.ErrorIs(t, err, groundhand.CodeInvalid)
}

func TestImportKnown(t *testing.T) {
	sc := newScene(t)
	t.Run("a drill typed in before is known", func(t *testing.T) {
		must(sc, sc.desk.RecordDrill, DrillForm{Runs: []RunForm{{When: When{On: groundhand.MustDate("2024-04-03")}, Method: groundhand.PairKit, FamilyID: "F1", Complete: true,
			Parts: []PartForm{{WorkerID: sc.maren, Role: groundhand.Lead}}}}})
		p := sc.preview(table(exchange.Drills, drillsHead, "2024-04-03,1002,,pair kit,lead,F1,,,yes,,,,"))
		assert.Equal(t, []KnownRow{{Row: 2}}, p.Known)
	})
	t.Run("one that was withdrawn does not come back", func(t *testing.T) {
		one := file(exchange.Drills, drillsHead, "2024-06-03,1003,,pair kit,lead,F1,,,yes,,,,")
		sc.imports(one(), Accept{All: true})
		parts, err := store.Find[groundhand.RunPart](sc.ctx, sc.store, store.ByWorker, []groundhand.WorkerID{sc.tomasz})
		require.NoError(t, err)
		_, err = sc.desk.Withdraw(sc.ctx, sc.coordinator, sc.key(), WithdrawalForm{EntryID: parts[len(parts)-1].ID, Because: "was another person"})
		require.NoError(t, err)
		sc.nothingNew(one, 1)
	})
	t.Run("a person missing from a recorded run is not made another run", func(t *testing.T) {
		sc.imports(table(exchange.Drills, drillsHead, "2024-07-03,1002,,pair kit,lead,F1,,r,yes,,,,"), Accept{All: true})
		p := sc.preview(table(exchange.Drills, drillsHead, "2024-07-03,1002,,pair kit,lead,F1,,r,yes,,,,", "2024-07-03,1003,,pair kit,second,F1,,r,yes,,,,"))
		assert.Equal(t, []string{"H3 CONFLICT"}, cells(p))
		assert.Equal(t, []KnownRow{{Row: 2}}, p.Known)
	})
}

func TestImportPermission(t *testing.T) {
	sc := newScene(t)
	for _, by := range []groundhand.Account{sc.hr, sc.assessor, sc.dispatcher, {}} {
		_, err := sc.desk.Preview(sc.ctx, by, table(exchange.People, peopleHead))
		require.Error(t, err)
		_, err = sc.desk.Import(sc.ctx, by, "k", table(exchange.People, peopleHead), Accept{All: true})
		require.Error(t, err)
		assert.NotErrorIs(t, err, groundhand.CodeInvalid, "the file is not even looked at")
	}
	_, err := sc.desk.Preview(sc.ctx, sc.coordinator, table(exchange.People))
	assert.ErrorIs(t, err, groundhand.CodeInvalid)
}
