package demo_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate"
	g "groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
	"groundhand/internal/web"
)

// P31: eleven passes in March for the client, one certificate replaced, one withdrawn: ten certificates and a note.
func TestTheClientGetsTenCertificatesAndANote(t *testing.T) {
	c := played(t)
	march := c.issuedFor("R-C", "2025-03-01", "2025-03-31")
	require.Len(t, march, 12, "eleven passes, and one issued anew")
	anew := only(march, func(cert g.Certificate) bool { return cert.ReplacesID != "" })
	replaced := only(march, func(cert g.Certificate) bool { return g.EntryID(cert.ID) == anew.ReplacesID })
	withdrawals, err := store.FindStanding[g.Withdrawal](c.ctx, c.store, store.ByWithdrawn, numbers(march))
	require.NoError(t, err)
	require.Len(t, withdrawals, 1)
	withdrawn := only(march, func(cert g.Certificate) bool { return g.EntryID(cert.ID) == withdrawals[0].WithdrawsID })
	assert.Equal(t, []string{"Wiktor Lindqvist-Rowe", "Wiktor Lindqvist-Roe"}, []string{replaced.PersonName, anew.PersonName})
	assert.Equal(t, c.who("Wiktor Lindqvist-Roe", "Zofia Karlowitz-Bay"), []g.WorkerID{anew.WorkerID, withdrawn.WorkerID})
	c.withItsPass(withdrawn, withdrawals[0])

	files := unpacked(t, script.port)
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(files["manifest.csv"], "\ufeff"))).ReadAll()
	require.NoError(t, err)
	var listed []string
	for _, row := range rows[1:] {
		listed = append(listed, row[0])
		assert.Contains(t, files, "certificates/"+row[0]+".pdf")
		assert.Contains(t, files["credentials/"+row[0]+".json"], row[2], "whose it is was signed")
	}
	assert.Len(t, listed, 10)
	assert.Contains(t, listed, string(anew.ID))
	assert.NotContains(t, listed, string(replaced.ID))
	assert.NotContains(t, listed, string(withdrawn.ID))
	note := strings.Join(strings.Fields(files["README.txt"]), " ")
	assert.Contains(t, note, "The request meets 2 more.")
	assert.Contains(t, note, string(replaced.ID)+" (on Tue 18 Mar 2025)")
	assert.Contains(t, note, string(withdrawn.ID)+" (on Thu 20 Mar 2025)")
}

// issuedFor are the certificates under a rule set of what was shown in some days, by number.
func (c company) issuedFor(rules g.RuleSetID, from, through string) (out []g.Certificate) {
	c.Helper()
	all, err := store.All[g.Certificate](c.ctx, c.store)
	require.NoError(c, err)
	for _, cert := range all {
		if cert.RuleSetID == rules && cert.ShownOn >= g.MustDate(from) && cert.ShownOn <= g.MustDate(through) {
			out = append(out, cert)
		}
	}
	return out
}

// withItsPass sees that a certificate went in the very step in which its pass was taken back.
func (c company) withItsPass(cert g.Certificate, went g.Withdrawal) {
	c.Helper()
	passes, err := store.FindStanding[g.Withdrawal](c.ctx, c.store, store.ByWithdrawn, []g.EntryID{cert.EvidenceID})
	require.NoError(c, err)
	require.Len(c, passes, 1)
	assert.Equal(c, passes[0].RecordedAt, went.RecordedAt)
}

func numbers(certs []g.Certificate) []g.CertificateID {
	out := make([]g.CertificateID, len(certs))
	for i, cert := range certs {
		out[i] = cert.ID
	}
	return out
}

// only is the one certificate of which something is so; none if it is not exactly one.
func only(certs []g.Certificate, so func(g.Certificate) bool) (out g.Certificate) {
	found := 0
	for _, cert := range certs {
		if so(cert) {
			out, found = cert, found+1
		}
	}
	if found != 1 {
		return g.Certificate{}
	}
	return out
}

func unpacked(t *testing.T, data []byte) map[string]string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	out := map[string]string{}
	for _, file := range z.File {
		r, err := file.Open()
		require.NoError(t, err)
		content, err := io.ReadAll(r)
		require.NoError(t, err)
		require.NoError(t, r.Close())
		out[file.Name] = string(content)
	}
	return out
}

// What somebody at the gate reads who still has one of the papers that were handed out before.
func TestOldPapersAreFoundReplacedAndWithdrawn(t *testing.T) {
	c := played(t)
	signs, err := signing(script.path)
	require.NoError(t, err)
	pages := web.New(certificate.New(c.store, rollcall.New(c.store, c.zone), signs), slog.New(slog.DiscardHandler), web.Options{})
	found := map[string]int{}
	for _, cert := range c.issuedFor("R-C", "2025-03-01", "2025-03-31") {
		answer := httptest.NewRecorder()
		pages.ServeHTTP(answer, httptest.NewRequest(http.MethodGet, "/verify/"+cert.CredentialID, nil))
		require.Equal(t, http.StatusOK, answer.Code)
		page := answer.Body.String()
		assert.Contains(t, page, string(cert.ID))
		assert.NotContains(t, page, cert.PersonName)
		_, verdict, _ := strings.Cut(page, "<h1>")
		verdict, _, _ = strings.Cut(verdict, "</h1>")
		found[verdict]++
	}
	assert.Equal(t, map[string]int{"Valid": 10, "Replaced": 1, "Withdrawn": 1}, found)
}
