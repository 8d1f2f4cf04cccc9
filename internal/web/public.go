// Package web is the public check of certificates, open to the world on a listener of its own. It shows how a certificate stands and
// never whose it is, checks files without keeping them, and publishes the issuer's keys and the lists of what was withdrawn.
package web

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"runtime"
	"runtime/debug"
	"strings"
	"time"
)

// Paths that are open to the world; whatever is elsewhere is not known.
const (
	checkPath    = "/verify"
	stylePath    = "/verify/page.css"
	lookPath     = "/verify/" // and a credential id
	listPath     = "/status/" // and the number of a list
	documentPath = "/.well-known/did.json"
)

// longestCheck bounds the work for one request.
const longestCheck = 15 * time.Second

// Options are what the house decides. The zero value is safe: the address of a visitor is that of the connection.
type Options struct {
	// AddressHeader names the header in which the proxy in front tells the visitor's address, like X-Real-IP; of several addresses
	// the last counts, which the nearest proxy wrote. Set it only when every request comes through that proxy. "" trusts no header.
	AddressHeader string
	// Now is printed on the page, so that paper tells when the check was made. Nil leaves it out.
	Now func() time.Time
	// What one address may ask in a minute; 0 is the usual bound: 120 pages, 12 files, 120 lists and documents.
	Pages, Files, Lists int
	// Reading is how many files may be under way at once, 2 MB of memory each; 0 is 16.
	Reading int
}

// public answers the world.
type public struct {
	check   Checker
	log     *slog.Logger
	options Options
	reading chan struct{}
}

// New gives the handler of the public check. It belongs on a listener of its own: nothing else is reachable through it.
// The log tells a look-up by a hash of its id alone, and never who asks, nor that anybody fetched a list.
func New(c Checker, log *slog.Logger, o Options) http.Handler {
	p := public{check: c, log: log, options: o, reading: make(chan struct{}, orUsual(o.Reading, 16))}
	visitor := visitors{o.AddressHeader}
	pages := visitor.bounded(orUsual(o.Pages, 120), http.HandlerFunc(p.page))
	files := visitor.bounded(orUsual(o.Files, 12), http.HandlerFunc(p.file))
	lists := visitor.bounded(orUsual(o.Lists, 120), http.HandlerFunc(p.published))
	return p.guarded(http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		switch path := req.URL.EscapedPath(); {
		case path == checkPath && req.Method == http.MethodPost:
			files.ServeHTTP(w, req)
		case path == documentPath, strings.HasPrefix(path, listPath):
			lists.ServeHTTP(w, req)
		default:
			pages.ServeHTTP(w, req)
		}
	}))
}

func orUsual(n, usual int) int {
	if n > 0 {
		return n
	}
	return usual
}

// page answers everything that is read by people.
func (p public) page(w http.ResponseWriter, req *http.Request) {
	switch path := req.URL.EscapedPath(); {
	case path == checkPath:
		p.ifRead(w, req, "GET, HEAD, POST", func() { askPage.write(w) })
	case path == stylePath:
		p.ifRead(w, req, "GET, HEAD", func() { style.write(w) })
	case strings.HasPrefix(path, lookPath):
		p.ifRead(w, req, "GET, HEAD", func() { p.look(w, req, path[len(lookPath):]) })
	default:
		notKnownPage.write(w)
	}
}

// ifRead answers a request that only reads, and tells any other which ones there are.
func (p public) ifRead(w http.ResponseWriter, req *http.Request, allowed string, answer func()) {
	if req.Method == http.MethodGet || req.Method == http.MethodHead {
		answer()
		return
	}
	w.Header().Set("Allow", allowed)
	onlyReadPage.write(w)
}

// guarded sets what every reply carries, bounds its time and turns a panic into a page. The server must not see the panic: it would
// log the visitor's address.
func (p public) guarded(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		h := w.Header()
		h.Set("Cache-Control", "no-store")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("X-Robots-Tag", "noindex")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; form-action 'self'")
		h.Set("X-Frame-Options", "DENY") // what frame-ancestors 'none' says, without another word in the policy
		ctx, cancel := context.WithTimeout(req.Context(), longestCheck)
		defer cancel()
		defer func() {
			if cause := recover(); cause != nil {
				p.log.Error("a public page panicked", "cause", harmless(cause), "stack", string(debug.Stack()))
				cannotTellPage.write(w)
			}
		}()
		next.ServeHTTP(w, req.WithContext(ctx))
	})
}

// fault answers that nothing can be told, and logs why, unless the visitor has merely left.
func (p public) fault(w http.ResponseWriter, req *http.Request, what string, detail ...any) {
	if !errors.Is(context.Cause(req.Context()), context.Canceled) {
		p.log.Error(what, detail...)
	}
	cannotTellPage.write(w)
}

// harmless is a cause without the data that may stand in it: the text of a fault of the program, of anything else its type.
func harmless(cause any) string {
	if fault, ok := cause.(runtime.Error); ok {
		return fault.Error()
	}
	return fmt.Sprintf("%T", cause)
}
