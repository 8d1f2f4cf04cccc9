// Package graph is the GraphQL mouth: it converts, takes the account, makes one call and returns. It decides nothing about the trade.
// Resolvers are ordinary files by subject; what gqlgen makes lives in graph/generated alone.
package graph

//go:generate go -C .. tool gqlgen

import (
	"time"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/certificate"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
	"groundhand/internal/training"
	"groundhand/internal/watch"
)

// Root is what the resolvers ask.
type Root struct {
	Store   *store.Store
	Roll    *rollcall.Roll
	Desk    *training.Desk
	Issuer  *certificate.Issuer
	Door    *access.Door
	Sweeper *watch.Sweeper
	Wait    time.Duration // for which look-ups of sibling fields are gathered; zero: as usual
}

var _ generated.ResolverRoot = (*Root)(nil)

// One small type for each thing that has fields to look up.
type (
	query    struct{ *Root }
	mutation struct{ *Root }
)

// Query answers the questions.
func (r *Root) Query() generated.QueryResolver { return query{r} }

// Mutation takes the changes.
func (r *Root) Mutation() generated.MutationResolver { return mutation{r} }
