package store

import (
	"context"

	"groundhand/internal/groundhand"
)

// RepliesRestingOn gives the answers given since a moment that rested on an entry, at most so many, the latest rather than the earliest. An
// answer given before the entry was recorded cannot rest on it.
func (s *Store) RepliesRestingOn(ctx context.Context, entry groundhand.EntryID, since groundhand.Instant, most int) ([]groundhand.Reply, error) {
	return pick[groundhand.Reply](ctx, s, `id IN (SELECT r.id FROM replies r WHERE r.recorded_at >= ? AND EXISTS (SELECT 1 FROM json_each(r.rests_on) WHERE value = ?)
ORDER BY r.recorded_at DESC, r.id DESC LIMIT ?)`, since, string(entry), most)
}
