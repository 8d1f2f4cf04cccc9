package web

import (
	"context"
	"fmt"
	"html"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate"
)

// oneCertificate answers at once, so that the page alone is measured.
type oneCertificate struct {
	Checker
	found certificate.Looked
}

func (o oneCertificate) Look(context.Context, string) (certificate.Looked, error) {
	return o.found, nil
}

// byHand is the least that shows the same facts: no bound, no log, no policy, words written straight into the reply.
func byHand(c Checker) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		found, err := c.Look(req.Context(), strings.TrimPrefix(req.URL.Path, "/verify/"))
		if err != nil {
			http.Error(w, "fault", http.StatusInternalServerError)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		fmt.Fprintf(w, "<!DOCTYPE html><title>Check</title><h1>%s</h1><dl>", stateWords[found.State].Word)
		for _, f := range [][2]string{{"Training", found.Training}, {"Number", found.Number}, {"Issuer", found.Issuer}, {"Issued", found.IssuedOn.Words()},
			{"Last good day", found.GoodThrough.Words()}, {"Fingerprint", found.Fingerprint}, {"Key", found.KeyID}} {
			fmt.Fprintf(w, "<dt>%s<dd>%s", f[0], html.EscapeString(f[1]))
		}
		fmt.Fprint(w, "</dl>")
	})
}

// BenchmarkLook asks each page in turn, in the same run, and prints how many times dearer ours is than the one by hand.
func BenchmarkLook(b *testing.B) {
	c := oneCertificate{found: looked(certificate.Valid)}
	ours, hand := New(c, newLog(&ink{}), Options{Pages: 1 << 31}), byHand(c)
	var took, byHandTook time.Duration
	for b.Loop() {
		took += timed(b, ours)
		byHandTook += timed(b, hand)
	}
	b.ReportMetric(float64(took.Microseconds())/float64(b.N), "µs/page")
	b.ReportMetric(float64(byHandTook.Microseconds())/float64(b.N), "µs/by-hand")
	b.ReportMetric(float64(took)/float64(byHandTook), "times-by-hand")
}

func timed(b *testing.B, h http.Handler) time.Duration {
	req := httptest.NewRequest(http.MethodGet, "/verify/"+validID, nil)
	w := httptest.NewRecorder()
	start := time.Now()
	h.ServeHTTP(w, req)
	took := time.Since(start)
	require.Equal(b, http.StatusOK, w.Code)
	return took
}
