package graph

import (
	"net/http"
	"strings"
	"time"

	"groundhand/internal/audit"
	"groundhand/internal/groundhand"
)

// auditPack writes everything about a crew in a time as a ZIP that can be checked without this program. That somebody took it is noted for each of
// the crew's people like any look at a record.
func (m mouth) auditPack(w http.ResponseWriter, req *http.Request) {
	ask, err := packAsk(req)
	if err != nil {
		m.refuse(w, req, err)
		return
	}
	by, a := viewer(req.Context()), audit.New(m.Store, m.Roll)
	who, err := a.PackPeople(req.Context(), by, ask)
	if err == nil {
		err = m.Desk.Saw(req.Context(), by, "audit pack of "+string(ask.CrewID), who)
	}
	if err != nil {
		m.refuse(w, req, err)
		return
	}
	file := &download{w: w, name: "audit-" + string(ask.CrewID) + ".zip", kind: "application/zip"}
	m.finish(file, req, a.Pack(req.Context(), by, ask, file))
}

func packAsk(req *http.Request) (audit.PackAsk, error) {
	var p groundhand.Problems
	q := req.URL.Query()
	crew, isZIP := strings.CutSuffix(req.PathValue("crew"), ".zip")
	if !isZIP {
		p.Add(groundhand.CodeNotFound, "crew", "Ask for /audit/CREW.zip.")
	}
	ask := audit.PackAsk{CrewID: groundhand.CrewID(crew)}
	for name, day := range map[string]*groundhand.Date{"from": &ask.From, "through": &ask.Through} {
		d, err := groundhand.ParseDate(q.Get(name))
		if err != nil {
			p.Add(groundhand.CodeInvalid, name, "Give a day such as 2025-01-01.")
		}
		*day = d
	}
	if known := q.Get("asKnownAt"); known != "" {
		at, err := time.Parse(time.RFC3339, known)
		if err != nil {
			p.Add(groundhand.CodeInvalid, "asKnownAt", "Give a moment such as 2025-05-03T21:40:00+01:00.")
		}
		ask.AsKnownAt = groundhand.InstantOf(at)
	}
	return ask, p.Err()
}
