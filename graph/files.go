package graph

import (
	"embed"
	"encoding/json"
	"errors"
	"io"
	"net/http"
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
func refuse(w http.ResponseWriter, err error) {
	status, said := http.StatusInternalServerError, map[string]any{"message": "This could not be answered.", "extensions": map[string]any{"code": internalCode}}
	var known *groundhand.Error
	if errors.As(err, &known) {
		status = statuses[known.Code]
		said = map[string]any{"message": known.Error(), "extensions": map[string]any{"code": replies[known.Code]}}
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(map[string]any{"errors": []any{said}, "data": nil}) // the client may have gone
}

// certificatesZip streams the certificates of a time, a crew or named numbers.
func (r *Root) certificatesZip(w http.ResponseWriter, req *http.Request) {
	filter, err := filterOf(req)
	if err != nil {
		refuse(w, err)
		return
	}
	file := &download{w: w, name: "certificates.zip", kind: "application/zip"}
	if _, err := r.Issuer.Export(req.Context(), viewer(req.Context()), filter, file); err != nil && !file.begun {
		refuse(w, err)
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

func (r *Root) certificatePDF(w http.ResponseWriter, req *http.Request) {
	number, isPDF := strings.CutSuffix(req.PathValue("number"), ".pdf")
	if !isPDF {
		refuse(w, groundhand.NotFound("number", "Ask for /certificates/NUMBER.pdf."))
		return
	}
	file := &download{w: w, name: "certificate.pdf", kind: "application/pdf"}
	err := r.Issuer.Paper(req.Context(), viewer(req.Context()), groundhand.CertificateID(number), file)
	if err != nil && !file.begun {
		refuse(w, err)
	}
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
