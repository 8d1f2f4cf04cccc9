package graph

import (
	"context"

	"github.com/99designs/gqlgen/graphql"
	"github.com/vektah/gqlparser/v2/ast"
	"github.com/vektah/gqlparser/v2/gqlerror"

	"groundhand/internal/groundhand"
)

// bounds refuses queries that are longer, nest deeper or name more fields than any honest question does, before anything is looked up
// and before their cost is reckoned, which takes as long as they are large.
type bounds struct {
	longest int // bytes; what was read once is kept, so this bounds memory too
	deepest int // fields below fields
	fields  int // with every fragment written out
}

var _ interface {
	graphql.HandlerExtension
	graphql.OperationParameterMutator
	graphql.OperationContextMutator
} = bounds{}

// ExtensionName names the extension.
func (bounds) ExtensionName() string { return "Bounds" }

// Validate has nothing to check.
func (bounds) Validate(graphql.ExecutableSchema) error { return nil }

// MutateOperationParameters refuses an overlong query unread.
func (b bounds) MutateOperationParameters(_ context.Context, asked *graphql.RawParams) *gqlerror.Error {
	if len(asked.Query) > b.longest {
		return tooLarge("This query is longer than %d bytes; ask in several questions, and put values into variables.", b.longest)
	}
	return nil
}

// MutateOperationContext refuses an operation that is too deep or too wide. The schema's own description may nest deeper.
func (b bounds) MutateOperationContext(_ context.Context, op *graphql.OperationContext) *gqlerror.Error {
	m := measuring{enough: b.fields + 1, fragments: map[*ast.FragmentDefinition]size{}}
	switch got := m.set(op.Operation.SelectionSet); {
	case got.depth > b.deepest:
		return tooLarge("This query nests deeper than %d fields; ask in several questions.", b.deepest)
	case got.fields > b.fields:
		return tooLarge("This query comes to more than %d fields; ask in several questions.", b.fields)
	}
	return nil
}

func tooLarge(format string, bound int) *gqlerror.Error {
	var p groundhand.Problems
	p.Add(groundhand.CodeTooLarge, "", format, bound)
	return refused(nil, "", groundhand.Refusals(p.Err()))
}

// size is how deep a selection nests and how many fields it names.
type size struct{ depth, fields int }

// descriptionFields is what asking for the schema's own description counts as. One in a query is plenty, two are allowed.
const descriptionFields = 400

// measuring takes the size of selections, each fragment once: written out, a few lines of fragments can double at every level.
// Fragments cannot loop: the validator has refused those.
type measuring struct {
	enough    int // fields are counted no further
	fragments map[*ast.FragmentDefinition]size
}

func (m measuring) set(set ast.SelectionSet) size {
	var all size
	for _, s := range set {
		one := m.selection(s)
		all = size{max(all.depth, one.depth), min(all.fields+one.fields, m.enough)}
	}
	return all
}

func (m measuring) selection(s ast.Selection) size {
	switch s := s.(type) {
	case *ast.Field:
		if s.Name == "__schema" || s.Name == "__type" {
			return size{1, descriptionFields}
		}
		below := m.set(s.SelectionSet)
		return size{below.depth + 1, below.fields + 1}
	case *ast.InlineFragment:
		return m.set(s.SelectionSet)
	case *ast.FragmentSpread:
		return m.fragment(s.Definition)
	}
	return size{}
}

func (m measuring) fragment(f *ast.FragmentDefinition) size {
	known, there := m.fragments[f]
	if !there {
		known = m.set(f.SelectionSet)
		m.fragments[f] = known
	}
	return known
}
