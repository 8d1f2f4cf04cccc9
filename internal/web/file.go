package web

import (
	"errors"
	"io"
	"mime"
	"mime/multipart"
	"net"
	"net/http"
	"os"
	"strings"

	"groundhand/internal/certificate"
)

const (
	largestFile = 2 << 20 // bytes
	wrapping    = 8 << 10 // bytes that a form may need around its file
)

// rawKinds are the types under which a file may be sent as it is; what it is its bytes tell.
var rawKinds = map[string]bool{"": true, "application/octet-stream": true, "application/pdf": true, "application/json": true, "application/ld+json": true, "application/vc": true}

// file checks a file that somebody sends, in memory, and keeps nothing of it. There is nothing to forge across sites: no cookie, no
// account, no change.
func (p public) file(w http.ResponseWriter, req *http.Request) {
	select {
	case p.reading <- struct{}{}:
		defer func() { <-p.reading }()
	default:
		busyPage.write(w)
		return
	}
	file, refused := readFile(w, req)
	if refused != nil {
		w.Header().Set("Connection", "close") // the rest of it is not wanted
		refused.write(w)
		return
	}
	found, err := p.check.LookInside(req.Context(), file)
	if err != nil {
		p.fault(w, req, "a file could not be checked", "error", err)
		return
	}
	p.log.Info("file checked", "id", p.fileID(found), "state", found.State, "problem", found.Problem)
	p.write(w, p.insidePage(found))
}

// fileID is the id of a certificate found in a file, as the log may know it.
func (p public) fileID(found certificate.Inside) string {
	id, ok := credentialID(strings.TrimPrefix(found.Signed.ID, "urn:uuid:"))
	if !ok {
		return "none"
	}
	return hashed(id)
}

// readFile reads the one file of a request, or gives the page that says why not.
func readFile(w http.ResponseWriter, req *http.Request) ([]byte, *reply) {
	kind, detail, err := mime.ParseMediaType(req.Header.Get("Content-Type"))
	form := kind == "multipart/form-data" && err == nil
	switch {
	case !form && !rawKinds[kind], err != nil && req.Header.Get("Content-Type") != "":
		return nil, &wrongKindPage
	case req.ContentLength > largestFile+wrapping:
		return nil, &tooLargePage
	}
	body := http.MaxBytesReader(w, req.Body, largestFile+wrapping)
	var file []byte
	if form {
		file, err = onlyPart(multipart.NewReader(body, detail["boundary"]))
	} else {
		file, err = io.ReadAll(body)
	}
	return file, unread(file, err)
}

var errParts = errors.New("not one file in the form")

// onlyPart reads the one part of a form, named file. Its name and type are the sender's word and play no part.
func onlyPart(form *multipart.Reader) ([]byte, error) {
	part, err := form.NextRawPart()
	if errors.Is(err, io.EOF) {
		return nil, errParts
	}
	if err != nil {
		return nil, err
	}
	if part.FormName() != "file" {
		return nil, errParts
	}
	file, err := io.ReadAll(part)
	if err != nil {
		return nil, err
	}
	switch _, err := form.NextRawPart(); {
	case err == nil:
		return nil, errParts
	case !errors.Is(err, io.EOF):
		return nil, err
	}
	return file, nil
}

// unread is the page for a file that could not be read, or is none.
func unread(file []byte, err error) *reply {
	_, over := errors.AsType[*http.MaxBytesError](err)
	slow, late := errors.AsType[net.Error](err)
	switch {
	case over, len(file) > largestFile:
		return &tooLargePage
	case late && slow.Timeout(), errors.Is(err, os.ErrDeadlineExceeded):
		return &tooSlowPage
	case errors.Is(err, errParts):
		return &onePage
	case err != nil:
		return &brokenPage
	case len(file) == 0:
		return &onePage
	}
	return nil
}
