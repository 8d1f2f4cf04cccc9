package graph

import (
	"bytes"
	"context"
	"net/http"

	"github.com/99designs/gqlgen/graphql"
	"github.com/99designs/gqlgen/graphql/handler/transport"
	"github.com/vektah/gqlparser/v2/gqlerror"

	"groundhand/internal/groundhand"
)

// fileForm takes a query with files. Where the library gives up on the form itself it repeats parts of it in errors without a code; the
// client reads a refusal like every other instead.
type fileForm struct {
	transport.MultipartForm
	refuse func(http.ResponseWriter, *http.Request, error)
}

// Do answers one request. The reply is held back until it is clear that the form was read.
func (f fileForm) Do(w http.ResponseWriter, req *http.Request, exec graphql.GraphExecutor) {
	held, reading := &heldReply{ResponseWriter: w, status: http.StatusOK}, &reading{GraphExecutor: exec}
	f.MultipartForm.Do(held, req, reading)
	if !reading.done {
		f.refuse(w, req, groundhand.Invalid("", "This form cannot be read; send operations, then map, then the files that map names."))
		return
	}
	w.WriteHeader(held.status)
	_, _ = w.Write(held.body.Bytes()) // the client may have gone
}

// reading notes that a form was read and its query is looked at.
type reading struct {
	graphql.GraphExecutor
	done bool
}

func (r *reading) CreateOperationContext(ctx context.Context, params *graphql.RawParams) (*graphql.OperationContext, gqlerror.List) {
	r.done = true
	return r.GraphExecutor.CreateOperationContext(ctx, params)
}

// heldReply keeps what is answered; what an import says of its rows is small.
type heldReply struct {
	http.ResponseWriter
	status int
	body   bytes.Buffer
}

func (h *heldReply) WriteHeader(status int)      { h.status = status }
func (h *heldReply) Write(b []byte) (int, error) { return h.body.Write(b) }
