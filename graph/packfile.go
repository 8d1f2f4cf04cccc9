package graph

import (
	"io"
	"net/http"

	"groundhand/internal/certificate"
	"groundhand/internal/groundhand"
)

// clientPack streams what a client is handed about named people under its rule set. That it went out is noted for each of them like any
// look at a record.
func (m mouth) clientPack(w http.ResponseWriter, req *http.Request) {
	ask, err := clientPackAsk(req)
	if err != nil {
		m.refuse(w, req, err)
		return
	}
	ctx, by := req.Context(), viewer(req.Context())
	file := &download{w: w, name: "pack.zip", kind: "application/zip"}
	noted := &firstNoted{to: file, note: func() error { return m.Desk.Saw(ctx, by, "client pack under "+string(ask.RuleSet), ask.People) }}
	_, err = m.Issuer.Pack(ctx, by, ask, noted, nil)
	m.finish(file, req, err)
}

func clientPackAsk(req *http.Request) (certificate.PackQuestion, error) {
	q := req.URL.Query()
	ask := certificate.PackQuestion{RuleSet: groundhand.RuleSetID(q.Get("ruleSet")), People: named[groundhand.WorkerID](q["person"])}
	var err error
	if ask.On, err = groundhand.ParseDate(q.Get("on")); err != nil {
		return ask, groundhand.Invalid("on", "Give the day as on=2025-01-14.")
	}
	return ask, nil
}

// firstNoted does something before the first byte of what was checked goes out.
type firstNoted struct {
	to   io.Writer
	note func() error
	done bool
}

// Write notes once, then writes.
func (f *firstNoted) Write(b []byte) (int, error) {
	if !f.done {
		if err := f.note(); err != nil {
			return 0, err
		}
		f.done = true
	}
	return f.to.Write(b)
}
