package rollcall

import (
	"context"

	"golang.org/x/sync/errgroup"
)

// sideBySide does n things, a few at a time, and stops early when the context ends or one fails.
func sideBySide(ctx context.Context, n int, do func(ctx context.Context, i int) error) error {
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(atOnce)
	for i := range n {
		group.Go(func() error {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			return do(ctx, i)
		})
	}
	return group.Wait()
}
