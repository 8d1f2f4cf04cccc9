package web

import (
	"bytes"
	"log"
	"log/slog"
	"net/http"
	"time"
)

// Bounds of a connection. A file of 2 MB wants 70 kB/s; the usual certificate is 30 kB.
const (
	headerTime  = 5 * time.Second
	requestTime = 30 * time.Second // header and body
	replyTime   = 60 * time.Second // from the end of the header: the body, the check and the reply
	idleTime    = 30 * time.Second
	headerBytes = 8 << 10
)

// Server bounds what a stranger may do to a connection, and keeps addresses of visitors out of the log.
// The caller brings the listener and ends it with Shutdown. TLS is the proxy's in front.
func Server(handler http.Handler, to *slog.Logger) *http.Server {
	return &http.Server{Handler: handler, ReadHeaderTimeout: headerTime, ReadTimeout: requestTime, WriteTimeout: replyTime, IdleTimeout: idleTime,
		MaxHeaderBytes: headerBytes, DisableGeneralOptionsHandler: true, ErrorLog: log.New(nameless{to}, "", 0)}
}

// nameless passes on what the server says of its listener, and drops what it says of a connection: that names the visitor's address.
type nameless struct{ to *slog.Logger }

func (n nameless) Write(line []byte) (int, error) {
	if bytes.HasPrefix(line, []byte("http: Accept error")) {
		n.to.Error("the public check cannot take connections", "error", string(bytes.TrimSpace(line)))
	}
	return len(line), nil
}
