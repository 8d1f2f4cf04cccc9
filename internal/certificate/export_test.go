package certificate

import (
	"bytes"
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/paper"
	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
)

// three certificates: 2025-0001 for April, 2025-0002 for May, 2025-0003 for June.
func (o *office) three() [3]groundhand.RunPart {
	o.Helper()
	parts := [3]groundhand.RunPart{o.run("lukasz", groundhand.Lead, "2025-04-10"), o.run("serban", groundhand.Lead, "2025-05-10"), o.run("gideon", groundhand.Lead, "2025-06-10")}
	for i, p := range parts {
		require.Equal(o, fmt.Sprintf("2025-%04d", i+1), string(o.issue(p.ID, "").ID))
	}
	return parts
}

func TestAnExportPicks(t *testing.T) {
	o := newOffice(t)
	o.three()
	add(o, groundhand.Crew{ID: "V2", Recorded: o.told("2024-01-01"), Name: "V2", YardID: "Y1", Kind: groundhand.LineCrew, NormalSize: 3, Families: groundhand.List{"F1"}})
	add(o, groundhand.Membership{ID: o.id(), Recorded: o.told("2025-05-01"), CrewID: "V2", WorkerID: "serban", Part: groundhand.Member, Reason: groundhand.Loan, FromOn: day("2025-05-01"), ToOn: day("2025-05-20")})
	for name, c := range map[string]struct {
		f    Filter
		want []string
	}{
		"everything":               {Filter{}, []string{"2025-0001", "2025-0002", "2025-0003"}},
		"from a day on":            {Filter{ShownFrom: day("2025-05-10")}, []string{"2025-0002", "2025-0003"}},
		"through a day":            {Filter{ShownThrough: day("2025-05-10")}, []string{"2025-0001", "2025-0002"}},
		"one day":                  {Filter{ShownFrom: day("2025-05-10"), ShownThrough: day("2025-05-10")}, []string{"2025-0002"}},
		"a crew, as it was then":   {Filter{Crew: "V1"}, []string{"2025-0001", "2025-0003"}},
		"a crew that borrowed":     {Filter{Crew: "V2"}, []string{"2025-0002"}},
		"numbers, in any order":    {Filter{Numbers: []groundhand.CertificateID{"2025-0003", "2025-0001", "2025-0003"}}, []string{"2025-0001", "2025-0003"}},
		"numbers, narrowed":        {Filter{Numbers: []groundhand.CertificateID{"2025-0003", "2025-0001"}, ShownFrom: day("2025-06-01")}, []string{"2025-0003"}},
		"nothing is an empty list": {Filter{ShownFrom: day("2025-06-11")}, []string{}},
	} {
		t.Run(name, func(t *testing.T) {
			got := o.export(c.f)
			assert.Equal(t, c.want, got.column("number"))
			assert.Equal(t, len(c.want), got.n)
			assert.Len(t, got.files, len(c.want)+1)
		})
	}
}

func TestAnExportIsRefusedWhole(t *testing.T) {
	o := newOffice(t)
	o.three()
	for name, c := range map[string]struct {
		by     groundhand.Account
		f      Filter
		code   groundhand.Code
		fields []string
	}{
		"all unknown numbers at once": {hr, Filter{Numbers: []groundhand.CertificateID{"2025-0099", "2025-0001", "'; DROP TABLE certificates"}}, groundhand.CodeNotFound,
			[]string{"numbers[0]", "numbers[2]"}},
		"days the wrong way round": {hr, Filter{ShownFrom: day("2025-05-02"), ShownThrough: day("2025-05-01")}, groundhand.CodeInvalid, []string{"shownThrough"}},
		"a crew that nobody has":   {hr, Filter{Crew: "V9"}, groundhand.CodeNotFound, []string{"crew"}},
		"too many numbers":         {hr, Filter{Numbers: make([]groundhand.CertificateID, paper.MaxBatch+1)}, groundhand.CodeTooLarge, []string{"numbers"}},
		"a dispatcher":             {dispatcher, Filter{}, groundhand.CodeForbidden, []string{""}},
		"nobody":                   {groundhand.Account{}, Filter{}, groundhand.CodeUnauthenticated, []string{""}},
	} {
		t.Run(name, func(t *testing.T) {
			var raw bytes.Buffer
			n, err := o.issuer.Export(o.ctx, c.by, c.f, &raw)
			assert.ErrorIs(t, err, c.code)
			var fields []string
			for _, e := range groundhand.Refusals(err) {
				fields = append(fields, e.Field)
			}
			assert.Equal(t, c.fields, fields)
			assert.Zero(t, n)
			assert.Zero(t, raw.Len(), "not a byte")
		})
	}
}

