package watch

import (
	"context"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// FlagsAsKnown gives the flags that were open at a moment: raised by then, and not cleared by then.
func (w *Sweeper) FlagsAsKnown(ctx context.Context, at groundhand.Instant) (flags []groundhand.Flag, err error) {
	if at <= 0 {
		return nil, groundhand.Invalid("asKnownAt", "Say as known at which moment.")
	}
	err = w.store.InPast(ctx, at, func(past *store.Store) error {
		flags, err = past.OpenFlags(ctx)
		return err
	})
	return flags, err
}
