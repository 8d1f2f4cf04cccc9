package certificate

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/credential"
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
			assert.Equal(t, c.want, got.column("certificate_no"))
			assert.Equal(t, len(c.want), got.n)
			assert.Len(t, got.files, 2*len(c.want)+3+min(1, len(c.want)), "two for each, the note, the document, the list of what was withdrawn, the list")
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
			n, err := o.issuer.Export(o.ctx, c.by, c.f, &raw, nil)
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

// Whoever could write into the file of the records could put another name into what was signed. It would not go out.
func TestOneFileThatDoesNotVerifyKeepsBackTheWhole(t *testing.T) {
	o := newOffice(t)
	parts := o.three()
	odd := o.issue(parts[0].ID, "R-C")
	odd.ID, odd.EvidenceID, odd.StatusIndex = "2025-0900", parts[1].ID, (odd.StatusIndex+1)%credential.ListLength
	odd.CredentialID = "7b0a5f3e-6c1d-4b86-9a2f-3d5c8e417f60"
	odd.CheckAddress = o.issuer.checkAddress(odd.CredentialID)
	odd.Signed = strings.Replace(odd.Signed, "Łukasz", "Lukasz", 1)
	add(o, odd)
	var raw bytes.Buffer
	_, err := o.issuer.Export(o.ctx, coordinator, Filter{}, &raw, nil)
	assert.ErrorIs(t, err, groundhand.CodeConflict)
	assert.ErrorContains(t, err, "2025-0900 does not verify")
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
	_, err := o.issuer.Export(o.ctx, hr, Filter{}, fullDisk{}, nil)
	assert.ErrorIs(t, err, errFull)
}