// A certificate that came in by another way than Issue, such as from an older version, may be one that no page can show.
func TestOnePageThatCannotBePrintedKeepsBackTheWhole(t *testing.T) {
	o := newOffice(t)
	parts := o.three()
	odd := o.issue(parts[0].ID, "R-C")
	odd.ID, odd.PersonName, odd.EvidenceID = "2025-0900", "李小龍", parts[1].ID
	add(o, odd)
	var raw bytes.Buffer
	_, err := o.issuer.Export(o.ctx, coordinator, Filter{}, &raw)
	assert.ErrorIs(t, err, groundhand.CodeInvalid)
	assert.Zero(t, raw.Len())
}

func TestTheSameRequestGivesTheSameBytes(t *testing.T) {
	o := newOffice(t)
	o.three()
	first := o.export(Filter{})
	o.clock.Advance(90 * time.Minute)
	again := o.export(Filter{Numbers: []groundhand.CertificateID{"2025-0003", "2025-0002", "2025-0001"}})
	assert.True(t, bytes.Equal(first.raw, again.raw), "later on the same day, and asked another way")
	o.clock.Advance(24 * time.Hour)
	assert.False(t, bytes.Equal(first.raw, o.export(Filter{}).raw), "a page says of which day its standing is")
}

func TestWhatIsNotToBeReliedOnSaysSo(t *testing.T) {
	const gone, replaced, over, idle, ended = "this certificate has been withdrawn", "what it rests on has been withdrawn or replaced", "what it rests on does not count any more",
		"the person is not current at present", "its last good day is over"
	for name, c := range map[string]struct {
		since func(o *office, parts [3]groundhand.RunPart)
		want  []string // of the three numbers
	}{
		"all good": {func(*office, [3]groundhand.RunPart) {}, []string{"good", "good", "good"}},
		"a part withdrawn": {func(o *office, parts [3]groundhand.RunPart) { o.withdraw(parts[0].ID) },
			[]string{replaced, "good", "good"}},
		"a run withdrawn whole": {func(o *office, parts [3]groundhand.RunPart) { o.withdraw(groundhand.EntryID(parts[0].RunID)) },
			[]string{replaced, "good", "good"}},
		"the withdrawal withdrawn": {func(o *office, parts [3]groundhand.RunPart) { o.withdraw(o.withdraw(parts[0].ID)) },
			[]string{"good", "good", "good"}},
		"credited to another person": {func(o *office, parts [3]groundhand.RunPart) {
			right := parts[0]
			right.ID, right.WorkerID, right.ReplacesID, right.Because, right.RecordedAt = o.id(), "gideon", parts[0].ID, "same name, other person", o.store.Now()
			add(o, right)
		}, []string{replaced, "good", "good"}},
		"the certificate withdrawn": {func(o *office, _ [3]groundhand.RunPart) { o.withdraw("2025-0002") },
			[]string{"good", gone, "good"}},
		"a suspension since, without its name": {func(o *office, _ [3]groundhand.RunPart) {
			add(o, groundhand.Suspension{ID: o.id(), Recorded: o.told("2025-06-10"), WorkerID: "serban", Method: groundhand.PairKit, Cause: "under review"})
		}, []string{"good", idle, "good"}},
		"graded an apprentice of the first year since, as it turns out": {func(o *office, _ [3]groundhand.RunPart) {
			add(o, groundhand.Grading{ID: o.id(), Recorded: o.told("2025-01-01"), WorkerID: "lukasz", Grade: groundhand.Apprentice, Year: 1})
		}, []string{over, "good", "good"}},
		"a year later": {func(o *office, _ [3]groundhand.RunPart) { o.clock.Set("2026-05-09T23:00:00+01:00") }, []string{ended, "good", "good"}},
	} {
		t.Run(name, func(t *testing.T) {
			o := newOffice(t)
			c.since(o, o.three())
			got := o.export(Filter{Numbers: []groundhand.CertificateID{"2025-0001", "2025-0002", "2025-0003"}})
			assert.Equal(t, c.want, got.column("standing"))
			for i, row := range got.rows {
				assert.Equal(t, "2026-0"+fmt.Sprint(4+i)+"-09", row["last_good_day"], "what was printed once stays printed")
			}
		})
	}
}

func TestWithoutNumbersAWithdrawnCertificateIsNotPicked(t *testing.T) {
	o := newOffice(t)
	o.three()
	o.withdraw("2025-0002")
	assert.Equal(t, []string{"2025-0001", "2025-0003"}, o.export(Filter{}).column("number"))
}

