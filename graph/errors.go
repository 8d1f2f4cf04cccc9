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

// replies says how each code is sent. The set of codes is closed; anything else is internal, and its text stays here. Besides these a
// client meets the library's own codes for a query that it could not read or that goes too far: GRAPHQL_PARSE_FAILED,
// GRAPHQL_VALIDATION_FAILED and COMPLEXITY_LIMIT_EXCEEDED.
var replies = map[groundhand.Code]string{
	groundhand.CodeInvalid:         "INVALID",
	groundhand.CodeNotFound:        "NOT_FOUND",
	groundhand.CodeConflict:        "CONFLICT",
	groundhand.CodeForbidden:       "FORBIDDEN",
	groundhand.CodeUnauthenticated: "UNAUTHENTICATED",
	groundhand.CodeTooLarge:        "TOO_LARGE",
}

const internalCode = "INTERNAL"

// present turns an error into what the client reads: one message with every refused field, each with its code and path. Whatever is
// neither a refusal nor the library's word on the query is ours: it is logged and its text stays here.
func present(log *slog.Logger) graphql.ErrorPresenterFunc {
	return func(ctx context.Context, err error) *gqlerror.Error {
		path := graphql.GetPath(ctx)
		var said *gqlerror.Error
		errors.As(err, &said)
		argument := argumentOf(said, path)
		switch refusals := groundhand.Refusals(err); {
		case len(refusals) > 0:
			return refused(path, argument, refusals)
		case argument != "":
			return refused(path, "", []*groundhand.Error{groundhand.Invalid(argument, "This field does not take such a value.")})
		case isOnTheQuery(said):
			return said
		case isOnTheRequest(said, path):
			return refused(nil, "", []*groundhand.Error{groundhand.Invalid("", "This request cannot be read; send one JSON object with query and variables.")})
		}
		log.ErrorContext(ctx, "a field failed", "path", path.String(), "error", err)
		return internal(path)
	}
}

// isOnTheQuery says whether the library speaks of the query: its grammar, an unknown field, a limit. Such words have a code.
func isOnTheQuery(said *gqlerror.Error) bool {
	return said != nil && said.Unwrap() == nil && said.Extensions["code"] != nil
}

// isOnTheRequest says whether the library could not even read the request. Its words repeat the body, so they are not passed on.
func isOnTheRequest(said *gqlerror.Error, path ast.Path) bool {
	return said != nil && said.Unwrap() == nil && len(path)+len(said.Path) == 0
}

func internal(path ast.Path) *gqlerror.Error {
	return &gqlerror.Error{Message: "This could not be answered; the fault is ours and has been logged.", Path: path,
		Extensions: map[string]any{"code": internalCode}}
}

// refused shows refusals. A scalar knows nothing of the form around it: its refusal has no field, and gets the argument's.
func refused(path ast.Path, argument string, refusals []*groundhand.Error) *gqlerror.Error {
	lines, problems := make([]string, len(refusals)), make([]map[string]string, len(refusals))
	for i, refusal := range refusals {
		shown := *refusal
		if shown.Field == "" {
			shown.Field = argument
		}
		lines[i] = shown.Error()
		problems[i] = map[string]string{"code": replies[shown.Code], "field": shown.Field, "message": shown.Message}
	}
	return &gqlerror.Error{Message: strings.Join(lines, "\n"), Path: path,
		Extensions: map[string]any{"code": replies[refusals[0].Code], "problems": problems}}
}

// argumentOf is the path of an argument, inside the form, that the library could not read: what its error's path has beyond the path of
// the field. Empty: the error is not about an argument.
func argumentOf(said *gqlerror.Error, field ast.Path) string {
	if said == nil || said.Unwrap() == nil || len(said.Path) <= len(field) {
		return ""
	}
	var b strings.Builder
	for i, step := range said.Path[len(field):] {
		switch step := step.(type) {
		case ast.PathIndex:
			b.WriteString(ast.Path{step}.String())
		case ast.PathName:
			if i == 0 && step == "form" {
				continue
			}
			if b.Len() > 0 {
				b.WriteByte('.')
			}
			b.WriteString(string(step))
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
