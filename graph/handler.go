package graph

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"strings"
	"time"

	"github.com/99designs/gqlgen/graphql"
	"github.com/99designs/gqlgen/graphql/handler"
	"github.com/99designs/gqlgen/graphql/handler/extension"
	"github.com/99designs/gqlgen/graphql/handler/lru"
	"github.com/99designs/gqlgen/graphql/handler/transport"
	"github.com/vektah/gqlparser/v2/ast"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
)

// Bounds on what one request may ask. Lists wider than a page are streamed as files.
const (
	largestBody     = 17 << 20 // bytes; an import of 16 MiB and its form
	largestUpload   = 16 << 20 // bytes of one file
	mostTokens      = 5000     // of a query
	deepestQuery    = 12       // fields below fields
	costliestQuery  = 5000     // see cost.go
	cachedQueries   = 500
	longestQuestion = 30 * time.Second
)

// Handler answers GraphQL at /graphql, shows the page to try it at /, and streams files at /certificates.zip and /certificates/NUMBER.pdf.
// Every path but the page wants a token; without one there is no data.
func (r *Root) Handler(log *slog.Logger) http.Handler {
	schema := generated.NewExecutableSchema(generated.Config{Resolvers: r, Directives: generated.DirectiveRoot{Act: act}, Complexity: costs()})
	mux := http.NewServeMux()
	mux.Handle("/graphql", r.guarded(r.graphQL(schema, log)))
	mux.Handle("GET /certificates.zip", r.guarded(http.HandlerFunc(r.certificatesZip)))
	mux.Handle("GET /certificates/{number}", r.guarded(http.HandlerFunc(r.certificatePDF)))
	mux.HandleFunc("GET /{$}", explorerPage)
	mux.Handle("GET /explorer/", http.FileServerFS(explorer))
	mux.HandleFunc("GET /schema.graphql", schemaText(schema.Schema().Query.Position.Src.Input))
	return headers(http.NewCrossOriginProtection().Handler(mux))
}

func (r *Root) graphQL(schema graphql.ExecutableSchema, log *slog.Logger) http.Handler {
	srv := handler.New(schema)
	srv.AddTransport(transport.MultipartForm{MaxUploadSize: largestUpload, MaxMemory: 1 << 20})
	srv.AddTransport(transport.POST{UseGrapQLResponseJsonByDefault: true})
	srv.SetQueryCache(lru.New[*ast.QueryDocument](cachedQueries))
	srv.SetParserTokenLimit(mostTokens)
	srv.SetDisableSuggestion(true)
	srv.Use(extension.FixedComplexityLimit(costliestQuery))
	srv.Use(extension.Introspection{})
	srv.Use(depth{deepestQuery})
	srv.SetErrorPresenter(r.present(log))
	srv.SetRecoverFunc(func(_ context.Context, cause any) error {
		log.Error("a field panicked", "cause", cause)
		return errors.New("panic")
	})
	srv.AroundOperations(func(ctx context.Context, next graphql.OperationHandler) graphql.ResponseHandler {
		return next(r.withLoaders(ctx))
	})
	return srv
}

// guarded lets a request through when it shows a good token, and bounds its size and time.
func (r *Root) guarded(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		token, _ := strings.CutPrefix(req.Header.Get("Authorization"), "Bearer ")
		by, err := r.Door.Open(req.Context(), token)
		if err != nil {
			refuse(w, err)
			return
		}
		ctx, cancel := context.WithTimeout(withViewer(req.Context(), by), longestQuestion)
		defer cancel()
		if req.ContentLength > largestBody {
			refuse(w, &groundhand.Error{Code: groundhand.CodeTooLarge, Message: "This is more than 16 MiB; send a smaller file, or several."})
			return
		}
		req.Body = http.MaxBytesReader(w, req.Body, largestBody)
		next.ServeHTTP(w, req.WithContext(ctx))
	})
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
