package web

import (
	"bytes"
	"embed"
	"html/template"
	"net/http"
	"strconv"
)

//go:embed page
var pageFiles embed.FS

var pageForm = template.Must(template.ParseFS(pageFiles, "page/*.html"))

// sheet is what a page shows, top to bottom.
type sheet struct {
	Verdict  *verdict
	Parts    []part
	Head     string // of a page that tells no verdict
	Say      []string
	Cautions []string
	Ask      bool   // shows the form for a file
	Checked  string // when, in words
}

// part is a list of facts under a heading.
type part struct {
	Head  string
	Notes []string
	Facts []fact
}

type fact struct{ Label, Text string }

// reply is an answer ready to be sent.
type reply struct {
	status int
	kind   string
	body   []byte
	again  int // seconds after which it may be tried again; 0 says nothing
}

func (r reply) write(w http.ResponseWriter) {
	h := w.Header()
	h.Set("Content-Type", r.kind)
	h.Set("Content-Length", strconv.Itoa(len(r.body)))
	if r.again > 0 {
		h.Set("Retry-After", strconv.Itoa(r.again))
	}
	w.WriteHeader(r.status)
	_, _ = w.Write(r.body) // a visitor who has left needs no answer
}

func (r reply) serve(w http.ResponseWriter, _ *http.Request) { r.write(w) }

// write sends a page of its own.
func (p public) write(w http.ResponseWriter, s sheet) {
	if p.options.Now != nil {
		s.Checked = p.options.Now().UTC().Format("Mon 2 Jan 2006, 15:04 UTC")
	}
	made(http.StatusOK, s).write(w)
}

// made writes out a page. The form is fixed and its data plain, so that it cannot fail: a test makes each.
func made(status int, s sheet) reply {
	if s.Verdict != nil {
		s.Cautions = cautions
	}
	var b bytes.Buffer
	if err := pageForm.ExecuteTemplate(&b, "page.html", s); err != nil {
		panic(err)
	}
	return reply{status: status, kind: "text/html; charset=utf-8", body: b.Bytes()}
}
