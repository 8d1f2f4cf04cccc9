package store

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
)

// Copy writes the records at from, as they stand, into a new file, while others may be writing. The new file may not be there.
func Copy(ctx context.Context, from, to string) error {
	if _, err := os.Lstat(to); err == nil {
		return fmt.Errorf("there is a file %s already", to)
	}
	db, err := pool(dsn(from, url.Values{"mode": {"ro"}}), 1)
	if err != nil {
		return err
	}
	_, err = db.ExecContext(ctx, "VACUUM INTO ?", to)
	return errors.Join(coded(err), db.Close())
}
