package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
)

type (
	assessment struct{ *Root }
	authority  struct{ *Root }
)

// Assessment gives its critical steps.
func (r *Root) Assessment() generated.AssessmentResolver { return assessment{r} }

// Authority gives its methods and families.
func (r *Root) Authority() generated.AuthorityResolver { return authority{r} }

func (assessment) Steps(_ context.Context, a *groundhand.Assessment) ([]groundhand.CriticalStep, error) {
	return a.Steps, nil
}

func (authority) Methods(_ context.Context, a *groundhand.Authority) ([]string, error) {
	return a.Methods, nil
}

func (authority) Families(_ context.Context, a *groundhand.Authority) ([]string, error) {
	return a.Families, nil
}
