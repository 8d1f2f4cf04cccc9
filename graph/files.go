package graph

import (
	"context"
	"embed"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"strconv"

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
func (m mouth) refuse(w http.ResponseWriter, req *http.Request, err error) {
	status, said := http.StatusInternalServerError, internal(nil)
	if refusals := groundhand.Refusals(err); len(refusals) > 0 {
		status, said = statuses[refusals[0].Code], refused(nil, "", refusals)
	} else {
		m.log.ErrorContext(req.Context(), "a request failed", "path", req.URL.Path, "error", err)
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(map[string]any{"errors": []any{said}, "data": nil}) // the client may have gone
}

// mebibytes says a bound in words.
func mebibytes(n int64) string { return strconv.FormatInt(n>>20, 10) + " MiB" }

// finish refuses what failed before its first byte, and breaks off what failed after it: half a file must not look like a whole one.
func (m mouth) finish(file *download, req *http.Request, err error) {
	switch {
	case err == nil:
	case !file.begun:
		m.refuse(file.w, req, err)
	default:
		level := slog.LevelError
		if errors.Is(err, context.Canceled) {
			level = slog.LevelInfo // the client went away
		}
		m.log.Log(req.Context(), level, "a file broke off", "path", req.URL.Path, "error", err)
		panic(http.ErrAbortHandler)
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
