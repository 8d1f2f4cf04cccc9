package graph

import (
	"context"
	"fmt"

	"github.com/99designs/gqlgen/graphql"
	"github.com/99designs/gqlgen/graphql/errcode"
	"github.com/vektah/gqlparser/v2/ast"
	"github.com/vektah/gqlparser/v2/gqlerror"
)

// depth refuses queries that nest deeper than any honest question does, before anything is looked up.
type depth struct{ most int }

var _ interface {
	graphql.HandlerExtension
	graphql.OperationContextMutator
} = depth{}

// ExtensionName names the extension.
func (depth) ExtensionName() string { return "Depth" }

// Validate has nothing to check.
func (depth) Validate(graphql.ExecutableSchema) error { return nil }

// MutateOperationContext refuses an operation that is too deep. The schema's own description may nest deeper and is let through.
func (d depth) MutateOperationContext(_ context.Context, op *graphql.OperationContext) *gqlerror.Error {
	if got := deepest(op.Operation.SelectionSet, 1, d.most+1); got > d.most {
		err := gqlerror.Errorf("%s", fmt.Sprintf("This query nests deeper than %d fields; ask in several questions.", d.most))
		errcode.Set(err, "TOO_DEEP")
		return err
	}
	return nil
}

// deepest is how deep a selection nests, counted no further than enough. Fragments cannot loop: the validator has refused those.
func deepest(set ast.SelectionSet, level, enough int) int {
	found := level
	if len(set) == 0 {
		return level - 1
	}
	for _, s := range set {
		if found >= enough {
			return found
		}
		switch s := s.(type) {
		case *ast.Field:
			if s.Name != "__schema" && s.Name != "__type" {
				found = max(found, deepest(s.SelectionSet, level+1, enough))
			}
		case *ast.InlineFragment:
			found = max(found, deepest(s.SelectionSet, level, enough))
		case *ast.FragmentSpread:
			found = max(found, deepest(s.Definition.SelectionSet, level, enough))
		}
	}
	return found
}
