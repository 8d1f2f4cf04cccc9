package graph

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"mime"
	"net/http"
	"runtime/debug"
	"strings"
	"time"

	"github.com/99designs/gqlgen/graphql"
	"github.com/99designs/gqlgen/graphql/handler"
	"github.com/99designs/gqlgen/graphql/handler/extension"
	"github.com/99designs/gqlgen/graphql/handler/lru"
	"github.com/99designs/gqlgen/graphql/handler/transport"
	"github.com/vektah/gqlparser/v2/ast"
	"github.com/vektah/gqlparser/v2/gqlerror"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
)

// Bounds on what one request may ask. Lists wider than a page are streamed as files.
const (
	largestForm     = 2 << 20   // bytes of a request; the largest form is a rule set
	largestImport   = 17 << 20  // bytes of a request with a file: 16 MiB and what goes around it
	longestQuery    = 100 << 10 // bytes, values aside
	mostTokens      = 5000      // of a query
	deepestQuery    = 12        // fields below fields
	widestQuery     = 1000      // fields, fragments written out
	costliestQuery  = 5000      // see cost.go
	cachedQueries   = 500
	longestQuestion = 30 * time.Second
)

// mouth answers over HTTP.
type mouth struct {
	*Root
	log *slog.Logger
}

// Handler answers GraphQL at /graphql, shows the page to try it at /, and gives files at /certificates.zip, /certificates/NUMBER.pdf,
// /certificates/NUMBER.json, /packs.zip and /audit/CREW.zip.
// Every path but the page and the text of the schema wants a token; without one there is no data.
func (r *Root) Handler(log *slog.Logger) http.Handler {
	m := mouth{r, log}
	schema := generated.NewExecutableSchema(generated.Config{Resolvers: r, Directives: generated.DirectiveRoot{Act: act}, Complexity: costs()})
	mux := http.NewServeMux()
	mux.Handle("/graphql", m.guarded(m.bounded(m.graphQL(schema))))
	mux.Handle("GET /certificates.zip", m.patient(http.HandlerFunc(m.certificatesZip)))
	mux.Handle("GET /packs.zip", m.patient(http.HandlerFunc(m.clientPack)))
	mux.Handle("GET /certificates/{file}", m.guarded(http.HandlerFunc(m.certificateFile)))
	mux.Handle("GET /audit/{crew}", m.patient(http.HandlerFunc(m.auditPack)))
	mux.HandleFunc("GET /{$}", explorerPage)
	mux.Handle("GET /explorer/", http.FileServerFS(explorer))
	mux.HandleFunc("GET /schema.graphql", schemaText(schema.Schema().Query.Position.Src.Input))
	return headers(http.NewCrossOriginProtection().Handler(mux))
}

func (m mouth) graphQL(schema graphql.ExecutableSchema) http.Handler {
	srv := handler.New(schema)
	whole := transport.MultipartForm{MaxUploadSize: largestImport, MaxMemory: largestImport + 1} // bounded has read it already
	srv.AddTransport(fileForm{whole, m.refuse})
	srv.AddTransport(transport.POST{UseGrapQLResponseJsonByDefault: true})
	srv.SetQueryCache(lru.New[*ast.QueryDocument](cachedQueries))
	srv.SetParserTokenLimit(mostTokens)
	srv.SetDisableSuggestion(true)
	srv.Use(bounds{longest: longestQuery, deepest: deepestQuery, fields: widestQuery})
	srv.Use(extension.FixedComplexityLimit(costliestQuery))
	srv.Use(extension.Introspection{})
	srv.SetErrorPresenter(present(m.log))
	srv.SetRecoverFunc(func(ctx context.Context, cause any) error {
		m.log.ErrorContext(ctx, "a field panicked", "cause", cause, "stack", string(debug.Stack()))
		return errors.New("panic")
	})
	srv.AroundOperations(m.operation)
	return srv
}

// operation gives each operation loaders of its own, and an answer also to one that ran out of time.
func (m mouth) operation(ctx context.Context, next graphql.OperationHandler) graphql.ResponseHandler {
	answer := next(m.withLoaders(ctx))
	return func(ctx context.Context) *graphql.Response {
		if done := answer(ctx); done != nil {
			return done
		}
		m.log.WarnContext(ctx, "an operation ran out of time", "error", context.Cause(ctx))
		return &graphql.Response{Errors: gqlerror.List{internal(nil)}}
	}
}

// guarded lets a request through when it shows a good token, and bounds its time.
func (m mouth) guarded(next http.Handler) http.Handler {
	return m.opened(func(w http.ResponseWriter, req *http.Request) {
		ctx, cancel := context.WithTimeout(req.Context(), longestQuestion)
		defer cancel()
		next.ServeHTTP(w, req.WithContext(ctx))
	})
}

// opened lets a request through when it shows a good token.
func (m mouth) opened(next http.HandlerFunc) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		token, _ := strings.CutPrefix(req.Header.Get("Authorization"), "Bearer ")
		by, err := m.Door.Open(req.Context(), token)
		if err != nil {
			m.refuse(w, req, err)
			return
		}
		next(w, req.WithContext(withViewer(req.Context(), by)))
	})
}

// bounded reads a GraphQL request whole, no further than its bound, and refuses what is none.
func (m mouth) bounded(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		most, err := mostBytes(req)
		if err != nil {
			m.refuse(w, req, err)
			return
		}
		body, err := io.ReadAll(http.MaxBytesReader(w, req.Body, most))
		if err != nil {
			m.refuse(w, req, unread(err, most))
			return
		}
		req.Body, req.ContentLength = io.NopCloser(bytes.NewReader(body)), int64(len(body))
		next.ServeHTTP(w, req)
	})
}

// mostBytes is how much is read of a request: much for a file, and only from those who may send one.
func mostBytes(req *http.Request) (int64, error) {
	kind, _, err := mime.ParseMediaType(req.Header.Get("Content-Type"))
	switch {
	case req.Method != http.MethodPost || err != nil:
	case kind == "application/json":
		return largestForm, nil
	case kind == "multipart/form-data":
		return largestImport, access.May(viewer(req.Context()), access.Import)
	}
	return 0, groundhand.Invalid("", "Send questions and changes with POST, as application/json, or as multipart/form-data when a file goes with them.")
}

func unread(err error, most int64) error {
	if _, over := errors.AsType[*http.MaxBytesError](err); over {
		return &groundhand.Error{Code: groundhand.CodeTooLarge, Message: "This is more than " + mebibytes(most) + "; send a smaller file, or several."}
	}
	return groundhand.Invalid("", "The request broke off before its end; send it again.")
}

// headers are for every reply: nothing is kept by a browser, and the page may load nothing from elsewhere.
func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		h := w.Header()
		h.Set("Cache-Control", "no-store")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; base-uri 'none'; frame-ancestors 'none'; form-action 'none'")
		next.ServeHTTP(w, req)
	})
}
