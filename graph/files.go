package graph

import (
	"embed"
	"encoding/json"
	"io"
	"net/http"
	"strconv"
	"strings"

	"groundhand/internal/certificate"
	"groundhand/internal/groundhand"
)

// statuses is the table from code to HTTP status for the plain endpoints; GraphQL itself answers 200 with the code inside.
var statuses = map[groundhand.Code]int{
	groundhand.CodeInvalid:         http.StatusUnprocessableEntity,
	groundhand.CodeNotFound:        http.StatusNotFound,
	groundhand.CodeConflict:        http.StatusConflict,
	groundhand.CodeForbidden:       http.StatusForbidden,
	groundhand.CodeUnauthenticated: http.StatusUnauthorized,
	groundhand.CodeTooLarge:        http.StatusRequestEntityTooLarge,
}

// refuse answers outside GraphQL in GraphQL's shape, so that a client reads one kind of error.
func (m mouth) refuse(w http.ResponseWriter, req *http.Request, err error) {
	status, said := http.StatusInternalServerError, internal(nil)
	if refusals := groundhand.Refusals(err); len(refusals) > 0 {
		status, said = statuses[refusals[0].Code], refused(nil, "", refusals)
	} else {
		m.log.ErrorContext(req.Context(), "a request failed", "path", req.URL.Path, "error", err)
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(map[string]any{"errors": []any{said}, "data": nil}) // the client may have gone
}

// mebibytes says a bound in words.
func mebibytes(n int64) string { return strconv.FormatInt(n>>20, 10) + " MiB" }

// certificatesZip streams the certificates of a time, a crew or named numbers.
func (m mouth) certificatesZip(w http.ResponseWriter, req *http.Request) {
	filter, err := filterOf(req)
	if err != nil {
		m.refuse(w, req, err)
		return
	}
	file := &download{w: w, name: "certificates.zip", kind: "application/zip"}
	_, err = m.Issuer.Export(req.Context(), viewer(req.Context()), filter, file, nil)
	m.finish(file, req, err)
}

// finish refuses what failed before its first byte, and breaks off what failed after it: half a file must not look like a whole one.
func (m mouth) finish(file *download, req *http.Request, err error) {
	switch {
	case err == nil:
	case !file.begun:
		m.refuse(file.w, req, err)
	default:
		m.log.ErrorContext(req.Context(), "a file broke off", "path", req.URL.Path, "error", err)
		panic(http.ErrAbortHandler)
	}
}

func filterOf(req *http.Request) (certificate.Filter, error) {
	var p groundhand.Problems
	q := req.URL.Query()
	day := func(name string) groundhand.Date {
		d, err := groundhand.ParseDate(q.Get(name))
		if q.Get(name) != "" && err != nil {
			_ = p.Take(name, err) // a day that cannot be read is a refusal and nothing else
		}
		return d
	}
	f := certificate.Filter{ShownFrom: day("from"), ShownThrough: day("through"), Crew: groundhand.CrewID(q.Get("crew"))}
	for _, n := range q["number"] {
		f.Numbers = append(f.Numbers, groundhand.CertificateID(n))
	}
	return f, p.Err()
}

func (m mouth) certificatePDF(w http.ResponseWriter, req *http.Request) {
	number, isPDF := strings.CutSuffix(req.PathValue("number"), ".pdf")
	if !isPDF {
		m.refuse(w, req, groundhand.NotFound("number", "Ask for /certificates/NUMBER.pdf."))
		return
	}
	file := &download{w: w, name: "certificate.pdf", kind: "application/pdf"}
	m.finish(file, req, m.Issuer.Paper(req.Context(), viewer(req.Context()), groundhand.CertificateID(number), file))
}

// download sets the headers of a file with its first byte, so that a refusal before it can still be an error.
type download struct {
	w          http.ResponseWriter
	name, kind string
	begun      bool
}

var _ io.Writer = (*download)(nil)

func (d *download) Write(b []byte) (int, error) {
	if !d.begun {
		d.begun = true
		d.w.Header().Set("Content-Type", d.kind)
		d.w.Header().Set("Content-Disposition", `attachment; filename="`+d.name+`"`)
	}
	return d.w.Write(b)
}

//go:embed explorer
var explorer embed.FS

// explorerPage serves the page on which the schema can be tried. It is our own and loads nothing from elsewhere.
func explorerPage(w http.ResponseWriter, req *http.Request) {
	http.ServeFileFS(w, req, explorer, "explorer/explorer.html")
}

// schemaText serves the contract as text, as it stands in the program.
func schemaText(text string) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		_, _ = io.WriteString(w, text) // the client may have gone
	}
}
