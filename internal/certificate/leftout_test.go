package certificate

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

func TestAnExportPicksByWhomAndForWhom(t *testing.T) {
	o := newOffice(t)
	parts := o.three()
	o.issue(parts[0].ID, "R-C") // 2025-0004, for the client
	add(o, groundhand.Employment{ID: o.id(), Recorded: o.told("2025-05-01"), WorkerID: "serban", Employer: "Another house (invented)", Relation: groundhand.ResidentContractor, FromOn: day("2025-05-01")})
	o.issue(o.run("serban", groundhand.Lead, "2025-05-20").ID, "") // 2025-0005
	owner := ""
	sets, err := store.All[groundhand.RuleSet](o.ctx, o.store)
	require.NoError(t, err)
	for _, set := range sets {
		if set.ID == "R-C" {
			owner = set.Owner
		}
	}
	require.NotEmpty(t, owner)
	for name, c := range map[string]struct {
		f    Filter
		want []string
	}{
		"a client by name":             {Filter{Client: owner}, []string{"2025-0004"}},
		"a client by its rule set":     {Filter{Client: "R-C"}, []string{"2025-0004"}},
		"an employer, as it was then":  {Filter{Employer: "Another house (invented)"}, []string{"2025-0005"}},
		"people":                       {Filter{People: []groundhand.WorkerID{"lukasz", "gideon"}}, []string{"2025-0001", "2025-0003", "2025-0004"}},
		"people for a client":          {Filter{People: []groundhand.WorkerID{"lukasz", "serban"}, Client: "R-C"}, []string{"2025-0004"}},
		"people who have none of that": {Filter{People: []groundhand.WorkerID{"gideon"}, Client: "R-C"}, []string{}},
		"numbers of other people":      {Filter{People: []groundhand.WorkerID{"gideon"}, Numbers: []groundhand.CertificateID{"2025-0001"}}, []string{}},
	} {
		assert.Equal(t, c.want, o.export(c.f).column("certificate_no"), name)
	}
	for name, c := range map[string]struct {
		f      Filter
		fields []string
	}{
		"nobody's names": {Filter{Employer: "No one", Client: "No one", Crew: "V9", People: []groundhand.WorkerID{"lukasz", "nobody"}}, []string{"client", "people[1]", "crew", "employer"}},
	} {
		var raw bytes.Buffer
		_, err := o.issuer.Export(o.ctx, hr, c.f, &raw, nil)
		var fields []string
		for _, e := range groundhand.Refusals(err) {
			fields = append(fields, e.Field)
		}
		assert.Equal(t, c.fields, fields, name)
		assert.ErrorContains(t, err, `(R-C)`, "whose rule sets there are")
		assert.Zero(t, raw.Len())
	}
}

// What is not in an export is named in its note, each with the day and with what to do.
func TestWhatIsNotInAnExportIsNamed(t *testing.T) {
	o := newOffice(t)
	parts := o.three()
	old := o.cert("2025-0003")
	old.ID, old.EvidenceID, old.RuleSetID = "2025-0004", "elsewhere", "R2"
	old.CredentialID, old.KeyID, old.IssuerID, old.Signed, old.StatusList, old.StatusIndex = "", "", "", "", 0, 0
	add(o, old) // given out before certificates were signed
	o.replace("2025-0001")
	o.clock.Set("2025-06-13T10:00:00+01:00")
	o.withdraw("2025-0002")
	got := o.export(Filter{})
	assert.Equal(t, []string{"2025-0003", "2025-0005"}, got.column("certificate_no"))
	assert.Equal(t, 3, got.left)
	note := got.readme[strings.Index(got.readme, "NOT IN THIS EXPORT"):]
	assert.Contains(t, note, "The request meets 3 more.")
	assert.Contains(t, note, "Replaced by another certificate, which is in this export if the request meets it:\n  2025-0001 (on Wed 11 Jun 2025)\n")
	assert.Contains(t, note, "Withdrawn for good:\n  2025-0002 (on Fri 13 Jun 2025)\n")
	assert.Contains(t, note, "have it replaced by a signed one")
	assert.Contains(t, note, "\n  2025-0004\n")
	for _, name := range []string{"Łukasz", "Șerban", "Gideon"} {
		assert.NotContains(t, got.readme, name, "the note names nobody")
	}
	for _, folder := range []string{"certificates/", "credentials/", "status/"} {
		assert.Contains(t, got.readme, "\n"+folder)
		assert.NotContains(t, o.export(Filter{Numbers: []groundhand.CertificateID{"2025-0002"}}).readme, "\n"+folder, "a folder that is not there is not told")
	}
	assert.Contains(t, o.export(Filter{Numbers: []groundhand.CertificateID{"2025-0002"}}).readme, "The request meets 1 more, which is not in it:")
	for line := range strings.SplitSeq(got.readme, "\n") {
		if !strings.Contains(line, "verify.mjs") {
			assert.LessOrEqual(t, len([]rune(line)), 170, line)
		}
	}

	for number, says := range map[groundhand.CertificateID]string{"2025-0001": "replaced on Wed 11 Jun 2025", "2025-0002": "withdrawn on Fri 13 Jun 2025", "2025-0004": "before certificates were signed",
		"2025-0099": "no certificate"} {
		var raw bytes.Buffer
		assert.ErrorContains(t, o.issuer.Paper(o.ctx, hr, number, &raw), says)
		assert.Zero(t, raw.Len())
		signed, err := o.issuer.Signed(o.ctx, hr, number)
		assert.ErrorContains(t, err, says)
		assert.Empty(t, signed)
	}
	signed, err := o.issuer.Signed(o.ctx, hr, "2025-0003")
	require.NoError(t, err)
	assert.Equal(t, o.cert("2025-0003").Signed, string(signed))
	_, err = o.issuer.Signed(o.ctx, dispatcher, "2025-0003")
	assert.ErrorIs(t, err, groundhand.CodeForbidden)
	anew := o.replace("2025-0003")
	assert.Equal(t, "2025-0006", string(anew.ID), fmt.Sprint("in place of one upon ", parts[2].ID))
}