func TestAPageOfAWithdrawnPassCarriesTheWarning(t *testing.T) {
	o := newOffice(t)
	parts := o.three()
	page := func(by groundhand.Account, id groundhand.CertificateID) ([]byte, error) {
		var raw bytes.Buffer
		err := o.issuer.Paper(o.ctx, by, id, &raw)
		return raw.Bytes(), err
	}
	before, err := page(hr, "2025-0001")
	require.NoError(t, err)
	assert.True(t, bytes.HasPrefix(before, []byte("%PDF-")))
	same, err := page(hr, "2025-0001")
	require.NoError(t, err)
	assert.True(t, bytes.Equal(before, same))

	o.withdraw(parts[0].ID)
	after, err := page(hr, "2025-0001")
	require.NoError(t, err)
	cert := groundhand.Certificate{}
	sheets, err := o.issuer.sheets(o.ctx, func(seen *Issuer) ([]groundhand.Certificate, error) {
		certs, err := seen.candidates(o.ctx, []groundhand.CertificateID{"2025-0001"})
		cert = certs[0]
		return certs, err
	})
	require.NoError(t, err)
	assert.Equal(t, "what it rests on has been withdrawn or replaced", sheets[0].Standing, "the page puts it in a box under Not to be relied on")
	var drawn bytes.Buffer
	require.NoError(t, paper.Write(&drawn, sheets[0]))
	assert.True(t, bytes.Equal(drawn.Bytes(), after))
	assert.False(t, bytes.Equal(before, after))
	assert.Equal(t, "Thu 9 Apr 2026", cert.LastGoodDay.Words())

	_, err = page(hr, "2025-0099")
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
	none, err := page(dispatcher, "2025-0001")
	assert.ErrorIs(t, err, groundhand.CodeForbidden)
	assert.Empty(t, none)
}

func TestTheWordsOnASheet(t *testing.T) {
	o := newOffice(t)
	o.three()
	o.issue(o.assess("lukasz", groundhand.Pass, "2025-06-05").ID, "R-X")
	sheets, err := o.issuer.sheets(o.ctx, func(seen *Issuer) ([]groundhand.Certificate, error) { return seen.pick(o.ctx, Filter{}) })
	require.NoError(t, err)
	require.Len(t, sheets, 4)
	assert.Equal(t, paper.Sheet{
		Number: "2025-0001", Person: "Łukasz Dąbrowa-Żeleński", Employer: "A contractor (invented)", Issuer: "The employer (invented)",
		Method: "Bucket rescue, two on the ground, block-and-tackle kit", Role: "lead rescuer", ControlFamily: "F1, articulating, lever",
		ShownOn: day("2025-04-10"), ShownHow: "practice run done", Assessor: "Gideon Prewitt-Osei", RuleSet: "As R1, with lone rescue every six months",
		LastGoodDay: day("2026-04-09"), LastGoodDayRule: "12 months; the day before the anniversary of the day shown",
		CheckAddress: "https://records.example/certificates/2025-0001", IssuedOn: day("2025-06-11"), Standing: paper.Good, AsKnownAt: "Wed 11 Jun 2025",
	}, sheets[0])
	assert.Equal(t, "not recorded", sheets[2].Assessor, "gideon's own run had no watcher")
	assert.Equal(t, "practical assessment passed", sheets[3].ShownHow)
	assert.Contains(t, sheets[3].LastGoodDayRule, "end of the month")
}

func TestEveryWordThatACertificateCanNeedIsThere(t *testing.T) {
	for _, m := range groundhand.Methods {
		assert.NotEmpty(t, methodWords[m], m)
	}
	for _, r := range groundhand.Roles {
		assert.Equal(t, r.Rescues(), roleWords[r] != "", r)
	}
}

func TestEveryWayToReckonALastGoodDayHasWords(t *testing.T) {
	for _, c := range []competence.Convention{competence.DayBefore, competence.Anniversary, competence.Days365, competence.MonthEnd, competence.CalendarYear, competence.BaseMonth} {
		assert.NotEmpty(t, conventionWords[c], c)
	}
}

func TestStatementsDoNotGrowWithTheCertificates(t *testing.T) {
	o := newOffice(t)
	ask := func() uint64 {
		before := o.store.Statements()
		o.export(Filter{Crew: "V1"})
		return o.store.Statements() - before
	}
	o.issue(o.run("lukasz", groundhand.Lead, "2025-05-10").ID, "")
	few := ask()
	for i := range 10 {
		who := groundhand.WorkerID(fmt.Sprintf("w%02d", i))
		o.worker(who, fmt.Sprintf("Worker Number %d", i))
		o.issue(o.run(who, groundhand.Lead, "2025-05-10").ID, "")
	}
	assert.Equal(t, few, ask())
}

var errFull = errors.New("disk full")

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errFull }

func TestAWriterThatFailsIsToldSo(t *testing.T) {
	o := newOffice(t)
	o.three()
	_, err := o.issuer.Export(o.ctx, hr, Filter{}, fullDisk{})
	assert.ErrorIs(t, err, errFull)
}
