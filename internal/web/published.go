package web

import (
	"errors"
	"net/http"
	"regexp"
	"strconv"

	"groundhand/internal/groundhand"
)

// listNumber is the number of a status list; there is one for some 65,000 certificates.
var listNumber = regexp.MustCompile(`^[1-9][0-9]{0,3}$`)

// published gives the files that verifiers fetch. Nobody who fetches one is logged.
func (p public) published(w http.ResponseWriter, req *http.Request) {
	path := req.URL.EscapedPath()
	if path == documentPath {
		p.ifRead(w, req, "GET, HEAD", func() {
			document, err := p.check.Document(req.Context())
			// DID Core 1.0, 6.2 and the did:web method, Create: the JSON form, at did.json. Version 1.1 has application/did, which
			// resolvers of today refuse.
			p.publish(w, req, "application/did+json", document, err)
		})
		return
	}
	typed := path[len(listPath):]
	if !listNumber.MatchString(typed) {
		notKnownPage.write(w)
		return
	}
	p.ifRead(w, req, "GET, HEAD", func() {
		n, _ := strconv.Atoi(typed)
		list, err := p.check.StatusList(req.Context(), n)
		p.publish(w, req, "application/vc", list, err)
	})
}

// publish lets any page of the world read a file, and anybody on the way keep it for minutes.
func (p public) publish(w http.ResponseWriter, req *http.Request, kind string, file []byte, err error) {
	if fault, ok := errors.AsType[*groundhand.Error](err); ok && fault.Code == groundhand.CodeNotFound {
		notKnownPage.write(w)
		return
	}
	if err != nil {
		p.fault(w, req, "a published file could not be made", "type", kind, "error", err)
		return
	}
	w.Header().Set("Access-Control-Allow-Origin", "*")
	w.Header().Set("Cache-Control", "public, max-age=300")
	reply{status: http.StatusOK, kind: kind, body: file}.write(w)
}
