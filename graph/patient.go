package graph

import (
	"context"
	"net/http"
	"time"
)

// longestStill bounds how long a file that is streamed may stand still: while its first byte is being made ready, or while nobody takes what is there.
const longestStill = 30 * time.Second

// patient is guarded for files: it bounds how long the answer stands still, not how long it takes. The certificates of a year take their time over a
// poor line; a client that stopped reading does not hold them, and one that went away ends them.
func (m mouth) patient(next http.Handler) http.Handler {
	return m.opened(func(w http.ResponseWriter, req *http.Request) {
		ctx, end := context.WithCancelCause(req.Context())
		defer end(nil)
		still := time.AfterFunc(longestStill, func() { end(context.DeadlineExceeded) })
		defer still.Stop()
		next.ServeHTTP(&steady{w, ctx, still, http.NewResponseController(w)}, req.WithContext(ctx))
	})
}

// steady writes as long as it gets on.
type steady struct {
	http.ResponseWriter
	ctx   context.Context // of the request whose answer this is
	still *time.Timer
	line  *http.ResponseController
}

// Unwrap lets a response controller reach the writer below.
func (s *steady) Unwrap() http.ResponseWriter { return s.ResponseWriter }

// Write fails once the client went away or nothing moved for too long, so that whoever makes the file stops making it.
func (s *steady) Write(b []byte) (int, error) {
	if s.ctx.Err() != nil {
		return 0, context.Cause(s.ctx)
	}
	s.still.Reset(longestStill)
	bound, done := context.WithTimeout(s.ctx, longestStill)
	defer done()
	deadline, _ := bound.Deadline()
	_ = s.line.SetWriteDeadline(deadline) // in the place of the server's bound on a whole answer; a writer without a line has none
	return s.ResponseWriter.Write(b)
}
