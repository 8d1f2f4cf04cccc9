package training

import (
	"context"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Saw notes that an account was shown records of workers, and with which question, as "workerRecord". Looking at nobody, and what the
// program works out for itself, is not noted.
func (d *Desk) Saw(ctx context.Context, by groundhand.Account, question string, workers []groundhand.WorkerID) error {
	if by.ID == "" || len(workers) == 0 {
		return nil
	}
	return d.store.InTx(ctx, func(tx *store.Store) error {
		return store.Add(ctx, tx, groundhand.Viewing{
			ID: groundhand.EntryID(tx.NewID()), AccountID: by.ID, ViewedAt: tx.Now(), Question: question, Workers: eachOnce(workers),
		})
	})
}

// eachOnce leaves out whoever was named before.
func eachOnce(workers []groundhand.WorkerID) groundhand.List {
	seen := map[groundhand.WorkerID]bool{"": true}
	var out groundhand.List
	for _, w := range workers {
		if !seen[w] {
			seen[w] = true
			out = append(out, string(w))
		}
	}
	return out
}
