package graph

import (
	"context"
	"errors"
	"log/slog"
	"strings"

	"github.com/99designs/gqlgen/graphql"
	"github.com/vektah/gqlparser/v2/ast"
	"github.com/vektah/gqlparser/v2/gqlerror"

	"groundhand/internal/groundhand"
)

// replies says how each code is sent. The set of codes is closed; anything else is internal, and its text stays here.
var replies = map[groundhand.Code]string{
	groundhand.CodeInvalid:         "INVALID",
	groundhand.CodeNotFound:        "NOT_FOUND",
	groundhand.CodeConflict:        "CONFLICT",
	groundhand.CodeForbidden:       "FORBIDDEN",
	groundhand.CodeUnauthenticated: "UNAUTHENTICATED",
	groundhand.CodeTooLarge:        "TOO_LARGE",
}

const internalCode = "INTERNAL"

// present turns an error into what the client reads: one message with every refused field, each with its code and path.
func (r *Root) present(log *slog.Logger) graphql.ErrorPresenterFunc {
	return func(ctx context.Context, err error) *gqlerror.Error {
		refusals := groundhand.Refusals(err)
		if len(refusals) > 0 {
			return refusalsOf(ctx, err, refusals)
		}
		// What gqlgen itself says about the query (its grammar, an unknown field, a limit) is the client's and stays as it is.
		var said *gqlerror.Error
		if errors.As(err, &said) && said.Unwrap() == nil {
			return said
		}
		log.ErrorContext(ctx, "a field failed", "path", graphql.GetPath(ctx).String(), "error", err)
		return &gqlerror.Error{Message: "This could not be answered; the fault is ours and has been logged.", Path: graphql.GetPath(ctx),
			Extensions: map[string]any{"code": internalCode}}
	}
}

func refusalsOf(ctx context.Context, err error, refusals []*groundhand.Error) *gqlerror.Error {
	path := graphql.GetPath(ctx)
	var said *gqlerror.Error
	if errors.As(err, &said) && len(path) == 0 {
		path = said.Path // a scalar of an argument: gqlgen knows where it stands
	}
	lines, problems := make([]string, len(refusals)), make([]map[string]string, len(refusals))
	for i, refusal := range refusals {
		lines[i] = refusal.Error()
		problems[i] = map[string]string{"code": replies[refusal.Code], "field": fieldOf(refusal, said), "message": refusal.Message}
	}
	return &gqlerror.Error{Message: strings.Join(lines, "\n"), Path: path,
		Extensions: map[string]any{"code": replies[refusals[0].Code], "problems": problems}}
}

// fieldOf is the path of the refused field inside the form; a scalar's refusal knows only the path that gqlgen gives it.
func fieldOf(e *groundhand.Error, said *gqlerror.Error) string {
	if e.Field != "" || said == nil {
		return e.Field
	}
	return argument(said.Path)
}

// argument is the part of a path that names an argument: everything after the field, its "form" left out.
func argument(path ast.Path) string {
	var b strings.Builder
	for i, step := range path {
		if name, ok := step.(ast.PathName); ok && i > 0 && name != "form" {
			if b.Len() > 0 {
				b.WriteByte('.')
			}
			b.WriteString(string(name))
		}
		if index, ok := step.(ast.PathIndex); ok {
			b.WriteString(ast.Path{index}.String())
		}
	}
	return b.String()
}

// atField puts a refusal under the field of the question that caused it.
func atField(prefix string, err error) error {
	var p groundhand.Problems
	if other := p.Take(prefix, err); other != nil {
		return other
	}
	return p.Err()
}
