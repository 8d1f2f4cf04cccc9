package rollcall

import (
	"context"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// OpenReviewOf is the review of an entry that nobody has closed yet, the latest of several; NotFound when there is none.
func (r *Roll) OpenReviewOf(ctx context.Context, entry groundhand.EntryID) (id groundhand.EntryID, err error) {
	err = r.asOfNow(ctx, func(seen *Roll) error {
		reviews, err := seen.OpenReviews(ctx)
		for _, review := range reviews {
			if review.EntryID == entry {
				id = review.ID
			}
		}
		return err
	})
	if err == nil && id == "" {
		err = groundhand.NotFound("entryId", "No review of %q is open.", entry)
	}
	return id, err
}

// OpenReviews are those that nobody has closed yet, in recorded order.
func (r *Roll) OpenReviews(ctx context.Context) (open []groundhand.Review, err error) {
	err = r.asOfNow(ctx, func(seen *Roll) error {
		reviews, err := store.Standing[groundhand.Review](ctx, seen.store)
		if err != nil {
			return err
		}
		closings, err := store.Standing[groundhand.ReviewClosing](ctx, seen.store)
		closed := map[groundhand.EntryID]bool{}
		for _, c := range closings {
			closed[c.ReviewID] = true
		}
		for _, review := range reviews {
			if !closed[review.ID] {
				open = append(open, review)
			}
		}
		return err
	})
	return open, err
}

// CertificateOf finds the certificate that was issued for a pass or a part in a run, whether it still stands or not; of several the one issued last.
func (r *Roll) CertificateOf(ctx context.Context, shown groundhand.EntryID) (groundhand.Certificate, error) {
	found, err := store.Find[groundhand.Certificate](ctx, r.store, store.ByEvidence, []groundhand.EntryID{shown})
	if err == nil && len(found) == 0 {
		err = groundhand.NotFound("evidence", "No certificate was issued for %q.", shown)
	}
	if err != nil {
		return groundhand.Certificate{}, err
	}
	return found[len(found)-1], nil
}
